"""The keys of a day's draws; `fields` puts them in their place."""

from __future__ import annotations

from supplycalc.reading.keys import Key, Section, quantity

PEOPLE = Key(
    name="people", kind="count", example="4", least=1, most=1000,
    help="How many live in the house, for the day's water.", default="4",
)  # fmt: skip
DRAW = Section(
    name="draw", many=True, help="Water drawn at set times, for `supplycalc day`.",
    keys=(
        Key(
            name="fixture", kind="text", example='"upstairs bath"', required=True,
            help="The fixture that is opened.",
        ),
        Key(
            name="at", kind="times", example='["6:30", "21:15"]', required=True,
            help="Times of day at which it is opened.",
        ),
        quantity("duration", "time", "8 min", "How long it stays open.", positive=True),
        quantity(
            "volume", "volume", "30 gal", "What it draws before it shuts, instead of a duration.",
            positive=True,
        ),
        quantity(
            "share", "share", "50 %", "How far it is opened.", default="100 %", positive=True,
            most=1.0,
        ),
        Key(
            name="side", kind="word", words=("cold", "hot", "both"), example='"hot"',
            help="Which water is drawn.", default="every side that the fixture has",
        ),
    ),
)  # fmt: skip
