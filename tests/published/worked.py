"""What worked examples need: a house on a main, head along a pipe, local losses, a bisection."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from supplycalc.hydraulics.friction import pressure_gradient, velocity
from supplycalc.questions.size.study import size
from supplycalc.reading import loads
from supplycalc.sizing.design import Design

FOOT = 0.3048
INCH = 0.0254
GPM = 3.785411784e-3 / 60.0
PSI = 6894.757293168
CUBIC_FOOT = FOOT**3
CUBIC_METRE_PER_HOUR = 1.0 / 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipe:
    """A pipe with its local losses, in one water."""

    length: float
    """[m]"""
    inside_diameter: float
    """[m]"""
    roughness: float
    """[m]"""
    density: float
    """[kg/m3]"""
    viscosity: float
    """[Pa s]"""
    k: float = 0.0
    """Sum of loss coefficients on this pipe's own velocity head [-]."""

    def loss(self, flow: float) -> float:
        """Friction and local losses [Pa], with the sign of the flow [m3/s]."""
        gradient = pressure_gradient(
            flow, self.inside_diameter, self.roughness, self.density, self.viscosity
        )
        speed = velocity(flow, self.inside_diameter)
        local = self.k * 0.5 * self.density * speed * abs(speed)
        return gradient * self.length + local

    def flow(self, loss: float, most: float = 1.0) -> float:
        """The flow [m3/s] that loses so much [Pa], of either sign."""
        return math.copysign(bisect(lambda q: self.loss(q) - abs(loss), 0.0, most), loss)


def sized(residual: str, rest: str, cold: str = "60 degF") -> Design:
    """Size a house on a main of this residual pressure; the rest of its file is given as text."""
    head = f"""
[project]
name = "example"
demand = "listed"
[source]
kind = "main"
residual = "{residual}"
[water]
cold = "{cold}"
"""
    return size(loads(head + rest, "example.toml"), mend=False)


def bisect(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses zero, to the last digits."""
    for _ in range(200):
        middle = 0.5 * (low + high)
        if function(middle) < 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
