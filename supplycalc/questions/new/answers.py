"""What was answered so far; what was not known is taken from a table with its source."""

from __future__ import annotations

import re
from collections.abc import Callable

from msgspec import Struct, field

from supplycalc.catalogue import load_catalogue
from supplycalc.reading.keys import Key
from supplycalc.reading.ranges import range_of
from supplycalc.reading.synonyms import meant_by, nearly_meant_by
from supplycalc.records.sentences import cite
from supplycalc.tables import citation_of, load_table
from supplycalc.units import NotAQuantity, UnitSystem, parse
from supplycalc.units.parsing import ROUGHLY

MOST_PEOPLE = 99
FLOORS = 3
"""Most storeys that are asked about."""
DONT_KNOW = ("", "dont know", "don't know", "do not know", "dk", "no idea", "unknown", "not sure")


class Wanted(Struct, frozen=True, kw_only=True):
    """One fixture of an answer."""

    kind: str
    word: str
    """As the person called it."""
    length: str
    """Along the pipe; empty where not said."""


class Answers(Struct, kw_only=True):
    """Answers in the order in which they were given, as a person writes them."""

    units: UnitSystem = "us"
    given: dict[str, str | None] = field(default_factory=dict)
    """By question; None: not known."""

    def known(self, name: str) -> bool:
        """Whether the person knew."""
        return self.given.get(name) is not None

    def value(self, name: str) -> str:
        """The answer, or what is assumed in its place; empty where nothing is."""
        answer = self.given.get(name)
        return self.stand_in(name) if answer is None else answer

    def stand_in(self, name: str) -> str:
        """What the file takes where an answer is not known, as a range where the table has one.

        A starter, for which nothing was answered, has plain figures to be written over.
        """
        usual = assumed(name, self.units)
        return spread_of(name, self.units) or usual if self.given else usual

    def floors(self) -> int:
        """Storeys with water: those for which fixtures were named."""
        return next(
            (above - 1 for above in range(2, FLOORS + 1) if not self.fixtures(above)), FLOORS
        )

    def fixtures(self, floor: int) -> list[Wanted]:
        """The fixtures of a storey, counted from 1."""
        return fixtures_of(self.value(f"fixtures_{floor}"))

    def farthest(self, floor: int) -> str:
        """The longest pipe that was named on a storey, or what is assumed where none was."""
        named = [each.length for each in self.fixtures(floor) if each.length]
        by_length = max(named, key=lambda text: middle_of(text, "length"), default="")
        return by_length or self.value(f"far_{floor}")


def tank_inside(answers: Answers) -> bool:
    """Whether the house's pipes begin at a tank in the house, not out at a well or main."""
    return answers.value("supply") == "well" and answers.value("tank_place") == "house"


def assumed(name: str, units: UnitSystem) -> str:
    """What is taken where an answer is not known; empty where the file then leaves it out."""
    row = load_table("starter")["assumed"].get(name)
    return row["us" if units == "us" else "metric"] if row else ""


def spread_of(name: str, units: UnitSystem) -> str:
    """What is written in the file as a range where an answer is not known; empty where none is."""
    row = load_table("starter")["assumed"].get(name, {})
    spread: str = row.get("range_us" if units == "us" else "range_metric", "")
    return spread


LEFT_OPEN = {
    "tank": "size of the tank",
    "bucket": "what the pump gives",
    "yield": "what the well gives",
    "well_line": "line from the well to the tank",
    "main_static": "pressure of the main at rest",
    "people": "how many people live there",
}
"""Questions for whose answer nothing stands in: the file goes without."""


def not_known(answers: Answers) -> list[str]:
    """What was not known, each with what was taken in its place."""
    rows = load_table("starter")["assumed"]
    known = {*rows, *LEFT_OPEN}
    names = [name for name, answer in answers.given.items() if answer is None and name in known]
    floors = range(1, answers.floors() + 1)
    names += [f"far_{n}" for n in floors if not any(each.length for each in answers.fixtures(n))]
    names += ["storey"] * (len(floors) > 1)
    return [
        f"{rows[name]['title']}: taken as {answers.stand_in(name)}"
        if name in rows
        else f"{LEFT_OPEN[name]}: left open"
        for name in dict.fromkeys(names)
    ]


