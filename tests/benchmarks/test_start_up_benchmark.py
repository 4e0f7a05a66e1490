"""Whole processes: our commands against a bare typer program and the packages they need.

Run by hand: `pytest tests/benchmarks/test_start_up_benchmark.py -s`. The processes take turns, so
that a busy machine slows them alike; medians and ratios are printed, of the time on the clock and
of the time on the processor, which other work on the machine disturbs less. To reach: `--help` 1.1
and `size` 2.2 times the bare program, by the processor.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SCENARIO = SCENARIOS / "ridge-cottage.toml"
FARMHOUSE = SCENARIOS / "old-farmhouse.toml"
ROUNDS = 15
ENVIRONMENT = {
    name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"
}
"""As installed: modules are compiled once, not at every start."""
HELLO = """
import typer
app = typer.Typer()
@app.command()
def hello() -> None:
    typer.echo("hello")
app()
"""
PROGRAMS = {
    "typer hello": ["-c", HELLO],
    "typer, fluids, tabulate": ["-c", "import typer, fluids.friction, tabulate"],
    "all five packages": [
        "-c",
        "import typer, fluids, pint, networkx, tabulate; pint.UnitRegistry()",
    ],
    "supplycalc --version": ["-m", "supplycalc", "--version"],
    "supplycalc --help": ["-m", "supplycalc", "--help"],
    "supplycalc size, 20 runs": ["-m", "supplycalc", "size", str(SCENARIO)],
    "supplycalc size, 22 runs": ["-m", "supplycalc", "size", str(FARMHOUSE)],
    "supplycalc check": ["-m", "supplycalc", "check", str(SCENARIO)],
}


def children_used() -> float:
    """Processor time of the processes run so far [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def test_start_up(benchmark) -> None:
    """Medians of whole processes, each as a ratio to the bare typer program."""
    clock: dict[str, list[float]] = {name: [] for name in PROGRAMS}
    processor: dict[str, list[float]] = {name: [] for name in PROGRAMS}
    for _ in range(ROUNDS):
        for name, arguments in PROGRAMS.items():
            start, used = time.perf_counter(), children_used()
            process = subprocess.run(
                [sys.executable, *arguments], capture_output=True, check=False, env=ENVIRONMENT
            )
            clock[name].append(time.perf_counter() - start)
            processor[name].append(children_used() - used)
            assert process.returncode == 0, process.stderr
    for name in PROGRAMS:
        told = [f"{name:26}"]
        for times in (clock, processor):
            middle, hello = median(times[name]), median(times["typer hello"])
            told.append(f"{middle * 1e3:7.0f} ms  {middle / hello:.2f}")
        print("\n" + "  ".join(told), end="")
    size = [sys.executable, *PROGRAMS["supplycalc size, 20 runs"]]
    options = {"capture_output": True, "check": True, "env": ENVIRONMENT}
    benchmark.pedantic(subprocess.run, args=(size,), kwargs=options, rounds=3)
