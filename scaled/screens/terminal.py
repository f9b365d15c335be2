"""Whether there is a terminal to draw on."""

from __future__ import annotations

import sys


def on_terminal() -> bool:
    """Whether a screen can run: keys come from standard input, Textual draws on standard error."""
    return all(stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr))
