"""The same house with each choice for one run or group, and with each setting of the source."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any, ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import Catalogue, is_inch_size
from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.problems import ComputationError, InputError, Place, Problem
from supplycalc.questions.size.study import size as size_house
from supplycalc.reading.runs import nominal_size
from supplycalc.reading.synonyms import meant_by
from supplycalc.records import Form, Result, fields_to_data, to_data
from supplycalc.records.sentences import CITED, amount
from supplycalc.sizing.changes import raise_switch
from supplycalc.sizing.design import THIN_MARGIN, Design, LineDesign, RunResult, cost_data
from supplycalc.sizing.line import SAME_FLOW
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import Pressure, Setting, Velocity

MOST_OPTIONS = 200
MOST_PRESSURE = 1e7
"""[Pa] As in a file: beyond it a unit went wrong."""


class ComparedOption(Struct, frozen=True, kw_only=True):
    """One choice, really sized; the runs it leaves open are chosen anew."""

    form: ClassVar[Form] = Form(omit=("design", "runs", "reason"), add=("ok", "verdict"))
    more_schema: ClassVar[dict[str, Any]] = {
        "worst": {"type": ["object", "null"]},
        "runs": {"type": "array"},
        "cost": {"type": ["object", "null"]},
        "findings": {"type": "array"},
    }

    size: str | None
    """Asked for; None: left to the solver."""
    material: str | None
    """Asked for; None: as in the file."""
    setting: Setting | None
    """Source setting asked for; None: as in the file."""
    design: Design | None
    """None where the choice does not exist; `reason` says why."""
    runs: tuple[RunResult, ...] = ()
    """The compared runs in this design."""
    reason: str = ""

    @property
    def margin(self) -> float:
        """Of the worst fixture [Pa]; minus infinity where the choice does not exist."""
        return -math.inf if self.design is None else self.design.worst.margin

    @property
    def ok(self) -> bool:
        """Whether the design exists and passes."""
        return self.design is not None and self.design.ok

    @property
    def line(self) -> LineDesign | None:
        """The line before the tank that the compared runs belong to."""
        names = {run.name for run in self.runs if run.before_tank}
        lines = () if self.design is None else self.design.lines
        return next((line for line in lines if names & {run.name for run in line.runs}), None)

    @property
    def velocity(self) -> Velocity | None:
        """Highest in the compared runs."""
        return max((run.velocity for run in self.runs), default=None)

    @property
    def loss(self) -> Pressure | None:
        """Highest of one compared run."""
        return max((run.loss for run in self.runs), default=None)

    @property
    def too_fast(self) -> tuple[RunResult, ...]:
        """Runs over their velocity limit: the compared ones, and those that an own choice has put
        there, as nothing is larger than what feeds it."""
        if not self.runs or self.design is None:
            return ()
        compared = {run.name for run in self.runs}
        return tuple(
            run
            for run in self.design.every_run
            if run.velocity > run.velocity_limit * (1 + 1e-9)
            and (run.name in compared or run.run.size is None)
        )

    def verdict(self, system: UnitSystem) -> str:
        """The option in a few words."""
        design = self.design
        if design is None:
            return self.reason
        if design.worst.margin < 0 and design.shortfall > 0:
            return f"FAILS, short by {amount(-design.worst.margin, system)}"
        fails = [finding for finding in design.findings if finding.level == "fail"]
        if fails:
            return f"FAILS, {fails[0].code.replace('-', ' ')}"
        words = ["works"]
        if design.worst.margin < THIN_MARGIN:
            words.append("thin margin")
        if self.too_fast:
            words.append("over velocity limit")
        return ", ".join(words)

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it: of its design only what tells the options apart."""

        def some(record: Struct, *keys: str) -> dict[str, Any]:
            data = to_data(record, system)
            return {key: data[key] for key in keys}

        design = self.design
        return {
            **fields_to_data(self, system),
            "worst": design
            and some(design.worst, "name", "side", "residual", "required", "margin"),
            "runs": [
                some(run, "name", "material", "size", "velocity", "velocity_limit", "loss")
                for run in self.runs
            ],
            "cost": design
            and {"total": cost_data(design.cost, design, system), "basis": design.cost_basis},
            "findings": [
                some(finding, "level", "code", "where", "message", *CITED)
                for finding in (design.findings if design else ())
            ],
        }


