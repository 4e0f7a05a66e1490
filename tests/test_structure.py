"""House rules that a machine can check: import order, homes of libraries, docstrings, length."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "supplycalc"

ORDER = (
    "records",
    "problems",
    "model",
    "units",
    "tables",
    "catalogue",
    "hydraulics.factor",
    "hydraulics.water",
    "hydraulics.friction",
    "hydraulics.fittings",
    "reading",
    "tree",
    "demand",
    "hydraulics",
    "design",
    "supply",
    "sizing",
    "delivery",
    "assumptions",
    "findings",
    "solve",
    "studies",
    "report",
    "api",
    "",
    "cli",
    "__main__",
)
"""Stages from the top down; a longer name wins over a shorter one; "" is supplycalc/__init__.py."""

HOMES = {
    "pint": {"units"},
    "typer": {"cli", "__main__"},
    "click": {"cli"},
    "tabulate": {"report"},
    "fluids": {"hydraulics.factor", "hydraulics.friction", "hydraulics", "supply"},
}

SHOWS_ITSELF = "to_dict"
"""A result's own method that may know the report: imported inside it, so that nothing else does."""

LONGEST = 400


def stage(module: str) -> str:
    """The longest entry of ORDER that is this module or a folder above it."""
    parts = module.split(".")
    while parts and ".".join(parts) not in ORDER:
        parts.pop()
    return ".".join(parts)


def module_name(path: Path, package: Path) -> str:
    """`sizing/size.py` -> "sizing.size"; a folder's __init__.py is the folder itself."""
    parts = list(path.relative_to(package).with_suffix("").parts)
    if parts[-1] == "__init__":
        parts.pop()
    return ".".join(parts)


def imported(path: Path) -> Iterator[str]:
    """Every module named in an import, relative ones as "." so that they are refused."""
    nodes: list[ast.AST] = [ast.parse(path.read_text(encoding="utf-8"))]
    while nodes:
        node = nodes.pop()
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield "." if node.level else node.module or ""
        elif not (isinstance(node, ast.FunctionDef) and node.name == SHOWS_ITSELF):
            nodes.extend(ast.iter_child_nodes(node))


def backward_or_misplaced(package: Path) -> Iterator[str]:
    """Imports that run against the order, and libraries outside their home."""
    for path in sorted(package.rglob("*.py")):
        here = module_name(path, package)
        for name in imported(path):
            top, _, rest = name.partition(".")
            if name == ".":
                yield f"{here}: relative import"
            elif top == package.name:
                if ORDER.index(stage(rest)) > ORDER.index(stage(here)):
                    yield f"{here} imports {rest}, which comes later"
            elif top in HOMES and stage(here) not in HOMES[top]:
                yield f"{here} imports {top}, whose home is {sorted(HOMES[top])}"


def test_imports_follow_the_order() -> None:
    """No module imports one that stands below it, and each library stays in its home."""
    assert list(backward_or_misplaced(PACKAGE)) == []


def test_the_check_of_the_order_can_fail(tmp_path: Path) -> None:
    """A toy package with a backward import, a misplaced library and a relative one is refused."""
    toy = tmp_path / "supplycalc"
    (toy / "sizing").mkdir(parents=True)
    (toy / "tree.py").write_text("from supplycalc.sizing.size import choose\nimport pint\n")
    (toy / "sizing" / "size.py").write_text("from . import fronts\n")

    found = list(backward_or_misplaced(toy))

    assert len(found) == 3


def public_functions(path: Path) -> Iterator[ast.FunctionDef]:
    """Module-level functions without an underscore."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node


CONTRACT = (
    "hydraulics",
    "supply",
    "demand",
    "sizing",
    "delivery",
    "solve.py",
    "tree.py",
    "studies",
)


def docstring_faults(function: ast.FunctionDef) -> Iterator[str]:
    """What a public function's docstring lacks of the contract."""
    text = ast.get_docstring(function) or ""
    if not text:
        yield f"{function.name}: no docstring"
        return
    if "\n" not in text:
        if "[" not in text and function.args.args:
            yield f"{function.name}: a one-line docstring needs its unit in brackets"
        return
    arguments = function.args.posonlyargs + function.args.args + function.args.kwonlyargs
    for argument in arguments:
        line = re.search(rf"^ +{argument.arg}:(?:.|\n(?!    \S+:|\S))*\[", text, re.MULTILINE)
        if line is None:
            yield f"{function.name}: argument {argument.arg} has no line with a bracketed unit"
    if "Source:" not in text:
        yield f"{function.name}: no source"


@pytest.mark.parametrize("folder", CONTRACT)
def test_docstrings_give_units_and_sources(folder: str) -> None:
    """Public functions of the computing stages give each argument's unit and their source."""
    root = PACKAGE / folder
    paths = [root] if root.is_file() else sorted(root.rglob("*.py"))

    faults = [
        f"{path.name}: {fault}"
        for path in paths
        for function in public_functions(path)
        for fault in docstring_faults(function)
    ]

    assert faults == []


def test_modules_stay_short() -> None:
    """No module is past 400 lines: one room, one purpose."""
    lengths = {
        str(path.relative_to(PACKAGE)): len(path.read_text(encoding="utf-8").splitlines())
        for path in PACKAGE.rglob("*.py")
    }

    assert {name: length for name, length in lengths.items() if length > LONGEST} == {}


def test_nothing_prints_but_the_command_line() -> None:
    """The core returns data; print stands in cli only."""
    printing = [
        str(path.relative_to(PACKAGE))
        for path in PACKAGE.rglob("*.py")
        if "cli" not in path.parts
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "print"
    ]

    assert printing == []


def test_plain_records_come_from_records() -> None:
    """A frozen dataclass without more is taken from `records`, which is quicker to load."""
    plain = re.compile(r"^@dataclass\(frozen=True, slots=True(, kw_only=True)?\)", re.MULTILINE)
    library = re.compile(r"^from dataclasses import .*\bdataclass\b", re.MULTILINE)
    texts = {
        str(path.relative_to(PACKAGE)): path.read_text(encoding="utf-8")
        for path in PACKAGE.rglob("*.py")
    }

    assert [name for name, text in texts.items() if plain.search(text)]
    assert [n for n, text in texts.items() if plain.search(text) and library.search(text)] == []
