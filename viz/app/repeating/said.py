"""What a batch says, in the sentences of the command line; while it is played, so far."""

from __future__ import annotations

from typing import TYPE_CHECKING

import solara

from viz.app.columns import Cautions, Company, described
from viz.app.editing.odds import how_sure_words
from viz.app.elements import Layer, tag
from viz.app.repeating.playing import batch_of, place_of
from viz.app.session import Session
from viz.app.using import use_session
from viz.phrases import LETTERS, share_words

if TYPE_CHECKING:
    from sim.scenario import Scenario
    from viz.app.batches import BatchNow
    from viz.phrases import Said
    from viz.results import DesignResult

WAIT = (
    "Which tank is better is told when all are played: looking all the while and stopping when it "
    "looks clear finds differences where there are none."
)


def answer(now: BatchNow, *, only: int | None = None) -> list[Said]:
    """Return the plain sentences of a batch.

    Parameters
    ----------
    now
        How it stands, with results.
    only
        The place of one tank, to leave out what is said of the others; None for all.

    Returns
    -------
    list of Said
        Those of `holdwater run` and `compare` when all is played, without what is typed there;
        before, no verdict and no advice.
    """
    from viz.sure_words import pressed
    from viz.words import design_words, in_words

    results = now.results
    if results is None:
        return []
    if now.whole and only is None:
        return pressed(in_words(results))
    alone = len(results.designs) == 1
    return [
        said
        for number, design in enumerate(results.designs)
        if only is None or number == only
        for said in design_words(design, number=number, alone=alone or only is not None)
    ]


def so_far_words(now: BatchNow) -> str:
    """Return that not all is played yet, and what is held back until then.

    Parameters
    ----------
    now
        How the batch stands.
    """
    if now.whole or now.results is None:
        return ""
    done = now.results.designs[0].runs
    words = f"So far, from {done} of {now.asked} runs{'' if len(now.rows) == 1 else ' of each'}."
    return words if len(now.rows) == 1 else f"{words} {WAIT}"


@solara.component
def ResultWords(session: Session) -> None:
    """The right column: the answer, how sure, and what to bear in mind.

    Parameters
    ----------
    session
        The session of the page.
    """
    _, now = batch_of(session)
    tag("h2", "In words")
    if now is None or now.results is None:
        tag("p", "What the runs say stands here as soon as the first is played.")
        Cautions()
        return
    so_far = so_far_words(now)
    if so_far:
        tag("p", so_far, classes="hw-soft")
    for said in answer(now):
        tag("p", said.words)
    if now.over:
        tag("h3", "How sure")
        for words in how_sure_words(now.results):
            if words:
                tag("p", words)
    Cautions()


@solara.component
def FishRisks(session: Session) -> None:
    """The left column: each fish, and in how many runs it was seriously hurt.

    Parameters
    ----------
    session
        The session of the page.
    """
    job, now = batch_of(session)
    picked = use_session(session, lambda session: session.picked)
    place = place_of(job, picked)
    if job is None or now is None or now.results is None or place is None:
        Company(session)
        return
    letter = LETTERS[place] if len(job.tanks) > 1 else ""
    RisksOf(now.results.designs[place], job.designs[place].scenario, letter=letter)


def RisksOf(design: DesignResult, scenario: Scenario, *, letter: str = "") -> None:
    """The fish of a tank, each with the runs in which it was seriously hurt.

    Parameters
    ----------
    design
        What was found of the tank.
    scenario
        Its fish.
    letter
        Of the tank, where there are several.
    """
    from sim.scenario import company

    tag("h2", f"The fish in {letter}" if letter else "The fish")
    tag("p", "Seriously hurt in", classes="hw-soft")
    with Layer("ol", classes="hw-fish-list"):
        for number, fish in enumerate(company(scenario), start=1):
            with Layer("li", classes="hw-fish"):
                tag("span", str(number), classes="hw-number")
                tag("span", fish.name, classes="hw-name")
                tag("span", risk_words(design, number - 1), classes="hw-state")
                tag("span", described(fish), classes="hw-state")


def risk_words(design: DesignResult, row: int) -> str:
    """Return in how many runs a fish was seriously hurt.

    Parameters
    ----------
    design
        Its tank.
    row
        Its place among the fish.
    """
    return share_words(design.fish[row].outcomes["serious"], runs=design.runs)
