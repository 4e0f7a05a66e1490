"""Random supplies by the hundred thousand: none may fail to settle. Run by hand.

    python tests/benchmarks/stress_delivery.py [how many] [first seed]

Every supply is drawn from its own seed (first, first + 1, ...), with mixers, reducing valves,
devices, heights and all kinds of source; prints failures, the most Newton steps and the time.

Last run: 60,000 supplies, seeds 1000000 to 1059999, none failed; median 5 steps, most 37. Twenty-
three took more than 12; of 100,000 in an earlier run six without reducing valves and ratio mixers
did (13 to 15 steps), the others had them, where nothing proves that a step descends.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from supplycalc.delivery.solver import deliver
from supplycalc.problems import ComputationError
from tests.delivery.supplies import random_supply


def main(count: int = 100_000, first: int = 1_000_000) -> None:
    """Solve `count` random supplies and print what happened."""
    steps: Counter[int] = Counter()
    failed = []
    start = time.perf_counter()
    for seed in range(first, first + count):
        try:
            steps[deliver(random_supply(seed)).iterations] += 1
        except ComputationError as error:
            failed.append((seed, str(error)))
    middle = sorted(steps.elements())[(count - len(failed)) // 2]
    more = sum(times for number, times in steps.items() if number > 12)
    print(f"{count} supplies, seeds {first} to {first + count - 1}: {len(failed)} failed")
    print(f"Newton steps: median {middle}, most {max(steps)}, more than 12 in {more}")
    print(f"{time.perf_counter() - start:.0f} s")
    for seed, message in failed:
        print(seed, message)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