class Comparison(Result, frozen=True, kw_only=True):
    """Options side by side, in the order they were asked for."""

    schema: ClassVar[str] = "supplycalc-compare/1"
    form: ClassVar[Form] = Form(omit=("house", "by_material"), add=("best",))

    house: House
    subject: str | None
    """What is compared, as the user named it; None where only the source changes."""
    runs: tuple[str, ...]
    """Names of the compared runs."""
    setting: str | None
    """ "cut-in", "set pressure" or "residual": which source setting changes, if one does."""
    by_material: bool
    options: tuple[ComparedOption, ...]
    otherwise: ComparedOption | None = None
    """Where no size asked for works: the size that does, if the file or the family has one."""

    @property
    def ok(self) -> bool:
        """True when at least one option passes."""
        return any(option.ok for option in self.options)

    @property
    def before_tank(self) -> bool:
        """Whether runs before the tank are compared: their sizes change what the pump gives."""
        return any(run.before_tank for option in self.options for run in option.runs)

    @property
    def cheapest(self) -> ComparedOption | None:
        """The cheapest option that passes, or the lowest setting where only that changes."""
        return min(self._open_to_choice, key=_cost if self.runs else _setting, default=None)

    @property
    def _open_to_choice(self) -> list[ComparedOption]:
        """The options that pass; of runs before the tank, as `size` chooses them, only those that
        let the pump give what it should, where any does."""
        passing = [option for option in self.options if option.ok]
        wanted: dict[float | None, float] = {}
        for option in passing:
            if self.runs and option.line is not None and option.line.by_pump:
                most = max(wanted.get(option.setting, 0.0), option.line.wanted)
                wanted[option.setting] = most
        enough = [
            option
            for option in passing
            if option.line is None
            or option.line.flow * SAME_FLOW >= wanted.get(option.setting, 0.0)
        ]
        return enough or passing

    @property
    def best(self) -> int | None:
        """Where the cheapest option stands among them, from 0."""
        return None if self.cheapest is None else self.options.index(self.cheapest)

    @property
    def cheapest_unflawed(self) -> ComparedOption | None:
        """The cheapest option that passes and keeps the velocity limits, as `size` does."""
        unflawed = [option for option in self._open_to_choice if not option.too_fast]
        return min(unflawed, key=_cost, default=None)

    def label(self, option: ComparedOption, system: UnitSystem) -> str:
        """The choice in words, e.g. "service at 3/4 with cut-in 40.0 psi"."""
        text = self.subject or ""
        if option.material is not None:
            text += f" in {option.material}"
        if option.size is not None:
            text += f" at {option.size}{' inch' if is_inch_size(option.size) else ''}"
        if option.setting is not None:
            setting = f"{self.setting} {show(option.setting, 'setting', system)}"
            text = f"{text} with {setting}" if text else setting
        return text

    def answer(self, system: UnitSystem) -> str:
        """Which option to take, in one sentence."""
        best, clean = self.cheapest, self.cheapest_unflawed
        if best is None or best.design is None:
            other = self.otherwise
            if other is not None and other.design is not None:
                spare = amount(other.design.worst.margin, system)
                return (
                    f"None of these works; {self.label(other, system)} does, with {spare} to "
                    f"spare at {other.design.worst.name}."
                )
            return "None of these works; 'supplycalc size' says what would mend it."
        worst = best.design.worst
        spare = amount(worst.margin, system)
        least = "works"
        if len(self.options) > 1 and not self.runs:
            least = "is the lowest that works"
        elif len(self.options) > 1:
            least = "works and is the choice with least pipe"
            if any(option.ok and _cost(option) < _cost(best) for option in self.options):
                least += " that hardly throttles the pump"
        text = f"{self.label(best, system)} {least}, with {spare} to spare at {worst.name}"
        line = best.line
        if line is not None and line.by_pump:
            text += f"; the pump gives {show(line.flow, 'flow', system)} through it"
        if worst.margin < THIN_MARGIN:
            text += ", which is a thin margin"
            ample = [it for it in self._open_to_choice if it.margin >= THIN_MARGIN]
            if self.runs and ample:
                other = min(ample, key=_cost)
                text += f" ({self.label(other, system)} leaves {amount(other.margin, system)})"
        if best.too_fast:
            there = {run.name for run in best.too_fast} & {run.name for run in best.runs}
            where = "there" if there else f"in {best.too_fast[0].name}"
            text += f"; but water runs faster {where} than the limit"
            if clean is not None:
                text += f", which {self.label(clean, system)} keeps"
        return f"{text}."


def _setting(option: ComparedOption) -> float:
    return option.setting or 0.0


def _cost(option: ComparedOption) -> float:
    return math.inf if option.design is None else option.design.cost


