"""Sentences a keeper can act on, each with the place of the number it stands on."""

from __future__ import annotations

from viz.checked import counted
from viz.life_words import brood_words, food_words, settling_words, spare_words
from viz.phrases import (
    LETTERS,
    Said,
    amount_words,
    hundredths,
    limits,
    more_or_less,
    rounded,
    say,
    share_words,
)
from viz.results import DesignResult, Results, VerdictResult
from viz.sure_words import MORE_RUNS

# "none of these tanks" is said when every one of them is past one of the two (assumed: ours)
NONE_SERIOUS = 0.25
NONE_DEATH = 0.10
SERIOUS = "a fish hurt beyond torn fins, so badly that one would take it out"
# what is looked at before the outcome that decided, and showed nothing
NOT_SHOWN = {
    "serious": "; in the injury they take no difference is shown",
    "hidden_h_per_day": "; in the injury they take no difference is shown, nor in how often one is "
    "seriously hurt",
}

SHARES_REFUSED = (
    "Shares of runs decide nothing here: in both nearly none, or nearly every run, brings a "
    "serious injury, and that hangs on how much a bite is taken to hurt, as a comparison of the "
    "injury received does not."
)


def in_words(results: Results) -> list[Said]:
    """Return the plain sentences of a comparison or of one design, the answer first.

    Parameters
    ----------
    results
        What was found.

    Returns
    -------
    list of Said
        In the order they are to be read.
    """
    said = none_of_these(results)
    for number in range(len(results.verdicts)):
        said += [verdict_words(results, number), *each_fish_words(results, number)]
    for number, design in enumerate(results.designs):
        said += design_words(design, number=number, alone=len(results.designs) == 1)
    return said


def none_of_these(results: Results) -> list[Said]:
    """Return the advice to build none of the tanks, when all of them are bad, else nothing.

    A tank is bad when at least 25 in 100 runs bring a serious injury, or 10 in 100 a death, even
    at the lower limit of the 95 % interval.

    Parameters
    ----------
    results
        What was found.
    """
    if not all(is_bad(design) for design in results.designs):
        return []
    one = len(results.designs) == 1
    which = "Not this tank" if one else "None of these tanks"
    every = "it" if one else "each"
    numbers = range(len(results.designs))
    return [
        Said(
            f"{which}: {_instead(results)}. In {every}, at least {100 * NONE_SERIOUS:.0f} in 100 "
            f"runs bring {SERIOUS}, or {100 * NONE_DEATH:.0f} in 100 a death, even at the low end "
            "of the interval; that line is ours, no paper draws it.",
            tuple(
                f"/designs/{number}/outcomes/{_bad_outcome(results.designs[number])}/low"
                for number in numbers
            )
            + tuple(f"/designs/{number}/at_risk" for number in numbers),
        )
    ]


def _instead(results: Results) -> str:
    """What to do when no tank is good: it hangs on whether the pair itself is the trouble."""
    if not all(design.pair for design in results.designs):
        return "do not keep these fish together"
    for design in results.designs:
        risk = design.at_risk
        if risk is not None and risk.by == "serious" and risk.name in design.pair:
            return f"{risk.name}, most at risk, is one of the pair, so part the two as well"
    return "keep the pair alone"


def is_bad(design: DesignResult) -> bool:
    """Return whether a tank is past the line of `none_of_these`.

    Parameters
    ----------
    design
        One tank.
    """
    return _bad_outcome(design) is not None


def _bad_outcome(design: DesignResult) -> str | None:
    for outcome, line in (("serious", NONE_SERIOUS), ("death", NONE_DEATH)):
        low = design.outcomes[outcome].low
        if low is not None and low >= line:
            return outcome
    return None


def verdict_words(results: Results, number: int) -> Said:
    """Return which of two tanks is the better for the same fish, with how many fish agree.

    Parameters
    ----------
    results
        What was found.
    number
        Index of the verdict.
    """
    found = results.verdicts[number]
    first, second = LETTERS[found.first], LETTERS[found.second]
    draws = found.better + found.same + found.worse
    if found.verdict == "too few to say":
        return Said(
            f"{counted(draws, 'draw')} of fish are too few to say whether {second} is better than "
            f"{first}. {MORE_RUNS}",
            (f"/verdicts/{number}",),
        )
    because, sources = _because(results, found)
    if found.verdict == "no difference":
        answer = f"No difference shown between {first} and {second} for the same fish{because}"
    else:
        answer = (
            f"{second} is {found.verdict} than {first} for the same fish{because}"
            f"{NOT_SHOWN.get(found.decided_by or '', '')}"
        )
    refused = f" {SHARES_REFUSED}" if found.shares_refused else ""
    return Said(
        f"{answer}. Of {counted(draws, 'draw')} of fish, {found.better} did better in {second}, "
        f"{found.same} about alike, {found.worse} worse.{refused}",
        (f"/verdicts/{number}", *sources),
    )


