"""Short cautions that belong beside a design, chosen by what is in it."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.sizing.design import Design
from supplycalc.supply.well_line import every_trench_run

LIMITS = (
    "This is an estimate from what the file says. Your local code, its inspector and licensed "
    "trades decide."
)


def cautions(design: Design, pump: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The cautions that fit a design, each a line or two (common practice, no source).

    Args:
        pump: what is said of work on pump, tank and well instead of the short one.
    """
    return (*_all(design, pump), LIMITS)


def _all(design: Design, pump: tuple[str, ...]) -> Iterator[str]:
    house, kind = design.house, design.house.source.kind
    if "hot" in design.tree.side:
        yield (
            "Scalding: no calculation replaces a pressure-balanced or thermostatic valve at "
            "showers and tubs. Store water hot enough against bacteria and mix it down at use. "
            "The heater needs its relief valve, and room to expand where a valve closes the system."
        )
    if every_trench_run(house) or any(run.run.buried is not None for run in design.every_run):
        yield (
            "Trench: walls cave in without warning and kill; stay out of an unshored deep trench "
            "and have buried lines marked before you dig. Lay the pipe below the local frost "
            "depth, at the house edge and in sleeves too, and away from sewer and septic."
        )
    if any(run.run.embedded for run in design.every_run):
        yield (
            "Slab: avoid joints under concrete, sleeve where pipe enters, and keep the pipe under "
            "test pressure during the pour."
        )
    if pump:
        yield from pump
    elif house.source.kind == "well":
        yield (
            "Electricity and pressure: switch off and lock out the pump circuit before opening the "
            "pressure switch, and drain the tank before touching its air charge. Never set a "
            "switch above what tank, pipe and relief valve are rated for."
        )
    if house.source.open_water:
        yield (
            "Open water: a tank or spring box needs a tight cover, screened overflow and vent, and "
            "a fence against animals; surface water gets in where it can, so have it tested and "
            "treated. Never climb in alone: its air may not be breathable, and its walls are steep."
        )
    of_what = "tank" if house.source.open_water else kind
    yield (
        "Contamination: use parts rated for drinking water, guard outdoor taps and irrigation "
        "against backflow, and flush and disinfect a new line"
        + (f" and have the {of_what}'s water tested" if kind != "main" else "")
        + " before anyone drinks."
    )
