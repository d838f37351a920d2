"""Reasons in sentences, each with the place of the numbers it stands on.

A sentence says what was found and no more: where an interval leaves both ways open it says so, and
a thing that was not taken away is not called a reason.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from viz.phrases import LETTERS, Said, hundredths, limits, listed, more_or_less, rounded, say
from viz.results import DifferenceResult, Number
from viz.why_results import Reasons, TakenResult, WhyResults

TAKEN = {
    "brood": "without the brood",
    "occlusion": "if pieces hid nobody from view",
    "individuality": "with every fish average in temper, size and strength",
    "hiding": "if nobody used a hiding place",
    "learning": "if nobody learned",
    "assessment": "if size told nothing",
}
THING = {
    "brood": "the brood",
    "occlusion": "being out of sight behind pieces",
    "individuality": "what these fish are, each for itself",
    "hiding": "the hiding places",
    "learning": "what they learn",
    "assessment": "sizing each other up",
}
GROUND = {
    "open ground": "on open ground",
    "the biter's": "on the ground of the fish that bites",
    "the victim's own": "on the bitten fish's own ground",
    "another's": "on a third fish's ground",
    "the pair's": "on the ground that biter and bitten hold as a pair",
}
STAGE = {
    "none": "while there is no brood",
    "courting": "while the pair courts",
    "digging": "while it digs",
    "eggs": "while there are eggs",
    "wrigglers": "while there are wrigglers",
    "fry": "while there are fry",
    "resting": "between broods",
}
WAY = {
    "in a contest": "in contests",
    "in a chase": "in a chase, in open water",
    "in a chase, against glass or stone": "in a chase, against glass or stone",
    "in a hiding place that the biter passes into": "in a hiding place whose door the biter passes "
    "too",
}
END = {
    "left the territory": "when the chased fish has left the territory",
    "lost from sight": "when it is lost from sight",
    "reached a hiding place": "when it has reached a hiding place that keeps the other out",
    "tired": "when the pursuer tires",
    "submitted": "when the chased fish, worn out or cornered, submits",
    "died": "when it dies",
}
HELD = "what nobody has measured being held"
MOST_PARTS = 4
UNDER = 0.005  # told without its interval
LEAST_SHARE = 0.02  # of the injury: parts below it are not named


def why_words(why: WhyResults) -> list[Said]:
    """Return the reasons of every tank in sentences.

    Parameters
    ----------
    why
        What was found.
    """
    alone = len(why.reasons) == 1
    return [
        one
        for number in range(len(why.reasons))
        for one in tank_words(why, number=number, start="" if alone else f"{LETTERS[number]}: ")
    ]


def tank_words(why: WhyResults, *, number: int, start: str = "") -> list[Said]:
    """Return the reasons of one tank in sentences.

    Parameters
    ----------
    why
        What was found.
    number
        Of the tank.
    start
        What the sentences begin with.
    """
    reasons, at = why.reasons[number], f"/reasons/{number}"
    return [
        *taken_words(why, number=number, start=start),
        *where_words(reasons, start=start, at=at),
        *ground_words(reasons, start=start, at=at),
        *temper_words(reasons, start=start, at=at),
    ]


def briefly(why: WhyResults, *, number: int) -> list[Said]:
    """Return the reasons of one tank in few sentences, where charts tell the rest.

    Parameters
    ----------
    why
        What was found.
    number
        Of the tank.
    """
    reasons, at = why.reasons[number], f"/reasons/{number}"
    where = where_words(reasons, start="", at=at)
    kept = {f"{at}/ways", f"{at}/ends"}
    return [
        *taken_words(why, number=number, start=""),
        *(one for one in where if kept & set(one.sources)),
        *temper_words(reasons, start="", at=at),
    ]


def taken_words(why: WhyResults, *, number: int, start: str) -> list[Said]:
    """Return what the counterfactuals of one tank say, the greatest effect named.

    Parameters
    ----------
    why
        What was found.
    number
        Of the tank.
    start
        What the sentences begin with.
    """
    reasons = why.reasons[number]
    said = []
    effects: list[tuple[float, str]] = []
    for place, taken in enumerate(reasons.taken):
        where = f"/reasons/{number}/taken/{place}"
        dose = of_outcome(taken, "dose")
        if dose is None or dose.estimate is None:
            continue
        said.append(say(start, f"{without(taken.key)}, {changed(taken)}.", where))
        if clear(dose) and not taken.key.startswith("fish of"):
            effects.append((dose.estimate, taken.key))
    if len(reasons.taken) > 1 and effects:
        least, key = min(effects)
        if least < 0.0:
            words = f"of what was taken away, {THING[key]} costs these fish the most."
        else:
            _, key = max(effects)
            words = f"of what was taken away, none costs them; {THING[key]} spares them the most."
        said.insert(0, say(start, words, f"/reasons/{number}/taken"))
    return said


def without(key: str) -> str:
    """Return a counterfactual as one says it."""
    if key.startswith("fish of "):
        return f"with the fish of {key.removeprefix('fish of ')} in this tank"
    return TAKEN[key]


def of_outcome(taken: TakenResult, outcome: str) -> DifferenceResult | None:
    """Return the difference in one outcome, None where there is none."""
    return next((row for row in taken.differences if row.outcome == outcome), None)


def clear(row: DifferenceResult) -> bool:
    """Return whether an interval leaves out no difference."""
    return row.low is not None and row.high is not None and (row.low > 0.0 or row.high < 0.0)


def changed(taken: TakenResult) -> str:
    """Return what changes in injury and in runs with a serious one, with the intervals."""
    dose, serious = of_outcome(taken, "dose"), of_outcome(taken, "serious")
    assert dose is not None
    assert dose.estimate is not None
    subject = "they" if taken.key.startswith("fish of ") else "the same fish"
    if dose.low is None or dose.high is None:
        return f"{subject} take {more_or_less(dose.estimate)} injury a run, too seldom to bound"
    span = _from_to(dose.low, dose.high)
    if clear(dose):
        words = f"{subject} take {more_or_less(dose.estimate)} injury a run ({span})"
        if dose.ratio is not None and dose.ratio.estimate is not None:
            words += f", {rounded(dose.ratio.estimate)} times as much"
    else:
        words = f"no difference in injury is shown ({span} a run)"
        if serious is not None and not clear(serious):
            return f"{words}, nor in how often one is seriously hurt"
    if serious is not None and serious.estimate is not None:
        words += f", and {_serious(serious)}"
    return words


def _from_to(low: float, high: float) -> str:
    if low * high > 0.0:
        small, large = sorted((abs(low), abs(high)))
        return f"{rounded(small)} to {rounded(large)} {'more' if low > 0.0 else 'less'}"
    return f"{more_or_less(low)} to {more_or_less(high)}"


def _serious(row: DifferenceResult) -> str:
    assert row.estimate is not None
    count = hundredths(abs(row.estimate))
    if row.low is None or row.high is None or not clear(row):
        return "no difference is shown in how often one is seriously hurt"
    word = "more" if row.estimate > 0.0 else "fewer"
    small, large = sorted((abs(row.low), abs(row.high)))
    return (
        f"a serious injury comes in {count} {word} of 100 runs "
        f"({hundredths(small)} to {hundredths(large)})"
    )


def where_words(reasons: Reasons, *, start: str, at: str) -> list[Said]:
    """Return whose territory, how far from cover, how and at what stage the injury is taken."""
    if not reasons.grounds:
        return [say(start, "nobody was hurt, so there is nowhere to point to.", f"{at}/grounds")]
    said = [
        of_injury(greatest(reasons.ways, WAY), WAY, start=start, at=f"{at}/ways"),
        _holders(reasons, start=start, at=at),
        of_injury(greatest(reasons.grounds, GROUND), GROUND, start=start, at=f"{at}/grounds"),
    ]
    stages = greatest(reasons.stages, STAGE)
    if [name for name, _ in stages] != ["none"]:
        said.append(of_injury(stages, STAGE, start=start, at=f"{at}/stages"))
        said += _ground_with_young(reasons, start=start, at=at)
    said += _cover(reasons, start=start, at=at)
    return said + _ends(reasons, start=start, at=at)


def of_injury(
    parts: Sequence[tuple[str, Number]], names: Mapping[str, str], *, start: str, at: str
) -> Said:
    """Return how the injury divides as a sentence, the first part first."""
    told = [f"{percent(share)} {names[name]}" for name, share in parts]
    if told:
        share, name = parts[0][1], names[parts[0][0]]
        told[0] = f"{percent(share)} is taken {name}"
    return say(start, f"of the injury, {listed(told)}.", at)


def _holders(reasons: Reasons, *, start: str, at: str) -> Said:
    parts = [
        (name, share)
        for name, share in list(reasons.holders.items())[:MOST_PARTS]
        if (share.estimate or 0.0) >= LEAST_SHARE
    ]
    names = {name: f"in {whose(name)} territory" if name else "on open ground" for name, _ in parts}
    return of_injury(parts, names, start=start, at=f"{at}/holders")


def _ground_with_young(reasons: Reasons, *, start: str, at: str) -> list[Said]:
    """Return whose ground it is taken on at the stage of a brood that has most of the injury."""
    stages = {name: share.estimate or 0.0 for name, share in reasons.stages.items()
              if name != "none" and name in reasons.grounds_by_stage}  # fmt: skip
    if not stages:
        return []
    stage = max(stages, key=lambda name: stages[name])
    if stages[stage] < LEAST_SHARE:
        return []
    parts = greatest(reasons.grounds_by_stage[stage], GROUND)
    told = [f"{percent(share)} {GROUND[name]}" for name, share in parts]
    told[0] = f"{percent(parts[0][1])} is taken {GROUND[parts[0][0]]}"
    words = f"of the injury {STAGE[stage]}, {listed(told)}"
    before = reasons.grounds_by_stage.get("none")
    if before is not None:
        share = before.get(parts[0][0])
        words += f"; while there is no brood, {'none' if share is None else percent(share)} is"
    return [say(start, f"{words}.", f"{at}/grounds_by_stage")]


def whose(name: str) -> str:
    """Return a name as that of an owner."""
    return f"{name}'" if name.endswith("s") else f"{name}'s"


def _cover(reasons: Reasons, *, start: str, at: str) -> list[Said]:
    """Return how far from cover it is taken, where it is taken outside and not next to it."""
    said = []
    outside = [share for name, share in reasons.covers.items() if name != "inside one"]
    if sum(share.estimate or 0.0 for share in outside) >= LEAST_SHARE:
        far = reasons.covers.get("over 40 cm")
        floor = reasons.floor_by_cover.get("over 40 cm", 0.0)
        share = f"{percent(far)} is" if far is not None else "none of it is"
        words = (
            f"{share} taken more than 40 cm (16 in) from a hiding place that the bitten fish fits; "
            f"{hundredths(floor)} % of the open floor lies so far off"
        )
        if far is not None and far.low is not None and far.low > floor:
            words += ", so it is far from cover that they are bitten"
        elif far is None or (far.high is not None and far.high < floor):
            words += ", so they are bitten nearer to cover than the floor alone would have it"
        said.append(say(start, f"{words}.", f"{at}/covers", f"{at}/floor_by_cover"))
    none = reasons.covers.get("none it fits")
    if none is not None and (none.estimate or 0.0) >= LEAST_SHARE:
        words = f"{percent(none)} of the injury falls on fish that fit no hiding place here."
        said.append(say(start, words, f"{at}/covers"))
    return said


def _ends(reasons: Reasons, *, start: str, at: str) -> list[Said]:
    shown = greatest(reasons.ends, END)
    if not shown:
        return []
    told = [f"{percent(share)} {END[name]}" for name, share in shown]
    told[0] = f"{percent(shown[0][1])} end {END[shown[0][0]]}"
    return [say(start, f"of the chases, {listed(told)}.", f"{at}/ends")]


def ground_words(reasons: Reasons, *, start: str, at: str) -> list[Said]:
    """Return how the open ground changes over the days and with the brood."""
    course = reasons.open_by_day
    if len(course.days) < 2:
        return []
    first, last = course.numbers[0], course.numbers[-1]
    words = (
        f"nobody holds {percent(first)} of the floor on day {course.days[0]}, and "
        f"{percent(last)} on day {course.days[-1]}"
    )
    fry = reasons.open_by_stage.get("fry")
    if fry is not None:
        words += f"; while there are fry, {percent(fry)}"
    return [say(start, f"{words}.", f"{at}/open_by_day", f"{at}/open_by_stage")]


def temper_words(reasons: Reasons, *, start: str, at: str) -> list[Said]:
    """Return what the tempers and all that the fish are make of the spread between runs."""
    said = []
    if reasons.tempers is not None:
        said.append(
            say(start, f"{HELD}, the tempers of the fish explain {percent(reasons.tempers)} of the "
                "spread in injury between runs.", f"{at}/tempers")
        )  # fmt: skip
    whole = reasons.fish_share
    if whole is None:
        return said
    which = "tempers, sizes, sexes and strength together, which is to say which fish you get,"
    if reasons.tempers is None:
        words = (
            f"{HELD}, {which} make {percent(whole)} of the spread in injury between runs, the rest "
            "is luck on the day."
        )
    elif (whole.estimate or 0.0) < (reasons.tempers.estimate or 0.0):
        words = (
            f"{which} cannot make less of it, though these runs by themselves say "
            f"{percent(whole)}: the two are estimated apart."
        )
    else:
        words = f"{which} make {percent(whole)} of it, the rest is luck on the day."
    return [*said, say(start, words, f"{at}/fish_share")]


def percent(number: Number) -> str:
    """Return a share with its interval: "67 % (38 to 87)"."""
    if number.estimate is None:
        return "an unknown share"
    if 0.0 < number.estimate < UNDER:
        return f"{hundredths(number.estimate)} %"
    return f"{hundredths(number.estimate)} %{limits(number, share=True)}"


def greatest(parts: dict[str, Number], names: dict[str, str]) -> list[tuple[str, Number]]:
    """Return the parts that are worth a word, the greatest first."""
    found = [
        (name, share)
        for name, share in parts.items()
        if name in names and (share.estimate or 0.0) >= LEAST_SHARE
    ]
    return sorted(found, key=lambda one: -(one[1].estimate or 0.0))[:MOST_PARTS]


def parts_of(
    reasons: Sequence[Reasons],
) -> list[tuple[str, list[tuple[str, list[Number | None]]]]]:
    """Return the ways of dividing the injury, each with its parts and their shares by tank.

    Parameters
    ----------
    reasons
        Of the tanks.

    Returns
    -------
    list
        Heading, and for each part its name and the share in every tank; None where there is none.
    """
    found = []
    for words, name, order in (
        ("in whose territory", "holders", None),
        ("whose ground, as the bitten fish has it", "grounds", GROUND),
        ("brood stage", "stages", STAGE),
        ("to swim to the nearest hiding place it fits", "covers", None),
        ("how", "ways", None),
    ):
        tables = [getattr(one, name) for one in reasons]
        keys = list(dict.fromkeys(key for table in tables for key in table))
        if order is not None:
            keys = [key for key in order if key in keys]
        if name == "covers":
            keys = [key for key in COVER if key in keys]
        if name == "holders":
            keys = _most_held(keys, tables)
        if not keys or (name == "stages" and keys == ["none"]):
            continue
        rows = [
            (IN_BOTH.get(key, key) or "open ground", [table.get(key) for table in tables])
            for key in keys
        ]
        found.append((words, rows))
    return found


COVER = ("inside one", "under 10 cm", "10 to 20 cm", "20 to 40 cm", "over 40 cm", "none it fits")
IN_BOTH = {
    "under 10 cm": "under 10 cm (4 in)",
    "10 to 20 cm": "10 to 20 cm (4 to 8 in)",
    "20 to 40 cm": "20 to 40 cm (8 to 16 in)",
    "over 40 cm": "over 40 cm (16 in)",
}
MOST_HOLDERS = 6


def _most_held(keys: list[str], tables: list[dict[str, Number]]) -> list[str]:
    def most(key: str) -> float:
        return max((table[key].estimate or 0.0) if key in table else 0.0 for table in tables)

    return sorted((key for key in keys if most(key) >= LEAST_SHARE), key=most, reverse=True)[
        :MOST_HOLDERS
    ]
