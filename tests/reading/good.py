"""One small right file, which the tests of bad files spoil in one place each; and the spoiling."""

from __future__ import annotations

from supplycalc.problems import InputError
from supplycalc.reading import loads

# Figures and names are invented.
GOOD = """\
[project]
name = "Cabin"
demand = "irc"

[source]
kind = "well"
elevation = "-6 ft"
cut_in = "40 psi"
cut_out = "60 psi"
[source.tank]
volume = "44 gal"
[source.pump]
curve = [["0 gpm", "310 ft"], ["5 gpm", "290 ft"]]
[source.well]
static_level = "62 ft"
pump_depth = "160 ft"
drop_pipe = { material = "pe-cts-sdr9", size = "1", length = "160 ft" }

[water]
cold = "50 degF"
hot = "120 degF"

[limits]
service_minimum = "3/4"

[defaults]
material = "pex-sdr9"
joining = "crimp"

[[run]]
name = "service"
from = "source"
to = "entry"
material = "pe-cts-sdr9"
length = "180 ft"
sizes = ["3/4", "1"]
buried = "42 in"

[[device]]
name = "softener"
kind = "softener"
from = "entry"
to = "treated"
loss = "12 psi at 7 gpm"

[[device]]
name = "water heater"
kind = "heater"
from = "treated"
to = "hot header"

[[manifold]]
name = "cold manifold"
from = "treated"
ports = 2

[[point]]
name = "entry"
elevation = "2 ft"

[[fixture]]
name = "bath"
kind = "tub-shower"
elevation = "11 ft"
cold = { from = "cold manifold", length = "52 ft", fittings = { elbow-90 = 3 } }
hot = { from = "hot header", length = "48 ft" }

[[fixture]]
name = "toilet"
kind = "water-closet"
elevation = "1 ft"
cold = { from = "cold manifold", length = "20 ft", size = "1/2" }
"""


def spoilt(*edits: str) -> str:
    """The good file with each odd edit replaced by the even one after it."""
    text = GOOD
    for old, new in zip(edits[::2], edits[1::2], strict=True):
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return text


def problems_of(text: str) -> list[str]:
    """Every problem as "line: message"; empty where the file is right."""
    try:
        loads(text, "cabin.toml")
    except InputError as error:
        return [f"{problem.place.line}: {problem.text}" for problem in error.problems]
    return []
