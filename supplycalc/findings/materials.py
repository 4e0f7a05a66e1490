"""Tube where it must not be: hot water, heat and pressure beyond its rating, at a heater."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.rule import (
    PRESSURE_SLACK,
    TEMPERATURE_SLACK,
    YOUR_FILE,
    Remark,
    finding_limit,
    published,
    rule,
)
from supplycalc.findings.words import listed, size_of
from supplycalc.model import Run
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import Citation


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
    wrong: list[str] = []
    for device in design.devices:
        if not tree.catalogue.devices[device.device.kind].hot:
            continue
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
    """Pressure at rest over the rating of a tube or of the tank, or water hotter than it may be."""
    for result in design.runs:
        hottest = result.tube.max_temperature
        if result.temperature > hottest + TEMPERATURE_SLACK:
            yield _too_hot(result, hottest)
            continue
        rating = result.tube.pressure_rating(result.size, result.temperature)
        if rating is None:
            continue
        if rating <= 0.0:
            yield _too_hot(result, (result.size.ratings or result.tube.ratings)[-1][0])
            continue
        highest = result.static_end_pressure + max(-result.static_gain, 0.0)
        if highest > rating + PRESSURE_SLACK:
            yield Remark(
                where=result.run.name,
                message=(
                    f"with nothing running {{0}} stands at its lowest end; {result.tube.name} in "
                    f"{size_of(result)} is rated for {{1}} at {{2}}"
                ),
                values=(
                    (highest, "pressure"),
                    (rating, "pressure"),
                    (result.temperature, "temperature"),
                ),
                remedy="use tube of a higher rating, or reduce the pressure before it",
                source=_rating_source(result),
            )
    yield from _tank_rating_exceeded(design)


def _tank_rating_exceeded(design: Design) -> Iterator[Remark]:
    """A pressure tank whose rating is below the cut-out pressure."""
    source = design.house.source
    rating = source.tank.max_pressure if source.tank is not None else None
    if rating is None or source.cut_out is None or source.cut_out <= rating + PRESSURE_SLACK:
        return
    yield Remark(
        where="pressure tank",
        message="the pump stops at {0}; the tank is rated for {1}",
        values=((source.cut_out, "pressure"), (rating, "pressure")),
        remedy="lower the switch, or fit a tank of a higher rating, each with its relief valve",
        source=YOUR_FILE,
    )


def _too_hot(result: RunResult, hottest: float) -> Remark:
    return Remark(
        where=result.run.name,
        message=f"carries water of {{0}}; {result.tube.name} has a rating up to {{1}}",
        values=((result.temperature, "temperature"), (hottest, "temperature")),
        remedy="use tube that is rated for this temperature, or lower the water's temperature",
        source=_rating_source(result),
    )


def _rating_source(result: RunResult) -> Citation | None:
    return published(result.tube.citations.get("ratings", YOUR_FILE))
