"""How sure a verdict is within the file's ranges: closed forms, and the plain computation."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

import supplycalc as sc
from supplycalc.chance.certainty import (
    HALF_WIDTH,
    certainty,
    measurements,
    sizes_of,
    unit_draws,
    values_of,
)
from supplycalc.chance.variants import peaks
from supplycalc.model import Range
from supplycalc.model.field_paths import with_value
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Design
from supplycalc.sizing.pressures import follow_pressures
from supplycalc.sizing.size import largest_sizes, situation_of
from supplycalc.units import FOOT, PSI
from tests.questions.ranged import RIDGE, ranged

SCENARIOS = sorted(RIDGE.parent.glob("*.toml"))
CUT_IN = 'cut_in    = "50 psi"'
SERVICE = 'length   = "85 ft"'
OPEN = 'sizes    = ["3/4", "1", "1-1/4"]'
GAUGE = 'elevation = "-6 ft"           # the tank'


def designed(changes: Mapping[str, str]) -> Design:
    """The ridge cottage sized for the middle of its ranges, no changes looked for."""
    return size(ranged(changes), mend=False)


def test_what_is_normal_in_is_normal_out() -> None:
    """The margin falls one to one with cut-in, so the chance is that of the normal distribution.

    2,048 draws of Sobol's sequence miss a share by some draws: 0.3 % is allowed.
    """
    design = designed({CUT_IN: 'cut_in = "50 ± 2 psi"'})
    spread = 2 * PSI / HALF_WIDTH
    expected = NormalDist().cdf(design.worst.margin / spread)
    assert 0.6 < expected < 0.9
    assert certainty(design).pressure == pytest.approx(expected, abs=0.003)


def test_two_normals_add_their_variances() -> None:
    """Cut-in and the gauge's height both bear on every fixture in proportion."""
    design = designed(
        {CUT_IN: 'cut_in = "50 ± 2 psi"', GAUGE: 'elevation = "-6 ± 4 ft"  # the tank'}
    )
    weight = 9.80665 * 999.7  # of water at 50 degF, IAPWS-95
    spread = math.hypot(2 * PSI, 4 * FOOT * weight) / HALF_WIDTH
    expected = NormalDist().cdf(design.worst.margin / spread)
    found = certainty(design)
    assert found.pressure == pytest.approx(expected, abs=0.005)
    assert found.error < 0.01


CASES = {
    CUT_IN: 'cut_in = "48 to 52 psi"',
    GAUGE: 'elevation = "-6 ± 1 ft"  # the tank',
    SERVICE: 'length = "85 ± 10 ft"',
    '"3 psi at 15 gpm"': '"3 psi ± 20 % at 15 gpm"',
    'cold = "50 degF"': 'cold = "unknown"',
    'hot  = "120 degF"': 'hot = "115 to 125 degF"',
    'elevation = "9.5 ft"': 'elevation = "9.5 ± 0.5 ft"',
    'length = "52 ft"': 'length = "52 ± 2 ft"',
    'kind      = "hose-bibb"': 'kind = "hose-bibb"\nflow = "4 to 6 gpm"',
}


def test_one_pass_gives_what_sizing_gives_for_each_draw() -> None:
    """Every draw's pressures are those of the house with its figures, to a millionth of a pascal.

    Ranges of source, heights, lengths, a device, both waters and a flow that demand depends on.
    """
    house = ranged(CASES)
    design = size(house, mend=False)
    situation, drawn = situation_of(house), unit_draws(len(house.ranges), 16, 5)
    values, sizes = values_of(house, house.ranges, drawn), sizes_of(design, situation_of(house))
    peak = peaks(situation, sizes, values)
    for number in range(16):
        changed = house
        for path, each in values.items():
            changed = with_value(changed, path, float(each[number]))
        single = situation_of(changed)
        followed = follow_pressures(single, sizes)
        expected = [followed.pressure[outlet.link] for outlet in single.tree.outlets]
        assert peak.residual[:, number] == pytest.approx(expected, abs=1e-6)
        assert peak.source[number] == pytest.approx(single.source.design_pressure)