def compare(
    house: House,
    *,
    run: str | None = None,
    sizes: Sequence[str] = (),
    materials: Sequence[str] = (),
    cut_in: Sequence[float] = (),
    residual: Sequence[float] = (),
    method: str | None = None,
) -> Comparison:
    """Size a house with every combination of the given choices.

    Args:
        run: a run, a fixture's branch, a fixture (both its branches) or a group.
        sizes: nominal sizes for it; with neither sizes nor materials nor a source setting, the
            sizes the file allows, or the whole family.
        cut_in: cut-in pressures of a well, cut-out moves along; of a constant-pressure pump the
            pressures that it is set to hold [Pa gauge].
        residual: residual pressures of a main, its static pressure moves along [Pa gauge].

    Returns:
        One option per combination: materials outermost, then sizes, then settings.

    Raises:
        InputError: an unknown run, size or material, a setting that does not fit the source, or
            too many combinations.
    """
    catalogue = house.catalogue
    problems: list[Problem] = []
    runs = _subject(house, run, bool(sizes or materials), problems)
    if not (run or cut_in or residual):
        problems.append(_problem("run", "nothing to compare: name a run, or a source setting"))
    _check_materials(materials, catalogue, problems)
    _check_source(house, cut_in, residual, problems)
    if problems:
        raise InputError(problems)
    if runs and not (sizes or materials or cut_in or residual):
        sizes = runs[0].sizes or _family(catalogue, runs[0].material)
    wanted = _sizes(runs, sizes, materials, catalogue)
    settings = tuple(cut_in or residual)
    choices = tuple(
        itertools.product(
            dict.fromkeys(materials) or (None,),
            dict.fromkeys(wanted) or (None,),
            dict.fromkeys(settings) or (None,),
        )
    )
    if len(choices) > MOST_OPTIONS:
        message = f"{len(choices)} combinations are too many; at most {MOST_OPTIONS}"
        raise InputError([_problem("compare", message)])
    options = tuple(
        _option(house, runs, material, size, setting, method) for material, size, setting in choices
    )
    if wanted:
        options = tuple(_as_chosen(options, size_house(house, method, mend=False)))
    otherwise = None
    if wanted and not (materials or settings) and not any(option.ok for option in options):
        otherwise = _otherwise(house, runs, method)
    return Comparison(
        house=house,
        subject=run,
        runs=tuple(compared.name for compared in runs),
        setting=("cut-in" if house.source.set_pressure is None else "set pressure")
        if cut_in
        else "residual"
        if residual
        else None,
        by_material=bool(materials),
        options=options,
        otherwise=otherwise,
    )


def _otherwise(house: House, runs: Sequence[Run], method: str | None) -> ComparedOption | None:
    """The runs' own choice of sizes, a fixed one opened, where that passes and is one size."""
    names = {run.name for run in runs}

    def opened(run: Run) -> Run:
        return replace(run, size=None) if run.name in names else run

    option = _option(map_runs(house, opened), runs, None, None, None, method)
    sizes = {run.nominal for run in option.runs}
    return replace(option, size=sizes.pop()) if option.ok and len(sizes) == 1 else None


def _problem(
    where: str, message: str, value: str = "", valid: Sequence[str] = (), meant: str = ""
) -> Problem:
    return Problem(
        place=Place(where), message=message, value=value, valid=tuple(valid), meant=meant
    )


def _subject(
    house: House, name: str | None, needed: bool, problems: list[Problem]
) -> tuple[Run, ...]:
    """The runs that a name means: a run, else a line's pieces, a group, a fixture's branches."""
    if name is None:
        if needed:
            message = "say which run the sizes or materials are for"
            problems.append(_problem("run", message, valid=[run.name for run in house.all_runs]))
        return ()
    tests: tuple[Callable[[Run], bool], ...] = (
        lambda run: run.name == name,
        lambda run: run.route == name,
        lambda run: run.group == name,
        lambda run: run.fixture == name,
    )
    for test in tests:
        meant = tuple(run for run in house.all_runs if test(run))
        if meant:
            groups = {run.group for run in meant if run.group is not None}
            return tuple(run for run in house.all_runs if run in meant or run.group in groups)
    words = [run.name for run in house.all_runs]
    words += [run.group for run in house.all_runs if run.group is not None]
    words += [fixture.name for fixture in house.fixtures]
    message = f"{name!r} is not a run, a fixture or a group of this file"
    problems.append(_problem("run", message, name, tuple(dict.fromkeys(words))))
    return ()


def _check_materials(
    materials: Sequence[str], catalogue: Catalogue, problems: list[Problem]
) -> None:
    for material in materials:
        if material not in catalogue.tubes:
            message = f"{material!r} is not a known tube"
            tubes = tuple(catalogue.tubes)
            meant = meant_by("tubes", material, tubes)
            problems.append(_problem("materials", message, material, tubes, meant))


