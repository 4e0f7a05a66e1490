"""Hot water: too hot at an outlet, valves that guard against scalding, bacteria in storage."""

from __future__ import annotations

import functools
from collections.abc import Iterator

from supplycalc.catalogue import BATHING
from supplycalc.demand import method_record
from supplycalc.findings.rule import (
    TEMPERATURE_SLACK,
    YOUR_FILE,
    Remark,
    by_american_code,
    finding_limit,
    limit_by_book,
    rule,
)
from supplycalc.findings.words import is_are, listed
from supplycalc.model import Device, Run
from supplycalc.sizing.design import Design, Level, OutletResult
from supplycalc.tables import Citation, citation_of, code_limit, kelvin, load_table, to_si
from supplycalc.units.quantities import Length

BIDET = "bidet"
SHOWERS = ("tub-shower", "shower")
PROTECTED = ("pressure-balanced", "thermostatic")


@rule("scald", "warn")
def scald(design: Design) -> Iterator[Remark]:
    """Water hotter than the limit at outlets that people use and no mixing device guards."""
    hot = design.house.water.hot
    own = design.house.limits.max_hot
    open_outlets = list(_unmixed(design))
    if own is not None and hot > own + TEMPERATURE_SLACK and open_outlets:
        yield _scald(design, "fail", open_outlets, own, YOUR_FILE)
        return
    if not by_american_code(design):
        yield from _scald_in_europe(design, open_outlets)
        return
    book = method_record(design.demand.method)
    limit = book.limit("scald")
    bidets = [outlet for outlet in open_outlets if outlet.fixture.kind == BIDET]
    bidet_limit = book.limit("bidet-hot")
    if hot > bidet_limit.value + TEMPERATURE_SLACK:
        unguarded = [outlet for outlet in bidets if outlet.fixture.valve not in PROTECTED]
        if unguarded:
            yield _scald(design, "warn", unguarded, bidet_limit.value, bidet_limit.citation)
    if hot <= limit.value + TEMPERATURE_SLACK:
        return
    # a valve that the file does not name guards nobody
    others = [outlet for outlet in open_outlets if outlet.fixture.kind != BIDET]
    unguarded = [outlet for outlet in others if outlet.fixture.valve not in PROTECTED]
    bathing = [outlet for outlet in unguarded if outlet.fixture.kind in BATHING]
    other = [outlet for outlet in unguarded if outlet.fixture.kind not in BATHING]
    if bathing:
        yield _scald(design, "warn", bathing, limit.value, limit.citation)
    if other:
        yield _scald(design, "note", other, limit.value, scald_times()[0][2], advised="at taps")


def _scald_in_europe(design: Design, open_outlets: list[OutletResult]) -> Iterator[Remark]:
    """A heater of 60 degC is advised there, so that only hotter water is warned of."""
    usual = finding_limit("stored-hot-europe")
    hot = design.house.water.hot
    if hot <= code_limit("scald").value + TEMPERATURE_SLACK:
        return
    unguarded = [outlet for outlet in open_outlets if outlet.fixture.valve not in PROTECTED]
    if unguarded and hot > usual.value + TEMPERATURE_SLACK:
        yield _scald(design, "warn", unguarded, usual.value, usual.citation, advised="for a heater")
    elif unguarded:
        at, time, _ = next(row for row in reversed(scald_times()) if row[0] <= hot + 0.1)
        advised = hot >= usual.value - TEMPERATURE_SLACK
        why = ", as a heater should hold it against bacteria" if advised else ""
        yield Remark(
            level="note",
            where=listed(sorted({outlet.fixture.name for outlet in unguarded})),
            message=f"hot water comes at {{0}}{why}; at {{1}} "
            f"it burns an adult deeply within {time}, a child sooner",
            values=((hot, "temperature"), (at, "temperature")),
            remedy="fit thermostatic mixers where people bathe; where one is fitted, name it in "
            "the file (valve)",
            source=usual.citation,
        )


@rule("shower-valve", "warn")
def shower_valve(design: Design) -> Iterator[Remark]:
    """A plain mixing valve at a shower: its temperature jumps when another outlet opens."""
    american = by_american_code(design)
    plain = [
        outlet.fixture.name
        for outlet in design.outlets
        if outlet.side == "hot"
        and outlet.fixture.kind in SHOWERS
        and _valve_of(design, outlet) not in PROTECTED
    ]
    if plain:
        yield Remark(
            where=listed(sorted(plain)),
            message=(
                f"{is_are(plain, 'has', 'have')} a plain valve: when cold pressure drops elsewhere "
                "the shower turns hot at once"
            ),
            remedy="fit a pressure-balanced or thermostatic valve"
            + (", as the codes require" if american else ""),
            source=limit_by_book(design, "protected-shower-valve").citation if american else None,
        )


