"""The command line: the list of commands, the first page, and the one place that catches errors."""

from __future__ import annotations

import importlib
import os
import re
import sys
import textwrap
from collections.abc import Callable, Iterable
from typing import Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from supplycalc import __version__
from supplycalc.output.call import with_shared_options
from supplycalc.output.destination import OutputError, hush, put, say
from supplycalc.problems import ComputationError, InputError, Place, Problem
from supplycalc.questions import all_questions, is_question

PROGRAM = "supplycalc"
WORKS, FAILS, WRONG, INTERRUPTED = 0, 1, 2, 130
PROBLEMS_SCHEMA = "supplycalc-problems/1"

FIRST_PAGE = """\
supplycalc sizes the water supply of a house, from the well or main to every
fixture: will the far upstairs bath work, which size does each run need, and
what fails?

Examples:
  supplycalc new house.toml --ask             asks you for the house, sizes it
  supplycalc check house.toml                 is the file right?
  supplycalc size house.toml                  choose the sizes, say what fails
  supplycalc compare house.toml --run service --sizes 3/4,1,1-1/4
                                              3/4 or 1 inch?

Usage: supplycalc COMMAND FILE [options]

{commands}
Every command has --help, --json (JSON on stdout and nothing else there),
--units us|metric and -o PATH (never overwrites without --force).

  supplycalc COMMAND --help          what a command does, with examples
  supplycalc --version
  supplycalc --install-completion    Tab completes commands and options
  supplycalc --show-completion       print the completion script instead

Exit status: 0 the design passes, 1 something fails, 2 file or call is wrong.

An estimate from what your file says. Local code, its inspector and licensed
trades decide.
"""


class Commands(TyperGroup):
    """A group that loads a command's module when the command is called, and traps every error."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Names in working order."""
        return list(all_questions())

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Build one command from its module; None where there is none."""
        if not is_question(cmd_name):
            return None
        module = importlib.import_module(f"supplycalc.questions.{cmd_name}.command")
        single = typer.Typer(
            add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None
        )
        settings = {**SETTINGS, "max_content_width": WIDTH}
        single.command(cmd_name, cls=OneCommand, context_settings=settings)(
            with_shared_options(module.command)
        )
        return typer.main.get_command(single)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find the command, or name the nearest."""
        name = args[0]
        command = self.get_command(ctx, name)
        if command is None and not ctx.resilient_parsing:
            raise InputError([_no_command(name)])
        return name, command, args[1:]

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """The first page."""
        formatter.write(FIRST_PAGE.format(commands=_command_list()))

    def main(self, args: Any = None, *_: Any, **more: Any) -> Any:
        """Run the program and leave with its exit status."""
        given = list(sys.argv[1:] if args is None else args)
        more.update(prog_name=PROGRAM, standalone_mode=False)
        main = super().main
        sys.exit(guarded(lambda: main(args=given or ["--help"], **more), "--json" in given))


