"""The drawer of Build in which a better layout is searched for, judged, and taken over."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element

import solara

from sim.errors import Problem, Refused
from viz.app.building.bench import Bench
from viz.app.elements import Button, Choice, Layer, Refusals, Switch, tag
from viz.app.given import GivenPictures, file_stem
from viz.app.kept_runs import unkept_words
from viz.app.layouts.job import (
    BUDGETS,
    FRESH,
    LayoutAsked,
    LayoutJob,
    LayoutNow,
    command_words,
    doing_words,
)
from viz.app.session import MOST_TANKS
from viz.app.using import use_session
from viz.cautions import ABSOLUTE
from viz.progress import compiled_before, spoken_seconds

if TYPE_CHECKING:
    from sim.better.improve import Improved
    from viz.app.session import Session

SEARCH = "search"  # in `Session.behind`
CANNOT = "That cannot be searched:"
Reasons = tuple[tuple[str, str], ...]  # pieces, each with why it stays
ALL, CAVES, CHOSEN = "all", "caves", "chosen"
BUDGET_WORDS = {200: "200, a first look", 1000: "1000", 4000: "4000, thorough"}
WIDE_PX = 620.0


@solara.component
def LayoutDrawer(bench: Bench) -> None:
    """Search for a layout of the tank that is worked on in which the same fish are hurt less.

    Parameters
    ----------
    bench
        What is worked on.
    """
    session = bench.session

    def read(session: Session) -> tuple[LayoutJob | None, LayoutNow | None]:
        job: LayoutJob | None = session.behind.get(SEARCH)
        return job, None if job is None else job.now

    job, now = use_session(session, read)
    tag("h3", "A better layout")
    tag(
        "p",
        "The same pieces in other places: many layouts are played a few runs each with the same "
        "fish, the better ones more, and the best is judged on fresh runs beside the layout there "
        "is.",
        classes="hw-soft",
    )
    if session.tank.checked is None:
        tag("p", "This tank cannot be played yet; the sentences beside it say why.")
    else:
        searching = now is not None and not now.over
        WhatMayMove(bench, searching).key(f"move-{session.picked}-{session.tank.name}")
    if job is not None and now is not None:
        SearchStands(bench, job, now)


@solara.component
def WhatMayMove(bench: Bench, searching: bool) -> None:
    """Choose what may move and how long to search, and begin.

    Parameters
    ----------
    bench
        What is worked on; its tank can be played.
    searching
        Whether a search goes on, so that no other can be begun.
    """
    session = bench.session
    tank = use_session(session, lambda session: session.tank)
    checked = tank.checked
    which, choose = solara.use_state(ALL)
    nothing: frozenset[str] = frozenset()
    names, name = solara.use_state(nothing)
    spots, move_spots = solara.use_state(True)
    budget, spend = solara.use_state(BUDGETS[0])
    fresh, judge = solara.use_state(FRESH[0])
    none: tuple[Problem, ...] = ()
    wrong, set_wrong = solara.use_state(none)
    stays, held = solara.use_memo(lambda: stays_in(checked), [id(checked)])
    loose = [piece.name for piece in tank.scenario.pieces if piece.name not in dict(stays)]
    fed = bool(tank.scenario.feeding and tank.scenario.feeding.spots)

    def begin() -> None:
        move: list[str] = {
            ALL: ["pieces"],
            CAVES: ["caves"],
            CHOSEN: [one for one in loose if one in names],
        }[which]
        if fed and spots:
            move.append("feeding")
        if not move:
            problem = Problem("what may move", "got nothing; expected a piece. Choose one or more.")
            set_wrong((problem,))
            return
        if which == ALL and (spots or not fed):
            move = []  # as the command has it where nothing is said
        try:
            job = LayoutJob(
                tank,
                LayoutAsked(move=tuple(move), budget=budget, fresh=fresh),
                told=session.tell,
                keep=session.keep,
            )
        except Refused as refusal:
            set_wrong(refusal.problems)
            return
        set_wrong(())
        session.put_behind(SEARCH, job)
        job.start()
        session.tell()

    with Layer("div", classes="hw-stack"):
        Choice(
            "What may move",
            [(ALL, "all that is loose"), (CAVES, "caves alone"), (CHOSEN, "chosen pieces")],
            which,
            choose,
        )
        if which == CHOSEN:
            with Layer("div", classes="hw-row", name="Pieces that may move", role="group"):
                for one in loose:

                    def turn(on: bool, one: str = one) -> None:
                        name(lambda before: before | {one} if on else before - {one})

                    Switch(one, one in names, turn)
        if fed:
            Switch("where food falls may move too", spots, move_spots)
        Choice(
            "Runs of the search",
            [(str(one), BUDGET_WORDS[one]) for one in BUDGETS],
            str(budget),
            lambda key: spend(int(key)),
        )
        Choice(
            "Fresh runs of each, to judge",
            [(str(one), str(one)) for one in FRESH],
            str(fresh),
            lambda key: judge(int(key)),
        )
    kept = stays + tuple((name, f"{why}; it moves if it is chosen") for name, why in held)
    if kept:
        with Layer("details"):
            tag("summary", f"What stays: {len(kept)} of {len(tank.scenario.pieces)} pieces")
            with Layer("ul", classes="hw-said"):
                for piece, reason in kept:
                    tag("li", f"{piece}: {reason}.")
    with Layer("div", classes="hw-row"):
        Button("Search for a better layout", begin, kind="main", disabled=searching)
    Refusals(wrong, words=CANNOT)


def stays_in(checked: Any) -> tuple[Reasons, Reasons]:
    """Return the pieces that stay in any case, and those that stay unless they are chosen.

    Parameters
    ----------
    checked
        The tank; None where it cannot be played.
    """
    from sim.better.moving import what_stays

    if checked is None:
        return (), ()
    pieces = checked.scenario.pieces
    fixed, held = (
        tuple((pieces[row].name, why) for row, why in found.items())
        for found in what_stays(checked.scenario, checked.layout)
    )
    return fixed, held


def SearchStands(bench: Bench, job: LayoutJob, now: LayoutNow) -> None:
    """How far a search has come, and what came of it.

    Parameters
    ----------
    bench, job, now
        What is worked on, its search, and how that stands.
    """
    from sim.better.search import LAST, ROUND

    with Layer("section", classes="hw-search", name="The search"):
        Refusals(now.refused, words=CANNOT)
        for problem in now.unkept:
            tag("p", unkept_words(problem), classes="hw-field-error", attributes={"role": "status"})
        if now.refused:
            return
        if now.found is None:
            if not now.over:
                tag(
                    "progress",
                    classes="hw-progress",
                    name="Runs of the search",
                    attributes={"max": now.most, "value": now.done},
                )
            waits = not now.over and now.done == 0 and not compiled_before()
            words = "The rules are compiled for this machine, once: about a minute."
            tag("p", words if waits else doing_words(now), classes="hw-soft",
                attributes={"role": "status"})  # fmt: skip
            if not now.over:
                with Layer("div", classes="hw-row"):
                    if now.part in (ROUND, LAST):
                        Button(
                            "Search no further",
                            job.enough,
                            disabled=now.cut_short,
                            hint="The best that was found so far is judged",
                        )
                    Button("Give it up", job.cancel)
            return
        tag("h3", f"Searched: {job.tank.name}")
        Found(bench, job, now, now.found)


def Found(bench: Bench, job: LayoutJob, now: LayoutNow, found: Improved) -> None:
    """What came of a search, and its layout to be taken over.

    Parameters
    ----------
    bench, job, now
        What is worked on, its search, and how that stands.
    found
        What came of it.
    """
    from viz.improve_command import Wanted
    from viz.improve_page import answer_words, move_words, moving_words, search_words

    first, *rest = answer_words(found, asked=job.asked)
    tag("p", first)
    if found.better:
        Taking(bench, job)
        Drawn(job, found)
        tag("h4", "Where things go")
        with Layer("ul", classes="hw-said"):
            for words in move_words(found, job.design, job.moving):
                tag("li", words)
    if rest:
        with Layer("details"):
            tag("summary", "Both layouts in words")
            for words in rest:
                tag("p", words)
    with Layer("details"):
        tag("summary", "How it was searched")
        wanted = Wanted(job.wanted.move, job.wanted.budget, None, None, None)
        for words in search_words(
            found, design=job.design, asked=job.asked, wanted=wanted, ended_by_clock=False
        ):
            tag("p", words)
        if now.cut_short:
            tag("p", "You ended the search before its runs were played.")
        tag("h4", "What might move")
        for words in moving_words(job.design, job.moving):
            tag("p", words)
    tag("p", ABSOLUTE)
    tag("p", f"{command_words(job)} It took {spoken_seconds(now.took_s)}.",
        classes="hw-soft hw-command")  # fmt: skip


def Drawn(job: LayoutJob, found: Improved) -> None:
    """The two layouts from above, one below the other, and as a picture to take along.

    Parameters
    ----------
    job, found
        The search, and what came of it.
    """
    before, after = job.design.layout, found.tank.layout
    with Layer("div", classes="hw-layouts"):
        for layout, words, moved in ((before, "Before", False), (after, "After", True)):
            with Layer("figure", classes="hw-figure"):
                tag("figcaption", f"{words}{'; dotted: where pieces stood' if moved else ''}")
                as_tags(picture_of(job, layout, words=words, dotted=before if moved else None))

    def drawn(kind: str) -> bytes:
        from viz.film.picture import before_and_after

        return before_and_after(
            before, after, scenario=found.tank.scenario, name=job.design.name, kind=kind
        )

    with Layer("div", classes="hw-row"):
        GivenPictures(
            "Before and after",
            f"{file_stem(job.tank.name)}-layouts",
            drawn,
            hint="As --picture draws it",
        )


def picture_of(job: LayoutJob, layout: Any, *, words: str, dotted: Any = None) -> Element:
    """Return a layout from above as SVG.

    Parameters
    ----------
    job
        The search.
    layout
        Of the tank.
    words
        Which one it is.
    dotted
        A layout whose pieces are drawn dotted over it, or None.
    """
    from sim.check import Checked
    from viz.drawing import Sheet, draw_tank, path_of
    from viz.film.look import INK
    from viz.film.picture import words_of
    from viz.markup import el

    def over(to: Callable[[float, float], tuple[float, float]]) -> list[Element]:
        return [
            el("path", d=path_of(piece.outline, to), fill="none", stroke=INK, stroke_width=1.2,
               stroke_dasharray="1.5 4", stroke_linecap="round")
            for piece in dotted.pieces
        ]  # fmt: skip

    name = f"{words}: {job.tank.name}"
    return draw_tank(
        layout,
        sheet=Sheet(
            px_per_m=WIDE_PX / layout.length_m,
            title=name,
            words=words_of(Checked(job.design.scenario, layout, ()), name=name),
            key=f"layout-{words.lower()}",
            over=None if dotted is None else over,
            bar=False,
        ),
    )


def as_tags(element: Element) -> Any:
    """Return a tree as elements of a page; texts stay texts.

    Parameters
    ----------
    element
        Of `viz.markup`; text stands in its elements, none between them.
    """
    attributes = dict(element.attrib)
    classes = attributes.pop("class", "")
    return tag(
        element.tag,
        element.text or "",
        *[as_tags(child) for child in element],
        classes=classes,
        attributes=attributes,
    )


@solara.component
def Taking(bench: Bench, job: LayoutJob) -> None:
    """Take the layout over: into this tank, or as a tank beside it.

    Parameters
    ----------
    bench, job
        What is worked on, and a search whose layout is better.
    """
    session = bench.session
    tanks, tank = use_session(session, lambda session: (session.tanks, session.tank))
    there = tank.scenario.pieces == (job.now.found and job.now.found.tank.scenario.pieces)
    none: tuple[Problem, ...] = ()
    wrong, set_wrong = solara.use_state(none)

    def into() -> None:
        done = bench.do(job.into, did="the better layout taken over", by_hand=True)
        set_wrong(() if done or bench.refusal is None else bench.refusal.problems)
        if done:
            session.say("The tank stands in the better layout; undo goes back.")

    def beside() -> None:
        found = job.layout_of()
        if bench.add_variant(found, name=found.title):
            session.say("Beside it stands the same tank in the better layout; Compare plays both.")

    with Layer("div", classes="hw-row"):
        Button("Put it into this tank", into, disabled=there)
        Button("Open it beside this tank", beside, disabled=len(tanks) == MOST_TANKS)
    if there:
        tag("p", "This tank stands in that layout. Undo goes back.", classes="hw-soft")
    for problem in wrong:
        tag("p", problem.sentence, classes="hw-field-error", attributes={"role": "alert"})
