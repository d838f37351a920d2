"""Compare: two to four tanks over the same fish; better, no difference or worse, and how sure."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import solara

from viz.app.batches import BatchJob, BatchNow
from viz.app.editing.differences import Difference, differences
from viz.app.elements import Button, Choice, Layer, tag
from viz.app.floor.widget import moment_in
from viz.app.live import SPEEDS, LiveTank
from viz.app.pages.watch import SPEED_WORDS
from viz.app.repeating.keeping import KeepFiles
from viz.app.repeating.pairs_shown import pairs_figure
from viz.app.repeating.playing import Playing, batch_of
from viz.app.repeating.said import WAIT
from viz.app.session import Session
from viz.app.sweeping.panel import SweepSection
from viz.app.using import use_session
from viz.phrases import LETTERS
from viz.words import SHARES_REFUSED

VERDICTS = {
    "better": "better",
    "worse": "worse",
    "no difference": "no difference shown",
    "too few to say": "too few runs to say",
}
DECIDED = {
    "dose": "by the dose of injury",
    "serious": "by the share of runs with a serious injury",
    "hidden_h_per_day": "by the hours hidden",
}


@solara.component
def Compare(session: Session) -> None:
    """The middle column: the tanks over the same fish, and this one with other values.

    Parameters
    ----------
    session
        The session of the page.
    """
    Together(session)
    SweepSection(session)


@solara.component
def Together(session: Session) -> None:
    """The tanks, what differs, the batch, and each draw of fish in both.

    Parameters
    ----------
    session
        The session of the page.
    """
    tanks = use_session(session, lambda session: session.tanks)
    job, now = batch_of(session)
    tag("h2", "The same fish in other tanks")
    if len(tanks) < 2:
        tag(
            "p",
            "One tank is open. Make a variant of it in Build by changing one thing, or open a "
            "second file there; both are then played with the very same fish.",
        )
        Button("Go to Build", lambda: session.go("build"), kind="main")
        return
    with Layer("ul", classes="hw-tank-list"):
        for index, tank in enumerate(tanks):
            with Layer("li"):
                tag("strong", f"{LETTERS[index]}: {tank.name}")
                if index:
                    what = differences(tanks[0].scenario, tank.scenario)
                    tag("p", what_differs(what), classes="hw-soft")
    Both(session)
    Playing(session, together=True)
    if job is None or now is None:
        return
    if len(job.tanks) < 2:
        tag("p", "These runs are of one tank alone; play all of them to compare.")
        return
    if now.whole:
        Verdicts(job, now)
        with Layer("div", classes="hw-row"):
            Button("Why they are hurt", lambda: session.go("why"))
        KeepFiles(job)
    elif now.done:
        tag("p", WAIT, classes="hw-soft")


@solara.component
def Both(session: Session) -> None:
    """How the two tanks on the floor go on: together.

    Parameters
    ----------
    session
        The session of the page.
    """
    moment = use_session(session, lambda session: moment_in(session.live))
    other = use_session(session, lambda session: moment_in(session.beside))
    tank = use_session(session, lambda session: session.beside_tank)
    if moment is None or other is None:
        return
    living = (session.live, session.beside)

    def both(do: Callable[[LiveTank], None]) -> None:
        for one in living:
            if one is not None:
                do(one)

    letters = " and ".join(LETTERS[index] for index in sorted((session.picked, tank)))
    run = session.shown.run if session.shown is not None else 0
    words = f"On the floor: {letters}, run {run} of both, the same fish."
    if moment.hands != other.hands:
        words += " What hands did to one of them was not done to the other."
    tag("p", words, classes="hw-soft")
    with Layer("div", classes="hw-row"):
        if moment.playing:
            Button("Pause both", lambda: both(LiveTank.pause))
        else:
            Button("Play both", lambda: both(LiveTank.play), disabled=moment.finished)
        Choice(
            "How fast",
            [(f"{speed:g}", SPEED_WORDS[speed]) for speed in SPEEDS],
            f"{moment.speed:g}",
            lambda key: both(lambda one: one.speed(float(key))),
            show_label=False,
        )


def Verdicts(job: BatchJob, now: BatchNow) -> None:
    """Say of every tank but the first whether it is better, and draw it draw by draw.

    Parameters
    ----------
    job, now
        A batch of several tanks that is whole.
    """
    assert now.results is not None
    for verdict, pairs in zip(now.results.verdicts, now.pairs, strict=True):
        first, second = LETTERS[verdict.first], LETTERS[verdict.second]
        by = DECIDED.get(verdict.decided_by or "", "")
        said = ", ".join(part for part in (VERDICTS[verdict.verdict], by) if part)
        with Layer("section", classes="hw-verdict"):
            tag("h3", f"{second} against {first}: {said}")
            if verdict.shares_refused:
                tag("p", SHARES_REFUSED)
            pairs_figure(pairs, first=first, second=second)
    tag("p", now.results.verdicts[0].criterion, classes="hw-soft")


def what_differs(found: Sequence[Difference]) -> str:
    """Return what differs between two tanks; more than one thing is said to be so.

    Parameters
    ----------
    found
        Of `viz.app.editing.differences`.
    """
    lines = [one.words.rstrip(".") for one in found]
    if not lines:
        return "Nothing differs from A."
    words = "; ".join(lines)
    if len(lines) == 1:
        return f"Differs from A in one thing: {words}."
    return (
        f"Differs from A in {len(lines)} things, so a difference cannot be put down to one of "
        f"them: {words}."
    )
