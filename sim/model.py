"""TankModel: the tank as a Mesa model, for anyone who knows Mesa to step, collect and subclass.

The model owns a `History`; its agents are windows on the rows of the arrays, so there is one set
of rules and one state, whoever advances it.
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import mesa

from sim.engine import History
from sim.rules.codes import ACTS, IN_TANK, STAGES
from sim.settings import Settings

if TYPE_CHECKING:
    from sim.layout import Layout
    from sim.outcome import Outcome
    from sim.scenario import Member, Scenario
    from sim.state import State


class Fish(mesa.Agent):
    """One fish: an agent whose attributes are the fields of its row in the arrays.

    Every field of `sim.records.FISH` can be read and set as an attribute (``fish.fear``,
    ``fish.x = 0.3``), every field of `sim.records.TALLY` can be read.

    Parameters
    ----------
    model
        The tank it lives in.
    row
        Its row in the arrays.
    member
        The fish of the scenario it is.
    """

    def __init__(self, model: TankModel, *, row: int, member: Member) -> None:
        super().__init__(model)
        self.row = row
        self.member = member
        self.name = member.name

    @property
    def act_in_words(self) -> str:
        """What it is doing."""
        if self.presence != IN_TANK:
            return "not in the tank"
        return "in a hiding place" if self.room >= 0 else ACTS[int(self.act)]

    @property
    def injury(self) -> float:
        """Injury it carries, 0 to 1."""
        return float(min(1.0, self.skin + self.scales))

    def __getattr__(self, name: str) -> Any:
        """Read a field of its row in the arrays."""
        if name.startswith("_") or "row" not in self.__dict__:
            raise AttributeError(name)
        state = self.__dict__["model"].history.state
        for table in (state.fish, state.tally):
            if name in table.dtype.names:
                return table[name][self.__dict__["row"]].item()
        raise AttributeError(f"a fish has no {name!r}")

    def __setattr__(self, name: str, value: Any) -> None:
        """Set a field of its row, or an ordinary attribute where there is no such field."""
        model = self.__dict__.get("model")
        if model is not None and "row" in self.__dict__:
            fish = model.history.state.fish
            if name in fish.dtype.names:
                fish[name][self.__dict__["row"]] = value
                return
        super().__setattr__(name, value)

    def avoids(self, other: Fish) -> float:
        """Return how far it has learned to avoid another fish, 0 to 1."""
        return float(self.model.history.state.pair[self.row, other.row].avoid)


class TankModel(mesa.Model):
    """A tank in one history, stepped through Mesa.

    Parameters
    ----------
    scenario, layout
        The checked scenario and its layout.
    run, seed
        Name the history; the same as those of a batch.
    settings
        Time steps and watching.
    changes
        Parameters that differ from the defaults.
    strides_per_step
        Strides (ticks, leapt pieces or nights) in one `step()`: 1 to see every tick.

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
        strides_per_step: int = 1,
    ) -> None:
        history = History(scenario, layout, run=run, seed=seed, settings=settings, changes=changes)
        with warnings.catch_warnings():
            # Mesa's own announcements of what later versions will do are not the keeper's.
            warnings.simplefilter("ignore", FutureWarning)
            super().__init__(rng=run)
        self.history = history
        self.strides_per_step = strides_per_step
        self.fish = [
            Fish(self, row=row, member=member) for row, member in enumerate(layout.members)
        ]

    @property
    def state(self) -> State:
        """The arrays."""
        return self.history.state

    @property
    def day(self) -> float:
        """Days since midnight of day 0."""
        return self.history.day

    @property
    def stage(self) -> str:
        """Stage of the brood."""
        return STAGES[int(self.state.tank.stage[0])]

    def step(self) -> None:
        """Advance by the strides of one step; stop running when the history is at its end."""
        self.history.strides(self.strides_per_step)
        if self.history.finished:
            self.running = False

    def advance(self, *, until_day: float | None = None) -> None:
        """Advance to a day, or to the end."""
        self.history.advance(until_day=until_day)
        if self.history.finished:
            self.running = False

    def snapshot(self) -> State:
        """Return a copy of the whole state."""
        return self.history.snapshot()

    def restore(self, snapshot: State) -> None:
        """Go back to a moment of which a copy was kept."""
        self.history.restore(snapshot)
        self.running = not self.history.finished

    def outcome(self) -> Outcome:
        """Return what the run has left behind so far."""
        return self.history.outcome()

    def close(self) -> None:
        """Let Mesa forget this model; some versions of it never would by themselves."""
        self.remove_all_agents()
        ids = getattr(mesa.Agent, "_ids", None)
        if ids is not None and hasattr(ids, "pop"):
            ids.pop(self, None)
