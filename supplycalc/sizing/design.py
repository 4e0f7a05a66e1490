"""What `size` found: a design with every number that the outputs show, in SI units."""

from __future__ import annotations

from typing import Any, Literal

from msgspec import Struct

from supplycalc.catalogue import Role, Tube, TubeSize
from supplycalc.demand.loads import Demand
from supplycalc.model import Device, Fixture, House, Run, Side
from supplycalc.network import Tree
from supplycalc.supply.source import SourcePressure
from supplycalc.tables import Citation

Level = Literal["fail", "warn", "note"]
LEVELS: tuple[Level, ...] = ("fail", "warn", "note")
"""As findings are told."""


class NextSmaller(Struct, frozen=True, kw_only=True):
    """What the next smaller size of one run would have done, all else as chosen."""

    nominal: str
    velocity: float
    """[m/s]"""
    loss: float
    """[Pa] in this run"""
    worst_margin: float
    """[Pa] at the fixture that would then be worst"""
    worst_name: str
    reason: str
    """In words: why it was not chosen."""


class RunResult(Struct, frozen=True, kw_only=True):
    """One pipe of the design."""

    run: Run
    index: int
    side: Side
    tube: Tube
    size: TubeSize
    start: str
    end: str
    temperature: float
    load: float
    design_flow: float
    velocity: float
    velocity_limit: float
    static_gain: float
    friction_loss: float
    fitting_loss: float
    k: float
    """Sum of the listed fittings' K."""
    counted_length: float
    """Developed length with the fitting allowance, if that is used [m]."""
    end_pressure: float
    """[Pa gauge] at its end while the design flow runs."""
    static_end_pressure: float
    """[Pa gauge] at its end with nothing running, at cut-out."""
    decided_by: str
    next_smaller: NextSmaller | None
    allowed: tuple[str, ...]
    """Sizes the solver could choose from."""

    @property
    def loss(self) -> float:
        """Friction and fittings together [Pa]."""
        return self.friction_loss + self.fitting_loss


class DeviceResult(Struct, frozen=True, kw_only=True):
    """One device of the design."""

    device: Device
    index: int
    side: Side
    load: float
    design_flow: float
    static_gain: float
    loss: float
    end_pressure: float
    static_end_pressure: float
    assumed: bool
    """Whether its loss is the default of its kind."""


class OutletResult(Struct, frozen=True, kw_only=True):
    """One fixture connection of the design."""

    fixture: Fixture
    index: int
    side: Side
    name: str
    elevation: float
    path: tuple[str, ...]
    design_flow: float
    static_change: float
    loss: float
    residual: float
    required: float
    static_pressure: float
    """[Pa gauge] with nothing running, at cut-out."""

    @property
    def margin(self) -> float:
        """Residual less required pressure [Pa]."""
        return self.residual - self.required


class Finding(Struct, frozen=True, kw_only=True):
    """One judgement of the design."""

    level: Level
    code: str
    where: str
    message: str
    """A sentence with values marked as `{0}`, `{1}`, … to be shown in the reader's units."""
    values: tuple[tuple[float, str], ...] = ()
    """(SI value, dimension) of each mark."""
    remedy: str = ""
    remedy_values: tuple[tuple[float, str], ...] = ()
    source: Citation | None = None
    """None: common practice, no source."""


class Assumption(Struct, frozen=True, kw_only=True):
    """Something the file leaves out, and what was taken instead."""

    text: str
    values: tuple[tuple[float, str], ...] = ()
    source: Citation | None = None
    weight: float | None = None
    """How much the worst margin would move if it were left out or doubled [Pa]."""


class Remedy(Struct, frozen=True, kw_only=True):
    """A change that was computed to work."""

    text: str
    values: tuple[tuple[float, str], ...] = ()
    worst_margin: float = 0.0
    """[Pa] after the change"""
    worst_name: str = ""
    cost: float = 0.0
    """Extra cost on the design's basis; 0 where the change buys no pipe."""


class Design(Struct, frozen=True, kw_only=True):
    """A sized house."""

    tree: Tree
    demand: Demand
    source: SourcePressure
    runs: tuple[RunResult, ...]
    devices: tuple[DeviceResult, ...]
    outlets: tuple[OutletResult, ...]
    """Worst margin first."""
    cost: float
    """[kg], or in the price list's currency"""
    cost_basis: str
    optimal: bool
    """Whether the sizes are the cheapest that satisfy every limit."""
    shortfall: float
    """How far the worst fixture falls short [Pa]; 0 for a design with enough pressure."""
    findings: tuple[Finding, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    currency: str = ""
    """The price list's, where costs are prices."""

    @property
    def house(self) -> House:
        """The house that was sized."""
        return self.tree.house

    @property
    def worst(self) -> OutletResult:
        """The fixture connection with the least margin."""
        return self.outlets[0]

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    @property
    def run_at(self) -> dict[int, RunResult]:
        """The runs by the index of their link in the tree."""
        return {result.index: result for result in self.runs}

    @property
    def result_at(self) -> dict[int, RunResult | DeviceResult]:
        """The runs and devices by the index of their link in the tree."""
        return self.run_at | {result.index: result for result in self.devices}

    def devices_that(self, role: Role) -> list[str]:
        """The names of the devices that have a role by their kind."""
        return [
            result.device.name for result in self.devices if self.tree.does(result.device, role)
        ]

    def run(self, name: str) -> RunResult:
        """The result of one run by its name; KeyError where there is none."""
        for result in self.runs:
            if result.run.name == name:
                return result
        raise KeyError(name)

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc size --json` prints it.

        The one place where a result knows the report: imported here so that nothing else does.
        """
        from supplycalc.output.machine import design_to_dict

        return design_to_dict(self, units)
