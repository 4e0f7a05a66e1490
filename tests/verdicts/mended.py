"""Houses that fail, with the change that a practitioner would make, computed to work.

Trade judgements are common practice, no source, where none is named.
"""

from __future__ import annotations

from tests.verdicts.judged import House
from tests.verdicts.wells import INCH_OR_MORE, ONE_STOREY, STRONG, TWO_BATHS, WEAK
from tests.verdicts.writing import device, inside, line, main, one_bath, point, project, well

MENDED = (
    House(
        name="garden tap behind the softener",
        text=project("tap behind", "listed", listed='["garden tap", "bath"]')
        + main(44, 41)
        + line(60, INCH_OR_MORE)
        + device("softener", "softener", "entry", "soft", "15 psi at 8 gpm")
        + inside(one_bath(), feed="soft"),
        why="A garden tap draws 5 gpm and needs no soft water; behind the softener it takes the "
        "bath's pressure with it: 15 psi at 8 gpm are 19 at 9, and 7 or less at 4. Its tee belongs "
        "before the softener, before anybody buys a larger one.",
        answer="fails",
        findings=("pressure-short",),
        says=(r"lead garden tap off before softener",),
    ),
    House(
        name="a hydrant that is opened wide",
        text=project("wide open", "listed", listed='["garden tap", "bath"]')
        + main(62, 58)
        + line(100, 'size = "3/4"\nexisting = true')
        + inside(one_bath(), more={"garden tap": 'flow = "9 gpm"'}),
        why="13 gpm lose some 40 psi in 100 ft of 3/4 inch tube, 8 gpm 15 (power 1.85). A flow "
        "limiter of a few dollars at the tap mends what else takes a new line in a trench.",
        answer="fails",
        findings=("pressure-short",),
        says=(r"garden tap down to [\d.]+ gpm with a flow limiter",),
    ),
    House(
        name="bath and washer on an old three quarter inch line",
        text=project("one after the other", "listed", listed='["washer", "bath"]')
        + main(44, 41)
        + line(170, 'size = "3/4"\nexisting = true')
        + inside(one_bath()),
        why="8 gpm lose 22 psi in 170 ft of 3/4 inch tube, 4 gpm 6: either alone has its pressure. "
        "Nobody digs for that; the washer runs when nobody bathes.",
        answer="fails",
        findings=("pressure-short",),
        says=(r"(washer and bath|bath and washer) never run at once",),
    ),
    House(
        name="a tankless heater for one shower",
        text=project("tankless")
        + main(58, 54)
        + line(60, INCH_OR_MORE)
        + inside(one_bath(), heater="15 psi at 5 gpm").replace(
            'kind = "heater"', 'kind = "tankless-heater"'
        ),
        why="15 psi at 5 gpm are 60 at 10 (square law): no pipe mends that. A larger heater, or "
        "two side by side, which share the flow: 15 psi again.",
        answer="fails",
        findings=("pressure-short",),
        says=(r"fit (water heater in the next size|a second water heater in parallel)",),
        silent=(r"leave water heater out", r"do not mend"),
    ),
    House(
        name="treatment far too small for the house",
        text=project("all too small")
        + well(50, 70, pump=STRONG, tank="260 gal", relief=90)
        + line(60, INCH_OR_MORE)
        + device("iron filter", "iron-filter", "entry", "clear", "10 psi at 8 gpm")
        + device("softener", "softener", "clear", "soft", "15 psi at 10 gpm")
        + device("lamp", "uv", "soft", "safe", "3 psi at 8 gpm")
        + inside(one_bath(), feed="safe"),
        why="10 psi at 8 gpm are 31 at 14, 15 at 10 are 29, 3 at 8 are 9: the whole of 50 psi. "
        "Each needs the size for its flow; nothing else helps, and a lamp that kills germs is "
        "never left out.",
        answer="fails",
        findings=("pressure-short", "beyond-rated-flow"),
        says=(r"iron filter, softener and lamp",),
        silent=(r"leave lamp out", r"do not mend"),
    ),
    House(
        name="the pump that would do",
        text=project("small pump")
        + well(pump=WEAK, tank="8 gal")
        + line(60, INCH_OR_MORE)
        + ONE_STOREY,
        why="4 gpm where 6 are asked: the next pump, and with it a tank of the size for it, since "
        "a pump should run a minute (8 gal give back 2 between 60 and 40).",
        answer="fails",
        findings=("pump-cannot-hold",),
        says=(
            r"fit a pump that gives 6\.0 gpm against \d+ ft of total head, the lift included, and "
            r"a tank of (20|26|32) gal",
            r"computed: then it gives \d",
        ),
    ),
    House(
        name="two inch to a house of two baths",
        text=project("no two inch")
        + well(30, 50, at_well=True, pump=STRONG, tank="260 gal")
        + line(150, "")
        + TWO_BATHS,
        why="30 less 4 for height leave 26 where 20 are asked: 18 gpm in 150 ft of 2 inch would "
        "just do it. Nobody lays 2 inch beside the tank of a house; 40/60 mends it with 1-1/4 or "
        "1-1/2, and that comes first.",
        answer="fails",
        findings=("pressure-short",),
        says=(r"to mend it, set the pressure switch to 40\.0 psi / 60\.0 psi",),
        sizes={"service": ("1-1/4", "1-1/2")},
    ),
    House(
        name="a few feet in the house behind a long line",
        text=project("inside")
        + well(40, 60, pump=STRONG, tank="220 gal")
        + line(350, INCH_OR_MORE)
        + ONE_STOREY,
        why="The line of 350 ft decides; 15 ft of main in the house lose 1 psi in 1-1/4 inch and "
        "half of that in 1-1/2, whose fittings nobody has in the van: more than 1-1/4 is not laid "
        "in such a house, neither for need nor for a reserve. No size brings the margin to 5 psi, "
        "so it is thin, the most is kept, and what was not tried is told.",
        answer="works",
        findings=("pressure-thin", "tank-place"),
        says=(
            r"no permitted size leaves more",
            r"larger than 1-1/2 inch in service and than 1-1/4 inch in heater feed and hot main is "
            r"tried only where `sizes` says so",
        ),
        sizes=dict.fromkeys(("cold main", "heater feed", "hot main"), ("3/4", "1", "1-1/4")),
    ),
    House(
        name="a few feet beside the tank",
        text=project("fifteen feet") + well(40, 60, gauge=0) + line(15, "", more="") + ONE_STOREY,
        why="14 gpm in 15 ft: 1 inch loses 2 psi, 1-1/2 inch nothing. What 1-1/2 inch would spare "
        "is not worth its fittings.",
        answer="works",
        none_of=("pressure-short",),
        sizes={"service": ("1", "1-1/4")},
    ),
    House(
        name="a house far below its tank",
        text=project("down the hill")
        + well(40, 60, gauge=110, pump=STRONG, tank="260 gal")
        + line(700, INCH_OR_MORE)
        + point("entry", -2)
        + ONE_STOREY,
        why="110 ft down are 48 psi more: 108 at rest, over the 80 that fixtures bear. A reducing "
        "valve stands where the line enters the house, set to 50 or 60 as everywhere, not up at "
        "the tank, where it would have to be set to 15.",
        answer="fails",
        findings=("static-over-limit",),
        says=(r"reducing valve where service ends, (with a strainer [a-z ]+, )?set to (50|55|60)",),
        silent=(r"source's gauge, ", r"set to [123]\d\.", r"zones"),
    ),
    House(
        name="a house down the hill whose height nobody gave",
        text=project("no height")
        + well(gauge=90, relief=None)
        + line(500, INCH_OR_MORE)
        + inside(one_bath()),
        why="The fixtures stand 90 ft under the tank's gauge: the house is there, whatever the "
        "file leaves out of its own entry. The valve is set to 50 or 60 as in any house.",
        answer="fails",
        findings=("static-over-limit",),
        says=(r"reducing valve where service ends, with a strainer [a-z ]+, set to (50|55|60)",),
        silent=(r"set to 4\d",),
    ),
    House(
        name="a peak far beyond a hill",
        text=project("over the hill")
        + well(gauge=0)
        + line(200, 'size = "3/4"', end="top")
        + line(200, 'size = "3/4"', name="down", start="top")
        + point("top", 85)
        + point("entry", -20)
        + ONE_STOREY,
        why="40 psi lift water 92 ft at rest; 14 gpm in 3/4 inch lose 3 times what is left in the "
        "first 20 ft. Nobody measures 90 psi below the air: what is missing is told, no vacuum.",
        answer="fails",
        findings=("pressure-short", "crest"),
        says=(r"pressure is used up before it",),
        silent=(r"would have to stand",),
    ),
)
