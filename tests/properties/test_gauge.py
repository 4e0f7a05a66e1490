"""Whatever device of whatever house is clogged, by however much: it is what the readings name."""

from __future__ import annotations

import functools
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.model import GaugeReading, House
from supplycalc.questions.gauge.states import Bench
from supplycalc.questions.gauge.study import gauge
from supplycalc.sizing.design import Design
from supplycalc.units import PSI
from tests.commands.files import SCENARIOS
from tests.questions.readings import built, clogged, read_off

HOUSES = sorted(path.stem for path in SCENARIOS.glob("*.toml"))


@functools.cache
def house_of(name: str) -> House:
    """A scenario as built, without readings and ranges of its own."""
    return replace(built(sc.load(SCENARIOS / f"{name}.toml")), readings=(), ranges=())


@functools.cache
def wanted_round(name: str) -> dict[str, tuple[float, tuple[GaugeReading, ...]]]:
    """By device: the most that runs through it in readings at rest and on both sides of it."""
    design = sc.size(house_of(name), daily=False)
    return dict(_round(design))


def _round(design: Design) -> Iterator[tuple[str, tuple[float, tuple[GaugeReading, ...]]]]:
    tree, source = design.tree, design.house.source
    pumped = source.kind == "well"
    told = {"source_pressure": source.kept_pressure} if pumped else {}
    for device in design.house.devices:
        link = tree.index[device.end]
        behind = [it for it in tree.outlets if it.link in tree.at_or_below(link)]
        behind = sorted((it for it in behind if not it.fixture.planned), key=lambda it: -it.flow)
        opened = tuple({it.fixture.name: it.name for it in behind}.values())[:3]
        if device.setting is not None or not opened:
            continue
        at_rest = GaugeReading(at=opened[0], pressure=0.0, **told)
        sides = [point for point in (device.start, device.end) if point in tree.index]
        running = (
            GaugeReading(at=point, open=opened, pressure=0.0, **told)
            for point in (*sides, opened[-1])
            if point not in (source.point, "source")
        )
        readings = (at_rest, *running)
        bench = Bench(design, readings)
        flow = max(state.flow[link] for state in bench.states)
        if flow > 0.0:
            yield device.name, (flow, readings)


@settings(max_examples=40, deadline=None)
@given(
    name=st.sampled_from(HOUSES),
    number=st.integers(0, 3),
    loss=st.floats(18.0, 60.0),
    seed=st.integers(0, 10_000),
)
def test_the_clogged_device_is_named_first(name: str, number: int, loss: float, seed: int) -> None:
    """With errors of needle and bucket, and a gauge on both sides of it."""
    house, devices = house_of(name), wanted_round(name)
    if not devices:
        return
    device = list(devices)[number % len(devices)]
    flow, wanted = devices[device]
    truth = clogged(house, device, loss=loss * PSI, flow=flow)
    study = gauge(replace(house, readings=read_off(truth, wanted, seed=seed)))

    if study.agrees:  # so little runs through it then that a gauge does not see it
        assert max(abs(row.difference) for row in study.pressures) <= 5.0 * PSI
        return
    assert study.explanations, study.answer("us")
    assert study.explanations[0].where == (device,)
    assert study.explanations[0].fits


@pytest.mark.parametrize("name", HOUSES)
def test_a_house_as_in_its_file_is_not_suspected(name: str) -> None:
    """With errors of needle and bucket."""
    house = house_of(name)
    for number, (_, wanted) in enumerate(wanted_round(name).values()):
        study = gauge(replace(house, readings=read_off(house, wanted, seed=number)))

        assert study.ok, study.answer("us")
