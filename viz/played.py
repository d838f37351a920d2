"""What `run` and `compare` do: read, check, play, show, write."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from sim.errors import Problem, Refused
from viz import asked as reading
from viz.cluster_asked import where_to_play
from viz.phrases import LETTERS

if TYPE_CHECKING:
    from sim.batch import Batch
    from sim.check import Checked
    from sim.comparison import Design
    from sim.crew import Workers
    from sim.kept_store import Store
    from sim.settings import Settings
    from sim.summary import Summary
    from viz.results import Results

T = TypeVar("T")
MOST_DESIGNS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The options of `run` and `compare`, checked.

    Parameters
    ----------
    runs
        Of each tank.
    days, seed, workers
        None where the file or the machine decides.
    watch, settings
        As typed, and what it means.
    changes
        Parameters that differ from the defaults.
    without
        Mechanisms switched off.
    json, csv
        Where to write, or None.
    keep
        Folder of kept runs, or None.
    on
        Where they are played, as `viz.cluster_asked`; None for threads of this process.
    report
        Where the HTML report is to be written, or None.
    with_days
        Whether the table of days is wanted besides.
    """

    runs: int
    days: float | None
    seed: int | None
    workers: int | None
    watch: str
    settings: Settings
    changes: dict[str, float]
    without: tuple[str, ...]
    json: Path | None
    csv: Path | None
    keep: Path | None = None
    on: str | None = None
    report: Path | None = None
    with_days: bool = False

    @property
    def keep_days(self) -> bool:
        """Whether the table of days is wanted."""
        return self.with_days or self.csv is not None or self.report is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """What was played, and what makes of it what is told.

    Parameters
    ----------
    designs, batches
        One each for a tank.
    summaries
        What each says; only where some run is done.
    results
        Everything as plain values; likewise.
    """

    designs: tuple[Design, ...]
    batches: tuple[Batch, ...]
    summaries: Callable[[], tuple[Summary, ...]]
    results: Callable[[], Results]

    @property
    def interrupted(self) -> bool:
        """Whether it was stopped before all runs were finished."""
        return any(batch.interrupted for batch in self.batches)


def read_options(
    *,
    runs: str,
    days: str | None,
    seed: str | None,
    workers: str | None,
    watch: str,
    injury_scale: str | None,
    hold_assumed: bool,
    changes: Iterable[str],
    without: Iterable[str],
    json: Path | None,
    csv: Path | None,
    keep: Path | None = None,
    on: str | None = None,
    report: Path | None = None,
) -> Asked:
    """Return what was typed, checked; every wrong option is named at once.

    Parameters
    ----------
    runs, days, seed, workers, watch, injury_scale, hold_assumed, changes, without, json, csv,
    keep, on, report
        As typed.

    Raises
    ------
    Refused
        If an option has no sense.
    """
    from sim.settings import settings_for
    from sim.unmeasured import LEAST_VARIED

    found: list[Problem] = []

    def whole(option: str, text: str | None, low: int, high: int) -> int | None:
        return None if text is None else reading.whole(option, text, low=low, high=high)

    read = {
        "runs": tried(found, lambda: whole("--runs", runs, 1, reading.MOST_RUNS)),
        "days": tried(found, lambda: None if days is None else reading.number_of_days(days)),
        "seed": tried(found, lambda: whole("--seed", seed, 0, reading.MOST_SEED)),
        "workers": tried(found, lambda: whole("--workers", workers, 1, reading.MOST_WORKERS)),
        "settings": tried(found, lambda: settings_for(watch)),
        "changes": tried(found, lambda: reading.parameter_changes(changes, scale=injury_scale)),
        "without": tried(found, lambda: reading.switched_off(without)),
        "json": tried(
            found, lambda: None if json is None else reading.writable_file(json, option="--json")
        ),
        "csv": tried(
            found, lambda: None if csv is None else reading.writable_folder(csv, option="--csv")
        ),
        "report": tried(
            found,
            lambda: None if report is None else reading.page_file(report, option="--report"),
        ),
        "keep": tried(found, lambda: None if keep is None else reading.kept_folder(keep)),
        "on": tried(found, lambda: None if on is None else where_to_play(on, workers=workers)),
    }
    if found:
        raise Refused(found)
    asked = Asked(watch=watch, **read)  # type: ignore[arg-type]
    vary = not hold_assumed and asked.runs >= LEAST_VARIED
    return replace(asked, settings=replace(asked.settings, vary=vary))


