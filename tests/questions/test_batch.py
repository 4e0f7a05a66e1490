"""Many houses and many variants: what single calls give, in any order, with any executor."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

import supplycalc as sc
from supplycalc.cli import app
from supplycalc.model.field_paths import with_value
from supplycalc.questions.batch import study, work
from supplycalc.questions.size.study import size
from supplycalc.sizing.pressures import follow_pressures
from supplycalc.sizing.size import situation_of, size_tree
from supplycalc.units import FOOT, PSI
from tests.questions.ranged import RIDGE

SCENARIOS = sorted(RIDGE.parent.glob("*.toml"))[:4]
TABLE = """\
name,run.service.length,source.cut_in (psi),run.service.size,fixture.upstairs bath.elevation
as drawn,,,,
long,120 ft,50,1,11 ft
high,85 ft,45,1-1/4,14 ft
near,20 m,55,3/4,9 ft
"""


class Backwards(Executor):
    """Runs what it is given only when it is asked to wait, the last first."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Done at once, but handed over with those before it."""
        future: Future[Any] = Future()
        future.set_result(fn(*args, **kwargs))
        return future


def table_file(folder: Path, text: str = TABLE) -> Path:
    """A table of variants as a file."""
    path = folder / "variants.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_row_is_what_size_says_of_the_file() -> None:
    """No remedies are looked for, so that a row is the design of the house as it is."""
    result = sc.batch(SCENARIOS)
    for path, row in zip(SCENARIOS, result.rows, strict=True):
        design = size(sc.load(path), mend=False)
        assert (row.name, row.ok) == (str(path), design.ok)
        assert (row.worst, row.residual) == (design.worst.name, design.worst.residual)
        assert (row.cost, row.sizes) == (design.cost, design.sizes)


def test_bad_files_are_told_and_skipped(tmp_path: Path) -> None:
    """One that is wrong, one that is no text and one that is not there stop nothing."""
    (tmp_path / "wrong.toml").write_text("[source]\nkind = 'lake'\n", encoding="utf-8")
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    files = [RIDGE, tmp_path / "wrong.toml", tmp_path / "bytes.toml", tmp_path / "gone.toml", RIDGE]
    result = sc.batch(files)
    assert [row.ok for row in result.rows] == [True, None, None, None, True]
    assert [row.number for row in result.rows] == [0, 1, 2, 3, 4]
    assert "fixture" in result.rows[1].problem
    assert all(row.problem for row in result.skipped)
    assert not result.ok


def test_sized_variants_are_those_sized_by_themselves(tmp_path: Path) -> None:
    """Row by row the house with these values, sized anew; an empty cell is the file's value."""
    result = sc.batch([RIDGE], variants=table_file(tmp_path))
    house = sc.load(RIDGE)
    changes: list[dict[tuple[str, ...], Any]] = [
        {},
        {("run", "service", "length"): 120 * FOOT, ("run", "service", "size"): "1"},
        {
            ("source", "cut_in"): 45 * PSI,
            ("run", "service", "size"): "1-1/4",
            ("fixture", "upstairs bath", "elevation"): 14 * FOOT,
        },
        {
            ("run", "service", "length"): 20.0,
            ("source", "cut_in"): 55 * PSI,
            ("run", "service", "size"): "3/4",
            ("fixture", "upstairs bath", "elevation"): 9 * FOOT,
        },
    ]
    for row, values in zip(result.rows, changes, strict=True):
        changed = house
        for path, value in values.items():
            changed = with_value(changed, path, value)
        sized = size_tree(changed)
        assert row.ok == sized.feasible
        assert row.cost == pytest.approx(sized.cost, rel=1e-12)
        assert row.margin == pytest.approx(sized.worst_margin, abs=1e-6)
        assert row.sizes == sized.nominals()
    assert [row.name for row in result.rows] == ["as drawn", "long", "high", "near"]


