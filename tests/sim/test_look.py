"""Look: what it leaves out as out of range changes nothing, and chances are asked as they are."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim import records
from sim.draws import falls, named_key, uniform
from sim.engine import History
from sim.rules.attack import available, free_to_attack
from sim.rules.claim import exposure
from sim.rules.codes import DEAD, IN_TANK, PURSUE, SWIM
from sim.rules.hunt import hunting_range
from sim.rules.look import count_together, gather, look_round
from sim.rules.see import saw_each_other, see_each_other
from tests.benchmarks.company import laid_out, mixed_company
from tests.sim.calling import call

DT = 0.4


def scattered(n: int, seed: int, dead: int = 0) -> History:
    """A mixed company at random places, some hidden, busy, owners, hungry for others or wary."""
    rng = np.random.default_rng(seed)
    scenario = mixed_company(n)
    of = History(scenario, laid_out(scenario), seed=seed)
    state, floor = of.state, of.floor
    rows = state.fish
    cells = rng.choice(np.flatnonzero(floor.free.all(axis=0)), n)
    nx, cell_m = int(floor.dims[4]), float(floor.dims[3])
    rows["presence"], rows["cell"] = IN_TANK, cells
    rows["x"] = (cells % nx + rng.uniform(0.01, 0.99, n)) * cell_m
    rows["y"] = (cells // nx + rng.uniform(0.01, 0.99, n)) * cell_m
    rows["layer"] = rng.integers(0, 3, n)
    rows["hiding"] = rng.random(n) < 0.2
    rows["act"] = np.where(rng.random(n) < 0.1, PURSUE, SWIM)
    rows["room"] = np.where(rng.random(n) < 0.2, 0, -1)
    rows["act_until"] = np.where(rng.random(n) < 0.1, 1e9, 0.0)
    for i in range(0, n, 3):
        rows.site[i] = i % len(floor.site_kind)
        rows.reach[i] = rng.uniform(0.1, 0.6)
    state.pair["slow"] = np.where(np.eye(n) == 1, 0.0, rng.random((n, n)) * 1e-3)
    state.pair["avoid"] = rng.random((n, n)) * (rng.random((n, n)) < 0.1)
    state.pair["prey"] = rng.random((n, n)) < 0.1
    state.shuns[0, :, :n] = state.pair["avoid"] >= 0.02
    state.shuns[1, :, :n] = state.shuns[0, :, :n].T
    state.tank["clock"] = 40000.0
    rows["presence"][rng.permutation(n)[:dead]] = DEAD
    return of


def plainly(of: History) -> dict[str, np.ndarray]:
    """What a look finds, pair by pair and with nothing left out."""
    state, floor = of.state, of.floor
    rows, p, n = state.fish, state.par[0], len(state.fish)
    found = {"hazards": np.zeros((n, n)), "view": np.zeros((n, n)), "free": np.zeros((2, n, n))}
    found["push"], found["school"] = np.zeros((n, 2)), np.zeros((n, 3))
    now = float(state.tank.clock[0])
    for i in range(n):
        for j in range(n):
            if i == j or (rows.presence[[i, j]] != IN_TANK).any():
                continue
            if now >= max(rows.act_until[i], rows.act_until[j]) and rows.hiding[i] == 0:
                found["free"][rows.hiding[j], i, j] = DT
            if not call(see_each_other, state, floor, min(i, j), max(i, j)):
                continue
            found["view"][min(i, j), max(i, j)] = 1
            if rows.species[i] == rows.species[j] and rows.shoaling[i] > 0.0:
                found["school"][i] += rows.x[j], rows.y[j], 1.0
            dx, dy = rows.x[i] - rows.x[j], rows.y[i] - rows.y[j]
            d2 = dx * dx + dy * dy
            strength, far = state.pair.avoid[i, j], p.avoid_distance * rows.length[j]
            if strength >= 0.02 and math.sqrt(d2) < far:
                push = strength * (1.0 - math.sqrt(d2) / far) / (math.sqrt(d2) + 1e-6)
                found["push"][i] += push * dx, push * dy
            if call(free_to_attack, state, i) and call(available, state, floor, i, j):
                if state.pair.prey[i, j] == 1:
                    e = call(hunting_range, state, i, j, d2)
                else:
                    e = call(exposure, state, floor, i, j, d2)
                if e > 0.0:
                    found["hazards"][i, j] = state.pair.slow[i, j] * e
    return found


@pytest.mark.parametrize(("n", "dead"), [(9, 0), (30, 0), (30, 4)])
def test_what_a_look_leaves_out_as_out_of_range_changes_nothing(n, dead):
    """To the bit, from four arrangements, two looks each: what the first left behind is cleared."""
    attacked = shunned = schooled = 0
    for seed in range(4):
        of = scattered(n, seed, dead)
        found = plainly(of)
        for looked in (1, 2):
            call(gather, of.state, of.floor, DT, True)
            call(count_together, of.state)
            call(look_round, of.state, of.floor, DT, True)
            free = of.state.together[:, :, :n] * (1.0 - np.eye(n))
            np.testing.assert_array_equal(free, looked * found["free"])
        np.testing.assert_array_equal(of.state.hazards, found["hazards"])
        saw = [[call(saw_each_other, of.state, of.floor, i, j) for j in range(n)] for i in range(n)]
        np.testing.assert_array_equal(np.triu(saw, 1), found["view"])
        np.testing.assert_array_equal(
            np.stack([of.state.fish.push_x, of.state.fish.push_y], axis=1), found["push"]
        )
        schools = found["school"][:, 2] > 0.0
        names = ("school_x", "school_y", "school_n")
        for name, column in zip(names, found["school"].T, strict=True):
            np.testing.assert_array_equal(of.state.fish[name][schools], column[schools])
        assert (of.state.fish.school_n[~schools] == 0.0).all()
        schooled += int(schools.sum())
        attacked += int((found["hazards"] > 0.0).sum())
        shunned += int((found["push"] != 0.0).any(axis=1).sum())
    assert attacked > 3 * n
    assert shunned > n
    assert schooled > n


@pytest.mark.parametrize("x", [0.0, 1e-17, 1e-12, 1e-3, 0.3, 1.0, 5.0, 60.0])
def test_a_chance_is_asked_as_if_the_exponential_always_were(x):
    chance = 1.0 - math.exp(-x)
    near = [chance, np.nextafter(chance, 0.0), np.nextafter(chance, 1.0), x, x + 1e-15, 0.5]
    drawn = [float(call(uniform, named_key("falls", k))) for k in range(50)]
    for u in [*near, *drawn]:
        assert call(falls, float(u), x) == (u < chance)
    # Draws as small as the chance itself, which a plain uniform number hardly ever is.
    for share in np.linspace(0.5, 1.5, 41):
        assert call(falls, float(share * x), x) == (share * x < chance)


@pytest.mark.parametrize("name", [n for n, v in vars(records).items() if isinstance(v, np.dtype)])
def test_records_have_no_gaps_whose_bytes_a_copy_would_not_carry_over(name):
    dtype = getattr(records, name)
    assert dtype.itemsize == sum(dtype[field].itemsize for field in dtype.names)
