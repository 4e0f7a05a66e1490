"""House rules that a machine can check: import order, homes of libraries, docstrings, length."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import networkx

PACKAGE = Path(__file__).parent.parent / "supplycalc"

ORDER = (
    "problems",
    "units",
    "tables",
    "catalogue",
    "model",
    "records",
    "reading",
    "hydraulics.numbers",
    "network",
    "hydraulics",
    "demand",
    "supply",
    "sizing",
    "delivery",
    "chance",
    "findings",
    "output",
    "questions",
    "questions.size",
    "questions.compare",
    "questions.demand",
    "questions.surge",
    "questions.flow",
    "questions.hot",
    "questions.parts",
    "questions.layout",
    "questions.slab",
    "questions.well",
    "questions.day",
    "questions.check",
    "questions.gauge",
    "questions.risk",
    "questions.batch",
    "questions.draw",
    "questions.commission",
    "questions.report",
    "questions.sources",
    "questions.schema",
    "api",
    "",
    "cli",
    "__main__",
)
"""From the top down; a longer name wins over a shorter one; "" is supplycalc/__init__.py."""

LAST_QUESTION = "questions.schema"
"""A question that is not in ORDER stands with the last and may use all the others."""

HOMES = {
    "pint": {"units"},
    "typer": {"cli", "__main__", "output", "questions"},
    "click": {"cli"},
    "tabulate": {"output"},
    "uniplot": {"output"},
    "matplotlib": {"output"},
    "jinja2": {"output"},
    "watchfiles": {"questions"},
    "fluids": {"hydraulics"},
}


def stage(module: str) -> str:
    """The longest entry of ORDER that is this module or a folder above it."""
    parts = module.split(".")
    if parts[0] == "questions" and len(parts) > 1 and ".".join(parts[:2]) not in ORDER:
        return LAST_QUESTION
    while parts and ".".join(parts) not in ORDER:
        parts.pop()
    return ".".join(parts)


def module_name(path: Path, package: Path) -> str:
    """`sizing/size.py` -> "sizing.size"; a folder's __init__.py is the folder itself."""
    parts = list(path.relative_to(package).with_suffix("").parts)
    if parts[-1] == "__init__":
        parts.pop()
    return ".".join(parts)


def home(module: str) -> str:
    """The stage whose libraries a module may use: all questions are one."""
    return stage(module).partition(".")[0]


def imported(path: Path) -> Iterator[str]:
    """Every module named in an import, relative ones as "." so that they are refused."""
    nodes: list[ast.AST] = [ast.parse(path.read_text(encoding="utf-8"))]
    while nodes:
        node = nodes.pop()
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield "." if node.level else node.module or ""
        else:
            nodes.extend(ast.iter_child_nodes(node))


def backward_or_misplaced(package: Path) -> Iterator[str]:
    """Imports that run against the order, and libraries outside their home."""
    for path in sorted(package.rglob("*.py")):
        module = module_name(path, package)
        for name in imported(path):
            top, _, rest = name.partition(".")
            if name == ".":
                yield f"{module}: relative import"
            elif top == package.name:
                if ORDER.index(stage(rest)) > ORDER.index(stage(module)):
                    yield f"{module} imports {rest}, which comes later"
            elif top in HOMES and home(module) not in HOMES[top]:
                yield f"{module} imports {top}, whose home is {sorted(HOMES[top])}"


def test_imports_follow_the_order() -> None:
    """No module imports one that stands below it, and each library stays in its home."""
    assert list(backward_or_misplaced(PACKAGE)) == []


def test_the_check_of_the_order_can_fail(tmp_path: Path) -> None:
    """A toy package with a backward import, a misplaced library and a relative one is refused."""
    toy = tmp_path / "supplycalc"
    (toy / "sizing").mkdir(parents=True)
    (toy / "network.py").write_text("from supplycalc.sizing.size import choose\nimport pint\n")
    (toy / "sizing" / "size.py").write_text("from . import fronts\n")

    problems = list(backward_or_misplaced(toy))

    assert len(problems) == 3


def module_graph(package: Path) -> networkx.DiGraph:
    """Every module and the modules it imports, wherever the import stands."""
    modules = {
        f"{package.name}.{module_name(path, package)}".rstrip("."): path
        for path in package.rglob("*.py")
    }
    graph = networkx.DiGraph()
    for module, path in modules.items():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                named = [f"{node.module}.{alias.name}" for alias in node.names]
                targets = [name if name in modules else node.module or "" for name in named]
            elif isinstance(node, ast.Import):
                targets = [alias.name for alias in node.names]
            else:
                continue
            graph.add_edges_from((module, target) for target in targets if target in modules)
    return graph


def test_no_modules_import_each_other_in_a_ring() -> None:
    """Lazy imports and those for types count."""
    rings = networkx.strongly_connected_components(module_graph(PACKAGE))

    assert [sorted(ring) for ring in rings if len(ring) > 1] == []


FACADE = frozenset({"api", "cli", "__main__"})
"""Modules that repeat names on purpose: the API has the words of what it calls."""


def test_a_public_name_means_one_thing() -> None:
    """No two public classes or functions of one name, but `command` of each question."""
    homes: dict[str, list[str]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        if path.stem in FACADE:
            continue
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            named = isinstance(node, ast.FunctionDef | ast.ClassDef)
            if named and not node.name.startswith("_") and node.name != "command":
                homes.setdefault(node.name, []).append(module_name(path, PACKAGE))

    assert {name: where for name, where in homes.items() if len(where) > 1} == {}


def public_functions(path: Path) -> Iterator[ast.FunctionDef]:
    """Module-level functions without an underscore."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node


PLAIN_NUMBERS = {"float", "int", "float | None", "int | None"}
"""Types that say no unit."""


def docstring_faults(function: ast.FunctionDef) -> Iterator[str]:
    """What a public function's docstring lacks: itself, or the unit of a plain number."""
    text = ast.get_docstring(function) or ""
    if not text:
        yield f"{function.name}: no docstring"
    _, args, rest = text.partition("Args:\n")
    if not args:
        return
    explained = set(re.findall(r"^    (\w+):", rest.partition("\n\n")[0], re.MULTILINE))
    spelled = function.args
    arguments = spelled.posonlyargs + spelled.args + spelled.kwonlyargs
    others = [argument for argument in (spelled.vararg, spelled.kwarg) if argument is not None]
    plain = {
        argument.arg
        for argument in arguments
        if argument.annotation is not None and ast.unparse(argument.annotation) in PLAIN_NUMBERS
    }
    for name in sorted(plain - explained):
        yield f"{function.name}: the number {name} is not explained"
    for name in sorted(explained - {argument.arg for argument in arguments + others}):
        yield f"{function.name}: explains {name}, which is no argument"


def test_docstrings_explain_numbers() -> None:
    """Public functions say what they are for; where they explain arguments, no number is left out
    and none is explained that does not exist."""
    faults = [
        f"{path.relative_to(PACKAGE)}: {fault}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for function in public_functions(path)
        for fault in docstring_faults(function)
    ]

    assert faults == []


def test_nothing_prints_but_the_command_line() -> None:
    """The core returns data; print stands in cli only."""
    printing = [
        str(path.relative_to(PACKAGE))
        for path in PACKAGE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "print"
    ]

    assert printing == []
