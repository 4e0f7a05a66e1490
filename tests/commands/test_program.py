"""The program as a whole: first page, wrong calls, pipes, terminals, no traceback ever."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from supplycalc import __version__
from supplycalc.output.blocks import Block
from supplycalc.output.destination import write_whole
from supplycalc.output.terminal import to_text
from supplycalc.problems import ComputationError, InputError
from supplycalc.questions import all_questions
from supplycalc.units import UnitSystem
from tests.commands.files import SCENARIOS, cottage, run

RIDGE = str(SCENARIOS / "ridge-cottage.toml")


def shell(
    *args: str, stdin: bytes | None = None, **environment: str
) -> subprocess.CompletedProcess[bytes]:
    """Call the program as a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "supplycalc", *args],
        input=stdin,
        capture_output=True,
        check=False,
        timeout=60,
        env={**os.environ, **environment},
    )


def test_alone_it_shows_its_first_page() -> None:
    """No argument, -h and --help are one page with examples first and exit status 0."""
    pages = [run(), run("-h"), run("--help")]

    assert {page.exit_code for page in pages} == {0}
    assert len({page.stdout for page in pages}) == 1
    text = pages[0].stdout
    assert text.index("Examples:") < text.index("Usage:") < text.index("Is my file right?")
    assert max(len(line) for line in text.splitlines()) <= 80


def test_the_first_page_shows_what_exists_and_only_that() -> None:
    """Every command of the page can be called, and none that can be called is missing."""
    text = run().stdout
    for name in all_questions():
        assert f"\n  {name} " in text
        assert run(name, "--help").exit_code == 0


@pytest.mark.parametrize("name", list(all_questions()))
def test_every_command_has_a_page_with_examples_first(name: str) -> None:
    """Usage, examples, then options; at most 80 columns; -h and --help the same."""
    text = run(name, "--help").stdout

    assert text == run(name, "-h").stdout
    assert f"Usage: supplycalc {name}" in text
    assert text.index("Examples:") < text.index("Options:")
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "<str>" not in text
    assert "<list" not in text
    assert "\x1b" not in text


def test_version() -> None:
    """One line, from one place."""
    assert run("--version").stdout == f"supplycalc {__version__}\n"


@pytest.mark.parametrize(
    ("args", "word"),
    [
        (("siz", "x.toml"), "there is no command 'siz'; did you mean 'size'?"),
        (("house.toml",), "'house.toml' is a file: say what to do with it"),
        (("size",), "Missing argument 'FILE'; 'supplycalc size --help' shows how"),
        (("size", "x", "--jsn"), "No such option: --jsn"),
        (("size", "x", "--units", "imperial"), "'imperial' is not one of 'us', 'metric'"),
        (("--frob",), "No such option: --frob"),
        (("size", "no-such-file.toml"), "no-such-file.toml: there is no such file"),
        (("size", "a", "b"), "unexpected extra argument"),
        (("size", RIDGE, "--method"), "requires an argument"),
    ],
)
def test_a_wrong_call_is_told_in_one_line(args: tuple[str, ...], word: str) -> None:
    """Exit status 2, one line on stderr, nothing on stdout; with --json the same as JSON."""
    result = run(*args)

    assert result.exit_code == 2
    assert result.stdout == ""
    assert word in result.stderr
    assert result.stderr.count("\n") == 1
    if args != ("size", RIDGE, "--method"):
        as_json = run(*args, "--json")
        problems = json.loads(as_json.stdout)["problems"]
        assert as_json.exit_code == 2
        assert as_json.stderr == ""
        assert len(problems) == 1


def test_every_problem_of_a_file_is_told_with_its_line(tmp_path: Path) -> None:
    """Three mistakes, three lines with file:line, a count; as JSON the same three."""
    path = cottage(tmp_path)
    text = path.read_text(encoding="utf-8")
    text = text.replace('"90 ft"', '"90 psi"').replace("cartridge-filter", "cartrige-filter")
    text = text.replace('"kitchen-sink"', '"kitchen-snik"')
    path.write_text(text, encoding="utf-8")
    lines = [
        1 + text[: text.index(word)].count("\n")
        for word in ('"90 psi"', "cartrige-filter", "kitchen-snik")
    ]

    result = run("check", path)
    problems = json.loads(run("check", path, "--json").stdout)["problems"]

    assert result.exit_code == 2
    assert [f"{path}:{line}:" in result.stderr for line in lines] == [True] * 3
    assert "3 problems; nothing was computed" in result.stderr
    assert [problem["line"] for problem in problems] == lines
    assert [problem["nearest"] for problem in problems][1:] == ["cartridge-filter", "kitchen-sink"]


