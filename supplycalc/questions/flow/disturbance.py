"""Who spoils whom: what other outlets do to one in use, in turn and at once."""

from __future__ import annotations

import itertools
import math
from typing import ClassVar, Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.delivery.fixture_use import FixtureUse
from supplycalc.delivery.household import Household, Outflow
from supplycalc.delivery.open_supply import Mixer, Opening, OpenSupply
from supplycalc.delivery.solver import deliver
from supplycalc.delivery.source_cases import SourceCase
from supplycalc.records import Form
from supplycalc.units.quantities import Flow, Temperature, TemperatureDifference

MOST_SETS = 500
"""Sets that are simply all tried; beyond, branch and bound looks for the worst one."""
Method = Literal[
    "every set tried",
    "branch and bound",
    "branch and bound, which thermostatic valves leave without proof",
]
_SLACK = 1e-9  # a set must be worse by this share of the flow to count as worse


class Harm(Struct, frozen=True, kw_only=True):
    """What opening one more outlet, or several, does to the one in use."""

    form: ClassVar[Form] = Form(
        omit=("opened", "temperature_step"), rename={"names": "opened"}, add=("names",)
    )

    opened: tuple[FixtureUse, ...]
    flow: Flow
    """Left to the one in use."""
    lost: Flow
    lost_share: float
    """Of what it had."""
    temperature: Temperature
    """Of its water then; nan where nothing comes."""
    temperature_step: TemperatureDifference
    """nan where it does not mix."""

    @property
    def names(self) -> tuple[str, ...]:
        """Of what is opened."""
        return tuple(use.name for use in self.opened)


class Disturbance(Struct, frozen=True, kw_only=True):
    """The others in turn, the most harmful first, and the worst that can run at once."""

    form: ClassVar[Form] = Form(
        omit=("source", "subject"),
        rename={"source_name": "source", "subject_name": "subject"},
        add=("source_name", "subject_name", "flow"),
    )

    source: SourceCase
    subject: Outflow
    """The one in use, as it is before."""
    others: tuple[Harm, ...]
    """What each of them does when it is opened as well."""
    worst: Harm | None
    """The worst set of `at_once` others; None where there are none."""
    at_once: int
    method: Method | None
    """How the worst set was found; it is proved to be the worst where nothing else is said."""
    solved: int
    """Supplies settled in the search."""

    @property
    def source_name(self) -> str:
        """The state of the source."""
        return self.source.name

    @property
    def subject_name(self) -> str:
        """The one in use."""
        return self.subject.name

    @property
    def flow(self) -> Flow:
        """Of the one in use before."""
        return self.subject.flow


def disturb(
    household: Household,
    uses: tuple[FixtureUse, ...],
    others: tuple[FixtureUse, ...],
    source: SourceCase,
    at_once: int,
) -> Disturbance:
    """Open others beside what is open and see what the first use loses.

    Args:
        uses: what is open all the while; the first is the one looked at.
        others: what may be opened beside it.
        at_once: how many of the others may run at once in the worst set.

    Returns:
        Each of the others alone, sorted by flow lost, then by change of temperature; and the set
        of `at_once` of them that leaves the first use least: for certain where all sets were
        tried or no thermostatic valve mixes, else the worst that branch and bound came upon.
    """
    search = _Search(household, uses, others, source)
    before = household.settle(uses, source.law).outflows[0]
    harms = sorted(
        (search.harm(before, (i,)) for i in range(len(others))),
        key=lambda harm: (-harm.lost, -_size(harm.temperature_step), harm.opened[0].name),
    )
    count = min(at_once, len(others))
    worst: Harm | None = None
    method: Method | None = None
    if count > 0:
        few = math.comb(len(others), count) <= MOST_SETS
        if few:
            method = "every set tried"
        elif search.bound_holds:
            method = "branch and bound"
        else:
            method = "branch and bound, which thermostatic valves leave without proof"
        order = [others.index(harm.opened[0]) for harm in harms]
        chosen = search.every(count) if few else search.bounded(count, order)
        worst = search.harm(before, chosen)
    return Disturbance(
        source=source,
        subject=before,
        others=tuple(harms),
        worst=worst,
        at_once=count,
        method=method,
        solved=search.solved,
    )


def _size(step: float) -> float:
    return 0.0 if math.isnan(step) else abs(step)


