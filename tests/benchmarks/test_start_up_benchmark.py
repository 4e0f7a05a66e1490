"""Whole processes: our commands against a bare typer program and the packages they need.

Run by hand: `pytest tests/benchmarks/test_start_up_benchmark.py -s`. The processes take turns, so
that a busy machine slows them alike; medians and ratios are printed.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

SCENARIO = Path(__file__).parents[2] / "scenarios" / "ridge-cottage.toml"
ROUNDS = 9
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
    "supplycalc size": ["-m", "supplycalc", "size", str(SCENARIO)],
    "supplycalc check": ["-m", "supplycalc", "check", str(SCENARIO)],
}


def test_start_up(benchmark) -> None:
    """Medians of whole processes, each as a ratio to the bare typer program."""
    times: dict[str, list[float]] = {name: [] for name in PROGRAMS}
    for _ in range(ROUNDS):
        for name, arguments in PROGRAMS.items():
            start = time.perf_counter()
            done = subprocess.run(
                [sys.executable, *arguments], capture_output=True, check=False, env=ENVIRONMENT
            )
            times[name].append(time.perf_counter() - start)
            assert done.returncode == 0, done.stderr
    medians = {name: sorted(values)[ROUNDS // 2] for name, values in times.items()}
    for name, value in medians.items():
        print(f"\n{name:26} {value * 1e3:7.0f} ms  {value / medians['typer hello']:.2f}", end="")
    benchmark.pedantic(lambda: None, rounds=1)
