"""Why in words: the sentences of `holdwater why`, how sure, and what the answer rests on."""

from __future__ import annotations

import solara

from viz.app.columns import Cautions
from viz.app.editing.odds import how_sure_words
from viz.app.elements import tag
from viz.app.repeating.said import FishRisks, RisksOf
from viz.app.session import Session
from viz.app.why.asking import RECKONING, why_of
from viz.results import Results
from viz.why_words import tank_words


@solara.component
def WhyWords(session: Session) -> None:
    """The right column: the reasons, how sure, and what to bear in mind.

    Parameters
    ----------
    session
        The session of the page.
    """
    _, now, place = why_of(session)
    tag("h2", "In words")
    if now is None or now.why is None or place is None:
        reckoned = now is not None and place is not None and not now.fault
        tag("p", RECKONING if reckoned else "Why is told here once all runs are played.")
        Cautions()
        return
    for said in tank_words(now.why, number=place):
        tag("p", said.words)
    tag("h3", "How sure")
    for words in how_sure_words(now.why.results):
        if words:
            tag("p", words)
    tag("h3", "What it rests on")
    for words in rests_on(now.why.results):
        tag("p", words)
    Cautions()


def rests_on(results: Results) -> tuple[str, ...]:
    """Return on which numbers an answer rests, and how many of them are assumed.

    Parameters
    ----------
    results
        The answer.
    """
    from sim.parameters import load_parameters

    table = load_parameters()
    assumed = sum(one.assumed for one in table.values())
    words = [
        f"The rules use {len(table)} numbers. {assumed} of them are assumed: no measurement stands "
        "behind them. The command `holdwater parameters` lists each with its range and its source."
    ]
    changed = results.provenance.get("parameters_changed")
    if isinstance(changed, dict) and changed:
        told = ", ".join(f"{name} = {value:g}" for name, value in changed.items())
        words.append(f"Changed here: {told}.")
    words.append(
        "Whose territory it is, how far a hiding place is and at what stage the brood stands is "
        "noted at each bite of the runs; what is taken away is played, not reckoned."
    )
    return tuple(words)


@solara.component
def WhyCompany(session: Session) -> None:
    """The left column: each fish, and in how many runs it was seriously hurt.

    Parameters
    ----------
    session
        The session of the page.
    """
    why, now, place = why_of(session)
    if why is None or now is None or now.why is None or place is None:
        FishRisks(session)
        return
    RisksOf(now.why.results.designs[place], why.designs[place].scenario)
