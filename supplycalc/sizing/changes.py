"""Houses with one thing changed: what remedies, comparisons and studies size instead."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec.structs import replace

from supplycalc.model import Device, Fixture, House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.units.quantities import Pressure


def raise_switch(house: House, rise: Pressure) -> House:
    """The same house with cut-in, cut-out, set pressure and precharge higher."""
    source, tank, pump = house.source, house.source.tank, house.source.pump
    if tank is not None and tank.precharge is not None:
        tank = replace(tank, precharge=tank.precharge + rise)
    if pump is not None:
        set_pressure = None if pump.set_pressure is None else pump.set_pressure + rise
        reaches = source.cut_out if pump.reaches is None else pump.reaches
        pump = replace(pump, set_pressure=set_pressure, reaches=reaches)
    return replace(
        house,
        source=replace(
            source,
            cut_in=None if source.cut_in is None else source.cut_in + rise,
            cut_out=None if source.cut_out is None else source.cut_out + rise,
            tank=tank,
            pump=pump,
        ),
    )


def with_device(house: House, name: str, device: Device) -> House:
    """The same house with another device in the place of one."""
    devices = tuple(device if old.name == name else old for old in house.devices)
    return replace(house, devices=devices)


def with_run(house: House, name: str, change: Callable[[Run], Run]) -> House:
    """The same house with one run, or one fixture's branch, changed."""

    def each(run: Run) -> Run:
        return change(run) if run.name == name else run

    return map_runs(house, each)


def with_size(house: House, like: Run, nominal: str) -> House:
    """The same house with one run, or its whole group, fixed at a size."""

    def each(run: Run) -> Run:
        of_group = like.group is not None and run.group == like.group and not run.existing
        same = run.name == like.name or of_group
        return replace(run, size=nominal, sizes=()) if same else run

    return map_runs(house, each)


def with_sizes(house: House, sizes: Mapping[str, str]) -> House:
    """The same house with runs fixed at sizes.

    Args:
        sizes: nominal size by the name of a run; other runs stay as they are.
    """

    def each(run: Run) -> Run:
        return replace(run, size=sizes[run.name], sizes=()) if run.name in sizes else run

    return map_runs(house, each)


def free_sizes(house: House) -> House:
    """The same house with no size fixed or excluded, but of pipe that is there or lies before the
    tank."""
    house = replace(house, defaults=replace(house.defaults, sizes=()))
    kept = {link.name for link in house.all_before_tank}

    def freed(run: Run) -> Run:
        stays = run.existing or run.name in kept
        return run if stays else replace(run, size=None, sizes=())

    return map_runs(house, freed)


def draws_alike(house: House, other: House) -> bool:
    """Whether a changed house draws what another does, through the same network.

    Args:
        house: the changed one; runs and devices may lose more or less, but stand where they stood.
    """

    def drawn(fixture: Fixture) -> tuple[object, ...]:
        starts = [branch and branch.start for branch in (fixture.cold, fixture.hot)]
        return fixture.flow, fixture.continuous, fixture.elevation, *starts

    return (
        house.project is other.project
        and len(house.devices) == len(other.devices)
        and [drawn(fixture) for fixture in house.fixtures]
        == [drawn(fixture) for fixture in other.fixtures]
    )
