"""Pipe that is there in a size that nobody knows: the verdict for the least and the largest."""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace

from supplycalc.model import House, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.records.sentences import LEVELS, Finding, Level
from supplycalc.sizing.design import UNKNOWN_SIZE, Design


def with_unknown_sizes(design: Design, size: Callable[[House], Design]) -> Design:
    """Say how far a verdict depends on pipe of unknown size, which it takes as small as may be.

    Returns:
        The design with a finding: in both sizes, in none, or from which size on.

    How: by sizing with each size that the pipe may have, all such runs alike, up to the first that
        works; the largest is always tried.
    """
    unknown = [result for result in design.every_run if result.run.existing and not result.run.size]
    if not unknown:
        return design
    steps = max(len(_may_be(design.house, result.run)) for result in unknown)
    least, most = _words(design.house, unknown[0].run, 0), _words(design.house, unknown[0].run, -1)
    names = ", ".join(result.run.name for result in unknown)
    which = "the least size" if len(unknown) > 1 else least
    largest = size(_of_step(design.house, steps - 1))
    level: Level = "warn"
    only_if = ""
    verb = "is" if len(unknown) == 1 else "are"
    if design.ok and largest.ok:
        level = "note"
        text = f"{verb} of unknown size; works in both, {least} and {most}: computed with {which}"
    elif not largest.ok and not design.ok:
        text = f"{verb} of unknown size; fails in both, {least} and {most}: computed with {which}"
    elif design.ok:
        text = (
            f"{verb} of unknown size; works only if not as large as {most}: computed with {which}"
        )
    else:
        step = next(i for i in range(1, steps) if size(_of_step(design.house, i)).ok)
        from_size = _words(design.house, unknown[0].run, step)
        text = f"{verb} of unknown size; works only if {from_size} or larger: computed with {which}"
        only_if = (
            f"{names} {verb} {from_size} or larger, which nobody knows yet; as {which} it fails"
        )
    finding = Finding(
        level=level,
        code=UNKNOWN_SIZE,
        where=names,
        message=text,
        remedy="measure around the pipe and compare with the outside diameters of its kind",
    )
    findings = sorted((*design.findings, finding), key=lambda finding: LEVELS.index(finding.level))
    return replace(design, findings=tuple(findings), works_only_if=only_if)


def _may_be(house: House, run: Run) -> tuple[str, ...]:
    """The sizes that a run may have, ascending."""
    if run.sizes:
        return run.sizes
    return tuple(size.nominal for size in house.catalogue.tubes[run.material].sizes if size.common)


def _of_step(house: House, step: int) -> House:
    """The house with every run of unknown size in its size of this number, or its largest."""

    def each(run: Run) -> Run:
        if not run.existing or run.size is not None:
            return run
        sizes = _may_be(house, run)
        return replace(run, size=sizes[min(step, len(sizes) - 1)])

    return map_runs(house, each)


def _words(house: House, run: Run, step: int) -> str:
    sizes = _may_be(house, run)
    nominal = sizes[-1 if step < 0 else min(step, len(sizes) - 1)]
    return nominal if house.catalogue.tubes[run.material].metric else f"{nominal} inch"
