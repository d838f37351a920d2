"""In words: what hinders the tank from being played, what is unwise, and rough odds."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import solara

from viz.app.building.bench import Bench, Picked, bench_of
from viz.app.building.hands import cap
from viz.app.building.parts import use_bench
from viz.app.columns import Cautions
from viz.app.editing.odds import RUNS, Odds
from viz.app.editing.verdict import Message
from viz.app.elements import Button, Layer, tag
from viz.app.kept_runs import unkept_words
from viz.app.repeating.playing import place_of
from viz.app.session import Session

if TYPE_CHECKING:
    from viz.app.batches import BatchJob


@solara.component
def BuildWords(session: Session) -> None:
    """The right column of Build.

    Parameters
    ----------
    session
        The session of the page.
    """
    bench = bench_of(session)
    use_bench(bench)

    def seen() -> Any:
        bench.looking.want_odds(True)
        return lambda: bench.looking.want_odds(False)

    solara.use_effect(seen, [])
    with Layer("div", classes="hw-words", name="What it comes to", role="group", tabindex="0"):
        tag("h2", "In words")
        Said(bench)
        if bench.tank.checked is not None:
            RoughOdds(bench)
        Cautions()


def Said(bench: Bench) -> None:
    """Every sentence of `check`; one that is about a piece or a fish picks it when pressed.

    Parameters
    ----------
    bench
        What is worked on.
    """
    messages = bench.messages
    hindering = [one for one in messages if not one.unwise]
    unwise = [one for one in messages if one.unwise]
    for words, found, kind in (
        ("Before it can be played:", hindering, "hw-problem"),
        ("It can be played, but this is unwise:", unwise, "hw-warning"),
    ):
        if not found:
            continue
        tag("p", words)
        with Layer("ul", classes="hw-said"):
            for (about, name), several in by_thing(found).items():
                with Layer("li", classes=kind):
                    Beside(bench, about, name)
                    for one in several:
                        tag("p", one.words)


def by_thing(messages: list[Message]) -> dict[tuple[str, str], list[Message]]:
    """Return sentences by what they are about, in the order in which it first comes.

    Parameters
    ----------
    messages
        Of a tank.
    """
    found: dict[tuple[str, str], list[Message]] = {}
    for one in messages:
        found.setdefault((one.about, one.name), []).append(one)
    return found


def Beside(bench: Bench, about: str, name: str) -> None:
    """What sentences are about; a piece or a group of fish can be pressed.

    Parameters
    ----------
    bench
        What is worked on.
    about, name
        As `Message` has them.
    """
    if about in ("piece", "fish"):
        thing = Picked(about, name)
        Button(name, lambda: bench.pick(thing), kind="about", hint="Pick it")
    elif name or about:
        tag("span", name or about, classes="hw-where")


def RoughOdds(bench: Bench) -> None:
    """Twenty runs of the tank as it stands, in the words of `holdwater run`.

    Parameters
    ----------
    bench
        What is worked on.
    """
    odds = bench.looking.odds
    tag("h3", "Rough odds")
    better = better_known(bench)
    if better:
        tag(
            "p",
            f"Repeat has played {better} runs of this very tank: go by them, not by these {RUNS}.",
        )
        with Layer("div", classes="hw-row"):
            Button("See them", lambda: bench.session.go("repeat"))
    with Layer("div", classes="hw-odds", role="status", aria_busy=_busy(odds)):
        if odds is None or (odds.results is None and not odds.refused):
            tag("p", progress_words(odds), classes="hw-field-hint")
            return
        for problem in odds.refused:
            tag("p", cap(problem.sentence), classes="hw-field-error")
        for said in odds.said:
            tag("p", said.words)
    for problem in odds.unkept:
        tag("p", unkept_words(problem), classes="hw-field-hint")
    if odds.results is not None:
        with Layer("details", classes="hw-how-sure"):
            tag("summary", "How sure")
            for words in odds.how_sure[1:]:
                tag("p", words)
        tag("p", odds.how_sure[0], classes="hw-rough")


def better_known(bench: Bench) -> int:
    """Return how many runs of the tank as it stands a whole batch has, if more than the odds.

    Parameters
    ----------
    bench
        What is worked on.
    """
    job: BatchJob | None = bench.session.batch
    place = place_of(job, bench.session.picked)
    if job is None or place is None or not job.now.whole or job.runs <= RUNS:
        return 0
    return job.runs if job.designs[place].scenario == bench.scenario else 0


def _busy(odds: Odds | None) -> str:
    return "true" if odds is None or (odds.results is None and not odds.refused) else "false"


def progress_words(odds: Odds | None) -> str:
    """Return how far the runs have come.

    Parameters
    ----------
    odds
        As far as they are known; None before they began.
    """
    if odds is None:
        return "Twenty runs of this tank begin ..."
    if odds.done == 0 and not compiled():
        return (
            "The rules are compiled for this machine, once: about a minute. Go on building "
            "meanwhile."
        )
    if odds.done == 0:
        return f"{odds.asked} runs of this tank are played ..."
    hurt = "in none" if odds.hurt == 0 else f"in {odds.hurt}"
    return (
        f"{odds.done} of {odds.asked} runs are played, {hurt} of them a fish is seriously hurt ..."
    )


def compiled() -> bool:
    """Return whether anything compiled is kept of these rules, or the compiler is off."""
    from viz.progress import compiled_before, compiler_is_off

    return compiler_is_off() or compiled_before()
