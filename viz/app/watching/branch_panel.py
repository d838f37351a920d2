"""Branch here: copy the moment that is watched, change one thing, and play the futures of both."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import solara

from viz.app.elements import Button, Choice, Layer, tag
from viz.app.live import Hand, LiveTank
from viz.app.moment import Moment
from viz.app.session import Session
from viz.app.using import use_session
from viz.app.watching.branch_words import GENTLE_HURT, HOW_SURE, HURT, WAITS, Branched
from viz.app.watching.branching import DAYS, FUTURES, Branching, Stand
from viz.app.watching.hands import OUT, STEPS, divider, moved
from viz.checked import counted

ACROSS = 25  # marks in a row of the picture
CELL = 10
LENGTHS = (("2", "2 days"), ("7", "a week"), ("21", "three weeks"))
KINDS = ("", "hurt", "serious", "dead")


@solara.component
def BranchHere(session: Session, live: LiveTank, moment: Moment) -> None:
    """The futures of the moment that is watched, with one thing changed and without.

    Parameters
    ----------
    session, live, moment
        The page, its tank, and how it stands.
    """
    stand: Stand | None = use_session(
        session, lambda session: session.branching.stand if session.branching else None
    )
    gentle = use_session(session, lambda session: session.look.gentle)

    def branch(hand: Hand, days: float) -> None:
        branching = Branching(hand, told=session.tell, days=days, gentle=gentle)
        session.branch(branching)
        live.branch(branching.begin)

    with Layer("section", classes="hw-branch", name="Branch here"):
        tag("h3", "Branch here")
        if stand is None:
            tag(
                "p",
                f"Copy this very moment, change one thing, and see {FUTURES} futures of each.",
                classes="hw-soft",
            )
            WhatToChange(live, moment, branch)
        else:
            Futures(session, stand, gentle)


@solara.component
def WhatToChange(live: LiveTank, moment: Moment, branch: Callable[[Hand, float], None]) -> None:
    """Choose the one thing, and branch.

    Parameters
    ----------
    live, moment
        The tank, and how it stands.
    branch
        Called with the hand, and how many days to look ahead.
    """
    kinds = changes(live, moment)
    wanted, want = solara.use_state("")
    picked, pick = solara.use_state("")
    way, turn = solara.use_state(STEPS[0][0])
    days, last = solara.use_state(f"{DAYS:g}")
    if moment.finished or not kinds:
        tag("p", "This run is over; there is nothing left to branch into.")
        return
    kind = wanted if wanted in dict(kinds) else kinds[0][0]
    Choice("Change", kinds, kind, want)
    whom = subjects(kind, live, moment)
    chosen = picked if picked in dict(whom) else (whom[0][0] if whom else "")
    if whom:
        Choice(WHOM[kind], whom, chosen, pick)
    if kind == "piece":
        Choice("To the", [(words, words) for words, _, _ in STEPS], way, turn)

    def press() -> None:
        hand = hand_of(kind, chosen, way, live)
        if hand is not None:
            branch(hand, float(days))

    Choice("Look ahead", LENGTHS, days, last)
    with Layer("div", classes="hw-row"):
        Button("Branch here", press)


WHOM = {"out": "Which fish", "back": "Which fish", "divider": "What kind", "piece": "Which piece"}


def changes(live: LiveTank, moment: Moment) -> list[tuple[str, str]]:
    """Return what can be changed at this moment: key and words.

    Parameters
    ----------
    live, moment
        The tank, and how it stands.
    """
    guarded = any(fish.doing.startswith("guards") for fish in moment.fish)
    stage = live.played.layout.stages[moment.stage]
    found = [
        ("fry", "take the fry") if guarded else ("spawn", "they spawn now"),
        ("out", "move a fish out"),
    ]
    if any(fish.hurt in OUT for fish in moment.fish):
        found.append(("back", "put a fish back"))
    if not any(piece.is_divider for piece in stage.pieces):
        found.append(("divider", "part the tank"))
    if any(not piece.is_divider for piece in stage.pieces):
        found.append(("piece", "move a piece"))
    return found


def subjects(kind: str, live: LiveTank, moment: Moment) -> list[tuple[str, str]]:
    """Return whom or what a change may be done to; empty where that is no question.

    Parameters
    ----------
    kind
        Key of `changes`.
    live, moment
        The tank, and how it stands.
    """
    if kind == "out":
        gone = (*OUT, "dead", "not in yet")
        return [(fish.name, fish.name) for fish in moment.fish if fish.hurt not in gone]
    if kind == "back":
        return [(fish.name, fish.name) for fish in moment.fish if fish.hurt in OUT]
    if kind == "divider":
        return [("divider", "opaque"), ("clear-divider", "clear")]
    if kind == "piece":
        pieces = live.played.layout.stages[moment.stage].pieces
        return [(piece.name, piece.name) for piece in pieces if not piece.is_divider]
    return []


def hand_of(kind: str, chosen: str, way: str, live: LiveTank) -> Hand | None:
    """Return the hand of a change; None where it has become senseless meanwhile.

    Parameters
    ----------
    kind, chosen, way
        What, whom or which, and where to.
    live
        The tank.
    """
    if kind == "spawn":
        return Hand("spawn", {}, words="The pair spawns")
    if kind == "fry":
        return Hand("take the fry", {}, words="The young are taken out")
    if kind == "out":
        return Hand("take out", {"fish": (chosen,)}, words=f"{chosen} is moved out")
    if kind == "back":
        return Hand("bring back", {"fish": (chosen,)}, words=f"{chosen} is put back")
    if kind == "divider":
        return divider(live, chosen, "opaque" if chosen == "divider" else "clear")
    moment = live.moment
    stage = live.played.layout.stages[moment.stage if moment is not None else 0]
    shape = next((piece for piece in stage.pieces if piece.name == chosen), None)
    step = next((step for step in STEPS if step[0] == way), STEPS[0])
    if shape is None:
        return None
    return moved(shape, step[1], step[2], f"{chosen} is moved to the {step[0]}")


@solara.component
def Futures(session: Session, stand: Stand, gentle: bool) -> None:
    """How far the futures have come, and what they say.

    Parameters
    ----------
    session
        The session of the page.
    stand
        How far.
    gentle
        Whether no wound is described.
    """
    tag("p", heading(stand), classes="hw-branch-what")
    for words in stand.refused:
        tag("p", words, classes="hw-refused", attributes={"role": "alert"})
    if stand.failed:
        tag(
            "p",
            "A fault of the program ended these futures. What went wrong stands where the program "
            "was started.",
            attributes={"role": "alert"},
        )
    if not stand.ended:
        tag(
            "progress",
            classes="hw-progress",
            name="Futures played",
            attributes={"max": stand.asked, "value": stand.done},
        )
        tag("p", so_far(stand), classes="hw-soft")
    elif stand.stopped and stand.done:
        tag("p", f"Stopped after {counted(stand.done, 'future')} of each.", classes="hw-soft")
    if stand.found is not None:
        Shown(stand.found, stand.change, gentle, over=stand.ended)
    with Layer("div", classes="hw-row"):
        if not stand.ended:
            Button("Stop", session.branching.cancel)
        else:
            Button("Branch anew", lambda: session.branch(None))


def heading(stand: Stand) -> str:
    """Return what is branched, when and how far."""
    if stand.day is None or stand.until_day is None:
        return f"What if {stand.change}?"
    days = stand.until_day - stand.day
    how_long = f"{days:.0f} days" if days >= 1.5 else f"{24 * days:.0f} hours"
    return f"What if {stand.change} on day {stand.day:.2f}? The {how_long} from there."


def so_far(stand: Stand) -> str:
    """Return how many have been played, in words."""
    if not stand.done:
        return "The first futures are being played."
    return f"{stand.done} of {stand.asked} futures of each so far."


def Shown(found: Branched, change: str, gentle: bool, *, over: bool) -> None:
    """What the futures say, and each of them as a mark.

    The answer waits until all that were asked for are played: read early and often, an interval
    leaves out no difference more often than one in twenty times.
    """
    if found.answer and over:
        tag("p", found.answer, classes="hw-answer")
    with Layer("div", classes="hw-futures"):
        for words, worst in zip(("As it is", change), found.worst, strict=True):
            Marks(words[:1].upper() + words[1:], worst, gentle)
    for words in found.said:
        tag("p", words)
    if found.answer:
        tag("p", HOW_SURE if over else WAITS, classes="hw-soft")


def Marks(words: str, worst: tuple[int, ...], gentle: bool) -> None:
    """Each future as a mark, by the worst that comes to a fish in it.

    Parameters
    ----------
    words
        What these futures are of.
    worst
        How many of each, as in `Branched`.
    gentle
        Whether no wound is described.
    """
    counts = told_apart(worst, gentle)
    done = sum(worst)
    rows = -(-done // ACROSS)
    parts: list[Any] = []
    place = 0
    for kind, number, _ in counts:
        paths = []
        for _ in range(number):
            x = CELL * (place % ACROSS) + CELL // 2
            y = CELL * (place // ACROSS) + CELL // 2
            paths.append(future_mark(kind, x, y))
            place += 1
        if paths:
            parts.append(
                tag(
                    "path",
                    classes=f"hw-future-{kind or 'none'}",
                    attributes={"d": "".join(paths)},
                )
            )
    legend = ", ".join(f"{what} in {number}" for _, number, what in counts if number)
    with Layer("figure", classes="hw-future"):
        tag("figcaption", f"{words}:")
        tag(
            "svg",
            *parts,
            classes="hw-marks",
            name=f"{words}: {legend}",
            attributes={"role": "img", "viewBox": f"0 0 {CELL * ACROSS} {max(CELL * rows, 1)}"},
        )
        tag("span", f"{legend}.", classes="hw-soft", attributes={"aria-hidden": "true"})


def told_apart(worst: tuple[int, ...], gentle: bool) -> list[tuple[str, int, str]]:
    """Return kind of mark, number and words of the futures that are told apart.

    Parameters
    ----------
    worst
        How many of each, as in `Branched`.
    gentle
        Whether a serious injury and a death are told as one that is moved out.
    """
    if not gentle:
        return list(zip(KINDS, worst, HURT, strict=True))
    return [
        ("", worst[0], GENTLE_HURT[0]),
        ("hurt", worst[1], GENTLE_HURT[1]),
        ("serious", worst[2] + worst[3], GENTLE_HURT[2]),
    ]


def future_mark(kind: str, x: int, y: int) -> str:
    """Return the outline of the mark of one future, in the shapes of the day line."""
    if kind == "hurt":
        return f"M{x} {y - 3}v6"
    if kind == "serious":
        return f"M{x - 2} {y - 3}h4v6h-4z"
    if kind == "dead":
        return f"M{x - 3} {y - 3}l6 6M{x + 3} {y - 3}l-6 6"
    return f"M{x - 2} {y}a2 2 0 1 0 4 0a2 2 0 1 0 -4 0"
