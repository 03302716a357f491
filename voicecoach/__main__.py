"""Where the program begins: `voicecoach`, or `python -m voicecoach`."""

from __future__ import annotations

import os
import sys

INTERRUPTED = 130


def main() -> None:
    """Load the commands and run them; Ctrl-C before they are loaded ends it without a word."""
    # The tables here are small. Two threads that share one wait for each other, and where a recognizer is at
    # work beside them that takes ten times as long as one alone. OpenBLAS looks when it is loaded.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        from voicecoach import cli  # Takes some tenths of a second.
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    cli.main()


if __name__ == "__main__":
    main()
