"""What `run --replay` does: one run of a batch played again by its number, and told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused
from viz import asked as reading

if TYPE_CHECKING:
    from sim.chronicle import Chronicle
    from sim.comparison import Design
    from viz.played import Asked

ATTACK_COLUMNS = (
    ("rate", "rate_per_s"),
    ("temperament", "temper_times"),
    ("heat", "brood_times"),
    ("likeness", "likeness_times"),
    ("size_factor", "size_times"),
    ("learned", "learned_times"),
    ("x", "x_m"),
    ("y", "y_m"),
    ("bites", "bites_count"),
    ("wall_bites", "bites_at_a_wall_count"),
    ("seconds", "lasted_s"),
    ("harm", "harm_injury"),
    ("watched", "watched_0_or_1"),
)


def replay(path: Path, *, asked: Asked, number: str) -> None:
    """Play one run of a batch again, tell it, and write its tables if asked.

    Parameters
    ----------
    path
        The scenario file.
    asked
        The options of the batch.
    number
        Of the run, as typed.

    Raises
    ------
    Refused
        If there is no such run, or the scenario cannot be played.
    """
    from sim.chronicle import chronicle_of
    from viz.complaints import complain
    from viz.ink import console
    from viz.played import designs_of, read_files
    from viz.progress import say_if_compiling, shown_progress
    from viz.record import write_whole
    from viz.replay_page import replay_page
    from viz.stopping import ends_soon

    run = run_number(number, runs=asked.runs)
    problems = [
        Problem(
            option,
            "is given beside --replay, but one run has no intervals to keep; expected --csv, "
            "which keeps its tables and its log. Take it out.",
        )
        for option, given in (("--json", asked.json), ("--report", asked.report))
        if given is not None
    ]
    if asked.on is not None:
        sentence = "is given beside --replay, whose one run is played here; expected no --on. "
        problems.append(Problem("--on", f"{sentence}Take it out."))
    if problems:
        raise Refused(problems)
    checked = read_files([path], asked=asked, least=1)
    (design,) = designs_of([path], checked=checked)
    complain(checked[0].warnings, unwise=True)
    say_if_compiling()

    def say() -> None:
        complain([Problem("", "Stopped before the run was over; nothing was written.")])

    with shown_progress(what="% of the run") as show, ends_soon(say):
        told = chronicle_of(
            design.scenario,
            design.layout,
            run=run,
            seed=asked.seed,
            settings=asked.settings,
            changes=asked.changes,
            progress=lambda share: show(min(round(100.0 * share), 100), 100),
        )
    console().print(replay_page(told, design=design, asked=asked))
    if asked.csv is not None:
        files = replay_files(asked.csv, told, design=design, asked=asked)
        write_whole(files, folder=asked.csv)


def run_number(text: str, *, runs: int, option: str = "--replay") -> int:
    """Return the number of the run that is asked for.

    Parameters
    ----------
    text
        What was typed.
    runs
        Runs of the batch, which are numbered from 0.
    option
        Where it was asked.

    Raises
    ------
    Refused
        If it is no number of a run of that batch.
    """
    try:
        return reading.whole(option, text, low=0, high=runs - 1)
    except Refused as refusal:
        (problem,) = refusal.problems
        sentence = (
            f"{problem.sentence.rstrip('.')}, since the {runs} runs of the batch are numbered from "
            "0. Give the options of the batch, --runs too."
        )
        raise Refused(replace(problem, sentence=sentence)) from None


def replay_files(
    folder: Path, told: Chronicle, *, design: Design, asked: Asked
) -> dict[Path, Iterable[str]]:
    """Return the tables of one run: those of a batch, every attack, and what else happened.

    Parameters
    ----------
    folder
        Where they are to stand.
    told
        The run.
    design, asked
        What it played.
    """
    from sim.batch import Batch, seed_of
    from viz.csv_tables import csv_files, text_of

    batch = Batch(
        scenario=design.scenario,
        layout=design.layout,
        seed=seed_of(design.scenario, seed=asked.seed),
        settings=asked.settings,
        changes=asked.changes,
        asked=1,
    )
    batch.add(told.outcome)
    return {
        **csv_files(folder, names=[design.name], batches=[batch]),
        folder / "attacks.csv": text_of(lambda: _attack_rows(told, design)),
        folder / "happenings.csv": text_of(lambda: _happening_rows(told, design)),
    }


def _attack_rows(told: Chronicle, design: Design) -> Iterator[Sequence[Any]]:
    from sim.outcome import fish_names
    from sim.rules.codes import CHASE_ENDS, STAGES
    from viz.replay_page import FOLLOWED

    yield [
        "design", "run", "at_day", "attacker", "victim", "followed", "ended", "brood_stage",
        "to_cover_m", "claim_0_to_1", *(column for _, column in ATTACK_COLUMNS),
    ]  # fmt: skip
    fish = fish_names(design.scenario)
    for row in told.attacks:
        yield [
            design.name, told.outcome.run, float(row["time"]) / 86400.0, fish[row["attacker"]],
            fish[row["victim"]], FOLLOWED[row["outcome"]],
            CHASE_ENDS[row["end"]] if row["end"] >= 0 else "", STAGES[row["stage"]],
            *(float(row[name]) if row[name] >= 0.0 else "" for name in ("to_cover", "claim")),
            *(row[name].item() for name, _ in ATTACK_COLUMNS),
        ]  # fmt: skip


def _happening_rows(told: Chronicle, design: Design) -> Iterator[Sequence[Any]]:
    from sim.outcome import fish_names

    yield ["design", "run", "at_day", "name", "what", "detail", "other"]
    fish = (*fish_names(design.scenario), "")  # the last for nobody
    for one in told.happenings:
        yield [
            design.name, told.outcome.run, one.time_s / 86400.0, fish[one.fish], one.what,
            one.detail, fish[one.other],
        ]  # fmt: skip
