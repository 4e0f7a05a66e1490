"""The dimensions of a design, their common units and how each is shown; tables, no logic."""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

BaseSystem = Literal["us", "metric"]
UnitSystem = str
"""What quantities are shown in: a `BaseSystem`, and after it, apart by spaces, units of `WISHED`
that the reader wants instead, such as "metric l/s hPa"."""

INCH = 0.0254
FOOT = 0.3048
GALLON = 231 * INCH**3
IMPERIAL_GALLON = 4.54609e-3
POUND = 0.45359237
STANDARD_GRAVITY = 9.80665  # ISO 80000-3
PSI = POUND * STANDARD_GRAVITY / INCH**2
HORSEPOWER = 550 * FOOT * POUND * STANDARD_GRAVITY
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0
HEAD_DENSITY = 999.016
"""Of water at 60 degF [kg/m3]; turns a pressure into a head."""

# Exact by definition (international yard and pound 1959; US gallon 231 in3; UK Weights and Measures
# Act 1985 for the imperial gallon); tests hold every entry equal to pint's.
FACTORS: dict[str, dict[str, float]] = {
    "length": {
        "m": 1.0, "meter": 1.0, "meters": 1.0, "metre": 1.0, "metres": 1.0,
        "cm": 0.01, "mm": 0.001, "um": 1e-6, "µm": 1e-6, "km": 1000.0,
        "ft": FOOT, "foot": FOOT, "feet": FOOT, "'": FOOT,
        "in": INCH, "inch": INCH, "inches": INCH, '"': INCH,
        "yd": 3 * FOOT, "yard": 3 * FOOT, "yards": 3 * FOOT,
    },
    "pressure": {
        "Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "bar": 1e5, "mbar": 100.0, "hPa": 100.0,
        "psi": PSI, "psig": PSI, "lbf/in2": PSI,
    },
    "flow": {
        "m3/s": 1.0, "m3/h": 1 / HOUR, "m3/d": 1 / DAY,
        "L/s": 1e-3, "l/s": 1e-3, "L/min": 1e-3 / MINUTE, "l/min": 1e-3 / MINUTE,
        "lpm": 1e-3 / MINUTE, "L/h": 1e-3 / HOUR, "l/h": 1e-3 / HOUR,
        "gpm": GALLON / MINUTE, "gal/min": GALLON / MINUTE, "US gpm": GALLON / MINUTE,
        "gph": GALLON / HOUR, "gal/h": GALLON / HOUR, "gal/hr": GALLON / HOUR,
        "gpd": GALLON / DAY, "gal/day": GALLON / DAY,
        "imp gpm": IMPERIAL_GALLON / MINUTE, "imperial gpm": IMPERIAL_GALLON / MINUTE,
        "igpm": IMPERIAL_GALLON / MINUTE,
        "ft3/s": FOOT**3, "cfs": FOOT**3, "ft3/min": FOOT**3 / MINUTE, "cfm": FOOT**3 / MINUTE,
    },
    "volume": {
        "m3": 1.0, "L": 1e-3, "l": 1e-3, "liter": 1e-3, "liters": 1e-3, "litre": 1e-3,
        "litres": 1e-3, "mL": 1e-6, "ml": 1e-6,
        "gal": GALLON, "gallon": GALLON, "gallons": GALLON, "gals": GALLON,
        "US gal": GALLON, "US gallon": GALLON, "US gallons": GALLON,
        "imp gal": IMPERIAL_GALLON, "imp gallon": IMPERIAL_GALLON,
        "imp gallons": IMPERIAL_GALLON, "imp gals": IMPERIAL_GALLON,
        "imperial gal": IMPERIAL_GALLON,
        "imperial gallon": IMPERIAL_GALLON, "imperial gallons": IMPERIAL_GALLON,
        "qt": GALLON / 4, "quart": GALLON / 4, "quarts": GALLON / 4, "fl oz": GALLON / 128,
        "ft3": FOOT**3, "cu ft": FOOT**3, "in3": INCH**3, "cu in": INCH**3,
    },
    "velocity": {
        "m/s": 1.0, "ft/s": FOOT, "fps": FOOT, "ft/min": FOOT / MINUTE, "fpm": FOOT / MINUTE,
    },
    "time": {
        "s": 1.0, "sec": 1.0, "second": 1.0, "seconds": 1.0, "ms": 1e-3,
        "min": MINUTE, "minute": MINUTE, "minutes": MINUTE,
        "h": HOUR, "hr": HOUR, "hour": HOUR, "hours": HOUR, "d": DAY, "day": DAY, "days": DAY,
    },
    "specific-capacity": {
        "m3/s/m": 1.0, "gpm/ft": GALLON / MINUTE / FOOT, "L/min/m": 1e-3 / MINUTE,
        "l/min/m": 1e-3 / MINUTE, "L/s/m": 1e-3, "l/s/m": 1e-3, "m3/h/m": 1 / HOUR,
    },
    "gradient": {
        "Pa/m": 1.0, "kPa/m": 1e3, "hPa/m": 100.0, "mbar/m": 100.0,
        "psi/ft": PSI / FOOT, "psi/100 ft": PSI / (100 * FOOT),
    },
    "power": {"W": 1.0, "kW": 1e3, "hp": HORSEPOWER, "HP": HORSEPOWER},
    "mass": {
        "kg": 1.0, "g": 1e-3, "lb": POUND, "lbs": POUND, "pound": POUND, "pounds": POUND,
        "oz": POUND / 16,
    },
    "density": {"kg/m3": 1.0, "g/cm3": 1e3, "lb/ft3": POUND / FOOT**3},
    "concentration": {"mg/L": 1e-3},
    "energy": {"J": 1.0, "kJ": 1e3, "MJ": 1e6, "kWh": 3.6e6, "Wh": 3600.0},
    "share": {"%": 0.01, "percent": 0.01},
    "temperature": {
        "K": 1.0, "kelvin": 1.0,
        "degC": 1.0, "°C": 1.0, "C": 1.0, "deg C": 1.0, "celsius": 1.0,
        "degF": 5 / 9, "°F": 5 / 9, "F": 5 / 9, "deg F": 5 / 9, "fahrenheit": 5 / 9,
    },
}  # fmt: skip
OFFSETS = {
    **dict.fromkeys(("degC", "°C", "C", "deg C", "celsius"), 273.15),
    **dict.fromkeys(("degF", "°F", "F", "deg F", "fahrenheit"), 459.67 * 5 / 9),
}
"""Added in K to a temperature (not to a difference)."""
HEAD_UNITS = {
    **FACTORS["length"],
    **{
        unit: factor / (HEAD_DENSITY * STANDARD_GRAVITY)
        for unit, factor in FACTORS["pressure"].items()
    },
}
SI = {
    "length": "m", "pressure": "Pa", "flow": "m**3/s", "volume": "m**3", "velocity": "m/s",
    "time": "s", "specific-capacity": "m**2/s", "gradient": "Pa/m", "power": "W", "mass": "kg",
    "density": "kg/m**3", "concentration": "kg/m**3", "energy": "J", "temperature": "kelvin",
}  # fmt: skip
RATIOS = {
    "flow": ("volume", "time"), "specific-capacity": ("flow", "length"),
    "gradient": ("pressure", "length"), "velocity": ("length", "time"),
}  # fmt: skip
"""What may be written as one measured quantity over another, such as "5 gal in 28 s"."""


