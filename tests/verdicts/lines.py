"""Long lines, tall houses, hills, street mains, reducing valves, treatment, old steel."""

from __future__ import annotations

from tests.verdicts.judged import House
from tests.verdicts.wells import INCH_OR_MORE, ONE_STOREY, STRONG, TWO_BATHS, TWO_STOREYS
from tests.verdicts.writing import (
    device,
    inside,
    line,
    main,
    one_bath,
    point,
    project,
    two_baths,
    well,
)

UP_TO_TWO = 'sizes = ["3/4", "1", "1-1/4", "1-1/2", "2"]'
THREE_QUARTER = 'sizes = ["3/4"]'

LONG_LINES = (
    House(
        name="six hundred feet of three quarter",
        text=project("narrow")
        + well(at_well=True, pump=STRONG, tank="220 gal")
        + line(600, THREE_QUARTER)
        + TWO_BATHS,
        why="18 gpm in 3/4 inch tube lose 60 psi in each 100 ft: of 40 psi nothing is left before "
        "the house. Larger pipe is what mends it, if the switch is raised too.",
        answer="fails",
        findings=("pressure-short",),
        says=(r"service (1-1/2|2)\b|larger pipe",),
    ),
    House(
        name="six hundred feet of two inch",
        text=project("wide")
        + well(50, 70, at_well=True, pump=STRONG, tank="260 gal", relief=90)
        + line(600, UP_TO_TWO)
        + TWO_BATHS,
        why="At 50/70, 18 gpm lose 18 psi in 600 ft of 1-1/2 inch and 5 in 2 inch (Hazen-Williams, "
        "C 150): 50 less 4 for height, 5 to 18 for the line and 8 in the house is 20 and more.",
        answer="works",
        none_of=("pressure-short",),
        sizes={"service": ("1-1/2", "2")},
    ),
    House(
        name="three hundred feet to one bath",
        text=project("lane")
        + well(50, 70, at_well=True, pump=STRONG, tank="260 gal", relief=90)
        + line(300, UP_TO_TWO)
        + ONE_STOREY,
        why="14 gpm lose 12 psi in 300 ft of 1-1/4 and 33 in 1 inch: 50 less 4, 12 and 8 is above "
        "20. Nobody lays 2 inch there.",
        answer="works",
        none_of=("pressure-short",),
        sizes={"service": ("1-1/4", "1-1/2")},
    ),
    House(
        name="a long line and nobody says where the tank stands",
        text=project("where")
        + well(pump=STRONG, tank="220 gal")
        + line(300, UP_TO_TWO)
        + ONE_STOREY,
        why="300 ft of buried line begin at the source. With the tank in the house the line comes "
        "before it and its loss is the pump's; with the tank at the well the loss is the house's. "
        "The size hangs on it, so somebody must ask. The file permits 2 inch, and only that keeps "
        "5 psi; what 1-1/2 inch costs less, with 3 psi to spare, stands beside it.",
        answer="works",
        sizes={"service": ("2",)},
        says=(r"3\.0 174\.\d service at 1-1/2",),
        findings=("tank-place",),
    ),
)

HEIGHTS = (
    House(
        name="three storeys on forty sixty",
        text=project("tall")
        + well(gauge=-8, pump=STRONG, tank="220 gal")
        + line(40, INCH_OR_MORE)
        + inside(two_baths(32.0)),
        why="The upper shower's valve stands 44 ft above the gauge: 19 psi of 40 are gone at rest. "
        "2 psi are left for all pipe and the heater: no pipe does that, 50/70 might and 60/80 "
        "does.",
        answer="fails",
        worst=(
            "second shower",
            "second toilet",
        ),
        findings=("pressure-short",),
        says=(r"switch|set|booster",),
    ),
    House(
        name="three storeys on sixty eighty",
        text=project("tall and strong", "listed", listed='["second shower", "bath"]')
        + well(60, 80, gauge=-8, pump=STRONG, tank="260 gal", relief=95)
        + line(40, INCH_OR_MORE)
        + inside(two_baths(32.0)),
        why="60 less 19 for height is 41: 21 for pipe and heater at 6.5 gpm. 80 psi at the gauge "
        "is the most that a house may have at rest (IRC P2903.3.1), and it stands lowest.",
        answer="works",
        none_of=("pressure-short", "static-over-limit"),
    ),
    House(
        name="up the hill from the tank",
        text=project("hill") + well(gauge=-60, at_well=True) + line(200, UP_TO_TWO) + ONE_STOREY,
        why="The tank stands at the well, 64 ft below the bath's valve: 28 psi. 12 are left of 40 "
        "before any pipe, and 20 are asked. The tank belongs in the house, or a booster. "
        "60/80 asks for another relief valve than the one of 75.",
        answer="fails",
        findings=("pressure-short",),
        says=(r"relief valve|booster|tank in the house",),
        worst=(
            "bath",
            "toilet",
        ),
    ),
    House(
        name="water over a crest",
        text=project("crest", "listed", listed='["sink"]')
        + main(50, 46, 10)
        + line(150, UP_TO_TWO, end="crest", name="up")
        + point("crest", 130)
        + line(150, UP_TO_TWO, start="crest", name="down")
        + point("entry", 0)
        + ONE_STOREY,
        why="50 psi lift water 115 ft; the crest stands 134 ft above the gauge. Water does not "
        "get over, though a sum over the whole way (there and down again) comes out right.",
        answer="fails",
        findings=("crest",),
        exits={"slab": 1},
    ),
)

