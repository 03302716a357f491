"""The eSpeak NG library that comes with its wheel, made ready for pyttsx3 on Linux.

pyttsx3 asks the system for `libespeak-ng.so.1`. A library of that name that is loaded already is the
one it gets, so no system package is needed.
"""

from __future__ import annotations

import ctypes
import importlib
import os
import time
from types import ModuleType

from voicecoach.errors import Complaint

_LONGEST_DATA_PATH = 159
"""Bytes of a folder's name that eSpeak NG can hold; it ends the program when it finds no data."""


def load() -> None:
    """Load the library of the wheel and tell it where its data is; without the wheel, do nothing.

    Raises Complaint where the wheel lies too deep in the file system.
    """
    try:
        wheel = importlib.import_module("espeakng_loader")
        data = wheel.get_data_path()
        library = wheel.get_library_path()
        if len(os.fsencode(data)) > _LONGEST_DATA_PATH:
            raise Complaint(
                f"The voice cannot find its data, since the name of the folder {data} is too long; "
                "install voicecoach in a folder with a shorter name."
            )
        # Its names stay hidden: another program's copy of eSpeak NG in this process must not bind to them.
        ctypes.CDLL(library, mode=ctypes.RTLD_LOCAL)
    except (ImportError, OSError, RuntimeError):
        return  # The system may have an eSpeak NG of its own.
    os.environ["ESPEAK_DATA_PATH"] = data


def hush(driver: ModuleType) -> None:
    """Keep the driver of pyttsx3 from printing a line for every sound that it saves."""
    vars(driver)["print"] = _unprinted


def settle(driver: ModuleType) -> None:
    """Wait until the library has done what it was told.

    It works in a thread of its own, and the driver begins by cancelling whatever is still under way,
    be it only the setting of the speed.
    """
    while vars(driver)["_espeak"].IsPlaying():
        time.sleep(0.001)


def _unprinted(*_: object) -> None:
    """Takes what would be printed."""