def test_the_middle_gives_the_plain_result_to_the_last_digit() -> None:
    """An array of middles is the house itself."""
    house = ranged({each: CASES[each] for each in (CUT_IN, SERVICE, '"3 psi at 15 gpm"')})
    design, situation = size(house, mend=False), situation_of(house)
    values = {known.path: np.full(3, known.middle) for known in house.ranges}
    peak = peaks(situation, sizes_of(design, situation), values)
    followed = follow_pressures(situation, sizes_of(design, situation))
    expected = [followed.pressure[outlet.link] for outlet in situation.tree.outlets]
    assert peak.residual[:, 1].tolist() == expected


@pytest.mark.parametrize(
    ("static", "residual"), [("62 psi", "40 to 54 psi"), ("45 to 70 psi", "54 psi")]
)
def test_a_main_sags_by_draw_as_by_itself(static: str, residual: str) -> None:
    """Also where the reading with flow is the higher of the two, which is taken then."""
    text = f'kind = "main"\nstatic = "{static}"\nresidual = "{residual}"\nresidual_flow = "10 gpm"'
    lines = (Path(__file__).parents[2] / "scenarios" / "ridge-cottage.toml").read_text()
    head, _, rest = lines.partition("[source]")
    house = sc.loads(f"{head}[source]\n{text}\n[water]{rest.partition('[water]')[2]}")
    [known] = house.ranges
    situation = situation_of(house)
    drawn = np.linspace(known.low, known.high, 7)
    peak = peaks(situation, [0] * len(situation.choices), {known.path: drawn})
    for value, source in zip(drawn, peak.source, strict=True):
        single = situation_of(with_value(house, known.path, float(value)))
        assert source == pytest.approx(single.source.design_pressure, abs=1e-6)


def test_a_wider_range_never_raises_the_chance_of_a_design_with_margin() -> None:
    """The sizes are those of the middle each time."""
    widths = ("0.5", "1", "2", "4", "8")
    chances = [
        certainty(designed({CUT_IN: f'cut_in = "50 ± {width} psi"'})).pressure for width in widths
    ]
    assert chances == sorted(chances, reverse=True)
    assert chances[-1] < 0.8 < chances[0]


def test_a_larger_pipe_never_makes_the_chance_worse() -> None:
    """The service in each size, the same draws."""
    changes = {CUT_IN: 'cut_in = "50 ± 2 psi"', SERVICE: 'length = "85 ± 10 ft"'}
    chances = [
        certainty(designed({**changes, OPEN: f'size = "{nominal}"'})).pressure
        for nominal in ("3/4", "1", "1-1/4", "1-1/2")
    ]
    assert chances == sorted(chances)
    assert chances[0] < chances[-1]


def test_a_verdict_that_hangs_on_one_length_says_which() -> None:
    """The limit it names is the length at which the margin is nothing, found by bisection."""
    design = designed({SERVICE: 'length = "85 ± 15 ft"'})
    found = certainty(design)
    assert found.only_if is not None
    assert found.only_if.at_most
    low, high = 85 * FOOT, 120 * FOOT
    sizes = sizes_of(design, situation_of(design.house))
    for _ in range(40):
        middle = (low + high) / 2
        tried = situation_of(with_value(design.house, ("run", "service", "length"), middle))
        works = follow_pressures(tried, sizes).worst_margin >= 0.0
        low, high = (middle, high) if works else (low, middle)
    assert found.only_if.limit == pytest.approx(low, rel=2e-3)
    assert found.only_if.limit <= low
    assert "only if length of service is at most" in found.verdict("us")
    assert "with a tape" in found.verdict("us")


def test_a_pipe_of_unknown_size_counts_each_size_alike() -> None:
    """Of three sizes the house works with one: in a third of the cases."""
    design = designed({OPEN: f'{OPEN}\nsize = "?"\nexisting = true'})
    found = certainty(design)
    assert found.pressure == pytest.approx(1 / 3, abs=0.01)
    assert found.only_if is not None
    assert found.only_if.size == "1-1/4"
    assert not found.only_if.at_most


