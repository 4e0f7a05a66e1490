"""Invented houses for the tests of demand: rooms on runs of their own, and home runs."""

from __future__ import annotations

from msgspec.structs import replace

from supplycalc.model import Device, Fixture, House, Manifold, Project
from tests.houses import branch, cold_fixture, mixed_fixture, pipe, well

MIXED = ("tub-shower", "bathtub", "shower", "lavatory", "bidet", "kitchen-sink", "clothes-washer",
         "laundry-tub", "whirlpool-tub")  # fmt: skip


def heater() -> Device:
    """A heater from "heater inlet" to "heater outlet"."""
    return Device(
        name="water heater", kind="heater", start="heater inlet", end="heater outlet", elevation=0.0
    )


def fixture(name: str, kind: str, cold: str, hot: str, **more: object) -> Fixture:
    """A fixture on the sides its kind has; a dishwasher takes hot only."""
    if kind == "dishwasher":
        made = Fixture(name=name, kind=kind, elevation=0.0, hot=branch(name, "hot", hot))
    elif kind in MIXED:
        made = mixed_fixture(name, kind, cold, hot)
    else:
        made = cold_fixture(name, kind, cold)
    return replace(made, **more) if more else made  # type: ignore[arg-type]


def house_of(rooms: dict[str, list[str]], method: str = "irc", **project: object) -> House:
    """Each room has a cold and a hot run of its own; rooms named "alone…" hang from the headers."""
    runs = [
        pipe("service", "source", "entry"),
        pipe("cold main", "entry", "cold header"),
        pipe("heater feed", "entry", "heater inlet"),
        pipe("hot main", "heater outlet", "hot header"),
    ]
    fixtures = []
    for room, kinds in rooms.items():
        cold, hot = "cold header", "hot header"
        if not room.startswith("alone"):
            with_hot = any(kind in MIXED or kind == "dishwasher" for kind in kinds)
            with_cold = any(kind != "dishwasher" for kind in kinds)
            if with_cold:
                runs.append(pipe(f"{room} cold run", "cold header", f"{room} cold"))
            if with_hot:
                runs.append(pipe(f"{room} hot run", "hot header", f"{room} hot"))
            cold, hot = f"{room} cold", f"{room} hot"
        fixtures += [fixture(f"{room} {kind} {i}", kind, cold, hot) for i, kind in enumerate(kinds)]
    return House(
        project=Project(name="Rooms", demand=method, **project),  # type: ignore[arg-type]
        source=well(),
        runs=tuple(runs),
        devices=(heater(),),
        fixtures=tuple(fixtures),
    )


def home_runs(kinds: list[str], method: str = "irc", **project: object) -> House:
    """Every fixture on its own run from a cold and a hot manifold."""
    return House(
        project=Project(name="Home runs", demand=method, **project),  # type: ignore[arg-type]
        source=well(),
        runs=(
            pipe("service", "source", "entry"),
            pipe("heater feed", "entry", "heater inlet"),
        ),
        devices=(heater(),),
        manifolds=(
            Manifold(name="cold manifold", start="entry"),
            Manifold(name="hot manifold", start="heater outlet"),
        ),
        fixtures=tuple(
            fixture(f"{kind} {i}", kind, "cold manifold", "hot manifold")
            for i, kind in enumerate(kinds)
        ),
    )