class _Search:
    """Settles sets of others and remembers how many."""

    def __init__(
        self,
        household: Household,
        uses: tuple[FixtureUse, ...],
        others: tuple[FixtureUse, ...],
        source: SourceCase,
    ) -> None:
        self._household = household
        self._uses = uses
        self._others = others
        self._law = source.law
        self.solved = 0

    @property
    def bound_holds(self) -> bool:
        """Whether what the bound leaves out is proved to be no worse."""
        tree = self._household.design.tree
        return not any(
            use.through == "both" and use.mixing_valve(tree) == "thermostatic"
            for use in (*self._uses, *self._others)
        )

    def _first(self, chosen: tuple[int, ...]) -> Outflow:
        self.solved += 1
        opened = self._uses + tuple(self._others[i] for i in chosen)
        return self._household.settle(opened, self._law).outflows[0]

    def harm(self, before: Outflow, chosen: tuple[int, ...]) -> Harm:
        """What opening a set does."""
        after = self._first(chosen)
        lost = before.flow - after.flow
        mixes = before.use.through == "both"
        return Harm(
            opened=tuple(self._others[i] for i in chosen),
            flow=after.flow,
            lost=lost,
            lost_share=lost / before.flow if before.flow > 0.0 else 0.0,
            temperature=after.temperature,
            temperature_step=after.temperature - before.temperature if mixes else math.nan,
        )

    def every(self, count: int) -> tuple[int, ...]:
        """The worst set, by trying all."""
        sets = itertools.combinations(range(len(self._others)), count)
        return min(sets, key=lambda chosen: self._first(chosen).flow)

    def bounded(self, count: int, order: list[int]) -> tuple[int, ...]:
        """The worst set, by branch and bound over the others in order of harm.

        A set can leave the first use no less than everything that may still be opened together
        does, since opening an outlet never raises a pressure. Valves that keep a ratio can break
        that rule, as one that backs off relieves the others; for the bound they are replaced by
        two independent orifices that draw at least as much, for which the rule holds. Of a
        thermostatic valve they may draw less, as it goes to another share when the hot water
        arrives cooler: `bound_holds` then is False.
        """
        best = tuple(order[:count])
        least = self._first(best).flow
        stack: list[tuple[tuple[int, ...], int]] = [((), 0)]
        while stack:
            chosen, start = stack.pop()
            missing = count - len(chosen)
            if missing == 0:
                flow = self._first(chosen).flow
                if flow < least * (1.0 - _SLACK):
                    best, least = chosen, flow
                continue
            if len(order) - start < missing:
                continue
            if self._bound(chosen + tuple(order[start:])) >= least * (1.0 - _SLACK):
                continue
            stack.append((chosen, start + 1))
            stack.append(((*chosen, order[start]), start + 1))
        return best

    def _bound(self, opened: tuple[int, ...]) -> float:
        """A flow that the first use keeps with any part of these open [m3/s]."""
        self.solved += 1
        uses = self._uses + tuple(self._others[i] for i in opened)
        supply = self._household.open_supply(uses, self._law)
        delivered = deliver(_without_ratios(supply))
        first = self._uses[0]
        if first.through != "both":
            return delivered.opening_flow[0]
        mixer = supply.mixers[0]
        if mixer.kind == "plain":
            return sum(delivered.mixer_flow[0])
        weaker = min(delivered.pressure[mixer.cold_link], delivered.pressure[mixer.hot_link])
        return min(mixer.cap, mixer.coefficient * math.sqrt(max(weaker, 0.0)))


def _without_ratios(supply: OpenSupply) -> OpenSupply:
    """Every ratio mixer replaced by two orifices that draw no less from either side."""
    openings, mixers = list(supply.openings), []
    for mixer in supply.mixers:
        if mixer.kind == "plain":
            mixers.append(mixer)
        else:
            openings += _halves(mixer)
    return replace(supply, openings=tuple(openings), mixers=tuple(mixers))


def _halves(mixer: Mixer) -> list[Opening]:
    sides = ((mixer.cold_link, 1.0 - mixer.hot_share), (mixer.hot_link, mixer.hot_share))
    return [
        Opening(
            name=mixer.name,
            link=link,
            coefficient=share * mixer.coefficient,
            cap=share * mixer.cap,
        )
        for link, share in sides
    ]
