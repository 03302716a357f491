"""eSpeak NG of the wheel espeakng-loader, asked directly, since pyttsx3 knows one voice at a time.

It is asked in a process of its own: there is one eSpeak NG in a process, and the coach's voice may have it.
"""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys

import espeakng_loader
import numpy as np
from numpy.typing import NDArray

_SYNCHRONOUS = 2
_UTF8 = 1
_RATE = 1
_Callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)


def speak(text: str, voice: str, words_a_minute: int) -> tuple[NDArray[np.int16], int]:
    """A text in one of eSpeak NG's voices, and the samples a second. Raises OSError where it fails."""
    command = [sys.executable, __file__, text, voice, str(words_a_minute)]
    done = subprocess.run(command, capture_output=True)
    if done.returncode:
        raise OSError(f"eSpeak NG cannot speak as {voice}")
    rate, _, raw = done.stdout.partition(b"\n")
    return np.frombuffer(raw, dtype=np.int16), int(rate)


def main(text: str, voice: str, words_a_minute: int) -> int:
    """Write the samples a second, a line break, and the samples to standard output; gives the exit code."""
    library = ctypes.CDLL(espeakng_loader.get_library_path())
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
    sys.stdout.buffer.write(f"{rate}\n".encode() + b"".join(parts))
    return int(bool(failed))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], int(sys.argv[3])))
