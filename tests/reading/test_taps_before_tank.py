"""Taps on the line between pump and tank: fed back from the tank, or refused with a clear word."""

from __future__ import annotations

from pathlib import Path

import pytest

import supplycalc as sc
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Head, Opening, OpenSupply, constant_source
from supplycalc.delivery.solver import deliver
from supplycalc.hydraulics.water import density, specific_weight, viscosity
from supplycalc.questions.flow.study import flow
from supplycalc.questions.parts.study import parts_of
from supplycalc.questions.size.study import size
from supplycalc.reading.writing import write
from supplycalc.supply.well_line import loss_with_slope
from tests.two_wells import BOTH

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TEXT = (SCENARIOS / "slow-well.toml").read_text(encoding="utf-8")
HYDRANT = """
[[fixture]]
name = "hydrant"
kind = "yard-hydrant"
elevation = "-20 ft"
cold = { from = "wellhead", length = "10 ft", buried = "40 in", material = "pe-cts-sdr9" }
"""
CURVE = 'curve = [["0 gpm", "320 ft"], ["6 gpm", "280 ft"], ["12 gpm", "180 ft"]]'


def with_curve(text: str) -> str:
    """The same well with a pump whose curve is known."""
    start, end = text.index("measured_flow "), text.index("motor_power")
    return f"{text[:start]}{CURVE}\n{text[end:]}"


def test_it_is_fed_back_through_the_line() -> None:
    """The line's 180 ft stand behind the tank once more, there already; all else is as before."""
    house = sc.loads(TEXT + HYDRANT)
    [back] = [run for run in house.runs if run.start == "source" and run.existing]
    assert back.name == "offset pipe, back from the tank"
    assert back.size == "1"
    assert back.length == pytest.approx(180 * 0.3048)
    assert write(sc.loads(write(house))) == write(house)
    assert back.fed_back
    with_tap, without = size(house, mend=False), size(sc.loads(TEXT), mend=False)
    margins = {outlet.name: outlet.residual for outlet in without.outlets}
    for outlet in with_tap.outlets:
        if outlet.name != "hydrant":
            assert outlet.residual == pytest.approx(margins[outlet.name], rel=1e-9)
    [tap] = [outlet for outlet in with_tap.outlets if outlet.name == "hydrant"]
    [line] = [run for run in with_tap.runs if run.name == back.name]
    [branch] = [run for run in with_tap.runs if run.name == "hydrant cold"]
    assert with_tap.service is not None
    assert with_tap.service.name == "tank to hall"
    weight = specific_weight(house.water.cold)
    assert house.source.cut_in is not None
    by_hand = house.source.cut_in + weight * 13 * 0.3048 - line.loss - branch.loss
    assert tap.residual == pytest.approx(by_hand, rel=1e-9)


def test_while_the_pump_runs_it_has_more() -> None:
    """Between two heads, what pump and tank hold at cut-in, by the solver for several heads."""
    house = sc.loads(with_curve(TEXT) + HYDRANT)
    told = flow(house, ("hydrant",))
    fed_back = told.outlets[0].pressure
    household = Household(told.design)
    tree, laws = told.design.tree, household.laws
    at = tree.index["wellhead, fed back"]
    branch = next(i for i in range(len(tree)) if tree.parent[i] == at)
    [opening] = household.open_supply(told.uses, constant_source(0.0)).openings
    [drop] = [link for link in house.line if link.name == "drop pipe"]
    assert house.source.cut_in is not None
    rho, mu = density(house.water.cold), viscosity(house.water.cold)
    weight = specific_weight(house.water.cold)

    def pump(given: float) -> tuple[float, float]:
        """Head of the pump less lift, drawdown and the drop pipe's loss, at the wellhead."""
        points = [(0.0, 320.0), (6.0, 280.0), (12.0, 180.0)]
        gpm, feet = 6.30902e-5, 0.3048
        (q0, h0), (q1, h1) = points[:2] if given < 6.0 * gpm else points[1:]
        slope = (h1 - h0) * feet / ((q1 - q0) * gpm)
        deeper = feet / (0.15 * gpm)
        head = h0 * feet + slope * (given - q0 * gpm) - 70.0 * feet - deeper * given
        lost, rise = loss_with_slope(house, [drop], given)
        return weight * head - lost, weight * (slope - deeper) - rise

    def of(*links: int) -> dict[str, tuple[float, ...]]:
        return {
            name: (0.0, *(getattr(laws, name)[i] for i in links))
            for name in ("length", "k", "static_gain")
        }

    parts = of(at, branch)
    gain = laws.static_gain[at]
    supply = OpenSupply(
        names=("pump", "line to the tank", "branch"),
        parent=(-1, 0, 0),
        length=parts["length"],
        inside_diameter=(1.0, laws.inside_diameter[at], laws.inside_diameter[branch]),
        roughness=(laws.roughness[at],) * 3,
        k=parts["k"],
        density=(rho,) * 3,
        viscosity=(mu,) * 3,
        static_gain=(0.0, -gain, laws.static_gain[branch]),
        device=(None,) * 3,
        limit=(None,) * 3,
        source=pump,
        heads=(Head(name="tank", link=1, law=constant_source(house.source.cut_in)),),
        openings=(
            Opening(name="hydrant", link=2, coefficient=opening.coefficient, cap=opening.cap),
        ),
    )
    between = deliver(supply)
    assert between.flow[0] > 0.0
    assert between.pressure[2] > fed_back
    running = told.cases[-1]
    assert running.source.name == "pump running"
    assert running.outlets[0].pressure == pytest.approx(between.pressure[2], rel=1e-6)
    assert running.total == pytest.approx(between.opening_flow[0], rel=1e-6)


