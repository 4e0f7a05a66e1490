"""Pressure short, thin and too high: levels and values against IRC P2903.3.1 and Table P2903.1."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Device, House, Limits
from supplycalc.sizing.design import Design, MarginPrice
from tests.findings.judging import PSI, findings_of, frozen_sizes, only, sized
from tests.houses import cold_fixture, home_run, pipe, two_storey, well


def with_margin(design: Design, margin: float) -> Design:
    """The same design whose every outlet has this margin [Pa]."""
    return replace(
        design,
        outlets=tuple(
            replace(outlet, residual=outlet.required + margin) for outlet in design.outlets
        ),
    )


def test_each_short_fixture_is_told_once_with_its_worse_side() -> None:
    """A switch of 20/40 psi leaves the bath (20 psi by IRC Table P2903.1) short on both sides."""
    design = sized(two_storey(source=well(20.0, 40.0)))
    findings = findings_of(design, "pressure-short")
    worst = design.outlets[0]

    assert {finding.level for finding in findings} == {"fail"}
    names = [finding.where.split(" (")[0] for finding in findings]
    assert len(names) == len(set(names))
    assert findings[0].where == worst.name
    assert "bath" in names
    assert findings[0].values[1] == pytest.approx((20.0 * PSI, "pressure"))
    assert findings[0].values[2][0] == pytest.approx(worst.required - worst.residual)
    assert findings[0].source is not None
    assert "P2903.1" in findings[0].source.text


def test_enough_pressure_is_not_short() -> None:
    """Exactly what is required is enough."""
    design = sized(two_storey())

    assert findings_of(with_margin(design, 0.0), "pressure-short") == []
    assert len(findings_of(with_margin(design, -10.0), "pressure-short")) == 5


def test_water_that_does_not_come_is_said_so() -> None:
    """Where the pressure is used up it is said in which run; none below zero is told."""
    tall = two_storey(
        source=well(10.0, 30.0),
        fixtures=(cold_fixture("roof", "hose-bibb", "hall", 20.0, elevation=12.0),),
    )
    design = sized(tall)

    finding = findings_of(design, "pressure-short")[0]

    assert design.worst.used_up_in == "roof cold"
    assert (design.worst.residual, design.worst.static_pressure > 0.0) == (0.0, True)
    assert "used up in roof cold" in finding.message
    assert all(value >= 0.0 for value, _ in finding.values)


def test_the_advice_names_what_takes_most() -> None:
    """The rise, where it takes more than any pipe; else the pipe or device that takes most."""
    high = home_run(
        source=well(20.0, 40.0),
        fixtures=(cold_fixture("loft", "lavatory", "manifold", 10.0, elevation=9.0),),
    )
    long = home_run(
        runs=(pipe("service", "source", "entry", 900.0, size="1/2"),),
        fixtures=(cold_fixture("shed", "hose-bibb", "manifold", 10.0),),
    )

    rise = only(high, "pressure-short")
    loss = only(long, "pressure-short")

    # density of cold water x g x height, the account's own static change
    assert rise.remedy_values[0][0] == pytest.approx(999.7 * 9.80665 * 9.0, rel=1e-4)
    assert "service" in loss.remedy


def test_a_users_own_pressure_is_cited_as_such() -> None:
    """What the file asks for has the file as its source."""
    house = home_run(
        fixtures=(
            replace(cold_fixture("washer", "lavatory", "manifold", 10.0), pressure=60.0 * PSI),
        )
    )

    finding = only(house, "pressure-short")

    assert finding.source is not None
    assert finding.source.text == "your file"


@pytest.mark.parametrize(("margin", "thin"), [(0.0, True), (4.99, True), (5.0, False)])
def test_thin_margins_are_one_note(margin: float, thin: bool) -> None:
    """Less than 5 psi to spare (common practice) is one note for all fixtures together."""
    findings = findings_of(with_margin(sized(two_storey()), margin * PSI), "pressure-thin")

    assert len(findings) == int(thin)
    if thin:
        assert findings[0].level == "note"
        assert findings[0].source is None
        assert all(
            name in findings[0].where for name in ("basin", "bath", "garden tap", "sink", "toilet")
        )
        assert findings[0].values[0][0] == pytest.approx(5.0 * PSI)
        assert findings[0].values[1][0] == pytest.approx(margin * PSI, abs=1e-6)


def high_static(cut_out: float, limits: Limits | None = None) -> House:
    """A one-storey house by its cut-out [psi]; the basins stand at the gauge's height."""
    fixtures = tuple(
        cold_fixture(f"basin {i}", "lavatory", "manifold", 20.0, elevation=0.0) for i in range(3)
    )
    return home_run(
        source=well(cut_out - 20.0, cut_out), fixtures=fixtures, limits=limits or Limits()
    )


