"""Life words: what became of pairs and broods, of food and growth, and what to have ready."""

from __future__ import annotations

from viz.checked import counted
from viz.phrases import Said, amount_words, hundredths, limits, rounded, say, share_words
from viz.results import DesignResult

MOST_OUTGROWN = 6  # sentences


def settling_words(design: DesignResult, *, where: str, start: str) -> list[Said]:
    """Return in how many runs a fish was lost while the tank settled, where it did.

    Parameters
    ----------
    design
        One tank.
    where
        JSON pointer to its outcomes.
    start
        Letter of the design, or nothing.
    """
    lost = design.outcomes.get("any_lost_settling")
    if lost is None:
        return []
    words = (
        f"{share_words(lost, runs=design.runs)} lost a fish while the tank settled, before day 0. "
        "It is missing from then on, and its injury and death count in no other number here."
        if lost.estimate
        else f"{share_words(lost, runs=design.runs)} lost a fish while the tank settled, before "
        "day 0."
    )
    return [say(start, words, f"{where}/any_lost_settling")]


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
    said = [say(start, f"{ready}.", f"{where}/places", f"{where}/enough")]
    if moved is not None and moved.estimate:
        said.append(
            say(
                start,
                f"the keeper moves a fish out in {share_words(moved, runs=design.runs)}; in "
                f"{share_words(spare.short, runs=design.runs)} the spare places do not "
                "suffice. What would happen without the keeper is another run, not this one.",
                f"/designs/{number}/outcomes/separated",
                f"{where}/short",
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
        said.append(say(start, words, f"{where}/outcomes/any_eaten"))
    least = design.outcomes.get("least_food_share")
    if least is not None and least.estimate is not None:
        words = (
            f"the fish that eats least gets {hundredths(least.estimate)} % of what it needs"
            f"{limits(least, share=True)}."
        )
        said.append(say(start, words, f"{where}/outcomes/least_food_share"))
    for place, one in enumerate(design.outgrown[:MOST_OUTGROWN]):
        words = (
            f"from day {one.from_day:.0f} {one.fish} no longer fits the {one.place}, in "
            f"{share_words(one.share, runs=design.runs)}."
        )
        said.append(say(start, words, f"{where}/outgrown/{place}"))
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
        f"{amount_words(got['lost_broods'], noun='lost otherwise')}"
    )
    names = ["paired", "spawnings", "raised_broods", "eaten_broods", "lost_broods"]
    if got["taken_broods"].estimate:
        words += f"; {amount_words(got['taken_broods'], noun='taken by the keeper')}"
        names.append("taken_broods")
    words += "."
    hurt = share_words(got["mate_by_mate"], runs=design.runs)
    said = [
        say(start, words, *(f"{where}/{name}" for name in names)),
        say(
            start,
            f"{hurt} see one of a pair seriously hurt by its own mate.",
            f"{where}/mate_by_mate",
        ),
    ]
    uprooted = got["uprooted"]
    if uprooted.estimate:
        words = f"a run sees {amount_words(uprooted, noun='plants')} uprooted near a pit."
        said.append(say(start, words, f"{where}/uprooted"))
    return said
