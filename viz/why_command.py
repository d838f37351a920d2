"""What `why` does: play the tanks, then each once more with one thing taken away, and say why."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

from sim.errors import Problem, Refused
from sim.fields import shown
from viz.phrases import LETTERS, listed

if TYPE_CHECKING:
    from sim.comparison import Design
    from sim.crew import Workers
    from sim.kept_store import Store
    from sim.taken_away import NotPlayed, Variant
    from viz.played import Asked, Played
    from viz.why_results import WhyResults

USUAL = ("brood", "occlusion", "individuality")
SAME_FISH = "they are the fish of this tank too"


@dataclass(frozen=True, slots=True)
class ToTake:
    """What is taken away from one tank."""

    variants: tuple[Variant, ...]
    not_played: tuple[NotPlayed, ...]


def why(paths: Sequence[Path], *, take_away: Iterable[str], options: dict[str, Any]) -> None:
    """Play tanks and what is taken away from each, show the reasons, and write them.

    Parameters
    ----------
    paths
        One to four scenario files.
    take_away
        Mechanisms to switch off one at a time; the usual three where empty.
    options
        Of `viz.played.read_options`, as typed.

    Raises
    ------
    Refused
        If an option has no sense, or a scenario cannot be played.
    Stopped
        If Ctrl-C cut it short.
    """
    from viz.ink import console
    from viz.played import read_options, tried
    from viz.record import write_whole
    from viz.why_page import why_page
    from viz.why_record import why_json

    found: list[Problem] = []
    asked = tried(found, lambda: read_options(**options))
    mechanisms = tried(found, lambda: mechanisms_of(take_away))
    if found:
        raise Refused(found)
    assert asked is not None
    assert mechanisms is not None
    _, reasons = played_why(paths, asked=asked, mechanisms=mechanisms)
    console().print(why_page(reasons))
    if asked.json is not None:
        write_whole({asked.json: why_json(reasons)})


def mechanisms_of(names: Iterable[str]) -> tuple[str, ...]:
    """Return the mechanisms that are to be taken away.

    Parameters
    ----------
    names
        As typed; the usual ones where there is none.

    Raises
    ------
    Refused
        If there is no such mechanism.
    """
    from sim.scenario import Mechanism

    known = get_args(Mechanism)
    given = tuple(dict.fromkeys(names))
    problems = [
        Problem("--take-away", f"got {shown(name)}; expected one of {', '.join(known)}.")
        for name in given
        if name not in known
    ]
    if problems:
        raise Refused(problems)
    return given or USUAL


def played_why(
    paths: Sequence[Path], *, asked: Asked, mechanisms: Sequence[str]
) -> tuple[Played, WhyResults]:
    """Play tanks and what is taken away from each.

    Parameters
    ----------
    paths
        One to four scenario files.
    asked
        The options.
    mechanisms
        To switch off, one at a time.

    Returns
    -------
    Played, WhyResults
        What was played, its days kept; and the answer with its reasons.

    Raises
    ------
    Refused
        If a scenario cannot be played.
    Stopped
        If Ctrl-C cut it short.
    """
    from viz.at_hand import at_hand
    from viz.complaints import complain
    from viz.kept_words import say_what_was_kept
    from viz.played import designs_of, play_designs, read_files, stopped_words, what_stays
    from viz.stopping import Stopped

    asked = replace(asked, with_days=True)
    checked = read_files(paths, asked=asked, least=1)
    designs = designs_of(paths, checked=checked)
    for one in checked:
        complain(one.warnings, unwise=True)
    plans = [to_take(designs, k, mechanisms=mechanisms) for k in range(len(designs))]
    total = asked.runs * (len(designs) + sum(len(plan.variants) for plan in plans))
    words = f"Stopped before the reasons were complete; {what_stays(asked.keep)}."
    with at_hand(asked, stopped=lambda: words) as ready:
        counted = _Counted(ready.show, total)
        played = play_designs(
            designs, asked=asked, workers=ready.workers, progress=counted.tell, store=ready.store
        )
        if played.interrupted:
            raise Stopped(stopped_words(played.batches, asked=asked))
        found = _taken(
            played, plans, workers=ready.workers, store=ready.store, counted=counted
        )
    if found is None:
        raise Stopped(words)
    say_what_was_kept(ready.store)
    return played, found


class _Counted:
    """Progress over several batches as one."""

    def __init__(self, show: Callable[[int, int], None], total: int) -> None:
        self.show, self.total, self.before, self.now = show, total, 0, 0

    def tell(self, done: int, _: int) -> None:
        self.now = done
        self.show(self.before + done, self.total)

    def next(self) -> None:
        self.before += self.now
        self.now = 0


def to_take(designs: Sequence[Design], number: int, *, mechanisms: Sequence[str]) -> ToTake:
    """Return what is taken away from one tank, and what is not and why.

    Parameters
    ----------
    designs
        All tanks that are compared.
    number
        The tank.
    mechanisms
        To switch off, one at a time.
    """
    from sim.taken_away import TEMPERS, NotPlayed, Variant, fish_in_other_tank, variants_of

    mine = designs[number]
    variants, left = variants_of(mine.scenario, mine.layout, mechanisms=mechanisms)
    same = []
    for letter, other in zip(LETTERS, designs, strict=False):
        if other is mine:
            continue
        found = fish_in_other_tank(other.scenario, mine.scenario, letter=letter)
        if isinstance(found, NotPlayed):
            left.append(found)
        elif found is not None:
            variants.append(found)
        else:
            same.append(letter)
    if same:
        left.append(NotPlayed(f"fish of {listed(same)}", SAME_FISH))
    variants.append(Variant(key=TEMPERS, scenario=mine.scenario, layout=mine.layout))
    return ToTake(tuple(variants), tuple(left))


def _taken(
    played: Played,
    plans: Sequence[ToTake],
    *,
    workers: Workers,
    store: Store | None,
    counted: _Counted,
) -> WhyResults | None:
    """Play what is taken away and compare; None where it was stopped."""
    from sim.taken_away import TEMPERS, play_variants
    from viz.why_results import WhyResults, reasons_of, taken_result, temper_result

    summaries = played.summaries()
    reasons = []
    for number, (base, plan) in enumerate(zip(summaries, plans, strict=True)):
        counted.next()
        batches = play_variants(
            plan.variants, runs=base.runs, seed=base.batch.seed, settings=base.batch.settings,
            changes=base.batch.changes, workers=workers, progress=counted.tell, keep=store,
        )  # fmt: skip
        if any(batch.interrupted for batch in batches):
            return None
        both = dict(zip((one.key for one in plan.variants), batches, strict=True))
        partner = both.pop(TEMPERS)
        reasons.append(
            reasons_of(
                base,
                number=number,
                tempers=temper_result(partner, base=base),
                taken=[
                    taken_result(key, batch, summaries=summaries, number=number)
                    for key, batch in both.items()
                ],
                not_played=plan.not_played,
            )
        )
    return WhyResults(played.results(), tuple(reasons))