def test_static_pressure_at_the_limit_passes_and_above_it_fails() -> None:
    """80 psi is the most that IRC P2903.3.1 allows without a reducing valve."""
    assert findings_of(high_static(80.0), "static-over-limit") == []

    finding = only(high_static(81.0), "static-over-limit")

    assert finding.level == "fail"
    assert finding.values[0] == pytest.approx((81.0 * PSI, "pressure"))
    assert finding.values[1] == pytest.approx((80.0 * PSI, "pressure"))
    assert finding.source is not None
    assert "P2903.3.1" in finding.source.text


def test_next_to_nothing_is_told_as_nothing() -> None:
    """A reducing valve that leaves 0 kPa, on either side, leaves nothing to spare."""
    design = sized(high_static(90.0))
    base = with_margin(design, 0.0)
    lost = only(base, "static-over-limit").remedy_values[1][0]
    words = {
        left: only(with_margin(design, lost + left), "static-over-limit").remedy
        for left in (-2000.0, -100.0, 100.0, 2000.0)
    }

    assert "{1} too little" in words[-2000.0]
    assert "leaves nothing to spare" in words[-100.0]
    assert "leaves nothing to spare" in words[100.0]
    assert "{1} to spare" in words[2000.0]


def test_height_counts_in_static_pressure() -> None:
    """An outlet 10 m below the gauge stands 98 kPa (14.2 psi) higher than the gauge shows."""
    low = (cold_fixture("cellar", "lavatory", "manifold", 20.0, elevation=-10.0),)

    finding = only(home_run(source=well(50.0, 70.0), fixtures=low), "static-over-limit")

    assert finding.values[0][0] == pytest.approx(70.0 * PSI + 999.7 * 9.80665 * 10.0, rel=1e-4)


def test_a_users_limit_fails_and_the_codes_then_warns() -> None:
    """60 psi of the user's own fails at 70; at 90 psi, a user who allows 100 is still warned."""
    strict = high_static(70.0, limits=Limits(max_static=60.0 * PSI))
    loose = high_static(90.0, limits=Limits(max_static=100.0 * PSI))

    own = only(strict, "static-over-limit")
    code = only(loose, "static-over-limit")

    assert own.level == "fail"
    assert own.source is not None
    assert own.source.text == "your file"
    assert code.level == "warn"
    assert code.values[1][0] == pytest.approx(80.0 * PSI)


def test_only_an_outdoor_tap_over_the_limit_is_a_note() -> None:
    """IPC 604.8 excepts lines to outdoor taps (from memory)."""
    house = home_run(
        source=well(60.0, 80.0),
        fixtures=(
            cold_fixture("basin", "lavatory", "manifold", 20.0, elevation=1.0),
            cold_fixture("orchard tap", "hose-bibb", "manifold", 60.0, elevation=-10.0),
        ),
    )

    finding = only(house, "static-over-limit")

    assert finding.level == "note"
    assert finding.where == "orchard tap"
    assert finding.source is not None
    assert finding.source.short == "IPC 604.8"
    assert finding.source.check == "memory"


def test_the_advised_new_valve_does_what_is_said() -> None:
    """Fitted where the line enters the house and set as advised, the valve leaves that margin.

    Such valves are set to 50, 55, 60 psi and so on; 110 psi less what is too much would be 80.
    """
    design = sized(high_static(110.0))
    finding = only(design, "static-over-limit")
    setting, left = finding.remedy_values[0][0], finding.remedy_values[1][0]
    assert design.service is not None
    house, entry = frozen_sizes(design), design.service.end
    valve = Device(
        name="valve",
        kind="pressure-reducing-valve",
        start=entry,
        end="behind valve",
        setting=setting,
    )
    runs = tuple(
        replace(run, start="behind valve") if run.start == entry else run for run in house.runs
    )

    manifolds = tuple(replace(each, start="behind valve") for each in house.manifolds)

    fitted = sized(replace(house, devices=(valve,), runs=runs, manifolds=manifolds))

    assert setting == pytest.approx(50.0 * PSI)
    assert "strainer" in finding.remedy
    assert max(outlet.static_pressure for outlet in fitted.outlets) <= 80.0 * PSI
    assert fitted.worst.margin >= 5.0 * PSI
    assert abs(fitted.worst.margin) == pytest.approx(left, abs=0.01)
    assert findings_of(fitted, "static-over-limit") == []