@pytest.mark.parametrize("as_json", [False, True])
def test_a_mistake_of_the_program_shows_no_traceback(
    as_json: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line that asks for a report, exit status 2; the debug variable lets it through."""

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("two\nlines")

    monkeypatch.setattr("supplycalc.questions.size.study.size", broken)
    args = ("size", RIDGE, *(("--json",) if as_json else ()))

    result = run(*args)

    assert result.exit_code == 2
    told = json.loads(result.stdout)["problems"][0]["message"] if as_json else result.stderr
    assert "internal error, please report it" in told
    assert "Traceback" not in result.output
    monkeypatch.setenv("SUPPLYCALC_DEBUG", "1")
    assert isinstance(run(*args).exception, ZeroDivisionError)


def test_what_cannot_be_computed_leaves_with_2(monkeypatch: pytest.MonkeyPatch) -> None:
    """A ComputationError is told in its own words."""

    def hopeless(*_: object, **__: object) -> None:
        raise ComputationError("the runs of one group have no size in common")

    monkeypatch.setattr("supplycalc.questions.size.study.size", hopeless)
    result = run("size", RIDGE)

    assert result.exit_code == 2
    assert "cannot be computed: the runs of one group" in result.stderr


def test_interrupted_it_is_quiet(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C prints nothing and leaves with 130, as shells expect."""

    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("supplycalc.questions.size.study.size", interrupted)
    result = run("size", RIDGE)

    assert result.exit_code == 130
    assert result.output == ""


def test_stdin_is_read_and_named(tmp_path: Path) -> None:
    """- reads stdin; the design is that of the file, and problems name <stdin>."""
    content = Path(RIDGE).read_bytes()
    same = shell("size", "-", "--json", stdin=content)
    broken = shell("size", "-", stdin=content.replace(b'"85 ft"', b"85"))

    assert same.stdout == shell("size", RIDGE, "--json").stdout
    assert broken.returncode == 2
    assert broken.stderr.startswith(b"<stdin>:")


def test_a_reader_that_goes_away_is_no_error() -> None:
    """`supplycalc size ... | head -1` prints one line and nothing on stderr."""
    command = f"{sys.executable} -m supplycalc size {RIDGE} -v --why | head -1"
    result = subprocess.run(["bash", "-c", command], capture_output=True, check=False, timeout=60)

    assert result.stderr == b""
    assert result.stdout.count(b"\n") == 1


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
@pytest.mark.parametrize("force", [(), ("--force",)])
def test_a_pipe_or_device_is_written_to_and_never_replaced(
    tmp_path: Path, force: tuple[str, ...]
) -> None:
    """`-o` names what stands there already: the reader gets the text, the pipe stays a pipe."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    result = run("check", RIDGE, "-o", pipe, *force)
    seen = os.read(reader, 65536)
    os.close(reader)

    assert result.exit_code == 0
    assert seen.decode().startswith(str(RIDGE))
    assert pipe.is_fifo()
    assert [path.name for path in tmp_path.iterdir()] == ["pipe"]


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs a device that is always full")
@pytest.mark.parametrize(
    "args",
    [
        ("check", RIDGE),
        ("size", RIDGE, "--json"),
        ("check", "nowhere.toml", "--json"),
        ("schema",),
        ("--help",),
    ],
)
def test_a_full_disk_is_told_in_one_line(args: tuple[str, ...]) -> None:
    """On stderr, where there is room, and with exit status 2."""
    with open("/dev/full", "w") as full:
        result = subprocess.run(
            [sys.executable, "-m", "supplycalc", *args],
            stdout=full, stderr=subprocess.PIPE, check=False, timeout=60,
        )  # fmt: skip
    words = result.stderr.decode()

    assert result.returncode == 2
    assert "No space left on device" in words
    assert "Traceback" not in words
    assert "ignored" not in words


@pytest.mark.skipif(sys.platform == "win32", reason="needs a shell that closes streams")
@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&-", ">&- 2>&- <&-"])
def test_closed_streams_are_no_error(closed: str) -> None:
    """A program that is started without stdout still leaves with its own exit status."""
    command = f"{sys.executable} -m supplycalc check {RIDGE} {closed}"
    result = subprocess.run(["sh", "-c", command], capture_output=True, check=False, timeout=60)

    assert result.returncode == 0
    assert result.stderr == b""


def test_interrupted_while_it_loads_it_is_quiet() -> None:
    """Ctrl-C before the command line stands: no traceback, the shell's usual 130."""
    code = (
        "import sys\n"
        "class Stop:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name == 'typer':\n"
        "            raise KeyboardInterrupt\n"
        "sys.meta_path.insert(0, Stop())\n"
        "from supplycalc.__main__ import main\n"
        "main()\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=False, timeout=60
    )

    assert result.returncode == 130
    assert result.stderr == b""


def test_a_pipe_gets_plain_text_and_an_ascii_one_gets_ascii() -> None:
    """No colour without a terminal; what the encoding lacks is written plainly."""
    result = shell("size", RIDGE, PYTHONIOENCODING="ascii", PYTHONUTF8="0")

    assert result.returncode == 0
    assert b"\x1b" not in result.stdout
    result.stdout.decode("ascii")


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
@pytest.mark.parametrize(
    ("environment", "coloured"),
    [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False), ({"NO_COLOR": ""}, True)],
)
def test_colour_only_on_a_terminal_that_wants_it(
    environment: dict[str, str], coloured: bool
) -> None:
    """no-color.org: NO_COLOR, when not empty, switches colour off; so does TERM=dumb."""
    seen, _ = on_a_terminal("size", RIDGE, **environment)

    assert (b"\x1b[" in seen) is coloured