def tried(found: list[Problem], read: Callable[[], T]) -> T | None:
    """Return what is read, or None with its problems noted.

    Parameters
    ----------
    found
        Takes the problems.
    read
        Reads one option.
    """
    try:
        return read()
    except Refused as refusal:
        found.extend(refusal.problems)
        return None


def read_files(paths: Sequence[Path], *, asked: Asked, least: int) -> list[Checked]:
    """Return the checked scenarios, with the options that change them applied.

    Parameters
    ----------
    paths
        Scenario files.
    asked
        The options.
    least
        How many files there must be.

    Raises
    ------
    Refused
        With what is wrong in all of the files.
    """
    from sim.check import check_file, check_scenario

    if not least <= len(paths) <= MOST_DESIGNS:
        raise Refused(Problem("compare", f"got {len(paths)}; expected two to four scenario files."))
    problems: list[Problem] = []
    found: list[Checked] = []
    for path in paths:
        try:
            checked = check_file(path)
            if asked.days is not None or asked.without:
                scenario = checked.scenario.model_copy(
                    update={
                        "days": asked.days if asked.days is not None else checked.scenario.days,
                        "without": tuple(
                            dict.fromkeys([*checked.scenario.without, *asked.without])
                        ),
                    }
                )
                checked = check_scenario(scenario)
        except Refused as refusal:
            problems += refusal.problems
        else:
            found.append(checked)
    if problems:
        raise Refused(problems)
    return found


