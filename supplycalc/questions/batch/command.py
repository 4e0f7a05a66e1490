"""`supplycalc batch`: many houses, or many variants of one."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from supplycalc.output.call import Force, Json, Method, Output, UnitsOption
from supplycalc.output.destination import Destination
from supplycalc.problems import InputError, Place, Problem


def command(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="DIR|FILES", help="Supply files (TOML), or folders of them."),
    ],
    variants: Annotated[
        Path | None,
        typer.Option(
            metavar="PATH",
            help="Table of variants of one file (CSV); its columns are fields, such as "
            "run.service.length or 'source.cut_in (psi)'.",
        ),
    ] = None,
    fixed: Annotated[
        bool,
        typer.Option("--fixed", help="Keep the sizes of the file as it is in all variants."),
    ] = False,
    jobs: Annotated[
        int, typer.Option(metavar="N", min=1, max=256, help="Processes to work with.")
    ] = 1,
    method: Method = None,
    as_json: Json = False,
    units: UnitsOption = None,
    output: Output = None,
    force: Force = False,
) -> int:
    """Size many houses, or many variants of one, into one table.

    Examples:
      supplycalc batch houses/ -o results.csv
      supplycalc batch a.toml b.toml -o results.jsonl --jobs 4
      supplycalc batch house.toml --variants table.csv -o results.csv
      supplycalc batch house.toml --variants table.csv --fixed

    No remedies are looked for. A file that is wrong is told and skipped. With -o,
    what is finished stands in a file of that name with .part behind it: a batch that
    was stopped goes on from there when it is called again.

    Exit status: 0 all work, 1 some do not or were skipped, 2 the call is wrong.
    """
    destination = Destination(
        as_json=as_json, path=output, force=force, spared=tuple(files), forms=(".jsonl",)
    )
    destination.check()

    from supplycalc.demand import known_method
    from supplycalc.output.progress import progress_teller
    from supplycalc.questions.batch.page import batch_page, batch_table
    from supplycalc.questions.batch.study import batch, json_lines

    target = destination.file
    keep = None if target is None else target.with_name(f"{target.name}.part")
    tell, wipe = progress_teller(lambda share: f"batch: {share:.0%}")
    work = partial(
        batch,
        _found(files),
        variants=variants,
        fixed=fixed,
        method=known_method(method),
        keep=keep,
        progress=tell,
    )
    if jobs == 1:
        result = work()
    else:
        from concurrent.futures import ProcessPoolExecutor

        with ProcessPoolExecutor(jobs) as executor:
            result = work(executor=executor)
    wipe()
    system = result.shown_in if units is None else units.value
    destination.send(
        page=lambda: batch_page(result),
        data=lambda: result.to_dict(system),
        system=system,
        table=lambda: batch_table(result),
        files={".jsonl": lambda: json_lines(result, system)},
    )
    if keep is not None:
        keep.unlink(missing_ok=True)
    return 0 if result.ok else 1


def _found(files: list[Path]) -> list[Path]:
    """The files themselves, and those of folders by name."""
    found: list[Path] = []
    for path in files:
        inside = sorted(path.glob("*.toml")) if path.is_dir() else [path]
        if not inside:
            message = "no supply file (*.toml) stands in this folder"
            raise InputError([Problem(place=Place(str(path)), message=message)])
        found += inside
    return found
