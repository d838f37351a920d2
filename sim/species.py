"""The species: what each fish is like, from one data file in which every value has a source."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any

from sim.errors import Problem, Refused, shown
from sim.species_check import DECIMALS, block_problems


@dataclass(frozen=True, slots=True)
class Species:
    """One species, in SI; lengths are total length, ratios are shares of it.

    Parameters
    ----------
    key : scientific name.
    names : trade names, the one to show first.
    synonyms : older scientific names.
    kind, size_class, shape, colour : classes, one of those listed in `sim.species_check`.
    adult_male_m, adult_female_m, maturity_m : full-grown lengths and length at maturity, m.
    weight_a, weight_b : grams = weight_a * (length in cm) ** weight_b.
    depth_ratio, width_ratio : greatest body depth and width per length.
    gape_ratio : body depth of the deepest prey it can swallow per length.
    growth_male_per_y, growth_female_per_y : von Bertalanffy's rate toward the full-grown length of
        the sex, 1/year.
    layer, layer_share : preferred layer (0 floor, 1 middle, 2 surface), share of time in each.
    day, dusk, night : activity, 0 to 1.
    shoaling : how much it keeps to its shoal, 0 to 1.
    armour : share of a bite's harm that is kept off, 0 to 1; bare cichlid scales are 0.
    aggression, aggression_sd : multiplier of the attack hazard (convict = 1), and the standard
        deviation of its natural logarithm among fish.
    boldness, boldness_sd : mean and standard deviation among fish, 0 to 1.
    territorial : whether it holds a site.
    site : where it spawns, "cave", "pit" (open sand) or "surface"; "none" where its breeding is
        not played.
    digs : whether it digs pits in the substrate.
    eggs_days, wrigglers_days, fry_days, interval_days : length of the brood stages and the time
        from spawning to spawning at the usual temperature, days; 0 where breeding is not played.
    clutch, clutch_length_m, fry : eggs of a spawning, of a female of that length (m);
        young of a brood that reach independence.
    temperature_low_c, temperature_high_c : the range it is kept in, degrees C.
    warmth : how its attacks go with temperature where that is played, "rises" or "humped".
    sources : where each value comes from, by field.
    """

    key: str
    names: tuple[str, ...]
    synonyms: tuple[str, ...]
    kind: str
    size_class: str
    adult_male_m: float
    adult_female_m: float
    maturity_m: float
    weight_a: float
    weight_b: float
    depth_ratio: float
    width_ratio: float
    gape_ratio: float
    growth_male_per_y: float
    growth_female_per_y: float
    layer: int
    layer_share: tuple[float, float, float]
    day: float
    dusk: float
    night: float
    shoaling: float
    armour: float
    shape: str
    colour: str
    aggression: float
    aggression_sd: float
    boldness: float
    boldness_sd: float
    territorial: bool
    site: str
    digs: bool
    eggs_days: float
    wrigglers_days: float
    fry_days: float
    interval_days: float
    clutch: int
    clutch_length_m: float
    fry: int
    temperature_low_c: float
    temperature_high_c: float
    warmth: str
    sources: Mapping[str, str] = field(compare=False, repr=False)

    def adult_m(self, sex: str) -> float:
        """Return the full-grown length, m, of a "male" or a "female"; else the mean of both."""
        if sex == "male":
            return self.adult_male_m
        if sex == "female":
            return self.adult_female_m
        return 0.5 * (self.adult_male_m + self.adult_female_m)

    def longest_m(self, sex: str) -> float:
        """Return the full-grown length, m; where the sex is not known, that of the longer one."""
        if sex in ("male", "female"):
            return self.adult_m(sex)
        return max(self.adult_male_m, self.adult_female_m)

    def mass_g(self, length_m: float) -> float:
        """Return the mass, g, of a fish of this total length, m."""
        return float(self.weight_a * (100.0 * length_m) ** self.weight_b)


def load_species() -> dict[str, Species]:
    """Return every species by scientific name; the data file is read once.

    Raises
    ------
    Refused
        With every problem of the data file.
    """
    return dict(_shipped())


@cache
def _shipped() -> Mapping[str, Species]:
    text = resources.files("sim.data").joinpath("species.toml").read_text(encoding="utf-8")
    return read_species(text, where="species.toml")


def find_species(name: str) -> Species:
    """Return the species called so, whatever the case.

    Parameters
    ----------
    name : scientific name, older scientific name or trade name.

    Raises
    ------
    Refused
        When no species has that name; the sentence lists the nearest names.
    """
    asked = _plain(name)
    called = _called()
    if asked in called:
        return _shipped()[called[asked]]
    near = [other for other in called if len(asked) > 2 and f" {asked}" in f" {other}"]
    near += difflib.get_close_matches(asked, called, n=6, cutoff=0.6)
    choices = list(dict.fromkeys(called[other] for other in near))[:3]  # fish, not spellings
    hint = " or ".join(f'"{_shipped()[key].names[0]}" ({key})' for key in choices)
    sentence = (
        f'no such fish, got {shown(name)}; expected the trade or scientific name of one of the '
        f"{len(_shipped())} species. "
        + (f"Did you mean {hint}? " if hint else "")
        + "`holdwater species` lists them all."
    )
    raise Refused(Problem("species", sentence))


@cache
def _called() -> Mapping[str, str]:
    """Every name in plain spelling, and the scientific name it stands for."""
    return {_plain(name): one.key for one in _shipped().values() for name in _all_names(one)}


def _all_names(one: Species) -> tuple[str, ...]:
    return (one.key, *one.names, *one.synonyms)


def _plain(name: str) -> str:
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").split())


def read_species(text: str, *, where: str) -> dict[str, Species]:
    """Read and check a species file.

    Parameters
    ----------
    text : the TOML.
    where : what the file is called in a problem.

    Returns
    -------
    species by scientific name, in the order of the file.

    Raises
    ------
    Refused
        With every problem found: TOML that cannot be read, an unknown or missing key, a value of
        the wrong kind or out of its range, shares that do not add up, a value without a source.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Refused(Problem(where, f"this is not TOML, {error}. Mend that line.")) from None
    notes = document.get("notes", {})
    blocks = document.get("species", [])
    if not isinstance(notes, dict) or not isinstance(blocks, list) or not blocks:
        raise Refused(
            Problem(where, "no fish, or no notes; expected a [notes] table and [[species]] blocks.")
        )
    problems = [
        Problem(f"{where}, {key}", "unknown key; expected [notes] and [[species]]. Remove it.")
        for key in document.keys() - {"notes", "species"}
    ]
    found: dict[str, Species] = {}
    for number, block in enumerate(blocks, start=1):
        place = f"{where}, {_label(block, number)}"
        bad = list(block_problems(block, notes, place))
        problems += bad
        if not bad:
            one = _build(block, notes)
            if one.key in found:
                problems.append(Problem(place, "this fish is there twice. Remove one."))
            found[one.key] = one
    problems += _shared_names(found, where)
    if problems:
        raise Refused(problems)
    return found


def _label(block: object, number: int) -> str:
    key = block.get("key") if isinstance(block, dict) else None
    return key if isinstance(key, str) and key else f"species block {number}"


def _build(block: Mapping[str, Any], notes: Mapping[str, str]) -> Species:
    values = dict(block)
    for name, value in block.items():
        if isinstance(value, list):
            values[name] = tuple(value)
        elif isinstance(value, int) and name in DECIMALS:
            values[name] = float(value)
    values["layer_share"] = tuple(float(share) for share in block["layer_share"])
    values["sources"] = {
        name: notes[note] for note, names in block["sources"].items() for name in names
    }
    return Species(**values)


def _shared_names(found: Mapping[str, Species], where: str) -> list[Problem]:
    owner: dict[str, str] = {}
    problems = []
    for one in found.values():
        for name in dict.fromkeys(_plain(name) for name in _all_names(one)):
            if owner.setdefault(name, one.key) != one.key:
                sentence = f'"{name}" is also a name of {owner[name]}; expected one fish to a name.'
                problems.append(Problem(f"{where}, {one.key}, names", sentence))
    return problems
