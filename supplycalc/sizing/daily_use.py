"""The second verdict: what each fixture gets while people live in the house, as a record."""

from __future__ import annotations

from typing import ClassVar

from msgspec import Struct

from supplycalc.model import Side
from supplycalc.records import Form
from supplycalc.sizing.trials import few
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import Flow, Minutes, Pressure, Share, Time, Volume

LEAST_TOLD = 30.0
"""[s] a year below what it needs; less is told as none."""
LEAST_SHOWN = 3.0
"""[s] a year that a table in tenths of a minute still shows."""
SELDOM = 0.02
"""Share of its use below which a shortage is seldom, beside a peak at which it falls short."""


class ConnectionInUse(Struct, frozen=True, kw_only=True):
    """What one connection of a fixture gets while it runs; times are of a year."""

    form: ClassVar[Form] = Form(omit=("label",), add=("share_below",))

    name: str
    """Of the fixture."""
    label: str
    """With the side where it has two."""
    side: Side
    required: Pressure
    running: Minutes
    below: Minutes
    """With less than it requires."""
    dry: Minutes
    """Part of `below` with nothing arriving."""
    below_if_days_alike: Minutes
    """The same if every day were as busy as the mean one."""
    below_while_pump_gives_way: Minutes
    """Part of `below` while the tank stands below cut-in or at its end."""
    one_in_100: Pressure
    """Pressure that it has less than in 1 of 100 minutes of its use; never below 0."""
    one_in_1000: Pressure
    at_cut_in: Pressure
    """Pressure of 1 in 100 with the tank at cut-in all the time (a main: as it is)."""
    at_middle: Pressure
    """The same with the tank in the middle of the switch's band."""
    by_pump_alone: Pressure
    """The same with the tank at its end wherever more is drawn than the pump gives."""
    usual_flow: Flow
    """Half of the time it is more."""
    least_flow: Flow
    """It has less in 1 of 100 minutes of its use."""

    @property
    def share_below(self) -> Share:
        """Part of its use with less than it requires."""
        return self.below / self.running if self.running > 0.0 else 0.0