@rule("hot-length", "fail")
def hot_length(design: Design) -> Iterator[Remark]:
    """More hot pipe than the residential code lets stand between heater and outlet."""
    row = load_table("hot_water")["limit"]["length-residential"]
    limit = to_si(row["value"], row["unit"])
    if design.demand.method == "upc" or not by_american_code(design):
        return  # whose books set no such length
    far = [
        (length, outlet.name)
        for outlet in design.outlets
        if outlet.side == "hot" and (length := _from_hot_source(design, outlet)) > limit
    ]
    if far:
        far.sort(reverse=True)
        yield Remark(
            where=listed(name for _, name in far),
            message="{0} of pipe from the heater; the residential code ends hot pipe at {1}",
            values=((far[0][0], "length"), (limit, "length")),
            remedy="a heater nearer by, or pipe that is kept hot: see 'supplycalc hot'",
            source=citation_of(row),
        )


def _from_hot_source(design: Design, outlet: OutletResult) -> Length:
    """Pipe between an outlet and the heater, or the end of pipe that is kept hot."""
    tree, length = design.tree, 0.0
    for i in reversed(tree.path(outlet.index)):
        link = tree.links[i]
        if isinstance(link, Run):
            if link.circulated:
                break
            length += link.length
        elif isinstance(link, Device) and tree.catalogue.devices[link.kind].hot:
            break
    return length


@rule("stored-hot", "note")
def stored_hot(design: Design) -> Iterator[Remark]:
    """Water stored in a tank heater below the temperature that hinders bacteria."""
    american = by_american_code(design)
    limit = code_limit("stored-hot") if american else finding_limit("stored-hot-europe")
    hot = design.house.water.hot
    tanks = design.devices_that("stores")
    if tanks and hot < limit.value - TEMPERATURE_SLACK:
        yield Remark(
            where=listed(tanks),
            message=(
                "water kept at {0} scalds less, but bacteria that grow between {2} and {3} are "
                "killed reliably only from about {1} on"
            ),
            values=(
                (hot, "temperature"),
                (limit.value, "temperature"),
                (finding_limit("bacteria-grow-from").value, "temperature"),
                (finding_limit("bacteria-grow-to").value, "temperature"),
            ),
            remedy=(
                "where code and heater allow, store at {0} and mix down with a thermostatic valve "
                "before the outlets; flush what has stood"
            ),
            remedy_values=((limit.value, "temperature"),),
            source=limit.citation,
        )


@functools.cache
def scald_times() -> tuple[tuple[float, str, Citation], ...]:
    """(water temperature [K], time to a deep burn in words, source), coolest first."""
    table = load_table("findings_limits")["scald_time"]
    return tuple((kelvin(degf, "degF"), time, citation_of(table)) for degf, time in table["rows"])


def _scald(
    design: Design,
    level: Level,
    outlets: list[OutletResult],
    limit: float,
    source: Citation,
    advised: str = "",
) -> Remark:
    hot = design.house.water.hot
    names = sorted({outlet.fixture.name for outlet in outlets})
    times = [row for row in scald_times() if row[0] <= hot + TEMPERATURE_SLACK]
    message = "hot water comes at {0}; the limit is {1}"
    if advised:
        message = f"hot water comes at {{0}}, above the {{1}} advised {advised}"
    values = [(hot, "temperature"), (limit, "temperature")]
    if times:
        at, time, _ = times[-1]
        message += f"; at {{2}} it burns an adult deeply within {time}, a child sooner"
        values.append((at, "temperature"))
    return Remark(
        level=level,
        where=listed(names),
        message=message,
        values=tuple(values),
        remedy=(
            "limit it with a thermostatic valve at the outlet or a mixing valve behind the heater, "
            "set and tested on site; where one is fitted, name it in the file (valve)"
        ),
        source=source,
    )


def _unmixed(design: Design) -> Iterator[OutletResult]:
    """Hot outlets that people touch and no mixing device stands before."""
    tree = design.tree
    for outlet in design.outlets:
        touched = outlet.side == "hot" and tree.kind_of(outlet.fixture).mixed
        if touched and tree.device_before(outlet.index, "mixes") is None:
            yield outlet


def _valve_of(design: Design, outlet: OutletResult) -> str:
    """The kind of valve at an outlet: the file's, else the usual one of its kind of fixture."""
    return outlet.fixture.valve or design.tree.kind_of(outlet.fixture).valves[0]
