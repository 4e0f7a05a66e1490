"""Small invented houses for tests, built without a file."""

from __future__ import annotations

from msgspec.structs import replace

from supplycalc.model import (
    Device,
    Fixture,
    House,
    Limits,
    Loss,
    Manifold,
    Project,
    Run,
    WaterSource,
)

FOOT = 0.3048
PSI = 6894.757293168361
GPM = 3.785411784e-3 / 60.0


def pipe(name: str, start: str, end: str, feet: float = 20.0, **more: object) -> Run:
    """A PEX run; keyword arguments override."""
    given: dict[str, object] = {
        "name": name,
        "start": start,
        "end": end,
        "length": feet * FOOT,
        "material": "pex-sdr9",
        "joining": "crimp",
        "fittings": (),
    }
    given.update(more)
    return Run(**given)  # type: ignore[arg-type]


def drop_pipe(feet: float = 160.0, **more: object) -> Run:
    """The pipe from the pump up to the wellhead, 1 inch PE; keyword arguments override."""
    given: dict[str, object] = {"material": "pe-cts-sdr9", "size": "1", "joining": "insert"}
    return pipe("drop pipe", "well", "wellhead", feet, **{**given, **more})


def offset_pipe(feet: float = 160.0, **more: object) -> Run:
    """The pipe from the wellhead to the tank."""
    return replace(drop_pipe(feet, **more), name="offset pipe", start="wellhead", end="source")


def branch(fixture: str, side: str, start: str, feet: float = 20.0, **more: object) -> Run:
    """A fixture's own branch."""
    name = f"{fixture} {side}"
    return pipe(name, start, name, feet, fixture=fixture, **more)


def cold_fixture(name: str, kind: str, start: str, feet: float = 20.0, **more: object) -> Fixture:
    """A fixture with a cold branch only."""
    elevation = float(more.pop("elevation", 0.0))  # type: ignore[arg-type]
    return Fixture(
        name=name, kind=kind, elevation=elevation, cold=branch(name, "cold", start, feet, **more)
    )


def mixed_fixture(
    name: str, kind: str, cold: str, hot: str, feet: float = 20.0, elevation: float = 0.0
) -> Fixture:
    """A fixture with both branches."""
    return Fixture(
        name=name,
        kind=kind,
        elevation=elevation,
        cold=branch(name, "cold", cold, feet),
        hot=branch(name, "hot", hot, feet),
    )


def well(cut_in: float = 40.0, cut_out: float = 60.0, elevation: float = 0.0) -> WaterSource:
    """A well by its switch [psi]."""
    return WaterSource(kind="well", cut_in=cut_in * PSI, cut_out=cut_out * PSI, elevation=elevation)


def two_storey(**more: object) -> House:
    """A service, a trunk, a heater and five fixtures."""
    given: dict[str, object] = {
        "project": Project(name="Test house"),
        "source": well(),
        "limits": Limits(),
        "runs": (
            pipe("service", "source", "entry", 60.0, material="pe-cts-sdr9", joining="insert"),
            pipe("trunk", "entry", "hall", 20.0),
            pipe("heater feed", "entry", "heater inlet", 6.0),
            pipe("hot trunk", "heater outlet", "hot hall", 20.0),
        ),
        "devices": (
            Device(
                name="water heater",
                kind="heater",
                start="heater inlet",
                end="heater outlet",
                elevation=0.0,
                loss=Loss(quadratic=2.0 * PSI, reference_flow=7.0 * GPM),
            ),
        ),
        "fixtures": (
            mixed_fixture("bath", "tub-shower", "hall", "hot hall", 30.0, elevation=3.5),
            mixed_fixture("basin", "lavatory", "hall", "hot hall", 25.0, elevation=3.5),
            cold_fixture("toilet", "water-closet", "hall", 25.0, elevation=3.0),
            mixed_fixture("sink", "kitchen-sink", "entry", "heater outlet", 15.0, elevation=1.0),
            cold_fixture("garden tap", "hose-bibb", "entry", 30.0, elevation=0.5),
        ),
    }
    given.update(more)
    return House(**given)  # type: ignore[arg-type]


def home_run(ports: int = 6, **more: object) -> House:
    """One manifold with cold branches only."""
    given: dict[str, object] = {
        "project": Project(name="Home run"),
        "source": well(),
        "runs": (pipe("service", "source", "entry", 60.0),),
        "manifolds": (Manifold(name="manifold", start="entry", ports=ports),),
        "fixtures": tuple(
            cold_fixture(f"basin {i}", "lavatory", "manifold", 10.0 + 5 * i, elevation=0.8)
            for i in range(ports)
        ),
    }
    given.update(more)
    return House(**given)  # type: ignore[arg-type]
