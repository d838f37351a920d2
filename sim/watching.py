"""Watching: the model's own runs in which somebody counts as the keeper did, with other fish each.

Every run has tempers of its own, drawn as if nothing were known, and its own set of what nobody has
measured. From these runs `sim.known` learns what counts mean. Other tanks are played with the same
fish, without anybody who counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.crew import Job
from sim.draws import named_key
from sim.observing import fish_rows
from sim.scenario import Member, company
from sim.sittings import KINDS, Row, Sitting, hour_more, sittings_of
from sim.unmeasured import RUNS_PER_SET
from sim.watched import Counted, WatchedJob, watched_scenario

if TYPE_CHECKING:
    from sim.comparison import Design
    from sim.outcome import Outcome
    from sim.settings import Settings
    from sim.start import Tempers

SHIFT = 2_000_000  # runs: other fish, other luck than those of a batch


@dataclass(frozen=True, slots=True)
class Column:
    """One thing that was counted, over all sittings in which it was.

    Parameters
    ----------
    who
        Name of the fish or group.
    kind
        Of `sim.sittings.KINDS`.
    sittings
        Places in the sittings that are added up.
    fish
        Rows of the fish that are added up.
    minutes
        Minutes of all these sittings, times the fish.
    count
        What was counted in all.
    """

    who: str
    kind: str
    sittings: tuple[int, ...]
    fish: tuple[int, ...]
    minutes: float
    count: float


class Watching:
    """What was counted, and the runs of the model that are counted alike, as they come in.

    Parameters
    ----------
    designs
        The tank that was watched, then others that are asked about.
    rows
        What was counted, of `sim.sittings.check_rows`.
    runs
        Runs of each tank.
    seed, settings, changes
        As `sim.batch.play_batch`.

    Attributes
    ----------
    members
        Fish of the watched tank.
    sittings
        Those that there were, in the order of time.
    hour
        A further hour that could be watched; None where there is no room for it.
    columns
        What was counted.
    done
        Runs that all tanks have finished.
    """

    def __init__(
        self,
        designs: Sequence[Design],
        rows: Sequence[Row],
        *,
        runs: int,
        seed: int,
        settings: Settings,
        changes: Mapping[str, float],
    ) -> None:
        self.designs = tuple(designs)
        self.rows = tuple(rows)
        self.runs = runs
        self.seed, self.settings, self.changes = seed, settings, dict(changes)
        scenario = self.designs[0].scenario
        self.members: tuple[Member, ...] = company(scenario)
        self.sittings = sittings_of(rows)
        self.hour: Sitting | None = hour_more(scenario, self.sittings)
        self.columns = _columns(rows, self.sittings, fish_rows(scenario))
        self._scenario = watched_scenario(scenario, self.all_sittings)
        self._counts: list[np.ndarray] = []
        self._harm: list[float] = []
        self._dose: list[list[np.ndarray]] = [[] for _ in self.designs]
        self._serious: list[list[np.ndarray]] = [[] for _ in self.designs]

    @property
    def all_sittings(self) -> tuple[Sitting, ...]:
        """The sittings that there were, and the further hour."""
        return self.sittings if self.hour is None else (*self.sittings, self.hour)

    @property
    def done(self) -> int:
        """Runs that all tanks have finished."""
        return len(self._dose[-1])

    @property
    def total(self) -> int:
        """Runs of all tanks together."""
        return self.runs * len(self.designs)

    def jobs(self, *, first: int = 0) -> Iterator[Job]:
        """Return what is to be played, each tank in turn.

        Parameters
        ----------
        first
            Number of the first run.
        """
        for number in range(first, first + self.runs):
            common = {
                "run": SHIFT + RUNS_PER_SET * number,
                "seed": self.seed,
                "settings": self.settings,
                "changes": self.changes,
                "tempers": self.tempers(number),
            }
            for place, design in enumerate(self.designs):
                if place == 0:
                    yield WatchedJob(
                        scenario=self._scenario, layout=design.layout,
                        sittings=self.all_sittings, **common,  # type: ignore[arg-type]
                    )  # fmt: skip
                else:
                    yield Job(scenario=design.scenario, layout=design.layout, **common)  # type: ignore[arg-type]

    def take(self, outcome: Outcome) -> None:
        """Take in the next outcome, in the order of the jobs."""
        place = next(k for k, one in enumerate(self._dose) if len(one) == self._least())
        if isinstance(outcome, Counted):
            self._counts.append(outcome.counts)
            self._harm.append(float(outcome.row["harm_per_bite"][0]))
        self._dose[place].append(np.array(outcome.fish["dose"]))
        self._serious[place].append(np.isfinite(outcome.fish["serious_day"]))

    def arrays(self) -> dict[str, np.ndarray]:
        """Return what was taken in as arrays, to be kept; of the watched tank alone."""
        return {
            "counts": np.array(self._counts),
            "harm": np.array(self._harm),
            "dose": np.array(self._dose[0]),
            "serious": np.array(self._serious[0]),
        }

    def restore(self, arrays: Mapping[str, np.ndarray]) -> None:
        """Take in what `arrays` returned.

        Parameters
        ----------
        arrays
            Of the same question.
        """
        self._counts, self._harm = list(arrays["counts"]), arrays["harm"].tolist()
        self._dose[0], self._serious[0] = list(arrays["dose"]), list(arrays["serious"])

    def _least(self) -> int:
        return min(len(one) for one in self._dose)

    def tempers(self, number: int) -> Tempers:
        """Return the tempers of the fish of a run, in standard deviations.

        Parameters
        ----------
        number
            Of the run, from 0.
        """
        found = {}
        for fish in self.members:
            key = named_key("watching", self.seed, number, fish.group, fish.index)
            rng = np.random.Generator(np.random.Philox(key=int(key)))
            aggression, boldness = rng.standard_normal(2)
            found[fish.group, fish.index] = (float(aggression), float(boldness))
        return found

    def tempers_drawn(self) -> np.ndarray:
        """Return the tempers of all runs, aggression and boldness, shape (done, n_fish, 2)."""
        return np.array(
            [list(self.tempers(number).values()) for number in range(self.done)]
        ).reshape(self.done, len(self.members), 2)

    def counted(self, *, with_hour: bool = False) -> np.ndarray:
        """Return what is counted in the runs, by column, shape (done, n_columns).

        Parameters
        ----------
        with_hour
            Whether the further hour is watched too.
        """
        counts = np.array(self._counts[: self.done])
        hour = (len(self.sittings),) if with_hour and self.hour is not None else ()
        return np.column_stack(
            [
                counts[:, (*one.sittings, *hour)][:, :, one.fish, KINDS.index(one.kind)].sum(
                    axis=(1, 2)
                )
                for one in self.columns
            ]
        )

    @property
    def harm(self) -> np.ndarray:
        """What a bite does in each run, injury, shape (done,)."""
        return np.array(self._harm[: self.done])

    def dose(self, place: int, fish: Sequence[int]) -> np.ndarray:
        """Return the injury that some fish of a tank receive in each run, shape (done,)."""
        return np.asarray(np.array(self._dose[place][: self.done])[:, list(fish)].sum(axis=1))

    def serious(self, place: int, fish: Sequence[int]) -> np.ndarray:
        """Return whether any of some fish of a tank is seriously hurt, shape (done,)."""
        return np.asarray(np.array(self._serious[place][: self.done])[:, list(fish)].any(axis=1))


def bearing(counts: np.ndarray, columns: Sequence[Column], *, fish: int) -> np.ndarray:
    """Return what may bear on the temper of a fish: its own counts, and those of the rest.

    Counts enter by their roots, in which their spread hangs least on their size; its own by their
    squares too, and its chases times its time hidden: who never comes out cannot chase.

    Parameters
    ----------
    counts
        The last axis by column.
    columns
        What they are of.
    fish
        Its row. Where it was counted with its group, those of the group are its own.

    Returns
    -------
    ndarray
        As `counts`, the last axis by what bears.
    """
    own: dict[str, np.ndarray] = {}
    rest: dict[str, np.ndarray] = {}
    for k, one in enumerate(columns):
        table = own if fish in one.fish else rest
        table[one.kind] = table.get(one.kind, 0.0) + counts[..., k]
    mine = [np.sqrt(own[kind]) for kind in KINDS if kind in own]
    parts = [*mine, *(np.sqrt(rest[kind]) for kind in KINDS if kind in rest)]
    parts += [root**2 for root in mine]
    if KINDS[0] in own and KINDS[2] in own:
        parts.append(np.sqrt(own[KINDS[0]] * own[KINDS[2]]))
    return np.stack(parts, axis=-1)


def alike(members: Sequence[Member], columns: Sequence[Column]) -> tuple[tuple[int, ...], ...]:
    """Return fish that are learnt together: of one group, and counted in the same way.

    Parameters
    ----------
    members
        All fish.
    columns
        What was counted.
    """
    found: dict[tuple[object, ...], list[int]] = {}
    for i, fish in enumerate(members):
        own = sorted((one.kind, len(one.fish)) for one in columns if i in one.fish)
        found.setdefault((fish.group, *own), []).append(i)
    return tuple(tuple(rows) for rows in found.values())


def _columns(
    rows: Sequence[Row], sittings: Sequence[Sitting], fish: Mapping[str, tuple[int, ...]]
) -> tuple[Column, ...]:
    order: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        for kind, count in zip(KINDS, row.counts, strict=True):
            if count is not None:
                order.setdefault((row.who, kind), []).append(row)
    place = {sitting: k for k, sitting in enumerate(sittings)}
    return tuple(
        Column(
            who=who,
            kind=kind,
            sittings=tuple(place[row.sitting] for row in of),
            fish=fish[who.lower()],
            minutes=len(fish[who.lower()]) * sum(row.sitting.minutes for row in of),
            count=float(sum(row.counts[KINDS.index(kind)] or 0 for row in of)),
        )
        for (who, kind), of in order.items()
    )
