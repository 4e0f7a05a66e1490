"""Answers of a talk that was left, beside the file that is to be."""

from __future__ import annotations

from pathlib import Path

import msgspec

from supplycalc.output.destination import write_whole
from supplycalc.questions.new.answers import Answers


def place_of(path: Path) -> Path:
    """Where the answers for a file are kept."""
    return path.with_name(f"{path.name}.answers")


def keep(path: Path, answers: Answers) -> Path:
    """Write the answers beside the supply file that is to be."""
    place = place_of(path)
    write_whole(place, msgspec.json.encode(answers).decode() + "\n", force=True)
    return place


def kept(path: Path) -> Answers | None:
    """The answers kept for a supply file; None where there are none that can be read."""
    try:
        return msgspec.json.decode(place_of(path).read_bytes(), type=Answers)
    except (OSError, msgspec.MsgspecError):
        return None


def forget(path: Path) -> None:
    """Remove the answers once the file is written."""
    place_of(path).unlink(missing_ok=True)
