"""Tube where it must not be: hot water, heat and pressure beyond its rating, at a heater."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from msgspec.structs import replace

from supplycalc.catalogue import Tube
from supplycalc.findings.rule import (
    PRESSURE_SLACK,
    TEMPERATURE_SLACK,
    YOUR_FILE,
    Remark,
    by_american_code,
    finding_limit,
    published,
    rule,
)
from supplycalc.findings.words import listed, nominal_of
from supplycalc.model import Run
from supplycalc.sizing.classes import RATED_AT, RATING_SLACK
from supplycalc.sizing.design import Design, Level, RunResult
from supplycalc.sizing.minimums import is_service
from supplycalc.sizing.pressure_range import PipePressure, pipe_pressures
from supplycalc.supply.limits import well_limit
from supplycalc.tables import Citation, code_limit, kelvin

HOT_RATED_AT = kelvin(180.0, "degF")
"""[K] The temperature at which the codes ask for the rating of hot tube (IPC 605.4)."""
RATED_AT_IN_EUROPE = kelvin(20.0, "degC")
"""[K] The temperature at which European tube has its nominal pressure (EN 12201)."""

Over = list[tuple[PipePressure, float]]
"""Pipes, and the pressure that is over their rating [Pa gauge]."""


@rule("hot-material", "fail")
def hot_material(design: Design) -> Iterator[Remark]:
    """Tube that is not permitted for hot water in hot runs, one finding for each family."""
    wrong: dict[str, list[RunResult]] = {}
    for result in design.runs:
        if result.side == "hot" and not result.tube.hot:
            wrong.setdefault(result.tube.name, []).append(result)
    for group in wrong.values():
        tube = group[0].tube
        yield Remark(
            where=listed(result.run.name for result in group),
            message=f"{tube.title} is not permitted for hot water",
            remedy="use a tube that is listed for hot water distribution",
            source=tube.citations.get("hot", YOUR_FILE),
        )


@rule("plastic-at-heater", "note")
def plastic_at_heater(design: Design) -> Iterator[Remark]:
    """Plastic tube connected to a heater; runs of metal of any length at the heater are enough."""
    tree, results = design.tree, design.run_at
    american = by_american_code(design)
    wrong: list[str] = []
    for device in design.devices:
        if not tree.catalogue.devices[device.device.kind].hot:
            continue
        if not american and not tree.does(device.device, "heats-flow"):
            continue  # an American custom; elsewhere for heaters without a store
        touching = [tree.parent[device.index], *tree.children[device.index]]
        wrong += [
            tree.names[i]
            for i in touching
            if isinstance(tree.links[i], Run) and not results[i].tube.metal
        ]
    if wrong:
        limit = finding_limit("metal-at-heater")
        yield Remark(
            where=listed(wrong),
            message="plastic tube right at the heater",
            remedy=(
                "put about {0} of metal pipe between heater and plastic, as many makers ask; "
                "the instructions of heater and tube decide"
            ),
            remedy_values=((limit.value, "cover"),),
            source=published(limit.citation),
        )


@rule("rating-exceeded", "fail", well=True)
def rating_exceeded(design: Design) -> Iterator[Remark]:
    """Pressure in ordinary use over the rating of a pipe or of the tank, or water too hot."""
    results = {result.index: result for result in design.runs}
    for pipe in pipe_pressures(design):
        run = results.get(pipe.index) if pipe.index is not None else None
        too_hot = None if run is None else _above_rated_heat(run)
        if run is not None and too_hot is not None:
            yield _too_hot(run, too_hot)
            continue
        rating = pipe.rating
        if rating is None:
            continue
        if pipe.working > rating + PRESSURE_SLACK:
            yield _over_rating(pipe)
        elif pipe.at_lowest_height > rating + PRESSURE_SLACK:
            yield _perhaps_over_rating(pipe)
        elif pipe.low_level is not None and pipe.low_level > rating + PRESSURE_SLACK:
            yield _rated_for_less(
                [(pipe, pipe.low_level)],
                "should the well's water fall to the pump, {0} would stand in it",
                "hang the pump on pipe of a higher rating, or make sure that the level stays high",
                "warn",
            )
    yield from _tank_rating_exceeded(design)


def _over_rating(pipe: PipePressure) -> Remark:
    if pipe.index is not None:
        seen = "with nothing running {0} stands at its lowest end"
    else:
        seen = "while the pump fills the tank {0} stands at its lowest end"
        if pipe.low_level is not None:
            seen += ", the water around it deducted"
    remedy = "use pipe of a higher rating"
    if pipe.index is not None:
        remedy = "use tube of a higher rating, or reduce the pressure before it"
    return _rated_for_less([(pipe, pipe.working)], seen, remedy)


def _perhaps_over_rating(pipe: PipePressure) -> Remark:
    """A pipe that a height decides which nobody gave."""
    return _rated_for_less(
        [(pipe, pipe.at_lowest_height)],
        f"the height of {pipe.unknown!r} is not given: where it lies as low as what it feeds, "
        "{0} stands there",
        f"give {pipe.unknown!r} its height as a [[point]], or use tube of a higher rating",
    )


def _rated_for_less(over: Over, seen: str, remedy: str, level: Level | None = None) -> Remark:
    """What stands in the worst of some pipes, in words with mark 0, and what that one bears."""
    pipe, pressure = _worst(over)
    rated = f"{pipe.tube.name} in {nominal_of(pipe.size, pipe.tube)} is rated for {{1}} at {{2}}"
    return Remark(
        level=level,
        where=listed(pipe.name for pipe, _ in over),
        message=f"{seen}; {rated}",
        values=(
            (pressure, "pressure"),
            (pipe.rating or 0.0, "pressure"),
            (pipe.temperature, "temperature"),
        ),
        remedy=remedy,
        source=_rating_source(pipe.tube),
    )


def _worst(over: Over) -> tuple[PipePressure, float]:
    return max(over, key=lambda item: item[1] - (item[0].rating or 0.0))


def _when_it_fails(design: Design, then: Callable[[PipePressure], float | None]) -> Over:
    """Pipes that bear what stands in them in ordinary use, and not what comes when a part fails."""
    over = []
    for pipe in pipe_pressures(design):
        pressure, rating = then(pipe), pipe.rating
        if pressure is None or rating is None or pipe.at_lowest_height > rating + PRESSURE_SLACK:
            continue
        if 0.0 < rating < pressure - PRESSURE_SLACK:
            over.append((pipe, pressure))
    return over


@rule("stuck-switch", "fail", well=True)
def stuck_switch(design: Design) -> Iterator[Remark]:
    """Pipe that a pump which does not stop brings over its rating, relief valve or not."""
    over = _when_it_fails(design, lambda pipe: pipe.stuck_switch)
    filling = [item for item in over if item[0].index is None and design.house.source.filled_by]
    if filling:
        yield _rated_for_less(
            filling,
            "against a valve that is shut, or ice, the well's pump brings {0} there",
            "use tube of a higher rating, or let nothing shut between pump and open tank",
            "warn",
        )
    over = [item for item in over if item not in filling]
    if not over:
        return
    tank = design.house.source.tank
    relief = None if tank is None else tank.relief
    message = "a switch that sticks lets the pump bring {0} there"
    bears = min((pipe.rating or 0.0) - pipe.at_lowest_height for pipe, _ in over)
    opens = design.source.static_pressure + bears
    remedy = "use tube of a higher rating"
    if opens >= design.source.static_pressure + well_limit("relief-margin").value:
        remedy = (
            "fit a relief valve at the tank that passes all the pump gives and opens at {0} or "
            "below, or use tube of a higher rating"
        )
    if relief is None:
        message += ", as the file names no relief valve"
    elif relief < _worst(over)[1]:
        message += ", though the relief valve opens at {3}"
    else:
        message += ", before the relief valve opens at {3}"
    remark = _rated_for_less(over, message, remedy, "warn" if relief is None else "fail")
    yield replace(
        remark,
        values=(*remark.values, (relief or 0.0, "pressure")),
        remedy_values=((opens, "pressure"),),
    )


@rule("valve-failed", "warn")
def valve_failed(design: Design) -> Iterator[Remark]:
    """Pipe behind a reducing valve that bears no more than what the valve holds."""
    over = _when_it_fails(design, lambda pipe: pipe.failed_valve)
    if over:
        yield _rated_for_less(
            over,
            "should the reducing valve fail, {0} stands there",
            "fit a relief valve behind the reducing valve, or use tube that bears what comes to it",
        )


@rule("service-rating", "fail", well=True)
def service_rating(design: Design) -> Iterator[Remark]:
    """Buried service pipe of a lower rating than the American codes ask for, or, in Europe, than
    is usual there."""
    american = by_american_code(design)
    limit = code_limit("service-rating" if american else "service-rating-europe")
    rated_at = RATED_AT if american else RATED_AT_IN_EUROPE
    asks = "the code asks for at least {2} of buried service pipe"
    if not american:
        asks = "waterworks usually ask for pipe of {2} at least (PN 10)"
    for pipe in pipe_pressures(design):
        run = None if pipe.index is None else design.tree.links[pipe.index]
        service = (
            pipe.low_level is None
            if pipe.index is None
            else (
                isinstance(run, Run)
                and run.buried is not None
                and not run.embedded
                and is_service(design.tree, pipe.index)
            )
        )
        rating = pipe.tube.pressure_rating(pipe.size, rated_at)
        if service and rating is not None and rating < limit.value - RATING_SLACK:
            yield Remark(
                level=None if american else "warn",
                where=pipe.name,
                message=f"{pipe.tube.name} in {nominal_of(pipe.size, pipe.tube)} is rated for "
                f"{{0}} at {{1}}; {asks}",
                values=(
                    (rating, "pressure"),
                    (rated_at, "temperature"),
                    (limit.value, "pressure"),
                ),
                remedy="lay pipe of that rating or a higher one",
                source=published(limit.citation),
            )


@rule("distribution-rating", "warn")
def distribution_rating(design: Design) -> Iterator[Remark]:
    """Hot tube of a lower rating than the American codes ask for."""
    if not by_american_code(design):
        return
    limit = code_limit("distribution-rating")
    low: dict[str, list[RunResult]] = {}
    for result in design.runs:
        rating = result.tube.pressure_rating(result.size, HOT_RATED_AT)
        known = result.side == "hot" and result.tube.hot and rating is not None
        if known and (rating or 0.0) < limit.value - RATING_SLACK:
            low.setdefault(result.tube.name, []).append(result)
    for group in low.values():
        yield Remark(
            where=listed(result.run.name for result in group),
            message=f"no rating of {{0}} at {{1}} is published for {group[0].tube.name}, which the "
            "code asks of hot distribution pipe",
            values=((limit.value, "pressure"), (HOT_RATED_AT, "temperature")),
            remedy="use tube of that rating, or show the inspector the maker's listing",
            source=limit.citation,
        )


def _above_rated_heat(result: RunResult) -> float | None:
    """The highest temperature that the tube of a run bears, where its water is hotter [K]."""
    hottest = result.tube.max_temperature
    if result.temperature > hottest + TEMPERATURE_SLACK:
        return hottest
    rating = result.tube.pressure_rating(result.size, result.temperature)
    if rating is not None and rating <= 0.0:
        return (result.size.ratings or result.tube.ratings)[-1][0]
    return None


def _tank_rating_exceeded(design: Design) -> Iterator[Remark]:
    """A pressure tank whose rating is below the pressure at it when the pump stops."""
    source, at_far = design.house.source, "{0} stand at it when the pump stops"
    rating = source.tank.max_pressure if source.tank is not None else None
    tanks = [("pressure tank", rating, source.cut_out, "the pump stops at {0}")]
    if design.house.far_tanks:
        from supplycalc.supply.far_tank import far_tanks_of

        tanks += [
            (far.tank.name, far.tank.max_pressure, far.cut_out, at_far)
            for far in far_tanks_of(design.tree)
        ]
    for name, rating, cut_out, words in tanks:
        if rating is None or cut_out is None or cut_out <= rating + PRESSURE_SLACK:
            continue
        yield Remark(
            where=name,
            message=f"{words}; the tank is rated for {{1}}",
            values=((cut_out, "setting"), (rating, "setting")),
            remedy="lower the switch, or fit a tank of a higher rating, each with its relief valve",
            source=YOUR_FILE,
        )


def _too_hot(result: RunResult, hottest: float) -> Remark:
    return Remark(
        where=result.run.name,
        message=f"carries water of {{0}}; {result.tube.name} has a rating up to {{1}}",
        values=((result.temperature, "temperature"), (hottest, "temperature")),
        remedy="use tube that is rated for this temperature, or lower the water's temperature",
        source=_rating_source(result.tube),
    )


def _rating_source(tube: Tube) -> Citation | None:
    return published(tube.citations.get("ratings", YOUR_FILE))
