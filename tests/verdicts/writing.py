"""Factories that write small invented houses as files, in the words of whoever builds them."""

from __future__ import annotations

from collections.abc import Iterable

# What a maker's sheet shows for three usual submersible pumps (invented, by common practice).
THREE_QUARTER_HP = ((0, 290), (5, 260), (8, 225), (10, 190), (12, 145), (14, 90))
ONE_AND_A_HALF_HP = ((0, 420), (10, 380), (15, 340), (20, 280), (25, 200), (28, 130))
SMALL_PUMP = ((0, 215), (2, 195), (4, 160), (6, 110), (8, 50))

Outlet = tuple[str, str, float, float, str]
"""Name, kind, height of the outlet [ft], length of each branch [ft], sides: "c", "h", "ch"."""


def curve(points: Iterable[tuple[float, float]]) -> str:
    """A pump's curve, gpm and feet."""
    return "[" + ", ".join(f'["{flow} gpm", "{head} ft"]' for flow, head in points) + "]"


def project(name: str, demand: str = "irc", **more: str) -> str:
    """The head of a file; what `more` holds is written as it stands."""
    lines = [f'name = "{name}"', f'demand = "{demand}"']
    lines += [f"{key} = {value}" for key, value in more.items()]
    return "[project]\n" + "\n".join(lines) + "\n"


def well(
    cut_in: float = 40,
    cut_out: float = 60,
    *,
    gauge: float = -6,
    pump: str | None = None,
    tank: str = "86 gal",
    precharge: float | None = None,
    relief: float | None = 75,
    level: float | None = 60,
    at_well: bool = False,
    depth: float = 180,
    drop_pipe: str = '{ material = "pe-cts-sdr9", size = "1-1/4", length = "180 ft" }',
    more: str = "",
) -> str:
    """A drilled well with a 3/4 hp pump, a tank of 86 gal beside the gauge and a relief valve."""
    lines = [
        "[source]",
        'kind = "well"',
        f'elevation = "{gauge} ft"',
        f'cut_in = "{cut_in} psi"',
        f'cut_out = "{cut_out} psi"',
        "[source.tank]",
        f'volume = "{tank}"',
        f'precharge = "{cut_in - 2 if precharge is None else precharge} psi"',
        'max_pressure = "125 psi"',
    ]
    if relief is not None:
        lines.append(f'relief = "{relief} psi"')
    if at_well:
        lines.append("at_well = true")
    lines += ["[source.pump]", pump or f"curve = {curve(THREE_QUARTER_HP)}"]
    lines += ["[source.well]"]
    if level is not None:
        lines.append(f'static_level = "{level} ft"')
    lines += [
        f'pump_depth = "{depth} ft"',
        'diameter = "6 in"',
        f"drop_pipe = {drop_pipe}",
        more,
    ]
    return "\n".join(lines) + "\n"


def main(static: float, residual: float | None = None, at: float = 20, *, gauge: float = -4) -> str:
    """A street main by two gauge readings, at rest and while `at` gpm run."""
    lines = ["[source]", 'kind = "main"', f'elevation = "{gauge} ft"', f'static = "{static} psi"']
    if residual is not None:
        lines += [f'residual = "{residual} psi"', f'residual_flow = "{at} gpm"']
    return "\n".join(lines) + "\n"


def line(
    length: float,
    sizes: str = "",
    *,
    name: str = "service",
    start: str = "source",
    end: str = "entry",
    material: str = "pe-cts-sdr9",
    more: str = 'buried = "48 in"',
) -> str:
    """The line from the source to the house; `sizes` is written as it stands."""
    return (
        f'[[run]]\nname = "{name}"\nfrom = "{start}"\nto = "{end}"\nmaterial = "{material}"\n'
        f'length = "{length} ft"\nfittings = {{ elbow-90 = 3, ball-valve = 2 }}\n'
        f"{sizes}\n{more}\n"
    )


def device(name: str, kind: str, start: str, end: str, loss: str = "", more: str = "") -> str:
    """A device between two points."""
    given = f'loss = "{loss}"\n' if loss else ""
    return (
        f'[[device]]\nname = "{name}"\nkind = "{kind}"\nfrom = "{start}"\nto = "{end}"\n'
        f"{given}{more}\n"
    )


def point(name: str, height: float) -> str:
    """A height that is known."""
    return f'[[point]]\nname = "{name}"\nelevation = "{height} ft"\n'


def outlets(fixtures: Iterable[Outlet], more: dict[str, str] | None = None) -> str:
    """Fixtures on the two mains of the house; `more` is written into the fixture of that name."""
    text = ""
    for name, kind, height, length, sides in fixtures:
        text += f'[[fixture]]\nname = "{name}"\nkind = "{kind}"\nelevation = "{height} ft"\n'
        for side, start in (("cold", "hall"), ("hot", "hot hall")):
            if side[0] in sides:
                text += (
                    f'{side} = {{ from = "{start}", length = "{length} ft", '
                    "fittings = { elbow-90 = 3 } }\n"
                )
        text += (more or {}).get(name, "") + "\n"
    return text


def inside(
    fixtures: Iterable[Outlet],
    *,
    feed: str = "entry",
    main_length: float = 15,
    heater: str = "2 psi at 10 gpm",
    more: dict[str, str] | None = None,
    defaults: str = 'material = "pex-sdr9"\njoining = "crimp"\n',
) -> str:
    """A house of PEX: cold main, heater, hot main, and a branch to each fixture."""
    return (
        f"[defaults]\n{defaults}"
        f'[[run]]\nname = "cold main"\nfrom = "{feed}"\nto = "hall"\nlength = "{main_length} ft"\n'
        "fittings = { elbow-90 = 2 }\n"
        f'[[run]]\nname = "heater feed"\nfrom = "{feed}"\nto = "heater inlet"\nlength = "6 ft"\n'
        "fittings = { elbow-90 = 2, ball-valve = 1 }\n"
        f'[[device]]\nname = "water heater"\nkind = "heater"\nfrom = "heater inlet"\n'
        f'to = "heater outlet"\nelevation = "0 ft"\nloss = "{heater}"\n'
        '[[run]]\nname = "hot main"\nfrom = "heater outlet"\nto = "hot hall"\n'
        f'length = "{main_length} ft"\nfittings = {{ elbow-90 = 2 }}\n'
        + point("hall", 0)
        + point("hot hall", 0)
        + outlets(fixtures, more)
    )


def one_bath(floor: float = 0.0) -> tuple[Outlet, ...]:
    """A small house's fixtures, the bath on a floor of that height [ft]."""
    return (
        ("bath", "tub-shower", floor + 4.0, 25.0 + floor, "ch"),
        ("basin", "lavatory", floor + 2.5, 25.0 + floor, "ch"),
        ("toilet", "water-closet", floor + 1.0, 25.0 + floor, "c"),
        ("sink", "kitchen-sink", 3.0, 15.0, "ch"),
        ("washer", "clothes-washer", 3.0, 15.0, "ch"),
        ("garden tap", "hose-bibb", 1.5, 20.0, "c"),
    )


def two_baths(floor: float = 0.0) -> tuple[Outlet, ...]:
    """One bath and a second, with shower, on a floor of that height [ft], and a dishwasher."""
    return (
        *one_bath(),
        ("second shower", "shower", floor + 4.0, 28.0 + floor, "ch"),
        ("second basin", "lavatory", floor + 2.5, 28.0 + floor, "ch"),
        ("second toilet", "water-closet", floor + 1.0, 28.0 + floor, "c"),
        ("dishwasher", "dishwasher", 1.0, 15.0, "h"),
    )
