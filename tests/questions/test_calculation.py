"""The calculation sheet, followed by a script that knows nothing but what is printed on it."""

from __future__ import annotations

import math
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from scipy.optimize import brentq

import supplycalc
from supplycalc.questions.report.calculation import calculation, printed
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Design
from supplycalc.units import show
from tests.houses import two_storey

SCENARIOS = {path.stem: path for path in (Path(__file__).parents[2] / "scenarios").glob("*.toml")}
CONSTANTS = {"1", "2", "3.7", "2.51", "10", "64", "2000", "0.7", "1.852", "4.8704"}
"""Numbers that stand in a formula itself."""


class Rows(HTMLParser):
    """The cells of every row of the tables of class "sheet", as a reader sees them."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self._inside = self._cell = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A new table, row or cell."""
        if tag == "div":
            self._inside = "sheet" in (dict(attrs).get("class") or "").split()
        elif self._inside and tag == "tr":
            self.rows.append([])
        elif self._inside and tag in ("td", "th"):
            self._cell = True
            self.rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        """The end of a cell."""
        if tag in ("td", "th"):
            self._cell = False

    def handle_data(self, data: str) -> None:
        """What a cell says."""
        if self._cell:
            self.rows[-1][-1] += data


def value_of(expression: str) -> float:
    """What a line of printed numbers comes to."""
    text = expression.replace("×", "*").replace("−", "-").replace("²", "**2").replace("^", "**")
    text = text.replace("√", "sqrt")
    assert re.fullmatch(r"[-+*/(). 0-9a-z]*", text), text
    known = {"exp": math.exp, "log2": math.log2, "sqrt": math.sqrt}
    return float(eval(text, {"__builtins__": {}}, known))


def colebrook(expression: str) -> float:
    """The f that satisfies 1/√f = −2 log10(x/3.7 + 2.51/(Re √f)), by bisection."""
    found = re.fullmatch(r"1/√f = −2 log10\(([\d.]+)/3.7 \+ 2.51/\(([\d.]+) √f\)\)", expression)
    assert found is not None, expression
    rough, reynolds = map(float, found.groups())

    def off(f: float) -> float:
        return 1 / math.sqrt(f) + 2 * math.log10(rough / 3.7 + 2.51 / (reynolds * math.sqrt(f)))

    return float(brentq(off, 1e-3, 1.0, xtol=1e-14))


def least_flow(statement: str, words: str) -> float:
    """The Q of "P(n × (p, q) + … ≤ Q) ≥ c": all numbers of busy fixtures, each with its chance."""
    inside = re.fullmatch(r"P\((.*) ≤ Q\) ≥ ([\d.]+)", statement)
    step = re.search(r"in steps of ([\d.]+) ", words)
    assert inside is not None, statement
    assert step is not None, words
    chances: dict[int, float] = {0: 1.0}
    for n, p, q in re.findall(r"(\d+) × \(([\d.]+), ([\d.]+)\)", inside[1]):
        steps = float(q) / float(step[1])
        steps = round(steps) if abs(steps - round(steps)) < 1e-3 else steps
        low, share = math.floor(steps), steps - math.floor(steps)
        each = {0: 1.0 - float(p), low: float(p) * (1.0 - share)}
        if share:
            each[low + 1] = float(p) * share
        for _ in range(int(n)):
            grown: dict[int, float] = {}
            for at, chance in chances.items():
                for more, its in each.items():
                    grown[at + more] = grown.get(at + more, 0.0) + chance * its
            chances = grown
    total = 0.0
    for at in sorted(chances):
        total += chances[at]
        if total >= float(inside[2]) - 1e-12:
            return at * float(step[1])
    raise AssertionError(statement)


def same_digits(value: float, shown: str) -> bool:
    """Whether a value, rounded to the digits of a printed number, is that number."""
    decimals = len(shown.partition(".")[2])
    return abs(value - float(shown.replace("−", "-"))) <= 0.5001 * 10.0**-decimals


METHODS = [
    *((name, None) for name in sorted(SCENARIOS)),
    ("ridge-cottage", "exact"),
    ("town-house", "exact"),
    ("valley-house", "peak-demand-study"),
    ("bunkhouse", "peak-demand-study"),
    ("old-farmhouse", "en806"),
]


