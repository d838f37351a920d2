"""Take it away: a switch for each thing, which plays the same runs without it, and what changes."""

from __future__ import annotations

import solara

from viz.app.elements import Button, Layer, Switch, tag
from viz.app.kept_runs import unkept_words
from viz.app.why.parts import change_bar
from viz.app.why.reasoning import MORE, Offer, Reasoning, WhyNow, least_for_tempers
from viz.progress import spoken_seconds
from viz.results import DifferenceResult
from viz.why_page import not_taken
from viz.why_results import TakenResult
from viz.why_words import changed, clear, of_outcome, temper_words, without

FEW = 40  # runs; below them what nobody has measured is held, and little shows


@solara.component
def TakeAway(why: Reasoning, now: WhyNow, place: int) -> None:
    """The switches of one tank, and what each changes.

    Parameters
    ----------
    why, now, place
        What is known, and the place of the tank in it.
    """
    more, set_more = solara.use_state(False)
    offers = [one for one in now.offers[place] if one.key != tempers_key()]
    usual = [one for one in offers if one.key not in MORE]
    others = [one for one in offers if one.key in MORE]
    tag("h3", "Take it away")
    tag("p", what_words(why.runs), classes="hw-soft")
    with Layer("div", classes="hw-row"):
        if now.busy:
            Button("Stop here", why.stop, kind="main")
        elif any(not (one.on and one.whole) for one in usual):
            Button("Take all of these away, one at a time", lambda: why.take_usual(place))
    end = scale_of(now, place)
    with Layer("ul", classes="hw-takings", name="Taken away"):
        for one in usual + (others if more else [o for o in others if o.on or o.done]):
            Taking(why, now, place, one, end)
    with Layer("div"):
        for problem in now.unkept:
            tag("p", unkept_words(problem), classes="hw-soft")
        for left in now.left[place]:
            if left.key not in MORE or more:
                tag("p", f"{capital(not_taken(left))}.", classes="hw-soft")
    if others and not more:
        with Layer("div", classes="hw-row"):
            Button("More that can be taken away", lambda: set_more(True), kind="quiet")


def Taking(why: Reasoning, now: WhyNow, place: int, offer: Offer, end: float) -> None:
    """One switch, how far it is, and what came of it.

    Parameters
    ----------
    why, now, place
        What is known, and the place of the tank in it.
    offer
        What can be taken away.
    end
        Of the scale of changes.
    """

    def turn(on: bool) -> None:
        why.take_away(place, offer.key, on)

    with Layer("li", classes="hw-taking"):
        Switch(without(offer.key), offer.on, turn)
        if offer.on and not offer.whole:
            HowFarOff(offer)
        elif offer.on:
            taken = taken_of(now, place, offer.key)
            if taken is not None:
                Changed(taken, end)
        elif offer.done:
            tag("p", off_words(offer), classes="hw-soft")


def HowFarOff(offer: Offer) -> None:
    """How many of its runs are played."""
    tag(
        "progress",
        classes="hw-progress",
        name="Runs played",
        attributes={"max": offer.asked, "value": offer.done},
    )
    tag("p", far_words(offer), classes="hw-soft")


def far_words(offer: Offer) -> str:
    """Return how far the runs of one thing taken away have come.

    Parameters
    ----------
    offer
        Asked for, and not whole.
    """
    words = f"{offer.done} of {offer.asked} runs"
    if not offer.playing:
        return f"{words}, waits for the one before"
    if not offer.done:
        return words
    left = offer.took_s * (offer.asked / offer.done - 1.0)
    return f"{words}, about {spoken_seconds(left)} left"


def off_words(offer: Offer) -> str:
    """Return what is there of a thing that is not taken away any more."""
    if offer.whole:
        return "Played already: switched on it is told at once."
    return f"{offer.done} of {offer.asked} runs are played: switched on it goes on from there."


def Changed(taken: TakenResult, end: float) -> None:
    """What taking one thing away changes, in a sentence and as a dot with its interval."""
    dose = of_outcome(taken, "dose")
    if dose is None or dose.estimate is None:
        tag("p", "Nothing was seen in either that could be compared.")
        return
    words = changed(taken)
    tag("p", f"{capital(words)}.")
    if dose.low is None or dose.high is None:
        tag("p", "Too few of the runs saw any of it: play more.", classes="hw-soft")
        return
    tag(
        "p",
        change_bar(dose.low, dose.estimate, dose.high, end=end),
        tag("span", "less injury", attributes={"aria-hidden": "true"}),
        tag("span", "more injury", attributes={"aria-hidden": "true"}),
        classes="hw-change" if clear(dose) else "hw-change hw-unclear",
    )


def taken_of(now: WhyNow, place: int, key: str) -> TakenResult | None:
    """Return what is known of one thing that was taken away; None before it is whole."""
    if now.why is None:
        return None
    return next((one for one in now.why.reasons[place].taken if one.key == key), None)


def scale_of(now: WhyNow, place: int) -> float:
    """Return the greatest change in injury of a tank, for the end of the scale."""
    if now.why is None:
        return 1.0
    rows = [of_outcome(one, "dose") for one in now.why.reasons[place].taken]
    return max((reach(row) for row in rows if row is not None), default=0.0) or 1.0


def reach(row: DifferenceResult) -> float:
    """Return how far a change with its interval reaches from none."""
    return max((abs(v) for v in (row.low, row.estimate, row.high) if v is not None), default=0.0)


def what_words(runs: int) -> str:
    """Return what a switch does, and how much so many runs can show.

    Parameters
    ----------
    runs
        Of each.
    """
    words = (
        f"Each switch plays the same {runs} runs again with the same fish and one thing fewer. A "
        "thing is a reason only where the interval leaves out no difference."
    )
    if runs < FEW:
        words += f" {runs} runs are few: only a large difference shows. Take 100 before you decide."
    return words


@solara.component
def Tempers(why: Reasoning, now: WhyNow, place: int) -> None:
    """What the tempers make of the spread between runs, and the switch that plays for it.

    Parameters
    ----------
    why, now, place
        What is known, and the place of the tank in it.
    """
    assert now.why is not None
    tag("h3", "Why runs differ")
    for said in temper_words(now.why.reasons[place], start="", at=""):
        tag("p", said.words)
    offer = next((one for one in now.offers[place] if one.key == tempers_key()), None)
    if offer is None:
        least = least_for_tempers()
        words = (
            f"What tempers make of the spread is told from {least} runs on, not from {why.runs}."
        )
        tag("p", words, classes="hw-soft")
        return

    def turn(on: bool) -> None:
        why.take_away(place, tempers_key(), on)

    with Layer("div", classes="hw-taking"):
        Switch("the same tempers, all else drawn anew", offer.on, turn)
        if offer.on and not offer.whole:
            HowFarOff(offer)
        elif not offer.on and offer.done:
            tag("p", off_words(offer), classes="hw-soft")
        elif offer.on and now.why.reasons[place].tempers is None:
            tag("p", "Nothing varies between these runs.", classes="hw-soft")


def tempers_key() -> str:
    """Return the key under which the tempers alone are kept."""
    from sim.taken_away import TEMPERS

    return TEMPERS


def capital(words: str) -> str:
    """Return words that begin a sentence."""
    return words[:1].upper() + words[1:]
