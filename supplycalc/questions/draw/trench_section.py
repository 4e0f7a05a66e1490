"""The section of a line over the ground, and how high its pressure would lift the water."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.output.drawing import Drawing
from supplycalc.output.plot import Series, plot
from supplycalc.questions.draw.riser import NARROW, WIDE, key_in_columns
from supplycalc.questions.draw.study import SupplyDrawing
from supplycalc.sizing.design import LineProfile, ProfilePoint
from supplycalc.units import UnitSystem, convert, show, unit_of

EDGE = 8.0
SUCKED = "below that of the air"
HEIGHT = 240.0
"""Of the part to scale."""


def trench_sections(drawn: SupplyDrawing, system: UnitSystem, width: float = WIDE) -> list[Drawing]:
    """A section of each line whose heights the file gives; no two of its texts touch."""
    return [_section(drawn, profile, system, width) for profile in drawn.design.profiles]


def _section(
    drawn: SupplyDrawing, profile: LineProfile, system: UnitSystem, width: float
) -> Drawing:
    weight = specific_weight(drawn.house.water.cold)

    def line(name: str, heights: Sequence[float | None], *, thick: bool = False) -> Series | None:
        points: list[tuple[float, float]] = []
        for point, height in zip(profile.points, heights, strict=True):
            if height is None:
                break  # no pressure below the air's is drawn
            across = convert(point.distance, "length", system)[0]
            points.append((across, convert(height, "elevation", system)[0]))
        if len(points) < 2:
            return None
        return Series(name=name, points=tuple(points), thick=thick, dotted=thick)

    def lifted(point: ProfilePoint, pressure: float | None) -> float | None:
        return None if pressure is None else point.height + pressure / weight

    lines = [
        line("the pipe", [point.height for point in profile.points], thick=True),
        line("flowing", [lifted(point, point.flowing) for point in profile.points]),
        line("at rest, lowest", [lifted(point, point.at_rest) for point in profile.points]),
    ]
    told = [_told(point, system) for point in profile.points]
    sheet = plot(
        f"Section along {profile.name}",
        f"Pressure along the line while {show(profile.design_flow, 'flow', system)} runs, and at "
        f"rest when it is lowest. {'. '.join(told)}.",
        [it for it in lines if it is not None],
        x_name=f"along {profile.name}, {unit_of('length', system)}",
        y_name=f"height, {unit_of('elevation', system)}; the lines above the pipe stand as high as "
        "its pressure would lift the water"
        if width > 2 * NARROW - 100
        else f"height, {unit_of('elevation', system)}",
        width=width,
        height=HEIGHT,
    )
    columns = 3 if width >= WIDE else 1
    return _with_key(sheet, told, columns)


def _told(point: ProfilePoint, system: UnitSystem) -> str:
    """A point in words."""
    at = show(point.distance, "length", system)
    flowing, resting = (
        SUCKED if pressure is None else show(pressure, "pressure", system)
        for pressure in (point.flowing, point.at_rest)
    )
    kind = f", {point.kind}" if point.kind else ""
    return f"{at}{kind}: {flowing} flowing, {resting} at rest"


def _with_key(sheet: Drawing, entries: Sequence[str], columns: int) -> Drawing:
    """A drawing with lines of text below it, in columns."""
    wide = (sheet.width - 2 * EDGE) / columns
    labels, lowest = key_in_columns(entries, EDGE, sheet.height + 12.0, wide, columns, 12.0)
    return replace(sheet, marks=(*sheet.marks, *labels), height=lowest + EDGE)
