"""`holdwater kept`: what a folder keeps, as Parquet too, whether it is whole, and taking it out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from rich.table import Table

from sim.errors import Problem, Refused
from sim.kept_question import Question, this_version
from sim.kept_run import Damaged, as_bytes, parts_of
from sim.kept_store import Store
from viz.asked import whole, writable_folder
from viz.checked import counted
from viz.complaints import complain
from viz.ink import bullet, console, heading, safe

if TYPE_CHECKING:
    from sim.check import Checked

SHOWN_KEY = 12
LEAST_LETTERS = 4  # of a key, to name a question
MOST_AGAIN = 1000


def list_kept(folder: Path) -> None:
    """Print what is kept in a folder.

    Parameters
    ----------
    folder
        Of kept runs.

    Raises
    ------
    Refused
        If it holds none, or they cannot be read.
    """
    with _Opened(folder) as store:
        found = store.questions()
        now = this_version()
        screen = console()
        screen.print(heading("Kept runs", beside=str(folder)))
        if not found:
            screen.print(bullet("none yet"))
            return
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        for head in ("question", "tank", "runs", "days", "seed", "size", "version"):
            table.add_column(head, justify="right" if head in ("runs", "seed", "size") else "left")
        for question, runs, size in found:
            mine = question.version == now
            table.add_row(
                question.key[:SHOWN_KEY],
                safe(question.title or question.hash[:8]) + safe(_unusual(question)),
                str(runs),
                _days(question),
                str(question.seed),
                f"{size / 1e6:.1f} MB",
                "this" if mine else "another",
            )
        screen.print(table)
        others = [question for question, _, _ in found if question.version != now]
        if others:
            screen.print(
                bullet(
                    f"{counted(len(others), 'question')} of another version of the model or of its "
                    "libraries: never mixed with runs of this one. `holdwater kept prune --others` "
                    "takes them out."
                )
            )


def _days(question: Question) -> str:
    for line in question.scenario.splitlines():
        if line.startswith("days = "):
            return line.removeprefix("days = ")
    return "30"


def _unusual(question: Question) -> str:
    """What else tells a question from another of the same tank."""
    parts = [f"{name}={value:g}" for name, value in question.changes.items()]
    if not question.settings.get("vary", False):
        parts.append("numbers held")
    if question.settings.get("watch_all", False):
        parts.append("all watched")
    return f" ({', '.join(parts)})" if parts else ""


def export_kept(folder: Path, *, out: Path, only: Sequence[str]) -> None:
    """Write kept runs as Parquet.

    Parameters
    ----------
    folder
        Of kept runs.
    out
        A new folder.
    only
        Questions, by the beginning of their keys; all where empty.

    Raises
    ------
    Refused
        If it cannot be read or written.
    """
    from viz.kept_export import export
    from viz.progress import shown_progress

    with _Opened(folder) as store:
        found = chosen(store, only)
        writable_folder(out, option="-o")
        total = sum(runs for _, runs, _ in found)
        with shown_progress() as show:
            names = export(
                store,
                [question for question, _, _ in found],
                out,
                told=lambda done: show(done, total),
            )
        console().print(bullet(f"{counted(total, 'run')} written to {out}: {', '.join(names)}"))


def verify_kept(folder: Path, *, again: str, mend: bool) -> bool:
    """Look at every kept run, play some again, and print what was found.

    Parameters
    ----------
    folder
        Of kept runs.
    again
        How many runs of each question of this version to play again and compare byte by byte.
    mend
        Whether to take out damaged runs, so that the next batch plays them.

    Returns
    -------
    bool
        Whether all is well.

    Raises
    ------
    Refused
        If they cannot be read.
    """
    number = whole("--again", again, low=0, high=MOST_AGAIN)
    with _Opened(folder) as store:
        wrong = [Problem(str(store.file), f"{words}; expected a sound file.")
                 for words in store.faults()]  # fmt: skip
        runs = replayed = 0
        for question, _, _ in store.questions():
            damaged = []
            broken = _what_is_broken(question)
            if broken:
                wrong.append(broken)
            for run, digest, data in store.runs(question):
                runs += 1
                try:
                    parts_of(digest, data, run=run)
                except Damaged as damage:
                    damaged.append(run)
                    wrong.append(_damaged(question, run, str(damage)))
            if number and not broken and question.version == this_version():
                played, differ = _play_again(store, question, number, skip=damaged)
                replayed += played
                for run in differ:
                    damaged.append(run)
                    wrong.append(_damaged(question, run, "played again, it is another"))
            if mend:
                for run in damaged:
                    store.forget(question, run=run)
        complain(wrong)
        screen = console()
        screen.print(bullet(f"{counted(runs, 'run')} looked at, {replayed} played again"))
        if not wrong:
            screen.print(bullet("all are whole"))
        elif mend:
            screen.print(bullet("the damaged runs were taken out; the next batch plays them again"))
        return not wrong


def _damaged(question: Question, run: int, words: str) -> Problem:
    return Problem(
        f"question {question.key[:SHOWN_KEY]}, run {run}",
        f"{words}; expected the bytes that were kept. --mend takes it out.",
    )


def _what_is_broken(question: Question) -> Problem | None:
    """Return what is wrong with a question itself, if anything is."""
    from sim.scenario_file import scenario_hash

    said = ""
    if not question.sound:
        said = "what it asks is not what was written"
    elif question.version == this_version():
        try:
            if scenario_hash(_scenario_of(question).scenario) != question.hash:
                said = "its tank is not the one that was written"
        except (Refused, ValueError) as error:
            said = f"its tank cannot be read ({str(error).splitlines()[0]})"
    if not said:
        return None
    key = question.key[:SHOWN_KEY]
    return Problem(
        f"question {key}",
        f"{said}; expected the bytes that were kept. `kept prune --question {key}` takes it out "
        "with its runs.",
    )


def _play_again(
    store: Store, question: Question, number: int, *, skip: Sequence[int]
) -> tuple[int, list[int]]:
    """Play some runs of a question again; return how many, and those that are not the same."""
    from sim.batch import run_one
    from sim.settings import Settings
    from viz.progress import say_if_compiling

    checked = _scenario_of(question)
    say_if_compiling()
    kept = [run for run in store.numbers(question).tolist() if run not in skip]
    picked = sorted({kept[int(k)] for k in np.linspace(0, len(kept) - 1, number)}) if kept else []
    differ = []
    for run in picked:
        outcome = run_one(
            checked.scenario,
            checked.layout,
            run=run,
            seed=question.seed,
            settings=Settings(**question.settings),
            changes=question.changes,
        )
        if as_bytes(outcome) != as_bytes(store.get(question, run)):
            differ.append(run)
    return len(picked), differ


def _scenario_of(question: Question) -> Checked:
    import tomllib

    from sim.check import check_reading
    from sim.scenario_file import reading_of
    from sim.scenario_variant import source

    tree = source(tomllib.loads(question.scenario), file="kept")
    return check_reading(reading_of(tree), file="kept")


def prune_kept(folder: Path, *, others: bool, only: Sequence[str], every: bool) -> None:
    """Take out kept runs and give their room back.

    Parameters
    ----------
    folder
        Of kept runs.
    others
        Those of other versions.
    only
        Those of questions, by the beginning of their keys.
    every
        All.

    Raises
    ------
    Refused
        If none of the three is asked for, or they cannot be written.
    """
    if not (others or only or every):
        raise Refused(
            Problem(
                "kept prune",
                "got nothing to take out; expected --others (of other versions), --question KEY, "
                "or --all.",
            )
        )
    with _Opened(folder) as store:
        now = this_version()
        found = chosen(store, only) if only else store.questions()
        gone = [one for one in found if every or only or one[0].version != now]
        for question, _, _ in gone:
            store.forget(question)
        if gone:
            store.shrink()
        size = sum(bytes_ for _, _, bytes_ in gone)
        runs = sum(number for _, number, _ in gone)
        console().print(
            bullet(
                f"{counted(runs, 'run')} of {counted(len(gone), 'question')} taken out, "
                f"{size / 1e6:.1f} MB"
            )
        )


def chosen(store: Store, only: Sequence[str]) -> list[tuple[Question, int, int]]:
    """Return the questions whose keys begin so, with their runs and bytes; all where none is named.

    Parameters
    ----------
    store
        That keeps them.
    only
        Beginnings of keys.

    Raises
    ------
    Refused
        If one is no beginning, or that of several.
    """
    every = store.questions()
    if not only:
        return every
    found = []
    for start in only:
        if len(start.strip()) < LEAST_LETTERS:  # an empty one would begin them all
            raise Refused(
                Problem(
                    "--question",
                    f'got "{safe(start)}"; expected at least {LEAST_LETTERS} letters of a key. '
                    "`holdwater kept list` shows them.",
                )
            )
        fit = [one for one in every if one[0].key.startswith(start.lower())]
        if len(fit) != 1:
            raise Refused(
                Problem(
                    "--question",
                    f'got "{safe(start)}", where {counted(len(fit), "question")} begins so; '
                    "expected the beginning of one. `holdwater kept list` shows them.",
                )
            )
        found += fit
    return found


class _Opened:
    """The store of a folder that is there, closed at the end of a block."""

    def __init__(self, folder: Path) -> None:
        self.store = Store(folder, make=False, where="kept")

    def __enter__(self) -> Store:
        return self.store

    def __exit__(self, *_: object) -> None:
        self.store.close()
