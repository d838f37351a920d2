"""Small tanks at a chosen moment, for tests of one rule at a time."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from sim.check import Checked, check_file
from sim.engine import History
from sim.layout import Layout
from sim.rules.codes import IN_TANK, NOWHERE, SWIM
from sim.rules.see import cell_at
from sim.scenario import Scenario
from sim.settings import Settings
from tests.sim.calling import call

SCENARIOS = Path(__file__).parents[2] / "scenarios"

# Fields of a fish that no rule may write.
FIXED = [
    "key",
    "species",
    "sex",
    "length",
    "mass",
    "ripe_length",
    "depth",
    "width",
    "gape",
    "strength",
    "quality",
    "daring",
    "aggression",
    "boldness",
    "armour",
    "shoaling",
    "activity",
    "floor_share",
    "middle_share",
    "cruise",
    "burst",
    "chase",
    "territorial",
    "spawns_in",
    "join_time",
    "dusk",
    "night",
]


@cache
def shipped(name: str) -> Checked:
    """A shipped scenario, read once."""
    return check_file(SCENARIOS / f"{name}.toml")


def shipped_history(name: str, *, days: float, run: int = 0, seed: int = 1, **more: Any) -> History:
    """A run of a shipped scenario over so many days."""
    checked = shipped(name)
    scenario = checked.scenario.model_copy(update={"days": days})
    return History(scenario, checked.layout, run=run, seed=seed, **more)


def fish(species: str = "convict", **more: Any) -> dict[str, Any]:
    return {"species": species, **more}


def tank(
    *groups: dict[str, Any],
    pieces: list[dict[str, Any]] | None = None,
    length_m: float = 1.22,
    width_m: float = 0.457,
    height_m: float = 0.533,
    days: float = 1.0,
    without: tuple[str, ...] = (),
    breeding: dict[str, Any] | None = None,
    events: list[dict[str, Any]] | None = None,
    keeper_plan: dict[str, Any] | None = None,
    dusk_hours: float = 0.0,
    feeding: dict[str, Any] | None = None,
    growth: bool = False,
    temperature_c: float = 26.0,
) -> tuple[Scenario, Layout]:
    """An invented scenario with its layout."""
    text = {
        "tank": {
            "length_m": length_m,
            "width_m": width_m,
            "height_m": height_m,
            "dusk_hours": dusk_hours,
            "temperature_c": temperature_c,
        },
        "pieces": pieces or [],
        "fish": list(groups),
        "days": days,
        "without": list(without),
        "growth": growth,
        **({"breeding": breeding} if breeding else {}),
        "events": events or [],
        **({"keeper_plan": keeper_plan} if keeper_plan else {}),
        **({"feeding": feeding} if feeding is not None else {}),
    }
    scenario = Scenario.model_validate(text)
    layout = Layout(scenario)
    assert layout.problems() == []
    return scenario, layout


def history(
    *groups: dict[str, Any],
    run: int = 0,
    seed: int = 1,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
    **more: Any,
) -> History:
    """A run of an invented scenario at its first moment."""
    scenario, layout = tank(*groups, **more)
    return History(scenario, layout, run=run, seed=seed, settings=settings, changes=changes)


def put(
    of: History, i: int, x: float, y: float, *, layer: int = 0, head: tuple[float, float] = (1, 0)
) -> None:
    """Put a fish in the open at a point, calm and free."""
    row = of.state.fish[i]
    row.presence = IN_TANK
    row.x, row.y, row.layer, row.room = x, y, layer, -1
    row.head_x, row.head_y = head
    row.cell = call(cell_at, of.floor, float(x), float(y))
    row.act, row.target, row.goal, row.hiding = SWIM, -1, NOWHERE, 0
    row.rest_until, row.act_until = 0.0, 0.0


def nearest_site(of: History, x: float, y: float) -> int:
    """The site nearest to a point of the footprint."""
    return int(np.argmin(np.hypot(*(of.floor.site_xy - np.array([x, y])).T)))


def fixed_bytes(of: History) -> bytes:
    """All that no rule may change: what the fish are, the parameters, the settings.

    Which doors a fish passes is fixed, but for tanks in which an event brings a piece with a door.
    """
    state = of.state
    names = [name for name in FIXED if name != "key" or of.zero is None]  # day 0 brings new keys
    tables = [state.par, state.settings, state.claim_curve]
    if not any(event.do in ("divider in", "bring back") for event in of.scenario.events):
        tables.append(state.fits)
    return b"".join(np.ascontiguousarray(state.fish[name]).tobytes() for name in names) + b"".join(
        table.tobytes() for table in tables
    )


def chance_range(p: float, n: int, *, errors: float = 4.0) -> float:
    """So many standard errors of a share of `n` draws with chance `p`."""
    return errors * float(np.sqrt(p * (1.0 - p) / n))