def test_a_pump_known_by_a_rough_bucket_test_is_drawn_too() -> None:
    """It is enough where the drawn flow, and 10 % that a bucket may miss, reach what is needed."""
    curve = (
        'curve = [["0 gpm", "340 ft"], ["10 gpm", "310 ft"], ["15 gpm", "275 ft"], '
        '["20 gpm", "225 ft"], ["25 gpm", "150 ft"]]'
    )
    test = (
        'measured_flow = "9 gpm ± 15 %"\nmeasured_pressure = "50 psi"\nmeasured_uncertainty = "0 %"'
    )
    design = designed({curve: test})
    found = certainty(design)
    assert design.pump is not None
    needed = max(design.pump.needed_flow * 0.95, design.pump.largest_flow)
    flow = design.house.source.pump.measured_flow
    expected = 1 - NormalDist(flow, 0.15 * flow / HALF_WIDTH).cdf(needed)
    assert found.pump is not None
    assert 0.05 < expected < 0.95
    assert found.pump == pytest.approx(expected, abs=0.02)


def test_measuring_tells_what_the_figures_hold() -> None:
    """Of two even figures, where the sum of 3 x and 1 y decides: closed form by integration.

    Without either the verdict is right in half the cases; knowing x in 11 of 12, knowing y in 7.
    """
    drawn = unit_draws(2, 1 << 14, 3)
    works = 3 * drawn[0] + drawn[1] < 2.0
    ranges = [
        Range(path=("run", name, "length"), dimension="length", low=0, middle=0.5, high=1,
              distribution="even", written="0 to 1 m")
        for name in ("x", "y")
    ]  # fmt: skip
    first, second = measurements(ranges, drawn, works)
    assert first.known.known.path[1] == "x"
    assert first.right == pytest.approx(1 - 1 / 12, abs=0.01)  # E min(p, 1-p) over x: 1/3 x 1/4
    assert second.right == pytest.approx(7 / 12, abs=0.01)
    assert second.gain == pytest.approx(1 / 12, abs=0.01)


def test_the_same_seed_gives_the_same_answer() -> None:
    """And another one a different one, within the error that is told."""
    design = designed({CUT_IN: 'cut_in = "50 ± 2 psi"', SERVICE: 'length = "85 ± 10 ft"'})
    first, again, other = certainty(design), certainty(design), certainty(design, seed=9)
    assert first == again
    assert first.works != other.works
    assert first.works == pytest.approx(other.works, abs=5 * (first.error + other.error))


KEYS = "length|residual|cut_in|static_level|measured_flow|specific_capacity|elevation"


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_scenario_may_be_rough_in_all_that_was_measured(path: Path) -> None:
    """Each length, height and pressure with about before it; draws agree with single solves."""
    text = re.sub(rf'((?:{KEYS})\s*=\s*)"([^"~]+)"', r'\1"about \2"', path.read_text("utf-8"))
    try:
        house = sc.loads(text)
    except sc.InputError as error:  # a line in pieces, or a pipe that no pump lifts through
        plain = text
        for problem in error.problems:
            assert "cannot be a range here" in problem.text
            lines = plain.split("\n")
            lines[problem.place.line - 1] = lines[problem.place.line - 1].replace("about ", "")
            plain = "\n".join(lines)
        house = sc.loads(plain)
    assert len(house.ranges) >= 3  # one house is written in positions
    situation, drawn = situation_of(house), unit_draws(len(house.ranges), 16, 2)[:, :3]
    values = values_of(house, house.ranges, drawn)
    sizes = largest_sizes(situation)
    peak = peaks(situation, sizes, values)
    for number in range(3):
        changed = house
        for field, each in values.items():
            changed = with_value(changed, field, float(each[number]))
        single = situation_of(changed)
        followed = follow_pressures(single, sizes)
        expected = [followed.pressure[outlet.link] for outlet in single.tree.outlets]
        assert peak.residual[:, number] == pytest.approx(expected, abs=1e-5)


def test_what_was_measured_since_is_no_range_any_more() -> None:
    """A length that is put in the house's place counts as known, the other range stays."""
    house = ranged({CUT_IN: 'cut_in = "50 ± 2 psi"', SERVICE: 'length = "85 ± 10 ft"'})
    measured = with_value(house, ("run", "service", "length"), 25.0)
    found = sc.size(measured).certainty
    assert found is not None
    assert [each.known.field for each in found.ranges] == ["source.cut_in"]
    gone = sc.replace(house, source=sc.replace(house.source, cut_in=350e3))
    gone = with_value(gone, ("run", "service", "length"), 25.0)
    assert sc.size(gone).certainty is None