class OneCommand(TyperCommand):
    """A command whose help is its docstring as it stands, examples first, then its options."""

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Summary, usage, examples and the rest, options."""
        summary, _, rest = (self.help or "").partition("\n\n")
        arguments = [param for param in self.params if param.param_type_name == "argument"]
        names = " ".join(
            str(argument.metavar) if argument.required else f"[{argument.metavar}]"
            for argument in arguments
        )
        usage = " ".join(filter(None, (ctx.command_path, names, "[options]")))
        formatter.write(f"{summary}\n\nUsage: {usage}\n\n{_filled(rest)}\n")
        records = [param.get_help_record(ctx) for param in self.get_params(ctx)]
        with formatter.section("Options"):
            formatter.write_dl(
                [
                    (_TYPE.sub("", name), _REQUIRED.sub("", text))
                    for name, text in filter(None, records)
                ]
            )


def _filled(text: str) -> str:
    """Paragraphs filled to the width; those with indented lines (examples) stay as written."""
    parts = text.split("\n\n")
    return "\n\n".join(
        part if "\n " in part else textwrap.fill(part, WIDTH, break_on_hyphens=False)
        for part in parts
    )


_TYPE = re.compile(r" <(?:str|path|file|list\[Path\])>$")
_REQUIRED = re.compile(r"\s*\[required\]$")
WIDTH = 80
SETTINGS: dict[str, Any] = {"help_option_names": ["-h", "--help"]}


def _command_list() -> str:
    text = ""
    for name, question in all_questions().items():
        text += f"{question.asks}\n  {name:<10} {question.help}\n"
    return text


def _no_command(name: str) -> Problem:
    if name.endswith(".toml") or os.path.exists(name):
        message = f"{name!r} is a file: say what to do with it, e.g. '{PROGRAM} size {name}'"
        return Problem(place=Place(PROGRAM), message=message)
    questions = all_questions()
    meant = next((word for word, each in questions.items() if name.lower() in each.words), "")
    return Problem(
        place=Place(PROGRAM),
        message=f"there is no command {name!r}",
        value=name,
        valid=tuple(questions),
        meant=meant,
        likeness=0.7,  # few letters: below that a likeness says nothing
    )


def guarded(work: Callable[[], Any], as_json: bool) -> int:
    """Do the work of a call and turn whatever happens into an exit status: the only trap.

    Args:
        work: the call; an int that it returns is the exit status.
        as_json: whether problems are to be told as JSON on stdout.

    Returns:
        0 passes, 1 something fails, 2 wrong input or call, 130 interrupted.
    """
    try:
        code = work()
        sys.stdout.flush()
        return code if isinstance(code, int) else WORKS
    except OutputError as error:
        _tell(error.problems, as_json=False)
        return WRONG
    except InputError as error:
        return _told(error.problems, as_json)
    except ComputationError as error:
        problem = Problem(place=Place(PROGRAM), message=f"cannot be computed: {error}")
        return _told([problem], as_json)
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        hush()
        return WORKS
    except Exception as error:
        if os.environ.get("SUPPLYCALC_DEBUG"):
            raise
        return _told([_unexpected(error)], as_json)


def _told(problems: tuple[Problem, ...] | list[Problem], as_json: bool) -> int:
    """Tell problems where they are looked for, or where there is room."""
    try:
        _tell(problems, as_json)
    except OutputError as error:
        _tell([*error.problems, *problems], as_json=False)
    return WRONG


def _tell(problems: tuple[Problem, ...] | list[Problem], as_json: bool) -> None:
    if as_json:
        from supplycalc.records import to_json

        put(to_json(problems_data(problems)))
        return
    for problem in problems:
        say(str(problem))
    if len(problems) > 1:
        say(f"{len(problems)} problems; nothing was computed")


def problems_data(problems: Iterable[Problem]) -> dict[str, Any]:
    """What is wrong with an input or a call, as `--json` prints it."""
    return {
        "schema": PROBLEMS_SCHEMA,
        "ok": False,
        "problems": [
            {
                "file": problem.place.file or None,
                "line": problem.place.line or None,
                "message": problem.text,
                "value": problem.value or None,
                "nearest": problem.nearest,
                "valid": list(problem.valid),
                "also": list(problem.also),
            }
            for problem in problems
        ],
    }


def _unexpected(error: Exception) -> Problem:
    """An error of typer's own is a wrong call; any other is a mistake of this program."""
    if hasattr(error, "format_message"):
        context = getattr(error, "ctx", None)
        where = getattr(context, "command_path", None) or PROGRAM
        message = str(error.format_message()).rstrip(".").replace("Value error, ", "")
        return Problem(place=Place(where), message=f"{message}; '{where} --help' shows how")
    if isinstance(error, OSError):
        place = Place(str(error.filename or PROGRAM))
        return Problem(place=place, message=error.strerror or str(error))
    what = f"{type(error).__name__}: {error}".split("\n")[0]
    return Problem(
        place=Place(PROGRAM),
        message=f"internal error, please report it with your file: {what}",
    )


def _version(wanted: bool) -> None:
    if wanted:
        put(f"{PROGRAM} {__version__}\n")
        raise typer.Exit()


app = typer.Typer(
    cls=Commands,
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings=SETTINGS,
)


@app.callback()
def _program(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Size the water supply of a house."""


def main() -> None:
    """Entry point of the `supplycalc` command."""
    # matrices are small here: numpy's threads for them take longer to start than they save
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # typer checks values with pydantic, which would look through all installed packages for plugins
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    _open_streams()
    app()


def _open_streams() -> None:
    """Point streams that the caller closed (`>&-`) nowhere, so that all can be written to."""
    if sys.stdin is None:
        sys.stdin = open(os.devnull, encoding="utf-8")  # noqa: SIM115 - open to the end
    if sys.stdout is None:
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