def play(paths: Sequence[Path], *, asked: Asked, least: int) -> None:
    """Play one tank or several, show what came of it, and write what was asked for.

    Parameters
    ----------
    paths
        Scenario files.
    asked
        The options.
    least
        How many files there must be.

    Raises
    ------
    Refused
        If a scenario cannot be played, or a file not written.
    Stopped
        If Ctrl-C cut it short.
    """
    from viz.at_hand import at_hand
    from viz.complaints import complain
    from viz.kept_words import say_what_was_kept
    from viz.stopping import Stopped

    checked = read_files(paths, asked=asked, least=least)
    designs = designs_of(paths, checked=checked)
    for found in checked:
        complain(found.warnings, unwise=True)
    done = 0

    def stopped() -> str:
        return _finished(done // len(designs), asked=asked, of=len(designs))

    with at_hand(asked, stopped=stopped) as ready:

        def tell(now: int, total: int) -> None:
            nonlocal done
            done = now
            ready.show(now, total)

        played = play_designs(
            designs, asked=asked, workers=ready.workers, progress=tell, store=ready.store
        )
    if played.interrupted:
        raise Stopped(stopped_words(played.batches, asked=asked))
    say_what_was_kept(ready.store)
    _show_and_write(played, asked=asked, paths=paths)


def stopped_words(batches: Sequence[Batch], *, asked: Asked) -> str:
    """Return what was finished when it was stopped.

    Parameters
    ----------
    batches
        Of the designs, some of them cut short.
    asked
        The options.
    """
    done = min(batch.done for batch in batches)
    words = _finished(done, asked=asked, of=len(batches))
    if done == 0:
        return words
    hurt = [int(batch.runs.column("serious")[:done].sum()) for batch in batches]
    counts = (
        f"{hurt[0]}"
        if len(hurt) == 1
        else ", ".join(f"{letter} {count}" for letter, count in zip(LETTERS, hurt, strict=False))
    )
    return f"{words} With a serious injury among them: {counts}."


def _finished(done: int, *, asked: Asked, of: int) -> str:
    each = "" if of == 1 else " of each tank"
    return f"Stopped: {done} of {asked.runs} runs{each} finished; {what_stays(asked.keep)}."


def what_stays(keep: Path | None) -> str:
    """Return what is left of a batch that was stopped.

    Parameters
    ----------
    keep
        Folder of kept runs, or None.
    """
    if keep is None:
        return "nothing was written"
    return f"they are kept in {reading.quoted(keep)}, and the same command goes on from there"


def designs_of(paths: Sequence[Path], *, checked: Sequence[Checked]) -> tuple[Design, ...]:
    """Return the designs with names that differ.

    Parameters
    ----------
    paths
        The files.
    checked
        What they hold.
    """
    from sim.comparison import Design

    names = names_of(paths, checked=checked)
    return tuple(
        Design.of(found.scenario, found.layout, name=name, path=path)
        for name, path, found in zip(names, paths, checked, strict=True)
    )


def names_of(paths: Sequence[Path], *, checked: Sequence[Checked]) -> list[str]:
    """Return what the tanks are called: their titles, made to differ by their files.

    Parameters
    ----------
    paths
        The files.
    checked
        What they hold.
    """
    names = [found.scenario.title or path.stem for path, found in zip(paths, checked, strict=True)]
    if len(set(names)) < len(names):
        names = [f"{name}, {path.stem}" for name, path in zip(names, paths, strict=True)]
    if len(set(names)) < len(names):
        names = [f"{name} ({number})" for number, name in enumerate(names, start=1)]
    return names


def play_designs(
    designs: tuple[Design, ...],
    *,
    asked: Asked,
    workers: Workers,
    progress: Callable[[int, int], None],
    store: Store | None,
) -> Played:
    """Play one tank or several, each run of one after that of the other.

    Parameters
    ----------
    designs
        The tanks.
    asked
        The options.
    workers
        Who plays, as `sim.crew.play`.
    progress
        Told how many runs are done, of how many.
    store
        Of kept runs, or None.
    """
    from sim.batch import play_batch
    from sim.comparison import compare
    from sim.summary import summarise
    from viz.gathered import results_of_comparison, results_of_one
    from viz.record import provenance

    def origin(batch: Batch) -> dict[str, Any]:
        return provenance(
            seed=batch.seed, settings=batch.settings, watch=asked.watch, changes=batch.changes
        )

    if len(designs) == 1:
        (design,) = designs
        batch = play_batch(
            design.scenario,
            design.layout,
            runs=asked.runs,
            seed=asked.seed,
            workers=workers,
            settings=asked.settings,
            changes=asked.changes,
            keep_days=asked.keep_days,
            progress=progress,
            keep=store,
        )
        alone = cache(lambda: summarise(batch))
        return Played(
            designs=designs,
            batches=(batch,),
            summaries=lambda: (alone(),),
            results=lambda: results_of_one(alone(), design=design, provenance=origin(batch)),
        )
    comparison = compare(
        designs,
        runs=asked.runs,
        seed=asked.seed,
        workers=workers,
        settings=asked.settings,
        changes=asked.changes,
        keep_days=asked.keep_days,
        progress=progress,
        keep=store,
    )
    return Played(
        designs=designs,
        batches=comparison.batches,
        summaries=lambda: comparison.summaries,
        results=lambda: results_of_comparison(
            comparison, provenance=origin(comparison.batches[0])
        ),
    )


def _show_and_write(played: Played, *, asked: Asked, paths: Sequence[Path]) -> None:
    from viz.csv_tables import csv_files
    from viz.ink import console
    from viz.printed import results_page
    from viz.record import results_json, write_whole

    results = played.results()
    console().print(results_page(results))
    files: dict[Path, str | bytes | Iterable[str]] = {}
    if asked.json is not None:
        files[asked.json] = results_json(results)
    if asked.csv is not None:
        names = [design.name for design in results.designs]
        files |= csv_files(asked.csv, names=names, batches=played.batches)
    if asked.report is not None:
        from viz.report.written import report_of
        from viz.report_command import command_of

        name = "run" if len(paths) == 1 else "compare"
        command = command_of(name, paths, asked=asked, more=["--report", str(asked.report)])
        files[asked.report] = report_of(played, results=results, command=command)
    write_whole(files, folder=asked.csv)
