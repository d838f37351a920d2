"""Company: the pair of tanks whose answers are studied, four feet and six with the same fish.

*quiet*: the main comparison, a pair that does not breed. *brood*: the same fish in the same tanks,
and the pair spawns as in `scenarios/convict-spawning.toml`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files

from sim.check import Checked, check_file, check_scenario
from sim.errors import Problem, Refused

FILES = ("convict-four-foot", "convict-six-foot")
SPAWNING = "convict-spawning"
KINDS = ("quiet", "brood")
TANKS = ("four", "six")


@dataclass(frozen=True, slots=True)
class Company:
    """Both tanks, checked.

    Parameters
    ----------
    kind
        One of `KINDS`.
    tanks
        Four feet, then six.
    """

    kind: str
    tanks: tuple[Checked, Checked]


def _shipped(name: str) -> Checked:
    with as_file(files("scenarios").joinpath(f"{name}.toml")) as path:
        return check_file(path)


@cache
def company(kind: str, *, days: float) -> Company:
    """Return both tanks.

    Parameters
    ----------
    kind
        One of `KINDS`.
    days
        Days that are played.

    Raises
    ------
    Refused
        If there is no such kind, or it cannot be played so long.
    """
    if kind not in KINDS:
        raise Refused(Problem("--fish", f'got "{kind}"; expected {" or ".join(KINDS)}.'))
    change: dict[str, object] = {"days": days}
    if kind == "brood":
        breeding = _shipped(SPAWNING).scenario.breeding
        if breeding.spawn_day is not None and days <= breeding.spawn_day:
            raise Refused(
                Problem(
                    "--days",
                    f"got {days:g}, but the pair spawns on day {breeding.spawn_day:g}; expected "
                    "more.",
                )
            )
        change["breeding"] = breeding
    found = []
    for name in FILES:
        known = _shipped(name)
        scenario = known.scenario.model_copy(update=change)
        found.append(Checked(check_scenario(scenario).scenario, known.layout, known.warnings))
    return Company(kind, (found[0], found[1]))
