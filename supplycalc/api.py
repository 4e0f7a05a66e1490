"""The public names, each one plain call; nothing here prints.

A house is what `load` returns, perhaps changed since; prices are what `load_prices` returns. Demand
method and unit system are the file's where none is given, and all numbers are in SI. Every call
raises `InputError` for what is wrong with what it is given, with the nearest right word, and
`ComputationError` where no trustworthy result can be computed. A study is imported when it is
called, so that `size` does not wait for the others.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import msgspec.structs

from supplycalc.demand import known_method
from supplycalc.problems import InputError, Place, Problem, within
from supplycalc.questions.size import study as size_study
from supplycalc.reading import load as load
from supplycalc.reading import loads as loads
from supplycalc.records.data import unit_system
from supplycalc.records.fields import hint_of, measure_of
from supplycalc.units import NotAQuantity, parse

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from concurrent.futures import Executor

    from supplycalc.model import House
    from supplycalc.questions.batch.study import Batch
    from supplycalc.questions.check.study import SupplyCheck
    from supplycalc.questions.commission.study import CommissionStudy
    from supplycalc.questions.compare.study import Comparison
    from supplycalc.questions.day.result import Day
    from supplycalc.questions.demand.study import DemandComparison
    from supplycalc.questions.flow.study import FlowStudy
    from supplycalc.questions.gauge.study import GaugeStudy
    from supplycalc.questions.hot.study import HotStudy
    from supplycalc.questions.layout.study import LayoutStudy
    from supplycalc.questions.parts.parts_list import PartsList
    from supplycalc.questions.risk.study import Risk
    from supplycalc.questions.slab.study import SlabStudy
    from supplycalc.questions.surge.study import SurgeStudy
    from supplycalc.questions.well.study import WellCheck
    from supplycalc.reading.prices import PriceList
    from supplycalc.sizing.design import Design

Record = TypeVar("Record", bound="msgspec.Struct")


def size(
    house: House,
    method: str | None = None,
    *,
    prices: PriceList | None = None,
    daily: bool = True,
    confidence: float | None = None,
) -> Design:
    """Choose every open size at least cost, and judge the design.

    Args:
        prices: as `load_prices` returns it; None: the least mass of pipe.
        daily: whether to add the second verdict, `.daily_use`, and how sure it is, `.certainty`.
        confidence: part of the cases within the file's ranges for which sizes are to suffice, such
            as 0.95; None: they are chosen for the middle of each range.

    Returns:
        The design: `.ok`, `.worst`, `.runs`, `.outlets`, `.findings`, `.to_dict()`.

    Raises:
        InputError: there is no such method, or no price for what the file fixes.

    Examples:
        >>> import supplycalc as sc
        >>> house = sc.load("scenarios/ridge-cottage.toml")
        >>> design = sc.size(house)
        >>> design.worst.name
        'upstairs bath (hot)'
        >>> [run.nominal for run in design.runs if run.name == "service"]
        ['1-1/4']
        >>> sc.compare(house, run="service", sizes=["1", "1-1/4"]).cheapest.size
        '1-1/4'
    """
    within("confidence", confidence, 0.5, 0.999)
    return size_study.size(
        house, known_method(method), prices=prices, daily=daily, confidence=confidence
    )


def replace(record: Record, **values: Any) -> Record:
    """The same house, run, source or any other record with some values changed.

    Records are frozen; this is how one value of a house is changed. Where Python has
    `copy.replace` (3.13), that does the same.

    Args:
        record: a house or any record within it.
        values: field -> new value, in SI.

    Returns:
        A new record.

    Raises:
        TypeError: there is no such field, or a quantity is not a number.
    """
    for name, value in values.items():
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if value is not None and not is_number and measure_of(hint_of(type(record), name)):
            raise TypeError(f"{name} is a number in SI units, not {value!r}")
    return msgspec.structs.replace(record, **values)


def check(house: House) -> SupplyCheck:
    """The supply as read, and what the file leaves out; nothing is sized.

    Returns:
        Its links from the source down: `.links`, `.assumptions`, `.to_dict()`.
    """
    from supplycalc.questions.check import study

    return study.check(house)


def draw(
    house: House,
    form: str = "svg",
    *,
    phone: bool = False,
    units: str | None = None,
    method: str | None = None,
) -> str | bytes:
    """Draw the supply as a riser diagram.

    Args:
        form: "svg", which is text, or "png" or "pdf", which are bytes.
        phone: whether it is narrow, for a phone held upright.

    Returns:
        What a file of that form holds.

    Raises:
        InputError: there is no such form, method or unit system.
    """
    from supplycalc.questions.draw.pictures import as_file
    from supplycalc.questions.draw.study import supply_drawing

    if form not in ("svg", "png", "pdf"):
        valid = ("svg", "png", "pdf")
        message = f"{form!r} is no form of a picture"
        raise InputError([Problem(place=Place("draw"), message=message, value=form, valid=valid)])
    drawn = supply_drawing(size_study.size(house, known_method(method), daily=True))
    return as_file(drawn, unit_system(house, units), f".{form}", phone=phone)


def load_prices(path: str | Path, house: House | None = None) -> PriceList:
    """Read a price list from a TOML file.

    Args:
        path: of the file.
        house: whose own tubes and fittings may have prices; None: the shipped ones alone.

    Returns:
        The price list, checked.

    Raises:
        InputError: everything that is wrong with the file, in file order.
    """
    from supplycalc.reading import prices

    return prices.load_prices(path, None if house is None else house.catalogue)


def hot(
    house: House,
    *,
    factor: float | None = None,
    draws: Mapping[str, float] | None = None,
    method: str | None = None,
) -> HotStudy:
    """Find how long every outlet waits for hot water, and what would bring it sooner.

    Args:
        factor: water drawn before it is hot over the pipe's volume; None takes the usual one.
        draws: fixture -> draws of hot water a day [1/d].

    Returns:
        The study: `.outlets`, `.thinner`, `.kept_hot`, `.findings`, `.to_dict()`.

    Raises:
        InputError: there is no hot outlet, an unknown one, or a number out of range.
    """
    from supplycalc.questions.hot import study

    within("factor", factor, 1.0, 5.0)
    for number in (draws or {}).values():
        within("draws", number, 0.0, 1000.0)
    return study.hot_water(house, factor=factor, draws=draws, method=known_method(method))


def parts(
    house: House,
    *,
    prices: PriceList | None = None,
    waste: float | None = None,
    method: str | None = None,
) -> PartsList:
    """List what to buy.

    Args:
        waste: share added to every run; None takes the usual one.

    Returns:
        The list: `.items`, `.lots`, `.total`, `.unpriced`, `.to_dict()`; lengths in SI.
    """
    from supplycalc.questions.parts import study

    within("waste", waste, 0.0, 1.0)
    return study.parts(house, prices=prices, waste=waste, method=known_method(method))


def compare(
    house: House,
    *,
    run: str | None = None,
    sizes: Sequence[str] = (),
    materials: Sequence[str] = (),
    cut_in: Sequence[str | float] = (),
    residual: Sequence[str | float] = (),
    method: str | None = None,
) -> Comparison:
    """Size the same house with each choice, side by side.

    Args:
        run: a run, a fixture or a group.
        sizes: nominal sizes to try for it.
        materials: tubes to try for it.
        cut_in: cut-in pressures of a well, as text with a unit or as a number [Pa gauge].
        residual: residual pressures of a main, likewise [Pa gauge].

    Returns:
        The options in order; `.to_dict()` as `supplycalc compare --json` prints it.

    Raises:
        InputError: an unknown run, size or material, or a setting that does not fit the source.
    """
    from supplycalc.questions.compare import study

    return study.compare(
        house,
        run=run,
        sizes=sizes,
        materials=materials,
        cut_in=[_pressure(value) for value in cut_in],
        residual=[_pressure(value) for value in residual],
        method=known_method(method),
    )


def flow(
    house: House,
    open: Sequence[str],  # noqa: A002 - the word that people use
    *,
    disturbed: bool = False,
    at_once: int = 2,
    method: str | None = None,
) -> FlowStudy:
    """Find what really comes out when these outlets are open.

    Args:
        open: names of fixtures, such as "bath", "bath@50%" or "basin (hot)".
        disturbed: whether to open every other outlet in turn beside the first.
        at_once: how many of the others may run at once in the worst set.

    Returns:
        What comes out: `.outlets`, `.cases`, `.findings`, `.to_dict()`.

    Raises:
        InputError: nothing is open, or an unknown fixture.
    """
    from supplycalc.questions.flow import study

    within("at_once", at_once, 1, 12)
    return study.flow(
        house, tuple(open), disturbed=disturbed, at_once=at_once, method=known_method(method)
    )


def gauge(house: House, method: str | None = None) -> GaugeStudy:
    """Compare what was read in a house, `house.readings`, with what its file says.

    Returns:
        The study: `.pressures`, `.flows`, `.explanations`, `.next`, `.to_read`, `.findings`.

    Raises:
        InputError: a reading for which no state of the house can be computed.
    """
    from supplycalc.questions.gauge import study

    return study.gauge(house, known_method(method))


def compare_demand(
    house: House, *, run: str | None = None, methods: Sequence[str] = ()
) -> DemandComparison:
    """Size a house by every demand method, side by side at one run.

    Args:
        run: the run to look at; None takes the first from the source.
        methods: which methods; empty takes all, the file's own always among them.

    Returns:
        One result per method: `.methods`, `.own`, `.table`, `.to_dict()`.

    Raises:
        InputError: an unknown run or method.
    """
    from supplycalc.questions.demand import study

    return study.compare_demand(house, run=run, methods=methods)


def layout(
    house: House, method: str | None = None, *, prices: PriceList | None = None
) -> LayoutStudy:
    """Compare home runs, submanifolds and trunks, and find where the manifold should stand.

    Args:
        prices: as `load_prices` returns it; None: what costs least is told by mass of pipe.

    Returns:
        The study: `.options`, `.chosen`, `.places`, `.to_dict()`.

    Raises:
        InputError: positions are missing, or a place cannot be reached by pipe.
    """
    from supplycalc.questions.layout import study

    return study.layout(house, known_method(method), prices)


def write(house: House, remark: str = "") -> str:
    """Write a house as the text of an input file.

    Args:
        remark: first lines, as comments.

    Returns:
        TOML that `loads` reads as the same house.

    Raises:
        InputError: the house, changed since it was read, is none that a file may describe.
    """
    from supplycalc.reading import writing

    return writing.write(house, remark)


def report(
    house: House,
    *,
    prices: PriceList | None = None,
    units: str | None = None,
    method: str | None = None,
) -> str:
    """Put every answer on one page.

    Returns:
        The text of an HTML file that needs nothing beside it.

    Raises:
        InputError: there is no such method or unit system, or no price for what the file fixes.
    """
    from supplycalc.questions.report import document, study

    system = unit_system(house, units)
    return document.page_of(study.report(house, known_method(method), prices=prices), system)


def slab(house: House, method: str | None = None) -> SlabStudy:
    """Tell what the pour or the backfill locks in, and what can still be added later.

    Returns:
        The study: `.runs`, `.surprises`, `.checklist`, `.tests`, `.to_dict()`.
    """
    from supplycalc.questions.slab import study

    return study.slab(house, known_method(method))


def surge(house: House, method: str | None = None) -> SurgeStudy:
    """Tell what a quick valve or a stopping pump does to each pipe, and what cures it.

    Returns:
        The study: `.valves`, `.cures`, `.pipes`, `.pump`, `.findings`, `.to_dict()`.
    """
    from supplycalc.questions.surge import study

    return study.surge(house, known_method(method))


def commission(house: House, method: str | None = None) -> CommissionStudy:
    """Tell what is done before anyone drinks: test, flushing, chlorine, expansion, settings.

    Returns:
        The study: `.tested`, `.water`, `.disinfections`, `.expansions`, `.settings`, `.to_dict()`.
    """
    from supplycalc.questions.commission import study

    return study.commission(house, known_method(method))


def well(
    house: House,
    *,
    people: int | None = None,
    storage: bool = False,
    outage: float = 0.0,
    reserve: float = 0.0,
    years: int = 3,
    method: str | None = None,
) -> WellCheck:
    """Check pump, well, switch and tanks of a house with a supply of its own.

    Args:
        people: who live there; None takes the file's number.
        storage: whether to size an open tank even where the well keeps up.
        outage: time without a pump that it must bear [s].
        reserve: kept in it for fire [m3].
        years: how many to draw for its size.

    Returns:
        The check: `.holds`, `.points`, `.tank`, `.well`, `.storage`, `.switches`, `.findings`.

    Raises:
        InputError: the house stands on a main, or there is no such method.
    """
    from supplycalc.chance.tank_needed import StorageWish
    from supplycalc.questions.well.study import well_check

    within("people", people, 1, 1000)
    within("years", years, 1, 100)
    asked = storage or outage > 0.0 or reserve > 0.0
    wish = StorageWish(asked=asked, years=years, outage=outage, reserve=reserve)
    return well_check(size_study.size(house, known_method(method)), people, wish)


def day(
    house: House,
    *,
    days: int = 1,
    seed: int | None = None,
    people: int | None = None,
    waterlogged: bool = False,
    method: str | None = None,
) -> Day:
    """Run a house through its draws, event by event.

    Args:
        days: how many.
        seed: of random days; None takes the file's schedule, or seed 1 where it has none.
        people: for random days; None takes the file's number.
        waterlogged: whether the tank has lost its air charge.

    Returns:
        What happened: `.water`, `.pump`, `.fixtures`, `.findings`, `.to_dict()`.

    Raises:
        InputError: pump or tank are not known well enough, or there is no such method.
    """
    from supplycalc.questions.day.study import day

    within("days", days, 1, 100_000)
    within("people", people, 1, 1000)
    return day(
        size_study.size(house, known_method(method)),
        days=days,
        seed=seed,
        people=people,
        waterlogged=waterlogged,
        keep_days=days,
    )


def risk(
    house: House,
    *,
    draws: int = 4096,
    seed: int = 1,
    prices: PriceList | None = None,
    method: str | None = None,
) -> Risk:
    """Say how sure a house is within what its file knows, and what to measure first.

    Args:
        draws: how many.
        seed: the same gives the same answer.
        prices: as `load_prices` returns it; None: the least mass of pipe.

    Returns:
        The study: `.certainty`, `.fixtures`, `.weights`, `.well`, `.to_dict()`.
    """
    from supplycalc.questions.risk import study

    within("draws", draws, 64, 1 << 20)
    return study.risk(house, known_method(method), draws=draws, seed=seed, prices=prices)


def batch(
    files: Sequence[str | Path],
    *,
    variants: str | Path | None = None,
    fixed: bool = False,
    method: str | None = None,
    executor: Executor | None = None,
    keep: str | Path | None = None,
) -> Batch:
    """Size many houses, or one house in many variants; no remedies are looked for.

    Args:
        files: of houses; with variants the one house.
        variants: table (CSV) whose columns are fields, such as run.service.length.
        fixed: whether all variants have the sizes of the house as it is.
        method: demand method; None takes each file's.
        executor: any `concurrent.futures.Executor`, such as that of a cluster; None: this process.
        keep: file in which finished pieces are kept, so that a stopped batch goes on from there.

    Returns:
        `.rows` in the order of the files or variants, `.skipped`, `.to_dict()`.

    Raises:
        InputError: there is no house, or the table of variants is wrong.
    """
    from supplycalc.questions.batch import study

    return study.batch(
        files,
        variants=variants,
        fixed=fixed,
        method=known_method(method),
        executor=executor,
        keep=None if keep is None else Path(keep),
    )


def _pressure(value: str | float) -> float:
    try:
        return parse(value, "pressure") if isinstance(value, str) else float(value)
    except NotAQuantity as error:
        raise InputError([Problem(place=Place("compare"), message=error.reason)]) from None