def _because(results: Results, found: VerdictResult) -> tuple[str, tuple[str, ...]]:
    """The difference that decided, or that of injury where none did, in words."""
    outcome = found.decided_by or "dose"
    pair = (found.first, found.second, None, outcome)
    for place, row in enumerate(results.differences):
        if (row.first, row.second, row.fish, row.outcome) != pair or row.estimate is None:
            continue
        where = f"/differences/{place}"
        there, ratio = LETTERS[found.second], row.ratio
        if outcome == "dose" and ratio is not None and ratio.estimate is not None:
            return (
                f": in {there} they take {rounded(ratio.estimate)} times the injury"
                + limits(ratio),
                (f"{where}/ratio",),
            )
        words, factor = {
            "serious": ("a serious injury comes in {} {} of 100 runs", 100.0),
            "hidden_h_per_day": ("each hides {} hours a day {}", 1.0),
        }.get(outcome, ("they take {} {} injury a run", 1.0))
        less = "fewer" if outcome == "serious" else "less"
        said = words.format(
            rounded(abs(factor * row.estimate)), "more" if row.estimate > 0.0 else less
        )
        if row.low is not None and row.high is not None:
            low, high = more_or_less(factor * row.low), more_or_less(factor * row.high)
            said += f" (from {low} to {high})"
        return f": in {there} {said}", (where,)
    return "", ()


def each_fish_words(results: Results, number: int) -> list[Said]:
    """Return for which fish the second of two tanks is clearly the better or the worse.

    Parameters
    ----------
    results
        What was found.
    number
        Index of the verdict.
    """
    found = results.verdicts[number]
    there = LETTERS[found.second]
    less: list[tuple[str, str]] = []
    more: list[tuple[str, str]] = []
    for place, row in enumerate(results.differences):
        if (row.first, row.second, row.outcome) != (found.first, found.second, "dose"):
            continue
        if row.fish is None or row.low is None or row.high is None:
            continue
        if row.high < 0.0:
            less.append((row.fish, f"/differences/{place}"))
        elif row.low > 0.0:
            more.append((row.fish, f"/differences/{place}"))
    parts = [
        f"{word} injury in {there}: {', '.join(name for name, _ in rows)}"
        for word, rows in (("less", less), ("more", more))
        if rows
    ]
    if not parts:
        return []
    words = "; ".join(parts)
    return [
        Said(
            f"Fish by fish, {words}. One fish in twenty would show that by chance alone.",
            tuple(source for _, source in (*less, *more)),
        )
    ]


def design_words(design: DesignResult, *, number: int, alone: bool) -> list[Said]:
    """Return what became of the fish of one tank.

    Parameters
    ----------
    design
        One tank.
    number
        Its index.
    alone
        Whether it is the only one, and needs no letter.
    """
    where = f"/designs/{number}/outcomes"
    start = "" if alone else f"{LETTERS[number]}: "
    got = design.outcomes
    hides = amount_words(got["hidden_h_per_day"], noun="hours a day")
    chases = amount_words(got["chases_per_h"], noun="chases")
    bites = amount_words(got["bites_per_h"], noun="bites that land")
    serious = share_words(got["serious"], runs=design.runs)
    deaths = share_words(got["death"], runs=design.runs)
    both = (
        f"{serious} bring {SERIOUS}, or a death"
        if got["serious"].estimate == 0.0
        else f"{serious} bring {SERIOUS}; {deaths} bring a death"
    )
    said = [
        say(start, f"{both}.", f"{where}/serious", f"{where}/death"),
        say(
            start,
            f"a fish hides {hides}, of {design.light_h:g} with the light on. An hour "
            f"brings {chases} and {bites}.",
            *(f"{where}/{name}" for name in ("hidden_h_per_day", "chases_per_h", "bites_per_h")),
        ),
    ]
    said += settling_words(design, where=where, start=start)
    said += brood_words(design, where=where, start=start)
    risk = design.at_risk
    if risk is not None and risk.share.estimate:
        who = (
            f"most at risk is {risk.name}: seriously hurt"
            if risk.by == "serious"
            else f"no fish is seriously hurt; the one bitten most is {risk.name},"
        )
        said.append(
            say(
                start,
                f"{who} in {hundredths(risk.share.estimate)} of 100 runs"
                f"{limits(risk.share, share=True)}. One half of the runs says which fish that is, "
                "the other how often: in the same runs the unluckiest would look worse than it is.",
                f"/designs/{number}/at_risk",
            )
        )
    said += food_words(design, number=number, start=start)
    return said + spare_words(design, number=number, start=start)
