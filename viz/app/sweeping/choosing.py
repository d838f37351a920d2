"""What is varied, at which points and how often each is played: chosen or typed, and begun."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import solara

from sim.errors import Problem, Refused
from sim.figures import MEASURES
from viz.app.elements import Button, Choice, Layer, Refusals
from viz.app.session import Session
from viz.app.sweeping.asking import FULL, LATIN, NARROW, PLAN_WORDS, SweepAsked
from viz.app.sweeping.job import SweepJob, first_values
from viz.app.sweeping.offers import Offer, offers, range_of
from viz.app.typed import Chosen, Typed
from viz.app.using import use_session
from viz.sweep_asked import USUAL_MOST, USUAL_OUTCOMES

if TYPE_CHECKING:
    from viz.app.open_tank import OpenTank

SWEEP = "sweep"  # in `Session.behind`
UNTIL_NARROW = ""
RUNS: tuple[tuple[str, str], ...] = (
    ("20", "20, rough"),
    ("100", "100"),
    ("400", "400"),
    (UNTIL_NARROW, "until it is known well enough"),
)
ALSO = (
    "death", "hurt_fish", "hidden_h_per_day", "corner_h_per_day", "chases_per_h", "bites_per_h",
    "held_share", "open_share",
)  # fmt: skip
DOSE, SERIOUS = USUAL_OUTCOMES
NARROW_OF = {SERIOUS: NARROW, DOSE: "0.2"}  # half widths to begin with
HINTS_OF = {SERIOUS: "to either side; 0.05 is 5 in 100", DOSE: "to either side, as 0.2"}
NO_KEY = "no"
OTHER = "other"
# labels of a key and of its values, for each that may be chosen
PLACES: tuple[tuple[str, str], ...] = (
    ("What is varied", "Its values"),
    ("And besides", "Values of the second"),
    ("And a third", "Values of the third"),
    ("And a fourth", "Values of the fourth"),
)
MOST_KEYS = len(PLACES)
POINTS_OF_KEY = 10  # of a Latin plan, where no number is typed
MOST_SAID = 4  # of what hinders the points

Put = Callable[[str, str], None]
Slot = tuple[int, str]  # its number, under which what was typed is kept, and its key


@solara.component
def WhatToVary(session: Session, playing: bool) -> None:
    """Choose what is varied, at which points and how often each is played, and begin.

    Parameters
    ----------
    session
        The session of the page; its picked tank can be played.
    playing
        Whether values are being played, so that no others can be.
    """
    tank = use_session(session, lambda session: session.tank)
    offered = solara.use_memo(lambda: offers(tank.scenario), [id(tank.scenario)])
    unpicked: tuple[Slot, ...] = ()
    picked, set_picked = solara.use_state(unpicked)
    nothing: dict[str, str] = {}
    typed, set_typed = solara.use_state(nothing)
    plan, set_plan = solara.use_state(FULL)
    runs, set_runs = solara.use_state("100")
    narrow_of, set_narrow_of = solara.use_state(SERIOUS)
    also, set_also = solara.use_state("")
    none: tuple[Problem, ...] = ()
    wrong, set_wrong = solara.use_state(none)

    known = {one.key or OTHER: one for one in offered}
    chosen = chosen_of(picked, known)
    keys = sorted({key for _, key in chosen})
    filled = solara.use_memo(
        lambda: {key: with_values(tank, known[key]) for key in keys}, [id(tank.scenario), *keys]
    )
    offer_of = {key: ranged(offer) if plan == LATIN else offer for key, offer in filled.items()}

    def pick(place: int, key: str) -> None:
        set_picked(with_picked(chosen, place, key))

    def put(place: str, text: str) -> None:
        set_typed(lambda before: {**before, place: text.strip()})

    def begin() -> None:
        asked = SweepAsked(
            vary=tuple(
                vary_of(offer_of[key], typed, place=f"{slot}-{key}") for slot, key in chosen
            ),
            runs=None if runs == UNTIL_NARROW else int(runs),
            outcomes=(*USUAL_OUTCOMES, *([also] if also else [])),
            plan=plan,
            points=(typed.get("points") or None) if plan == LATIN else None,
            precision=precision_of(narrow_of, typed),
            most_runs=typed.get("most") or None,
        )
        try:
            job = SweepJob(tank, asked, told=session.tell, keep=session.keep)
        except Refused as refusal:
            set_wrong(refusal.problems)
            return
        set_wrong(())
        session.put_behind(SWEEP, job)
        job.start()
        session.tell()

    choices = [(key, one.words) for key, one in known.items()]
    with Layer("div", classes="hw-vary"):
        for place in range(min(len(chosen) + 1, MOST_KEYS)):
            slot, key = chosen[place] if place < len(chosen) else (0, NO_KEY)
            label, of_values = PLACES[place]
            free = [] if place == 0 else [(NO_KEY, "nothing else")]
            Chosen(label, [*free, *choices], key, partial(pick, place))
            if key != NO_KEY:
                ValuesOf(offer_of[key], typed, f"{slot}-{key}", put, label=of_values)
        Chosen(
            "Also told, beside injury and serious injuries",
            [("", "nothing else"), *((name, MEASURES[name].text) for name in ALSO)],
            also,
            set_also,
        )
    with Layer("div", classes="hw-row"):
        Choice("Which combinations", list(PLAN_WORDS.items()), plan, set_plan)
    if plan == LATIN:
        with Layer("div", classes="hw-vary"):
            Typed(
                "How many points",
                typed.get("points", ""),
                lambda text: put("points", text),
                example=str(POINTS_OF_KEY * len(chosen)),
                hint="as many as you can wait for; empty for ten for each thing that is varied",
            )
    with Layer("div", classes="hw-row"):
        Choice("Runs of each point", list(RUNS), runs, set_runs)
    if runs == UNTIL_NARROW:
        HowNarrow(narrow_of, set_narrow_of, typed, put)
    with Layer("div", classes="hw-row"):
        Button("Play the values", begin, kind="main", disabled=playing)
    hindered(wrong)


def HowNarrow(of: str, choose: Callable[[str], None], typed: dict[str, str], put: Put) -> None:
    """The inputs for until when a point is played.

    Parameters
    ----------
    of, choose
        The outcome whose interval is looked at, and what is called with another.
    typed, put
        As in `ValuesOf`.
    """
    with Layer("div", classes="hw-vary"):
        Chosen(
            "What is to be known",
            [(name, MEASURES[name].text) for name in (SERIOUS, DOSE)],
            of,
            choose,
            hint="at each point; nothing stops because a gain was shown",
        )
        Typed(
            "Half the width of its interval",
            typed.get(f"narrow-{of}", NARROW_OF[of]),
            lambda text: put(f"narrow-{of}", text),
            example=NARROW_OF[of],
            hint=HINTS_OF[of],
        )
        Typed(
            "Runs of each point at most",
            typed.get("most", str(USUAL_MOST)),
            lambda text: put("most", text),
            example=str(USUAL_MOST),
            hint="then it is given up, and the point is marked as wide",
        )


def precision_of(outcome: str, typed: dict[str, str]) -> str:
    """Return what was chosen or typed as `--precision` takes it.

    Parameters
    ----------
    outcome
        Whose interval is looked at.
    typed
        What was typed, by place.
    """
    width = typed.get(f"narrow-{outcome}") or NARROW_OF[outcome]
    return width if outcome == SERIOUS else f"{outcome}={width}"


def chosen_of(picked: tuple[Slot, ...], known: dict[str, Offer]) -> tuple[Slot, ...]:
    """Return what is varied, one thing at least.

    Parameters
    ----------
    picked
        As it was chosen; the tank may have changed since.
    known
        What can be varied in it.
    """
    return tuple(one for one in picked if one[1] in known) or ((0, next(iter(known))),)


def with_picked(chosen: tuple[Slot, ...], place: int, key: str) -> tuple[Slot, ...]:
    """Return what is varied after another choice; what follows one that is taken away moves up.

    Parameters
    ----------
    chosen
        What is varied.
    place
        Of the choice, from 0; the first that is free to vary one more.
    key
        What is chosen there, `NO_KEY` for nothing.
    """
    free = max(slot for slot, _ in chosen) + 1
    slot = chosen[place][0] if place < len(chosen) else free
    mine = () if key == NO_KEY else ((slot, key),)
    return (*chosen[:place], *mine, *chosen[place + 1 :])


def hindered(problems: tuple[Problem, ...]) -> None:
    """Say why something cannot be played; of many points the first ones.

    Parameters
    ----------
    problems
        The sentences.
    """
    Refusals(problems, words="That cannot be played:", most=MOST_SAID, rest="of other points")


def ValuesOf(offer: Offer, typed: dict[str, str], place: str, put: Put, *, label: str) -> None:
    """The inputs for the values of something, and for its key where it is another.

    Parameters
    ----------
    offer
        What is varied.
    typed
        What was typed, by place.
    place
        Of this one.
    put
        Called with the place and what was typed.
    label
        Of the values.
    """
    if not offer.key:
        Typed(
            "Its key",
            typed.get(f"key-{place}", ""),
            lambda text: put(f"key-{place}", text),
            example="fish.Basalt.length",
            hint="as in a scenario file: table.key, or list.name.key",
        )
    Typed(
        label,
        typed.get(place, offer.values),
        lambda text: put(place, text),
        example="1, 2, 3",
        hint=offer.hint,
    )


def with_values(tank: OpenTank, offer: Offer) -> Offer:
    """Return something that can be varied with values with which this tank can be built.

    Parameters
    ----------
    tank
        That can be played.
    offer
        What is varied.
    """
    return replace(offer, values=first_values(tank, offer)) if offer.key else offer


def ranged(offer: Offer) -> Offer:
    """Return something that can be varied with one range of values, for a Latin plan.

    Parameters
    ----------
    offer
        What is varied.
    """
    if not offer.key:
        return replace(offer, hint="a range, as 4 ft..8 ft or 0..6, or values with commas")
    values = range_of(offer.values)
    return replace(offer, values=values, hint=f"a range, as {values}, or values with commas")


def vary_of(offer: Offer, typed: dict[str, str], *, place: str) -> str:
    """Return what was chosen or typed as `--vary` takes it.

    Parameters
    ----------
    offer, typed, place
        As in `ValuesOf`.
    """
    key = offer.key or typed.get(f"key-{place}", "")
    return f"{key}={typed.get(place) or offer.values}"
