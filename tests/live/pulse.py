"""A room without a sound card: a PulseAudio server whose null sink stands for microphone and loudspeaker.

The sink has two channels on one clock. Its left one is what the student says, and is all that the
microphone hears; its right one is what the loudspeaker plays. So a recording of the sink tells to the
sample how long after the student the coach speaks. An echo is a loopback from right to left.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from voicecoach.sound import RATE

PROGRAMS = ("pulseaudio", "pactl", "paplay", "parec")
_STARTS_WITHIN = 10.0
_SERVER = "load-module module-native-protocol-unix socket={folder}/native auth-anonymous=1\n"
_ROOM = "module-null-sink sink_name=room rate=48000 channels=2 channel_map=front-left,front-right"
_STUDENT = (
    "module-remap-sink sink_name=student master=room channels=1 channel_map=mono "
    "master_channel_map=front-left remix=no"
)
_LOUDSPEAKER = (
    "module-remap-sink sink_name=loudspeaker master=room channels=1 channel_map=mono "
    "master_channel_map=front-right remix=no"
)
_MICROPHONE = (
    "module-remap-source source_name=microphone master=room.monitor channels=1 channel_map=mono "
    "master_channel_map=front-left remix=no"
)
_ALSA = """\
</usr/share/alsa/alsa.conf>
pcm.!default {{ type pulse server "{server}" }}
ctl.!default {{ type pulse server "{server}" }}
"""


def lacking() -> str:
    """What has to be installed for a room, as a reason to skip a test; empty where all is there."""
    missing = [program for program in PROGRAMS if shutil.which(program) is None]
    plugin = any(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so"))
    if missing or not plugin:
        return "needs Debian's pulseaudio, pulseaudio-utils, libportaudio2 and libasound2-plugins"
    return ""


@dataclass(frozen=True, slots=True)
class Recording:
    """What was heard in the room."""

    student: NDArray[np.int16]
    """Mono at 16 kHz."""
    coach: NDArray[np.int16]
    """The same time, mono at 16 kHz."""


class Room:
    """A running room. Everything in it ends with its `with` block."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.server = f"unix:{folder}/native"
        (folder / "alsa.conf").write_text(_ALSA.format(server=self.server))
        self.environment = {
            **os.environ,
            "HOME": str(folder),
            "XDG_RUNTIME_DIR": str(folder),
            "PULSE_SERVER": self.server,
            "ALSA_CONFIG_PATH": str(folder / "alsa.conf"),
        }
        self._card = self._loudspeaker = ""
        self._playing: list[subprocess.Popen[bytes]] = []
        self._server: subprocess.Popen[bytes] | None = None

    def plug_in(self) -> None:
        """Connect the sound card, and with it microphone and loudspeaker."""
        self._card = self._ask("load-module", *_ROOM.split())
        self._ask("load-module", *_STUDENT.split())
        self._ask("load-module", *_MICROPHONE.split())
        self._ask("set-default-source", "microphone")
        self.plug_in_loudspeaker()

    def plug_in_loudspeaker(self) -> None:
        """Connect the loudspeaker alone."""
        self._loudspeaker = self._ask("load-module", *_LOUDSPEAKER.split())
        self._ask("set-default-sink", "loudspeaker")

    def unplug(self) -> None:
        """Take the sound card away, as if somebody pulled the plug."""
        self._ask("unload-module", self._card)

    def unplug_loudspeaker(self) -> None:
        """Take the loudspeaker alone away."""
        self._ask("unload-module", self._loudspeaker)

    def echo(self, decibels: float) -> None:
        """Let the microphone hear the loudspeaker, louder by so many decibels than it plays."""
        loop = self._ask(
            "load-module", "module-loopback", "source=loudspeaker.monitor", "sink=student", "latency_msec=40"
        )
        inputs = self._ask("list", "sink-inputs").split("Sink Input #")
        number = next(one.split("\n")[0] for one in inputs if f"Owner Module: {loop}\n" in one)
        self._ask("set-sink-input-volume", number, f"{decibels}dB")

    def say(self, samples: NDArray[np.int16]) -> subprocess.Popen[bytes]:
        """Begin to play mono sound at 16 kHz to the microphone."""
        file = self.folder / f"said-{len(self._playing)}.wav"
        soundfile.write(file, samples, RATE, subtype="PCM_16")
        playing = subprocess.Popen(
            ["paplay", "--device=student", "--latency-msec=30", str(file)], env=self.environment
        )
        self._playing.append(playing)
        return playing

    @contextmanager
    def recorded(self) -> Iterator[list[Recording]]:
        """Record the room; the list holds the recording when the block is left."""
        raw = self.folder / f"room-{time.monotonic_ns()}.raw"
        recorder = subprocess.Popen(
            [
                "parec", "--device=room.monitor", "--format=s16le", f"--rate={RATE}", "--channels=2",
                "--latency-msec=20", str(raw),
            ],
            env=self.environment,
        )  # fmt: skip
        found: list[Recording] = []
        try:
            yield found
        finally:
            time.sleep(0.2)
            recorder.terminate()
            recorder.wait()
            both = np.fromfile(raw, np.int16)
            both = both[: len(both) // 2 * 2].reshape(-1, 2)
            found.append(Recording(both[:, 0], both[:, 1]))

    def start(self) -> None:
        """Start the server, with microphone and loudspeaker."""
        script = self.folder / "room.pa"
        script.write_text(_SERVER.format(folder=self.folder))
        self._server = subprocess.Popen(
            [
                "pulseaudio", "-n", "-F", str(script), "--daemonize=no", "--exit-idle-time=-1",
                "--use-pid-file=no", "--disable-shm", f"--log-target=file:{self.folder}/pulse.log",
            ],
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        deadline = time.monotonic() + _STARTS_WITHIN
        while not (self.folder / "native").exists() and time.monotonic() < deadline:
            assert self._server.poll() is None, (self.folder / "pulse.log").read_text()
            time.sleep(0.05)
        self.plug_in()

    def crash(self) -> None:
        """Take the server away, and all devices with it."""
        if self._server:
            self._server.kill()
            self._server.wait()
        (self.folder / "native").unlink(missing_ok=True)

    def close(self) -> None:
        """Stop what is still playing, and the server."""
        for playing in self._playing:
            playing.terminate()
            playing.wait()
        self.crash()

    def _ask(self, *command: str) -> str:
        done = subprocess.run(
            ["pactl", *command], env=self.environment, capture_output=True, text=True, check=True, timeout=10
        )
        return done.stdout.strip()


@contextmanager
def room(folder: Path) -> Iterator[Room]:
    """A room with microphone and loudspeaker, its files in a folder with a short name."""
    made = Room(folder)
    try:
        made.start()
        yield made
    finally:
        made.close()
