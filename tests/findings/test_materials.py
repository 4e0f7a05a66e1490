"""Tube for hot water, ratings by temperature, plastic at the heater."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Point, Tank, Water
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
    source = replace(design.source, static_pressure=static * PSI)
    exceeded = findings_of(replace(design, source=source), "rating-exceeded")
    return [finding.where for finding in exceeded]


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
    design = sized(two_storey(points=(Point(name="hall", elevation=3.0),)))
    source = replace(design.source, static_pressure=static * PSI)

    findings = findings_of(replace(design, source=source), "rating-exceeded")

    assert ("trunk" in [finding.where for finding in findings]) == over


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


@pytest.mark.parametrize(
    ("material", "fails"), [("pe-sidr15", True), ("pe-sidr9", False), ("pe-sidr7", False)]
)
def test_buried_service_pipe_needs_160_psi(material: str, fails: bool) -> None:
    """IPC 605.3: 160 psi at 73 degF. SIDR 15 is rated for 100, SIDR 9 for 160 (ASTM D2239)."""
    house = with_run(two_storey(), "service", material=material, buried=1.0)

    assert [finding.level for finding in findings_of(house, "service-rating")] == ["fail"] * fails


def test_the_rating_of_service_pipe_by_either_book() -> None:
    """160 psi by the American codes; PN 10 by European practice, a warning; none where it is not
    buried."""
    house = with_run(two_storey(), "service", material="pe-sidr15", buried=1.0)
    german = replace(house, project=replace(house.project, demand="din1988", units="metric"))
    indoors = with_run(house, "service", buried=None)

    assert only(house, "service-rating").level == "fail"
    assert only(german, "service-rating").level == "warn"
    assert only(german, "service-rating").values[2] == (pytest.approx(1e6), "pressure")
    assert findings_of(with_run(german, "service", material="pe100-sdr11"), "service-rating") == []
    assert findings_of(indoors, "service-rating") == []


def test_hot_tube_needs_100_psi_at_180_degf() -> None:
    """IPC 605.4. Pipes of PE-X S 5 to ISO 15875 have no rating beyond 70 degC."""
    house = with_run(two_storey(), "hot trunk", material="pex-s5", joining="press")

    assert only(house, "distribution-rating").where == "hot trunk"
    assert findings_of(two_storey(), "distribution-rating") == []