def _check_source(
    house: House, cut_in: Sequence[float], residual: Sequence[float], problems: list[Problem]
) -> None:
    if cut_in and (house.source.kind != "well" or house.source.cut_in is None):
        message = "this supply has no pressure switch; a main's setting is its residual pressure"
        problems.append(_problem("cut-in", message))
    if residual and (house.source.kind != "main" or house.source.residual is None):
        message = "this supply is not a main with a residual pressure; a well's setting is cut-in"
        problems.append(_problem("residual", message))
    for value in (*cut_in, *residual):
        if not 0.0 < value <= MOST_PRESSURE:
            message = "a pressure to compare must be above zero and at most 1450 psi (10 MPa)"
            problems.append(_problem("compare", message))


def _family(catalogue: Catalogue, material: str) -> tuple[str, ...]:
    return tuple(size.nominal for size in catalogue.tubes[material].sizes)


def _sizes(
    runs: Sequence[Run], sizes: Sequence[str], materials: Sequence[str], catalogue: Catalogue
) -> tuple[str, ...]:
    """The asked sizes as the catalogue writes them; InputError for one that no family has."""
    families = list(dict.fromkeys(materials or [run.material for run in runs]))
    known = tuple(dict.fromkeys(size for name in families for size in _family(catalogue, name)))
    nominals, problems = [], []
    for text in sizes:
        size = nominal_size(text, known)
        if size is None:
            message = f"{text!r} is not a size of {' or '.join(families)}"
            problems.append(_problem("sizes", message, text, known))
        else:
            nominals.append(size)
    if problems:
        raise InputError(problems)
    return tuple(nominals)


def _option(
    house: House,
    runs: Sequence[Run],
    material: str | None,
    size: str | None,
    setting: float | None,
    method: str | None,
) -> ComparedOption:
    option = ComparedOption(size=size, material=material, setting=setting, design=None)
    names = {run.name for run in runs}
    for run in runs:
        family = material or run.material
        if size is not None and size not in _family(house.catalogue, family):
            return replace(option, reason=f"{family} is not made in {size}")

    def chosen(run: Run) -> Run:
        if run.name not in names:
            return run
        if material is not None and material != run.material:
            run = with_material(run, material, house.catalogue)
        return run if size is None else replace(run, size=size, sizes=(), minimum=None)

    changed = map_runs(house, chosen) if runs else house
    if setting is not None:
        changed = with_setting(changed, setting)
    try:
        design = size_house(changed, method, mend=False)
    except ComputationError as error:
        return replace(option, reason=str(error))
    compared = tuple(run for run in design.every_run if run.name in names)
    return replace(option, design=design, runs=compared)


def _as_chosen(options: Sequence[ComparedOption], design: Design) -> Iterator[ComparedOption]:
    """The options, one that asks for what sizing itself chooses shown with all of its sizes."""
    chosen = design.sizes
    for option in options:
        asked = option.size is not None and option.material is None and option.setting is None
        same = asked and option.runs and all(chosen[it.name] == option.size for it in option.runs)
        if same and design.shortfall <= 0.0:
            names = {run.name for run in option.runs}
            runs = tuple(run for run in design.every_run if run.name in names)
            option = replace(option, design=design, runs=runs)
        yield option


def with_material(run: Run, material: str, catalogue: Catalogue) -> Run:
    """The same run in another tube, joined the way that tube usually is.

    Sizes that the other family does not have are left to the solver; fittings that its way of
    joining does not have are replaced by the share of length that stands in for fittings.
    """
    tube, family = catalogue.tubes[material], _family(catalogue, material)
    joining = run.joining if run.joining in tube.joinings else tube.joinings[0]
    fittings = run.fittings
    if fittings is not None:
        kinds = catalogue.joinings[joining].kinds
        if any(kind not in kinds for kind, _ in fittings):
            fittings = None
    return replace(
        run,
        material=material,
        joining=joining,
        fittings=fittings,
        roughness=None,
        size=run.size if run.size in family else None,
        sizes=tuple(size for size in run.sizes if size in family),
        minimum=run.minimum if run.minimum in family else None,
    )


def with_setting(house: House, setting: float) -> House:
    """The house at another cut-in or residual pressure, the upper pressure moved along."""
    source = house.source
    if source.kind == "well":
        return raise_switch(house, setting - source.kept_pressure)
    rise = setting - (source.residual or 0.0)
    static = None if source.static is None else source.static + rise
    return replace(house, source=replace(source, residual=setting, static=static))
