"""The questions, in the order in which a plumber would ask them, and the talk that asks them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from msgspec import Struct

from supplycalc.questions.new.answers import (
    DONT_KNOW,
    FLOORS,
    Answers,
    WrongAnswerError,
    assumed,
    assumed_because,
    bucket_of,
    equipment_of,
    fixtures_of,
    length_of,
    measured_in,
    number_up_to,
    one_of,
    service_of,
    switch_of,
    tank_inside,
    tube_of,
)
from supplycalc.questions.new.starter_file import FLOOR_NAMES, PLACEHOLDER, file_text
from supplycalc.units.parsing import ROUGHLY


class Stopped(Exception):  # noqa: N818 - no error, the person has gone
    """The talk was left before its end; the answers given stand in the record."""


class Inquiry(Struct, frozen=True, kw_only=True):
    """One question."""

    name: str
    ask: str
    measure: str = ""
    """What to measure and how, or what an answer may look like."""
    read: Callable[[str], str]
    """Gives the answer as it is kept; raises WrongAnswerError."""
    when: Callable[[Answers], bool] = lambda answers: True


def _well(answers: Answers) -> bool:
    return answers.value("supply") == "well"


def _main(answers: Answers) -> bool:
    return not _well(answers)


def _several(answers: Answers) -> bool:
    return answers.floors() > 1


_YES_NO = one_of(yes=("y", "yes"), no=("n", "no"))


def _fixtures(text: str) -> str:
    fixtures_of(text)
    return text


def _first_fixtures(text: str) -> str:
    if not fixtures_of(text):
        raise WrongAnswerError("name at least one fixture")
    return text


def inquiries(answers: Answers) -> Iterator[Inquiry]:
    """Every question that may be asked, in order."""
    us = answers.units == "us"

    def such(in_feet: str, in_metres: str) -> str:
        return in_feet if us else in_metres

    yield Inquiry(
        name="supply",
        ask="Does the water come from a well of your own, or from a main in the street?",
        measure="well or main",
        read=one_of(
            well=("bore", "borehole", "own", "pump", "private"),
            main=("street", "city", "town", "mains", "municipal", "public", "meter"),
        ),
    )
    yield Inquiry(
        name="switch",
        ask="At which pressures does the pump start and stop?",
        measure="The label inside the cover of the pressure switch says it, or watch the gauge "
        f"while a tap runs: {such('40/60 psi', '2.8/4.2 bar')}. Switch the power off before "
        "you open the cover.",
        read=switch_of,
        when=_well,
    )
    yield Inquiry(
        name="main_pressure",
        ask="What does a gauge show while water runs?",
        measure="Screw a gauge on an outdoor tap, open another one, read it at the hour of "
        f"most use: {such('52 psi', '3.5 bar')}",
        read=measured_in("pressure"),
        when=_main,
    )
    yield Inquiry(
        name="tank_place",
        ask="Where does the pressure tank stand, at the well or in the house?",
        measure="well or house",
        read=one_of(
            well=("wellhead", "pump", "shed", "well house", "pit"),
            house=("home", "basement", "cellar", "crawl", "garage", "utility", "inside"),
        ),
        when=_well,
    )
    yield Inquiry(
        name="tank",
        ask="How large is the pressure tank?",
        measure=f"Its label says it: {such('44 gal', '100 L')}",
        read=measured_in("volume"),
        when=_well,
    )
    yield Inquiry(
        name="bucket",
        ask="What does the pump give?",
        measure="Open a tap at the tank until the pump runs and the gauge stands still, fill a "
        f"bucket by the watch: {such('5 gal in 28 s at 45 psi', '10 L in 30 s at 3 bar')}",
        read=bucket_of,
        when=_well,
    )
    yield Inquiry(
        name="yield",
        ask="What does the well give for hours on end?",
        measure=f"The driller's log says it: {such('5 gpm', '20 L/min')}",
        read=measured_in("flow"),
        when=_well,
    )
    yield Inquiry(
        name="well_line",
        ask="How far is it, along the trench, from the well to the tank?",
        measure=f"By tape along the way of the pipe: {such('150 ft', '45 m')}",
        read=length_of,
        when=tank_inside,
    )
    begins = "the meter" if _main(answers) else "the tank"
    yield Inquiry(
        name="distance",
        ask=f"How far is it, along the pipe, from {begins} to where pipes branch in the house?",
        measure="Lay a tape along the way that the pipe takes, ups and downs included: "
        f"{such('85 ft, or 85 1/2 ft', '26 m')}",
        read=length_of,
        when=lambda answers: not tank_inside(answers),
    )
    yield Inquiry(
        name="near",
        ask="How far is it, along the pipe, from the tank to where pipes branch?",
        measure=f"By tape, ups and downs included: {such('12 ft, or 12 1/2 ft', '4 m')}",
        read=length_of,
        when=tank_inside,
    )
    yield Inquiry(
        name="line",
        ask="Does that pipe lie there already?",
        measure=f"no; or its size and what it is made of: {such('3/4 copper, 1 poly', '32')}; "
        "or yes, if you don't know its size",
        read=service_of,
    )
    yield Inquiry(
        name="rise",
        ask=f"How high does the gauge at {begins} stand against the finished ground floor?",
        measure="By a level or a clear hose with water. Below the floor is minus: "
        f"{such('-6 ft, or 5 ft 3 in', '-1.5 m')}",
        read=measured_in("elevation"),
    )
    yield Inquiry(
        name="equipment",
        ask="What stands in the line before the house's pipes: filter, softener, others?",
        measure="In the order of the water: filter, softener; or none",
        read=equipment_of,
    )
    yield Inquiry(
        name="heater",
        ask="Is the water heater a tank, or tankless?",
        measure="tank or tankless",
        read=_heater,
    )
    yield Inquiry(
        name="layout",
        ask="Does each fixture get its own pipe from a manifold, or do branches leave a trunk?",
        measure="manifold or trunk",
        read=one_of(
            manifold=("home run", "home-run", "own"), trunk=("tee", "tees", "branch", "branches")
        ),
    )
    yield Inquiry(
        name="tube",
        ask="Which tube is laid inside the house?",
        measure="pex, copper, cpvc, multilayer, ...",
        read=tube_of,
    )
    yield Inquiry(
        name="slab",
        ask="Do pipes of the ground floor lie in or under a concrete slab?",
        measure="yes or no",
        read=_YES_NO,
    )
    yield Inquiry(
        name="floors",
        ask="How many storeys have water?",
        measure=f"1 to {FLOORS}",
        read=number_up_to(FLOORS),
    )
    yield Inquiry(
        name="storey",
        ask="How high is it from floor to floor?",
        measure=such("9 ft", "2.8 m"),
        read=length_of,
        when=_several,
    )
    for floor in range(1, answers.floors() + 1):
        where = FLOOR_NAMES[floor - 1] if _several(answers) else "in the house"
        yield Inquiry(
            name=f"fixtures_{floor}",
            ask=f"Which fixtures are there {where}?",
            measure="With the length of pipe to each where you know it: "
            f"{such('bath 50 ft, 2 toilets, basin', 'shower 15 m, 2 toilets, basin')}"
            + ("; or none" if floor > 1 else ""),
            read=_first_fixtures if floor == 1 else _fixtures,
        )
        yield Inquiry(
            name=f"far_{floor}",
            ask=f"How far is it, along the pipe, to the farthest fixture {where}?",
            measure=f"From where pipes branch, by tape: {such('50 ft', '15 m')}. It counts for all "
            "to which you named no length.",
            read=length_of,
            when=lambda answers, name=f"fixtures_{floor}": any(  # type: ignore[misc]
                not each.length for each in fixtures_of(answers.value(name))
            ),
        )


def _heater(text: str) -> str:
    return one_of(
        tankless=("on demand", "instant", "combi", "flow"),
        tank=("cylinder", "storage", "boiler", "normal", "heater"),
    )(text)


def next_inquiry(answers: Answers) -> Inquiry | None:
    """The first question that has no answer yet; None where all have."""
    for inquiry in inquiries(answers):
        if inquiry.name not in answers.given and inquiry.when(answers):
            return inquiry
    return None


def talk(answers: Answers, hear: Callable[[str], str | None], tell: Callable[[str], None]) -> None:
    """Ask until everything is answered; the answers are kept in the record one by one.

    Args:
        answers: so far; grows.
        hear: shows a prompt and gives the line that was typed, None where there is no more.
        tell: shows text.

    Raises:
        Stopped: the person left.
    """
    tell(
        "Answer in your own words and units. Enter alone, or don't know: a usual value is taken "
        "and marked. back: the question before. stop: go on another day.\n"
    )
    shown = ""
    while (inquiry := next_inquiry(answers)) is not None:
        usual = assumed(inquiry.name, answers.units)
        number = len(answers.given) + 1
        tell(f"\n{number}. {inquiry.ask}\n")
        if inquiry.measure:
            tell(f"   {inquiry.measure}\n")
        tell(f"   (if not known: {usual or 'it is left open'})\n")
        line = hear("   > ")
        if line is None:
            raise Stopped
        text = ROUGHLY.sub("", line.strip())
        word = text.lower().rstrip(".?!").replace("’", "'")
        if word in ("stop", "quit", "exit"):
            raise Stopped
        if word == "back":
            if answers.given:
                answers.given.popitem()
            else:
                tell("   This is the first question.\n")
            continue
        try:
            answers.given[inquiry.name] = None if word in DONT_KNOW else inquiry.read(text)
        except WrongAnswerError as error:
            tell(f"   {error}\n")
            continue
        if answers.given[inquiry.name] is None:
            tell(f"   {_taken(inquiry.name, usual)}\n")
        shown = _grown(answers, shown, tell)


def _taken(name: str, usual: str) -> str:
    because = assumed_because(name)
    if because is None:
        return "Left open; the file says how to add it."
    spread, citation = because
    return f"Taken: {usual}. It may be otherwise: {spread} ({citation})."


def _grown(answers: Answers, shown: str, tell: Callable[[str], None]) -> str:
    """Show the supply as it stands, where an answer has changed it."""
    tree = "\n".join(supply_tree(answers))
    if tree != shown:
        tell(f"\n{tree}\n")
    return tree


MOST_LINES = 16
"""Of the tree, while it grows."""


def supply_tree(answers: Answers) -> list[str]:
    """The supply as far as it is known, as `check` shows it."""
    from supplycalc.network import build_tree, line_tree
    from supplycalc.questions.check.page import tree_lines
    from supplycalc.reading import loads

    house = loads(file_text(answers, complete=False))
    before = tree_lines(line_tree(house), answers.units) if house.before_tank else ()
    lines = [
        f"   | {'  ' * depth}{text.replace('; no fittings listed', '')}"
        for depth, text in (*before, *tree_lines(build_tree(house), answers.units))
        if not text.startswith(PLACEHOLDER)
    ]
    more = len(lines) - MOST_LINES
    return lines if more <= 1 else [*lines[:MOST_LINES], f"   | ... and {more} lines more"]
