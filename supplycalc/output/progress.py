"""Progress of long work, on stderr at a terminal."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

PATIENCE = 2.0
"""[s] From which on progress is shown."""


def progress_teller(
    said: Callable[[float], str],
) -> tuple[Callable[[float], None], Callable[[], None]]:
    """A teller of progress on stderr for long work at a terminal, and what wipes it out."""
    if not sys.stderr.isatty():
        return lambda share: None, lambda: None
    start = time.monotonic()

    def tell(share: float) -> None:
        if time.monotonic() - start > PATIENCE:
            sys.stderr.write(f"\r{said(share)}")
            sys.stderr.flush()

    def wipe() -> None:
        sys.stderr.write("\r" + " " * 40 + "\r")
        sys.stderr.flush()

    return tell, wipe
