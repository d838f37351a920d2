"""Engine: one history of a scenario, advanced by the compiled rules."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from sim.day_zero import day_zero
from sim.occasions import Occasions
from sim.outcome import Outcome, outcome_of
from sim.rules.advance import advance
from sim.rules.codes import CONTEST, PURSUE
from sim.settings import Settings
from sim.settling import lived
from sim.start import start_state
from sim.state import State

if TYPE_CHECKING:
    from sim.layout import Layout
    from sim.scenario import Scenario
    from sim.start import Tempers
    from sim.tables import Floor

MANY = 2**62  # strides: more than any run has


class History:
    """One run of a scenario: its state, and how to move it on.

    Parameters
    ----------
    scenario, layout
        The checked scenario and its layout.
    run
        Number of the run; with the seed it names the history.
    seed
        Seed of the study; the scenario's own, else 1, where none is given.
    settings
        Time steps and watching.
    changes
        Parameters that differ from the defaults.
    tempers_of
        Run whose tempers the fish have, and whose unmeasured numbers are played, all else being
        that of `run`; `run` itself where None.

    Raises
    ------
    Refused
        If the scenario cannot be played as asked.
    """

    def __init__(
        self,
        scenario: Scenario,
        layout: Layout,
        *,
        run: int = 0,
        seed: int | None = None,
        settings: Settings | None = None,
        changes: Mapping[str, float] | None = None,
        tempers_of: int | None = None,
        tempers: Tempers | None = None,
    ) -> None:
        self.scenario = scenario
        self.layout = layout
        self.run = run
        self.zero = day_zero(scenario)
        as_lived = lived(scenario)
        self.occasions = Occasions(as_lived, layout, self.zero)
        self.state = start_state(
            as_lived,
            layout,
            run=run,
            seed=seed,
            settings=settings,
            changes=changes,
            tempers_of=tempers_of,
            tempers=tempers,
        )
        advance(self.state, self.floor, -math.inf, MANY)  # no further than the first moment
        self.occasions.prepare(self.state)

    @property
    def floor(self) -> Floor:
        """The tables of the tank as it is furnished now."""
        return self.layout.floors()[int(self.state.tank.furniture[0])]

    @property
    def day(self) -> float:
        """Days since midnight of day 0; negative while the tank settles."""
        days = float(self.state.tank.clock[0]) / 86400.0
        return days - self.zero.days if self.zero else days

    @property
    def finished(self) -> bool:
        """Whether the run has come to its end."""
        return bool(self.state.tank.clock[0] >= self.state.tank.end[0])

    def advance(self, *, until_day: float | None = None) -> None:
        """Advance by whole strides until a day, or to the end.

        Parameters
        ----------
        until_day
            Days since midnight of day 0, negative while the tank settles; the last stride may go
            past it.
        """
        if until_day is not None and self.zero:
            until_day += self.zero.days
        seconds = float("inf") if until_day is None else 86400.0 * until_day
        while True:
            advance(self.state, self.floor, seconds, MANY)
            if not self._serve():
                return

    def strides(self, count: int) -> None:
        """Advance by a number of strides: ticks, leapt pieces or nights."""
        while count > 0:
            count -= advance(self.state, self.floor, math.inf, count)
            if not self._serve():
                return

    def _serve(self) -> bool:
        """Do what is due now, if anything; return whether it was done."""
        if not self.occasions.due(self.state) or busy_now(self.state):
            return False
        self.occasions.serve(self.state)
        return True

    def snapshot(self) -> State:
        """Return a copy of the whole state."""
        return self.state.copy()

    def restore(self, snapshot: State) -> None:
        """Go back to a moment of which a copy was kept; exact."""
        self.state.restore(snapshot)

    def outcome(self) -> Outcome:
        """Return what the run has left behind so far."""
        return outcome_of(self.state, self.scenario, self.floor, run=self.run)


def busy_now(state: State) -> bool:
    """Return whether a chase or a contest is under way, which is let run to its end."""
    act = state.fish.act
    return bool(((act == PURSUE) | (act == CONTEST)).any())
