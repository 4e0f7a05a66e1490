"""Houses by the German and European standards and by the Uniform Plumbing Code.

Draw-offs by DIN 1988-300, Table 2, as a school textbook prints them: closet 0.05 MPa and 0.13 l/s,
basin and kitchen 0.1 and 0.07, shower 0.1 and 0.15; at rest 500 kPa. The Uniform code's table by a
tutorial of a plumber that prints its units (kitchen 1.5, bathroom 1 + 2.5 + 4) and by Table 610.4.
"""

from __future__ import annotations

from tests.verdicts.judged import House
from tests.verdicts.metric import flat, metric_house, metric_main, metric_well
from tests.verdicts.writing import Outlet, device, inside, line, main, project

AMERICAN = (r"International (Residential|Plumbing)", r"Uniform Plumbing", r"degF|psi|gpm")

GERMAN = (
    House(
        name="a German house on the street main",
        text=metric_house("Haus", metric_main(4.0, 3.6), flat(2.8)),
        why="3.6 bar less 0.6 for height leave 3.0 where a shower asks for 1.0: a usual house. "
        "Water stored at 60 degC is the rule there, not a danger to be told.",
        answer="works",
        none_of=("pressure-short", "static-over-limit", "stored-hot"),
        silent=(*AMERICAN, r"\bWARN\b"),
        sizes={"basin cold": ("16x2.0",), "closet cold": ("16x2.0",)},
    ),
    House(
        name="a German closet under the roof",
        text=metric_house(
            "Dach",
            metric_main(2.4, 2.2),
            (("closet", "water-closet", 9.0, 12, "c"), ("kitchen", "kitchen-sink", 0.9, 5, "ch")),
        ),
        why="2.2 bar less 1.03 for 10.5 m leave 1.2; the filling valve asks for 0.5 (DIN 1988-300, "
        "Table 2), not for the 1.38 of an American closet.",
        answer="works",
        none_of=("pressure-short",),
    ),
    House(
        name="a German shower too high",
        text=metric_house("Turm", metric_main(2.4, 2.2), flat(12.0)),
        why="2.2 bar less 1.44 for 14.7 m leave 0.76; the shower asks for 1.0 at rest already. A "
        "booster, no pipe.",
        answer="fails",
        worst=(
            "shower",
            "basin",
        ),
        findings=("pressure-short",),
    ),
    House(
        name="six bar at rest",
        text=metric_house("Druck", metric_main(6.0, 5.6), flat(2.8)),
        why="500 kPa at the draw-off is the most that the standard lets stand at rest; 600 ask for "
        "a reducing valve.",
        answer="fails",
        findings=("static-over-limit",),
        none_of=("pressure-short",),
        silent=AMERICAN,
        says=(r"reduc",),
    ),
    House(
        name="a European house on a borehole",
        text=metric_house("Hus", metric_well(), flat(2.8), demand="en806", service=30),
        why="2.5 bar less 0.5 for height leave 2.0; 1.0 is asked at most. The pump gives 40 L/min "
        "at some 25 m for pressure and 15 m of lift with ease, and EN 806-3 asks 15 to 25.",
        answer="works",
        none_of=("pressure-short", "pump-cannot-hold", "stored-hot"),
        silent=AMERICAN,
    ),
    House(
        name="a German house on pipe of six bar",
        text=metric_house("PN 6", metric_main(4.0, 3.6), flat(2.8))
        .replace('material = "pe100-sdr11"', 'material = "pe-pn6"')
        .replace('sizes = ["25x2.3", "32x3.0", "40x3.7"]\n', "")
        + '[[tube]]\nname = "pe-pn6"\nroughness = "0.0015 mm"\npressure_rating = "6 bar"\n'
        'joining = "insert"\n'
        'sizes = [["32x1.8", "32 mm", "28.4 mm"], ["40x2.3", "40 mm", "35.4 mm"]]\n',
        why="4 bar stand in pipe of 6: it bears them. But pipe for drinking water is of PN 10 at "
        "least in Germany, and the waterworks will not connect it: a warning, no failure.",
        answer="works",
        findings=("service-rating",),
        says=(r"PN 10",),
    ),
    House(
        name="warm water that is not hot enough",
        text=metric_house("Lau", metric_main(4.0, 3.6), flat(2.8), hot="45 degC"),
        why="Stored at 45 degC bacteria live; 60 is the rule of drinking water hygiene there.",
        answer="works",
        findings=("stored-hot",),
    ),
)