@pytest.mark.parametrize(("name", "method"), METHODS)
def test_every_line_is_reproduced_from_the_printed_numbers(name: str, method: str | None) -> None:
    """Each line's numbers give its result to the digit, and stand on the sheet before."""
    reader = Rows()
    house = supplycalc.load(SCENARIOS[name])
    if method is not None:
        house = supplycalc.replace(house, project=supplycalc.replace(house.project, demand=method))
    reader.feed(supplycalc.report(house))
    # the first table is of given figures alone and has no column of numbers
    lines = [row if len(row) == 5 else [*row[:2], "", *row[2:]] for row in reader.rows]
    lines = [row for row in lines if row[0] != "what"]
    known = set(CONSTANTS)
    computed = 0
    for words, formula, numbers, result, _ in lines:
        shown = result.split(" ")[0]
        assert "by method '" not in words, "no flow is the method's own word"
        if result == "used up":
            continue
        if numbers:
            if numbers.startswith("P("):
                step = 0.5 * 10.0 ** -len(shown.partition(".")[2])
                assert least_flow(numbers, words) == pytest.approx(float(shown), abs=20 * step)
            else:
                value = colebrook(numbers) if "√f" in numbers else value_of(numbers)
                assert same_digits(value, shown), (words, numbers, result)
            computed += 1
            if not re.match(r"P0|A = |V = |Q = least", formula) and "read between" not in words:
                used = re.findall(r"(?<![a-z])\d+(?:\.\d+)?", re.sub(r"log\d+", "", numbers))
                told = known | set(re.findall(r"\d+(?:\.\d+)?", words + formula))
                assert [number for number in used if number not in told] == [], (words, numbers)
        known.add(shown.lstrip("−"))

    assert computed > 10


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize(
    "name",
    [
        "ridge-cottage",
        "ridge-line",
        "lake-hut",
        "orchard-house",
        "two-houses-and-a-barn",
        "two-wells-farm",
        "weak-well-cistern",
        "cistern-booster",
    ],
)
def test_the_sheet_begins_at_the_water_and_comes_to_the_gauge(name: str, system: str) -> None:
    """Level, lift, pump and pipe leave what the source is counted on for; without a level none."""
    house = supplycalc.load(SCENARIOS[name])
    sheet = calculation(size(house, mend=False), system)

    assert [line.symbol for line in sheet.water[:2]] == ["Q", "z"]
    last = float(sheet.water[-1].result)
    assert last == pytest.approx(float(sheet.way[0].result), abs=0.006 * last)
    assert "the flow at which" in sheet.water[0].words
    heads = {line.unit for line in sheet.water if line.symbol in "zshT"}
    assert heads == {"ft" if system == "us" else "m"}
    well = supplycalc.replace(house.source.well, static_level=None)
    unknown = supplycalc.replace(house, source=supplycalc.replace(house.source, well=well))
    assert calculation(size(unknown, mend=False), system).water == ()


def test_what_a_european_pipe_carries_is_told() -> None:
    """The rows between which a flow is read follow from the inside that each row names."""
    design = size(supplycalc.load(SCENARIOS["holiday-house"]), mend=False)
    table = calculation(design, "metric").readings
    assert table is not None

    for units, flow, why in table.rows[1:]:
        pipe = re.search(r" for (\d+), inside ([\d.]+) mm, at 2 m/s", str(why))
        assert pipe is not None
        assert int(pipe[1]) >= float(str(units)), "a pipe for more units may decide for fewer"
        area = math.pi / 4 * (float(pipe[2]) / 1000) ** 2
        assert float(str(flow)) == pytest.approx(2.0 * area * 60000, rel=1e-4)
    assert float(str(table.rows[-1][0])) > design.demand.load[0]


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("name", sorted(SCENARIOS))
def test_the_sheet_ends_at_the_pressures_of_size(name: str, system: str) -> None:
    """Pressure at the end of every run, to the digit that all other pages show."""
    design = size(supplycalc.load(SCENARIOS[name]), mend=False)
    sheet = calculation(design, system)
    pressures = {str(row[0]): str(row[-1]) for row in sheet.runs.rows}
    for run in design.runs:
        told = pressures[run.name]
        if run.end_pressure < 0.0:
            assert told == "used up"
        else:
            digits = len(show(run.end_pressure, "pressure", system, unit=False).partition(".")[2])
            assert f"{float(told):.{digits}f}" == show(
                run.end_pressure, "pressure", system, unit=False
            )


def test_no_pressure_below_zero_stands_on_the_sheet() -> None:
    """Where it is used up the sheet says so and shows no figures behind."""
    design = size(supplycalc.load(SCENARIOS["tower-loft"]), mend=False)
    sheet = calculation(design, "us")

    behind = [line for line in sheet.way if line.symbol == "P" and line.result == "used up"]
    assert behind
    assert all(not line.numbers for line in behind)
    assert sheet.worst_pressure == "used up"
    assert not any(str(row[-1]).startswith("−") for row in sheet.runs.rows)


