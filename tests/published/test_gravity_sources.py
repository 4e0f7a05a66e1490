"""Water that comes by its own height, through the whole program.

Sources: British Columbia Ministry of Agriculture, Livestock Watering Factsheet 590.304-5,
Understanding Gravity-Flow Pipelines, 2006, page 1 (read): a foot of water is 0.433 psi, and all of
the elevation goes into friction and the pressure at the end; New Mexico State University, Guide
B-810, example A (read from a chart): 3/4 in plastic pipe that falls 10 ft in 1,000 ft carries
1.8 gpm; an aid workers' archive on gravity-flow systems, question 739 (read), by a handbook's
table: a 90 mm polyethylene line of 1,600 m that falls 150 m carries 13 L/s.

Tolerances: half of the last digit of 0.433; the guide's 1.8 gpm, widened by its half digit, must
lie between what the line carries at 50 and at 70 degF, as it states no temperature. The archive
names no wall: its 13 L/s must lie between what the thickest and the thinnest usual one carries
(73.6 mm, SDR 11, and 79.4 mm, SDR 17, inside).
"""

from __future__ import annotations

import pytest

import supplycalc as sc
from tests.houses import FOOT, GPM, PSI

LINE = """
[project]
name = "A trough below a spring"
demand = "listed"
listed = ["trough"]
[source]
kind = "spring"
lowest_level = "10 ft"
highest_level = "12 ft"
inflow = "5 gpm"
[water]
cold = "{temperature} degF"
[[tube]]
name = "smooth-plastic"
roughness = "0.0015 mm"
sizes = [["3/4", "1.05 in", "0.824 in"]]
pressure_rating = "160 psi"
[[run]]
name = "line"
from = "source"
to = "end"
length = "1000 ft"
material = "smooth-plastic"
fittings = {{}}
size = "3/4"
[[fixture]]
name = "trough"
kind = "hose-bibb"
elevation = "0 ft"
flow = "20 gpm"
pressure = "0.1 psi"
regulator = "none"
[fixture.cold]
from = "end"
length = "0.1 ft"
material = "smooth-plastic"
fittings = {{}}
size = "3/4"
"""


def flowing(temperature: int) -> sc.FlowStudy:
    """What comes out of the open end."""
    return sc.flow(sc.loads(LINE.format(temperature=temperature)), ["trough"])


def test_all_of_the_height_goes_into_friction_and_the_end() -> None:
    """10 ft of fall are 4.33 psi: friction and what is left add up to them, and 0.433 psi a foot
    stand between the two levels at rest."""
    study = flowing(60)
    lowest, highest = study.cases
    outlet = lowest.outlets[0]
    lost = sum(step.loss for step in outlet.path)

    assert lowest.source.name == "lowest level"
    assert (lost + outlet.pressure) / PSI == pytest.approx(4.33, abs=0.005)
    assert (highest.source_pressure - lowest.source_pressure) / PSI == pytest.approx(
        2.0 * 0.433, abs=0.001
    )
    assert highest.total > lowest.total


def test_three_quarter_inch_over_ten_feet_in_a_thousand() -> None:
    """1.8 gpm come, the wide open end taking next to nothing."""
    cold, warm = (flowing(temperature).cases[0].total / GPM for temperature in (50, 70))

    assert cold - 0.05 <= 1.8 <= warm + 0.05


def test_a_spring_gives_its_level_and_no_more() -> None:
    """The outlet stands at the lowest level where the file says no other; a sealed height would be
    drawn dry, so an outlet above it is refused."""
    house = sc.loads(LINE.format(temperature=50))
    assert house.source.elevation == pytest.approx(10.0 * FOOT)

    high = LINE.format(temperature=50).replace(
        'kind = "spring"', 'kind = "spring"\nelevation = "11 ft"'
    )
    with pytest.raises(sc.InputError, match="it would draw air"):
        sc.loads(high)


def test_a_village_line_of_90_mm() -> None:
    """Wide open at its end, which takes next to nothing of 150 m; 13 L/s, between both walls."""

    def carried(inside: str) -> float:
        text = LINE.format(temperature=68)
        for old, new in (
            ('"10 ft"', '"150 m"'),
            ('"12 ft"', '"151 m"'),
            ('"1000 ft"', '"1600 m"'),
            ('"1.05 in", "0.824 in"', f'"90 mm", "{inside}"'),
            ('"20 gpm"', '"500 gpm"'),
            ('"160 psi"', '"300 psi"'),
        ):
            assert old in text
            text = text.replace(old, new)
        return sc.flow(sc.loads(text), ["trough"]).cases[0].total * 1000.0

    assert carried("73.6 mm") < 13.0 < carried("79.4 mm")