def test_what_could_get_no_water_is_told() -> None:
    """A check valve between it and the tank: only the pump could feed it."""
    old = 'size = "1", length = "180 ft" }'
    assert old in TEXT
    text = TEXT.replace(old, old.replace("}", ", check_valves = 1 }").replace(" ,", ","))
    with pytest.raises(sc.InputError, match="lets nothing back"):
        sc.loads(text + HYDRANT)


@pytest.mark.parametrize(
    ("point", "said"),
    [("wellhead", "start from 'trench', behind it"), ("trench", "give its size")],
)
def test_the_line_behind_it_is_pipe_of_a_given_size(point: str, said: str) -> None:
    """Sizes before the tank are chosen by what the pump gives, not by what such a tap draws."""
    text = (SCENARIOS / "ridge-line.toml").read_text(encoding="utf-8")
    with pytest.raises(sc.InputError, match=said):
        sc.loads(text + HYDRANT.replace("wellhead", point))


def test_a_tee_in_the_line_is_what_it_takes_to_buy() -> None:
    """The line itself is bought once, or lies there."""

    def needs(text: str) -> set[tuple[str, str]]:
        told = parts_of(size(sc.loads(text), mend=False))
        return {(item.kind, item.size) for item in told.items}

    assert ("tee", "1 x 1 x 3/4") in needs(TEXT + HYDRANT)
    assert not any(kind == "transition-fitting" for kind, _ in needs(TEXT + HYDRANT))


AT_TEE = """
[[fixture]]
name = "hydrant"
kind = "yard-hydrant"
elevation = "0 ft"
cold = { from = "well tee", length = "10 ft", material = "pe-cts-sdr9" }
"""


def test_where_two_wells_meet_it_is_fed_back_too() -> None:
    """The wells and the house are what they were; the hydrant has the tank's pressure less height
    and what the line in common takes, and while both pumps run it has more."""
    shared = BOTH.replace('length = "60 ft"\n', 'length = "60 ft"\nsize = "1-1/4"\n')
    house = sc.loads(shared + AT_TEE)
    design, without = size(house, mend=False), size(sc.loads(shared), mend=False)
    margins = {outlet.name: outlet.residual for outlet in without.outlets}
    back, branch = (
        design.run(name) for name in ("tee to house, back from the tank", "hydrant cold")
    )
    weight = specific_weight(house.water.cold)
    tap = next(outlet for outlet in design.outlets if outlet.name == "hydrant")
    states = {case.source.name: case.total for case in flow(house, ["hydrant"]).cases}

    assert write(sc.loads(write(house))) == write(house)
    assert {o.name: o.residual for o in design.outlets if o.name != "hydrant"} == pytest.approx(
        margins, rel=1e-9
    )
    assert house.source.cut_in is not None
    assert tap.residual == pytest.approx(
        house.source.cut_in - 6 * 0.3048 * weight - back.loss - branch.loss, rel=1e-9
    )
    assert states["pump running"] > states["cut-in"]


def test_before_two_wells_meet_it_is_refused() -> None:
    """There only one well's water passes."""
    with pytest.raises(sc.InputError, match="start from 'well tee', where they meet, or behind"):
        sc.loads(BOTH + AT_TEE.replace("well tee", "wellhead"))
