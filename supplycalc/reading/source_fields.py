"""The keys of a source's parts: tank, pump and well; `fields` puts them in their place."""

from __future__ import annotations

from supplycalc.reading.keys import Key, quantity

TANK = (
    quantity("volume", "volume", "44 gal", "Whole volume of the tank.", positive=True),
    quantity("precharge", "pressure", "38 psi", "Air pressure with no water in the tank."),
    quantity("max_pressure", "pressure", "100 psi", "Highest pressure the tank is rated for."),
    quantity(
        "relief", "pressure", "75 psi", "Pressure at which the relief valve at the tank opens.",
        positive=True,
    ),
    Key(
        name="at_well", kind="flag", example="true", default="false",
        help="Whether the tank stands at the wellhead; the line to the house is then a run.",
    ),
)  # fmt: skip
PUMP = (
    Key(
        name="kind", kind="word", words=("submersible", "jet", "constant-pressure"),
        example='"submersible"', default="submersible", help="Kind of pump.",
    ),
    Key(
        name="curve", kind="curve", dimension="head",
        example='[["0 gpm", "310 ft"], ["5 gpm", "290 ft"], ["10 gpm", "235 ft"]]',
        help="Flow and head, as the pump's sheet gives them, flow rising.",
    ),
    quantity("motor_power", "power", "0.5 hp", "Rated power of the motor.", positive=True),
    quantity(
        "efficiency", "share", "45 %", "From the wire to the water.", positive=True, most=1.0
    ),
    quantity(
        "measured_flow", "flow", "5 gal in 28 s", "A bucket test at the tank.", positive=True
    ),
    quantity(
        "measured_pressure", "pressure", "45 psi", "Gauge pressure while the bucket test ran."
    ),
    quantity(
        "measured_uncertainty", "share", "10 %", "How sure the bucket test is.", most=1.0
    ),
    quantity(
        "set_pressure", "pressure", "55 psi", "Pressure a constant-pressure pump holds.",
        positive=True,
    ),
    quantity(
        "elevation", "elevation", "-4 ft", "Height of a pump that stands above the water.",
        default="the height of the tank's gauge",
    ),
    quantity(
        "npsh_required", "head", "8 ft",
        "Head that the inlet of a pump above the water needs (NPSHr), by its sheet.",
    ),
)  # fmt: skip
_DROP_PIPE = (
    Key(
        name="material", kind="word", among="tubes", example='"pe-cts-sdr9"', required=True,
        help="Family of the tube.",
    ),
    Key(name="size", kind="size", example='"1"', required=True, help="Nominal size."),
    quantity(
        "length", "length", "160 ft", "Along the pipe, fittings counted in as length.",
        required=True, positive=True,
    ),
    Key(
        name="check_valves", kind="count", example="1", default="0", most=20,
        help="Swing check valves in it, besides the pump's own.",
    ),
)  # fmt: skip
WELL = (
    quantity(
        "static_level", "length", "62 ft", "Depth of the water below the wellhead, pump at rest."
    ),
    quantity(
        "specific_capacity", "specific-capacity", "1.2 gpm/ft",
        "Flow per length of drawdown, from the driller's test.", positive=True,
    ),
    quantity("recovery", "flow", "4 gpm", "Flow the well sustains.", positive=True),
    quantity(
        "pump_depth", "length", "160 ft",
        "Depth of the pump; of the ejector, for a deep-well jet pump.", positive=True,
        default="for a jet pump: it stands above the water and sucks",
    ),
    quantity("diameter", "diameter", "6 in", "Inside diameter of the casing.", positive=True),
    quantity(
        "elevation", "elevation", "-20 ft", "Height of the wellhead above the datum.",
        default="the height of the tank's gauge",
    ),
    Key(
        name="drop_pipe", kind="table", keys=_DROP_PIPE,
        help="The pipe from pump to wellhead; the suction pipe of a pump above the water.",
        example='{ material = "pe-cts-sdr9", size = "1", length = "160 ft" }',
    ),
    Key(
        name="offset_pipe", kind="table", keys=_DROP_PIPE,
        help="The pipe from the wellhead to a tank that stands in the house.",
        example='{ material = "pe-cts-sdr9", size = "1-1/4", length = "180 ft" }',
    ),
)  # fmt: skip
