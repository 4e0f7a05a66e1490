"""Entry of the program: `python -m supplycalc` and the `supplycalc` command."""

from __future__ import annotations

import sys

INTERRUPTED = 130


def main() -> None:
    """Load and run the command line; Ctrl-C ends it quietly even while it loads."""
    try:
        from supplycalc.cli import main as run

        run()
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)


if __name__ == "__main__":
    main()
