"""eSpeak NG of the wheel espeakng-loader, asked directly, since pyttsx3 knows one voice at a time."""

from __future__ import annotations

import ctypes
import os
from functools import cache

import espeakng_loader
import numpy as np
from numpy.typing import NDArray

_SYNCHRONOUS = 2
_UTF8 = 1
_RATE = 1
_Callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)


@cache
def _library() -> ctypes.CDLL:
    # Its names stay hidden: piper has a copy of eSpeak NG of its own in the same process.
    return ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_LOCAL)


def speak(text: str, voice: str, words_a_minute: int) -> tuple[NDArray[np.int16], int]:
    """A text in one of eSpeak NG's voices, and the samples a second. Raises OSError where it fails."""
    library = _library()
    # Begun anew for each text, so that a text sounds the same whatever was said before it.
    rate = library.espeak_Initialize(_SYNCHRONOUS, 0, os.fsencode(espeakng_loader.get_data_path()), 0)
    parts: list[bytes] = []

    def take(samples: ctypes._Pointer[ctypes.c_short], count: int, _events: int | None) -> int:
        if samples and count:
            parts.append(ctypes.string_at(samples, 2 * count))
        return 0

    callback = _Callback(take)  # kept by this name as long as the library may call it
    library.espeak_SetSynthCallback(callback)
    failed = rate <= 0 or library.espeak_SetVoiceByName(voice.encode())
    library.espeak_SetParameter(_RATE, words_a_minute, 0)
    said = text.encode()
    failed = failed or library.espeak_Synth(said, len(said) + 1, 0, 1, 0, _UTF8, None, None)
    library.espeak_Synchronize()
    library.espeak_Terminate()
    if failed:
        raise OSError(f"eSpeak NG cannot speak as {voice}")
    return np.frombuffer(b"".join(parts), dtype=np.int16), rate
