"""`holdwater evidence`: plays the patterns, says how they compare, and writes the page."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

from sim.errors import Problem, Refused
from sim.evidence.patterns import Pattern, load_patterns
from viz.asked import MOST_RUNS, MOST_SEED, quoted, whole
from viz.evidence_results import KEPT, asked_patterns, kept_text, play_pattern, read_kept
from viz.evidence_words import screen_table, what_destroys, with_generated
from viz.ink import console
from viz.record import write_whole

PAGE = "evidence.md"


def show_evidence(
    *,
    only: str | None,
    quick: bool,
    runs: str | None,
    seed: str | None,
    nulls: bool,
    write: Path | None,
) -> None:
    """Play patterns, print what came of each, and write the page where asked.

    Parameters
    ----------
    only, quick, runs, seed, nulls, write
        As they were typed.

    Raises
    ------
    Refused
        If something cannot be done as asked.
    """
    patterns = asked_patterns(only)
    number = None if runs is None else whole("--runs", runs, low=2, high=MOST_RUNS)
    drawn = 1 if seed is None else whole("--seed", seed, low=0, high=MOST_SEED)
    if write is not None and not write.is_dir():
        raise Refused(
            Problem("--write", f"got {quoted(write)}, which is no folder; expected one that is.")
        )
    kept = {} if write is None else read_kept(write)
    out = console()
    for pattern in patterns:
        with _progress() as progress:
            task = progress.add_task(pattern.key, total=None)

            def tell(one: Pattern, without: tuple[str, ...], done: int, asked: int) -> None:
                words = f"{one.key}{' without ' + ', '.join(without) if without else ''}"
                progress.update(task, description=words, completed=done, total=asked)  # noqa: B023

            kept[pattern.key] = play_pattern(
                pattern, quick=quick, seed=drawn, runs=number, nulls=nulls, tell=tell
            )
        out.print(screen_table(pattern, kept[pattern.key]))
        for sentence in what_destroys(pattern, kept[pattern.key]):
            out.print("  " + sentence.replace("*", ""), style="slate", highlight=False)
        out.print()
        if write is not None:
            _write(write, kept)  # after each, so that what is done is kept if it is stopped
    for pattern in load_patterns().values():
        if not pattern.module and only is None:
            out.print(f"{pattern.key}  {pattern.title}: {pattern.waits}.")


def _progress() -> Progress:
    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    return Progress(*columns, console=Console(stderr=True), transient=True)


def _write(folder: Path, kept: dict[str, dict[str, object]]) -> None:
    from viz.evidence_figures import figure, svg

    page = folder / PAGE
    before = page.read_text(encoding="utf-8") if page.exists() else "# Evidence\n"
    figures = folder / "figures"
    figures.mkdir(exist_ok=True)
    texts = {folder / KEPT: kept_text(kept), page: with_generated(before, kept)}
    for key, result in kept.items():
        texts[figures / f"{key.lower()}.svg"] = svg(figure(load_patterns()[key], result))
    write_whole(texts)
