"""One folder per question: its study, what it shows, its command.

A folder's own `__init__` says what the question is; nothing else lists it.
"""

from __future__ import annotations

import importlib
import pkgutil

from msgspec import Struct


class Question(Struct, frozen=True, kw_only=True):
    """What the first page says of a command, and what its JSON is made of."""

    place: int
    """In working order."""
    help: str
    asks: str
    """The question as a person asks it."""
    words: tuple[str, ...] = ()
    """What people may call the command instead."""
    result: str = ""
    """Module and class of its result, as in "supplycalc.sizing.design:Design"; empty: none."""


def is_question(name: str) -> bool:
    """Whether there is a command of that name; no other question is loaded for it."""
    return any(folder.name == name for folder in pkgutil.iter_modules(__path__))


def all_questions() -> dict[str, Question]:
    """Every question by its command's name, in working order."""
    questions = {
        folder.name: importlib.import_module(f"{__name__}.{folder.name}").QUESTION
        for folder in pkgutil.iter_modules(__path__)
    }
    return dict(sorted(questions.items(), key=lambda pair: pair[1].place))
