"""A law's arguments: a float, or a numpy array with one value for each draw or variant."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Numbers = TypeVar("Numbers", float, "NDArray[np.float64]")


def is_array(*values: Any) -> bool:
    """Whether any of these is an array."""
    for value in values:  # noqa: SIM110 - thousands of times in a call; a generator takes four times
        if not isinstance(value, (float, int)):
            return True
    return False


def at_most(value: Numbers, limit: Any) -> Numbers:
    """The lower of the two, element by element where one is an array."""
    lower: Numbers
    if is_array(value, limit):
        import numpy as np

        lower = np.minimum(value, limit)
    else:
        lower = min(value, limit)
    return lower


def not_below(value: Any, limit: Any) -> Any:
    """The higher of the two, element by element where one is an array."""
    if is_array(value, limit):
        import numpy as np

        return np.maximum(value, limit)
    return max(value, limit)
