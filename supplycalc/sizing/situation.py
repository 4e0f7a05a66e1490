"""What sizing works on: a tree with its design flows, and what each size of a run would do."""

from __future__ import annotations

from msgspec import Struct

from supplycalc.catalogue import Tube, TubeSize
from supplycalc.demand.loads import Demand
from supplycalc.model import Run
from supplycalc.network import Tree


class SizeOption(Struct, frozen=True, kw_only=True):
    """One size that a run could have, and what it would do at the run's design flow."""

    size: TubeSize
    friction_loss: float
    fitting_loss: float
    velocity: float
    k: float
    cost: float

    @property
    def loss(self) -> float:
        """Friction and fittings together [Pa]."""
        return self.friction_loss + self.fitting_loss


class RunChoice(Struct, frozen=True, kw_only=True):
    """A run with every size of its family and the ones the solver may take."""

    run: Run
    tube: Tube
    options: tuple[SizeOption, ...]
    """The whole family, ascending."""
    allowed: tuple[int, ...]
    """Indices into `options`, ascending."""
    offered: tuple[int, ...]
    """What the user allows, before minimums and velocity."""
    minimum: int
    """Index of the smallest size that code and user allow."""
    minimum_source: str
    velocity_limit: float
    counted_length: float


class Situation(Struct, frozen=True, kw_only=True):
    """A tree with its design flows and everything that does not depend on the sizes."""

    tree: Tree
    demand: Demand
    available: float
    """Pressure at the source while the design flow runs [Pa gauge]."""
    highest: float
    """Highest static pressure at the source [Pa gauge]."""
    static_gain: tuple[float, ...]
    device_loss: tuple[float, ...]
    outlet_limit: tuple[float, ...]
    """Highest pressure that each link lets through at the design flow [Pa]; inf but for valves."""
    static_limit: tuple[float, ...]
    """The same with no flow."""
    required: tuple[float, ...]
    """Required pressure at each link's end; -inf where there is no outlet [Pa]."""
    choices: tuple[RunChoice | None, ...]
