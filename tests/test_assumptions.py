"""What a file leaves out of its source is told, above all where the guess may be too good."""

from __future__ import annotations

import pytest

from supplycalc.model import WaterSource
from supplycalc.solve import size
from tests.houses import GPM, PSI, two_storey


def told(**source: float) -> list[str]:
    """Assumptions about a main."""
    main = WaterSource(kind="main", **source)  # type: ignore[arg-type]
    design = size(two_storey(source=main), mend=False)
    return [one.text for one in design.assumptions if one.text.startswith("the main")]


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ({"static": 70 * PSI}, ["pressure at rest"]),
        ({"residual": 60 * PSI}, ["highest pressure", "the flow at which it was read"]),
        (
            {"residual": 60 * PSI, "residual_flow": 10 * GPM},
            ["highest pressure", "at more than {0} too"],
        ),
        ({"static": 70 * PSI, "residual": 60 * PSI, "residual_flow": 10 * GPM}, ["1.852"]),
    ],
)
def test_what_a_main_is_taken_to_do(source: dict[str, float], words: list[str]) -> None:
    """A main known by one figure is taken not to fall below it, and the reader is told."""
    texts = told(**source)

    assert len(texts) == len(words)
    for text, word in zip(texts, words, strict=True):
        assert word in text
