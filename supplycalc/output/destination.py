"""Where results go: stdout or a file written whole or not at all; colour and width."""

from __future__ import annotations

import os
import stat
import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from msgspec import Struct

from supplycalc.problems import InputError, Place, Problem

if TYPE_CHECKING:
    from supplycalc.output.blocks import Block
    from supplycalc.records.table import Table
    from supplycalc.units import UnitSystem

FILE_WIDTH = 80
NARROWEST = 36
DOCUMENTS = (".xlsx", ".xls", ".ods", ".pdf", ".doc", ".docx", ".odt", ".html", ".htm", ".zip")
PICTURES = (".png", ".svg", ".gif", ".jpg", ".jpeg", ".webp", ".eps", ".dxf", ".dwg")
FOREIGN = frozenset((*DOCUMENTS, *PICTURES))
"""Endings of forms that few commands write; text under such a name would not open."""


EXISTS = "the file exists; --force overwrites it"


class Destination(Struct, frozen=True, kw_only=True):
    """What the user asked of the output."""

    as_json: bool
    path: Path | None
    force: bool
    spared: tuple[Path, ...] = ()
    """Files that the same call reads or writes otherwise: never replaced, forced or not."""
    forms: tuple[str, ...] = ()
    """Endings that this command writes besides those of all commands."""

    @property
    def file(self) -> Path | None:
        """The file to write; None where the result goes to stdout."""
        return None if self.path is None or str(self.path) == "-" else self.path

    def check(self) -> None:
        """Refuse before any work what could not be written after it; raises InputError."""
        target = self.file
        if target is None:
            return
        if target.is_dir():
            raise _refused(target, "this is a folder; name a file in it")
        form = target.suffix.lower()
        if form in FOREIGN and form not in self.forms:
            others = ", ".join((*self.forms, ".txt", ".csv"))
            raise _refused(target, f"no {form} file is written here; try {others} or .json")
        if not target.parent.is_dir():
            raise _refused(target, f"there is no folder {str(target.parent)!r}")
        real = os.path.realpath(target)
        if any(os.path.realpath(path) == real for path in self.spared):
            message = "the same call reads this file or writes it otherwise; name another"
            raise _refused(target, message)
        _check_target(target, force=self.force)

    def send(
        self,
        *,
        page: Callable[[], Iterable[Block]],
        data: Callable[[], Any],
        system: UnitSystem,
        table: Callable[[], Table] | None = None,
        files: Mapping[str, Callable[[], str | bytes]] | None = None,
        long: bool = False,
    ) -> None:
        """Write a result in the form that was asked for.

        Args:
            table: gives what a file named *.csv gets; None where there is nothing to.
            long: whether the page is one to leaf through on a terminal.
        """
        target = self.file
        suffix = target.suffix.lower() if target is not None else ""
        if files is not None and suffix in files and not self.as_json:
            self.write(files[suffix]())
            return
        if self.as_json or suffix == ".json":
            from supplycalc.records import to_json

            text = to_json(data())
        elif suffix == ".csv":
            if table is None:
                raise _refused(target, "this command writes no CSV; try .txt or .json")
            from supplycalc.records.spreadsheet import to_csv

            text = to_csv(table(), system)
        else:
            from supplycalc.output.terminal import to_text

            width = FILE_WIDTH if target is not None else width_of(sys.stdout)
            colour = target is None and has_colour(sys.stdout)
            text = to_text(page(), system, width=width, colour=colour)
            if long and target is None and sys.stdout.isatty() and paged(text):
                return
        self.write(text)

    def write(self, text: str | bytes) -> None:
        """Write a finished text to where it was asked to go; InputError where it can't."""
        if self.file is None:
            assert isinstance(text, str)
            put(text)
        else:
            write_whole(self.file, text, force=self.force)
            say(f"wrote {self.file}")


class OutputError(InputError):
    """Stdout takes no more, so that problems can't be told there either."""


