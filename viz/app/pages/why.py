"""Why: where the injury of the runs is taken, and what changes when one thing is taken away."""

from __future__ import annotations

import solara

from viz.app.elements import Button, Layer, Refusals, tag
from viz.app.repeating.playing import Playing, batch_of
from viz.app.session import Session
from viz.app.using import use_session
from viz.app.why.asking import RECKONING, follow_batch, why_of
from viz.app.why.divided import ChaseEnds, Divided, OnTheFloor
from viz.app.why.ground import OpenGround
from viz.app.why.keeping import KeepReasons
from viz.app.why.taking import TakeAway, Tempers


@solara.component
def Why(session: Session) -> None:
    """The middle column: the runs, what is taken away, and where the injury is taken.

    Parameters
    ----------
    session
        The session of the page.
    """
    follow_batch(session)
    job, batch = batch_of(session)
    why, now, place = why_of(session)
    tank, gentle = use_session(session, lambda session: (session.tank, session.look.gentle))
    tag("h2", "Why they are hurt")
    if why is not None and why.note:
        tag("p", why.note)
        words = "Ask about the runs of Repeat" if job is not None else "Ask about runs of its own"
        Button(words, lambda: session.explain(None), kind="quiet")
    else:
        if job is None:
            tag(
                "p",
                "Many runs tell where the injury is taken, in whose territory, at which stage of "
                "the brood and how far from a hiding place. Then take one thing away at a time, "
                "and see whether it was the reason.",
            )
        Playing(session, together=False)
        if batch is not None and not batch.whole:
            tag("p", "Why is told once all runs are played.", classes="hw-soft")
    if why is None or now is None:
        return
    if place is None:
        tag("p", f"These runs are of another tank; {tank.name} is not among them.")
        return
    Refusals(now.fault)
    if now.why is None:
        if not now.fault:
            tag("p", RECKONING, classes="hw-soft", attributes={"role": "status"})
        return
    reasons = now.why.reasons[place]
    # A layer for each: what comes and goes in one moves nothing in another.
    with Layer("section", name="Take it away"):
        TakeAway(why, now, place)
    with Layer("section", name="Where on the floor"):
        spots, key = now.spots[place], now.shown[place]
        OnTheFloor(why, place, tuple(spots), key, spots[key], now.most, gentle)
    with Layer("section", name="Where the injury is taken"):
        Divided(reasons)
    with Layer("section", name="How chases ended"):
        ChaseEnds(reasons)
    with Layer("section", name="Floor that nobody holds"):
        OpenGround(reasons)
    with Layer("section", name="Why runs differ"):
        Tempers(why, now, place)
    with Layer("section", name="Keep them"):
        KeepReasons(why, now)
