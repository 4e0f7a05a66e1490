"""Speed of many variants of one house, as ratios; by hand only.

`pytest tests/benchmarks/test_batch_benchmark.py -s` prints them. To reach: 10,000 variants at fixed
sizes take at most a five-hundredth of a loop of single solves, variants sized anew a
twenty-fifth of a loop of `size` on one core and a thirty-fifth on two. Times are those of the
processor: other work on the machine disturbs them less, and takes no second core away.
"""

from __future__ import annotations

import random
import resource
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

import supplycalc as sc
from supplycalc.chance.certainty import sizes_of
from supplycalc.chance.variants import peaks
from supplycalc.model.field_paths import with_value
from supplycalc.questions.size.study import size
from supplycalc.sizing.size import choose, situation_of
from supplycalc.units import FOOT, PSI

RIDGE = Path(__file__).parents[2] / "scenarios" / "ridge-cottage.toml"
MANY = 10_000
SOME = 20


def took(work: Callable[[], Any]) -> float:
    """Processor time of this process, the least of five [s]."""
    times = []
    for _ in range(5):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def took_on_two(work: Callable[..., Any]) -> float:
    """What two free cores would take [s]: this process, and half of what two workers use from
    their start to their end."""
    start, before = time.process_time(), resource.getrusage(resource.RUSAGE_CHILDREN)
    with ProcessPoolExecutor(2) as executor:
        work(executor=executor)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    workers = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.process_time() - start + 0.5 * workers


def test_fixed_sizes() -> None:
    """Lengths of the service and cut-in pressures: one pass, and the whole batch with its rows."""
    house, rng = sc.load(RIDGE), np.random.default_rng(1)
    design, situation = size(house, mend=False), situation_of(house)
    length, cut_in = rng.uniform(60, 110, MANY) * FOOT, rng.uniform(48, 60, MANY) * PSI
    values = {("run", "service", "length"): length, ("source", "cut_in"): cut_in}
    sizes = sizes_of(design, situation)

    def singly() -> None:
        for number in range(SOME):
            changed = house
            for path, each in values.items():
                changed = with_value(changed, path, float(each[number]))
            choose(situation_of(changed))

    single = took(singly) / SOME
    one_pass = took(lambda: peaks(situation, sizes, values)) / MANY
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\none pass: {one_pass * 1e6:.1f} us a variant, 1/{single / one_pass:.0f} of a single")
    print(f"solve; at most {most:.0f} MiB in all", end="")


def test_sized_anew(tmp_path: Path) -> None:
    """Where the source's pressure alone varies, and where lengths do too; one core and two."""
    rng = random.Random(1)
    cut_in = [f"{rng.uniform(40, 80):.3f}" for _ in range(2000)]
    tables = {
        "pressure alone": "source.cut_in (psi)\n" + "\n".join(cut_in),
        "length and pressure": "run.service.length (ft),source.cut_in (psi)\n"
        + "\n".join(f"{rng.uniform(60, 110):.2f},{each}" for each in cut_in),
    }
    house = sc.load(RIDGE)
    variants = []
    for _ in range(SOME):
        longer = with_value(house, ("run", "service", "length"), rng.uniform(60, 110) * FOOT)
        variants.append(with_value(longer, ("source", "cut_in"), rng.uniform(40, 80) * PSI))
    alone = took(lambda: [size(each) for each in variants]) / SOME
    bare = took(lambda: [size(each, mend=False) for each in variants]) / SOME
    for name, text in tables.items():
        path = tmp_path / "table.csv"
        path.write_text(text, encoding="utf-8")
        count = text.count("\n")
        work = partial(sc.batch, [RIDGE], variants=path)
        one, two = took(work) / count, took_on_two(work) / count
        print(f"\n{name}: 1/{alone / one:.0f} of `size`, on two cores 1/{alone / two:.0f};")
        print(f"1/{bare / one:.0f} and 1/{bare / two:.0f} of one that seeks no remedy", end="")
