"""A second pressure tank through a day: water balances, and the steps follow the true equations."""

from __future__ import annotations

from pathlib import Path

import pytest
from scipy.integrate import solve_ivp

import supplycalc as sc
from supplycalc.delivery.fixture_use import full_use
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Head, constant_source
from supplycalc.questions.day.result import Day
from supplycalc.questions.day.study import day
from supplycalc.questions.size.study import size
from supplycalc.questions.well.study import well_check
from supplycalc.supply.far_tank import far_tanks_of
from supplycalc.supply.tank import air_constant, water_held
from tests.commands.files import run
from tests.reading.test_far_tanks import far

GALLON = 3.785411784e-3


def drawn(text: str, *draws: str) -> Day:
    """One day of these draws alone."""
    without = "\n\n".join(part for part in text.split("\n\n") if not part.startswith("[[draw]]"))
    return day(size(sc.loads("\n\n".join((without, *draws))), mend=False))


def test_two_tanks_and_a_draw_go_as_their_equations_say() -> None:
    """dU/dt of both by Runge-Kutta while the bath runs and the pump still rests.

    The far tank's pressure stands within a quarter of a psi of where it is seen; the flow between
    goes with the root of a few psi, so that 3 % of what it gives is allowed, and what the house
    draws is 1 % off at most.
    """
    text = far("upper hall")
    draw = '[[draw]]\nfixture = "upper bath"\nat = ["6:00"]\nduration = "4 min"\n'
    result = drawn(text, draw)
    assert result.pump is not None
    assert result.pump.starts == 0
    assert result.far_tank is not None

    design = result.design
    household, (tank,) = Household(design), far_tanks_of(design.tree)
    [fixture] = [each for each in design.house.fixtures if each.name == "upper bath"]
    use, first = full_use(fixture), design.house.source.tank
    assert first is not None
    assert first.volume is not None
    assert tank.volume is not None
    assert first.precharge is not None
    assert design.house.source.cut_out is not None
    volumes, charges = (first.volume, tank.volume), (first.precharge, tank.precharge)
    air = [air_constant(v, p, tank.atmosphere) for v, p in zip(volumes, charges, strict=True)]
    full = [
        water_held(v, p, at, tank.atmosphere)
        for v, p, at in zip(
            volumes, charges, (design.house.source.cut_out, tank.cut_out), strict=True
        )
    ]

    def fall(_: float, water: list[float]) -> list[float]:
        at = [k / (v - w) - tank.atmosphere for k, v, w in zip(air, volumes, water, strict=True)]
        head = Head(name="far", link=tank.link, law=constant_source(at[1]))
        delivered = household.settle((use,), constant_source(at[0]), (head,)).delivered
        return [-delivered.flow[0], -delivered.head_flow[0]]

    solved = solve_ivp(fall, (0.0, 240.0), full, rtol=1e-6, atol=1e-9)
    given = full[1] - solved.y[1][-1]
    whole = full[0] + full[1] - sum(solved.y[:, -1])
    assert given > 1.0 * GALLON
    # afterwards, with nothing open, the tanks come to rest with each other
    assert result.far_tank.full - result.far_tank.least >= given * 0.97
    assert result.water.drawn == pytest.approx(whole, rel=0.01)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("volume", ["20 gal", "86 gal"])
def test_water_balances(seed: int, volume: str) -> None:
    """Pumped less drawn is what both tanks gained, to 1e-9 of what was drawn."""
    text = far("upper hall").replace('"86 gal"', f'"{volume}"')
    result = day(size(sc.loads(text), mend=False), days=2, seed=seed)
    assert result.water.imbalance == pytest.approx(0.0, abs=1e-9 * result.water.drawn)
    assert result.far_tank is not None
    assert result.far_tank.given > 0.0
    assert sum(f.drawn for f in result.water.by_fixture) == pytest.approx(result.water.drawn)


def test_it_spares_the_pump_starts_and_holds_the_far_house() -> None:
    """The same draws with and without it."""
    draws = (
        '[[draw]]\nfixture = "upper bath"\nat = ["6:00", "7:00", "20:00"]\nduration = "9 min"',
        '[[draw]]\nfixture = "upper shower"\nat = ["7:05", "20:05"]\nduration = "6 min"',
    )
    text = far("upper hall")
    with_tank = drawn(text, *draws)
    without = drawn(text[: text.rindex("[[tank]]")], *draws)
    assert with_tank.pump is not None
    assert without.pump is not None
    assert with_tank.pump.starts < without.pump.starts
    lowest = {outlet.outlet.name: outlet.lowest for outlet in without.fixtures}
    for outlet in with_tank.fixtures:
        assert outlet.lowest > lowest[outlet.outlet.name]
        assert outlet.lowest == pytest.approx(outlet.interpolated, rel=0.01)


def test_a_flat_one_gives_nothing() -> None:
    """Charged above cut-out at its height it never takes water."""
    text = far("upper hall").replace('"40 psi"', '"80 psi"')
    draw = '[[draw]]\nfixture = "upper bath"\nat = ["6:00"]\nduration = "9 min"\n'
    result = drawn(text, draw)
    assert result.far_tank is not None
    assert result.far_tank.full == result.far_tank.given == 0.0


def test_the_page_tells_of_it(tmp_path: Path) -> None:
    """What it gave and what was left in it, and how it is reckoned."""
    file = tmp_path / "far.toml"
    file.write_text(far("upper hall"), encoding="utf-8")
    page = " ".join(run("day", str(file), "--full").stdout.split())
    assert "upper tank: gives" in page
    assert "in steps of 0.5 psi" in page


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("check", "which asks for a charge of 40.2 psi; gives 21.5 gal between them"),
        ("well", "with upper tank, at most 65 172"),
        ("slab", "Shut upper tank off for it"),
        ("draw", "upper tank"),
        ("parts", "upper tank"),
    ],
)
def test_every_command_knows_it(tmp_path: Path, command: str, words: str) -> None:
    """By its name, with what it is to that question."""
    file = tmp_path / "far.toml"
    file.write_text(far("upper hall"), encoding="utf-8")
    page = " ".join(run(command, str(file), "--full").stdout.split())
    assert words in page


def test_both_together_are_counted_by_boyle() -> None:
    """Of the pump's cycle: what both hold, and how long that takes at what the pump gives."""
    design = size(sc.loads(far("upper hall")), mend=False)
    check = well_check(design)
    assert check.tank is not None
    told, cycles = check.tank.with_far, check.tank.cycles
    assert told is not None
    assert cycles is not None
    (tank,) = far_tanks_of(design.tree)
    assert told.drawdown == pytest.approx(cycles.drawdown + (tank.drawdown or 0.0))
    mean = cycles.drawdown / cycles.run_time
    assert told.run_time == pytest.approx(told.drawdown / mean, rel=0.02)
