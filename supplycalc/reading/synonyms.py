"""What people call things, and what the tables call them: for "did you mean" in messages."""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Mapping

from supplycalc.catalogue import load_catalogue

NEAR = 0.8
"""How like an everyday word, from 0 to 1, a misspelt one must be."""
_SPACES = re.compile(r"[\s_-]+")

SYNONYMS: Mapping[str, Mapping[str, str | tuple[str, ...]]] = {
    "fixtures": {
        "bath": "tub-shower", "tub": "tub-shower", "bath tub": "bathtub",
        "bath shower": "tub-shower", "shower bath": "tub-shower", "shower tub": "tub-shower",
        "soaking tub": "bathtub", "shower head": "shower", "shower stall": "shower",
        "toilet": "water-closet", "wc": "water-closet", "loo": "water-closet",
        "closet": "water-closet", "commode": "water-closet", "flush toilet": "water-closet",
        "one piece toilet": "water-closet-one-piece",
        "flush valve toilet": "flush-valve-closet", "flushometer": "flush-valve-closet",
        "basin": "lavatory", "wash basin": "lavatory", "washbasin": "lavatory", "lav": "lavatory",
        "hand basin": "lavatory", "vanity": "lavatory", "bathroom sink": "lavatory",
        "sink": "kitchen-sink", "kitchen": "kitchen-sink", "kitchen faucet": "kitchen-sink",
        "kitchen tap": "kitchen-sink", "wet bar": "bar-sink", "prep sink": "bar-sink",
        "washer": "clothes-washer", "washing machine": "clothes-washer",
        "laundry": "clothes-washer", "laundry washer": "clothes-washer",
        "dish washer": "dishwasher", "laundry sink": "laundry-tub", "laundry tray": "laundry-tub",
        "service sink": "utility-sink", "mop sink": "utility-sink", "slop sink": "utility-sink",
        "hose": "hose-bibb", "hose bib": "hose-bibb", "hose tap": "hose-bibb",
        "garden tap": "hose-bibb", "garden hose": "hose-bibb", "outdoor tap": "hose-bibb",
        "outside tap": "hose-bibb", "tap": "hose-bibb", "spigot": "hose-bibb",
        "sillcock": "hose-bibb", "sill cock": "hose-bibb", "hydrant": "yard-hydrant",
        "sprinkler": "irrigation", "sprinklers": "irrigation", "lawn": "irrigation",
        "irrigation zone": "irrigation", "zone": "irrigation", "drip": "irrigation",
        "drip line": "irrigation", "trough": "stock-waterer", "waterer": "stock-waterer",
        "stock tank": "stock-waterer", "cattle waterer": "stock-waterer",
        "horse waterer": "stock-waterer", "livestock waterer": "stock-waterer",
        "jetted tub": "whirlpool-tub", "whirlpool": "whirlpool-tub", "hot tub": "whirlpool-tub",
        "icemaker": "ice-maker", "fridge": "ice-maker",
        "refrigerator": "ice-maker",
        "frost free hydrant": "yard-hydrant", "barn hydrant": "yard-hydrant",
        "faucet": "lavatory", "bubbler": "drinking-fountain", "water fountain": "drinking-fountain",
    },
    "tubes": {
        "pex": "pex-sdr9", "pex a": "pex-sdr9", "pex b": "pex-sdr9", "copper": "copper-l",
        "copper type l": "copper-l", "copper type k": "copper-k", "copper type m": "copper-m",
        "type l": "copper-l", "type k": "copper-k", "type m": "copper-m",
        "poly": "pe-cts-sdr9", "polyethylene": "pe-cts-sdr9", "black poly": "pe-sidr15",
        "pe": "pe-cts-sdr9", "hdpe": "pe100-sdr11", "pe100": "pe100-sdr11", "cpvc": "cpvc-sdr11",
        "pvc": "pvc-sch40", "galvanized": "galvanized-sch40", "galvanised": "galvanized-sch40",
        "steel": "galvanized-sch40", "iron": "galvanized-sch40", "ppr": "ppr-sdr7.4",
        "pp r": "ppr-sdr7.4", "pert": "pert-sdr9", "pe rt": "pert-sdr9", "pex al pex": "multilayer",
        "mlc": "multilayer", "composite": "multilayer",
    },
    "joinings": {
        "sweat": "soldered", "solder": "soldered", "brazed": "soldered", "glued": "socket",
        "solvent": "socket", "clamp": "crimp", "cinch": "crimp", "welded": "fusion",
        "electrofusion": "fusion", "barbed": "insert", "barb": "insert", "push fit": "push",
        "push to connect": "push", "screwed": "threaded", "cold expansion": "expansion",
    },
    "fittings": {
        "elbow": "elbow-90", "ell": "elbow-90", "90": "elbow-90", "elbow 90 deg": "elbow-90",
        "elbows": "elbow-90", "45": "elbow-45", "tee": "tee-branch", "tee through": "tee-run",
        "tee straight": "tee-run", "valve": "ball-valve", "stop valve": "stop",
        "angle stop": "stop", "sweep": "bend", "long sweep": "bend", "coupler": "coupling",
        "check": "check-valve", "union": "coupling",
    },
    "keys": {
        "height": "elevation", "level": "elevation", "type": "kind", "place": "at",
        "position": "at", "location": "at", "diameter": "size", "pipe": "material",
        "tube": "material", "distance": "length", "len": "length", "cover": "buried",
        "depth": "buried", "on": "cut_in", "off": "cut_out", "switch on": "cut_in",
        "switch off": "cut_out", "future": "planned", "later": "planned", "size": "volume",
        "yield": ("recovery", "inflow"), "spring yield": "inflow", "well yield": "recovery",
        "water level": "lowest_level",
        "gallons": "volume", "capacity": "volume", "slab": "embedded",
        "under slab": "embedded",
    },
    "units": {
        "imperial": "us", "english": "us", "american": "us", "us customary": "us",
        "customary": "us", "inch": "us", "feet": "us", "si": "metric", "mm": "metric",
    },
    "kind": {
        "city": "main", "city water": "main", "municipal": "main", "street": "main",
        "street main": "main", "mains": "main", "public": "main", "town": "main",
        "cistern": "tank", "reservoir": "tank", "header tank": "tank", "storage tank": "tank",
        "spring box": "spring", "gravity": "tank",
        "private well": "well", "bore": "well", "borehole": "well", "drilled well": "well",
    },
}  # fmt: skip
"""By the catalogue's list or the key: an everyday word (small, single spaces) -> the right one."""


