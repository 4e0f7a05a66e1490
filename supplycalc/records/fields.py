"""The public fields of a record and what each one measures, read from its types."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from msgspec import Struct
from msgspec.structs import fields

from supplycalc.units.quantities import Of


class Form(Struct, frozen=True, kw_only=True):
    """Where a record's public form differs from its fields; one that has none shows them all."""

    omit: tuple[str, ...] = ()
    """Fields that stay inside."""
    rename: Mapping[str, str] = {}
    """Field -> its key in JSON."""
    add: tuple[str, ...] = ()
    """Properties that belong to it; methods that take the unit system, for sentences; paths such
    as "run.name", whose last word is the key."""


class PublicField(Struct, frozen=True, kw_only=True):
    """One key of a record's public form."""

    key: str
    attribute: str
    """Its name in the record; dots lead into records within it."""
    hint: Any
    """Its type, as written."""
    spoken: bool
    """Whether it is a method that takes the unit system and returns a sentence."""


@cache
def public_fields(record: Any) -> tuple[PublicField, ...]:
    """The keys of a record type in order, each with its type.

    Returns:
        Fields that are not left out, then what the form adds.
    """
    form: Form = getattr(record, "form", Form())
    hints = get_type_hints(record, include_extras=True)
    shown = [
        PublicField(
            key=form.rename.get(field.name, field.name),
            attribute=field.name,
            hint=hints[field.name],
            spoken=False,
        )
        for field in fields(record)
        if field.name not in form.omit
    ]
    return (*shown, *(_added(record, name, form) for name in form.add))


def _added(record: Any, name: str, form: Form) -> PublicField:
    spoken = "." not in name and not isinstance(getattr(record, name), property)
    return PublicField(
        key=form.rename.get(name, name.rpartition(".")[2]),
        attribute=name,
        hint=hint_of(record, name),
        spoken=spoken,
    )


@cache
def hint_of(record: Any, path: str) -> Any:
    """The type of a record's field or property.

    Args:
        path: its name; dots lead into records within it, as in "run.name".
    """
    name, _, rest = path.partition(".")
    member = getattr(record, name)
    if isinstance(member, property) or callable(member):
        function: Any = member.fget if isinstance(member, property) else member
        hint = get_type_hints(function, include_extras=True)["return"]
    else:
        hint = get_type_hints(record, include_extras=True)[name]
    inner: Any = without_none(hint)
    return hint_of(inner, rest) if rest else hint


def without_none(hint: Any) -> Any:
    """The one type of an optional one; any other type as it is."""
    if get_origin(hint) in (Union, UnionType):
        kinds = [kind for kind in get_args(hint) if kind is not type(None)]
        return kinds[0] if len(kinds) == 1 else hint
    return hint


def measure_of(hint: Any) -> Of | None:
    """What a type measures; None where it is not a quantity."""
    hint = without_none(hint)
    if get_origin(hint) is Annotated:
        return next((part for part in get_args(hint)[1:] if isinstance(part, Of)), None)
    return None


def item_hint(hint: Any, index: int) -> Any:
    """The type of one item of a tuple, list or mapping by its type; None where it says nothing."""
    hint = without_none(hint)
    kinds = get_args(hint)
    if not kinds:
        return None
    origin = get_origin(hint)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return kinds[1]
    if len(kinds) == 2 and kinds[1] is Ellipsis:
        return kinds[0]
    return kinds[index] if index < len(kinds) else kinds[0]
