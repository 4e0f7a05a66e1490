"""Supports against International Residential Code 2018, Table P2605.1, piping support.

The table gives the largest horizontal distance: copper tube 6 ft up to 1-1/4 in and 10 ft above,
PEX 2.67 ft (32 in) up to 1 in and 4 ft above, CPVC 3 ft up to 1 in and 4 ft above. Figures are
printed exactly, 32 in as 2.67 ft, hence 0.005 ft.
"""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.catalogue import load_catalogue
from supplycalc.questions.parts.study import parts_of
from supplycalc.questions.parts.supports import support_distance
from supplycalc.questions.size.study import size
from tests.houses import FOOT, two_storey

TUBES = load_catalogue().tubes
SPACING = [
    ("copper-l", "1/2", 6.0),
    ("copper-l", "1-1/4", 6.0),
    ("copper-l", "1-1/2", 10.0),
    ("pex-sdr9", "3/8", 32 / 12),
    ("pex-sdr9", "1", 32 / 12),
    ("pex-sdr9", "1-1/4", 4.0),
    ("cpvc-sdr11", "1", 3.0),
    ("cpvc-sdr11", "1-1/4", 4.0),
]


@pytest.mark.parametrize(("tube", "nominal", "feet"), SPACING)
def test_distance(tube: str, nominal: str, feet: float) -> None:
    """The row of the table that the size falls in."""
    distance = TUBES[tube].support_distance(TUBES[tube].size(nominal))

    assert distance == pytest.approx(feet * FOOT, abs=0.005 * FOOT)


def test_count_keeps_the_distance() -> None:
    """No gap is wider than the table's; with one support less it would be."""
    design = size(two_storey())
    listed = parts_of(design)
    counted = {
        (item.material, item.size): item.count for item in listed.items if item.kind == "support"
    }
    for (material, nominal), count in counted.items():
        runs = [run for run in design.runs if (run.material, run.nominal) == (material, nominal)]
        spacing = TUBES[material].support_distance(TUBES[material].size(nominal))
        assert spacing is not None
        assert count == sum(math.ceil(run.length / spacing - 1e-9) for run in runs)
        for run in runs:
            number = math.ceil(run.length / spacing - 1e-9)
            assert run.length / number <= spacing * (1 + 1e-9)
            assert number == 1 or run.length / (number - 1) > spacing * (1 - 1e-9)


def test_buried_and_embedded_pipe_is_carried_by_the_ground() -> None:
    """Nothing to support there."""
    house = two_storey()
    design = size(house)
    buried = design.run("service")

    assert support_distance(buried) is None or buried.run.buried is None
    below = replace(buried, run=replace(buried.run, buried=1.0))
    inside = replace(buried, run=replace(buried.run, embedded=True))
    assert support_distance(below) is None
    assert support_distance(inside) is None