def on_a_terminal(*args: str, stop_at: bytes = b"", **environment: str) -> tuple[bytes, int]:
    """What a terminal sees of a call, and its exit status; Ctrl-C once `stop_at` is seen."""
    import pty
    import signal

    base = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    controller, terminal = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "supplycalc", *args],
        stdin=terminal,
        stdout=terminal,
        stderr=terminal,
        env={**base, "TERM": "xterm", **environment},
        start_new_session=True,
    )
    os.close(terminal)
    seen = b""
    while True:
        try:
            part = os.read(controller, 65536)
        except OSError:
            break
        if not part:
            break
        seen += part
        if stop_at and stop_at in seen:
            os.killpg(process.pid, signal.SIGINT)
            stop_at = b""
    process.wait(timeout=60)
    os.close(controller)
    return seen, process.returncode


@pytest.mark.parametrize("pager", ["cat", "true", "head -n 3", "sh -c 'echo paged; sleep 30'"])
@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_everything_goes_through_the_users_pager(pager: str) -> None:
    """One that quits early, or is stopped by Ctrl-C, leaves no traceback."""
    stop = b"paged" if "sleep" in pager else b""
    seen, status = on_a_terminal("check", RIDGE, "--full", stop_at=stop, PAGER=pager)

    assert b"Traceback" not in seen
    assert status == 0
    assert (b"can be read" in seen) is (pager in ("cat", "head -n 3"))
    assert (b"Assumed" in seen) is (pager == "cat")


HEAVY = ("pint", "networkx", "scipy", "matplotlib", "jinja2", "pandas", "rich")


@pytest.mark.parametrize(
    ("args", "kept_out"),
    [
        (("--help",), (*HEAVY, "pydantic", "numpy", "fluids", "tabulate", "tomllib")),
        (("--version",), (*HEAVY, "pydantic", "numpy", "fluids", "tabulate", "tomllib")),
        (("size", RIDGE), HEAVY),
        (("check", RIDGE), HEAVY),
    ],
)
def test_a_command_imports_only_what_it_needs(
    args: tuple[str, ...], kept_out: tuple[str, ...]
) -> None:
    """Start-up stays light: each of these modules costs tens to hundreds of milliseconds."""
    code = (
        "import sys\nfrom supplycalc.cli import main\n"
        f"sys.argv[1:] = {list(args)!r}\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        f"print([name for name in {kept_out!r} if name in sys.modules], file=sys.stderr)\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=False, timeout=60
    )

    assert result.stderr.decode().splitlines()[-1] == "[]"