HEIGHTS += (
    House(
        name="over a crest with the larger pipe before it",
        text=project("over", "listed", listed='["garden tap"]')
        + main(62, 60, 10)
        + line(300, UP_TO_TWO, end="crest", name="up")
        + point("crest", 100)
        + line(60, UP_TO_TWO, start="crest", name="down")
        + point("entry", 0)
        + ONE_STOREY,
        why="61 psi less 45 for 104 ft leave 16 at the crest. 5 gpm lose 18 in 300 ft of 3/4 inch "
        "(5.9 psi per 100 ft, C 150): the line would suck air there, though the tap has its "
        "pressure below; 1 inch loses 5. Pipe behind the crest may be the smaller one.",
        answer="works",
        none_of=("crest", "pressure-short"),
        sizes={"up": ("1", "1-1/4"), "down": ("3/4", "1")},
    ),
)

MAINS = (
    House(
        name="a good street main",
        text=project("street")
        + main(70, 64)
        + device("meter", "meter", "source", "metered")
        + line(80, INCH_OR_MORE, start="metered")
        + TWO_STOREYS,
        why="64 psi at 20 gpm less a meter's 5, 8 for height, 6 for the service and 9 in the house "
        "is well above 20. 70 at rest is under the code's 80.",
        answer="works",
        none_of=("pressure-short", "static-over-limit", "main-at-rest-only", "pump-cannot-hold"),
        sizes={"service": ("1", "1-1/4")},
    ),
    House(
        name="a main known at rest only",
        text=project("gauge") + main(70) + line(80, INCH_OR_MORE) + TWO_STOREYS,
        why="A gauge on a tap with nothing running tells nothing of what is left while water runs: "
        "works, measure it flowing.",
        answer="works",
        findings=("main-at-rest-only",),
    ),
    House(
        name="a hundred and ten at the street",
        text=project("hard") + main(110, 104) + line(80, INCH_OR_MORE) + TWO_STOREYS,
        why="110 psi at rest; the code stops at 80 (IRC P2903.3.1, IPC 604.8): a reducing valve, "
        "set to what is usual, 50 to 60 (never above 80).",
        answer="fails",
        findings=("static-over-limit",),
        none_of=("pressure-short",),
        says=(r"reducing valve", r"set to (50|55|60)(\.0)? psi"),
    ),
    House(
        name="a hundred and ten behind a reducing valve",
        text=project("reduced")
        + main(110, 104)
        + line(80, INCH_OR_MORE)
        + device("reducer", "pressure-reducing-valve", "entry", "reduced", "", 'setting = "60 psi"')
        + inside(two_baths(9.0), feed="reduced"),
        why="60 behind the valve, some 10 less while 18 gpm run, 8 for height and 8 to 10 in the "
        "house: 30 and more is left. The valve closes the house off: an expansion tank.",
        answer="works",
        findings=("thermal-expansion",),
        none_of=("pressure-short", "static-over-limit"),
    ),
    House(
        name="thirty five and a softener",
        text=project("weak street")
        + main(38, 35)
        + device("meter", "meter", "source", "metered")
        + line(80, INCH_OR_MORE, start="metered")
        + device("softener", "softener", "entry", "soft")
        + inside(two_baths(9.0), feed="soft"),
        why="35 less 7 for height, 5 for the meter and some 20 of a softener run beyond its rated "
        "13 gpm is nothing. A booster, or equipment of the size for it; pipe does not mend it. "
        "Nothing arrives anywhere, so none is the worst off.",
        answer="fails",
        findings=("pressure-short",),
    ),
    House(
        name="service pipe of a hundred psi",
        text=project("thin wall")
        + main(60, 56)
        + line(60, 'sizes = ["1", "1-1/4"]', material="pe-sidr15")
        + ONE_STOREY,
        why="Service pipe must be made for 160 psi at 73 degF (IRC P2906.4, IPC 605.3); this is "
        "made for 100. It is under ground, so it is a failure and not a remark.",
        answer="fails",
        findings=("service-rating",),
        none_of=("pressure-short",),
    ),
)

