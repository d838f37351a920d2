"""The keeper's sums as plain values, and as JSON: what their words and tables read."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sim.sums.tank import TankSums

if TYPE_CHECKING:
    from sim.check import Checked

FORMAT = "holdwater sums 1"


@dataclass(frozen=True, slots=True)
class UsedNumber:
    """A number that a scenario does not say.

    Parameters
    ----------
    value, unit
        What was reckoned with.
    given
        Whether a person gave it; else it is assumed.
    option
        The option that gives it; empty where there is none.
    words, source
        What it is, and where the assumed value comes from.
    """

    value: float
    unit: str
    given: bool
    option: str
    words: str
    source: str


@dataclass(frozen=True, slots=True)
class TankResult:
    """One tank and its sums.

    Parameters
    ----------
    name, file, hash
        What it is called, where it was read, and the digest of the scenario.
    company
        How many fish of each species, by scientific name.
    sums
        All that was reckoned.
    """

    name: str
    file: str
    hash: str
    company: dict[str, int]
    sums: TankSums


@dataclass(frozen=True, slots=True)
class SumsResults:
    """Everything `sums` has to say.

    Parameters
    ----------
    tanks
        In the order asked; the first is the one others are set against.
    numbers
        What the scenarios do not say, by name.
    """

    tanks: tuple[TankResult, ...]
    numbers: dict[str, UsedNumber]


def gather_sums(
    paths: Sequence[Path], *, checked: Sequence[Checked], given: Mapping[str, float]
) -> SumsResults:
    """Reckon the sums of several tanks.

    Parameters
    ----------
    paths, checked
        The files and what they hold.
    given
        Numbers in place of those that are assumed.

    Raises
    ------
    Refused
        If a number fits no sum of one of the tanks.
    """
    from sim.scenario_file import scenario_hash
    from sim.sums.tank import tank_sums
    from viz.played import names_of

    tanks = []
    names = names_of(paths, checked=checked)
    for path, name, found in zip(paths, names, checked, strict=True):
        company: dict[str, int] = {}
        for group in found.scenario.fish:
            company[group.species] = company.get(group.species, 0) + group.count
        tanks.append(
            TankResult(
                name=name,
                file=str(path),
                hash=scenario_hash(found.scenario),
                company=company,
                sums=tank_sums(found.scenario, found.layout.pieces, given=given, where=str(path)),
            )
        )
    return SumsResults(tuple(tanks), used_numbers(given))


def used_numbers(given: Mapping[str, float]) -> dict[str, UsedNumber]:
    """Return what the scenarios do not say, by name.

    Parameters
    ----------
    given
        Numbers in place of those that are assumed.
    """
    from sim.sums.assumed import load_assumed

    return {
        name: UsedNumber(
            value=given.get(name, one.value),
            unit=one.unit,
            given=name in given,
            option=one.option,
            words=one.words,
            source=one.source,
        )
        for name, one in load_assumed().items()
    }


def sums_json(results: SumsResults) -> str:
    """Return the sums as JSON text.

    Parameters
    ----------
    results
        What was reckoned.

    Returns
    -------
    str
        Valid by `docs/sums.schema.json`, with a newline at its end.
    """
    from sim.model_version import version
    from viz.cautions import SUMS_CAUTIONS
    from viz.sums_words import sums_in_words

    whole = {
        "format": FORMAT,
        "version": version(),
        **asdict(results),
        "sentences": [
            {"words": one.words, "sources": list(one.sources)} for one in sums_in_words(results)
        ],
        "cautions": list(SUMS_CAUTIONS),
    }
    return json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