def _check_target(target: Path, *, force: bool) -> None:
    """Refuse what must not be replaced; a pipe or a terminal is written to, never replaced."""
    if not target.exists() or _is_stream(target):
        return
    if not target.is_file():
        raise _refused(target, "this is not a file that text can be written to")
    if not force:
        raise _refused(target, EXISTS)


def _is_stream(target: Path) -> bool:
    """Whether a path is a pipe or a device such as a terminal."""
    mode = target.stat().st_mode if target.exists() else 0
    return stat.S_ISFIFO(mode) or stat.S_ISCHR(mode)


def _refused(path: Path | None, message: str) -> InputError:
    return InputError([Problem(place=Place(str(path or "-o")), message=message)])


def has_colour(stream: IO[str]) -> bool:
    """Only on a terminal, and not where the user asks for none (NO_COLOR, TERM=dumb)."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def width_of(stream: IO[str]) -> int:
    """The terminal's width, 80 where there is none; `NARROWEST` is a telephone's."""
    import shutil

    columns = shutil.get_terminal_size((FILE_WIDTH, 24)).columns if stream.isatty() else FILE_WIDTH
    return max(columns, NARROWEST)


def paged(text: str) -> bool:
    """Show a text in the user's own pager; False where there is none or it does not start."""
    import shlex
    import signal
    import subprocess

    usual = "" if os.environ.get("TERM") == "dumb" else "less"
    command = shlex.split(os.environ.get("PAGER", usual))
    if not command:
        return False
    environment = {"LESS": "FRX", **os.environ}
    # Ctrl-C is the pager's own affair while it runs; it stands on its default there
    before = signal.signal(signal.SIGINT, lambda *_: None)
    try:
        subprocess.run(command, input=text.encode(), env=environment, check=False)
    except OSError:
        return False
    finally:
        signal.signal(signal.SIGINT, before)
    return True


def put(text: str) -> None:
    """Write to stdout, quietly giving up when the reader has gone (`| head`).

    Raises:
        OutputError: it can't be written, such as to a full disk.
    """
    from supplycalc.output.text import encodable

    try:
        sys.stdout.write(encodable(text, sys.stdout.encoding or "utf-8"))
        sys.stdout.flush()
    except BrokenPipeError:
        hush()
    except OSError as error:
        hush()
        message = f"cannot be written ({error.strerror or error})"
        raise OutputError([Problem(place=Place("stdout"), message=message)]) from None


def hush() -> None:
    """Point stdout nowhere, so that the interpreter's last flush has nothing to complain of."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
    except (OSError, ValueError):
        pass


def say(text: str) -> None:
    """A message for people, on stderr, with nothing in it that could steer a terminal."""
    from supplycalc.output.text import clean, encodable

    try:
        for line in text.split("\n"):
            sys.stderr.write(encodable(clean(line), sys.stderr.encoding or "utf-8") + "\n")
        sys.stderr.flush()
    except OSError:  # nobody is left to tell
        pass


def write_whole(path: Path, text: str | bytes, *, force: bool) -> None:
    """Write a file through a temporary one beside it, so that no half a file is ever seen.

    A pipe or a device is written to as it stands.
    """
    _check_target(path, force=force)
    import tempfile

    content = text.encode("utf-8") if isinstance(text, str) else text
    target = Path(os.path.realpath(path))
    temporary = ""
    try:
        if _is_stream(target):
            target.write_bytes(content)
            return
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, _mode(target))
        if force:
            os.replace(temporary, target)
        else:  # a link is made only where nothing stands, whoever else is writing
            os.link(temporary, target)
            Path(temporary).unlink()
    except FileExistsError:
        Path(temporary).unlink(missing_ok=True)
        raise _refused(path, EXISTS) from None
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        reason = error.strerror or str(error)
        raise _refused(path, f"cannot be written ({reason})") from None


def _mode(target: Path) -> int:
    """The permissions of the file that is replaced, or those of a fresh file."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
