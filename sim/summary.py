"""Summary: what one batch says, every number with how sure it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from sim.batch import Batch
from sim.figures import (
    FISH_FOOD_MEASURES,
    FISH_MEASURES,
    FOOD_MEASURES,
    GROWTH_MEASURES,
    KEEPER_MEASURES,
    MEASURES,
    MOUTH_MEASURES,
    SETTLING_MEASURES,
    Figure,
    by_draw,
    figure_of,
    mean_of_draws,
    ratio_of_counts,
    share_of_runs,
    unasked,
)
from sim.findings import AtRisk, Dominance, FishSummary, Outgrown, Spread
from sim.observed import Observed, observed_of
from sim.outcome import END_FIELDS
from sim.rules.codes import CHASE_ENDS
from sim.scenario import Member, company
from sim.spare import Spare, spare_places
from sim.spread import NestedSplit, nested_split, variance_split
from sim.start import RUNS_PER_DRAW
from sim.statistics import Estimate, most_at_risk
from sim.unmeasured import RUNS_PER_SET, drawn_names
from sim.verdict import thirds

SPREAD_MEASURES = ("dose", "bites_per_h", "chases_per_h", "hidden_h_per_day")
LEAST_DRAWS_AT_RISK = 4
LEAST_THIRDS = 30  # runs below which thirds of them say nothing, assumed
MOUTH_MARGIN = 1.5  # drawn lengths go so far from the length asked for, at most


class Summary:
    """What one batch says; each part is computed when it is first asked for.

    Parameters
    ----------
    batch
        With one run or more.
    level
        Coverage of the intervals, 0 to 1.
    runs
        How many of its runs to use, from the first; all that are done where None.

    Raises
    ------
    ValueError
        If there is no run.
    """

    def __init__(self, batch: Batch, *, level: float = 0.95, runs: int | None = None) -> None:
        self.batch = batch
        self.level = level
        self.runs = batch.done if runs is None else runs
        if not 1 <= self.runs <= batch.done:
            raise ValueError(
                f"summary: {self.runs} runs of {batch.done}; expected one run or more that is done."
            )

    @cached_property
    def members(self) -> tuple[Member, ...]:
        """The fish, in the order of all tables."""
        return company(self.batch.scenario)

    @cached_property
    def draw(self) -> np.ndarray:
        """Draw of fish of each run, shape (n_runs,)."""
        return self.run_column("draw")

    @cached_property
    def cluster(self) -> np.ndarray:
        """What of each run is independent of the rest, shape (n_runs,).

        The set of drawn numbers, which holds two draws of fish; the draw of fish where the
        numbers are held.
        """
        return self.run_column("number_set") if self.varied else self.draw

    @cached_property
    def harm(self) -> np.ndarray | None:
        """What a bite did in each run (injury), shape (n_runs,); None where it was held."""
        told = "harm_per_bite" in self.drawn and self.runs >= LEAST_THIRDS
        return self.run_column("harm_per_bite") if told else None

    @property
    def varied(self) -> bool:
        """Whether what nobody has measured was drawn."""
        return self.batch.settings.vary

    @property
    def draws(self) -> int:
        """Number of draws of fish."""
        return len(np.unique(self.draw))

    def run_column(self, name: str) -> np.ndarray:
        """Return a column of the table of runs, shape (n_runs,)."""
        return self.batch.runs.column(name)[: self.runs]

    def fish_column(self, name: str) -> np.ndarray:
        """Return a measure or a column of the table of fish, shape (n_runs, n_fish)."""
        n = len(self.members)
        if name == "serious":
            return np.asarray(np.isfinite(self._hurt_day))
        if name == "death":
            return np.asarray(np.isfinite(self.fish_column("death_day")))
        if name.endswith("_per_h"):
            hours = np.maximum(self.run_column("awake_h"), 1e-9)
            return np.asarray(self.fish_column(name.removesuffix("_per_h")) / hours[:, None])
        return self.batch.fish.column(name)[: self.runs * n].reshape(self.runs, n)

    def column_for(self, name: str, which: Sequence[int]) -> np.ndarray:
        """Return a measure of the whole tank for some of its fish only, shape (n_runs,).

        Parameters
        ----------
        name
            One of `sim.figures.OF_FISH`.
        which
            Places of the fish.
        """
        if name in ("hurt_fish", "deaths"):
            word = "serious" if name == "hurt_fish" else "death"
            return np.asarray(self.fish_column(word)[:, which].sum(axis=1))
        column = self.fish_column(name)[:, which]
        if name in ("serious", "death"):
            return np.asarray(column.any(axis=1))
        if name == "worst_injury":
            return np.asarray(column.max(axis=1, initial=0.0))
        total = column.sum(axis=1)
        return np.asarray(total if name == "dose" else total / max(len(which), 1))

    @cached_property
    def _hurt_day(self) -> np.ndarray:
        """Day of the first serious injury or of death, shape (n_runs, n_fish), inf if neither."""
        serious, death = self.fish_column("serious_day"), self.fish_column("death_day")
        return np.asarray(np.minimum(serious, death))

    @property
    def _not_played(self) -> tuple[str, ...]:
        """Measures of the keeper, settling, food, growth and mouths where they are not played."""
        scenario = self.batch.scenario
        skip: tuple[str, ...] = () if self.keeper_looks else KEEPER_MEASURES
        if not scenario.settling_days:
            skip += SETTLING_MEASURES
        if scenario.feeding is None:
            skip += FOOD_MEASURES
        if scenario.feeding is None and not scenario.growth:
            skip += FISH_FOOD_MEASURES
        if not scenario.growth:
            skip += GROWTH_MEASURES
            if not self.mouths:
                skip += MOUTH_MEASURES
        return skip

    @cached_property
    def mouths(self) -> bool:
        """Whether any fish of the scenario can be small enough for the mouth of another."""
        return any(
            MOUTH_MARGIN * eater.species.gape_ratio * length_at_most(eater)
            > max(prey.species.depth_ratio, prey.species.width_ratio) * length_at_least(prey)
            for eater in self.members
            for prey in self.members
        )

    @cached_property
    def outgrown(self) -> tuple[Outgrown, ...]:
        """Hiding places that fish grow out of, the most frequent first."""
        parts = list(self.batch.outgrown.slices())
        if not parts:
            return ()
        table = np.concatenate(parts)
        table = table[table["run"] < self.runs]
        rooms = self.batch.layout.rooms
        found = []
        for i, room in sorted({(int(row["fish"]), int(row["room"])) for row in table}):
            mine = table[(table["fish"] == i) & (table["room"] == room)]
            share = np.isin(self.run_column("run"), mine["run"])
            found.append(
                Outgrown(
                    member=self.members[i],
                    place=rooms[room].name,
                    day=float(np.median(mine["day"])),
                    share=share_of_runs(share, draw=self.cluster, level=self.level),
                )
            )
        return tuple(sorted(found, key=lambda one: -one.share.value))

    @cached_property
    def figures(self) -> dict[str, Figure]:
        """Every measure of the whole tank, by name, in the order of `sim.figures.MEASURES`."""
        skip = (*self._not_played, *unasked(self.batch.scenario.breeding.mode))
        found = {
            name: figure_of(measure, self.run_column(name), draw=self.cluster, level=self.level)
            for name, measure in MEASURES.items()
            if name not in skip
        }
        return {name: figure for name, figure in found.items() if figure is not None}

    @cached_property
    def fish(self) -> tuple[FishSummary, ...]:
        """What each fish goes through, in the order of all tables."""
        measures = {n: m for n, m in FISH_MEASURES.items() if n not in self._not_played}
        columns = {name: self.fish_column(name) for name in measures}
        day = self._hurt_day
        rows = []
        for i, member in enumerate(self.members):
            figures = {}
            for name, measure in measures.items():
                figure = figure_of(
                    measure, columns[name][:, i], draw=self.cluster, level=self.level
                )
                if figure is not None:
                    figures[name] = figure
            hurt = day[np.isfinite(day[:, i]), i]
            median_day = float(np.median(hurt)) if len(hurt) else math.nan
            rows.append(FishSummary(member, figures, median_day))
        return tuple(rows)

    @cached_property
    def at_risk(self) -> AtRisk | None:
        """The fish that comes off worst; None where too few draws were played to say."""
        if len(np.unique(self.cluster)) < LEAST_DRAWS_AT_RISK:
            return None
        hurt, by = self.fish_column("serious"), "serious"
        if not hurt.any():
            bites, by = self.fish_column("bites_taken"), "bites"
            hurt = (bites == bites.max(axis=1, keepdims=True)) & (bites > 0)
        if not hurt.any():
            return None
        index, share = most_at_risk(hurt, draw=self.cluster, level=self.level)
        return AtRisk(self.members[index], by, share)

    @cached_property
    def ends(self) -> dict[str, Estimate]:
        """Share of chases that ended so, by the words of `CHASE_ENDS`; empty without a chase."""
        counts = {
            words: self.run_column(name) for words, name in zip(CHASE_ENDS, END_FIELDS, strict=True)
        }
        every = np.sum(list(counts.values()), axis=0)
        if not every.any():
            return {}
        return {
            words: ratio_of_counts(count, of=every, draw=self.cluster, level=self.level)
            for words, count in counts.items()
        }

    @cached_property
    def serious_by_day(self) -> tuple[Estimate, ...]:
        """Share of runs with a serious injury by the end of day 1, day 2 and so on."""
        day = self.run_column("serious_day")
        last = int(np.ceil(self.batch.scenario.days))
        return tuple(
            share_of_runs(day < end, draw=self.cluster, level=self.level)
            for end in range(1, last + 1)
        )

    @cached_property
    def serious_by_harm(self) -> tuple[tuple[float, float, Estimate], ...]:
        """Share of runs with a serious injury where a bite does least, middling and most harm.

        Of each third: the least and the greatest harm of a bite in it (injury), and the share;
        empty where the harm was not drawn.
        """
        if self.harm is None:
            return ()
        serious = self.run_column("serious")
        return tuple(
            (
                float(self.harm[part].min()),
                float(self.harm[part].max()),
                share_of_runs(serious[part], draw=self.cluster[part], level=self.level),
            )
            for part in thirds(self.harm)
        )

    @property
    def keeper_looks(self) -> bool:
        """Whether a keeper looks at the tank."""
        plan = self.batch.scenario.keeper_plan
        return plan is not None and bool(plan.checks_at)

    @cached_property
    def spare(self) -> Spare | None:
        """Spare places that are needed; None where no keeper looks."""
        if not self.keeper_looks:
            return None
        column = self.run_column
        return spare_places(
            needed=column("places_needed"),
            first_day=column("needed_day"),
            short=column("places_short"),
            death_day=column("death_day"),
            moved_day=column("separated_day"),
            days=self.batch.scenario.days,
            draw=self.cluster,
            level=self.level,
        )

    @cached_property
    def observed(self) -> tuple[Observed, ...]:
        """What somebody who watches counts, by observation; empty where nobody does."""
        found = observed_of(self.batch, runs=self.runs, cluster=self.cluster, level=self.level)
        return tuple(found)

    @cached_property
    def spreads(self) -> tuple[Spread, ...]:
        """Where the spread comes from; empty below two whole draws of fish."""
        whole = self.runs // RUNS_PER_DRAW
        if whole < 2:
            return ()
        return tuple(
            Spread(
                MEASURES[name],
                variance_split(
                    self.run_column(name)[: whole * RUNS_PER_DRAW].reshape(whole, RUNS_PER_DRAW),
                    level=self.level,
                ),
                self._nested(name),
            )
            for name in SPREAD_MEASURES
        )

    def _nested(self, name: str) -> NestedSplit | None:
        whole = self.runs // RUNS_PER_SET
        if not self.varied or whole < 2:
            return None
        shape = (whole, RUNS_PER_SET // RUNS_PER_DRAW, RUNS_PER_DRAW)
        return nested_split(self.run_column(name)[: whole * RUNS_PER_SET].reshape(shape))

    @property
    def drawn(self) -> tuple[str, ...]:
        """Names of the unmeasured numbers that were drawn, those left out that a person fixed."""
        return drawn_names(self.batch.changes) if self.varied else ()

    @cached_property
    def dominance(self) -> Dominance | None:
        """Who stands above whom; None with fewer than two fish."""
        if len(self.members) < 2:
            return None

        def linearity(values: list[float]) -> Estimate:
            means = by_draw(values[: self.runs], draw=self.cluster)
            return mean_of_draws(means, level=self.level, least=0.0)[0]

        return Dominance(
            landau_h=linearity(self.batch.landau),
            de_vries_h=linearity(self.batch.de_vries),
            david=self.batch.david / self.batch.done,
            elo=self.batch.elo / self.batch.done,
        )


def length_at_most(member: Member) -> float:
    """Return the length (m) asked for, or the greater adult length of the species."""
    adult = max(member.species.adult_male_m, member.species.adult_female_m)
    return member.length_m if member.length_m is not None else adult


def length_at_least(member: Member) -> float:
    """Return the length (m) asked for, or the lesser adult length of the species."""
    adult = min(member.species.adult_male_m, member.species.adult_female_m)
    return member.length_m if member.length_m is not None else adult


def summarise(batch: Batch, *, level: float = 0.95, runs: int | None = None) -> Summary:
    """Return what a batch says.

    Parameters
    ----------
    batch, level, runs
        As `Summary`.

    Returns
    -------
    Summary
        Its parts are computed when first asked for.
    """
    return Summary(batch, level=level, runs=runs)
