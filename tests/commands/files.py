"""What the tests of the command line share: a call, the scenarios, a small invented file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from supplycalc.cli import app

SCENARIOS = Path(__file__).parent.parent.parent / "scenarios"

# invented
COTTAGE = """
[project]
name = "Test cottage"
units = "us"
demand = "listed"
listed = ["far bath", "sink"]

[source]
kind = "well"
elevation = "-4 ft"
cut_in = "{cut_in}"
cut_out = "60 psi"

[defaults]
material = "pex-sdr9"
joining = "crimp"

[[run]]
name = "service"
from = "source"
to = "entry"
material = "pe-cts-sdr9"
length = "90 ft"
sizes = ["3/4", "1", "1-1/4"]
fittings = {{ elbow-90 = 2 }}
buried = "40 in"

[[device]]
name = "filter"
kind = "cartridge-filter"
from = "entry"
to = "clean"
loss = "4 psi at 8 gpm"

[[manifold]]
name = "cold manifold"
from = "clean"
ports = 4

[[device]]
name = "tank heater"
kind = "heater"
from = "clean"
to = "hot header"
elevation = "2 ft"

[[fixture]]
name = "far bath"
kind = "tub-shower"
elevation = "{bath}"
cold = {{ from = "cold manifold", length = "50 ft", group = "bath" }}
hot = {{ from = "hot header", length = "45 ft", group = "bath" }}

[[fixture]]
name = "sink"
kind = "kitchen-sink"
elevation = "3 ft"
cold = {{ from = "cold manifold", length = "25 ft" }}
hot = {{ from = "hot header", length = "22 ft" }}
"""


def run(*args: object) -> Any:
    """Call the program in this process."""
    return CliRunner().invoke(app, [str(arg) for arg in args])


def cottage(folder: Path, *, cut_in: str = "40 psi", bath: str = "11 ft", name: str = "c") -> Path:
    """Write the small house and return its path."""
    path = folder / f"{name}.toml"
    path.write_text(COTTAGE.format(cut_in=cut_in, bath=bath), encoding="utf-8")
    return path
