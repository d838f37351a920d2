"""A challenge on the page: what is asked, what may be changed, and what came of it."""

from __future__ import annotations

from viz.app.challenge_judging import Judged
from viz.app.challenges import Challenge
from viz.app.elements import Button, Layer, tag
from viz.app.learning.controls import Controls
from viz.app.learning.desk import Desk
from viz.app.learning.trying import NOTHING, THE_TRY, Play, Trying
from viz.phrases import hundredths


def ChallengeView(desk: Desk, trying: Trying) -> None:
    """The middle column of an open challenge.

    Parameters
    ----------
    desk, trying
        Where it lies, and how far it is.
    """
    challenge = trying.challenge
    tag("p", f"Challenge {challenge.number}", classes="hw-soft")
    tag("h2", challenge.title)
    tag("p", challenge.story.strip())
    tag("p", challenge.goal, classes="hw-goal")
    if trying.tank is None:
        tag("p", "Its tank was closed.")
        Button("Open it again", trying.begin_again, kind="main")
        return
    tag("h3", "What may be changed")
    with Layer("ul", classes="hw-may"):
        for may in challenge.may:
            tag("li", may.words)
    Controls(trying)
    in_build(desk, challenge)
    Changed(trying)
    Answering(trying)
    if trying.playing:
        Progress(trying)
    elif trying.settled:
        Came(desk, trying)


def in_build(desk: Desk, challenge: Challenge) -> None:
    """A button to Build, opened where the things lie that may be added."""
    drawers = {"pieces": "pieces", "fish": "fish", "events": "days"}
    wanted = [may.part for may in challenge.may if may.add]
    if not wanted:
        return

    def go() -> None:
        from viz.app.building.bench import bench_of

        desk.session.go("build")
        bench_of(desk.session).open_drawer(drawers[wanted[0]])

    Button("Change it on the tank, in Build", go)


def Changed(trying: Trying) -> None:
    """What differs from the tank as it was given, and what may not."""
    forbidden = trying.forbidden
    changed = trying.changed
    tag("h3", "Your tank")
    if not changed:
        tag("p", "It stands as it was given.", classes="hw-soft")
        return
    with Layer("ul", classes="hw-changed"):
        for words in changed:
            tag("li", words)
    if forbidden:
        with Layer("div", classes="hw-refused", role="alert"):
            tag("p", "This may not be changed here; undo it, or begin again:")
            for words in forbidden:
                tag("p", words)
    Button("Begin again with the tank as it was given", trying.begin_again, kind="quiet")


def Answering(trying: Trying) -> None:
    """The two ways to answer."""
    runs = trying.challenge.passed.runs
    with Layer("div", classes="hw-row hw-answers"):
        Button(
            f"Judge this tank: {runs} fresh runs, once",
            trying.play,
            kind="main",
            disabled=trying.playing or bool(trying.forbidden),
        )
        Button("Nothing here works", trying.say_nothing_works, disabled=trying.playing)


def Progress(trying: Trying) -> None:
    """How far it is."""
    tag(
        "progress",
        classes="hw-progress",
        name="Runs played",
        attributes={"max": trying.asked, "value": trying.done},
    )
    tag("p", f"{trying.done} of {trying.asked} runs", classes="hw-soft")


def Came(desk: Desk, trying: Trying) -> None:
    """What came of the last answer."""
    with Layer("section", classes="hw-came", role="status", name="What came of it"):
        if trying.said == THE_TRY:
            judged = trying.plays[0].judged
            assert judged is not None
            came = "Passed" if judged.passed else "Not passed"
            if trying.outdated:
                tag("h3", f"{came}, as the tank was then")
                Then(trying)
            else:
                tag("h3", came)
            Shares(judged)
            if not judged.passed and not trying.outdated:
                ToTheWorst(desk, trying, judged)
        elif trying.said == NOTHING:
            NothingWorks(trying)
    if trying.solved or trying.told:
        Teaches(trying.challenge)
    else:
        Button("Tell me what there is to learn", trying.give_up, kind="quiet")


def Then(trying: Trying) -> None:
    """Of which tank the verdict is, where it was changed since."""
    tag("p", "You have changed the tank since; judge it again to hear of it as it is. It was then:")
    with Layer("ul", classes="hw-each"):
        for words in trying.judged_as or ("As it was given.",):
            tag("li", words)


def Shares(judged: Judged) -> None:
    """The share, its interval, and the parts of what had to hold."""
    tag("p", judged.words)
    if len(judged.each) > 1:
        with Layer("ul", classes="hw-each"):
            for words, share in judged.each:
                tag("li", f"{hundredths(share)} in 100: {words}")
    tag(
        "p",
        f"Played with seed {judged.seed}; the same tank is judged alike whenever it is asked.",
        classes="hw-soft",
    )


def ToTheWorst(desk: Desk, trying: Trying, judged: Judged) -> None:
    """The way to see why: the worst run, exactly as it was played."""
    from viz.app.challenge_judging import settings_of

    run = judged.worst
    if run is None:
        return

    def watch() -> None:
        index = desk.tank_named(trying.challenge.title)
        if index is not None:
            desk.session.show_run(
                index, run, seed=judged.seed, settings=settings_of(trying.challenge)
            )

    tag("p", "See why it failed in these very runs, or how: the run in which most harm was done.")
    with Layer("div", classes="hw-row"):
        if trying.explained:
            Button("Why it failed", trying.ask_why, kind="main")
        Button(f"Watch run {run}, the worst", watch)


def NothingWorks(trying: Trying) -> None:
    """What speaks for or against the answer that nothing works."""
    if trying.solved:
        tag("h3", "Right: nothing here works")
        tag("p", trying.challenge.nothing.strip())
        tag("p", "What looks as if it might was played just now:")
        with Layer("ul", classes="hw-each"):
            for play in trying.plays:
                tag("li", share_words(play))
        return
    tag("h3", "Something here does work")
    for play in trying.plays:
        judged = play.judged
        if judged is not None and judged.passed:
            tag(
                "p",
                "A tank in which only what is allowed was changed was played just now, and passed: "
                f"it held in {hundredths(judged.share.value)} in 100 runs.",
            )
        elif judged is not None:
            tag("p", f"One was played just now, and did not pass this time. {judged.words}")


def share_words(play: Play) -> str:
    """Return a play and its share in a line."""
    judged = play.judged
    if judged is None:
        return play.words
    low, high = hundredths(judged.share.low), hundredths(judged.share.high)
    return f"{play.words}: {hundredths(judged.share.value)} in 100 ({low} to {high})"


def Teaches(challenge: Challenge) -> None:
    """The lesson, what it rests on, and answers that were thought of."""
    tag("h3", "What there is to learn")
    tag("p", challenge.teaches.strip())
    tag("h3", "Answers that were played for it")
    with Layer("ul", classes="hw-each"):
        for answer in challenge.answers:
            verdict = "passes" if answer.right else "does not pass"
            with Layer("li"):
                tag("strong", f"{answer.name}: {verdict}. ")
                tag("span", answer.why)
    tag("h3", "What it rests on")
    with Layer("ul", classes="hw-each"):
        for words in challenge.rests_on:
            tag("li", words)
