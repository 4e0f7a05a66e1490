"""Types of quantities: a plain SI number whose type says what it measures.

`flow: Flow` is a float in m3/s to Python and to the type checker; JSON, schemas and tables read the
dimension, and with it unit and digits, from the type.
"""

from __future__ import annotations

from typing import Annotated

from msgspec import Struct

from supplycalc.units.dimensions import UnitSystem


class Of(Struct, frozen=True):
    """What a number measures."""

    dimension: str
    """A key of `DIMENSIONS`."""
    always: UnitSystem | None = None
    """The unit system it is shown in whatever the reader's, such as watts of heat."""


Length = Annotated[float, Of("length")]
"""[m] along a pipe or a way"""
Elevation = Annotated[float, Of("elevation")]
"""[m] above the datum"""
Diameter = Annotated[float, Of("diameter")]
"""[m]"""
Roughness = Annotated[float, Of("roughness")]
"""[m]"""
Thickness = Annotated[float, Of("thickness")]
"""[m]"""
Cover = Annotated[float, Of("cover")]
"""[m] of ground over a pipe"""
Pressure = Annotated[float, Of("pressure")]
"""[Pa], gauge where it is a state"""
Setting = Annotated[float, Of("setting")]
"""[Pa] gauge, of a switch, a valve or an air charge: what somebody sets by a gauge"""
Flow = Annotated[float, Of("flow")]
"""[m3/s]"""
Inflow = Annotated[float, Of("inflow")]
"""[m3/s] of a spring or a trickle: shown with one digit more"""
Temperature = Annotated[float, Of("temperature")]
"""[K]"""
TemperatureDifference = Annotated[float, Of("temperature-difference")]
"""[K]"""
Velocity = Annotated[float, Of("velocity")]
"""[m/s]"""
Volume = Annotated[float, Of("volume")]
"""[m3]"""
PipeVolume = Annotated[float, Of("pipe-volume")]
"""[m3] of a pipe or a draw: shown with more digits than a tank"""
Dose = Annotated[float, Of("dose")]
"""[m3] of bleach, shown in fluid ounces or millilitres"""
Chlorine = Annotated[float, Of("chlorine")]
"""[kg/m3] of free chlorine in water, shown in mg/L"""
Head = Annotated[float, Of("head")]
"""[m] of water"""
SpecificCapacity = Annotated[float, Of("specific-capacity")]
"""[m3/s per m] flow of a well over its drawdown"""
Gradient = Annotated[float, Of("gradient")]
"""[Pa/m]"""
Time = Annotated[float, Of("time")]
"""[s] shown in seconds"""
ClosingTime = Annotated[float, Of("closing-time")]
"""[s] of a valve"""
Minutes = Annotated[float, Of("minutes")]
"""[s] shown in minutes"""
Hours = Annotated[float, Of("hours")]
"""[s] shown in hours"""
Power = Annotated[float, Of("power")]
"""[W] of a motor"""
HeatFlow = Annotated[float, Of("power", always="metric")]
"""[W] of heat, shown in kW everywhere"""
Mass = Annotated[float, Of("mass")]
"""[kg]"""
Density = Annotated[float, Of("density")]
"""[kg/m3]"""
Energy = Annotated[float, Of("energy")]
"""[J]"""
Share = Annotated[float, Of("share")]
"""A part of one, shown in per cent"""
