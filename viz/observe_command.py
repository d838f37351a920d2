"""What `observe` does: read counts, learn from runs, play these fish, show and write."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused
from viz.asked import quoted, whole, writable_file

if TYPE_CHECKING:
    from sim.batch import Batch
    from sim.check import Checked
    from sim.comparison import Design
    from sim.crew import Job
    from sim.known import Known
    from sim.outcome import Outcome
    from sim.watching import Watching
    from viz.observe_results import WatchedResults
    from viz.played import Asked
    from viz.results import Results

MOST_LEARN = 20_000

Play = Callable[[Iterator["Job"]], Iterator["Outcome"]]


@dataclass(frozen=True, slots=True)
class _Given:
    """The files of a call."""

    tanks: tuple[Path, ...]
    counts: Path | None


def observe(
    paths: Sequence[Path],
    *,
    template: Path | None,
    learn: str,
    out: Path | None,
    options: dict[str, Any],
) -> None:
    """Tell what counts say of the fish of a tank, and play it with these fish.

    Parameters
    ----------
    paths
        The scenario, the counts, and other tanks for the same fish.
    template
        Where to write a file of counts to be filled in, instead of all else; or None.
    learn
        Runs of each tank from which it is learnt, as typed.
    out
        Where to write the tank with the tempers that are likely, or None.
    options
        Of `viz.played.read_options`, as typed.

    Raises
    ------
    Refused
        If an option has no sense, the counts cannot be, or a tank cannot be played.
    Stopped
        If Ctrl-C cut it short.
    """
    from sim.likely import LEAST_RUNS
    from viz.played import read_options, tried

    found: list[Problem] = []
    asked = tried(found, lambda: read_options(**options))
    number = tried(found, lambda: whole("--learn", learn, low=LEAST_RUNS, high=MOST_LEARN))
    given = tried(found, lambda: _files(paths, template=template))
    tried(found, lambda: None if out is None else _writable_toml(out, paths))
    if template is not None:
        tried(found, lambda: writable_file(template, option="--template"))
    if found:
        raise Refused(found)
    assert asked is not None
    assert number is not None
    assert given is not None
    if template is not None:
        write_template(given.tanks[0], template=template)
    else:
        drawn = not options["hold_assumed"]
        _observed(given, asked=asked, learn=number, drawn=drawn, out=out)


def _files(paths: Sequence[Path], *, template: Path | None) -> _Given:
    """Tell the counts from the tanks: they are the file that ends in .csv."""
    tables = [path for path in paths if path.suffix.lower() == ".csv"]
    tanks = tuple(path for path in paths if path.suffix.lower() != ".csv")
    if template is not None:
        if len(tanks) != 1 or tables:
            raise Refused(
                Problem("observe", f"got {len(paths)} files beside --template; expected the "
                        "scenario alone. Leave the others out.")
            )  # fmt: skip
        return _Given(tanks, None)
    if len(tables) != 1:
        raise Refused(
            Problem(
                "observe",
                f"got {len(tables) or 'no'} files of counts; expected one that ends in .csv. "
                "`holdwater observe FILE --template counts.csv` writes one to be filled in.",
            )
        )
    if not 1 <= len(tanks) <= 4:
        raise Refused(
            Problem("observe", f"got {len(tanks)} scenario files; expected the watched tank, and "
                    "up to three others.")
        )  # fmt: skip
    return _Given(tanks, tables[0])


def _writable_toml(out: Path, paths: Sequence[Path]) -> Path:
    if out.suffix.lower() != ".toml":
        raise Refused(Problem("--out", f"got {quoted(out)}; expected a name that ends in .toml."))
    if any(out.exists() and path.exists() and out.samefile(path) for path in paths):
        sentence = f"got {quoted(out)}, a file that is read; expected another name."
        raise Refused(Problem("--out", sentence))
    return writable_file(out, option="--out", over_tanks=True)


def write_template(path: Path, *, template: Path) -> None:
    """Write a file of counts to be filled in.

    Parameters
    ----------
    path
        The scenario.
    template
        Where.

    Raises
    ------
    Refused
        If the scenario cannot be read or the file not written; or if it is there already, since
        it may have been filled in.
    """
    from sim.check import check_file
    from viz.ink import bullet, console
    from viz.observe_counts import template_text
    from viz.record import write_whole

    if template.exists():
        raise Refused(
            Problem("--template", f"got {quoted(template)}, which is there already and may be "
                    "filled in; expected a new name.")
        )  # fmt: skip
    write_whole({template: template_text(check_file(path).scenario)})
    console().print(
        bullet(
            f"{quoted(template)} is written: a row for each fish and each group. Watch for as "
            "long as it says, fill in what you count, and leave blank what you do not. A further "
            "sitting is further rows with its own day and hour.",
            mark=" ",
        )
    )


def _observed(given: _Given, *, asked: Asked, learn: int, drawn: bool, out: Path | None) -> None:
    from sim.batch import seed_of
    from sim.comparison import check_designs
    from sim.crew import play
    from sim.known import known_of
    from sim.watching import Watching
    from viz.complaints import complain
    from viz.ink import bullet, console
    from viz.observe_counts import read_counts
    from viz.observe_page import observe_page
    from viz.observe_results import watched_results
    from viz.played import designs_of, read_files
    from viz.progress import say_if_compiling, shown_progress
    from viz.record import write_whole
    from viz.stopping import Stopped, ends_soon

    checked: list[Checked] = read_files(given.tanks, asked=asked, least=1)
    designs = designs_of(given.tanks, checked=checked)
    if len(designs) > 1:
        check_designs(designs)
    assert given.counts is not None
    rows = read_counts(given.counts, designs[0].scenario)
    for one in checked:
        complain(one.warnings, unwise=True)
    watching = Watching(
        designs, rows, runs=learn, seed=seed_of(designs[0].scenario, seed=asked.seed),
        settings=replace(asked.settings, vary=drawn), changes=asked.changes,
    )  # fmt: skip
    words = "Stopped before it was learnt what the counts mean; nothing was written."
    say_if_compiling()

    def crew(jobs: Iterator[Job]) -> Iterator[Outcome]:
        return play(jobs, workers=asked.workers)

    with shown_progress() as show, ends_soon(lambda: complain([Problem("", words)])):
        total = watching.total + asked.runs * len(designs)
        show(0, total)
        try:
            for done in take_all(watching, play=crew):
                show(done, total)
            known = known_of(watching)
            assert known is not None
            batches = batches_for(watching, asked=asked)
            for done in play_these(batches, watching, known, play=crew):
                show(watching.total + done, total)
        except KeyboardInterrupt:
            raise Stopped(words) from None
    found = watched_results(
        these_results(batches, watching, watch=asked.watch), watching=watching, known=known
    )
    console().print(observe_page(found))
    files, said = _to_write(found, known, batches, asked=asked, path=given.tanks[0], out=out)
    write_whole(files, folder=asked.csv)
    for line in said:
        console().print(bullet(line, mark=" "))


def take_all(watching: Watching, *, play: Play) -> Iterator[int]:
    """Play the runs from which it is learnt, and yield how many are done after each.

    Parameters
    ----------
    watching
        Takes them in.
    play
        Plays jobs in their order.
    """
    with closing(play(watching.jobs())) as outcomes:  # type: ignore[type-var]
        for done, outcome in enumerate(outcomes, start=1):
            watching.take(outcome)
            yield done


def batches_for(watching: Watching, *, asked: Asked) -> tuple[Batch, ...]:
    """Return empty batches for the tanks with these fish.

    Parameters
    ----------
    watching
        Has the tanks.
    asked
        Runs of each, and how they are played. Fewer than forty hold what nobody has measured; the
        runs from which it is learnt never do, unless that is asked for.
    """
    from sim.batch import Batch

    return tuple(
        Batch(
            scenario=design.scenario, layout=design.layout, seed=watching.seed,
            settings=asked.settings, changes=watching.changes, asked=asked.runs,
            keep_days=asked.keep_days,
        )
        for design in watching.designs
    )  # fmt: skip


def play_these(
    batches: tuple[Batch, ...], watching: Watching, known: Known, *, play: Play
) -> Iterator[int]:
    """Play the tanks with these fish, and yield how many runs are done after each.

    Parameters
    ----------
    batches
        Take the runs in.
    watching, known
        The tanks, and what is known of the fish.
    play
        Plays jobs in their order.
    """
    from sim.known import jobs_of_known

    jobs = jobs_of_known(
        watching.designs, known, runs=batches[0].asked, seed=watching.seed,
        settings=batches[0].settings, changes=watching.changes,
    )  # fmt: skip
    with closing(play(jobs)) as outcomes:  # type: ignore[type-var]
        for done, outcome in enumerate(outcomes, start=1):
            batches[(done - 1) % len(batches)].add(outcome)
            yield done


def these_results(batches: tuple[Batch, ...], watching: Watching, *, watch: str) -> Results:
    """Return what the runs with these fish say, as `run` and `compare` say it.

    Parameters
    ----------
    batches
        With their runs.
    watching
        Has the tanks.
    watch
        The word for how densely days are watched.
    """
    from sim.comparison import Comparison
    from sim.summary import summarise
    from viz.gathered import results_of_comparison, results_of_one
    from viz.record import provenance

    designs: tuple[Design, ...] = watching.designs
    origin = provenance(
        seed=watching.seed, settings=batches[0].settings, watch=watch, changes=watching.changes
    )
    if len(designs) == 1:
        return results_of_one(summarise(batches[0]), design=designs[0], provenance=origin)
    return results_of_comparison(Comparison(designs, batches), provenance=origin)


def _to_write(
    found: WatchedResults,
    known: Known,
    batches: tuple[Batch, ...],
    *,
    asked: Asked,
    path: Path,
    out: Path | None,
) -> tuple[dict[Path, str | bytes | Iterable[str]], list[str]]:
    from viz.csv_tables import csv_files
    from viz.observe_record import draws_csv, observe_json, scenario_text, tempers_csv
    from viz.observe_words import temper_words
    from viz.phrases import listed

    files: dict[Path, str | bytes | Iterable[str]] = {}
    said = []
    if asked.json is not None:
        files[asked.json] = observe_json(found)
    if asked.csv is not None:
        names = [design.name for design in found.results.designs]
        files |= csv_files(asked.csv, names=names, batches=batches)
        files[asked.csv / "tempers.csv"] = tempers_csv(found)
        files[asked.csv / "temper_draws.csv"] = draws_csv(known)
    if out is not None:
        told = temper_words(found.fish)
        if told:
            files[out] = scenario_text(found, path=path)
            said.append(
                f"{quoted(out)} is written with {listed(told)}. A word holds a fish to one place "
                "in its kind, which says more than the counts do; the others stay as they were."
            )
        else:
            said.append(
                f"{quoted(out)} is not written: of no fish the counts tell clearly enough whether "
                "it is mild, typical or fierce."
            )
    return files, said
