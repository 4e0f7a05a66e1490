"""`supplycalc new`: a starter file, a shipped scenario, or a file from answers."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from supplycalc.output.call import Json, Units
from supplycalc.output.destination import put, say
from supplycalc.problems import InputError, Place, Problem

SCHEMA = "supplycalc-new/1"


def command(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="The supply file to write (TOML).")],
    ask: Annotated[
        bool, typer.Option("--ask", help="Ask for the house in plain words, and size it.")
    ] = False,
    start: Annotated[
        str | None,
        typer.Option("--from", metavar="SCENARIO", help="Start from a shipped scenario."),
    ] = None,
    units: Annotated[
        Units | None, typer.Option("--units", help="Units of the file: us without it.")
    ] = None,
    as_json: Json = False,
) -> int:
    """Write a supply file to begin with.

    Examples:
      supplycalc new house.toml                    a commented starter
      supplycalc new house.toml --ask              asks you, then sizes
      supplycalc new house.toml --units metric
      supplycalc new house.toml --from ridge-cottage

    What you don't know is taken from the usual and marked in the file, lengths and
    the switch as ranges, so that size says in how many cases it works. Asked
    questions can be left at any time (Ctrl-C or stop) and gone on with later. A
    file that exists is never overwritten.

    Exit status: 0 the file is written, 1 it is and its design fails (--ask), 2 the
    call is wrong.
    """
    if ask and start is not None:
        raise _refused("--ask", "give --ask or --from, not both")
    if ask and as_json:
        raise _refused("--ask", "a talk is no JSON; leave --json out")
    _check_free(path)
    if ask:
        return _asked(path, None if units is None else _system(units))

    from supplycalc.output.destination import write_whole
    from supplycalc.questions.new.answers import Answers
    from supplycalc.questions.new.shipped_scenarios import scenario_text
    from supplycalc.questions.new.starter_file import file_text

    if start is not None:
        text = scenario_text(start)
    else:
        remark = "A starter file (the house is invented): put your own figures in."
        text = file_text(Answers(units=_system(units)), remark=remark)
    write_whole(path, text, force=False)
    if as_json:
        from supplycalc.records import to_json

        put(to_json({"schema": SCHEMA, "ok": True, "file": str(path), "from": start}))
        return 0
    say(f"wrote {path}")
    import shlex

    put(f"Next: put your own figures in, then supplycalc check {shlex.quote(str(path))}\n")
    return 0


def _system(units: Units | None) -> Any:
    return "metric" if units is Units.metric else "us"


def _refused(where: str, message: str) -> InputError:
    return InputError([Problem(place=Place(where), message=message)])


def _check_free(path: Path) -> None:
    """Refuse before the first question what could not be written after the last."""
    if path.is_dir():
        raise _refused(str(path), "this is a folder; name a file in it")
    if path.exists():
        raise _refused(str(path), "the file exists, and is never overwritten; name another")
    if not path.parent.is_dir():
        raise _refused(str(path), f"there is no folder {str(path.parent)!r}")


def _asked(path: Path, units: Any) -> int:
    """Ask for a house, write its file, and size it."""
    if not sys.stdin.isatty():
        message = "questions need a terminal; without --ask a starter file is written"
        raise _refused("--ask", message)

    from supplycalc.output.destination import write_whole
    from supplycalc.questions.new.answers import Answers, not_known
    from supplycalc.questions.new.interview import Stopped, talk
    from supplycalc.questions.new.kept_answers import forget, keep, kept
    from supplycalc.questions.new.starter_file import file_text

    answers = kept(path)
    if answers is not None:
        put(f"Going on with the answers kept in {keep(path, answers)}.\n")
    else:
        answers = Answers(units=units or _ask_units())
    try:
        talk(answers, _hear, _tell)
    except (Stopped, KeyboardInterrupt):
        kept_in = keep(path, answers)
        put(f"\nYour answers are kept in {kept_in}. Go on with: supplycalc new {path} --ask\n")
        return 130
    keep(path, answers)  # until the file stands
    write_whole(
        path, file_text(answers, remark="Written from answers; mend it by hand."), force=False
    )
    forget(path)
    put(f"\nWrote {path}.\n")
    unknown = not_known(answers)
    if unknown:
        _tell("Not known, and marked in it; measure these before you build on the answer:\n")
        _tell("".join(f"  - {each}\n" for each in unknown))
    put("\n")
    return _first_answer(path)


def _tell(text: str) -> None:
    """Show lines no wider than the terminal, what goes on further in than where it began."""
    import textwrap

    from supplycalc.output.destination import width_of

    width = width_of(sys.stdout)
    for line in text.split("\n")[: -1 if text.endswith("\n") else None]:
        inset = len(line) - len(line.lstrip(" |"))
        hang = line[:inset] + ("     " if "|" in line[:inset] else "")
        put("\n".join(textwrap.wrap(line, width, subsequent_indent=hang) or [""]) + "\n")


def _hear(prompt: str) -> str | None:
    """A line from the terminal; None where there is no more."""
    put(prompt)
    line = sys.stdin.readline()
    return line if line else None


def _ask_units() -> Any:
    while True:
        line = _hear("1. Do you measure in feet or in metres? > ")
        if line is None:
            raise KeyboardInterrupt
        word = line.strip().lower()
        if re.match(r"(?:f(?:ee|oo)?t|us|imperial|inch(?:es)?|in)\b|feet", word) or not word:
            return "us"
        if re.match(r"(?:m|cm|mm|si|metric|met(?:re|er)s?)\b", word):
            return "metric"
        put("   feet or metres; the file may mix them\n")


def _first_answer(path: Path) -> int:
    """What `size` says of the file."""
    from supplycalc.output.call import Call
    from supplycalc.questions.size.command import command as size

    return size(Call(file=path))
