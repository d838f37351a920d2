"""What `holdwater sweep` does: read, build the points, play, show, write."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz.asked import quoted
from viz.played import Asked, read_options, tried, what_stays
from viz.sweep_asked import Wanted, read_wanted

if TYPE_CHECKING:
    from sim.sweep import Sweep
    from viz.sweep_results import SweepResults
    from viz.sweep_tables import Tidy

Files = dict[Path, str | bytes | Iterable[str]]


def sweep(
    file: Path,
    *,
    vary: Iterable[str],
    plan: str,
    points: str | None,
    outcomes: Iterable[str],
    precision: str | None,
    most_runs: str | None,
    parquet: Path | None,
    figure: Path | None,
    out: Path | None,
    options: dict[str, object],
) -> None:
    """Play a tank with some of its keys varied, show what came of it, and write what was asked.

    Parameters
    ----------
    file
        A scenario file.
    vary, plan, points, outcomes, precision, most_runs, parquet, figure, out
        As typed.
    options
        Those that `run` has too, as typed.

    Raises
    ------
    Refused
        If an option has no sense, a point cannot be played, or a file not written.
    Stopped
        If Ctrl-C cut it short.
    """
    from sim.sweep import play_sweep
    from sim.varied import build_points, unwise_of
    from sim.varying import plan_points
    from viz.at_hand import at_hand
    from viz.complaints import complain
    from viz.kept_words import say_what_was_kept
    from viz.stopping import Stopped

    found: list[Problem] = []
    asked = tried(found, lambda: read_options(**options))  # type: ignore[arg-type]
    wanted = tried(
        found,
        lambda: read_wanted(
            vary=vary, plan=plan, points=points, outcomes=outcomes, precision=precision,
            most_runs=most_runs, csv=options["csv"], parquet=parquet, figure=figure, out=out,
        ),
    )  # fmt: skip
    if found or asked is None or wanted is None:
        raise Refused(found)
    if wanted.precision is not None:  # it will come to enough runs for the numbers to be drawn
        drawn = not options["hold_assumed"]
        asked = replace(asked, settings=replace(asked.settings, vary=drawn))
    tanks = build_points(
        file,
        wanted.factors,
        plan_points(wanted.factors, plan=wanted.plan, points=wanted.points, seed=asked.seed or 1),
        days=asked.days,
        without=asked.without,
    )
    complain(unwise_of(file, wanted.factors, tanks), unwise=True)
    done = 0
    with at_hand(asked, stopped=lambda: stopped_words(done, keep=asked.keep)) as ready:

        def tell(now: int, total: int) -> None:
            nonlocal done
            done = now
            ready.show(now, total)

        played = play_sweep(
            wanted.factors,
            tanks,
            plan=wanted.plan,
            runs=asked.runs,
            seed=asked.seed,
            workers=ready.workers,
            settings=asked.settings,
            changes=asked.changes,
            precision=wanted.precision,
            progress=tell,
            keep=ready.store,
        )
    if played.interrupted:
        raise Stopped(stopped_words(done, keep=asked.keep))
    say_what_was_kept(ready.store)
    show_and_write(played, file=file, asked=asked, wanted=wanted)


def stopped_words(done: int, *, keep: Path | None) -> str:
    """Return what was finished when it was stopped.

    Parameters
    ----------
    done
        Runs of all points.
    keep
        Folder of kept runs, or None.
    """
    return f"Stopped: {done} runs of all points finished; {what_stays(keep)}."


def show_and_write(played: Sweep, *, file: Path, asked: Asked, wanted: Wanted) -> None:
    """Print the page of a sweep and write what was asked for.

    Parameters
    ----------
    played
        What was played.
    file
        The scenario.
    asked, wanted
        The options.

    Raises
    ------
    Refused
        If a file cannot be written.
    """
    from viz.ink import bullet, console
    from viz.record import provenance, write_whole
    from viz.sweep_page import sweep_page
    from viz.sweep_results import results_of_sweep

    first = played.batches[0]
    known_outcomes(played, wanted.outcomes)
    results = results_of_sweep(
        played,
        file=str(file),
        shown=wanted.outcomes,
        precision=wanted.precision,
        provenance=provenance(
            seed=first.seed, settings=first.settings, watch=asked.watch, changes=first.changes
        ),
    )
    console().print(sweep_page(results))
    written: set[Path] = set()
    for folder, files in files_of(results, played, asked=asked, wanted=wanted):
        write_whole(files, folder=folder)
        written |= files.keys()
    if wanted.out is not None:
        for words in out_words(wanted.out, written):
            console().print(bullet(words, mark=" "))


def out_words(out: Path, written: Set[Path]) -> Iterable[str]:
    """Yield that a folder is written, and which tanks in it are of an earlier sweep.

    Parameters
    ----------
    out
        The folder.
    written
        All that was written just now.
    """
    yield f"{quoted(out)} is written."
    old = sorted(path.name for path in (out / "tanks").glob("point-*.toml") if path not in written)
    if old:
        yield (
            f"Of an earlier sweep, and left there: {', '.join(old)} in {quoted(out / 'tanks')}."
        )


def known_outcomes(played: Sweep, outcomes: Sequence[str]) -> None:
    """Refuse an outcome that nothing in the tank makes.

    Parameters
    ----------
    played
        What was played.
    outcomes
        To be told.

    Raises
    ------
    Refused
        If there is one.
    """
    known = {name for summary in played.summaries for name in summary.figures}
    absent = [name for name in outcomes if name not in known]
    if absent:
        raise Refused(
            Problem(
                "--outcome",
                f"got {', '.join(absent)}, which nothing in this tank makes; expected one of "
                f"{', '.join(sorted(known))}.",
            )
        )


def files_of(
    results: SweepResults, played: Sweep, *, asked: Asked, wanted: Wanted
) -> Iterable[tuple[Path | None, Files]]:
    """Yield the files that were asked for, by folder.

    Parameters
    ----------
    results, played
        What was found, and what was played.
    asked, wanted
        The options.
    """
    from viz.sweep_figure import figure_bytes
    from viz.sweep_tables import csv_text, parquet_bytes, sweep_json, tank_files, tidy_tables

    tables = tidy_tables(results)
    if asked.json is not None:
        yield None, {asked.json: sweep_json(results)}
    if wanted.csv is not None:
        yield wanted.csv, {wanted.csv / f"{one.name}.csv": csv_text(one) for one in tables}
    if wanted.parquet is not None:
        folder = wanted.parquet
        yield folder, {folder / f"{one.name}.parquet": parquet_bytes(one) for one in tables}
    if wanted.figure is not None:
        kind = wanted.figure.suffix.lower().lstrip(".")
        yield None, {wanted.figure: figure_bytes(results, kind=kind)}
    if wanted.out is not None:
        out = wanted.out
        files: Files = {out / "sweep.json": sweep_json(results)}
        files |= {out / f"{one.name}.csv": csv_text(one) for one in tables}
        files |= _parquet_if_there(tables, out)  # the library is an extra; -o takes what there is
        files |= {out / f"response.{k}": figure_bytes(results, kind=k) for k in ("png", "svg")}
        yield out, files
        tanks = out / "tanks"
        yield tanks, tank_files(played, tanks)


def _parquet_if_there(tables: Sequence[Tidy], out: Path) -> Files:
    from viz.complaints import complain
    from viz.sweep_tables import parquet_bytes

    names = [out / f"{one.name}.parquet" for one in tables]
    try:
        return dict(zip(names, map(parquet_bytes, tables), strict=True))
    except Refused:
        left_out = ", ".join(name.name for name in names)
        complain(
            [
                Problem(
                    "-o",
                    f"{left_out} were left out, since the library that writes Parquet, pyarrow, "
                    'is not installed. Install it with pip install "holdwater[tables]".',
                )
            ]
        )
        return {}
