"""The columns beside a page's work, for pages that bring none of their own."""

from __future__ import annotations

from collections.abc import Iterable

import solara

from sim.errors import Problem
from sim.scenario import Member, Scenario, company
from viz.app.elements import Layer, tag
from viz.app.session import Session
from viz.app.using import use_session
from viz.cautions import CAUTIONS


@solara.component
def Company(session: Session) -> None:
    """The fish of the tank, one line each.

    Parameters
    ----------
    session
        The session of the page.
    """
    tank = use_session(session, lambda session: session.tank)
    tag("h2", "The fish")
    with Layer("ol", classes="hw-fish-list"):
        for number, fish in enumerate(company(tank.scenario), start=1):
            with Layer("li", classes="hw-fish"):
                tag("span", str(number), classes="hw-number")
                tag("span", fish.name, classes="hw-name")
                tag("span", described(fish), classes="hw-state")


def described(fish: Member) -> str:
    """Return a fish in a few words: what it is, its sex and its length as far as they are known.

    Parameters
    ----------
    fish
        The fish.
    """
    from sim.units import format_length

    words = [fish.species.names[0]]
    if fish.sex != "unknown":
        words.append(fish.sex)
    if fish.length_m is not None:
        about = "about " if fish.about else ""
        words.append(about + format_length(fish.length_m))
    return ", ".join(words)


@solara.component
def InWords(session: Session) -> None:
    """What the tank asks, what hinders it, what is unwise, and what to bear in mind.

    Parameters
    ----------
    session
        The session of the page.
    """
    tank = use_session(session, lambda session: session.tank)
    tag("h2", "In words")
    opened_with = session.opened_with
    if opened_with:
        tag("p", "The file that was named could not be opened:")
        Said(opened_with, kind="hw-problem")
    if tank.problems:
        tag("p", "Before it can be played:")
        Said(tank.problems, kind="hw-problem")
    asked = asked_of(tank.scenario)
    if asked:
        tag("p", asked, classes="hw-asked")
    if tank.warnings:
        tag("p", "It can be played, but:")
        Said(tank.warnings, kind="hw-warning")
    Cautions()


def Cautions() -> None:
    """What every page bears in mind at the end of its words."""
    with Layer("ul", classes="hw-cautions"):
        for words in CAUTIONS:
            tag("li", words)


def asked_of(scenario: Scenario) -> str:
    """Return what a tank asks, as its file says it.

    Parameters
    ----------
    scenario
        The tank.
    """
    return scenario.question


@solara.component
def Said(problems: Iterable[Problem], *, kind: str) -> None:
    """Sentences of `holdwater check`, each with the place it is about.

    Parameters
    ----------
    problems
        What is to be said.
    kind
        Class of each.
    """
    with Layer("ul", classes="hw-said"):
        for problem in problems:
            with Layer("li", classes=kind):
                if problem.where:
                    tag("span", problem.where, classes="hw-where")
                tag("span", problem.sentence)
