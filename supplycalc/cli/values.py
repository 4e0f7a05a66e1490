"""Values of options and arguments that need no check are taken as they are given.

Typer checks every value with pydantic, which takes longer to load than typer itself. A text, a
path, a choice that exists, or an option left out needs no such check; numbers and whatever is
wrong still go to typer, so that its messages stay its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from enum import Enum
from functools import partial
from pathlib import Path
from typing import Any


def take_as_given(parameters: Iterable[Any]) -> None:
    """Let typer's parameters take values without pydantic where nothing needs checking.

    Args:
        parameters: of a typer command; those of a typer without pydantic are left alone.
    """
    for one in parameters:
        descriptor = getattr(one, "type_descriptor", None)
        if descriptor is not None:
            one.process_value = partial(_process, one, descriptor.annotation, one.process_value)


def _process(
    parameter: Any,
    kind: Any,
    check: Callable[[Any, Any], Any],
    context: Any,
    value: Any,
) -> Any:
    """Stands in for `process_value` of a parameter; `check` is its own."""
    if parameter.required and value is None:
        return check(context, value)
    if parameter.multiple:
        ready = kind == list[str]
        value = list(value or ())
    else:
        ready, value = _plain(kind, value)
    if not ready:
        return check(context, value)
    return value if parameter.callback is None else parameter.callback(context, parameter, value)


def _plain(kind: Any, value: Any) -> tuple[bool, Any]:
    """Whether a value needs no check, and the value as its parameter's kind."""
    if value is None or type(value) is kind:
        return True, value
    if kind is Path and isinstance(value, str):
        return True, Path(value)
    if isinstance(kind, type) and issubclass(kind, Enum) and value in list(kind):
        return True, kind(value)
    return False, value