HOT_WATER = (
    House(
        name="a bidet at a hundred and thirty",
        text=project("bidet")
        + main(60, 56)
        + '[water]\nhot = "130 degF"\n'
        + line(60, INCH_OR_MORE)
        + inside((*one_bath(), ("bidet", "bidet", 1.5, 25.0, "ch"))),
        why="110 degF is the most that may reach a bidet (IRC P2721.2, IPC 408.3), whatever "
        "valve is taken for granted at the shower.",
        answer="works",
        findings=("scald",),
        says=(r"bidet[^.]*110",),
    ),
)

TREATMENT = (
    House(
        name="a small filter before the whole house",
        text=project("filter")
        + well(50, 70, pump=STRONG, tank="260 gal", relief=90)
        + line(60, INCH_OR_MORE)
        + device("filter", "cartridge-filter", "entry", "filtered", "8 psi at 8 gpm")
        + inside(two_baths(9.0), feed="filtered"),
        why="A filter that loses 8 psi at 8 gpm loses about 40 at 18 (square law). It is run at "
        "twice its size: the next size or two side by side, never larger pipe.",
        answer="fails",
        findings=("pressure-short",),
        says=(r"filter",),
    ),
    House(
        name="a softener of its size",
        text=project("soft", "listed", listed='["second shower", "washer"]')
        + well(50, 70, pump=STRONG, tank="260 gal", relief=90)
        + line(60, INCH_OR_MORE)
        + device("softener", "softener", "entry", "soft", "15 psi at 13 gpm")
        + inside(two_baths(9.0), feed="soft"),
        why="15 psi at its rated flow is what NSF 44 allows; at 6.5 gpm it is 4 to 8. 50 less 8 "
        "for height, 8 and 8 more is above 20.",
        answer="works",
        none_of=("pressure-short",),
    ),
    House(
        name="hot water at a hundred and eighty five",
        text=project("scald")
        + main(60, 56)
        + '[water]\nhot = "185 degF"\n'
        + line(60, INCH_OR_MORE)
        + ONE_STOREY,
        why="At 185 degF skin is burnt in a second. Whatever the pressures are, that is told.",
        answer="works",
        findings=("scald",),
    ),
)

OLD_STEEL = (
    House(
        name="galvanized taken for new",
        text=project("old")
        + main(48, 44, 15)
        + line(80, 'size = "1"', material="galvanized-sch40")
        + inside(one_bath(), main_length=10),
        why="As new (0.15 mm, Colebrook) 1 inch steel loses some 6 psi in 80 ft at 14 gpm: 44 "
        "less 6, 4 for height and 12 in the house still works. After forty years (1.5 mm of "
        "crust) it loses 14, and the house falls short. Who takes it for new must say so.",
        answer="works",
        findings=("old-galvanized",),
    ),
    House(
        name="galvanized as it is",
        text=project("crusted")
        + main(60, 55, 15)
        + line(
            80,
            'size = "3/4"',
            material="galvanized-sch40",
            more='buried = "48 in"\nroughness = "1.5 mm"',
        )
        + inside(one_bath(), main_length=10),
        why="3/4 inch with its crust loses some 50 psi in 80 ft at the code's peak (friction "
        "factor 0.087 for 1.5 mm in 20.9 mm): it must be replaced.",
        answer="fails",
        findings=("pressure-short",),
        none_of=("old-galvanized",),
    ),
    House(
        name="an old line of unknown size",
        text=project("unknown")
        + main(62, 58, 15)
        + line(90, "existing = true", material="copper-l")
        + inside(one_bath(), main_length=10),
        why="Nobody digs up the line to see. 14 gpm in 90 ft lose 100 psi in 1/2 inch, 18 in "
        "3/4 and 5 in 1 inch (Hazen-Williams, C 150): it hangs on the size; the answer is an if.",
        answer="works only if",
        says=(r"^Works only if service is 3/4 inch or larger",),
        sizes={"bath cold": ("1/2", "3/4")},
    ),
)