def test_the_advised_lower_switch_does_what_is_said() -> None:
    """The switch set lower by the excess leaves the margin that the advice states."""
    design = sized(high_static(90.0))
    finding = only(design, "static-over-limit")
    lower, left = finding.remedy_values[2][0], finding.remedy_values[3][0]
    house = frozen_sizes(design)

    changed = sized(
        replace(
            house,
            source=replace(house.source, cut_in=70.0 * PSI - lower, cut_out=90.0 * PSI - lower),
        )
    )

    assert lower == pytest.approx(10.0 * PSI)
    assert changed.worst.margin == pytest.approx(left, abs=0.01)


def test_a_lower_switch_that_leaves_too_little_is_not_advised() -> None:
    """At 70/90 psi ten less leave enough; with a bath that needs all of it they do not."""
    design = sized(high_static(90.0))
    worst = design.worst.margin

    enough, short = (
        only(with_margin(design, margin * PSI), "static-over-limit") for margin in (15.0, 5.0)
    )

    assert worst > 0.0
    assert "pressure switch" in enough.remedy
    assert len(enough.remedy_values) == 4
    assert "pressure switch" not in short.remedy
    assert len(short.remedy_values) == 2


def test_a_valve_that_stands_there_is_set_lower() -> None:
    """With a valve on the path the advice is its new setting, and the margin is what it leaves."""
    valve = Device(
        name="valve",
        kind="pressure-reducing-valve",
        start="source",
        end="behind valve",
        elevation=0.0,
        setting=90.0 * PSI,
    )
    house = home_run(
        source=well(100.0, 120.0),
        devices=(valve,),
        runs=(pipe("service", "behind valve", "entry", 60.0),),
    )
    design = sized(house)
    finding = only(design, "static-over-limit")
    setting, left = finding.remedy_values[0][0], finding.remedy_values[1][0]

    changed = sized(replace(frozen_sizes(design), devices=(replace(valve, setting=setting),)))

    assert "set valve to" in finding.remedy
    assert setting == pytest.approx(50.0 * PSI)
    assert max(outlet.static_pressure for outlet in changed.outlets) <= 80.0 * PSI
    assert changed.worst.margin == pytest.approx(left, abs=0.01)


def test_a_reserve_that_can_be_kept_is_kept_and_told_of_otherwise() -> None:
    """[limits] reserve enlarges pipe until it is kept; where nothing does, a warning says so."""
    plain = sized(two_storey())
    asked = plain.worst.margin + 2.0 * PSI
    kept = sized(two_storey(limits=Limits(reserve=asked)))
    beyond = sized(two_storey(limits=Limits(reserve=60.0 * PSI)))

    assert kept.worst.margin >= asked - 1e-6
    assert kept.cost > plain.cost
    assert "reserve-not-kept" not in {finding.code for finding in kept.findings}
    assert beyond.cost == plain.cost
    assert "reserve-not-kept" in {
        finding.code for finding in beyond.findings if finding.level == "warn"
    }


def test_a_thin_design_names_the_sizes_that_would_not_be() -> None:
    """A margin under 5 psi is told with what larger pipe would leave, where the fronts have it."""
    thin = with_margin(sized(high_static(70.0)), 2.0 * PSI)
    price = MarginPrice(reserve=5.0 * PSI, cost=1.0, changes=(("service", "1-1/2"),))

    told = replace(thin, margin_prices=(price,)).verdict("us")
    silent = replace(thin, margin_prices=(replace(price, cost=None),)).verdict("us")

    assert "or take service at 1-1/2: then 5.0 psi to spare" in told
    assert "or take" not in silent
    assert "thin" in silent
