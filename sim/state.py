"""The state of a run: plain arrays that the rules advance, copy and compare byte for byte."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sim.by_reference import by_reference
from sim.records import (
    BROOD,
    BROOD_ROWS,
    DAY,
    DUE,
    DUE_ROWS,
    FISH,
    FOOD,
    HARM_SHAPE,
    KIND,
    LOG,
    LOG_ROWS,
    LOOK,
    PAIR,
    PLANT,
    POOL,
    POOL_ROWS,
    SEEN,
    STRETCH,
    TALLY,
    TANK,
    VISIT,
)

LANES = 16  # numbers that are added at once; rows of `together` are padded to a multiple of it
HARM_BLOCK = 2  # cells along a side of a block in which harm is added up
NEVER = 1e300  # s or days; the time of what does not happen


@by_reference
class State(NamedTuple):
    """All that changes in a run, and the settings it runs with.

    Attributes
    ----------
    tank
        Clock, counters and switches, shape (1,).
    broods
        One row for each pair and its young, shape (`BROOD_ROWS`,).
    kinds
        One row for each species, shape (n_kinds,).
    visits
        Time of each fish at each brood, shape (`BROOD_ROWS`, n).
    defence
        Chases of others by parents, by sex and brood stage, shape (2, 7).
    stage_time
        Waking seconds of pairs at each brood stage, shape (7,).
    plants
        One row for each plant, shape (n_plants,).
    fish, tally
        One row for each fish, shape (n,).
    pair
        One row for each ordered pair, shape (n, n).
    shuns
        1 where the row avoids the column so much that it leans away from it (0), and where the
        column so avoids the row (1), shape (2, n, n padded to `LANES`).
    hazards
        Attacks per second of row on column at the last look; 0 where there were none, shape (n, n).
    together
        Seconds of the window in which both of a pair were free and the row in the open, with the
        column in the open (0) or in cover (1), shape (2, n, n padded to `LANES`).
    loose
        Seconds that the present look gives to a fish that is free: in the open (0), in cover (1);
        scratch of shape (2, n padded to `LANES`).
    looks
        What the last look asked of each fish, shape (n,); old of one that was not in the tank.
    spots
        Where each fish was at the last look (x, y, m; inf if not in the tank), and the squared
        distances (m2) from which on it claims nothing and from which on nobody shuns it,
        shape (4, n padded to `LANES`).
    sifted
        1 for fish that may matter to the one that looks round; scratch of
        shape (n padded to `LANES`,).
    fits
        1 where a fish passes a door, shape (n, n_doors).
    log
        The last attacks with their reasons, a ring of `LOG_ROWS`.
    pool
        The last watched chases, a ring of `POOL_ROWS`, from which leaps draw.
    ends
        Chases by brood stage and by how they ended, shape (7, 6).
    days
        One row for each day, shape (days,).
    stretches
        One row for each stretch of time that somebody watches, in order, shape (n_stretches,).
    seen
        Acts counted in each of them, shape (n_stretches, n, n), row toward column.
    par
        Parameters, shape (1,).
    settings
        Time steps and watching, shape (1,).
    due
        The attacks of the present piece of a leap, scratch of `DUE_ROWS`.
    food
        One row for each feeding spot, shape (n_spots,).
    meal_times
        Times of day of the meals, s, shape (n_meals,).
    outgrew
        Day from which a fish no longer passes a door that it passed, inf if none,
        shape (n_fish, n_doors).
    harm
        Injury received, by victim and by `HARM_WAYS`, `GROUNDS`, `STAGES` and `COVER_BANDS` of
        `sim.rules.codes`, shape (n, 4, 5, 7, 6).
    harm_spots
        The same by victim and block of the floor, row-major as the cells are, shape (n, n_blocks).
    claim_curve
        Claim against the square of the distance in reaches, shape (257,), from 0 to 4.
    """

    tank: np.recarray
    broods: np.recarray
    kinds: np.recarray
    visits: np.recarray
    defence: np.ndarray
    stage_time: np.ndarray
    plants: np.recarray
    fish: np.recarray
    tally: np.recarray
    pair: np.recarray
    shuns: np.ndarray
    hazards: np.ndarray
    together: np.ndarray
    loose: np.ndarray
    looks: np.recarray
    spots: np.ndarray
    sifted: np.ndarray
    fits: np.ndarray
    log: np.recarray
    pool: np.recarray
    ends: np.ndarray
    days: np.recarray
    stretches: np.recarray
    seen: np.recarray
    par: np.recarray
    settings: np.recarray
    due: np.recarray
    food: np.recarray
    meal_times: np.ndarray
    outgrew: np.ndarray
    harm: np.ndarray
    harm_spots: np.ndarray
    claim_curve: np.ndarray

    def copy(self) -> State:
        """Return a snapshot that shares nothing with this state."""
        return State._make(array.copy() for array in self)

    def restore(self, snapshot: State) -> None:
        """Set every array to what it was when `snapshot` was taken."""
        for mine, then in zip(self, snapshot, strict=True):
            mine[...] = then

    def to_bytes(self) -> bytes:
        """Return the whole state as bytes, for comparing two histories."""
        return b"".join(array.tobytes() for array in self)


def harm_grid(nx: int, ny: int) -> tuple[int, int]:
    """Return the blocks along x and y in which harm is added up, of so many cells."""
    return -(-nx // HARM_BLOCK), -(-ny // HARM_BLOCK)


def blank_state(
    *,
    n_fish: int,
    n_doors: int,
    days: int,
    par: np.recarray,
    settings: np.recarray,
    n_spots: int = 0,
    n_meals: int = 0,
    n_kinds: int = 1,
    n_plants: int = 0,
    stretches: int = 0,
    n_blocks: int = 0,
) -> State:
    """Return a state of the right shapes in which nothing has happened yet.

    Parameters
    ----------
    n_fish, n_doors, days, n_spots, n_meals, n_kinds, n_plants, stretches, n_blocks
        Sizes of the arrays.
    par
        Parameters, shape (1,).
    settings
        Time steps and watching, shape (1,).

    Returns
    -------
    State
        All zero but for the marks that mean "none" or "never".
    """

    def rows(shape: int | tuple[int, ...], dtype: np.dtype) -> np.recarray:
        return np.zeros(shape, dtype).view(np.recarray)

    fish = rows(n_fish, FISH)
    none = ("room", "target", "site", "mate", "brood", "lured", "chase_cause", "won", "goal_index")
    for name in (*none, "owned"):
        fish[name] = -1
    fish["stamina"] = 1.0
    fish["pace"] = 1.0
    fish["heat"] = 1.0
    fish["head_x"] = 1.0
    fish["condition"] = 1.0
    fish["warmth"] = 1.0
    tally = rows(n_fish, TALLY)
    never = ("minor_day", "serious_day", "death_day", "moved_day", "paired_day", "mate_hurt_day")
    for name in never:
        tally[name] = np.inf
    for name in ("put_x", "put_y"):
        fish[name] = -1.0
    fish["back_at"] = NEVER
    pair = rows((n_fish, n_fish), PAIR)
    pair["met"] = -1.0
    wide = -(-n_fish // LANES) * LANES
    tank = rows(1, TANK)
    tank["asked_site"] = -1
    first = ("first_pair_day", "first_spawn_day", "first_uproot_day")
    for name in ("next_check", "needed_day", "short_day", *first):
        tank[name] = NEVER
    tank["next_meal"] = NEVER
    broods = rows(BROOD_ROWS, BROOD)
    for name in ("mother", "father", "place", "nest", "asked"):
        broods[name] = -1
    watched = rows(stretches, STRETCH)
    for name in ("winner", "loser"):
        watched[name] = -1
    for name in ("ended", "first_act", "decided_at"):
        watched[name] = NEVER
    spots = np.zeros((4, wide))
    spots[0] = np.inf
    edge = float(par["claim_edge"][0])
    curve = np.exp(np.log(edge) * np.linspace(0.0, 4.0, 257))
    return State(
        tank=tank,
        broods=broods,
        kinds=rows(n_kinds, KIND),
        visits=rows((BROOD_ROWS, n_fish), VISIT),
        defence=np.zeros((2, 7), np.int64),
        stage_time=np.zeros(7),
        plants=rows(n_plants, PLANT),
        fish=fish,
        tally=tally,
        pair=pair,
        shuns=np.zeros((2, n_fish, wide), np.uint8),
        hazards=np.zeros((n_fish, n_fish)),
        together=np.zeros((2, n_fish, wide)),
        loose=np.zeros((2, wide)),
        looks=rows(n_fish, LOOK),
        spots=spots,
        sifted=np.zeros(wide, np.uint8),
        fits=np.zeros((n_fish, n_doors), np.uint8),
        log=rows(LOG_ROWS, LOG),
        pool=rows(POOL_ROWS, POOL),
        ends=np.zeros((7, 6), np.int64),
        days=rows(max(days, 1), DAY),
        stretches=watched,
        seen=rows((stretches, n_fish, n_fish), SEEN),
        par=par,
        settings=settings,
        due=rows(DUE_ROWS, DUE),
        food=rows(n_spots, FOOD),
        meal_times=np.zeros(n_meals),
        outgrew=np.full((n_fish, n_doors), np.inf),
        harm=np.zeros((n_fish, *HARM_SHAPE)),
        harm_spots=np.zeros((n_fish, n_blocks)),
        claim_curve=curve,
    )
