"""Factories of small invented houses in metric units."""

from __future__ import annotations

from collections.abc import Iterable

Draw = tuple[str, str, float, float, str]
"""Name, kind, height [m], length of its branches [m], sides."""


def metric_main(static: float, residual: float, at: float = 40, *, gauge: float = -1.5) -> str:
    """A street main, bar and L/min."""
    return (
        f'[source]\nkind = "main"\nelevation = "{gauge} m"\nstatic = "{static} bar"\n'
        f'residual = "{residual} bar"\nresidual_flow = "{at} L/min"\n'
    )


def metric_well(cut_in: float = 2.5, cut_out: float = 4.0, *, gauge: float = -1.5) -> str:
    """A borehole with a pump of 3 m3/h and a tank of 300 L."""
    return (
        f'[source]\nkind = "well"\nelevation = "{gauge} m"\ncut_in = "{cut_in} bar"\n'
        f'cut_out = "{cut_out} bar"\n'
        f'[source.tank]\nvolume = "300 L"\nprecharge = "{cut_in - 0.2:.1f} bar"\n'
        'max_pressure = "8 bar"\nrelief = "5 bar"\n'
        "[source.pump]\n"
        'curve = [["0 L/min", "88 m"], ["20 L/min", "80 m"], ["40 L/min", "65 m"], '
        '["60 L/min", "42 m"]]\n'
        '[source.well]\nstatic_level = "15 m"\npump_depth = "40 m"\ndiameter = "150 mm"\n'
        'drop_pipe = { material = "pe100-sdr11", size = "40x3.7", length = "40 m" }\n'
    )


def metric_house(
    name: str,
    source: str,
    draws: Iterable[Draw],
    *,
    demand: str = "din1988",
    service: float = 15,
    hot: str = "60 degC",
    devices: str = "",
    feed: str = "entry",
) -> str:
    """PE 100 in the ground and multilayer pipe with press fittings in the house."""
    text = (
        f'[project]\nname = "{name}"\nunits = "metric"\ndemand = "{demand}"\n'
        f'{source}[water]\ncold = "10 degC"\nhot = "{hot}"\n'
        '[limits]\nfrost_depth = "80 cm"\n'
        '[defaults]\nmaterial = "multilayer"\njoining = "press"\n'
        f'[[run]]\nname = "service"\nfrom = "source"\nto = "entry"\nmaterial = "pe100-sdr11"\n'
        f'length = "{service} m"\nsizes = ["25x2.3", "32x3.0", "40x3.7"]\n'
        'fittings = { elbow-90 = 2, ball-valve = 2 }\nburied = "1.2 m"\n'
        f"{devices}"
        f'[[run]]\nname = "cold main"\nfrom = "{feed}"\nto = "hall"\nlength = "6 m"\n'
        "fittings = { elbow-90 = 2 }\n"
        f'[[run]]\nname = "heater feed"\nfrom = "{feed}"\nto = "heater inlet"\nlength = "2 m"\n'
        "fittings = { elbow-90 = 2, ball-valve = 1 }\n"
        '[[device]]\nname = "water heater"\nkind = "heater"\nfrom = "heater inlet"\n'
        'to = "heater outlet"\nelevation = "0 m"\nloss = "0.1 bar at 30 L/min"\n'
        '[[run]]\nname = "hot main"\nfrom = "heater outlet"\nto = "hot hall"\nlength = "6 m"\n'
        "fittings = { elbow-90 = 2 }\n"
        '[[point]]\nname = "hall"\nelevation = "0 m"\n'
        '[[point]]\nname = "hot hall"\nelevation = "0 m"\n'
    )
    for outlet, kind, height, length, sides in draws:
        text += f'[[fixture]]\nname = "{outlet}"\nkind = "{kind}"\nelevation = "{height} m"\n'
        for side, start in (("cold", "hall"), ("hot", "hot hall")):
            if side[0] in sides:
                text += (
                    f'{side} = {{ from = "{start}", length = "{length} m", '
                    "fittings = { elbow-90 = 3 } }\n"
                )
    return text


def flat(floor: float = 0.0) -> tuple[Draw, ...]:
    """Kitchen on the ground floor, a bathroom on a floor of that height [m]."""
    return (
        ("shower", "shower", floor + 1.2, 6 + floor, "ch"),
        ("basin", "lavatory", floor + 0.8, 6 + floor, "ch"),
        ("closet", "water-closet", floor + 0.3, 6 + floor, "c"),
        ("kitchen", "kitchen-sink", 0.9, 5, "ch"),
        ("washing machine", "clothes-washer", 0.8, 4, "c"),
    )
