"""Speed of the second verdict and of the pass over many draws, as ratios; by hand only.

`pytest tests/benchmarks/test_chance_benchmark.py -s` prints them. To reach: the second verdict adds
at most a third to the whole process of `size`; 10,000 draws of a house of 40 fixtures at fixed
sizes take at most a five-hundredth of a loop of single solves.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from supplycalc.hydraulics.pressure import flows_above
from supplycalc.reading import load
from supplycalc.sizing.link_laws import laws_of_sizes
from supplycalc.sizing.size import choose, situation_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ROUNDS = 9
SIZE = """
import supplycalc.cli
import supplycalc.questions.size.study as study
import supplycalc.questions.size.command
if {without}:
    study.in_daily_use = lambda design: design
import sys
sys.argv = ["supplycalc", "size", {path!r}]
supplycalc.cli.main()
"""


def used(code: str) -> float:
    """Processor time of one process [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def test_second_verdict() -> None:
    """Whole processes of `size` with and without it, taking turns."""
    for name in ("ridge-cottage", "ranch-on-slab", "lake-hut", "bunkhouse"):
        path = str(SCENARIOS / f"{name}.toml")
        ratios = []
        for _ in range(ROUNDS):
            plain = used(SIZE.format(without=True, path=path))
            ratios.append(used(SIZE.format(without=False, path=path)) / plain)
        low, high = min(ratios), max(ratios)
        print(f"\n{name}: {statistics.median(ratios):.2f} [{low:.2f}-{high:.2f}] x without", end="")


def test_ten_thousand_draws() -> None:
    """40 fixtures, 92 links: all draws at once, in portions, against single solves."""
    sized = choose(situation_of(load(SCENARIOS / "bunkhouse.toml")))
    laws = laws_of_sizes(sized.situation, sized.pressures.sizes)
    draws, portion, count = 10_000, 2_000, len(laws.parent)
    generator = np.random.default_rng(1)
    outlets = [outlet.link for outlet in sized.situation.tree.outlets]
    drawn = np.zeros((count, draws))
    runs = generator.uniform(size=(len(outlets), draws)) < 0.06
    drawn[outlets] = generator.uniform(5e-5, 3e-4, (len(outlets), draws)) * runs

    start = time.perf_counter()
    for first in range(0, draws, portion):
        columns = drawn[:, first : first + portion]
        laws.pressures(np.full(portion, 3e5), flows_above(laws.parent, list(columns)))
    together = time.perf_counter() - start
    start = time.perf_counter()
    for j in range(100):
        laws.pressures(3e5, flows_above(laws.parent, drawn[:, j].tolist()))
    single = (time.perf_counter() - start) * draws / 100
    start = time.perf_counter()
    for _ in range(5):
        situation = situation_of(load(SCENARIOS / "bunkhouse.toml"))
        choose(situation)
    sizing = (time.perf_counter() - start) * draws / 5
    print(
        f"\n{together / draws * 1e6:.1f} us a draw; loop of single ones {single / together:.0f} x, "
        f"loop of sizing anew {sizing / together:.0f} x"
    )
