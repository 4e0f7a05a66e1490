"""Several wells on one tank: each one seen alone, apart, and the line that they share."""

from __future__ import annotations

from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Device, House, Run, WaterSource, Well
from supplycalc.network import line_tree, wellhead

MEETING = "where the wells meet"
"""Stands for the well of what the wells share."""
FIRST_WELL = "first well"
"""What the source's own well is called where others stand beside it and the file names none."""


def well_names(house: House) -> tuple[str, ...]:
    """What the wells are called, the source's own first."""
    first = None if house.source.well is None else house.source.well.name
    return (first or FIRST_WELL, *(further.name for further in house.further_wells))


def named_wells(house: House) -> tuple[tuple[str, House], ...]:
    """Each well alone, with its name; of a single well the name is empty.

    Args:
        house: on a well.
    """
    if not house.further_wells:
        return (("", house),)
    return tuple(zip(well_names(house), wells_alone(house), strict=True))


def wells_alone(house: House) -> tuple[House, ...]:
    """The house seen with one of its wells alone, by that one's own line and the one in common.

    Returns:
        The house with each well, the source's own first; the house itself where it has no other.
    """
    if not house.further_wells:
        return (house,)
    source, (_, common) = house.source, _parted(house)
    pinned = replace(source.well or Well(), elevation=wellhead(source))
    houses = [replace(house, source=replace(source, well=pinned), joined_wells=())]
    for further in house.further_wells:
        height = further.well.elevation
        well = replace(further.well, elevation=source.elevation if height is None else height)
        houses.append(
            replace(
                house,
                source=replace(source, pump=further.pump, well=well),
                suction=(),
                line=(*further.line, *common),
                joined_wells=(),
            )
        )
    return tuple(houses)


def wells_apart(house: House) -> tuple[House, ...]:
    """The same as far as the point where the wells' lines meet, that point as their gauge."""
    if not house.further_wells:
        return (house,)
    height, (_, common) = joint_elevation(house), _parted(house)
    rise = specific_weight(house.water.cold) * (house.source.elevation - height)
    return tuple(
        replace(
            alone,
            source=_seen_from(alone.source, height, rise),
            line=alone.line[: len(alone.line) - len(common)],
        )
        for alone in wells_alone(house)
    )


def _seen_from(source: WaterSource, height: float, rise: float) -> WaterSource:
    """The source as a gauge at another height [m] reads it, its settings higher by `rise` [Pa]."""

    def higher(setting: float | None) -> float | None:
        return None if setting is None else setting + rise

    tank = source.tank
    if tank is not None:
        tank = replace(
            tank,
            relief=higher(tank.relief),
            max_pressure=higher(tank.max_pressure),
            elevation=None,
        )
    return replace(
        source,
        elevation=height,
        cut_in=higher(source.cut_in),
        cut_out=higher(source.cut_out),
        tank=tank,
    )


def common_line(house: House) -> House | None:
    """The house seen from the point where the wells' lines meet, as if its water stood there; None
    where the lines meet at the tank, or there is one well."""
    _, common = _parted(house)
    if not common:
        return None
    well = Well(name=MEETING, static_level=0.0, elevation=joint_elevation(house))
    source = replace(house.source, pump=None, well=well)
    return replace(house, source=source, suction=(), line=common, joined_wells=())


def lines_apart(house: House) -> tuple[House, ...]:
    """The house from each well to where the lines meet, and last from there to the tank.

    Args:
        house: on a well; with one it is the house alone.
    """
    shared = common_line(house)
    return wells_apart(house) if shared is None else (*wells_apart(house), shared)


def is_shared(line: House) -> bool:
    """Whether a house of `lines_apart` shows what several wells share."""
    well = line.source.well
    return well is not None and well.name == MEETING


def joint_elevation(house: House) -> float:
    """Height of the point where the wells' lines meet [m]; the gauge's where that is the tank."""
    own, common = _parted(house)
    if not common:
        return house.source.elevation
    return line_tree(replace(house, joined_wells=())).elevation[len(house.suction) + len(own)]


def _parted(
    house: House,
) -> tuple[tuple[Run | Device, ...], tuple[Run | Device, ...]]:
    """The line of the source's own well, and of it what carries the water of all."""
    joins = {further.joins for further in house.further_wells}
    at = next((i for i, link in enumerate(house.line, start=1) if link.end in joins), None)
    return (house.line, ()) if at is None else (house.line[:at], house.line[at:])