def test_factors_of_the_units_by_their_definitions() -> None:
    """US: 231 cubic inches to the gallon, 32.174 ft/s2; metric: litres a minute and millimetres."""
    given = {
        system: {line.symbol: line.result for line in calculation(sized(), system).given}
        for system in ("us", "metric")
    }

    assert same_digits(231 / 60 / (math.pi / 4) / 12, given["us"]["a"])
    assert same_digits(12 / (2 * 32.17405 * 144), given["us"]["m"])
    assert same_digits(1 / 144, given["us"]["w"])
    assert same_digits(1e6 / 60000 / (math.pi / 4), given["metric"]["a"])
    assert same_digits(9.80665e-3, given["metric"]["w"])


def test_a_main_is_followed_from_what_was_read_at_it() -> None:
    """No figure of the file's is told as "the file" that stands nowhere in it."""
    sheet = calculation(size(supplycalc.load(SCENARIOS["old-farmhouse"]), mend=False), "us")

    first = sheet.way[0]
    assert first.numbers == "68 − (68 − 58) × (16.95 / 12)^1.852"
    assert same_digits(value_of(first.numbers), first.result)
    assert first.source.startswith("NFPA 291")


def test_the_figures_of_a_column_have_the_same_digits() -> None:
    """Exact ones end at the same decimal, computed ones at the same number of digits."""
    sheet = calculation(size(supplycalc.load(SCENARIOS["old-farmhouse"]), mend=False), "us")
    assert sheet.loads is not None
    columns = {
        column.name: [str(cell) for cell in cells]
        for table in (sheet.runs, sheet.loads)
        for column, cells in zip(table.columns, zip(*table.rows, strict=True), strict=True)
    }

    for name in ("L", "fixture units", "Q", "d", "P", "on its hot pipe"):
        decimals = {len(cell.partition(".")[2]) for cell in columns[name] if cell != "None"}
        assert len(decimals) == 1, (name, columns[name])
    for name in ("v", "f", "R", "K"):
        significant = {
            len(cell.replace(".", "").lstrip("−0")) for cell in columns[name] if cell != "0"
        }
        assert significant == {sheet.digits}, (name, columns[name])
    assert all(column.is_number for column in sheet.runs.columns[1:])


def sized() -> Design:
    """A small house."""
    return size(two_storey(), mend=False)


def test_loads_and_flows_of_a_house_with_hazen_williams() -> None:
    """By C the sheet has no Reynolds number, and still ends where the design does."""
    house = two_storey()
    project = supplycalc.replace(house.project, friction="hazen-williams")
    design = size(supplycalc.replace(house, project=project), mend=False)
    sheet = calculation(design, "us")

    assert all(line.symbol not in ("Re", "f") for line in sheet.way)
    worst = show(max(design.worst.residual, 0.0), "pressure", "us", unit=False)
    assert f"{float(sheet.worst_pressure):.1f}" == worst


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(0.0, 5, "0"), (85.0, 5, "85"), (-4.33387, 5, "−4.3339"), (40657.3, 5, "40657"),
     (412345.6, 5, "412346"), (0.0000561892, 5, "0.000056189")],
)  # fmt: skip
def test_numbers_are_printed_plainly(value: float, digits: int, text: str) -> None:
    """Never in powers of ten, no idle zeros, a true minus."""
    assert printed(value, digits) == text


def test_loads_of_fixtures_add_up_to_those_of_their_pipes() -> None:
    """By a method without groups, what a manifold's port feeds is what the fixture counts."""
    design = size(supplycalc.load(SCENARIOS["ridge-cottage"]), mend=False)
    sheet = calculation(design, "us")
    assert sheet.loads is not None
    by_name = {str(row[0]): row for row in sheet.loads.rows}
    loads = {run.name: run.load for run in design.runs}

    for name, _, cold, hot in by_name.values():
        for side, shown in (("cold", cold), ("hot", hot)):
            if shown is not None:
                assert float(str(shown)) == pytest.approx(loads[f"{name} {side}"])


def test_what_is_listed_is_added_up() -> None:
    """The flows of the named fixtures stand in the line of the pipe that feeds them."""
    design = size(supplycalc.load(SCENARIOS["slow-well"]), mend=False)
    line = next(it for it in calculation(design, "us").way if it.formula == "sum")

    assert value_of(line.numbers) == pytest.approx(float(line.result))
