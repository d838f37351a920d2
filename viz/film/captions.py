"""Captions: what a film says in words, each number read off the run that is shown."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from sim.chronicle import place_name
from sim.outcome import fish_names
from sim.rules.codes import CHASED, STAGES
from viz.checked import counted
from viz.film.story import BUSY, Moment, Run, Scene, Shot
from viz.phrases import LETTERS, rounded

if TYPE_CHECKING:
    from sim.footage import Footage, Ground
    from sim.scenario import Member

NOW_S = 90.0  # what happened so shortly before needs no "ago"
MOST_HOLDERS = 3
YOUNG = {
    "digging": "dig a pit",
    "eggs": "have spawned",
    "wrigglers": "have seen their eggs hatch",
    "fry": "lead their fry for the first time",
}


def caption(scene: Scene, *, shot: Shot, footage: Footage, run: Run) -> str:
    """Return what happens in one tank in a scene.

    Parameters
    ----------
    scene, shot
        Of the story.
    footage
        What was recorded of the shot.
    run
        The tank's run.
    """
    if shot.moment is not None:
        gone_s = float(footage.time_s[0]) - shot.moment.time_s
        ago = f", {spoken(gone_s)} ago" if gone_s > NOW_S else ""
        said = f"{moment_words(shot.moment, run)}{ago}."
        if footage.ground[0].young:
            said += f" {holding_words(footage.ground[0], run=run)}"
        return said
    if scene.kind == BUSY:
        return busy_words(shot, run=run)
    holding = holding_words(footage.ground[0], run=run)
    return f"{holding} {_chases_words(len(_chased(shot, run)))} in these {_lasted(shot)}."


def moment_words(moment: Moment, run: Run) -> str:
    """Return what happened, as a sentence without its end."""
    if moment.kind in YOUNG:
        names = fish_names(run.design.scenario)
        who = " and ".join(names[row] for row in moment.fish)
        return _sentence(f"{who} {YOUNG[moment.kind]}")
    return _sentence(moment.words)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def busy_words(shot: Shot, *, run: Run) -> str:
    """Return how many chases and bites fall into a shot, and whose they are."""
    chased = _chased(shot, run)
    if not len(chased):
        return f"No chase in these {_lasted(shot)}."
    names = fish_names(run.design.scenario)
    who, times = np.unique(chased["attacker"], return_counts=True)
    most = int(np.argmax(times))
    whose = (
        f"all by {names[who[most]]}"
        if len(who) == 1
        else f"{times[most]} of them by {names[who[most]]}"
    )
    if len(chased) == 1:
        whose = f"by {names[who[most]]}"
    bites = int(chased["bites"].sum())
    return (
        f"{_chases_words(len(chased))} in {_lasted(shot)}, {whose}; "
        f"{counted(bites, 'bite') if bites else 'no bite'}."
    )


def holding_words(ground: Ground, *, run: Run) -> str:
    """Return who holds what: "Basalt holds the root, Pumice the large pot." """
    names = fish_names(run.design.scenario)
    stage = run.design.layout.stages[ground.stage]
    largest = sorted(
        (one for one in ground.territories if one.area_m2 > 0.0), key=lambda one: -one.area_m2
    )
    if not largest:
        return "Nobody holds ground."
    young = {frozenset(one.parents): one.stage for one in ground.young}
    parts = []
    verb = ""
    for held in largest[:MOST_HOLDERS]:
        who = " and ".join(names[row] for row in held.fish)
        place = place_name(stage, held.site)
        place = place if place in ("", "open floor") else f"the {place}"
        brood = young.get(frozenset(held.fish))
        before, verb = verb, "guard" if brood is not None else "hold"
        said = "" if verb == before else f"{verb}{'' if len(held.fish) > 1 else 's'} "
        parts.append(f"{who} {said}{STAGES[brood] if brood is not None else place}")
    left = len(largest) - MOST_HOLDERS
    more = f", {counted(left, 'other', 'others')} more" if left > 0 else ""
    return _sentence(f"{', '.join(parts)}{more}.")


def counts_words(ground: Ground, *, run: Run) -> str:
    """Return what has been counted so far: chases, bites, and how many fish are hurt."""
    fish = len(run.design.layout.members)
    torn, serious, dead = ground.injuries
    parts = [
        f"So far {counted(ground.chases, 'chase')}, {counted(ground.bites, 'bite')}",
        f"torn fins {torn} of {fish} fish" if torn else "no torn fins",
        f"hurt seriously {serious}" if serious else "nobody hurt seriously",
    ]
    if dead:
        parts.append(f"died {dead}")
    return "; ".join(parts)


def outcome_words(run: Run) -> list[str]:
    """Return what came of a run, in lines."""
    row, fish = run.chronicle.outcome.row[0], run.chronicle.outcome.fish
    torn = int(np.isfinite(fish["minor_day"]).sum())
    serious = int(np.isfinite(fish["serious_day"]).sum())
    deaths, eaten = int(row["deaths"]), int(row["eaten"])
    died = _nobody(deaths, "died") + (f", {eaten} of them swallowed" if eaten else "")
    lines = [
        f"{torn} of {len(fish)} fish had torn fins; {_nobody(serious, 'hurt seriously')}; {died}."
        if torn
        else f"No torn fins among {len(fish)} fish; {died}.",
        f"{rounded(float(row['chases_per_h']))} chases and "
        f"{rounded(float(row['bites_per_h']))} bites in an hour of light; a fish hid "
        f"{rounded(float(row['hidden_h_per_day']))} hours a day on average.",
    ]
    if int(row["moved_out"]):
        lines.append(f"The keeper moved out {counted(int(row['moved_out']), 'fish', 'fish')}.")
    return lines


def _nobody(count: int, what: str) -> str:
    return f"{counted(count, 'fish', 'fish')} {what}" if count else f"nobody {what}"


def legend(runs: Sequence[Run]) -> list[tuple[str, str]]:
    """Return number and name of each fish, those of a group together, each with its species.

    Parameters
    ----------
    runs
        One for each tank; where other fish live in the second, its fish follow, with its letter.
    """
    companies = [run.design.layout.members for run in runs]
    if len({tuple(one.name for one in company) for company in companies}) == 1:
        return _numbered(companies[0])
    return [
        (f"{letter} {words}", species)
        for letter, company in zip(LETTERS, companies, strict=False)
        for words, species in _numbered(company)
    ]


def _numbered(members: Sequence[Member]) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    first = 0
    while first < len(members):
        last = first
        while last + 1 < len(members) and members[last + 1].group == members[first].group:
            last += 1
        one = members[first]
        number = (
            f"{first + 1} {one.name}" if first == last else f"{first + 1}-{last + 1} {one.group}"
        )
        found.append((number, one.species.key))
        first = last + 1
    return found


def spoken(seconds: float) -> str:
    """Return a length of the tank's time as one says it: "2 days 22 hours", "40 minutes".

    Parameters
    ----------
    seconds
        At or above zero.
    """
    minutes = round(seconds / 60.0)
    if minutes < 1:
        return counted(round(seconds), "second")
    if minutes < 60:
        return counted(minutes, "minute")
    hours = round(seconds / 3600.0)
    if hours < 24:
        return counted(hours, "hour")
    days, rest = divmod(hours, 24)
    return counted(days, "day") + (f" {counted(rest, 'hour')}" if rest else "")


def _lasted(shot: Shot) -> str:
    return counted(round(shot.end_s - shot.start_s), "second")


def _chases_words(count: int) -> str:
    return counted(count, "chase") if count else "No chase"


def _chased(shot: Shot, run: Run) -> np.ndarray:
    log = run.chronicle.attacks
    inside = (log["time"] >= shot.start_s) & (log["time"] <= shot.end_s)
    found: np.ndarray = log[inside & (log["watched"] == 1) & (log["outcome"] == CHASED)]
    return found
