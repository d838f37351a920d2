"""The lessons of one page: seeing and counting, and why parents turn on neighbours."""

from __future__ import annotations

import math

import solara

from viz.app.elements import Button, Choice, Layer, tag
from viz.app.learning.charts import days_picture
from viz.app.learning.desk import Desk
from viz.app.learning.sitting import SittingDown
from viz.app.learning.story import StoryTold
from viz.app.lessons.counting import KINDS, MINUTES, SEEN_AS, WORDS, days_words
from viz.app.lessons.parents import RUNS, SPAWN_DAY, STEPS
from viz.app.typed import Chosen
from viz.app.using import use_session


@solara.component
def CountingView(desk: Desk, now: int) -> None:
    """Seeing and counting.

    Parameters
    ----------
    desk
        Of the page.
    now
        `Desk.now`, so that it is rendered again when that has changed.
    """
    minutes, set_minutes = solara.use_state(10)
    tag("h2", "Seeing and counting")
    sitting = desk.sitting
    if sitting is None:
        tag(
            "p",
            "Twelve young convicts, put in this morning. Watch them as long as you say, mark every "
            "chase and every fight, and then see what there was. Nobody marks them all.",
        )
        Choice(
            "Minutes",
            [(str(n), str(n)) for n in MINUTES],
            str(minutes),
            lambda key: set_minutes(int(key)),
        )

        def begin() -> None:
            begin_sitting(desk, minutes)

        Button("Sit down", begin, kind="main")
        return
    if not sitting.over:
        Counting(desk, sitting)
    elif sitting.shown is None:
        Guessing(desk, sitting)
    else:
        Revealed(desk, sitting)


def begin_sitting(desk: Desk, minutes: int) -> None:
    """Sit down in front of the tank.

    Parameters
    ----------
    desk
        Of the page.
    minutes
        How long.
    """
    sitting = SittingDown(desk, minutes=minutes)
    if sitting.sit_down():
        desk.sitting = sitting
    desk.tell()


@solara.component
def Counting(desk: Desk, sitting: SittingDown) -> None:
    """The pad, while time goes on.

    Parameters
    ----------
    desk, sitting
        Where it lies, and how far it is.
    """

    def read(session: object) -> tuple[float, bool]:
        live = desk.session.live
        moment = None if live is None else live.moment
        if moment is None:
            return math.inf, False
        return math.ceil(sitting.left_s(moment.day)), moment.playing

    left, playing = use_session(desk.session, read)
    use_session(desk.session, lambda session: desk.now)
    up = left <= 0.0

    def finish() -> None:
        if up:
            sitting.finish()

    solara.use_effect(finish, [up])
    if math.isinf(left):
        tag("p", "The tank is being filled.")
        return
    tag("p", f"{int(left) // 60}:{int(left) % 60:02d} left", classes="hw-left-time")
    with Layer("div", classes="hw-pad", name="The pad", role="group"):
        for kind in KINDS:

            def mark(kind: str = kind) -> None:
                sitting.mark(kind)

            with Layer("div", classes="hw-pad-kind"):
                Button(f"{WORDS[kind]}: {sitting.pad.count(kind)}", mark, kind="main hw-mark-one")
                tag("p", SEEN_AS[kind], classes="hw-soft")
    live = desk.session.live
    with Layer("div", classes="hw-row"):
        Button("Take the last mark back", sitting.undo, disabled=not sitting.pad.marks)
        if live is not None:
            Button("Pause" if playing else "Go on", live.pause if playing else live.play)
        Button("Get up, and count no more", lambda: leave(desk), kind="quiet")


def leave(desk: Desk) -> None:
    """Get up before the time is over."""
    desk.sitting = None
    desk.tell()


def Guessing(desk: Desk, sitting: SittingDown) -> None:
    """The time is up: a guess, before anything is shown."""
    from sim.outcome import fish_names
    from viz.app.lessons.counting import sitting_tank

    names = fish_names(sitting_tank(sitting.minutes).scenario)
    tag("p", "The time is up. Before you look: which of them chased most?")
    options = [("", "choose a fish"), *((str(k), name) for k, name in enumerate(names))]
    guess = "" if sitting.guess is None else str(sitting.guess)
    with Layer("div", classes="hw-form"):
        Chosen("It was", options, guess, lambda key: sitting.suppose(int(key)) if key else None)
    Button("Show what there was", sitting.show, kind="main", disabled=not sitting.taken)


def Revealed(desk: Desk, sitting: SittingDown) -> None:
    """What there was, and what other days would have brought."""
    from sim.outcome import fish_names
    from viz.app.lessons.counting import sitting_tank

    shown = sitting.shown
    assert shown is not None
    names = fish_names(sitting_tank(sitting.minutes).scenario)
    with Layer("section", role="status", name="What there was"):
        tag("h3", "What there was")
        with Layer("table", classes="hw-counts"), Layer("tbody"):
            with Layer("tr"):
                tag("td")
                for words in ("you", "there"):
                    tag("th", words, attributes={"scope": "col"})
            for row in shown.rows:
                with Layer("tr"):
                    tag("th", WORDS[row.kind], attributes={"scope": "row"})
                    tag("td", str(row.marked))
                    tag("td", str(row.there))
        for words in shown.sentences(names, guess=sitting.guess):
            tag("p", words)
    if sitting.days:
        tag("p", days_words(sitting.days, minutes=sitting.minutes), classes="hw-goal")
    else:
        Button(
            "What would other days have brought?",
            sitting.count_other_days,
            disabled=sitting.counting,
        )
    Button("Sit down once more", lambda: leave(desk), kind="quiet")


def ParentsView(desk: Desk, story: StoryTold) -> None:
    """Why parents turn on neighbours, the step that is read.

    Parameters
    ----------
    desk, story
        Where it lies, and how far it is.
    """
    step, number = story.step, story.number
    tag("h2", "Why parents turn on neighbours")
    tag("p", f"Step {number + 1} of {len(STEPS)}", classes="hw-soft")
    tag("h3", step.title)
    tag("p", step.words)
    if story.story is None:
        tag("p", "The run is being played.", classes="hw-soft")
    for words in story.measured:
        tag("p", words, classes="hw-goal")
    if story.at_day is not None:
        Button("Show it in the tank", story.watch)
    if step.key == "without":
        Without(story)
    with Layer("div", classes="hw-row"):
        Button("Back", lambda: story.go(number - 1), disabled=number == 0)
        Button(
            "Next",
            lambda: story.go(number + 1),
            kind="main" if step.key != "without" else "plain",
            disabled=number == len(STEPS) - 1,
        )


def Without(story: StoryTold) -> None:
    """The tanks with and without the brood."""
    job = story.job
    if job is None:
        Button(f"Play both, {RUNS} runs each", story.play_both, kind="main")
        return
    if not job.now.over:
        tag(
            "progress",
            classes="hw-progress",
            name="Runs played",
            attributes={"max": job.now.asked, "value": job.now.done},
        )
        tag("p", f"{job.now.done} of {job.now.asked} runs of each tank", classes="hw-soft")
        return
    for problem in job.now.refused:
        tag("p", str(problem), classes="hw-refused", attributes={"role": "alert"})
    found = story.compared
    if found is not None:
        tag("p", "Bites a day in the whole tank, mean of the runs:", classes="hw-soft")
        days_picture(found.days, marked=SPAWN_DAY)