def ends_of(text: str, dimension: str) -> tuple[float, float, float]:
    """Low end, middle and high end [SI] of an amount as people say it, all one where it is sure.

    Raises:
        NotAQuantity: it is none.
    """
    try:
        value = parse(text, dimension)
    except NotAQuantity:
        key = Key(name=dimension, kind="quantity", help="", example="", dimension=dimension)
        known = range_of(key, text, ("run", dimension))
        if known is None:
            raise
        return known.low, known.middle, known.high
    return value, value, value


def middle_of(text: str, dimension: str) -> float:
    """The middle of an amount [SI]."""
    return ends_of(text, dimension)[1]


def assumed_because(name: str) -> tuple[str, str] | None:
    """What an assumed answer may be instead, in words, and the source of that."""
    row = load_table("starter")["assumed"].get(name)
    if row is None:
        return None
    return row["spread"], cite(citation_of(row))


class WrongAnswerError(ValueError):
    """An answer that cannot be taken; says why and how to write it."""


_COUNTED = re.compile(
    r"(?:(?P<count>[0-9]{1,2}|a|an|one|two|three|four)\s+(?:x\s+)?)?(?P<word>[A-Za-z][A-Za-z -]*?)"
    r"(?:\s+(?:at\s+)?(?P<length>[0-9].*))?",
)
BATHROOMS = {
    "half bath": ("toilet", "basin"), "half bathroom": ("toilet", "basin"),
    "powder room": ("toilet", "basin"), "cloakroom": ("toilet", "basin"),
    "shower room": ("shower", "toilet", "basin"), "wet room": ("shower", "toilet", "basin"),
    "three quarter bath": ("shower", "toilet", "basin"),
    **dict.fromkeys(
        ("bathroom", "full bath", "full bathroom", "master bath", "master bathroom", "en suite",
         "ensuite", "hall bath", "guest bath", "guest bathroom", "main bathroom"),
        ("bath", "toilet", "basin"),
    ),
}  # fmt: skip
"""What stands in a room that people name as a whole; a bath alone is the tub."""
_NUMBERS = {"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4}


def fixtures_of(text: str) -> list[Wanted]:
    """The fixtures that an answer lists, such as "bath 50 ft, 2 toilets, kitchen sink".

    Raises:
        WrongAnswerError: a word that is no fixture, or a length that is none.
    """
    if text.strip().lower() in ("none", "nothing", "no"):
        return []
    valid = tuple(load_catalogue().fixtures)
    listed: list[Wanted] = []
    for part in re.split(r"\s*(?:,|;|\band\b)\s*", text.strip()):
        match = _COUNTED.fullmatch(part)
        if match is None:
            raise WrongAnswerError(
                f"{part!r}: write one fixture after the other, like bathroom, 2 toilets, kitchen "
                "sink, each with its length where you know it"
            )
        word = match["word"].strip().lower()
        room = next((BATHROOMS[each] for each in _singular(word) if each in BATHROOMS), None)
        if room is not None:
            count, length = match["count"] or "1", match["length"] or ""
            inside = ", ".join(f"{each} {length}".strip() for each in room)
            listed += fixtures_of(inside) * int(_NUMBERS.get(count, count))
            continue
        if _singular(word)[-1] in ("sink", "faucet", "tap"):
            raise WrongAnswerError(
                f"{word!r} may be any: write kitchen sink or basin, or garden tap"
            )
        kind = next(
            (kind for each in _singular(word) if (kind := meant_by("fixtures", each, valid))), ""
        )
        if not kind:
            near = _nearest("fixtures", _singular(word)[-1], valid)
            raise WrongAnswerError(
                f"{word!r} is no fixture; {near}try bathroom, bath, tub, shower, toilet, basin, "
                "kitchen sink, dishwasher, washer, garden tap, laundry tub"
            )
        length = match["length"] or ""
        if length:
            length_of(length)
        count = match["count"] or "1"
        word = _singular(word)[-1]
        listed += [Wanted(kind=kind, word=word, length=length)] * int(_NUMBERS.get(count, count))
    return listed


def _nearest(among: str, word: str, valid: tuple[str, ...]) -> str:
    near = nearly_meant_by(among, word, valid)
    return f"did you mean {near}? Or " if near else ""


def _singular(word: str) -> tuple[str, ...]:
    for ending, single in (("ches", "ch"), ("shes", "sh"), ("s", "")):
        if word.endswith(ending) and not word.endswith("ss"):
            return (word, word.removesuffix(ending) + single)
    return (word,)


def length_of(text: str) -> str:
    """A length as it was written; WrongAnswerError where it is none above zero."""
    written = measured_in("length")(text)
    if ends_of(written, "length")[0] <= 0:
        raise WrongAnswerError("that is no length; measure along the pipe")
    return written


def measured_in(dimension: str) -> Callable[[str], str]:
    """A reader of answers that are a quantity or a range, which are kept as they were written."""

    def read(text: str) -> str:
        try:
            ends_of(text, dimension)
        except NotAQuantity as error:
            sure = ROUGHLY.sub("", text)
            if sure != text:  # maybe 60 to 90 ft
                return read(sure)
            raise WrongAnswerError(error.reason) from None
        return text

    return read


_BELOW = r"\b(?:below|under|lower|down|deeper|beneath)\b"
_ABOVE = r"\b(?:above|over|up|higher)\b"
_LEVEL = r"(?:(?:at|on|the|same|floor|ground|level|with|as|it|flush|zero|0)\b\s*)+"


def floor_height_of(text: str) -> str:
    """A height against the floor, such as "-6 ft", "2 ft below" or "level with the floor"."""
    words = text.strip().lower()
    if re.fullmatch(_LEVEL, words):
        return "0 ft"
    for side, sign in ((_BELOW, "-"), (_ABOVE, "")):
        if re.search(side, words):
            amount = re.sub(r"\b(?:the|floor|ground|slab|it|finished|level)\b", "", words)
            amount = " ".join(re.sub(side, "", amount).split()).lstrip("-+ ")
            return measured_in("elevation")(f"{sign}{amount}")
    return measured_in("elevation")(text)


def people_of(text: str) -> str:
    """How many people live there, such as "5" or "two adults and 3 children"."""
    numbers = {**_NUMBERS, "five": 5, "six": 6, "seven": 7, "eight": 8}
    told = [
        int(numbers.get(word, word))
        for word in re.findall(r"[a-z]+|[0-9]+", text.lower())
        if word.isdigit() or (word in numbers and word not in ("a", "an"))
    ]
    if not told or not 0 < sum(told) <= MOST_PEOPLE:
        raise WrongAnswerError(f"a number, from 1 to {MOST_PEOPLE}")
    return str(sum(told))


def switch_of(text: str) -> str:
    """Both pressures of a switch, such as "40/60 psi", "40 60" or "2.8/4.2 bar"."""
    match = re.fullmatch(
        r"([0-9.]+)\s*(psi|bar|kpa)?\s*(?:/|-|to|and|\s)\s*([0-9.]+)\s*(psi|bar|kpa)?",
        re.sub(r"\b([0-9]),([0-9])\b", r"\1.\2", text.strip()),
        re.IGNORECASE,
    )
    if match is None:
        both = "write both pressures, like 40/60 psi or 2.8/4.2 bar"
        if _A_READING.search(text):
            both = (
                "that is a reading, which 'supplycalc gauge' judges later; here it is what the "
                f"switch is set to: {both}"
            )
        raise WrongAnswerError(both)
    low, high = match[1], match[3]
    unit = (match[4] or match[2] or ("psi" if float(high) > 12 else "bar")).lower()
    unit = "kPa" if unit == "kpa" else unit
    if not 0 < float(low) < float(high):
        raise WrongAnswerError("the pump stops at a higher pressure than it starts at")
    return f"{low}/{high} {unit}"


_READ = re.compile(
    r"\D*?(?P<rest>[0-9.]+)\s*(?P<unit>psi|bar|kpa)?\s*(?:standing|static|at rest|closed)\b.*?"
    r"(?P<open>[0-9.]+)\s*(?P<last>psi|bar|kpa)?\s*(?:with|while|when|flowing|running)\b.*",
    re.IGNORECASE,
)
_A_READING = re.compile(r"\b(?:standing|open|running|flowing)\b", re.IGNORECASE)


def main_of(text: str) -> tuple[str | None, str | None]:
    """Pressure while water runs and at rest, such as "52 psi standing, 38 with two hoses open"."""
    if match := _READ.fullmatch(text.strip()):
        unit = match["last"] or match["unit"] or ("psi" if float(match["rest"]) > 12 else "bar")
        at_rest, flowing = f"{match['rest']} {unit}", f"{match['open']} {unit}"
        if float(match["open"]) > float(match["rest"]):
            raise WrongAnswerError("pressure while water runs is below that at rest")
        return measured_in("pressure")(flowing), measured_in("pressure")(at_rest)
    return measured_in("pressure")(text), None


def bucket_of(text: str) -> str:
    """A bucket test, such as "5 gal in 28 s at 45 psi"."""
    flow, at, pressure = text.rpartition(" at ")
    if not at:
        raise WrongAnswerError(
            "say what the gauge showed too: 5 gal in 28 s at 45 psi, or 10 L in 30 s at 3 bar"
        )
    measured_in("flow")(flow)
    measured_in("pressure")(pressure)
    return text


def _parted(text: str, between: str) -> list[str]:
    """The parts of an answer to more than one thing, without those that are not known."""
    text = re.sub(r"\bbetween\s+([^,;]+?)\s+and\s+(?=[0-9])", r"\1 to ", text.strip())
    parts = (re.sub(r"^(?:a|an|the|and|then)\s+", "", part) for part in re.split(between, text))
    return [part for part in parts if part.lower() not in DONT_KNOW]


_COMMA = r"\s*;\s*|,\s+|,(?=\D)"
_LISTED = rf"{_COMMA}|\s+(?:and|then)\s+"


_FILLING = re.compile(r"(?:its?|that|label|size|about|says?|is|of|with|holds?|\s)+", re.IGNORECASE)


def tank_of(text: str) -> tuple[str | None, str | None]:
    """Where the pressure tank stands and how large it is, such as "house, 44 gal"."""
    place = volume = None
    for part in _parted(text, rf"{_LISTED}|\s+(?=[0-9]|in\b|at\b)"):
        if _FILLING.fullmatch(part):
            continue
        if part[0].isdigit():
            volume = measured_in("volume")(part)
        else:
            place = one_of(
                well=("wellhead", "pump", "shed", "well house", "pit"),
                house=("home", "basement", "cellar", "crawl", "garage", "utility", "inside"),
            )(part)
    return place, volume


def pump_and_well(text: str) -> tuple[str | None, str | None]:
    """A bucket test and the well's yield, such as "5 gal in 28 s at 45 psi, well 5 gpm"."""
    bucket = lasting = None
    for part in _parted(text, _COMMA):
        of_well = re.fullmatch(r"(?:well|log|yield)(?:\s+gives)?:?\s*(.*)", part, re.IGNORECASE)
        if of_well or bucket:
            lasting = measured_in("flow")(of_well[1] if of_well else part)
        else:
            bucket = bucket_of(part)
    return bucket, lasting


def lengths_of(text: str) -> tuple[str | None, str | None]:
    """One length or two along the way of the water, such as "150 ft, 12 ft"."""
    lengths = [length_of(part) for part in _parted(text, _LISTED)]
    if len(lengths) > 2:
        raise WrongAnswerError("two lengths at most: to the tank, and on to where pipes branch")
    return (*lengths, None, None)[0], (*lengths, None, None)[1]


def equipment_and_heater(text: str) -> tuple[str | None, str | None]:
    """What stands in the line, and the heater, such as "filter, softener, tankless"."""
    heaters = one_of(
        tankless=("on demand", "instant", "combi", "flow"),
        tank=("cylinder", "storage", "boiler", "normal", "heater"),
    )
    heater, others = None, []
    for part in _parted(text, _LISTED):
        try:
            heater = heaters(part)
        except WrongAnswerError:
            others.append(part)
    return equipment_of(", ".join(others) or "none"), heater


METRIC_TUBES = {"pex-sdr9": "pex-s3.2", "copper-l": "copper-en1057"}
"""What is meant by tubes of one name where pipe is metric."""


def pipes_of(text: str, units: UnitSystem = "us") -> tuple[str | None, str | None, str | None]:
    """Layout, tube, and whether the slab covers them, such as "manifold, pex, in the slab"."""
    layouts = one_of(
        manifold=("home run", "home-run", "own"), trunk=("tee", "tees", "branch", "branches")
    )
    layout = tube = slab = None
    for part in _parted(text, _LISTED):
        words = part.lower()
        if words in ("yes", "no") or re.search(r"\b(?:slab|concrete)\b", words):
            slab = "no" if re.search(r"\b(?:no|not|without)\b", words) else "yes"
            continue
        try:
            layout = layouts(part)
        except WrongAnswerError:
            tube = tube_of(part)
            tube = tube if units == "us" else METRIC_TUBES.get(tube, tube)
    return layout, tube, slab


def service_of(text: str) -> str:
    """Whether the line lies there: new, or its size and tube, either of which may be unknown."""
    word = text.strip().lower()
    if re.match(r"(?:no|n|nope|new|not yet)\b", word):
        return "new"
    plain = " ".join(_OLD.sub(" ", word).split())
    if not plain:
        return "there"
    service_parts(plain)
    return plain


_OLD = re.compile(
    r"\b(?:yes|y|there|old|existing|pipe|line|it|is|its|it's|a|an|the|of|some|already|lies|made|size|"
    r"unknown|not|known|don't|dont|know|sure)\b|[,;?]"
)
_SIZE_AND_TUBE = re.compile(
    r"([0-9]+(?:[ -][0-9]+/[0-9]+|/[0-9]+|\.[0-9]+)?(?:x[0-9.]+)?)\s*(?:inch|in\b\.?|mm|\")?\s*(.*)"
)


def service_parts(text: str) -> tuple[str, str]:
    """Size, "?" where it is not said, and tube of a line that lies there.

    Raises:
        WrongAnswerError: they are none.
    """
    from supplycalc.reading.runs import nominal_size

    tubes = load_catalogue().tubes
    if alone := meant_by("tubes", text, tuple(tubes)):
        return "?", alone
    match = _SIZE_AND_TUBE.fullmatch(text.strip())
    if match is None:
        raise WrongAnswerError(
            "no; or write its size and what it is made of, like 3/4 copper; galvanized where the "
            "size is not known; or yes"
        )
    size, word = match[1], match[2].strip()
    metric = size.isdigit() and int(size) > 3
    usual = "pe100-sdr11" if metric else "pe-cts-sdr9"
    called = (word, *word.split())
    material = next(
        (kind for each in called if (kind := meant_by("tubes", each, tuple(tubes)))), ""
    )
    material = material if word else usual
    if not material:
        raise WrongAnswerError(
            f"{word!r} is no tube; write its size and what it is made of, like 3/4 copper, 1 poly, "
            "1 galvanized; or yes, if you don't know"
        )
    known = tuple(each.nominal for each in tubes[material].sizes)
    nominal = nominal_size(size, known) or next(
        (each for each in known if each.startswith(f"{size}x")), None
    )
    if nominal is None:
        raise WrongAnswerError(
            f"{size!r} is not a size of {material}; sizes: {', '.join(known)}; or yes, if you "
            "don't know it"
        )
    return nominal, material


def equipment_of(text: str) -> str:
    """What stands in the line, in order, by the kinds of device."""
    if text.strip().lower() in ("none", "no", "nothing"):
        return "none"
    valid = tuple(load_catalogue().devices)
    kinds = []
    for part in re.split(r"\s*(?:,|;|\band\b|\bthen\b)\s*", text.strip()):
        kind = meant_by("devices", re.sub(r"^(?:a|an|the)\s+", "", part), valid)
        if not kind or load_catalogue().devices[kind].hot:
            near = _nearest("devices", part, valid)
            raise WrongAnswerError(
                f"{part!r} is not known here; {near}try filter, softener, iron filter, "
                "neutralizer, uv, meter, reducing valve, or none"
            )
        kinds.append(kind)
    return ", ".join(kinds)


def tube_of(text: str) -> str:
    """A tube family by what people call it."""
    valid = tuple(load_catalogue().tubes)
    kind = meant_by("tubes", text, valid)
    if not kind:
        raise WrongAnswerError(
            f"{text!r} is no tube known here; {_nearest('tubes', text, valid)}try pex, copper, "
            "cpvc, multilayer ('supplycalc sources' has all), beside manifold or trunk, slab or no "
            "slab"
        )
    if not load_catalogue().tubes[kind].hot:
        raise WrongAnswerError(f"{kind} may not carry hot water; try pex, copper or multilayer")
    return kind


def one_of(**words: tuple[str, ...]) -> Callable[[str], str]:
    """A reader of answers that are one of a few, each with what it may be called."""

    def read(text: str) -> str:
        word = text.strip().lower()
        for answer, called in words.items():
            if any(f" {each} " in f" {word} " for each in (answer, *called)):
                return answer
        raise WrongAnswerError(f"answer {' or '.join(words)}")

    return read
