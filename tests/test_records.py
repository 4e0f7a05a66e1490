"""Our records against the library's dataclasses, which are the reference for every behaviour."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
from typing import Any

import pytest

from supplycalc import records


def kinds(decorate: Any) -> tuple[Any, ...]:
    """Four kinds of record, made by one of the two decorators."""

    @decorate(frozen=True, slots=True, kw_only=True)
    class Pipe:
        """Plain, with defaults before and after what has none."""

        size: str = "3/4"
        length: float
        fittings: tuple[str, ...] = ()
        notes: dict[str, int] = dataclasses.field(default_factory=dict, compare=False, repr=False)

        @property
        def twice(self) -> float:
            """A property beside the fields."""
            return 2.0 * self.length

    @decorate(frozen=True, slots=True)
    class Pair:
        """By position."""

        first: int
        second: int = 2

    @decorate(frozen=True, slots=True, kw_only=True)
    class Single:
        """One field, checked."""

        value: int

        def __post_init__(self) -> None:
            if self.value < 0:
                raise ValueError("negative")

    @decorate(frozen=True, slots=True, kw_only=True)
    class Empty:
        """No field."""

    return Pipe, Pair, Single, Empty


OURS, THEIRS = kinds(records.dataclass), kinds(dataclasses.dataclass)
CASES = (
    (0, (), {"length": 1.5}),
    (0, (), {"length": 1.5, "size": "1", "fittings": ("elbow",), "notes": {"a": 1}}),
    (0, (), {}),
    (0, (1.5,), {}),
    (0, (), {"length": 1.5, "colour": "red"}),
    (1, (1,), {}),
    (1, (1, 3), {}),
    (1, (), {"second": 1}),
    (1, (1, 2, 3), {}),
    (2, (), {"value": 3}),
    (2, (), {"value": -3}),
    (3, (), {}),
    (3, (), {"value": 3}),
)


def outcome(work: Any) -> Any:
    """What a call gives, or how it fails."""
    try:
        return work()
    except Exception as error:
        return type(error), str(error)


@pytest.mark.parametrize(("which", "given", "named"), CASES)
def test_made_shown_and_refused_alike(
    which: int, given: tuple[Any, ...], named: dict[str, Any]
) -> None:
    """Same repr where a call is right, same error where it is wrong."""
    ours, theirs = (outcome(lambda kind=kind: kind(*given, **named)) for kind in pair(which))

    assert repr(ours) == repr(theirs)
    assert type(ours) is not tuple or ours == theirs


def pair(which: int) -> tuple[Any, Any]:
    """One kind of record as made by us and by the library."""
    return OURS[which], THEIRS[which]


@pytest.mark.parametrize("which", range(4))
def test_declared_alike(which: int) -> None:
    """Fields, signature, slots, what patterns match and that it is a dataclass."""
    ours, theirs = pair(which)

    assert [repr(one) for one in dataclasses.fields(ours)] == [
        repr(one) for one in dataclasses.fields(theirs)
    ]
    assert ours.__slots__ == theirs.__slots__
    assert ours.__match_args__ == theirs.__match_args__
    assert ours.__doc__ == theirs.__doc__
    assert list(inspect.signature(ours).parameters) == list(inspect.signature(theirs).parameters)
    assert ours.__init__.__annotations__ == theirs.__init__.__annotations__
    assert dataclasses.is_dataclass(ours)
    assert ours.__dictoffset__ == 0


def test_equal_and_hashed_alike() -> None:
    """Equal by their fields and kind; what is not compared does not count; hash as a tuple."""
    for kinds_of in (OURS, THEIRS):
        pipe, pair_of, single, empty = kinds_of
        one = pipe(length=1.0, notes={"a": 1})
        assert one == pipe(length=1.0)
        assert one != pipe(length=2.0)
        assert hash(one) == hash(("3/4", 1.0, ()))
        assert pair_of(1) != single(value=1)
        assert pair_of(1).__eq__((1, 2)) is NotImplemented
        assert hash(single(value=1)) == hash((1,))
        assert empty() == empty()
        assert len({pair_of(1), pair_of(1), pair_of(2)}) == 2


def test_nothing_can_be_set_or_deleted() -> None:
    """Frozen: same error, same words."""
    ours, theirs = (kind(1) for kind in pair(1))

    assert outcome(lambda: setattr(ours, "first", 3)) == outcome(
        lambda: setattr(theirs, "first", 3)
    )
    assert outcome(lambda: delattr(ours, "first")) == outcome(lambda: delattr(theirs, "first"))
    assert outcome(lambda: setattr(ours, "third", 3))[0] is dataclasses.FrozenInstanceError
    assert ours.first == 1


def test_a_default_that_is_made_is_made_anew() -> None:
    """No two records share it."""
    pipe = OURS[0]

    assert pipe(length=1.0).notes is not pipe(length=1.0).notes


def test_replaced_and_copied() -> None:
    """`replace` makes a changed record and checks it; copies are equal, all fields along."""
    pipe, _, single, _ = OURS
    one = pipe(length=1.0, notes={"a": 1})

    assert dataclasses.replace(one, length=2.0).twice == 4.0
    assert outcome(lambda: dataclasses.replace(single(value=1), value=-1))[0] is ValueError
    for same in (copy.copy(one), copy.deepcopy(one)):
        assert same == one
        assert same.notes == {"a": 1}


def test_pickled() -> None:
    """A record of the package comes back the same."""
    from supplycalc.problems import Place, Problem

    one = Problem(place=Place("house.toml"), message="wrong", valid=("a", "b"))

    assert pickle.loads(pickle.dumps(one)) == one


def test_other_dataclasses_are_the_librarys() -> None:
    """What is not a plain frozen record goes to the library as it is."""

    @records.dataclass(slots=True)
    class Tally:
        """Can be changed."""

        count: int = 0

    @records.dataclass(frozen=True, slots=True, order=True)
    class Mark:
        """Has an order."""

        value: int

    tally = Tally()
    tally.count += 1

    assert tally.count == 1
    assert Mark(1) < Mark(2)
