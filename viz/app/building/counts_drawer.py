"""Watched: what a keeper counted at the real tank, and what that tells of its fish."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import solara

from sim.errors import Problem, Refused
from sim.sittings import KINDS
from viz.app.batches import designs_of_tanks
from viz.app.building.bench import Bench
from viz.app.building.counts_told import KeepWatched, told
from viz.app.building.knowing import KnowingJob, KnowingNow
from viz.app.editing.pad import MOST_SITTINGS, Pad, pad_of_text
from viz.app.elements import Button, Layer, Refusals, Switch, tag
from viz.app.given import Given
from viz.app.typed import Handed, Typed
from viz.observe_counts import MOST_BYTES
from viz.phrases import listed
from viz.progress import compiled_before, spoken_seconds

if TYPE_CHECKING:
    from viz.observe_results import WatchedResults

WORDS = {
    KINDS[0]: "Chases given",
    KINDS[1]: "Chases taken",
    KINDS[2]: "Minutes hidden",
}


def CountsDrawer(bench: Bench) -> None:
    """The counts of the tank that is worked on, and what they tell.

    Parameters
    ----------
    bench
        What is worked on.
    """
    tag("h3", "You watched the real tank")
    tag(
        "p",
        "Count for ten minutes and type what you saw; leave empty what you did not count. A chase "
        "is given by the fish that chases and taken by the one that flees. The day is one of this "
        "tank's, 0 the first.",
        classes="hw-soft",
    )
    CountsForm(bench, bench.now)


@solara.component
def CountsForm(bench: Bench, now: object) -> None:
    """The form, the button, and what came of it.

    Parameters
    ----------
    bench
        What is worked on.
    now
        `Bench.now`, so that it is rendered again when that has changed.
    """
    nothing: tuple[Problem, ...] = ()
    wrong, set_wrong = solara.use_state(nothing)
    pad = bench.pad
    for number in range(len(pad.sheets)):
        one_sitting(bench, pad, number)
    with Layer("div", classes="hw-row"):
        if len(pad.sheets) < MOST_SITTINGS:
            Button("A further sitting", lambda: bench.write(pad.more(bench.scenario)))
        if any(group.count > 1 for group in bench.scenario.fish):
            Switch("Fish of a group one by one", pad.each, lambda on: bench.write(turned(pad, on)))

    def take(name: str, text: str) -> None:
        try:
            bench.write(pad_of_text(text, bench.scenario))
            set_wrong(())
            bench.session.say(f"The counts of {name} are on the pad.")
        except Refused as refusal:
            set_wrong(refusal.problems)

    def begin() -> None:
        set_wrong(begin_knowing(bench))

    with Layer("div", classes="hw-row"):
        Handed(
            "Take counts from a file", take, most_bytes=MOST_BYTES, accept=".csv",
            hint="A table: fish, minutes, what was counted (CSV)",
        )  # fmt: skip
        Given(
            "Keep the counts", "counts.csv", lambda: bench.pad.as_text(bench.scenario),
            kind="text/csv", hint="As the command observe reads them",
        )  # fmt: skip
    job = bench.knowing
    playing = job is not None and not job.now.over
    with Layer("div", classes="hw-row"):
        if playing and job is not None:
            Button("Stop here", job.cancel, kind="main")
        else:
            Button("What do these counts tell?", begin, kind="main")
    Refusals((*wrong, *(job.now.refused if job is not None else ())))
    if job is not None:
        what_came(bench, job)


def one_sitting(bench: Bench, pad: Pad, number: int) -> None:
    """The cells of one sitting.

    Parameters
    ----------
    bench, pad
        What is worked on, and its counts.
    number
        Place of the sitting.
    """
    sheet = pad.sheets[number]
    many = len(pad.sheets) > 1
    title = f"Sitting {number + 1}" if many else "The sitting"

    def put(who: str, kind: str) -> Callable[[str], None]:
        return lambda text: bench.write(bench.pad.put(number, who, kind, text))

    with Layer("section", classes="hw-sitting", name=title):
        if many:
            tag("h3", title)
        with Layer("div", classes="hw-form"):
            for key, words in (("minutes", "Minutes"), ("day", "Day"), ("hour", "From")):
                label = f"{words}, sitting {number + 1}" if many else words
                Typed(label, sheet.when[key], put("", key))
        for who in pad.names(bench.scenario):
            with Layer("div", role="group", name=who):
                tag("p", who, classes="hw-name")
                with Layer("div", classes="hw-form"):
                    for kind in KINDS:
                        Typed(WORDS[kind], sheet.cells.get((who, kind), ""), put(who, kind))
        if many:
            Button(
                "Take this sitting out",
                lambda: bench.write(bench.pad.without(number)),
                kind="quiet",
                name=f"Take sitting {number + 1} out",
            )


def turned(pad: Pad, each: bool) -> Pad:
    """Return the pad with groups counted together or one by one; other cells stay."""
    from dataclasses import replace

    return replace(pad, each=each)


def begin_knowing(bench: Bench) -> tuple[Problem, ...]:
    """Learn from what is on the pad, in the place of what was learnt before.

    Parameters
    ----------
    bench
        What is worked on.

    Returns
    -------
    why it cannot be; empty when it has begun.
    """
    session = bench.session
    picked = session.picked
    order = [picked, *(k for k in range(len(session.tanks)) if k != picked)]
    try:
        designs = designs_of_tanks([session.tanks[k] for k in order])
        rows = bench.pad.rows(designs[0].scenario)
    except Refused as refusal:
        return refusal.problems
    bench.learn_from(KnowingJob(designs, rows, told=bench.tell))
    return ()


def what_came(bench: Bench, job: KnowingJob) -> None:
    """How far it is, and in the end what the counts tell.

    Parameters
    ----------
    bench
        What is worked on.
    job
        What learns.
    """
    now = job.now
    if now.found is None:
        if not now.refused:
            tag("progress", classes="hw-progress", name="Runs played",
                attributes={"max": now.total, "value": now.done})  # fmt: skip
            tag("p", far_words(now), classes="hw-soft", attributes={"role": "status"})
        return
    if job.designs[0].scenario != bench.scenario:
        tag("p", "This is of a tank as it was when the counts were looked at.", classes="hw-soft")
    told(now.found)
    KeepWatched(job, now)
    tempers_to_take(bench, now.found)


def far_words(now: KnowingNow) -> str:
    """Return how far it is, in words.

    Parameters
    ----------
    now
        How it stands.
    """
    words = f"{now.done} of {now.total} runs"
    if now.cancelled:
        return f"{words}, stopped"
    if now.done == 0:
        if not compiled_before():
            return "The rules are compiled for this machine, once: about a minute."
        return words
    left = now.took_s * (now.total / now.done - 1.0)
    return f"{words}, about {spoken_seconds(left)} left"


def tempers_to_take(bench: Bench, found: WatchedResults) -> None:
    """Offer to put the tempers that are likely enough into the tank.

    Parameters
    ----------
    bench
        What is worked on.
    found
        What was found.
    """
    from viz.observe_record import with_tempers
    from viz.observe_words import temper_words

    words = temper_words(found.fish)
    after = with_tempers(bench.scenario, found)
    if not words:
        tag("p", "Of no fish the counts tell clearly enough whether it is mild, typical or fierce, "
            "so there is nothing to put into the tank.")  # fmt: skip
        return
    if after == bench.scenario:
        return

    def take() -> None:
        if bench.do(lambda scenario: with_tempers(scenario, found), did="tempers as watched"):
            bench.session.say(f"In the tank now: {listed(words)}.")

    tag("p", f"Likely enough for a word: {listed(words)}. A word holds a fish to one place in its "
        "kind, which says more than the counts do.", classes="hw-soft")  # fmt: skip
    Button("Take these tempers into the tank", take)
