"""The questions, in the order in which a plumber would ask them, and the talk that asks them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from msgspec import Struct

from supplycalc.questions.new.answers import (
    DONT_KNOW,
    FLOORS,
    LEFT_OPEN,
    Answers,
    WrongAnswerError,
    assumed,
    assumed_because,
    equipment_and_heater,
    fixtures_of,
    floor_height_of,
    length_of,
    lengths_of,
    main_of,
    one_of,
    people_of,
    pipes_of,
    pump_and_well,
    service_of,
    spread_of,
    switch_of,
    tank_inside,
    tank_of,
)
from supplycalc.questions.new.starter_file import PLACEHOLDER, file_text
from supplycalc.tables import load_table
from supplycalc.units import UnitSystem
from supplycalc.units.parsing import ROUGHLY


class Stopped(Exception):  # noqa: N818 - no error, the person has gone
    """The talk was left before its end; the answers given stand in the record."""


class Inquiry(Struct, frozen=True, kw_only=True):
    """One question."""

    parts: tuple[str, ...]
    """What its answer tells; each is kept by its name, and is not known where it is not said."""
    ask: str
    measure: str
    """What to measure and how, or what an answer may look like."""
    read: Callable[[str], str | tuple[str | None, ...]]
    """Gives each part as it is kept; raises WrongAnswerError."""
    when: bool = True

    def taken(self, text: str) -> dict[str, str | None]:
        """What an answer tells; raises WrongAnswerError."""
        told = self.read(text)
        return dict(zip(self.parts, (told,) if isinstance(told, str) else told, strict=True))


def inquiries(answers: Answers) -> Iterator[Inquiry]:
    """Every question that may be asked, in order.

    Args:
        answers: so far; they decide which questions are asked, and how they are worded.
    """
    us = answers.units == "us"
    well = answers.value("supply") == "well"
    inside = tank_inside(answers)

    def such(in_feet: str, in_metres: str) -> str:
        return in_feet if us else in_metres

    yield Inquiry(
        parts=("supply",),
        ask="Does the water come from a well of your own, or from a main in the street?",
        measure="well or main",
        read=one_of(
            well=("bore", "borehole", "own", "pump", "private"),
            main=("street", "city", "town", "mains", "municipal", "public", "meter"),
        ),
    )
    yield Inquiry(
        parts=("switch",),
        ask="At which pressures does the pump start and stop?",
        measure="The label inside the cover of the pressure switch says it, or watch the gauge "
        f"while a tap runs: {such('40/60 psi', '2.8/4.2 bar')}. Switch the power off before "
        "you open the cover.",
        read=switch_of,
        when=well,
    )
    yield Inquiry(
        parts=("main_pressure", "main_static"),
        ask="What does a gauge show while water runs?",
        measure="Screw a gauge on an outdoor tap, open another one, read it at the hour of "
        f"most use: {such('38 psi, or 52 psi standing, 38 psi with two hoses open', '3.5 bar')}",
        read=main_of,
        when=not well,
    )
    yield Inquiry(
        parts=("tank_place", "tank"),
        ask="Where does the pressure tank stand, at the well or in the house, and how large is it?",
        measure=f"Its label says how large: house, {such('44 gal', '100 L')}",
        read=tank_of,
        when=well,
    )
    yield Inquiry(
        parts=("bucket", "yield"),
        ask="What does the pump give, and the well for hours on end?",
        measure="Open a tap at the tank until the pump runs and the gauge stands still, fill a "
        "bucket by the watch; the driller's log says what the well gives: "
        f"{such('5 gal in 28 s at 45 psi, well 5 gpm', '10 L in 30 s at 3 bar, well 20 L/min')}",
        read=pump_and_well,
        when=well,
    )
    yield Inquiry(
        parts=("well_line", "near"),
        ask="How far is it, along the pipe, from the well to the tank, and from there to where "
        "pipes branch?",
        measure="Lay a tape along the way that the pipe takes, ups and downs included: "
        f"{such('150 ft, 12 1/2 ft', '45 m, 4 m')}",
        read=lengths_of,
        when=inside,
    )
    begins = "the tank" if well else "the meter"
    yield Inquiry(
        parts=("distance",),
        ask=f"How far is it, along the pipe, from {begins} to where pipes branch in the house?",
        measure="Lay a tape along the way that the pipe takes, ups and downs included: "
        f"{such('85 ft, or 85 1/2 ft', '26 m')}",
        read=length_of,
        when=not inside,
    )
    yield Inquiry(
        parts=("line",),
        ask=f"Does the pipe from {'the well' if well else 'the meter'} lie there already?",
        measure=f"no; or its size and what it is made of: {such('3/4 copper, 1 poly', '32')}; "
        "galvanized, if you don't know its size; or yes",
        read=service_of,
    )
    yield Inquiry(
        parts=("rise",),
        ask=f"How high does the gauge at {begins} stand against the finished ground floor?",
        measure="By a level or a clear hose with water. Below the floor is minus: "
        f"{such('-6 ft, 5 ft 3 in, or 2 ft below', '-1.5 m, or 1.5 m below')}",
        read=floor_height_of,
    )
    yield Inquiry(
        parts=("equipment", "heater"),
        ask="What stands in the line (filter, softener, others), and is the water heater a tank "
        "or tankless?",
        measure="In the order of the water: filter, softener, tankless; or none, tank",
        read=equipment_and_heater,
    )
    yield Inquiry(
        parts=("layout", "tube", "slab"),
        ask="Does each fixture get its own pipe from a manifold, or do branches leave a trunk? Of "
        "which tube, and in or under a slab?",
        measure="manifold, pex, in the slab; or trunk, copper, no slab",
        read=lambda text: pipes_of(text, answers.units),
    )
    yield Inquiry(
        parts=("fixtures_1",),
        ask="Which fixtures are there on the ground floor?",
        measure="With the length of pipe from where pipes branch to the farthest, and to others "
        "where you know it; those without count as far as the farthest. A bath is the tub, a "
        "bathroom has toilet and basin too: "
        f"{such('bath 50 ft, 2 toilets, basin 20 ft', 'shower 15 m, 2 toilets, basin 6 m')}",
        read=_first_fixtures,
    )
    for floor in range(2, FLOORS + 1):
        yield Inquiry(
            parts=(f"fixtures_{floor}",),
            ask="Which fixtures are there upstairs?" if floor == 2 else "And on the floor above?",
            measure="none; or as before, "
            f"{such('shower 45 ft, toilet, basin', 'shower 12 m, toilet, basin')}",
            read=_fixtures,
            when=answers.floors() >= floor - 1,
        )
    yield Inquiry(
        parts=("people",),
        ask="How many people live there?",
        measure="It decides what runs together in daily use, and what a well must give in a day",
        read=people_of,
    )


def _fixtures(text: str) -> str:
    fixtures_of(text)
    return text


def _first_fixtures(text: str) -> str:
    if not fixtures_of(text):
        raise WrongAnswerError("name at least one fixture")
    return text


def next_inquiry(answers: Answers) -> Inquiry | None:
    """The first question that has no answer yet; None where all have."""
    return next((each for each in _asked(answers) if each.parts[0] not in answers.given), None)


def _asked(answers: Answers) -> list[Inquiry]:
    return [inquiry for inquiry in inquiries(answers) if inquiry.when]


def talk(answers: Answers, hear: Callable[[str], str | None], tell: Callable[[str], None]) -> None:
    """Ask until everything is answered; the answers are kept in the record one by one.

    Args:
        hear: shows a prompt and gives the line that was typed, None where there is no more.

    Raises:
        Stopped: the person left.
    """
    tell(
        "About a dozen questions. Answer in your own words and units. Enter alone, or don't know: "
        "a usual value is taken and marked. back: the question before. stop: go on another day.\n"
    )
    shown = ""
    while (inquiry := next_inquiry(answers)) is not None:
        before = [each for each in _asked(answers) if each.parts[0] in answers.given]
        tell(f"\n{len(before) + FIRST}. {inquiry.ask}\n")
        tell(f"   {inquiry.measure}\n")
        usual = ", ".join(_usual(name, answers) for name in inquiry.parts)
        tell(f"   (if not known: {usual})\n")
        line = hear("   > ")
        if line is None:
            raise Stopped
        text = line.strip().replace("’", "'")
        word = text.lower().rstrip(".?!")
        if word in ("stop", "quit", "exit"):
            raise Stopped
        if word == "back":
            for name in before[-1].parts if before else ():
                del answers.given[name]
            if not before:
                tell("   This is the first question.\n")
            continue
        try:
            told = _told(inquiry, text, word)
        except WrongAnswerError as error:
            tell(f"   {_meaning(word) if text.endswith('?') else error}\n")
            continue
        answers.given.update(told)
        for name in inquiry.parts:
            if told[name] is None:
                tell(f"   {_taken(name, answers.stand_in(name), answers.units)}\n")
        shown = _grown(answers, shown, tell)


def _told(inquiry: Inquiry, text: str, word: str) -> dict[str, str | None]:
    """What an answer tells, also where a word before a number says that it is rough."""
    if word in DONT_KNOW and text != "?":
        return dict.fromkeys(inquiry.parts)
    try:
        return inquiry.taken(text)
    except WrongAnswerError:
        sure = ROUGHLY.sub("", text)
        if sure == text:
            raise
        return inquiry.taken(sure)


def _meaning(question: str) -> str:
    """What a word that was asked about means, or how to go on where none is known."""
    from supplycalc.questions.words.glossary import trade_words

    asked = f" {question.replace('-', ' ')} "
    for each in trade_words():
        for name in (each.us, each.europe):
            if f" {name.lower().replace('-', ' ')} " in asked:
                return f"{name}: {each.meaning}"
    return "Enter alone takes the usual; supplycalc words, in another window, explains the words"


FIRST = 2
"""Number of the first question of a talk: the first of all is that for the units."""


def _usual(name: str, answers: Answers) -> str:
    usual = assumed(name, answers.units)
    if usual in ("no", "none"):
        return f"{_title(name)}: {usual}"
    return usual or f"{LEFT_OPEN[name]}: left open"


def _title(name: str) -> str:
    title: str = load_table("starter")["assumed"][name]["title"]
    return title


def _taken(name: str, usual: str, units: UnitSystem) -> str:
    because = assumed_because(name)
    if because is None:
        return f"{LEFT_OPEN[name].capitalize()}: left open; the file says how to add it."
    spread, citation = because
    taken = f"{_title(name).capitalize()}: taken as {usual}"
    if spread_of(name, units):
        return f"{taken}; measure it ({citation})."
    return f"{taken}. It may be otherwise: {spread} ({citation})."


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
