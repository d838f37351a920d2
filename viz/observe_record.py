"""What watching tells as files: JSON, tables, and the tank with the tempers that are likely."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from viz.cautions import ABSOLUTE, ABSOLUTE_ALONE, CAUTIONS
from viz.observe_results import NarrowedResult, WatchedResults
from viz.observe_words import observe_words
from viz.sure_words import spread_words
from viz.words import in_words

if TYPE_CHECKING:
    from sim.known import Known
    from sim.scenario import FishGroup, Scenario

FORMAT = "holdwater observe 1"


def observe_json(found: WatchedResults) -> str:
    """Return everything as JSON text.

    Parameters
    ----------
    found
        What was found.

    Returns
    -------
    str
        As `docs/results.md` says, with a newline at its end.
    """
    results = found.results
    said = [*observe_words(found), *in_words(results), *spread_words(results)]
    plain = asdict(found)
    plain.pop("results")
    whole = {
        "format": FORMAT,
        **asdict(results),
        **plain,
        "sentences": [{"words": one.words, "sources": list(one.sources)} for one in said],
        "cautions": [ABSOLUTE if len(results.designs) > 1 else ABSOLUTE_ALONE, *CAUTIONS],
    }
    return json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def tempers_csv(found: WatchedResults) -> str:
    """Return a table of the fish: temper before, now, and how wide its range after an hour."""
    columns = ["fish", "species"]
    for trait in ("aggression_times", "boldness_0_to_1"):
        for when in ("before", "now"):
            columns += [f"{trait}_{when}_{end}" for end in ("low", "middle", "high")]
        columns += [f"{trait}_width_after_an_hour", f"{trait}_told_share"]
    rows = []
    for fish in found.fish:
        row: list[str] = [fish.name, fish.species]
        for one in (fish.aggression, fish.boldness):
            row += [""] * 8 if one is None else _row(one)
        rows.append(row)
    return _csv([columns, *rows])


def _row(one: NarrowedResult) -> list[str]:
    values = [getattr(each, end) for each in (one.before, one.now)
              for end in ("low", "middle", "high")]  # fmt: skip
    hour = "" if one.width_hour is None else f"{one.width_hour:.6g}"
    return [*(f"{value:.6g}" for value in values), hour, f"{one.told:.6g}"]


def draws_csv(known: Known) -> str:
    """Return tempers that are as likely as one another, a row for each draw and fish."""
    rows = [["draw", "fish", "aggression_sd", "boldness_sd"]]
    for number, draw in enumerate(known.draws):
        for fish, (aggression, boldness) in zip(known.fish, draw, strict=True):
            rows.append([str(number), fish.member.name, f"{aggression:.6g}", f"{boldness:.6g}"])
    return _csv(rows)


def _csv(rows: list[list[str]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def with_tempers(scenario: Scenario, found: WatchedResults) -> Scenario:
    """Return a tank with the word for the temper of each fish of which it is likely enough.

    A group has one word, so it gets one only where all its fish have the same.

    Parameters
    ----------
    scenario
        The tank.
    found
        What was found.
    """
    by_group: dict[str, set[str | None]] = {}
    for one in found.fish:
        by_group.setdefault(one.group, set()).add(one.temper)

    def known(group: FishGroup) -> FishGroup:
        words = by_group.get(group.name, {None})
        if len(words) > 1 or None in words:
            return group
        return group.model_copy(update={"temper": next(iter(words))})

    return scenario.model_copy(update={"fish": tuple(known(group) for group in scenario.fish)})


def scenario_text(found: WatchedResults, *, path: Path) -> str:
    """Return the tank as a file of its own, with the tempers that are likely.

    Parameters
    ----------
    found
        What was found.
    path
        The tank's file, read anew: options of the command line are not written into it.
    """
    from sim.check import check_file
    from sim.scenario_file import write_scenario

    own = check_file(path).scenario
    head = f'# What becomes of the fish of "{path.name}", with the tempers their counts tell?\n\n'
    title = f"{own.title or path.stem}, as watched"
    changed = with_tempers(own, found).model_copy(update={"title": title, "question": ""})
    return head + write_scenario(changed)
