"""What watching tells, in sentences: of each fish, and how far it narrows the answer.

Nothing is claimed that the counts do not carry: where they leave a range as wide as before, or two
fish of a kind alike, that is the sentence.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from viz.checked import counted
from viz.observe_results import (
    NOTHING,
    TELL_APART,
    AnswerResult,
    KnownFishResult,
    NarrowedResult,
    RangeResult,
    WatchedResults,
)
from viz.phrases import LETTERS, Said, hundredths, listed, rounded, say

NINE = "nine in ten"
MOST_PAIRS = 6


def observe_words(found: WatchedResults) -> list[Said]:
    """Return everything watching tells in sentences, the answer first.

    Parameters
    ----------
    found
        What was found.
    """
    return [*answer_words(found), *fish_words(found), *apart_words(found), method_words(found)]


def watched_words(minutes: float) -> str:
    """Return for how long anybody watched: "ten minutes", "three hours"."""
    if minutes == 10.0:
        return "ten minutes"
    if minutes < 120.0:
        return counted(round(minutes), "minute") if minutes >= 1.5 else "one minute"
    return f"{minutes / 60.0:.2g} hours"


def answer_words(found: WatchedResults) -> list[Said]:
    """Return how far watching narrowed the answer, and how far a further hour would.

    Parameters
    ----------
    found
        What was found.
    """
    alone = len(found.results.designs) == 1
    said: list[Said] = []
    for place, one in enumerate(found.answers):
        where = f"/answers/{place}"
        start = "" if alone or one.what == "ratio" else f"{LETTERS[one.design]}: "
        if one.what == "ratio":
            said.insert(0, _ratio_words(one, found, where))
            continue
        what = (
            "the injury that is to be expected in a run, all fish together,"
            if one.what == "dose"
            else "the chance that a fish is hurt seriously in a run"
        )
        said.append(say(start, _narrowing(one, found, what), where))
    if not found.answers:
        said.append(
            say("", "too few fish were hurt in the runs to tell how their tempers change the "
                "answer.", "/answers")
        )  # fmt: skip
    return said


def _narrowing(one: AnswerResult, found: WatchedResults, what: str) -> str:
    row = one.narrowed
    spell = watched_words(found.minutes)
    share = one.what == "serious"
    before, now = (_span(each, share=share) for each in (row.before, row.now))
    if untold(row):
        words = (
            f"{spell} of these counts narrowed {what} by next to nothing: with what may be any "
            f"fish of their kinds it is {before}, with these {now}"
        )
    else:
        words = f"{spell} narrowed {what} from {before} to {now}{_widths(row, share=share)}"
    return f"{words}{_hour_words(row, found, share=share)}."


def _span(one: RangeResult, *, share: bool) -> str:
    if share:
        return f"between {hundredths(one.low)} and {hundredths(one.high)} in 100"
    return f"between {rounded(one.low)} and {rounded(one.high)}"


def _widths(row: NarrowedResult, *, share: bool) -> str:
    if share or rounded(row.width_before) == rounded(row.width_now):
        return ""
    return (
        f" (the upper end was {rounded(row.width_before)} times the lower, and is now "
        f"{rounded(row.width_now)} times)"
    )


def _hour_words(row: NarrowedResult, found: WatchedResults, *, share: bool) -> str:
    if row.width_hour is None or found.hour is None:
        return ""
    if row.width_hour > NOTHING * row.width_now:
        left = (
            f"{hundredths(row.width_hour)} in 100 between the ends"
            if share
            else f"an upper end {rounded(row.width_hour)} times the lower"
        )
        return f"; an hour more would hardly narrow it further, to {left}"
    if share:
        return (
            f"; an hour more would leave {hundredths(row.width_hour)} in 100 between the ends, "
            f"instead of {hundredths(row.width_now)}"
        )
    return f"; an hour more would leave an upper end {rounded(row.width_hour)} times the lower" + (
        f", instead of {rounded(row.width_now)} times" if untold(row) else ""
    )


def _ratio_words(one: AnswerResult, found: WatchedResults, where: str) -> Said:
    row = one.narrowed
    spell = watched_words(found.minutes)
    first, other = LETTERS[0], LETTERS[one.design]
    before, now = (_span(each, share=False) for each in (row.before, row.now))
    words = (
        f"by their tempers alone, these fish take {rounded(row.now.middle)} times the injury in "
        f"{other} that they take in {first} ({rounded(row.now.low)} to {rounded(row.now.high)})"
    )
    words += (
        f"; {spell} narrowed next to nothing of it"
        if untold(row)
        else f"; {spell} narrowed it from {before} to {now}"
    )
    if one.lower_before is not None and one.lower_now is not None:
        words += (
            f". That {other} is the calmer for them has a chance of {hundredths(one.lower_now)} in "
            f"100, before of {hundredths(one.lower_before)}"
        )
    return say("", f"{words}{_hour_words(row, found, share=False)}.", where)


def untold(row: NarrowedResult) -> bool:
    """Return whether counts narrowed an unknown by next to nothing."""
    if row.told == 0.0:
        return True
    if row.by == "factor":
        return math.log(row.width_now) > NOTHING * math.log(row.width_before)
    return row.width_now > NOTHING * row.width_before


def fish_words(found: WatchedResults) -> list[Said]:
    """Return what is known of the temper of each fish, and of which fish nothing.

    Parameters
    ----------
    found
        What was found.
    """
    said = []
    nothing: list[str] = []
    groups: dict[str, list[int]] = {}
    for place, fish in enumerate(found.fish):
        groups.setdefault(fish.group, []).append(place)
    together = {one.who for one in found.counted}
    for group, places in groups.items():
        if len(places) > 1 and group in together:  # counted together: all alike
            places = places[:1]
            name, verb = f"Each of the {group}", "is"
        else:
            name, verb = "", "is"
        for place in places:
            fish = found.fish[place]
            who = name or fish.name
            parts = _told(fish)
            if not parts:
                nothing.append(f"each of the {group}" if name else fish.name)
                continue
            said.append(say("", f"{who} {verb} {listed(parts)}.", f"/fish/{place}"))
    if nothing:
        said.append(
            say("", f"of the temper of {listed(nothing)} the counts say next to nothing.", "/fish")
        )
    return said


def _told(fish: KnownFishResult) -> list[str]:
    parts = []
    row = fish.aggression
    if row is not None and not untold(row):
        parts.append(
            f"{rounded(row.now.middle)} times as aggressive as its kind is on average "
            f"({rounded(row.now.low)} to {rounded(row.now.high)}; before, "
            f"{rounded(row.before.low)} to {rounded(row.before.high)})"
        )
    row = fish.boldness
    if not untold(row):
        middle = 0.5 * (row.before.low + row.before.high)
        word = "bolder" if row.now.middle > middle else "shyer"
        parts.append(
            f"{word}, if anything, than its kind ({hundredths(row.now.low)} to "
            f"{hundredths(row.now.high)} % bold; before, {hundredths(row.before.low)} to "
            f"{hundredths(row.before.high)} %)"
        )
    return parts


def apart_words(found: WatchedResults) -> list[Said]:
    """Return which fish of one species the counts tell apart, and which they do not.

    Parameters
    ----------
    found
        What was found.
    """
    said: list[Said] = []
    group_of = {fish.name: fish.group for fish in found.fish}
    together = {one.who for one in found.counted} - set(group_of)
    alike: dict[str, set[str]] = {}
    pairs: dict[str, Said] = {}

    def called(name: str) -> str:
        """Fish that were counted together are all the same here."""
        group = group_of[name]
        return f"one of the {group}" if group in together else name

    for place, one in enumerate(found.fiercer):
        first, second, chance = one.first, one.second, one.chance
        if chance < 0.5:
            first, second, chance = second, first, 1.0 - chance
        where = f"/fiercer/{place}"
        if chance >= TELL_APART:
            words = f"{called(first)} is fiercer for its kind than {called(second)}"
            chances = f" with a chance of {hundredths(chance)} in 100."
            pairs.setdefault(words, say("", words + chances, where))
        elif group_of[first] == group_of[second]:
            alike.setdefault(group_of[first], set()).update((first, second))
        else:
            both = " and ".join(sorted((called(first), called(second))))
            words = f"which of {both} is the fiercer these counts do not tell"
            chances = f" ({hundredths(chance)} in 100 for {called(first)})."
            pairs.setdefault(words, say("", words + chances, where))
    said += list(pairs.values())[:MOST_PAIRS]
    for group, names in alike.items():
        said.append(
            say("", f"these counts do not tell the {len(names)} fish of the {group} apart.",
                "/fiercer")
        )  # fmt: skip
    return said


def method_words(found: WatchedResults) -> Said:
    """Return how it was learnt, and what the ranges hold.

    Parameters
    ----------
    found
        What was found.
    """
    hour = "" if found.hour is None else f" The further hour would be {found.hour}."
    return say(
        "",
        f"these ranges hold {NINE}. They were learnt from {found.learned_from} runs of the model "
        "in which fish of all tempers were counted as these were (approximate Bayesian "
        f"computation with regression adjustment).{hour} They know what the model knows: a real "
        "fish may differ from its counts in ways that no run shows.",
        "/learned_from",
    )


def temper_words(fish: Sequence[KnownFishResult]) -> list[str]:
    """Return the tempers that are likely enough to be written into a scenario, in words."""
    return [f"{one.name} {one.temper}" for one in fish if one.temper is not None]
