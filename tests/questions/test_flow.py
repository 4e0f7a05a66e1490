"""The study of what really comes out: houses, mixers, who spoils whom."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.delivery.fixture_use import full_use, parse_uses
from supplycalc.delivery.household import Household
from supplycalc.hydraulics.pressure import pipe_loss
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import House
from supplycalc.problems import InputError
from supplycalc.questions.flow import disturbance as disturbance_module
from supplycalc.questions.flow.study import FlowStudy, flow, flow_of
from supplycalc.questions.size.study import size
from supplycalc.tables import GPM
from supplycalc.units import PSI
from tests.commands.files import SCENARIOS
from tests.houses import two_storey


def with_valve(house: House, name: str, valve: str, **more: object) -> House:
    """The house with another mixing valve at one fixture."""
    fixtures = tuple(
        replace(fixture, valve=valve, **more)  # type: ignore[arg-type]
        if fixture.name == name
        else fixture
        for fixture in house.fixtures
    )
    return replace(house, fixtures=fixtures)


def thin_trunk(house: House) -> House:
    """The same with a long half-inch cold trunk, which gives way when cold water runs."""
    return replace(
        house,
        runs=tuple(
            replace(run, length=4 * run.length, size="1/2") if run.name == "trunk" else run
            for run in house.runs
        ),
    )


def bath_and_toilet(valve: str) -> FlowStudy:
    """A bath with this valve while the toilet fills, both on a thin cold trunk."""
    house = with_valve(two_storey(), "bath", valve, flow=2.5e-4, pressure=8 * PSI)
    return flow(thin_trunk(house), ("bath", "toilet"))


def test_the_account_of_pressure_adds_up() -> None:
    """Source, heights and losses give the pressure at the outlet, and flows give the losses."""
    study = flow(two_storey(), ("bath", "sink"))
    design = study.design
    for case in study.cases:
        for outlet in case.outlets:
            total = sum(step.static_gain - step.loss for step in outlet.path)
            assert case.source_pressure + total == pytest.approx(outlet.path[-1].end_pressure)
            assert outlet.path[-1].end_pressure == pytest.approx(outlet.pressure)
            for step in outlet.path:
                run = next((run for run in design.runs if run.name == step.name), None)
                if run is not None:
                    loss = sum(
                        pipe_loss(
                            step.flow, run.counted_length, run.size.inside_diameter,
                            run.tube.roughness, run.k, density(run.temperature),
                            viscosity(run.temperature),
                        )
                    )  # fmt: skip
                    assert step.loss == pytest.approx(loss, rel=1e-9, abs=1e-5)


def test_what_each_loses_to_each_is_what_it_regains() -> None:
    """An outlet loses to another the flow that it has with that shut, less its own; none gains."""
    names = ("bath", "toilet", "garden tap")
    study = flow(two_storey(), names)
    for case_number, case in enumerate(study.cases):
        together = {outlet.name: outlet for outlet in case.outlets}
        for shut in names:
            rest = tuple(name for name in names if name != shut)
            for outlet in flow(two_storey(), rest).cases[case_number].outlets:
                lost = together[outlet.name].lost_to[shut]
                gained = outlet.flow - together[outlet.name].flow
                assert lost == pytest.approx(gained, abs=1e-10)
                assert lost >= -1e-12


def test_more_pressure_gives_more() -> None:
    """At cut-out every outlet gets at least what it gets at cut-in."""
    study = flow(two_storey(), ("bath", "toilet", "garden tap"))
    low, high = study.cases

    assert [case.source.name for case in study.cases] == ["cut-in", "cut-out"]
    for at_cut_in, at_cut_out in zip(low.outlets, high.outlets, strict=True):
        assert at_cut_out.flow > at_cut_in.flow


def test_a_mixer_is_set_to_the_wanted_temperature_alone() -> None:
    """Alone every valve gives 40 degC, or what its own file asks for, to 0.01 K."""
    for valve in ("plain", "pressure-balanced", "thermostatic"):
        house = with_valve(two_storey(), "bath", valve, use_temperature=311.15)
        study = flow(house, ("bath",))
        usual = flow(with_valve(two_storey(), "bath", valve), ("bath",))

        assert study.outlets[0].temperature == pytest.approx(311.15, abs=0.01)
        assert usual.outlets[0].temperature == pytest.approx(313.15, abs=0.01)


def test_a_plain_valve_scalds_where_the_cold_side_gives_way() -> None:
    """The toilet takes cold water: the plain mixer runs hotter, the others hold.

    A pressure-balanced valve keeps the share of hot, not the temperature: less flow lets the hot
    water cool a little more on its way.
    """
    steps = {
        valve: bath.temperature - bath.alone.temperature
        for valve in ("plain", "pressure-balanced", "thermostatic")
        for bath in [bath_and_toilet(valve).outlets[0]]
    }

    assert steps["plain"] > 2.0
    assert -0.2 < steps["pressure-balanced"] < 0.0
    assert abs(steps["thermostatic"]) < 0.01


def test_a_scald_step_is_found_with_its_caution() -> None:
    """A finding with both temperatures, the valve that helps, and where the limit comes from."""
    study = bath_and_toilet("plain")
    (scald_step,) = (finding for finding in study.findings if finding.code == "scald-step")
    (before, _), (after, _) = scald_step.values

    assert scald_step.where == "bath"
    assert after - before > 2.0
    assert "valve" in scald_step.remedy
    assert scald_step.source is not None
    assert scald_step.source.from_memory


def test_everything_open_at_little_pressure() -> None:
    """Some outlets run dry: a failing finding for each, flows never negative."""
    house = two_storey()
    weak = replace(house, source=replace(house.source, cut_in=6 * PSI, cut_out=8 * PSI))
    design = size(house, mend=False)
    study = flow_of(
        replace(design, tree=replace(design.tree, house=weak)),
        tuple(full_use(fixture) for fixture in house.fixtures),
    )
    dry = {outlet.name for outlet in study.outlets if outlet.dry}

    assert not study.ok
    assert dry
    assert dry == {finding.where for finding in study.findings if finding.code == "dry"}
    assert min(outlet.flow for outlet in study.outlets) == 0.0


def test_who_spoils_whom_is_sorted_by_harm() -> None:
    """Every other fixture once, the most harmful first, and each as `flow` itself finds it."""
    house = two_storey()
    study = flow(house, ("bath",), disturbed=True)
    disturbance = study.disturbance
    assert disturbance is not None
    losses = [harm.lost for harm in disturbance.others]
    worst = disturbance.others[0]
    again = flow(house, ("bath", *worst.names))

    assert losses == sorted(losses, reverse=True)
    opened = [harm.names for harm in disturbance.others]
    assert sorted(opened) == [("basin",), ("garden tap",), ("sink",), ("toilet",)]
    assert worst.flow == pytest.approx(again.outlets[0].flow, rel=1e-9)


@pytest.mark.parametrize("valve", ["plain", "pressure-balanced"])
@pytest.mark.parametrize("at_once", [1, 2, 3])
def test_branch_and_bound_finds_the_worst_set(
    monkeypatch: pytest.MonkeyPatch, valve: str, at_once: int
) -> None:
    """The same flow is left as when every set is tried, here by a plain loop."""
    house = with_valve(two_storey(), "bath", valve)
    design = size(house, mend=False)
    uses = parse_uses(house, ["bath"])
    monkeypatch.setattr(disturbance_module, "MOST_SETS", 0)
    disturbance = flow_of(design, uses, disturbed=True, at_once=at_once).disturbance
    assert disturbance is not None
    assert disturbance.worst is not None
    household = Household(design)
    others = [full_use(fixture) for fixture in house.fixtures if fixture.name != "bath"]
    law = disturbance.source.law
    least = min(
        household.settle((*uses, *chosen), law).outflows[0].flow
        for chosen in itertools.combinations(others, at_once)
    )

    assert disturbance.method == "branch and bound"
    assert len(disturbance.worst.opened) == at_once
    assert disturbance.worst.flow == pytest.approx(least, rel=1e-8)


def test_a_flow_of_its_own_taken_for_a_regulators_is_said() -> None:
    """Who gives a faucet its flow is told that it is held at it, and how to say otherwise."""
    house = two_storey()

    def said(**own: object) -> bool:
        fixtures = tuple(
            replace(fixture, **own) if fixture.name == "basin" else fixture
            for fixture in house.fixtures
        )
        study = flow(replace(house, fixtures=fixtures), ("basin",))
        return any('regulator = "none"' in assumption.text for assumption in study.assumptions)

    assert said(flow=1e-4)
    assert not said()
    assert not said(flow=1e-4, regulator="none")


@pytest.mark.parametrize("thermostatic", ["bath", "basin"])
def test_a_worst_set_with_a_thermostatic_valve_is_not_called_proved(
    monkeypatch: pytest.MonkeyPatch, thermostatic: str
) -> None:
    """Its share moves with the arriving water, for which the bound is no bound; trying all is."""
    house = with_valve(two_storey(), thermostatic, "thermostatic")
    design = size(house, mend=False)
    uses = parse_uses(house, ["bath"])
    tried = flow_of(design, uses, disturbed=True, at_once=2).disturbance
    monkeypatch.setattr(disturbance_module, "MOST_SETS", 0)
    bounded = flow_of(design, uses, disturbed=True, at_once=2).disturbance
    assert tried is not None
    assert bounded is not None

    assert tried.method == "every set tried"
    assert bounded.method is not None
    assert bounded.method.endswith("without proof")


def test_the_api_gives_the_same() -> None:
    """sc.flow(house, open=[...]) is the study; its dictionary is that of the command."""
    house = sc.load(SCENARIOS / "ridge-cottage.toml")
    study = sc.flow(house, open=["upstairs bath", "clothes washer@50%"])
    data = study.to_dict()

    assert [outlet.name for outlet in study.outlets] == ["upstairs bath", "clothes washer"]
    assert [case["source"] for case in data["cases"]] == ["cut-in", "cut-out", "pump alone"]
    assert data["cases"][0]["outlets"][0]["flow"]["value"] == pytest.approx(
        study.outlets[0].flow / GPM
    )


def test_nothing_open_is_refused() -> None:
    """With an example of what to write."""
    with pytest.raises(InputError, match="nothing is open"):
        flow(two_storey(), ())


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_scenario_with_everything_open(path: Path) -> None:
    """Settles in every case of its source; flows in are flows out; dry ones are exactly dry."""
    house = sc.load(path)
    study = sc.flow(house, open=[fixture.name for fixture in house.fixtures])
    for case in study.cases:
        flows = [outlet.flow for outlet in case.outlets]
        assert case.total == pytest.approx(math.fsum(flows), rel=1e-9)
        assert min(flows) >= 0.0
        assert case.residual < 1e-4
