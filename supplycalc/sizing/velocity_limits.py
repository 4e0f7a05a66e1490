"""How fast water may run in a run: by the user, by the method's own book, or by the tube's."""

from __future__ import annotations

from supplycalc.catalogue import Tube
from supplycalc.demand import by_the_american_codes
from supplycalc.model import Run
from supplycalc.network import Tree
from supplycalc.tables import OWN, Citation, limit


def fastest(tree: Tree, link: int, tube: Tube) -> tuple[float, Citation]:
    """The velocity that a run's water should not pass, and who says so.

    By a European book the use of the pipe decides, not its tube: several draw-offs share it, or it
    leads to one. A tube of the file's own keeps the limit that the file gives it.

    Returns:
        (limit [m/s], its source; `OWN` for the user's).

    Source: EN 806-3, 4.4; the tube's, as its family names it.
    """
    limits, hot = tree.house.limits, tree.side[link] == "hot"
    own = limits.velocity_hot if hot else limits.velocity_cold
    if own is not None:
        return own, OWN
    run = tree.links[link]
    assert isinstance(run, Run)
    temperature = tree.temperature[link]
    citation = tube.velocity_citation(temperature, hot)
    if citation == OWN or by_the_american_codes(tree.house):
        return tube.velocity_limit(temperature, hot), citation
    name = "velocity-shared" if run.fixture is None else "velocity-single"
    book = limit("demand_en806", name)
    return book.value, book.citation
