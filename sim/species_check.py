"""What a block of the species file may hold, and the sentence for each thing that is wrong."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator, Mapping
from typing import Any

from sim.errors import Problem

KINDS = ("cichlid", "livebearer", "shoaling", "catfish", "loach")
SIZE_CLASSES = {"cichlid": ("large", "medium", "dwarf"), "": ("large", "medium", "small")}
SHAPES = ("deep", "disc", "elongate", "torpedo", "catfish", "loach")
COLOURS = ("barred", "spotted", "plain", "red", "gold", "blue", "silver", "dark")
SITES = ("none", "cave", "pit", "surface")
WARMTHS = ("rises", "humped")

_WORDS = {"kind": KINDS, "shape": SHAPES, "colour": COLOURS, "site": SITES, "warmth": WARMTHS}
_RANGES: dict[str, tuple[float, float]] = {
    "adult_male_m": (0.01, 1.5),
    "adult_female_m": (0.01, 1.5),
    "maturity_m": (0.005, 1.0),
    "weight_a": (0.002, 0.06),
    "weight_b": (2.5, 3.5),  # the spread over 1773 species, `Froese2006`
    "depth_ratio": (0.05, 0.9),
    "width_ratio": (0.03, 0.5),
    "gape_ratio": (0.005, 0.2),
    "growth_male_per_y": (0.02, 5.0),
    "growth_female_per_y": (0.02, 5.0),
    "layer": (0, 2),
    "layer_share": (0.0, 1.0),
    "day": (0.0, 1.0),
    "dusk": (0.0, 1.0),
    "night": (0.0, 1.0),
    "shoaling": (0.0, 1.0),
    "armour": (0.0, 0.95),
    "aggression": (0.0, 3.0),
    "aggression_sd": (0.0, 1.5),
    "boldness": (0.0, 1.0),
    "boldness_sd": (0.0, 0.5),
    "eggs_days": (0.0, 30.0),
    "wrigglers_days": (0.0, 30.0),
    "fry_days": (0.0, 90.0),
    "interval_days": (0.0, 365.0),
    "clutch": (0, 20000),
    "clutch_length_m": (0.0, 1.5),
    "fry": (0, 5000),
    "temperature_low_c": (5.0, 35.0),
    "temperature_high_c": (10.0, 40.0),
}
NUMBERS = tuple(_RANGES)
SOURCED = (*NUMBERS, "territorial", "site", "digs", "warmth")
BROOD = (
    "eggs_days",
    "wrigglers_days",
    "fry_days",
    "interval_days",
    "clutch",
    "clutch_length_m",
    "fry",
)
DECIMALS = frozenset(NUMBERS) - {"layer", "layer_share", "clutch", "fry"}
FIELDS = frozenset(
    {*_WORDS, *NUMBERS, "key", "names", "synonyms", "size_class", "territorial", "digs", "sources"}
)


def block_problems(block: object, notes: Mapping[str, Any], place: str) -> Iterator[Problem]:
    """Yield every problem of one block of the file.

    Keys, kinds and ranges come first; what must agree is looked at only when those hold.

    Parameters
    ----------
    block : one `[[species]]` block as TOML gives it.
    notes : the `[notes]` of the file, text by key.
    place : what the block is called in a problem.
    """
    if not isinstance(block, dict):
        yield Problem(place, f"got {block!r}; expected a [[species]] block.")
        return
    for key in sorted(block.keys() - FIELDS):
        near = difflib.get_close_matches(key, sorted(FIELDS), n=1)
        mend = f'Did you mean "{near[0]}"?' if near else "Remove it."
        yield Problem(f"{place}, {key}", f"unknown key. {mend}")
    for key in sorted(FIELDS - block.keys()):
        yield Problem(f"{place}, {key}", "missing; expected a value for it. Add it.")
    bad = set()
    for key in sorted(FIELDS & block.keys() - {"sources"}):
        fault = _fault(key, block[key])
        if fault:
            bad.add(key)
            yield Problem(f"{place}, {key}", f"got {block[key]!r}; expected {fault}.")
    yield from _source_problems(block.get("sources", {}), notes, place)
    if not bad and block.keys() >= FIELDS:
        for key, sentence in _disagreements(block):
            yield Problem(f"{place}, {key}", sentence)


def _fault(key: str, value: object) -> str:
    """Return what was expected instead of the value, or nothing when it is fine."""
    if key in _WORDS:
        return "" if value in _WORDS[key] else "one of " + ", ".join(_WORDS[key])
    if key in ("territorial", "digs"):
        return "" if isinstance(value, bool) else "true or false"
    if key in ("key", "size_class"):
        return "" if _is_text(value) else "a word"
    if key in ("names", "synonyms"):
        fits = isinstance(value, list) and all(_is_text(name) for name in value)
        return "" if fits and (value or key == "synonyms") else "a list of names"
    low, high = _RANGES[key]
    if key == "layer_share":
        fits = isinstance(value, list) and [_is_within(x, low, high) for x in value] == 3 * [True]
        return "" if fits else "three shares from 0 to 1"
    if key in DECIMALS:
        return "" if _is_within(value, low, high) else f"a number from {low:g} to {high:g}"
    fits = isinstance(value, int) and _is_within(value, low, high)
    return "" if fits else f"a whole number from {low:g} to {high:g}"


def _is_text(value: object) -> bool:
    return isinstance(value, str) and bool(value.strip())


def _is_within(value: object, low: float, high: float) -> bool:
    # true and nan pass as numbers elsewhere; here they do not
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return False
    return low <= value <= high


def _source_problems(given: object, notes: Mapping[str, Any], place: str) -> Iterator[Problem]:
    where = f"{place}, sources"
    if not isinstance(given, dict):
        yield Problem(where, f"got {given!r}; expected a table of notes and the fields of each.")
        return
    seen: dict[str, str] = {}
    for note, names in given.items():
        text = notes.get(note)
        if not isinstance(text, str) or not text.strip():
            yield Problem(f"{where}.{note}", "no such note, or it is empty. Add it to [notes].")
        if not isinstance(names, list):
            yield Problem(f"{where}.{note}", f"got {names!r}; expected a list of fields.")
            continue
        for name in names:
            if name not in SOURCED:
                yield Problem(f"{where}.{note}", f"got {name!r}; expected the name of a field.")
            elif name in seen:
                yield Problem(
                    f"{where}.{note}",
                    f"{name} has the source {seen[name]} already; expected one. Remove one.",
                )
            else:
                seen[name] = note
    for name in SOURCED:
        if name not in seen:
            yield Problem(
                f"{place}, {name}",
                'there is no source; expected one for every value. Add one, or "assumed".',
            )


def _disagreements(block: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Values that are each possible but do not go together."""
    classes = SIZE_CLASSES.get(block["kind"], SIZE_CLASSES[""])
    if block["size_class"] not in classes:
        yield "size_class", f"got {block['size_class']!r}; expected one of {', '.join(classes)}."
    total = math.fsum(block["layer_share"])
    if abs(total - 1.0) > 1e-9:
        yield "layer_share", f"the shares add up to {total:g}; expected 1."
    if block["layer_share"][block["layer"]] < max(block["layer_share"]):
        yield "layer", f"got {block['layer']}; expected the layer with the greatest share of time."
    smaller = min(block["adult_male_m"], block["adult_female_m"])
    if block["maturity_m"] >= smaller:
        sentence = f"got {block['maturity_m']:g}; expected less than the full-grown {smaller:g}."
        yield "maturity_m", sentence
    if block["temperature_low_c"] >= block["temperature_high_c"]:
        yield (
            "temperature_low_c",
            f"got {block['temperature_low_c']:g}; expected less than temperature_high_c.",
        )
    for name in BROOD:
        if (block["site"] == "none") != (block[name] == 0):
            sentence = f"got {block[name]:g} with the site {block['site']!r}; expected more than 0"
            yield name, f"{sentence} for a fish that spawns, and 0 for one whose site is 'none'."
    if block["fry"] > block["clutch"]:
        yield "fry", f"got {block['fry']}; expected no more than the clutch, {block['clutch']}."
