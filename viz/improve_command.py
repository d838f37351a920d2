"""What `improve` does: read, search, judge, show, and write the layout that was found."""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz import asked as reading
from viz.asked import quoted

if TYPE_CHECKING:
    from sim.better.improve import Improved
    from sim.comparison import Design
    from sim.scenario import Scenario
    from viz.played import Asked

LEAST_BUDGET, MOST_BUDGET = 40, 1_000_000
MOST_MINUTES = 7 * 24 * 60
LEAST_FRESH = 20


@dataclass(frozen=True, slots=True)
class Wanted:
    """How to search, and what to write.

    Parameters
    ----------
    move
        Words for what may move, as typed.
    budget
        Runs of the search.
    minutes
        After which the search ends anyway, or None.
    out, picture
        Where to write the tank and the picture, or None.
    """

    move: tuple[str, ...]
    budget: int
    minutes: float | None
    out: Path | None
    picture: Path | None


def read_wanted(
    *, move: Iterable[str], budget: str, minutes: str | None, out: Path | None,
    picture: Path | None,
) -> Wanted:  # fmt: skip
    """Return how to search, checked.

    Parameters
    ----------
    move, budget, minutes, out, picture
        As typed.

    Raises
    ------
    Refused
        If one of them has no sense.
    """
    runs = reading.whole("--budget", budget, low=LEAST_BUDGET, high=MOST_BUDGET)
    long = None
    if minutes is not None:
        try:
            long = float(minutes)
        except ValueError:
            long = 0.0
        if not 0.0 < long <= MOST_MINUTES:
            sentence = f"got {minutes}; expected minutes above 0 and up to {MOST_MINUTES}."
            raise Refused(Problem("--minutes", sentence))
    if out is not None:
        if out.suffix.lower() != ".toml":
            raise Refused(Problem("--out", f"got {quoted(out)}; expected a name ending in .toml."))
        reading.writable_file(out, option="--out", over_tanks=True)
    if picture is not None:
        if picture.suffix.lower() not in (".png", ".svg"):
            sentence = f"got {quoted(picture)}; expected a name ending in .png or .svg."
            raise Refused(Problem("--picture", sentence))
        reading.writable_file(picture, option="--picture")
    return Wanted(tuple(move), runs, long, out, picture)


def show_improved(path: Path, *, asked: Asked, wanted: Wanted) -> None:
    """Search for a better layout of a tank, show what came of it, and write it.

    Parameters
    ----------
    path
        The scenario file.
    asked
        The options of a batch; its runs are the fresh ones.
    wanted
        How to search.

    Raises
    ------
    Refused
        If the tank cannot be played, nothing may move, or a file cannot be written.
    Stopped
        If Ctrl-C cut it short.
    """
    from sim.batch import seed_of
    from sim.better.improve import improve
    from sim.better.moving import moving_of
    from sim.better.race import OutOfRuns
    from viz.at_hand import at_hand
    from viz.complaints import complain
    from viz.improve_page import improved_page
    from viz.ink import bullet, console
    from viz.kept_words import say_what_was_kept
    from viz.played import designs_of, read_files
    from viz.stopping import Stopped

    if asked.runs < LEAST_FRESH:
        sentence = f"got {asked.runs}; expected {LEAST_FRESH} or more, on which to judge."
        raise Refused(Problem("--runs", sentence))
    if wanted.out is not None and wanted.out.exists() and wanted.out.samefile(path):
        sentence = f"got {quoted(wanted.out)}, the file that is read; expected another name."
        raise Refused(Problem("--out", sentence))
    checked = read_files([path], asked=asked, least=1)
    (design,) = designs_of([path], checked=checked)
    moving = moving_of(design.scenario, design.layout, wanted.move)
    complain(checked[0].warnings, unwise=True)
    began = time.monotonic()
    ended_by_clock = False

    def over() -> bool:
        nonlocal ended_by_clock
        if wanted.minutes is not None and time.monotonic() - began > 60.0 * wanted.minutes:
            ended_by_clock = True
        return ended_by_clock

    stopped = f"Stopped before a layout was found{stays(asked.keep)}."
    with at_hand(asked, stopped=lambda: stopped) as ready:
        try:
            found = improve(
                design, moving, budget=wanted.budget, runs=asked.runs,
                seed=seed_of(design.scenario, seed=asked.seed), workers=ready.workers,
                settings=asked.settings, changes=asked.changes, over=over, progress=ready.show,
                keep=ready.store,
            )  # fmt: skip
        except KeyboardInterrupt:
            raise Stopped(stopped) from None
        except OutOfRuns:
            where = "--minutes" if ended_by_clock else "--budget"
            sentence = "it does not suffice for a first race; expected more. Give more."
            raise Refused(Problem(where, sentence)) from None
    if found.fresh is not None and found.fresh.interrupted:
        raise Stopped(f"Stopped before the layout was judged{stays(asked.keep)}.")
    say_what_was_kept(ready.store)
    page = improved_page(
        found, design=design, moving=moving, asked=asked, wanted=wanted,
        ended_by_clock=ended_by_clock,
    )  # fmt: skip
    console().print(page)
    for line in write_found(found, design=design, path=path, wanted=wanted):
        console().print(bullet(line, mark=" "))