def test_variants_at_fixed_sizes_are_single_solves(tmp_path: Path) -> None:
    """One pass over runs and variants gives each variant's pressure to a millionth of a pascal."""
    rng = random.Random(7)
    rows = [
        f"{rng.uniform(60, 120):.3f},{rng.uniform(45, 60):.3f},{rng.choice(['1', '1-1/4'])}"
        for _ in range(50)
    ]
    text = "run.service.length (ft),source.cut_in (psi),run.service.size\n" + "\n".join(rows)
    result = sc.batch([RIDGE], variants=table_file(tmp_path, text), fixed=True)
    house = sc.load(RIDGE)
    sized = size_tree(house)
    family = [each.nominal for each in house.catalogue.tubes["pe-cts-sdr9"].sizes]
    for line, row in zip(rows, result.rows, strict=True):
        length, cut_in, nominal = line.split(",")
        changed = with_value(house, ("run", "service", "length"), float(length) * FOOT)
        changed = with_value(changed, ("source", "cut_in"), float(cut_in) * PSI)
        sizes = list(sized.pressures.sizes)
        sizes[sized.situation.tree.names.index("service")] = family.index(nominal)
        single = follow_pressures(situation_of(changed), sizes)
        outlet = sized.situation.tree.outlets[single.worst_outlet]
        assert row.worst == outlet.name
        assert row.margin == pytest.approx(
            max(single.pressure[outlet.link], 0.0) - outlet.required_pressure, abs=1e-6
        )


@pytest.mark.parametrize(
    "scenario", ["ridge-cottage", "old-farmhouse", "town-house", "tower-loft", "valley-house"]
)
def test_where_pressure_alone_varies_sizes_are_shared_and_the_same(
    scenario: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From far too little to plenty: every row is that of its variant sized by itself."""
    file = RIDGE.parent / f"{scenario}.toml"
    house = sc.load(file)
    field = "cut_in" if house.source.kind == "well" else "residual"
    usual = getattr(house.source, field)
    rng = random.Random(3)
    pressures = [usual * rng.uniform(0.5, 1.3) / PSI for _ in range(60)]
    text = f"source.{field} (psi)\n" + "\n".join(f"{each:.4f}" for each in pressures)
    solves = []
    plain = work.choose
    monkeypatch.setattr(work, "choose", lambda it: solves.append(1) or plain(it))
    result = sc.batch([file], variants=table_file(tmp_path, text))
    assert len(solves) < len(pressures)
    for pressure, row in zip(pressures, result.rows, strict=True):
        value = float(f"{pressure:.4f}") * PSI
        single = size_tree(with_value(house, ("source", field), value))
        assert row.sizes == single.nominals()
        assert row.ok == single.feasible
        assert row.cost == pytest.approx(single.cost, rel=1e-12)
        assert row.worst == single.worst_name
        assert row.margin == pytest.approx(single.worst_margin, abs=1e-6)


def test_a_grid_of_lengths_and_pressures_shares_along_the_pressures(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each length by itself; row by row what the variant gives by itself."""
    house = sc.load(RIDGE)
    grid = [(length, 45 + 0.5 * step) for step in range(40) for length in (20.0, 30.0)]
    text = "run.service.length (m),source.cut_in (psi)\n"
    text += "\n".join(f"{length},{cut_in}" for length, cut_in in grid)
    solves = []
    plain = work.choose
    monkeypatch.setattr(work, "choose", lambda it: solves.append(1) or plain(it))
    result = sc.batch([RIDGE], variants=table_file(tmp_path, text))
    assert len(solves) < 0.9 * len(grid)
    for (length, cut_in), row in zip(grid, result.rows, strict=True):
        changed = with_value(house, ("run", "service", "length"), length)
        single = size_tree(with_value(changed, ("source", "cut_in"), cut_in * PSI))
        assert (row.sizes, row.ok) == (single.nominals(), single.feasible)
        assert row.cost == pytest.approx(single.cost, rel=1e-12)
        assert row.margin == pytest.approx(single.worst_margin, abs=1e-6)


@pytest.mark.parametrize("kind", ["files", "sized", "fixed"])
def test_results_do_not_depend_on_jobs_or_executor(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One process, two, threads, and an executor that hands back in another order."""
    monkeypatch.setattr(study, "FILES_A_PIECE", 1)
    monkeypatch.setattr(study, "SIZED_A_PIECE", 1)
    monkeypatch.setattr(study, "FIXED_A_PIECE", 1)
    files = SCENARIOS if kind == "files" else [RIDGE]
    options: dict[str, Any] = {}
    if kind != "files":
        options = {"variants": table_file(tmp_path), "fixed": kind == "fixed"}
    alone = sc.batch(files, **options)
    assert sc.batch(files, executor=Backwards(), **options) == alone
    with ThreadPoolExecutor(2) as threads:
        assert sc.batch(files, executor=threads, **options) == alone
    with ProcessPoolExecutor(2) as processes:
        assert sc.batch(files, executor=processes, **options) == alone
    if kind == "files":
        turned = sc.batch(files[::-1])
        assert [row.margin for row in turned.rows[::-1]] == [row.margin for row in alone.rows]


def test_a_stopped_batch_goes_on_and_loses_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is killed in its third piece, and while writing; what was finished is not done again."""
    monkeypatch.setattr(study, "FILES_A_PIECE", 1)
    keep = tmp_path / "results.csv.part"
    pieces: list[int] = []
    whole = sc.batch(SCENARIOS)
    original = study.batch_rows

    def killed(piece: Any) -> Any:
        if len(pieces) == 2:
            raise KeyboardInterrupt
        pieces.append(piece.first)
        return original(piece)

    monkeypatch.setattr(study, "batch_rows", killed)
    with pytest.raises(KeyboardInterrupt):
        sc.batch(SCENARIOS, keep=keep)
    with keep.open("ab") as stream:
        stream.write(b'[{"number": 3, "na')  # the line that was being written
    again: list[int] = []

    def counted(piece: Any) -> Any:
        again.append(piece.first)
        return original(piece)

    monkeypatch.setattr(study, "batch_rows", counted)
    assert sc.batch(SCENARIOS, keep=keep) == whole
    assert again == [2, 3]
    again.clear()
    assert sc.batch(SCENARIOS[::-1], keep=keep).rows[0].name == whole.rows[-1].name
    assert len(again) == len(SCENARIOS)  # another batch takes nothing of the first


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("run.service.lenght\n1 ft\n", "is no field"),
        ("run.servise.length\n1 ft\n", "is no field"),
        ("name\nx\n", "no column names a field"),
        ("run.service.length\n12\n", "has no unit"),
        ("run.service.length\n12 psi\n", "is a pressure"),
        ("run.service.size\n7/8\n", "choose from"),
        ("run.service.length,source.cut_in\n12 ft\n", "1 cells, 2 in the heading"),
        ("run.service.length\n-3 ft\n", "cannot be negative"),
        ("run.service.length\n", "a row for each variant"),
    ],
)
def test_a_wrong_table_is_told_by_line(text: str, part: str, tmp_path: Path) -> None:
    """Nothing is computed then."""
    with pytest.raises(sc.InputError) as error:
        sc.batch([RIDGE], variants=table_file(tmp_path, text))
    assert part in error.value.problems[0].text
    assert error.value.problems[0].place.line >= 1


