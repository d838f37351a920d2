"""Standard tank sizes by the names the trade uses."""

from __future__ import annotations

import difflib
import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import TYPE_CHECKING

from sim.errors import shown
from sim.units import parse_length

if TYPE_CHECKING:
    from collections.abc import Mapping

_SPELLINGS = {"b": "breeder", "l": "long", "h": "high", "tall": "high"} | dict.fromkeys(
    ("g", "gal", "gallon", "gallons", "us", "tank"), ""
)


@dataclass(frozen=True, slots=True)
class StandardTank:
    """One standard size.

    Parameters
    ----------
    name : as the trade says it, for example ``"75 gallon"``.
    length_m, width_m, height_m : outer size in metres.
    known : how the size is known, ``"trade"`` or ``"from memory"``.
    """

    name: str
    length_m: float
    width_m: float
    height_m: float
    known: str


@cache
def load_tanks() -> Mapping[str, StandardTank]:
    """All standard sizes, read from the data file on the first call.

    Returns
    -------
    standard tanks by name, smallest first; it cannot be changed.
    """
    text = resources.files("sim.data").joinpath("tanks.toml").read_text(encoding="utf-8")
    tanks = {}
    for entry in tomllib.loads(text)["tank"]:
        length_m, width_m, height_m = (parse_length(f"{inches} in") for inches in entry["inches"])
        tanks[entry["name"]] = StandardTank(
            entry["name"], length_m, width_m, height_m, entry["known"]
        )
    return MappingProxyType(tanks)


def find_tank(name: str) -> StandardTank:
    """The standard tank of that name; ``"75 gal"`` and ``"40b"`` are understood too.

    Parameters
    ----------
    name : a trade name, in any case.

    Returns
    -------
    the standard tank.

    Raises
    ------
    ValueError : there is no such size; the sentence names the nearest ones.
    """
    tanks = load_tanks()
    plain = {_plain(known): known for known in tanks}
    wanted = _plain(name)
    if wanted in plain:
        return tanks[plain[wanted]]
    near = [plain[match] for match in difflib.get_close_matches(wanted, plain, n=3, cutoff=0.5)]
    same_number = [known for known in tanks if known.split()[0] == wanted.split(" ")[0]]
    choices = same_number or near or list(tanks)
    listed = ", ".join(f'"{choice}"' for choice in choices)
    raise ValueError(
        f'got {shown(name)}, which is no standard size; expected one of {listed}. '
        "Or give length, width and height."
    )


def _plain(name: str) -> str:
    words = re.findall(r"\d+(?:\.\d+)?|[a-z]+", name.lower()[:60])
    return " ".join(filter(None, (_SPELLINGS.get(word, word) for word in words)))
