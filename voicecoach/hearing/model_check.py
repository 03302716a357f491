"""Whether a Vosk model works and knows English, found out by a program of its own.

In a damaged model the library may read past its end, which would take the whole program with it. So this file
is also run as a script, and what is imported above `main` must be there without voicecoach.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

_ENGLISH = ("the", "hands", "wash", "water", "gloves", "bed", "towel", "wheelchair", "blood", "pressure")
_ENOUGH = 8
"""So many of those words make a model English: one for a narrow use may lack a few."""
_RATE = 16000
_LONGEST = 600.0
"""Seconds after which a model is held to hang: a large one takes a minute on a slow disk."""


def knows_english(model: Path) -> bool | None:
    """Whether a model, a folder, knows common English words of care; None where it does not work.

    It is loaded, and hears a second of silence. That takes from a second to a minute.
    """
    # -P: otherwise the folder of this file comes first, and its vosk.py for the library's
    command = [sys.executable, "-P", __file__, str(model), *_ENGLISH]
    try:
        ran = subprocess.run(command, capture_output=True, timeout=_LONGEST, check=True)
        return int(ran.stdout) >= _ENOUGH
    except (subprocess.SubprocessError, ValueError):
        return None


def main(model: str, words: list[str]) -> None:
    """Load a model, let it hear a second of silence, and print how many of the words it knows."""
    import vosk  # the library, which the program that asks has no need of

    vosk.SetLogLevel(-1)
    loaded = vosk.Model(model)
    recognizer = vosk.KaldiRecognizer(loaded, _RATE)
    recognizer.AcceptWaveform(bytes(2 * _RATE))
    recognizer.FinalResult()
    print(sum(loaded.vosk_model_find_word(word) >= 0 for word in words))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