def stays(keep: Path | None) -> str:
    """Return what is left of a search that was stopped, to follow other words.

    Parameters
    ----------
    keep
        Folder of kept runs, or None.
    """
    if keep is None:
        return "; nothing was written"
    return f"; its runs are kept in {quoted(keep)}, and the same command goes on from there"


def write_found(found: Improved, *, design: Design, path: Path, wanted: Wanted) -> list[str]:
    """Write what was asked for if a better layout was found, and return what was written.

    Parameters
    ----------
    found
        What came of the search.
    design
        The tank as it was played.
    path
        Its file.
    wanted
        Where to write.

    Raises
    ------
    Refused
        If a file cannot be written.
    """
    from sim.check import check_file
    from viz.film.encode import made_whole
    from viz.film.picture import before_and_after

    asked_for = [place for place in (wanted.out, wanted.picture) if place is not None]
    if not found.better:
        return ["Nothing is written."] if asked_for else []
    if wanted.out is not None:
        with made_whole(wanted.out) as passing:
            passing.write_text(scenario_text(found, path=path), encoding="utf-8")
            check_file(passing)  # what is proposed can be played as it stands
    if wanted.picture is not None:
        kind = wanted.picture.suffix.lower()[1:]
        kept = before_and_after(
            design.layout, found.tank.layout, scenario=found.tank.scenario, name=design.name,
            kind=kind,
        )  # fmt: skip
        with made_whole(wanted.picture) as passing:
            passing.write_bytes(kept)
    return [f"{quoted(place)} is written." for place in asked_for]


def scenario_text(found: Improved, *, path: Path) -> str:
    """Return the layout as a file of its own: the tank's, with its pieces and spots moved.

    Parameters
    ----------
    found
        What came of the search.
    path
        The tank's file, read anew: options of the command line are not written into it.
    """
    from sim.check import check_file
    from sim.scenario_file import write_scenario

    own = check_file(path).scenario
    moved = in_layout(own, found, name=own.title or path.stem)
    head = f'# Is the layout that was found better than that of "{path.name}" for the same fish?\n'
    return head + "\n" + write_scenario(moved)


def in_layout(own: Scenario, found: Improved, *, name: str) -> Scenario:
    """Return a tank in the layout that was found, called so, and asking nothing.

    Parameters
    ----------
    own
        The tank.
    found
        What came of the search.
    name
        What the tank is called.
    """
    moved = found.tank.scenario
    return own.model_copy(
        update={
            "pieces": moved.pieces,
            "feeding": moved.feeding,
            "title": f"{name}, another layout",
            "question": "",
        }
    )