def test_no_output_replaces_a_file_of_its_own_call(tmp_path: Path) -> None:
    """The supply file, the price list and a second output survive -o and --force."""
    house = cottage(tmp_path)
    before = house.read_text(encoding="utf-8")
    prices = tmp_path / "prices.toml"
    prices.write_text((SCENARIOS / "prices" / "counter.toml").read_text(encoding="utf-8"))
    twin = tmp_path / "twin.toml"
    twin.symlink_to(house)

    calls = [
        run("size", house, "-o", house, "--force"),
        run("size", house, "-o", twin, "--force"),
        run("size", house, "--prices", prices, "-o", prices, "--force"),
        run("parts", house, "--prices", prices, "-o", prices, "--force"),
        run("layout", house, "--write", house, "--force"),
        run("layout", house, "--write", tmp_path / "w.toml", "-o", tmp_path / "w.toml"),
    ]

    assert [call.exit_code for call in calls] == [2] * 6
    assert all("the same call reads this file" in call.stderr for call in calls)
    assert house.read_text(encoding="utf-8") == before
    assert not (tmp_path / "w.toml").exists()


def test_of_two_writers_without_force_one_is_refused(tmp_path: Path) -> None:
    """Whoever comes second finds the file there, even where both looked before it was written."""
    target = tmp_path / "out.txt"
    write_whole(target, "first", force=False)
    looked: list[Path] = []

    def too_early(path: Path, *, force: bool) -> None:
        looked.append(path)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("supplycalc.output.destination._check_target", too_early)
        with pytest.raises(InputError, match="the file exists"):
            write_whole(target, "second", force=False)

    assert looked == [target]
    assert target.read_text(encoding="utf-8") == "first"
    assert list(tmp_path.iterdir()) == [target]


def test_stdout_takes_one_output() -> None:
    """A layout and its JSON on one stream would be neither."""
    result = run("layout", SCENARIOS / "ranch-on-slab.toml", "--write", "-", "--json")

    assert result.exit_code == 2
    assert "not both" in result.stdout


def test_the_next_step_can_be_pasted(tmp_path: Path) -> None:
    """A name with blanks is quoted for the shell."""
    page = run("check", cottage(tmp_path, name="my house")).stdout

    assert "my house.toml'" in " ".join(page.split()).split("Next: supplycalc size")[1]


ON_ONE_SCREEN = (
    *("check", "well", "demand", "day", "hot", "parts", "layout", "slab", "draw"),
    *("flow", "compare", "surge", "commission"),
)
MANY_OUTLETS = 40


@pytest.fixture
def telephone(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Whatever page is shown is drawn in 36 columns too: no line is longer, no word is cut."""
    amiss: list[str] = []

    def drawn(blocks: Iterable[Block], system: UnitSystem, **how: Any) -> str:
        page = list(blocks)
        narrow, wide = (to_text(page, system, width=width) for width in (36, 1000))
        words, known = (set(re.findall(r"[a-z]{4,}", text)) for text in (narrow, wide))
        amiss.extend(line for line in narrow.splitlines() if len(line) > 36)
        amiss.extend(sorted(words - known - {"more"}))  # of long names their number
        return to_text(page, system, **how)

    monkeypatch.setattr("supplycalc.output.terminal.to_text", drawn)
    monkeypatch.chdir(SCENARIOS)  # a path may be wider than any telephone
    yield
    assert amiss == []


VARIED = ("ranch-on-slab", "ridge-line", "town-house")


@pytest.mark.usefixtures("telephone")
@pytest.mark.parametrize("stem", VARIED)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_whole_pages_fit_a_telephone(stem: str, units: str) -> None:
    """Everything that every command tells, in either units."""
    for command in ("size", *ON_ONE_SCREEN[:9], "surge", "commission"):
        run(command, f"{stem}.toml", "--full", "--units", units)
    run("words")
    run("sources")


@pytest.mark.usefixtures("telephone")
@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_command_answers_on_one_screen(path: Path) -> None:
    """At most 30 lines of 80 letters, 45 for 40 fixtures; what can't be answered is an error."""
    sized = json.loads(run("size", path, "--json").stdout)
    taps = list(dict.fromkeys(fixture["name"] for fixture in sized["fixtures"]))[:2]
    asked = {
        "day": ("--days", "1", "--seed", "1"),
        "flow": [word for tap in taps for word in ("--open", tap)],
        "compare": ("--run", sized["runs"][0]["name"]),
    }
    outlets = len(sized["fixtures"])
    most = 30 if outlets < MANY_OUTLETS else 45
    for command in ON_ONE_SCREEN:
        options = asked.get(command, ())
        told = run(command, path.name, *options)
        if told.exit_code == 2:
            continue
        lines = told.stdout.splitlines()
        assert len(lines) <= most, (command, len(lines))
        assert max(map(len, lines)) <= 80, command
        assert command == "draw" or "--full" in lines[-1], command
