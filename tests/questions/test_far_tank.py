"""What a second pressure tank does for open outlets, against a general solver of its equation."""

from __future__ import annotations

from pathlib import Path

import pytest
from scipy.integrate import solve_ivp

import supplycalc as sc
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Head, constant_source
from supplycalc.questions.flow.study import FlowStudy, flow
from supplycalc.supply.tank import air_constant, water_held
from tests.commands.files import run
from tests.reading.test_far_tanks import TEXT, far

OPEN = ("upper shower", "upper bath", "trough", "barn hydrant")


def study(text: str, names: tuple[str, ...] = OPEN) -> FlowStudy:
    """The flows of a house."""
    return flow(sc.loads(text), names)


def test_its_water_lasts_as_long_as_the_equation_says() -> None:
    """dW/dt = -flow(pressure of W) by Runge-Kutta, from cut-out, to what is left as spent."""
    told = study(far("upper hall"))
    helped = told.far_tank[1]
    assert helped.source == "cut-out"
    assert not helped.runs_empty
    household, tank = Household(told.design), helped.far
    assert tank.volume is not None
    volume, law = tank.volume, told.cases[1].source.law
    air = air_constant(volume, tank.precharge, tank.atmosphere)

    def fall(_: float, water: list[float]) -> list[float]:
        pressure = air / (volume - water[0]) - tank.atmosphere
        head = Head(name="tank", link=tank.link, law=constant_source(pressure))
        return [-household.settle(told.uses, law, (head,)).delivered.head_flow[0]]

    first, last = (
        water_held(volume, tank.precharge, pressure, tank.atmosphere)
        for pressure in (helped.starts_at, helped.lasts)
    )

    def spent(_: float, water: list[float]) -> float:
        return float(water[0] - last - 0.1 * (first - last))

    spent.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(fall, (0.0, 3600.0), [first], events=spent, rtol=1e-6, atol=1e-9)
    assert helped.gives == pytest.approx(first - last, rel=1e-9)
    assert helped.time == pytest.approx(solved.t[-1], rel=2e-4)


def test_it_holds_the_pressure_at_first_and_nothing_lasts() -> None:
    """More at first at the far house; what the cases show is what comes without it."""
    with_tank, without = (
        study(far("upper hall")),
        study(TEXT),
    )
    assert without.far_tank == ()
    for ours, theirs in zip(with_tank.outlets, without.outlets, strict=True):
        assert ours.flow == theirs.flow
    for helped in with_tank.far_tank:
        for outlet, lasting in zip(helped.outlets, with_tank.outlets, strict=True):
            assert outlet.pressure_at_first > outlet.pressure
            if helped.source == "cut-in":
                assert outlet.pressure == pytest.approx(lasting.pressure)
    assert with_tank.far_tank[0].runs_empty  # charged 2 psi below what stands at it


def test_a_check_valve_before_it_keeps_its_water_for_what_is_behind() -> None:
    """Without one the barn gets some of it; with one nothing."""
    text = far("upper hall")
    valve = "fittings = { elbow-90 = 2, ball-valve = 1, check-valve = 1 }"
    line = text.index('name     = "line to the upper house"')
    kept = text[:line] + text[line:].replace(
        "fittings = { elbow-90 = 2, ball-valve = 1 }", valve, 1
    )
    assert study(text, ("trough",)).far_tank[0].takes_part
    assert not study(kept, ("trough",)).far_tank[0].takes_part
    assert study(kept, ("upper bath",)).far_tank[0].takes_part


def test_the_page_tells_both(tmp_path: Path) -> None:
    """At first and after, in the reader's words."""
    file = tmp_path / "far.toml"
    file.write_text(far("upper hall"), encoding="utf-8")
    page = " ".join(run("flow", str(file), "--open", "upper bath", "--full").stdout.split())
    assert "From full, upper tank holds upper bath" in page
    assert "Only what comes after lasts" in page
