"""A rule is one record: its code, its level, the function that judges, and what that judges."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from msgspec import Struct

from supplycalc.demand import by_the_american_codes, method_record
from supplycalc.sizing.design import Design, Finding, Level
from supplycalc.tables import OWN, Citation, CodeLimit, limit

YOUR_FILE = OWN
"""The source of a limit that the user set."""
PRESSURE_SLACK = 0.01
"""[Pa] Differences below this are rounding."""
TEMPERATURE_SLACK = 0.05
"""[K] Far below what a thermometer or a mixed unit system can tell apart."""
Values = tuple[tuple[float, str], ...]
"""(SI value, dimension) of each mark of a sentence."""


class Remark(Struct, frozen=True, kw_only=True):
    """What a rule says of one place: a finding without its code, which only the rule knows."""

    where: str
    message: str
    """A sentence with values marked as `{0}`, `{1}`, … to be shown in the reader's units."""
    values: Values = ()
    remedy: str = ""
    remedy_values: Values = ()
    source: Citation | None = None
    """None: common practice, no source."""
    level: Level | None = None
    """Where it is not the rule's."""


def whole_design(design: Design) -> Design:
    """What most rules judge."""
    return design


class Rule(Struct, frozen=True, kw_only=True):
    """Everything that is declared of one code."""

    code: str
    """As it stands in JSON, such as "pressure-short"."""
    level: Level
    """Of its findings, where a remark says no other."""
    check: Callable[[Any], Iterable[Remark]]
    """Judges its subject; the docstring says what it looks for."""
    subject: Callable[[Design], Any]
    """What is judged; None where the design has no such thing."""
    well: bool
    """Whether it judges the well's equipment, so that the question about the well tells it too."""

    @property
    def judges(self) -> str:
        """What it looks for, in a sentence."""
        return (self.check.__doc__ or "").partition("\n")[0]

    def findings(self, subject: Any) -> Iterator[Finding]:
        """What it finds in its subject."""
        return map(self.finding, self.check(subject))

    def finding(self, remark: Remark) -> Finding:
        """A remark as a finding of this rule."""
        return Finding(
            level=remark.level or self.level,
            code=self.code,
            where=remark.where,
            message=remark.message,
            values=remark.values,
            remedy=remark.remedy,
            remedy_values=remark.remedy_values,
            source=remark.source,
        )


def rule(
    code: str,
    level: Level,
    *,
    subject: Callable[[Design], Any] = whole_design,
    well: bool = False,
) -> Callable[[Callable[[Any], Iterable[Remark]]], Rule]:
    """Make a function a rule.

    Args:
        level: of its findings, where a remark says no other.
        subject: what it judges: the design, or something found from it once for several rules.
        well: whether it judges the well's equipment.
    """

    def made(check: Callable[[Any], Iterable[Remark]]) -> Rule:
        return Rule(code=code, level=level, check=check, subject=subject, well=well)

    return made


def finding_limit(name: str) -> CodeLimit:
    """A limit of findings_limits.toml by its name, in SI."""
    return limit("findings_limits", name)


def limit_by_book(design: Design, name: str, file: str = "findings_limits") -> CodeLimit:
    """A limit by the project's own book: its method's, else the European rule or the American one.

    Args:
        name: such as "expansion-control"; the European rule is called the same with "-europe".
        file: the data file that has both.
    """
    method = method_record(design.demand.method)
    if name in method.tables.get("limit", {}):
        return method.limit(name)
    return limit(file, name if by_american_code(design) else f"{name}-europe")


def by_american_code(design: Design) -> bool:
    """Whether limits of the American codes apply: by the project's method, else by its units."""
    return by_the_american_codes(design.house)


def published(citation: Citation) -> Citation | None:
    """The citation, or None where it only says that there is none."""
    return None if citation.check == "common practice" else citation
