"""Samples to the picture of sound that Whisper looks at: the log-mel spectrogram, as OpenAI defines it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voicecoach.sound import RATE

HOP = RATE // 100
"""Samples from one column of the picture to the next."""
BANDS = 80
"""Rows of the picture."""
_WINDOW = RATE // 40
_HANN = np.hanning(_WINDOW + 1)[:-1].astype(np.float32)
_LINEAR_UP_TO = 15.0
"""Mel of 1000 Hz: below, the scale of Slaney is linear; above, logarithmic."""
_HIGHEST = 45.245640471924965
"""Mel of 8000 Hz on that scale."""
_FAINTEST = 1e-10
_RANGE = 8.0
"""How far below the loudest spot, in powers of ten, a spot counts as silence."""


def _filters() -> NDArray[np.float32]:
    """How much each frequency of the window adds to each band: triangles of equal area."""
    mel = np.linspace(0.0, _HIGHEST, BANDS + 2)
    above = 1000.0 * np.exp(np.log(6.4) / 27.0 * (mel - _LINEAR_UP_TO))
    hertz = np.where(mel < _LINEAR_UP_TO, mel * 200.0 / 3.0, above)
    away = hertz[:, None] - np.fft.rfftfreq(_WINDOW, 1.0 / RATE)[None]
    width = np.diff(hertz)[:, None]
    triangles = np.maximum(0.0, np.minimum(-away[:-2] / width[:-1], away[2:] / width[1:]))
    return np.asarray(triangles * (2.0 / (hertz[2:] - hertz[:-2]))[:, None], dtype=np.float32)


_FILTERS = _filters()


def log_mel(samples: NDArray[np.int16], silence: int) -> NDArray[np.float32]:
    """The spectrogram, BANDS rows and a column each HOP, of sound with `silence` samples after it.

    `samples` are mono at 16000 Hz, 200 at least; what does not fill a column is left out.
    """
    sound = samples.astype(np.float32) / 32768
    half = _WINDOW // 2
    whole = np.concatenate([sound[half:0:-1], sound, np.zeros(silence + half, np.float32)])
    columns = (len(samples) + silence) // HOP
    windows = np.lib.stride_tricks.sliding_window_view(whole, _WINDOW)[::HOP][:columns]
    power = np.abs(np.fft.rfft(windows * _HANN, axis=1)).astype(np.float32) ** 2
    spots = np.log10(np.maximum(_FILTERS @ power.T, _FAINTEST))
    return np.asarray((np.maximum(spots, spots.max() - _RANGE) + 4.0) / 4.0, dtype=np.float32)
