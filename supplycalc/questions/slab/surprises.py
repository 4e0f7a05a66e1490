"""What may come later: a house with something added or weakened, and what becomes of it then."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import ClassVar, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import Device, Fixture, House, Manifold, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.records import Form
from supplycalc.records.sentences import sentence
from supplycalc.sizing.changes import raise_switch
from supplycalc.sizing.design import Design, RunResult
from supplycalc.sizing.remedies import SWITCH_STEP
from supplycalc.sizing.size import SizedTree, size_tree_or_none
from supplycalc.supply.pump_check import PumpCheck, pump_check
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Mass, Pressure

Part = TypeVar("Part", Run, Device, Manifold)
WEAKER = 0.8
"""Share of the old head that a weaker pump gives."""
LOWER_PRESSURE = "lower-pressure"
"""The surprise whose title already says what the source then holds."""

SETS: dict[str, tuple[str, ...]] = {
    "half bath": ("water-closet", "lavatory"),
    "full bath": ("tub-shower", "water-closet", "lavatory"),
    "shower": ("shower",),
    "outdoor tap": ("hose-bibb",),
    "laundry": ("clothes-washer", "laundry-tub"),
}
"""Named sets of fixtures that people add; common practice, no source."""
CALLED = {"tub-shower": "bath", "water-closet": "toilet", "lavatory": "basin"}
"""Kinds by what people call them."""


class Change(Struct, frozen=True, kw_only=True):
    """Something that can happen to the house later."""

    code: str
    text: str
    """In words, with a mark {0} where it has a value."""
    value: tuple[float, str] | None = None
    """(SI value, dimension) of the mark."""
    apply: Callable[[House], House | None]


class AsPoured(Struct, frozen=True, kw_only=True):
    """A sized house, and what of it may still change when the locked runs are covered."""

    design: Design
    fixed: House
    """With every size as chosen."""
    reachable: House
    """With the locked runs as chosen and all other pipe open."""


class Surprise(Struct, frozen=True, kw_only=True):
    """A change met by the house as it is chosen, really sized."""

    form: ClassVar[Form] = Form(omit=("change", "pump"), add=("code", "title"))

    change: Change
    worst: str | None
    """The fixture with the least margin, every size as chosen; None: cannot be computed."""
    margin: Pressure | None
    """There."""
    source_pressure: Pressure | None
    """While the then design flow runs."""
    pump: PumpCheck | None
    """Against the then design flow; None: on a main, or cannot be computed."""
    absorbed: bool
    """With every size as chosen, and by the pump."""
    absorbed_if_rest_grows: bool
    """With the locked runs as chosen and all pipe that can still be reached chosen anew."""
    extra_cost: Mass | None
    """What that pipe takes more; None where it does not mend."""
    wanted: Mapping[str, str]
    """Locked run -> the size it would be given, where the locked runs are too small, if known."""

    @property
    def code(self) -> str:
        """Of the change."""
        return self.change.code

    @property
    def beyond_the_pump(self) -> bool:
        """Whether the pump is too small for it, which no larger pipe in the house mends."""
        return self.pump is not None and self.pump.state == "too-small"

    def title(self, system: UnitSystem) -> str:
        """The change in words."""
        value = self.change.value
        return sentence(self.change.text, () if value is None else (value,), system)


def changes(design: Design, link: int) -> Iterator[Change]:
    """What its file lets happen to a house later; a bath is added beyond the first locked run."""
    house = design.house
    like = neighbour(design, link) or design.worst.fixture
    if added_runs(house):
        yield Change(
            code="bath-added",
            text=f"a full bath is added beside {like.name}",
            apply=lambda before: with_set(before, like, SETS["full bath"], 1),
        )
    service = design.service
    present = {device.kind for device in house.devices}
    later = [kind for kind in house.catalogue.devices.values() if kind.added_later]
    later.sort(key=lambda kind: kind.added_later)
    treatment = next((kind.name for kind in later if kind.name not in present), None)
    if service is not None and treatment is not None and service.run.fixture is None:
        last = service.run  # of a line in pieces the one that comes up
        while follows := [run.run for run in design.runs if run.run.start == last.end]:
            if len(follows) > 1 or not last.route or follows[0].route != last.route:
                break
            last = follows[0]
        device = treatment.replace("-", " ")
        article = "an" if device[0] in "aeiou" else "a"
        yield Change(
            code="treatment-added",
            text=f"{article} {device} is added after {last.name}",
            apply=lambda before: with_device_after(before, last, treatment, f"later {device}"),
        )
    if with_weaker_pump(house, WEAKER) is not None:
        yield Change(
            code="weaker-pump",
            text="the pump is replaced by one with {0} of its head",
            value=(WEAKER, "share"),
            apply=lambda before: with_weaker_pump(before, WEAKER),
        )
    step = SWITCH_STEP[house.project.units]
    if with_lower_pressure(house, step) is not None:
        falls = "the main falls"
        if house.source.kind == "well":
            held = house.source.set_pressure is not None
            falls = "the pump's set pressure is" if held else "the pressure switch is set"
        yield Change(
            code=LOWER_PRESSURE,
            text=f"{falls} {{0}} lower",
            value=(step, "pressure"),
            apply=lambda before: with_lower_pressure(before, step),
        )


def neighbour(design: Design, link: int) -> Fixture | None:
    """The fixture beside which others are added: the worst fed through a link, with hot if any."""
    below = design.tree.at_or_below(link)
    fed = [outlet.fixture for outlet in design.outlets if outlet.index in below]
    both = [fixture for fixture in fed if fixture.cold is not None and fixture.hot is not None]
    return (both or fed)[0] if fed else None


def meet(change: Change, poured: AsPoured, locked: Sequence[RunResult]) -> Surprise:
    """Whether a change is absorbed, at which price, and what else it would take."""
    design = poured.design
    as_chosen = size_tree_or_none(change.apply(poured.fixed))
    pump = None if as_chosen is None else _judged_pump(as_chosen)
    pumped = pump is None or pump.state != "too-small"
    absorbed = as_chosen is not None and as_chosen.feasible and pumped
    rest = size_tree_or_none(change.apply(poured.reachable))
    rest_mends = rest is not None and rest.feasible and pumped
    wanted: dict[str, str] = {}
    if pumped and not absorbed and not rest_mends:
        names = [run.name for run in locked]
        opened = _opened(design.house, names)
        # without reserve: what the change takes, as a larger size of one run is judged
        opened = replace(opened, limits=replace(opened.limits, reserve=0.0))
        free = size_tree_or_none(change.apply(opened))
        if free is not None and free.feasible:
            sizes = {name: free.size_of(name) for name in names}
            wanted = {
                name: size
                for name, size in sizes.items()
                if size is not None and size != design.sizes[name]
            }
    return Surprise(
        change=change,
        worst=None if as_chosen is None else as_chosen.worst_name or None,
        margin=None if as_chosen is None else as_chosen.worst_margin,
        source_pressure=None if as_chosen is None else as_chosen.situation.source.design_pressure,
        pump=pump,
        absorbed=absorbed,
        absorbed_if_rest_grows=absorbed or rest_mends,
        extra_cost=rest.cost - design.cost if rest is not None and rest_mends else None,
        wanted=wanted,
    )


def _judged_pump(sized: SizedTree) -> PumpCheck | None:
    """The pump of a changed house, judged as `size` and `well` judge it."""
    return pump_check(sized.situation.tree, sized.situation.demand)


def _opened(house: House, names: Sequence[str]) -> House:
    """The house with the named runs free to take any size of their family."""

    def each(run: Run) -> Run:
        return replace(run, size=None, sizes=()) if run.name in names else run

    return map_runs(house, each)


def added_runs(house: House) -> bool:
    """Whether a fixture that is added counts in the demand.

    Method `listed` without a list takes two fixtures however many there are: what is added never
    runs, and nothing can be told of it.
    """
    return house.project.demand != "listed" or bool(house.project.listed)


def with_set(house: House, like: Fixture, kinds: Sequence[str], count: int) -> House:
    """The same house with fixtures added beside one that is there.

    Each new fixture stands at the height of the one beside it and gets branches of its own of the
    same length and material from the same points, their sizes left open; a kind that takes hot
    water gets none where the neighbour has none. Where a list says what runs at once, each set puts
    its largest fixture on it.
    """
    catalogue = house.catalogue.fixtures
    sides = {"cold": like.cold, "hot": like.hot}
    fed = [kind for kind in kinds if any(sides[side] for side in catalogue[kind].sides)]
    largest = max(fed, key=lambda kind: catalogue[kind].flow(), default=None)
    added, listed = [], list(house.project.listed)
    for number in range(1, count + 1):
        for kind in fed:
            name = f"later {CALLED.get(kind, kind)}" + (f" {number}" if count > 1 else "")
            own = catalogue[kind].sides
            added.append(
                Fixture(
                    name=name,
                    kind=kind,
                    elevation=like.elevation,
                    cold=_branch(like.cold, name, "cold") if "cold" in own else None,
                    hot=_branch(like.hot, name, "hot") if "hot" in own else None,
                )
            )
            if listed and kind == largest:
                listed.append(name)
    project = replace(house.project, listed=tuple(listed))
    return replace(house, project=project, fixtures=(*house.fixtures, *added))


def _branch(like: Run | None, fixture: str, side: str) -> Run | None:
    if like is None:
        return None
    name = f"{fixture} {side}"
    return replace(
        like, name=name, end=name, fixture=fixture, size=None, sizes=(), minimum=None, group=None,
        buried=None, embedded=False,
    )  # fmt: skip


def with_steady_flow(house: House, run: Run, side: str, flow: float, elevation: float) -> House:
    """The same house with a steady flow drawn right at the end of a run.

    The draw asks for no pressure of its own and hangs on a short wide pipe, so that it shows what
    the run and everything before it can still carry.
    """
    name = "steady draw"
    tap = replace(
        run, name=f"{name} {side}", start=run.end, end=f"{name} {side}", fixture=name, length=0.01,
        fittings=(), size=None, sizes=(), minimum=None, group=None, buried=None, embedded=False,
    )  # fmt: skip
    fixture = Fixture(
        name=name,
        kind="hose-bibb",
        elevation=elevation,
        cold=tap if side == "cold" else None,
        hot=tap if side == "hot" else None,
        continuous=flow,
        pressure=-1e6,  # asks for nothing
    )
    return replace(house, fixtures=(*house.fixtures, fixture))


def with_device_after(house: House, run: Run, kind: str, name: str) -> House:
    """The same house with a device between a run and everything that hangs from its end."""
    before, after = run.end, f"{run.end} behind {name}"

    def moved(part: Part) -> Part:
        return replace(part, start=after) if part.start == before else part

    house = map_runs(house, moved)
    return replace(
        house,
        devices=(
            *(moved(device) for device in house.devices),
            Device(name=name, kind=kind, start=before, end=after),
        ),
        manifolds=tuple(moved(manifold) for manifold in house.manifolds),
    )


def with_weaker_pump(house: House, share: float) -> House | None:
    """The house with a pump of a share of its head at every flow; None without a curve."""
    pump = house.source.pump
    if house.source.kind != "well" or pump is None or len(pump.curve) < 2:
        return None
    curve = tuple((flow, share * head) for flow, head in pump.curve)
    return replace(house, source=replace(house.source, pump=replace(pump, curve=curve)))


def with_lower_pressure(house: House, fall: float) -> House | None:
    """The house with its switch, or its main, lower by so much [Pa]; None where nothing is left."""
    source = house.source
    if source.kind == "well":
        return raise_switch(house, -fall) if source.kept_pressure > fall else None
    if source.residual is None or source.residual <= fall:
        return None
    static = None if source.static is None else source.static - fall
    return replace(house, source=replace(source, residual=source.residual - fall, static=static))