def test_the_command_writes_one_table(tmp_path: Path) -> None:
    """CSV and JSON lines; the exit status says whether all work, and no .part stays behind."""
    table = table_file(tmp_path)
    out, lines = tmp_path / "results.csv", tmp_path / "results.jsonl"
    told = CliRunner().invoke(
        app, ["batch", str(RIDGE), "--variants", str(table), "-o", str(out), "--jobs", "2"]
    )
    assert told.exit_code == 1
    head, *rows = out.read_text(encoding="utf-8").splitlines()
    assert len(rows) == 4
    assert "run.service.length [ft]" in head
    assert "size of service" in head
    CliRunner().invoke(app, ["batch", str(RIDGE), "--variants", str(table), "-o", str(lines)])
    read = [json.loads(line) for line in lines.read_text(encoding="utf-8").splitlines()]
    assert [row["name"] for row in read] == ["as drawn", "long", "high", "near"]
    assert read[1]["values"]["run.service.size"] == "1"
    assert read[1]["margin"]["unit"] == "psi"
    assert not list(tmp_path.glob("*.part"))
    shown = CliRunner().invoke(app, ["batch", str(RIDGE.parent)])
    assert "houses work" in shown.stdout.splitlines()[0]


def test_a_cluster_stands_in_for_processes(tmp_path: Path) -> None:
    """A local cluster of two workers gives what one process gives."""
    distributed = pytest.importorskip(
        "distributed", reason="the extra 'cluster' (dask.distributed) is not installed"
    )
    table = table_file(tmp_path)
    alone = sc.batch([RIDGE], variants=table)
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=False, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        spread = sc.batch([RIDGE], variants=table, executor=client.get_executor())
        many = sc.batch(SCENARIOS, executor=client.get_executor())
    assert spread == alone
    assert many == sc.batch(SCENARIOS)
