"""Galvanized pipe that nobody says the age of."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import House
from tests.findings.judging import findings_of, frozen_sizes, only, sized, with_runs
from tests.houses import two_storey

OLD = 1.5e-3
"""[m] The data book of the Hydraulic Institute gives 1.2 mm and more for old pipe."""


def galvanized(roughness: float | None = None) -> House:
    """The house in galvanized pipe, the sizes as they are chosen for new pipe."""

    def steel(run: object) -> object:
        return replace(  # type: ignore[type-var]
            run, material="galvanized-sch40", joining="threaded", roughness=roughness
        )

    return with_runs(two_storey(), steel)  # type: ignore[arg-type]


def test_the_margin_is_that_of_the_house_with_old_pipe() -> None:
    """What the note tells is what the same sizes leave when the file gives the roughness."""
    new = sized(galvanized())
    old = sized(with_runs(frozen_sizes(new), lambda run: replace(run, roughness=OLD)))

    finding = only(new, "old-galvanized")

    assert finding.values[0][0] == pytest.approx(abs(old.worst.margin), rel=1e-9)
    assert old.worst.name in finding.message
    assert finding.level == ("warn" if old.worst.margin < 0.0 <= new.worst.margin else "note")


def test_a_given_roughness_and_other_pipe_need_no_note() -> None:
    """The file says how rough it is; copper and plastic do not rust."""
    assert findings_of(galvanized(OLD), "old-galvanized") == []
    assert findings_of(two_storey(), "old-galvanized") == []
