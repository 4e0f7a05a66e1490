"""Entry of the program: `python -m supplycalc` and the `supplycalc` command."""

from __future__ import annotations

import gc
import os
import sys

INTERRUPTED = 130
FEW_COLLECTIONS = 100_000
"""Objects made between two looks for garbage: a call is short, and what it loads all stays."""


def main() -> None:
    """Load and run the command line; Ctrl-C ends it quietly even while it loads."""
    # no command multiplies large matrices; starting the library's threads takes as long as the rest
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(FEW_COLLECTIONS)
    try:
        from supplycalc.cli import main as run

        run()
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    finally:
        # the process ends: what it loaded need not be looked through for garbage once more
        gc.freeze()


if __name__ == "__main__":
    main()
