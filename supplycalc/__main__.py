"""Entry of the program: `python -m supplycalc` and the `supplycalc` command."""

from __future__ import annotations

import os
import sys

INTERRUPTED = 130


def main() -> None:
    """Load and run the command line; Ctrl-C ends it quietly even while it loads."""
    # no command multiplies large matrices; starting the library's threads takes as long as the rest
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        from supplycalc.cli import main as run

        run()
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)


if __name__ == "__main__":
    main()
