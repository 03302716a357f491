"""Memory that is no longer needed, given back to the system."""

from __future__ import annotations

import ctypes
from contextlib import suppress


def give_back() -> None:
    """Give back what was freed; where the system has no way to, nothing happens.

    GNU's allocator keeps it in pieces for each thread. Learning and rendering cues ahead leave a hundred
    megabytes of such pieces, and from one attempt to the next they grow.
    """
    # Another allocator has no such function, and Windows has no library of that name.
    with suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)
