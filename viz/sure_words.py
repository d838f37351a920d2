"""Sure words: where the spread between runs comes from, and what nobody has measured."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from sim.unmeasured import accepted_sets
from viz.phrases import LETTERS, Said, hundredths, limits, say
from viz.results import DesignResult, Results

# what a number stands for, as one says it
UNMEASURED = {
    "harm_per_bite": "how much a bite harms",
}
ASKED = ", unless --hold-assumed is given"
MORE_RUNS = "Ask for more --runs."
WITHOUT_OPTIONS = ((ASKED, ""), (MORE_RUNS, "Play more runs."))


def pressed(said: Iterable[Said]) -> list[Said]:
    """Return sentences as they are said where one presses and types no option.

    Parameters
    ----------
    said
        As the command line says them.
    """
    found = list(said)
    for typed, instead in WITHOUT_OPTIONS:
        found = [replace(one, words=one.words.replace(typed, instead)) for one in found]
    return found


def unmeasured_words(drawn: Sequence[str]) -> str:
    """Return what is to be said of the numbers that nobody has measured.

    Parameters
    ----------
    drawn
        Names of those that were drawn; the others were held.
    """
    if not drawn:
        return (
            "What nobody has measured was held at one set of assumed numbers: that doubt is not in "
            f"these intervals. With the usual number of runs it is drawn{ASKED}."
        )
    told = set(accepted_sets()[0])
    what = [UNMEASURED.get(name, name) for name in drawn if name not in told]
    fitted = sum(name in told for name in drawn)
    if fitted:
        what.append(
            f"one of {len(accepted_sets())} sets of {fitted} "
            f"{'number' if fitted == 1 else 'numbers'} of behaviour that fit the papers alike"
        )
    return (
        f"What nobody has measured ({', and '.join(what)}) was drawn anew for every four runs, the "
        "same in every tank: that doubt is in these intervals, and more runs do not shrink it."
    )


def spread_words(results: Results) -> list[Said]:
    """Return the three spreads in words: which fish one gets, luck, and what nobody has measured.

    Parameters
    ----------
    results
        What was found.
    """
    said = []
    for number, design in enumerate(results.designs):
        share = design.spreads.get("dose")
        parts = design.doubts.get("dose", {})
        start = "" if len(results.designs) == 1 else f"{LETTERS[number]}: "
        if parts and None not in parts.values():
            unmeasured, fish, luck = (
                f"{hundredths(parts[name] or 0.0)} %" for name in ("unmeasured", "fish", "luck")
            )
            said.append(
                say(
                    start,
                    f"of the spread in injury between runs, {unmeasured} comes from what "
                    f"nobody has measured, {fish} from which fish you get, {luck} from luck "
                    "on the day.",
                    f"/designs/{number}/doubts/dose",
                )
            )
            said += _harm_words(design, number=number, start=start)
            continue
        if share is None or share.estimate is None:
            words = "too little was seen to tell which fish you get from luck on the day."
        else:
            words = (
                "of the spread in injury between runs, "
                f"{hundredths(share.estimate)} %{limits(share, share=True)} comes from which "
                "fish you get, the rest from luck on the day."
            )
        source = "/spreads/dose" if share is not None else "/spreads"
        said.append(say(start, words, f"/designs/{number}{source}"))
    said.append(
        Said(
            "More runs make these figures surer. They do not tell which fish you will get. "
            + results.unmeasured,
            ("/unmeasured",),
        )
    )
    return said


def _harm_words(design: DesignResult, *, number: int, start: str) -> list[Said]:
    """Return between which shares of runs with a serious injury the harm of a bite decides."""
    if not design.by_harm:
        return []
    least, most = design.by_harm[0], design.by_harm[-1]
    shares = [hundredths(third.serious.estimate or 0.0) for third in (least, most)]
    return [
        say(
            start,
            "nobody has measured how much one bite hurts: over the range we think possible, a "
            f"serious injury comes in {shares[0]} of 100 runs where it is in its lowest third, "
            f"and in {shares[1]} of 100 where it is in its highest.",
            f"/designs/{number}/by_harm",
        )
    ]