class Dimension(Struct, frozen=True, kw_only=True):
    """How one dimension is named, read and shown."""

    phrase: str
    """With its article, e.g. "a length"."""
    base: str
    """Key of `FACTORS`."""
    units: tuple[str, ...]
    """The words to choose from."""
    examples: tuple[str, str]
    us: tuple[str, int]
    """Unit and decimals shown."""
    metric: tuple[str, int]
    signed: bool = False
    whole_from: float = math.inf
    """Shown without decimals from this number on."""
    grouped: bool = False
    """Shown with a comma for each thousand: water of a day or a year runs to many digits."""
    as_written: bool = False
    """Shown without trailing zeros, as people write it: 85 ft, 8.5 ft."""


_LENGTH = ("ft", "in", "m", "cm", "mm")
_PRESSURE = ("psi", "kPa", "bar", "hPa", "MPa")
DIMENSIONS: dict[str, Dimension] = {
    "length": Dimension(
        phrase="a length", base="length", units=_LENGTH, examples=("140 ft", "42.7 m"),
        us=("ft", 1), metric=("m", 1), as_written=True),
    "elevation": Dimension(
        phrase="an elevation", base="length", units=_LENGTH, examples=("-6 ft", "2.4 m"),
        us=("ft", 1), metric=("m", 2), as_written=True, signed=True),
    "diameter": Dimension(
        phrase="a diameter", base="length", units=("in", "mm"), examples=("0.681 in", "17.3 mm"),
        us=("in", 3), metric=("mm", 1)),
    "roughness": Dimension(
        phrase="a roughness", base="length", units=("in", "ft", "mm"),
        examples=("0.0005 ft", "0.15 mm"), us=("in", 6), metric=("mm", 4), as_written=True),
    "thickness": Dimension(
        phrase="a thickness", base="length", units=("in", "mm"), examples=("0.5 in", "13 mm"),
        us=("in", 2), metric=("mm", 0), as_written=True),
    "cover": Dimension(
        phrase="a depth", base="length", units=_LENGTH, examples=("42 in", "1.1 m"),
        us=("in", 0), metric=("m", 2)),
    "pressure": Dimension(
        phrase="a pressure", base="pressure", units=_PRESSURE, examples=("40 psi", "2.8 bar"),
        us=("psi", 1), metric=("kPa", 0)),
    "setting": Dimension(
        phrase="a pressure", base="pressure", units=_PRESSURE, examples=("40 psi", "2.8 bar"),
        us=("psi", 1), metric=("bar", 2)),
    "flow": Dimension(
        phrase="a flow", base="flow", units=("gpm", "L/s", "L/min", "m3/h"),
        examples=("7 gpm", "0.4 L/s"), us=("gpm", 1), metric=("L/min", 1)),
    "inflow": Dimension(
        phrase="a flow", base="flow", units=("gpm", "L/s", "L/min", "m3/h"),
        examples=("1.5 gpm", "0.1 L/s"), us=("gpm", 2), metric=("L/min", 2), as_written=True),
    "temperature": Dimension(
        phrase="a temperature", base="temperature", units=("degF", "degC", "K"),
        examples=("50 degF", "10 degC"), us=("degF", 0), metric=("degC", 0), signed=True),
    "temperature-difference": Dimension(
        phrase="a temperature difference", base="temperature", units=("degF", "degC", "K"),
        examples=("18 degF", "10 K"), us=("degF", 0), metric=("degC", 0), signed=True),
    "velocity": Dimension(
        phrase="a velocity", base="velocity", units=("ft/s", "m/s"), examples=("8 ft/s", "2.4 m/s"),
        us=("ft/s", 1), metric=("m/s", 2)),
    "volume": Dimension(
        phrase="a volume", base="volume", units=("gal", "L", "m3", "imp gal"),
        examples=("44 gal", "170 L"), us=("gal", 1), metric=("L", 1), whole_from=100.0,
        as_written=True, grouped=True),
    "pipe-volume": Dimension(
        phrase="a volume", base="volume", units=("gal", "L"), examples=("0.5 gal", "1.9 L"),
        us=("gal", 2), metric=("L", 2)),
    "dose": Dimension(
        phrase="a dose", base="volume", units=("fl oz", "mL"), examples=("6 fl oz", "180 mL"),
        us=("fl oz", 1), metric=("mL", 0), whole_from=10.0, grouped=True),
    "chlorine": Dimension(
        phrase="a concentration", base="concentration", units=("mg/L",),
        examples=("50 mg/L", "200 mg/L"), us=("mg/L", 0), metric=("mg/L", 0)),
    "head": Dimension(
        phrase="a head (a height of water)", base="head", units=("ft", "m", *_PRESSURE),
        examples=("92 ft", "28 m"), us=("ft", 1), metric=("m", 1), whole_from=30.0),
    "specific-capacity": Dimension(
        phrase="a specific capacity (flow over drawdown)", base="specific-capacity",
        units=("gpm/ft", "L/min/m", "L/s/m"), examples=("1.2 gpm/ft", "15 L/min/m"),
        us=("gpm/ft", 2), metric=("L/min/m", 1)),
    "gradient": Dimension(
        phrase="a loss per length", base="gradient", units=("psi/100 ft", "psi/ft", "kPa/m"),
        examples=("4 psi/100 ft", "0.9 kPa/m"), us=("psi/100 ft", 1), metric=("kPa/m", 2)),
    "time": Dimension(
        phrase="a time", base="time", units=("s", "min", "h", "d"), examples=("28 s", "2 min"),
        us=("s", 1), metric=("s", 1), whole_from=10.0),
    "closing-time": Dimension(
        phrase="a time", base="time", units=("s", "ms"), examples=("0.03 s", "30 ms"),
        us=("s", 2), metric=("s", 2)),
    "minutes": Dimension(
        phrase="a time", base="time", units=("min", "s", "h", "d"), examples=("2 min", "90 s"),
        us=("min", 1), metric=("min", 1), whole_from=10.0),
    "hours": Dimension(
        phrase="a time", base="time", units=("h", "min", "s", "d"), examples=("2 h", "45 min"),
        us=("h", 2), metric=("h", 2), whole_from=100.0),
    "power": Dimension(
        phrase="a power", base="power", units=("hp", "W", "kW"), examples=("0.5 hp", "370 W"),
        us=("hp", 2), metric=("kW", 2), as_written=True),
    "mass": Dimension(
        phrase="a mass", base="mass", units=("lb", "kg", "g", "oz"), examples=("2 lb", "0.9 kg"),
        us=("lb", 1), metric=("kg", 1)),
    "density": Dimension(
        phrase="a density", base="density", units=("kg/m3", "g/cm3", "lb/ft3"),
        examples=("940 kg/m3", "59 lb/ft3"), us=("lb/ft3", 1), metric=("kg/m3", 0)),
    "energy": Dimension(
        phrase="an energy", base="energy", units=("kWh", "J", "kJ", "MJ"),
        examples=("1.2 kWh", "4.3 MJ"), us=("kWh", 2), metric=("kWh", 2)),
    "share": Dimension(
        phrase="a share", base="share", units=("%",), examples=("20 %", "7.5 %"),
        us=("%", 1), metric=("%", 1), whole_from=10.0),
}  # fmt: skip
WISHED: dict[str, dict[str, dict[str, tuple[str, int]]]] = {
    "flow": {
        "gpm": {"flow": ("gpm", 1), "inflow": ("gpm", 2), "specific-capacity": ("gpm/ft", 2)},
        "L/min": {
            "flow": ("L/min", 1),
            "inflow": ("L/min", 2),
            "specific-capacity": ("L/min/m", 1),
        },
        "L/s": {"flow": ("L/s", 2), "inflow": ("L/s", 3), "specific-capacity": ("L/s/m", 2)},
        "l/s": {"flow": ("l/s", 2), "inflow": ("l/s", 3), "specific-capacity": ("l/s/m", 2)},
        "m3/h": {"flow": ("m3/h", 2), "inflow": ("m3/h", 3)},
    },
    "pressure": {
        "psi": {"pressure": ("psi", 1)},
        "kPa": {"pressure": ("kPa", 0), "setting": ("kPa", 0)},
        "bar": {"pressure": ("bar", 2)},
        "hPa": {"pressure": ("hPa", 0), "setting": ("hPa", 0), "gradient": ("hPa/m", 1)},
        "mbar": {"pressure": ("mbar", 0), "setting": ("mbar", 0), "gradient": ("mbar/m", 1)},
    },
}
"""What a file may wish for -> unit -> dimension -> unit and decimals shown."""