def bathroom(number: int) -> tuple[Outlet, ...]:
    """A bathroom of the Uniform code's example: bath with shower, lavatory, closet."""
    return (
        (f"bath {number}", "tub-shower", 4.0, 20.0, "ch"),
        (f"lavatory {number}", "lavatory", 2.5, 20.0, "ch"),
        (f"closet {number}", "water-closet", 1.0, 20.0, "c"),
    )


TUTORIAL = (*bathroom(1), *bathroom(2), ("sink", "kitchen-sink", 3.0, 15.0, "ch"))


def uniform(service: float, size: str, static: float = 58, residual: float = 55) -> str:
    """The tutorial's two-bath house: 1.5 + 2 x 7.5 = 16.5 units."""
    return (
        project("uniform", "upc")
        + main(static, residual, 12)
        + device("meter", "meter", "source", "metered")
        + line(service, size, start="metered", material="copper-l")
        + inside(TUTORIAL, main_length=15)
    )


INCH = 'sizes = ["3/4", "1", "1-1/4"]'

UNIFORM = (
    House(
        name="three quarter for two baths at ninety feet",
        text=uniform(45, 'size = "3/4"'),
        why="16.5 units; Table 610.4, 46 to 60 psi: 3/4 inch meter and supply carry 17 at 100 ft. "
        "45 ft of service, 15 of main and 20 of branch are 80 to 90 ft: enough, and the table's "
        "own lengths hold no share for fittings.",
        answer="works",
        none_of=("below-code-table", "pressure-short"),
        sizes={"lavatory 1 cold": ("1/2", "3/4"), "closet 1 cold": ("1/2", "3/4")},
    ),
    House(
        name="three quarter for two baths at a hundred and fifty feet",
        text=uniform(105, 'size = "3/4"', 60, 59),
        why="The same house 60 ft further away: at 150 ft the table carries 14 units in 3/4, 28 in "
        "1 inch. Computed it may do, by the table it does not.",
        answer="works",
        findings=("below-code-table",),
    ),
    House(
        name="sixteen psi left by the Uniform code",
        text=project("residual", "upc")
        + main(33, 30, 12)
        + line(40, INCH)
        + inside(
            (
                ("basin", "lavatory", 22.0, 40.0, "ch"),
                ("closet", "water-closet", 20.5, 40.0, "c"),
                ("sink", "kitchen-sink", 3.0, 15.0, "ch"),
            )
        ),
        why="At 5 units some 32 psi stand at the street, less 11 for height and 2 to 4 for pipe: "
        "17 to 19. The Uniform code asks for 15 at the worst fixture (610.1), not for the 20 that "
        "the other codes ask for a closet.",
        answer="works",
        none_of=("pressure-short",),
    ),
    House(
        name="twelve psi left by the Uniform code",
        text=project("too little", "upc")
        + main(26.5, 23, 12)
        + line(40, INCH)
        + inside(
            (
                ("basin", "lavatory", 22.0, 40.0, "ch"),
                ("closet", "water-closet", 20.5, 40.0, "c"),
                ("sink", "kitchen-sink", 3.0, 15.0, "ch"),
            )
        ),
        why="Some 26 psi while 5 units draw, less 11 for height, is 15 before any pipe; 15 is "
        "asked behind it.",
        answer="fails",
        findings=("pressure-short",),
        worst=(
            "closet",
            "basin",
        ),
    ),
)
