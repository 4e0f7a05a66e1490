"""Bad files: each input beside the line and words of its answer (bad_cases.toml)."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supplycalc.problems import InputError, Place
from supplycalc.reading import load, loads
from tests.reading.good import GOOD, problems_of, spoilt

with (Path(__file__).parent / "bad_cases.toml").open("rb") as stream:
    CASES = [(case["edits"], case["told"]) for case in tomllib.load(stream)["case"]]


def test_the_good_file_is_good() -> None:
    """What the cases spoil has no mistake of its own."""
    assert problems_of(GOOD) == []


@pytest.mark.parametrize(("edits", "expected"), CASES)
def test_each_mistake_is_told_with_its_line(edits: list[str], expected: list[str]) -> None:
    """Exactly the expected problems, in file order, and no echo of the same mistake."""
    problems = problems_of(spoilt(*edits))

    assert len(problems) == len(expected), problems
    for problem, words in zip(problems, expected, strict=True):
        assert problem == words or problem.startswith(f"{words}; "), problem


def test_all_mistakes_are_told_at_once_in_file_order() -> None:
    """Mistakes of every stage (keys, units, catalogue, rules, links) come in one error."""
    text = spoilt(
        'demand = "irc"', 'demand = "ircc"',
        '"60 psi"', '"30 psi"',
        '"44 gal"', '"44"',
        "[water]", "[watr]",
        '"180 ft"', '"180 psi"',
        'from = "entry"', 'from = "entri"',
        "ports = 2", "ports = 1",
        "elbow-90", "elbow-9",
        'hot = { from = "hot header"', 'hot = { from = "treated"',
        '"water-closet"', '"watercloset"',
    )  # fmt: skip
    with pytest.raises(InputError) as caught:
        loads(text, "cabin.toml")

    lines = [problem.place.line for problem in caught.value.problems]
    assert lines == [3, 9, 11, 19, 35, 42, 55, 65, 66, 70]
    assert str(caught.value).count("\n") == 9
    assert all(problem.place.file == "cabin.toml" for problem in caught.value.problems)


@pytest.mark.parametrize(
    ("content", "line", "part"),
    [
        (b"", 0, "the file is empty"),
        (b"# nothing but a remark\n\n", 0, "the file is empty"),
        (b"\x7fELF\x02\x01\n\x00\x00", 2, "not a text file (zero byte at offset 7)"),
        (GOOD.encode("utf-16"), 1, "UTF-16; save it as UTF-8"),
        (b'[project]\nname = "Caf\xe9"\n', 2, "not UTF-8: byte 0xe9 at offset 21"),
        (b"#" * 5_000_001, 0, "larger than 5 MB"),
        (b"a = " + b"[" * 20_000, 0, "nested too deeply"),
        (b"b = 1\na" + b".a" * 200_000 + b" = 1\n", 2, "the key has too many parts"),
        (b"[" + b"a." * 200_000 + b"a]\n", 1, "the key has too many parts"),
        (b"a = " + b"9" * 5_000, 0, "a number has too many digits"),
        (b"a = " + b"9" * 5_000, 0, "cannot be read as TOML"),
        (b"[project]\rname = 3\r", 1, "not TOML at column"),
    ],
)
def test_files_that_are_no_toml_text(tmp_path: Path, content: bytes, line: int, part: str) -> None:
    """A file that cannot be TOML is refused in plain words, with the line where there is one."""
    path = tmp_path / "house.toml"
    path.write_bytes(content)

    with pytest.raises(InputError) as caught:
        load(path)

    (problem,) = caught.value.problems
    assert problem.place == Place(str(path), line)
    assert part in problem.text


def test_missing_files_folders_and_forbidden_ones(tmp_path: Path) -> None:
    """What is not there, is a folder or may not be read is said so, with the nearest file."""
    (tmp_path / "ridge.toml").write_text(GOOD)
    cases = {
        tmp_path / "rigde.toml": "there is no such file; did you mean 'ridge.toml'?",
        tmp_path / "missing.toml": "there is no such file; choose from: ridge.toml",
        tmp_path / "no" / "such.toml": "there is no such file",
        tmp_path: "this is a folder, not a file; choose from: ridge.toml",
        tmp_path / "nul\0byte.toml": "the file cannot be read (embedded null byte)",
        tmp_path / ("n" * 300): "the file cannot be read (File name too long)",
    }
    for path, words in cases.items():
        with pytest.raises(InputError) as caught:
            load(path)

        assert [problem.text for problem in caught.value.problems] == [words]


def test_an_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No permission is said in plain words (raised by hand: an administrator may read all)."""

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(InputError, match=r"house.toml: the file may not be read \(no permission"):
        load(tmp_path / "house.toml")


