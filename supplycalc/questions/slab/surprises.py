"""What may come later: houses with something added or weakened, as plain changes of a `House`."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from supplycalc.model import Device, Fixture, House, Pump, Run

SETS: dict[str, tuple[str, ...]] = {
    "half bath": ("water-closet", "lavatory"),
    "full bath": ("tub-shower", "water-closet", "lavatory"),
    "shower": ("shower",),
    "outdoor tap": ("hose-bibb",),
    "laundry": ("clothes-washer", "laundry-tub"),
}
"""Named sets of fixtures that people add; our own choice."""


def with_set(house: House, like: Fixture, kinds: Sequence[str], count: int) -> House:
    """The same house with fixtures added beside one that is there.

    Each new fixture stands at the height of the one beside it and gets branches of its own of the
    same length and material from the same points, their sizes left open; a kind that takes hot
    water gets none where the neighbour has none.

    Args:
        house: the house.
        like: the fixture beside which they stand.
        kinds: of the fixtures in one set.
        count: how many sets.

    Returns:
        The changed house.
    """
    added = []
    for number in range(1, count + 1):
        for kind in kinds:
            name = f"later {kind} {number}"
            sides = house.catalogue.fixtures[kind].sides
            cold = like.cold if "cold" in sides else None
            hot = like.hot if "hot" in sides else None
            if cold is None and hot is None:
                continue
            added.append(
                Fixture(
                    name=name,
                    kind=kind,
                    elevation=like.elevation,
                    cold=_branch(cold, name, "cold"),
                    hot=_branch(hot, name, "hot"),
                )
            )
    return replace(house, fixtures=(*house.fixtures, *added))


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

    Args:
        house: the house.
        run: at whose end it is drawn.
        side: "cold" or "hot", of the water in the run.
        flow: drawn on top of everything else [m3/s].
        elevation: of the run's end [m].

    Returns:
        The changed house.
    """
    name = "steady draw"
    tap = replace(
        run, name=f"{name} {side}", start=run.end, end=f"{name} {side}", fixture=name, length=0.01,
        fittings=(), size=None, sizes=(), minimum=None, group=None, buried=None, embedded=False,
    )  # fmt: skip
    fixture = Fixture(
        name=name,
        kind="lavatory",
        elevation=elevation,
        cold=tap if side == "cold" else None,
        hot=tap if side == "hot" else None,
        continuous=flow,
        flow=flow,
        pressure=-1e6,  # asks for nothing
    )
    return replace(house, fixtures=(*house.fixtures, fixture))


def with_device_after(house: House, run: Run, kind: str, name: str) -> House:
    """The same house with a device between a run and everything that hangs from its end.

    Args:
        house: the house.
        run: after which the device stands.
        kind: of the catalogue, with its usual loss.
        name: of the device.

    Returns:
        The changed house.
    """
    before, after = run.end, f"{run.end} behind {name}"

    def moved(one: Run) -> Run:
        return replace(one, start=after) if one.start == before else one

    fixtures = tuple(
        replace(
            one,
            cold=None if one.cold is None else moved(one.cold),
            hot=None if one.hot is None else moved(one.hot),
        )
        for one in house.fixtures
    )
    return replace(
        house,
        runs=tuple(moved(one) for one in house.runs),
        devices=(
            *(replace(one, start=after) if one.start == before else one for one in house.devices),
            Device(name=name, kind=kind, start=before, end=after),
        ),
        manifolds=tuple(
            replace(one, start=after) if one.start == before else one for one in house.manifolds
        ),
        fixtures=fixtures,
    )


def with_weaker_pump(house: House, share: float) -> House | None:
    """The same house with a pump whose head is a share of the old one's at every flow.

    Args:
        house: the house.
        share: of the old head.

    Returns:
        The changed house, or None where the file has no pump curve.
    """
    pump: Pump | None = house.source.pump
    if house.source.kind != "well" or pump is None or len(pump.curve) < 2:
        return None
    curve = tuple((flow, share * head) for flow, head in pump.curve)
    return replace(house, source=replace(house.source, pump=replace(pump, curve=curve)))


def with_lower_pressure(house: House, fall: float) -> House | None:
    """The same house with its switch, or its main's pressure, lower.

    Args:
        house: the house.
        fall: by how much [Pa].

    Returns:
        The changed house, or None where the setting is not known or would be used up.
    """
    source = house.source

    def less(value: float | None) -> float | None:
        return None if value is None else value - fall

    if source.kind == "well":
        if source.cut_in is None or source.cut_in <= fall:
            return None
        changed = replace(source, cut_in=source.cut_in - fall, cut_out=less(source.cut_out))
    else:
        if source.residual is None or source.residual <= fall:
            return None
        changed = replace(source, residual=source.residual - fall, static=less(source.static))
    return replace(house, source=changed)
