"""Where the program begins: `voicecoach`, or `python -m voicecoach`."""

from __future__ import annotations

import sys

INTERRUPTED = 130


def main() -> None:
    """Load the commands and run them; Ctrl-C before they are loaded ends it without a word."""
    try:
        from voicecoach import cli  # Takes most of a second.
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    cli.main()


if __name__ == "__main__":
    main()
