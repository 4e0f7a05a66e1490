"""`supplycalc parts` and `size --prices` on real files."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from typer.testing import CliRunner

import supplycalc
from supplycalc.cli import app
from supplycalc.questions.parts.options import PartsOptions
from supplycalc.records.schema import result_schema
from tests.commands.files import SCENARIOS, cottage

RUNNER = CliRunner()
FILES = sorted(SCENARIOS.glob("*.toml"))
RIDGE = SCENARIOS / "ridge-cottage.toml"
COUNTER = SCENARIOS / "prices" / "counter.toml"


def run(*args: object) -> Any:
    """Call the program in this process."""
    return RUNNER.invoke(app, [str(arg) for arg in args])


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
def test_every_scenario_fits_the_terminal(file: Path) -> None:
    """With and without prices within 80 columns; status 0 or 1."""
    for arguments in ((), ("--prices", COUNTER)):
        result = run("parts", file, *arguments)
        lines = result.stdout.splitlines()

        assert result.exit_code in (0, 1)
        assert "of pipe for" in lines[0]
        assert max(map(len, lines)) <= 80
        assert not re.search(r"\{\d", result.stdout)


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
def test_lengths_are_those_of_size(file: Path) -> None:
    """Pipe of the list = runs of `size`, by tube and size; never less bought than cut."""
    data = json.loads(run("parts", file, "--json").stdout)
    runs = json.loads(run("size", file, "--json").stdout)["runs"]
    pump = supplycalc.load(file).source.pump
    measured = pump is not None and pump.measured_flow is not None  # its pipe is there
    back = {run.name for run in supplycalc.load(file).runs if run.fed_back}  # bought once
    by_size: dict[tuple[str, str], float] = {}
    for result in runs:
        if (result["before_tank"] and measured) or result["name"] in back:
            continue
        key = (result["material"], result["size"])
        by_size[key] = by_size.get(key, 0.0) + result["length"]["value"]
    listed: dict[tuple[str, str], float] = {}
    for lot in data["pipe"]:
        key = (lot["material"], lot["size"])
        listed[key] = listed.get(key, 0.0) + lot["length"]["value"]
        assert lot["cut_length"]["value"] == pytest.approx(
            lot["length"]["value"] * (1 + data["waste"]), rel=1e-9
        )
        assert lot["bought_length"]["value"] >= lot["cut_length"]["value"] * (1 - 1e-9)
        for coil in lot["cuts"]:
            held = sum(piece["length"]["value"] for piece in coil["pieces"])
            assert held <= coil["stock"]["value"] * (1 + 1e-9)

    assert listed == pytest.approx(by_size, rel=1e-9)


def test_total_is_the_sum_of_what_has_a_price() -> None:
    """And what has none is named."""
    data = json.loads(run("parts", RIDGE, "--prices", COUNTER, "--json").stdout)
    amounts = [item["amount"] for item in data["items"] if item["amount"] is not None]

    assert data["schema"] == "supplycalc-parts/1"
    assert data["prices"]["total"] == pytest.approx(sum(amounts), abs=0.005)
    assert len(data["prices"]["missing"]) == sum(item["price"] is None for item in data["items"])
    assert data["prices"]["currency"] == "USD"
    assert data["prices"]["date"] == "2026-03-01"


def test_csv_opens_safely(tmp_path: Path) -> None:
    """Every item, sizes with their unit so that none turns into a date, nothing that runs."""
    target = tmp_path / "parts.csv"
    assert run("parts", RIDGE, "--prices", COUNTER, "-o", target).exit_code == 0
    with target.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))
    data = json.loads(run("parts", RIDGE, "--prices", COUNTER, "--json").stdout)

    assert len(rows) - 1 == len(data["items"])
    count = rows[0].index("count")
    assert [int(row[count]) for row in rows[1:]] == [item["count"] for item in data["items"]]
    size = rows[0].index("size")
    assert all(not re.fullmatch(r"[0-9]+[-/][0-9/-]*", row[size]) for row in rows[1:])
    assert {row[size] for row in rows[1:] if row[1] == "coil"} <= {
        "3/8 in", "1/2 in", "3/4 in", "1 in", "1-1/4 in",
    }  # fmt: skip
    assert all(not cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row)


def test_hostile_names_do_not_run(tmp_path: Path) -> None:
    """A run called like a formula gets an apostrophe."""
    file = cottage(tmp_path)
    text = file.read_text(encoding="utf-8").replace('"service"', '"=1+1"')
    file.write_text(text, encoding="utf-8")
    target = tmp_path / "parts.csv"
    run("parts", file, "-o", target)
    with target.open(encoding="utf-8", newline="") as stream:
        cells = [cell for row in csv.reader(stream) for cell in row]

    assert not any(cell.startswith("=") for cell in cells)
    assert any(cell.startswith("'=1+1") for cell in cells)


def test_options_side_by_side() -> None:
    """One row each, the cheapest that works named in the first line."""
    result = run("parts", RIDGE, "--prices", COUNTER, "--run", "service", "--sizes", "3/4,1,1-1/4")
    data = json.loads(
        run(
            "parts", RIDGE, "--prices", COUNTER, "--run", "service", "--sizes", "3/4,1,1-1/4",
            "--json",
        ).stdout
    )  # fmt: skip

    assert result.stdout.startswith("service: ")
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert [option["size"] for option in data["options"]] == ["3/4", "1", "1-1/4"]
    works = [option for option in data["options"] if option["ok"]]
    assert data["options"][data["best"]]["total"] == min(option["total"] for option in works)
    assert all(
        option["total"] == pytest.approx(option["parts"]["prices"]["total"], abs=0.005)
        for option in data["options"]
    )


def test_the_schema_describes_options_side_by_side() -> None:
    """Every key of the answer, of each choice too, with and without a price list."""
    schema = result_schema(PartsOptions)
    for prices in ((), ("--prices", COUNTER)):
        printed = run("parts", RIDGE, *prices, "--run", "service", "--sizes", "1", "--json").stdout
        data = json.loads(printed)

        jsonschema.validate(data, schema)
        assert set(data) == set(schema["properties"])
        described = schema["properties"]["options"]["items"]["properties"]
        assert set(data["options"][0]) == set(described)


def test_size_by_price() -> None:
    """JSON says so, and the cost is the priced one."""
    data = json.loads(run("size", "--full", RIDGE, "--prices", COUNTER, "--json").stdout)
    prices = supplycalc.load_prices(COUNTER)
    by_hand = sum(
        min(price.price / price.length for price in prices.pipe(run["material"], run["size"]))
        * run["length"]["value"]
        * 0.3048
        for run in data["runs"]
    )

    assert data["cost"]["basis"] == "price list"
    assert data["cost"]["total"]["value"] == pytest.approx(by_hand, rel=1e-9)
    assert data["cost"]["total"]["unit"] == "USD"
    assert f"{by_hand:,.2f} USD for pipe, by the price list" in " ".join(
        run("size", "--full", RIDGE, "--prices", COUNTER, "--full").stdout.split()
    )


def test_a_list_that_prices_nothing_is_said_so(tmp_path: Path) -> None:
    """Not "0.00 USD" for a house of tube and parts that the counter does not keep."""
    other = tmp_path / "prices.toml"
    other.write_text(
        '[list]\nname = "Other counter"\ndate = "2026-03-01"\ncurrency = "USD"\n\n'
        '[[pipe]]\nmaterial = "pvc-sch80"\nsize = "2"\nlength = "20 ft"\nprice = 60.0\n',
        encoding="utf-8",
    )
    result = run("parts", RIDGE, "--prices", other)

    assert "none of it has a price in" in " ".join(result.stdout.split())
    assert "0.00 USD" not in result.stdout


def test_sizes_by_price_in_the_list() -> None:
    """--by-price lists the design of `size --prices`."""
    sizes = {
        result["name"]: result["size"]
        for result in json.loads(run("size", RIDGE, "--prices", COUNTER, "--json").stdout)["runs"]
    }
    data = json.loads(run("parts", RIDGE, "--prices", COUNTER, "--by-price", "--json").stdout)
    listed = {name: lot["size"] for lot in data["pipe"] for name in lot["runs"]}

    assert listed == sizes


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--waste", "12"), "has no unit"),
        (("--waste", "150 %"), "is not waste"),
        (("--prices", "nowhere.toml"), "there is no such file"),
        (("--by-price",), "needs a price list"),
        (("--run", "servce", "--sizes", "1"), "did you mean 'service'?"),
    ],
)
def test_wrong_calls(arguments: tuple[str, ...], message: str) -> None:
    """Status 2, said on stderr, nothing on stdout."""
    result = run("parts", RIDGE, *arguments)

    assert result.exit_code == 2
    assert message in result.stderr
    assert result.stdout == ""


def test_wrong_price_list(tmp_path: Path) -> None:
    """File and line, the nearest word."""
    bad = tmp_path / "prices.toml"
    bad.write_text(
        '[list]\ndate = "2026-03-01"\ncurrency = "USD"\n[[part]]\nkind = "elbow-9"\nprice = 1\n',
        encoding="utf-8",
    )
    result = run("parts", RIDGE, "--prices", bad)

    assert result.exit_code == 2
    assert f"{bad}:5: part 1, kind" in result.stderr
    assert "did you mean 'elbow-90'?" in result.stderr


def test_python_tells_the_same() -> None:
    """`supplycalc.parts(...).to_dict()` is the JSON."""
    listed = supplycalc.parts(supplycalc.load(RIDGE), prices=supplycalc.load_prices(COUNTER))

    assert json.loads(json.dumps(listed.to_dict())) == json.loads(
        run("parts", RIDGE, "--prices", COUNTER, "--json").stdout
    )
