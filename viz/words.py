"""Sentences a keeper can act on, each with the place of the number it stands on."""

from __future__ import annotations

from dataclasses import dataclass

from viz.checked import counted
from viz.results import DesignResult, Number, Results, VerdictResult

LETTERS = "ABCD"
# "none of these tanks" is said when every one of them is past one of the two (assumed: ours)
NONE_SERIOUS = 0.25
NONE_DEATH = 0.10
MOST_OUTGROWN = 6  # sentences
SERIOUS = "a fish hurt beyond torn fins, so badly that one would take it out"


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence and where its numbers stand.

    Parameters
    ----------
    words
        The sentence.
    sources
        JSON pointers into the results file.
    """

    words: str
    sources: tuple[str, ...]


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
            f"{first}. Ask for more --runs.",
            (f"/verdicts/{number}",),
        )
    because, sources = _because(results, found)
    if found.verdict == "no difference":
        answer = f"No difference shown between {first} and {second} for the same fish{because}"
    else:
        answer = f"{second} is {found.verdict} than {first} for the same fish{because}"
    return Said(
        f"{answer}. Of {counted(draws, 'draw')} of fish, {found.better} did better in {second}, "
        f"{found.same} about alike, {found.worse} worse.",
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
                + _limits(ratio),
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


def more_or_less(value: float) -> str:
    """Return a difference as one says it: "1.2 less", "0.4 more".

    Parameters
    ----------
    value
        Any number.
    """
    if value == 0.0:
        return "no more"
    return f"{rounded(abs(value))} {'more' if value > 0.0 else 'less'}"


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
        Said(_sentence(start, f"{both}."), (f"{where}/serious", f"{where}/death")),
        Said(
            _sentence(
                start,
                f"a fish hides {hides}, of {design.light_h:g} with the light on. An hour "
                f"brings {chases} and {bites}.",
            ),
            (f"{where}/hidden_h_per_day", f"{where}/chases_per_h", f"{where}/bites_per_h"),
        ),
    ]
    said += brood_words(design, where=where, start=start)
    risk = design.at_risk
    if risk is not None and risk.share.estimate:
        who = (
            f"most at risk is {risk.name}: seriously hurt"
            if risk.by == "serious"
            else f"no fish is seriously hurt; the one bitten most is {risk.name},"
        )
        said.append(
            Said(
                _sentence(
                    start,
                    f"{who} in {hundredths(risk.share.estimate)} of 100 runs"
                    f"{_limits(risk.share, share=True)}, counted in the half of the runs that "
                    "did not pick it out.",
                ),
                (f"/designs/{number}/at_risk",),
            )
        )
    said += food_words(design, number=number, start=start)
    return said + spare_words(design, number=number, start=start)


def spare_words(design: DesignResult, *, number: int, start: str) -> list[Said]:
    """Return how many spare places to have ready and by when, where a keeper looks.

    Parameters
    ----------
    design
        One tank.
    number
        Its index.
    start
        Its letter, where it needs one.
    """
    spare = design.spare
    if spare is None:
        return []
    where = f"/designs/{number}/spare"
    if spare.places == 0:
        ready = "in nine of ten runs no spare place is needed"
    else:
        day = "" if spare.day is None else f", the first by day {int(spare.day)}"
        ready = (
            f"have {counted(spare.places, 'spare place')} ready{day}; "
            f"{'that is' if spare.places == 1 else 'they are'} enough in "
            f"{share_words(spare.enough, runs=design.runs)}"
        )
    moved = design.outcomes.get("separated")
    said = [Said(_sentence(start, f"{ready}."), (f"{where}/places", f"{where}/enough"))]
    if moved is not None and moved.estimate:
        said.append(
            Said(
                _sentence(
                    start,
                    f"the keeper moves a fish out in {share_words(moved, runs=design.runs)}; in "
                    f"{share_words(spare.short, runs=design.runs)} the spare places do not "
                    "suffice. What would happen without the keeper is another run, not this one.",
                ),
                (f"/designs/{number}/outcomes/separated", f"{where}/short"),
            )
        )
    return said


def food_words(design: DesignResult, *, number: int, start: str) -> list[Said]:
    """Return who goes short, who is swallowed and who outgrows what, where that is played.

    Parameters
    ----------
    design
        One tank.
    number
        Its index.
    start
        What each sentence begins with.
    """
    where = f"/designs/{number}"
    said = []
    eaten = design.outcomes.get("any_eaten")
    if eaten is not None and eaten.estimate:
        words = (
            f"{share_words(eaten, runs=design.runs)} bring a fish swallowed by another; above, it "
            "counts among the hurt and the dead."
        )
        said.append(Said(_sentence(start, words), (f"{where}/outcomes/any_eaten",)))
    least = design.outcomes.get("least_food_share")
    if least is not None and least.estimate is not None:
        words = (
            f"the fish that eats least gets {hundredths(least.estimate)} % of what it needs"
            f"{_limits(least, share=True)}."
        )
        said.append(Said(_sentence(start, words), (f"{where}/outcomes/least_food_share",)))
    for place, one in enumerate(design.outgrown[:MOST_OUTGROWN]):
        words = (
            f"from day {one.from_day:.0f} {one.fish} no longer fits the {one.place}, in "
            f"{share_words(one.share, runs=design.runs)}."
        )
        said.append(Said(_sentence(start, words), (f"{where}/outgrown/{place}",)))
    return said


def brood_words(design: DesignResult, *, where: str, start: str) -> list[Said]:
    """Return what became of pairs and their broods, where pairs form of themselves.

    Parameters
    ----------
    design
        One tank.
    where
        JSON pointer to its outcomes.
    start
        Letter of the design, or nothing.
    """
    got = design.outcomes
    if "paired" not in got:
        return []
    words = f"{share_words(got['paired'], runs=design.runs)} see a pair form"
    day = got.get("pair_day")
    if day is not None and day.estimate is not None:
        words += f", on day {rounded(day.estimate)} on average"
    words += (
        f"; a run brings {amount_words(got['spawnings'], noun='spawnings')}, with "
        f"{amount_words(got['raised_broods'], noun='broods raised')}, "
        f"{amount_words(got['eaten_broods'], noun='eaten by tankmates')} and "
        f"{amount_words(got['lost_broods'], noun='lost otherwise')}."
    )
    hurt = share_words(got["mate_by_mate"], runs=design.runs)
    names = ("paired", "spawnings", "raised_broods", "eaten_broods", "lost_broods")
    return [
        Said(_sentence(start, words), tuple(f"{where}/{name}" for name in names)),
        Said(
            _sentence(start, f"{hurt} see one of a pair seriously hurt by its own mate."),
            (f"{where}/mate_by_mate",),
        ),
    ]


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
                Said(
                    _sentence(
                        start,
                        f"of the spread in injury between runs, {unmeasured} comes from what "
                        f"nobody has measured, {fish} from which fish you get, {luck} from luck "
                        "on the day.",
                    ),
                    (f"/designs/{number}/doubts/dose",),
                )
            )
            said += _harm_words(design, number=number, start=start)
            continue
        if share is None or share.estimate is None:
            words = "too little was seen to tell which fish you get from luck on the day."
        else:
            words = (
                "of the spread in injury between runs, "
                f"{hundredths(share.estimate)} %{_limits(share, share=True)} comes from which "
                "fish you get, the rest from luck on the day."
            )
        source = "/spreads/dose" if share is not None else "/spreads"
        said.append(Said(_sentence(start, words), (f"/designs/{number}{source}",)))
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
    shares = [f"{hundredths(third.serious.estimate or 0.0)}" for third in (least, most)]
    return [
        Said(
            _sentence(
                start,
                "nobody has measured how much one bite hurts: over the range we think possible, a "
                f"serious injury comes in {shares[0]} of 100 runs where it is in its lowest third, "
                f"and in {shares[1]} of 100 where it is in its highest.",
            ),
            (f"/designs/{number}/by_harm",),
        )
    ]


def _sentence(letter: str, words: str) -> str:
    """The words after the letter of their design, or with a capital where they stand alone."""
    return letter + words if letter else words[:1].upper() + words[1:]


def share_words(share: Number, *, runs: int) -> str:
    """Return a share of runs as one says it: "12 of 100 runs (7 to 20)".

    Parameters
    ----------
    share
        0 to 1.
    runs
        Runs it was counted in.
    """
    if share.estimate is None:
        return "an unknown number of runs"
    if share.estimate == 0.0 and share.high is not None:
        still = hundredths(share.high)
        return f"none of {counted(runs, 'run')} (up to {still} in 100 would not surprise)"
    link = "of" if runs == 100 else "in"
    return f"{hundredths(share.estimate)} {link} 100 runs{_limits(share, share=True)}"


def amount_words(number: Number, *, noun: str) -> str:
    """Return an amount with its interval: "6.3 hours a day (5.4 to 7.3)".

    Parameters
    ----------
    number
        In any unit.
    noun
        The unit as one says it.
    """
    if number.estimate is None:
        return f"an unknown number of {noun}"
    return f"{rounded(number.estimate)} {noun}{_limits(number)}"


def hundredths(share: float) -> str:
    """Return a share in whole hundredths, and what is seen but rare as "under 1".

    Parameters
    ----------
    share
        0 to 1.
    """
    return "under 1" if 0.0 < share < 0.005 else f"{100.0 * share:.0f}"


def rounded(value: float) -> str:
    """Return a number with two figures that count, and no more decimals than that.

    Parameters
    ----------
    value
        At or above zero.
    """
    if value >= 9.95 or value == 0.0:
        return f"{value:.0f}"
    if value >= 0.995:
        return f"{value:.1f}".removesuffix(".0")
    return f"{value:.2g}" if value >= 0.01 else "under 0.01"


def _limits(number: Number, *, share: bool = False) -> str:
    if number.low is None or number.high is None:
        return ""
    if share:
        return f" ({100.0 * number.low:.0f} to {100.0 * number.high:.0f})"
    return f" ({rounded(number.low)} to {rounded(number.high)})"
