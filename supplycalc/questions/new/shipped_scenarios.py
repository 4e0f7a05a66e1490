"""The shipped scenarios: inside an installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

from supplycalc.problems import InputError, Place, Problem

PACKAGE = Path(__file__).parents[2]
PLACES = (PACKAGE / "scenarios", PACKAGE.parent / "scenarios")
"""The wheel has them in the package; a checkout has them beside it."""


def scenario_files(places: tuple[Path, ...] = PLACES) -> dict[str, Path]:
    """Every shipped scenario by its name, from the first folder that there is."""
    folder = next((place for place in places if place.is_dir()), None)
    return {path.stem: path for path in sorted(folder.glob("*.toml"))} if folder else {}


def scenario_text(name: str, places: tuple[Path, ...] = PLACES) -> str:
    """The text of a scenario.

    Raises:
        InputError: there is none of that name; with the nearest.
    """
    files = scenario_files(places)
    stem = name.removesuffix(".toml")
    if stem not in files:
        message = f"there is no scenario {name!r}"
        raise InputError(
            [Problem(place=Place("--from"), message=message, value=stem, valid=tuple(files))]
        )
    return files[stem].read_text(encoding="utf-8")
