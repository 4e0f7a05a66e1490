"""What the rules share: limits with their source, wording of lists, looking around in a tree."""

from __future__ import annotations

import functools
from collections.abc import Iterable, Sequence

from supplycalc.catalogue import Role, Tube, TubeSize
from supplycalc.model import Device
from supplycalc.sizing.design import Design, OutletResult, RunResult
from supplycalc.tables import Citation, CodeLimit, cite, kelvin, load_table, to_si

YOUR_FILE = Citation(key="own", text="your file", check="seen")
"""The source of a limit that the user set."""
SHOWN = 4
"""How many names a joined finding lists."""
PRESSURE_SLACK = 0.01
"""[Pa] Differences below this are rounding."""
TEMPERATURE_SLACK = 0.05
"""[K] Far below what a thermometer or a mixed unit system can tell apart."""
METAL_DENSITY = 2500.0
"""[kg/m3] Tube heavier than this is metal; plastics stay below 2000."""


@functools.cache
def finding_limit(name: str) -> CodeLimit:
    """A limit of findings_limits.toml by its name, in SI."""
    row = load_table("findings_limits")["limit"][name]
    value = to_si(row["value"], row.get("unit", "")) if "value" in row else 0.0
    return CodeLimit(
        name=name, title=row["title"], value=value, text=row.get("text", ""), citation=cite(row)
    )


@functools.cache
def scald_times() -> tuple[tuple[float, str, Citation], ...]:
    """(water temperature [K], time to a deep burn in words, source), coolest first."""
    table = load_table("findings_limits")["scald_time"]
    return tuple((kelvin(degf, "degF"), time, cite(table)) for degf, time in table["rows"])


def published(citation: Citation) -> Citation | None:
    """The citation, or None where it only says that there is none."""
    return None if citation.check == "common practice" else citation


def listed(names: Iterable[str]) -> str:
    """ "a", "a and b", "a, b and c", or the first few "and 7 more"; each name once."""
    known = tuple(dict.fromkeys(names))
    if len(known) > SHOWN + 1:
        return f"{', '.join(known[:SHOWN])} and {len(known) - SHOWN} more"
    return " and ".join((", ".join(known[:-1]), known[-1])) if len(known) > 1 else "".join(known)


def is_are(names: Sequence[str], one: str, many: str) -> str:
    """The first word for a single name, else the second."""
    return one if len(set(names)) == 1 else many


def is_metal(tube: Tube) -> bool:
    """Whether a tube is metal."""
    return tube.density > METAL_DENSITY


def size_of(result: RunResult) -> str:
    """A run's size as it is asked for: "3/4 inch", or "20x2.8" of a metric family."""
    return nominal_of(result.size, result.tube)


def nominal_of(size: TubeSize, tube: Tube) -> str:
    """A size as it is asked for: "3/4 inch", or "20x2.8" of a metric family."""
    return size.nominal if tube.metric else f"{size.nominal} inch"


def does(design: Design, device: Device, role: Role) -> bool:
    """Whether a device has a role by its kind."""
    return role in design.tree.catalogue.devices[device.kind].roles


def devices_that(design: Design, role: Role) -> list[str]:
    """The names of the devices that have a role by their kind."""
    return [result.device.name for result in design.devices if does(design, result.device, role)]


def behind(design: Design, outlet: OutletResult, role: Role) -> Device | None:
    """The nearest device of a role between the source and an outlet, or None."""
    for index in design.tree.feeding(outlet.index):
        link = design.tree.links[index]
        if isinstance(link, Device) and does(design, link, role):
            return link
    return None


def valve_of(design: Design, outlet: OutletResult) -> str:
    """The kind of valve at an outlet: the file's, else the usual one of its kind of fixture."""
    return outlet.fixture.valve or design.tree.kind_of(outlet.fixture).valves[0]