class DailyUse(Struct, frozen=True, kw_only=True):
    """A house in daily use, over a year."""

    form: ClassVar[Form] = Form(
        omit=("if_pump_keeps_up",),
        rename={"connections": "fixtures"},
        add=("tightest", "verdict"),
    )

    people: int
    people_assumed: bool
    connections: tuple[ConnectionInUse, ...]
    """The tightest first: by the time below what it needs, then by what is left in 1 of 1,000."""
    without_water: tuple[str, ...]
    """Fixtures at which nothing arrives even while they run alone."""
    flow_one_in_100: Flow
    """Of the whole house: drawn more in 1 of 100 minutes in which anything runs."""
    design_flow: Flow
    """By the demand method."""
    above_design_flow: Minutes
    """Time with more drawn than that."""
    code_shortfall: Pressure
    """By which the worst fixture falls short at the design flow; 0: none does."""
    drawn_a_day: Volume
    """In the mean."""
    well_gives_a_day: Volume | None
    """What the well sustains; None: there is none, or it is not known."""
    pump_gives_way: Minutes
    """Time with the tank below cut-in because more is drawn than the pump gives."""
    sets: int
    """Of uses that were solved together."""
    drawn_sets: int
    """Of them drawn at random, where there are too many to list."""
    error: Minutes
    """Time of `below` of the tightest that is not sure."""
    not_counted: tuple[str, ...] = ()
    """Fixtures short at the design flow of which no habit tells when they run, where the shortest
    is one."""
    for_hours: tuple[str, ...] = ()
    """Fixtures that may run for hours, which no habit tells of either."""
    if_pump_keeps_up: bool = False
    """Whether it is taken for granted that a well's pump does, as its curve is not known."""

    @property
    def tightest(self) -> str | None:
        """The connection that comes first."""
        return self.connections[0].label if self.connections else None

    @property
    def short(self) -> tuple[ConnectionInUse, ...]:
        """Connections that have less than they require for half a minute a year or more."""
        return tuple(each for each in self.connections if each.below >= LEAST_TOLD)

    def verdict(self, system: UnitSystem, *, brief: bool = False) -> str:
        """What daily use is like, and where the code's verdict differs, why, in short or not."""
        home = f"In daily use ({self.people} {'person' if self.people == 1 else 'people'})"
        if self.if_pump_keeps_up:
            home += ", if the pump keeps up,"
        if self.without_water and self.connections:
            names = " and ".join(self.without_water)
            verb = "gets" if len(self.without_water) == 1 else "get"
            return f"{home} {names} {verb} no water at all."
        if not self.connections:
            return f"{home} no fixture gets water."
        text = f"{home} {self._short(system) if self.short else self._enough(system)}"
        why = self._why(system)
        if brief and ":" in why:
            why = f"{why.partition(':')[0]}."
        more = (why, self._for_hours(), self._dry_well(system))
        return " ".join(filter(None, (text, *more)))

    def _for_hours(self) -> str:
        """What the verdict leaves out though it runs for hours; nothing where there is none."""
        left = [name for name in self.for_hours if name not in self.not_counted]
        if not left:
            return ""
        return f"That leaves out {few(left)}, open for hours: 'supplycalc day' counts it."

    def _dry_well(self, system: UnitSystem) -> str:
        """What is said where the well gives less than is drawn; nothing where it gives enough."""
        if self.well_gives_a_day is None or self.drawn_a_day <= self.well_gives_a_day:
            return ""
        drawn = show(self.drawn_a_day, "volume", system)
        gives = show(self.well_gives_a_day, "volume", system)
        return f"That is while there is water: {drawn} are drawn a day, and the well gives {gives}."

    def _enough(self, system: UnitSystem) -> str:
        first = self.connections[0]
        rare = show(first.one_in_1000, "pressure", system)
        needs = show(first.required, "pressure", system)
        rule = " for half a minute a year" if first.below >= LEAST_SHOWN else ""
        return (
            f"nothing falls below its need{rule}: {first.label}, the tightest, gets {rare} in its "
            f"worst minute of 1,000 and needs {needs}."
        )

    def _short(self, system: UnitSystem) -> str:
        first = self.short[0]
        needs = show(first.required, "pressure", system)
        text = (
            f"{first.label} has less than the {needs} it needs for {minutes_a_year(first.below)} "
            f"({in_words(first.share_below)} of its use)"
        )
        others = len({each.name for each in self.short} - {first.name})
        if others:
            text += f", and {others} more {'fixture is' if others == 1 else 'fixtures are'} short"
        return f"{text}."

    def _why(self, system: UnitSystem) -> str:
        """Why the two verdicts differ; nothing where they agree."""
        if self.not_counted:
            short = few(list(self.not_counted))
            return f"That leaves out {short}, of which no habit tells."
        peak = show(self.design_flow, "flow", system)
        usual = show(self.flow_one_in_100, "flow", system)
        if self.code_shortfall > 0.0 and (not self.short or self.short[0].share_below < SELDOM):
            seldom = (
                "never runs"
                if self.above_design_flow < LEAST_TOLD
                else (f"is passed for {minutes_a_year(self.above_design_flow)}")
            )
            differ = "It is so seldom" if self.short else "The verdicts differ"
            return (
                f"{differ} because the peak of {peak} {seldom} in such a household: "
                f"more than {usual} runs in only 1 of 100 minutes of use."
            )
        if self.code_shortfall > 0.0 or not self.short:
            return ""
        first = self.short[0]
        if first.below_while_pump_gives_way > 0.5 * first.below:
            return (
                "The peak is judged at cut-in; here the pump gives less than is drawn, and the "
                "tank sinks below cut-in."
            )
        if self.above_design_flow >= LEAST_TOLD:
            return (
                f"The verdicts differ because more than the design flow of {peak} runs for "
                f"{minutes_a_year(self.above_design_flow)}."
            )
        return (
            "The verdicts differ because open fixtures draw more, at the pressure there is, than "
            "the peak counts for them."
        )


def minutes_a_year(time: Time) -> str:
    """A time of a year in words that people use: "14 minutes a year", "5 hours a year"."""
    minutes = time / 60.0
    if minutes < 1.5:
        return "a minute a year"
    if minutes < 90.0:
        return f"{_two_digits(minutes)} minutes a year"
    return f"{_two_digits(minutes / 60.0)} hours a year"


def _two_digits(value: float) -> str:
    return f"{float(f'{value:.2g}'):,.0f}" if value >= 10.0 else f"{float(f'{value:.2g}'):g}"


def in_words(share: float) -> str:
    """A small part as people say it: "3 in 1,000"."""
    for whole in (100, 1000, 10_000, 100_000):
        number = share * whole
        if number >= 0.95:
            return f"{number:.0f} in {whole:,}"
    return "less than 1 in 100,000"