@functools.cache
def _device_words() -> Mapping[str, str]:
    """Those of the device kinds stand with each kind."""
    kinds = load_catalogue().devices.values()
    return {word: kind.name for kind in kinds for word in kind.words}


def meant_by(among: str, word: str, valid: tuple[str, ...]) -> str:
    """The table's word for what people call a thing.

    Args:
        among: the list, a key of `SYNONYMS` or "devices".

    Returns:
        One of `valid`, or nothing where the word is not among those people use.
    """
    plain = _SPACES.sub(" ", word.strip().lower())
    for spelled in (plain.replace(" ", "-"), plain.replace(" ", "_")):
        if spelled in valid:
            return spelled
    words = _device_words() if among == "devices" else SYNONYMS.get(among, {})
    meant = words.get(plain, ())
    of_these = (meant,) if isinstance(meant, str) else meant
    return next((each for each in of_these if each in valid), "")


def nearly_meant_by(among: str, word: str, valid: tuple[str, ...]) -> str:
    """The table's word for what people call a thing, where they misspell it ("toliet")."""
    words = _device_words() if among == "devices" else SYNONYMS.get(among, {})
    plain = _SPACES.sub(" ", word.strip().lower())
    near = difflib.get_close_matches(plain, [*valid, *words], n=1, cutoff=NEAR)
    return meant_by(among, near[0], valid) if near else ""