def test_byte_order_mark_and_windows_line_ends_are_accepted(tmp_path: Path) -> None:
    """What editors on other systems write reads the same, with the same lines in messages."""
    path = tmp_path / "house.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())

    assert load(path).fixtures == loads(GOOD, str(path)).fixtures
    assert problems_of("\ufeff" + spoilt('"180 ft"', '"180"').replace("\n", "\r\n")) == problems_of(
        spoilt('"180 ft"', '"180"')
    )


PIECES = [*"\"[]{}=,.#\\\n'0-x ", '"""', "[[", "nan", "é"]
LINES = GOOD.splitlines(keepends=True)


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_only_input_errors_escape_from_broken_text(data: st.DataObject) -> None:
    """Characters put in, taken out or doubled anywhere: a house or an InputError, nothing else."""
    text = GOOD
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        end = min(len(text), at + data.draw(st.integers(0, 12)))
        middle = data.draw(st.sampled_from(PIECES))
        text = text[:at] + middle + text[end:]
    for problem in problems_of(text):
        assert ": " in problem


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_only_input_errors_escape_from_shuffled_lines(data: st.DataObject) -> None:
    """Lines left out, doubled and moved: mistakes that are good TOML reach every check."""
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(lines) - 1))
        action = data.draw(st.sampled_from(["drop", "double", "move"]))
        line = lines.pop(at) if action != "double" else lines[at]
        if action != "drop":
            lines.insert(data.draw(st.integers(0, len(lines))), line)
    for problem in problems_of("".join(lines)):
        assert ": " in problem


VALUES = ["true", "3", "-1.5", "nan", "inf", '""', '"5 psi"', '"-3 ft"', "[]", "{}", '["1"]',
          "{ a = 1 }", '"source"', '"entry"', '"bath"', "0xffffffffffffffffffffff",
          "1979-05-27", "[[[]]]",
          '"12 psi at 7 gpm"', '"cold manifold"', '"hot header"', '[["0 gpm", "1 ft"]]',
          '"pex-sdr9"', '"\\u202e"']  # fmt: skip
KEYED = [number for number, line in enumerate(LINES) if " = " in line]


@settings(max_examples=250, deadline=None)
@given(edits=st.dictionaries(st.sampled_from(KEYED), st.sampled_from(VALUES), max_size=4))
def test_only_input_errors_escape_from_wrong_values(edits: dict[int, str]) -> None:
    """Any key with a value of any kind: a house or an InputError, nothing else."""
    lines = list(LINES)
    for number, value in edits.items():
        lines[number] = f"{lines[number].partition(' = ')[0]} = {value}\n"
    for problem in problems_of("".join(lines)):
        assert ": " in problem


FOLDER = Path(__file__).parents[1] / "commands" / "bad_files"
with (FOLDER / "expected.toml").open("rb") as stream:
    EXPECTED = {file["name"]: file["told"] for file in tomllib.load(stream)["file"]}


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_the_files_that_the_commands_are_tried_on(name: str) -> None:
    """The bad files for the command line are answered as their list says; none is left out."""
    with pytest.raises(InputError) as caught:
        load(FOLDER / name)

    assert [
        f"{problem.place.line}: {problem.text}" for problem in caught.value.problems
    ] == EXPECTED[name]
    assert {path.name for path in FOLDER.glob("*.toml")} == {*EXPECTED, "expected.toml"}
