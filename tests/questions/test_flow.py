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
from supplycalc.model import House
from supplycalc.problems import InputError
from supplycalc.questions.flow import disturbance as disturb_module
from supplycalc.questions.flow.study import FlowStudy, flow, flow_of
from supplycalc.questions.size.study import size
from tests.houses import PSI, two_storey

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def with_valve(house: House, name: str, valve: str, **more: object) -> House:
    """The house with another mixing valve at one fixture."""
    fixtures = tuple(
        replace(one, valve=valve, **more) if one.name == name else one  # type: ignore[arg-type]
        for one in house.fixtures
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
        for way, one in zip(case.ways, case.outflows, strict=True):
            total = sum(step.static_gain - step.loss for step in way.steps)
            assert case.source_pressure + total == pytest.approx(way.steps[-1].pressure)
            assert way.steps[-1].pressure == pytest.approx(one.pressure)
            for step in way.steps:
                run = next((r for r in design.runs if r.run.name == step.name), None)
                if run is not None:
                    from supplycalc.hydraulics.water import density, viscosity

                    loss = sum(
                        pipe_loss(
                            step.flow, run.counted_length, run.size.inside_diameter,
                            run.tube.roughness, run.k, density(run.temperature),
                            viscosity(run.temperature),
                        )
                    )  # fmt: skip
                    assert step.loss == pytest.approx(loss, rel=1e-9, abs=1e-5)


def test_what_each_loses_to_each_is_what_it_regains() -> None:
    """lost[i][j] is the flow that i has with j shut, less what it has; nobody gains."""
    names = ("bath", "toilet", "garden tap")
    study = flow(two_storey(), names)
    for case_number, case in enumerate(study.cases):
        for j, shut in enumerate(names):
            rest = tuple(name for name in names if name != shut)
            without = flow(two_storey(), rest).cases[case_number].outflows
            for one in without:
                i = names.index(one.use.name)
                assert case.lost[i][j] == pytest.approx(one.flow - case.outflows[i].flow, abs=1e-10)
                assert case.lost[i][j] >= -1e-12


def test_more_pressure_gives_more() -> None:
    """At cut-out every outlet gets at least what it gets at cut-in."""
    study = flow(two_storey(), ("bath", "toilet", "garden tap"))
    low, high = study.cases

    assert [case.source.name for case in study.cases] == ["cut-in", "cut-out"]
    for one, other in zip(low.outflows, high.outflows, strict=True):
        assert other.flow > one.flow


def test_a_mixer_is_set_to_the_wanted_temperature_alone() -> None:
    """Alone every valve gives 40 degC, or what its own file asks for, to 0.01 K."""
    for valve in ("plain", "pressure-balanced", "thermostatic"):
        house = with_valve(two_storey(), "bath", valve, use_temperature=311.15)
        study = flow(house, ("bath",))
        usual = flow(with_valve(two_storey(), "bath", valve), ("bath",))

        assert study.outflows[0].temperature == pytest.approx(311.15, abs=0.01)
        assert usual.outflows[0].temperature == pytest.approx(313.15, abs=0.01)


def test_a_plain_valve_scalds_where_the_cold_side_gives_way() -> None:
    """The toilet takes cold water: the plain mixer runs hotter, the others hold.

    A pressure-balanced valve keeps the share of hot, not the temperature: less flow lets the hot
    water cool a little more on its way.
    """
    steps = {
        valve: study.cases[0].outflows[0].temperature - study.cases[0].alone[0].temperature
        for valve in ("plain", "pressure-balanced", "thermostatic")
        for study in [bath_and_toilet(valve)]
    }

    assert steps["plain"] > 2.0
    assert -0.2 < steps["pressure-balanced"] < 0.0
    assert abs(steps["thermostatic"]) < 0.01


def test_a_scald_step_is_found_with_its_caution() -> None:
    """A finding with both temperatures, the valve that helps, and where the limit comes from."""
    study = bath_and_toilet("plain")
    found = [finding for finding in study.findings if finding.code == "scald-step"]

    assert [finding.where for finding in found] == ["bath"]
    assert found[0].values[1][0] - found[0].values[0][0] > 2.0
    assert "valve" in found[0].remedy
    assert found[0].source is not None
    assert found[0].source.from_memory


def test_everything_open_at_little_pressure() -> None:
    """Some outlets run dry: a failing finding for each, flows never negative."""
    house = two_storey()
    weak = replace(house, source=replace(house.source, cut_in=6 * PSI, cut_out=8 * PSI))
    design = size(house, mend=False)
    study = flow_of(
        replace(design, tree=replace(design.tree, house=weak)),
        tuple(full_use(fixture) for fixture in house.fixtures),
    )
    dry = {one.use.name for one in study.outflows if one.dry}

    assert not study.ok
    assert dry
    assert dry == {finding.where for finding in study.findings if finding.code == "dry"}
    assert min(one.flow for one in study.outflows) == 0.0


def test_who_spoils_whom_is_sorted_by_harm() -> None:
    """Every other fixture once, the most harmful first, and each as `flow` itself finds it."""
    house = two_storey()
    study = flow(house, ("bath",), disturbed=True)
    found = study.disturbance
    assert found is not None
    losses = [harm.lost for harm in found.harms]
    worst = found.harms[0]
    again = flow(house, ("bath", worst.opened[0].name))

    assert losses == sorted(losses, reverse=True)
    assert {harm.opened[0].name for harm in found.harms} == {
        "basin",
        "toilet",
        "sink",
        "garden tap",
    }
    assert worst.flow == pytest.approx(again.outflows[0].flow, rel=1e-9)


@pytest.mark.parametrize("valve", ["plain", "pressure-balanced"])
@pytest.mark.parametrize("at_once", [1, 2, 3])
def test_branch_and_bound_finds_the_worst_set(
    monkeypatch: pytest.MonkeyPatch, valve: str, at_once: int
) -> None:
    """The same flow is left as when every set is tried, here by a loop of our own."""
    house = with_valve(two_storey(), "bath", valve)
    design = size(house, mend=False)
    uses = parse_uses(house, ["bath"])
    monkeypatch.setattr(disturb_module, "MOST_SETS", 0)
    found = flow_of(design, uses, disturbed=True, at_once=at_once).disturbance
    assert found is not None
    assert found.worst is not None
    household = Household(design)
    others = [full_use(one) for one in house.fixtures if one.name != "bath"]
    law = found.source.law
    least = min(
        household.settle((*uses, *chosen), law).outflows[0].flow
        for chosen in itertools.combinations(others, at_once)
    )

    assert found.method == "branch and bound"
    assert len(found.worst.opened) == at_once
    assert found.worst.flow == pytest.approx(least, rel=1e-8)


def test_the_api_gives_the_same() -> None:
    """sc.deliver(house, open=[...]) is the study; its dictionary is that of the command."""
    house = sc.load(SCENARIOS / "ridge-cottage.toml")
    study = sc.deliver(house, open=["upstairs bath", "clothes washer@50%"])
    data = study.to_dict()

    assert [one.use.name for one in study.outflows] == ["upstairs bath", "clothes washer"]
    assert [case["source"] for case in data["cases"]] == ["cut-in", "cut-out", "pump alone"]
    assert data["cases"][0]["outlets"][0]["flow"]["value"] == pytest.approx(
        study.outflows[0].flow / 6.30901964e-5
    )


def test_nothing_open_is_refused() -> None:
    """With an example of what to write."""
    with pytest.raises(InputError, match="nothing is open"):
        flow(two_storey(), ())


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_scenario_with_everything_open(path: Path) -> None:
    """Settles in every case of its source; flows in are flows out; dry ones are exactly dry."""
    house = sc.load(path)
    study = sc.deliver(house, open=[fixture.name for fixture in house.fixtures])
    for case in study.cases:
        assert case.total == pytest.approx(math.fsum(one.flow for one in case.outflows), rel=1e-9)
        assert all(one.flow >= 0.0 for one in case.outflows)
        assert case.residual < 1e-4
