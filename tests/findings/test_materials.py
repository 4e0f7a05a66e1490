"""Tube for hot water, ratings by temperature, plastic at the heater."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Tank, Water
from tests.findings.judging import PSI, fahrenheit, findings_of, only, sized, with_run, with_runs
from tests.houses import two_storey, well


def test_polyethylene_service_pipe_is_refused_for_hot_water() -> None:
    """IPC 605.4 asks 100 psi at 180 degF of hot pipe; PE service pipe has no hot rating."""
    house = with_run(two_storey(), "hot trunk", material="pe-cts-sdr9", joining="insert")

    finding = only(house, "hot-material")

    assert finding.level == "fail"
    assert finding.where == "hot trunk"
    assert finding.source is not None


def test_pex_and_copper_may_carry_hot_water() -> None:
    """PEX (as it is in the house) and copper are listed for hot distribution."""
    copper = with_run(two_storey(), "hot trunk", material="copper-l", joining="soldered")

    assert findings_of(two_storey(), "hot-material") == []
    assert findings_of(copper, "hot-material") == []


def test_plastic_at_the_heater_is_noted_and_metal_is_not() -> None:
    """Common practice: 18 in of metal between heater and plastic."""
    touching = ("heater feed", "hot trunk", "sink hot")

    def metal(run: object) -> object:
        name = run.name  # type: ignore[attr-defined]
        if name not in touching:
            return run
        return replace(run, material="copper-l", joining="soldered")  # type: ignore[type-var]

    finding = only(two_storey(), "plastic-at-heater")

    assert finding.level == "note"
    assert all(name in finding.where for name in touching)
    assert finding.remedy_values[0] == pytest.approx((18 * 0.0254, "cover"))
    assert finding.source is None
    assert findings_of(with_runs(two_storey(), metal), "plastic-at-heater") == []  # type: ignore[arg-type]


def hottest(degrees: float, static: float) -> list[str]:
    """Where ratings are exceeded when the hot trunk stands at a pressure [psi] and temperature."""
    design = sized(two_storey(water=Water(hot=fahrenheit(degrees))))
    runs = tuple(
        replace(result, static_end_pressure=static * PSI, static_gain=0.0)
        if result.run.name == "hot trunk"
        else result
        for result in design.runs
    )
    return [finding.where for finding in findings_of(replace(design, runs=runs), "rating-exceeded")]


@pytest.mark.parametrize(
    ("degrees", "static", "over"),
    [(180.0, 99.9, False), (180.0, 100.1, True), (200.0, 79.9, False), (200.0, 80.1, True)],
)
def test_pex_ratings_fall_with_temperature(degrees: float, static: float, over: bool) -> None:
    """ASTM F876: 100 psi at 180 degF and 80 psi at 200 degF."""
    assert ("hot trunk" in hottest(degrees, static)) == over


def test_water_hotter_than_any_rating_fails() -> None:
    """Nothing is published for PEX above 200 degF (ASTM F876)."""
    finding = next(
        finding
        for finding in findings_of(
            two_storey(water=Water(hot=fahrenheit(205.0))), "rating-exceeded"
        )
        if finding.where == "hot trunk"
    )

    assert finding.level == "fail"
    assert finding.values[1][0] == pytest.approx(fahrenheit(200.0))


@pytest.mark.parametrize(("static", "over"), [(159.9, False), (160.1, True)])
def test_the_lower_end_of_a_run_counts(static: float, over: bool) -> None:
    """ASTM F876: 160 psi at 73 degF. The run rises, so its start stands higher than its end."""
    design = sized(two_storey())
    rise = 10.0 * PSI
    runs = tuple(
        replace(result, static_end_pressure=static * PSI - rise, static_gain=-rise)
        if result.run.name == "trunk"
        else replace(result, static_end_pressure=0.0, static_gain=0.0)
        for result in design.runs
    )

    findings = findings_of(replace(design, runs=runs), "rating-exceeded")

    assert [finding.where for finding in findings] == (["trunk"] if over else [])


@pytest.mark.parametrize(("rating", "over"), [(60.0, False), (59.0, True)])
def test_a_tank_must_hold_cut_out(rating: float, over: bool) -> None:
    """A tank rated below the cut-out of 60 psi fails."""
    tank = Tank(max_pressure=rating * PSI)
    house = two_storey(source=replace(well(40.0, 60.0), tank=tank))

    findings = [
        finding
        for finding in findings_of(house, "rating-exceeded")
        if finding.where == "pressure tank"
    ]

    assert len(findings) == int(over)
