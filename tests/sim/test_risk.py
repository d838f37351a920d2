"""Risk: what a chase was likely to bring is what such chases bring, and surer than what one did."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.draws import named_key
from sim.rules.codes import CHASED_OPEN, CHASED_WALL, HIDDEN
from sim.rules.encounter import leapt_chase
from sim.rules.risk import ASK_S, bites_in_rooms, forget_risk, leaving_rate, risk_in_open
from tests.sim.calling import call
from tests.sim.layouts import piece
from tests.sim.test_chase import chase
from tests.sim.worlds import fish, history, put

BEFORE = {"at": ((0.3, 0.3), (0.4, 0.3)), "home": (0.5, 0.3)}  # the door of a pot


def test_bites_in_a_room_come_by_the_rates_of_a_raid():
    """8,000 stays: each look bites, then leaves; so a geometric number of looks, by hand."""
    of = history(fish(), fish())
    rate = call(leaving_rate, of.state, 1)
    par = of.state.par[0]
    assert rate == pytest.approx(par.submit_rate)
    assert call(leaving_rate, of.state, 2) == pytest.approx(par.submit_rate + 2.0)
    drawn = np.array(
        [call(bites_in_rooms, of.state, 1, 1.0 / rate, named_key("stay", k)) for k in range(8000)]
    )
    lands = 1.0 - math.exp(-par.bite_rate * ASK_S)
    leaves = 1.0 - math.exp(-rate * ASK_S)
    looks = 1.0 / leaves
    mean = lands * looks
    variance = lands * (1.0 - lands) * looks + lands**2 * (1.0 - leaves) / leaves**2
    assert drawn.mean() == pytest.approx(mean, abs=4.0 * math.sqrt(variance / 8000))
    assert drawn.var() == pytest.approx(variance, rel=0.09)
    assert call(bites_in_rooms, of.state, 0, 0.0, named_key("none")) == 0


def test_the_place_of_the_risk_is_a_moment_in_proportion_to_its_bites():
    """1,500 chases of three moments with 1, 2 and 5 parts of the risk; within 4 errors."""
    of = history(fish(), fish(length_m=0.08), length_m=1.8, width_m=0.6)
    state, floor = of.state, of.floor
    places, parts = (0.5, 0.7, 0.03), (0.1, 0.2, 0.5)
    kept = np.zeros(3)
    for n in range(1500):
        call(forget_risk, state, 0)
        for k, (x, part) in enumerate(zip(places, parts, strict=True)):
            put(of, 1, x, 0.3)
            call(risk_in_open, state, floor, 0, 1, part, named_key("moment", n, k))
        assert state.fish.risk[0] == pytest.approx(0.8)
        at = places.index(state.fish.risk_x[0])
        assert state.fish.risk_way[0] == (CHASED_WALL if at == 2 else CHASED_OPEN)
        kept[at] += 1
    shares = np.array(parts) / 0.8
    assert np.all(np.abs(kept / 1500 - shares) < 4.0 * np.sqrt(shares * (1.0 - shares) / 1500))


def test_chases_bring_on_average_what_they_were_likely_to():
    """300 chases into a corner: bites seen and bites expected, within 4 errors of their gap."""
    seen, likely = [], []
    for run in range(300):
        of, end = chase(
            run=run, at=((0.1, 0.09), (0.03, 0.03)), home=(0.1, 0.1), lengths=(0.12, 0.1)
        )
        if end == HIDDEN:
            continue
        seen.append(of.state.log.bites[0])
        likely.append(of.state.pool.risk[0])
    gap = np.array(seen) - np.array(likely)
    assert np.mean(likely) > 0.1
    assert abs(gap.mean()) < 4.0 * gap.std(ddof=1) / math.sqrt(len(gap))
    assert np.std(likely) < np.std(seen)


def test_raids_bring_on_average_what_leaps_draw_for_them():
    """300 chases to a large pot that both fit: bites seen, and drawn anew from what was pooled."""
    pot = piece("pot", "8 in", 0.6, 0.3, turn_rad=math.pi)
    seen, drawn, entered = [], [], 0
    for run in range(300):
        of, _ = chase(run=run, pieces=[pot], lengths=(0.08, 0.07), **BEFORE)
        state = of.state
        row = state.pool[0]
        entered += int(row.entries > 0)
        seen.append(int(state.log.bites[0]))
        keys = [named_key("raid", run, k) for k in range(20)]
        entries, stay = int(row.entries), float(row.stay)
        inside = [call(bites_in_rooms, state, entries, stay, key) for key in keys]
        drawn.append(float(row.risk) + np.mean(inside))
    gap = np.array(seen) - np.array(drawn)
    assert entered > 100
    assert abs(gap.mean()) < 4.0 * gap.std(ddof=1) / math.sqrt(len(gap))
    assert np.std(drawn) < 0.7 * np.std(seen)


def leapt_bites(*, risk: float, entries: int, stay: float, number: int = 2000) -> np.ndarray:
    of = history(fish(), fish(length_m=0.08))
    state = of.state
    row = state.pool[0]
    state.tank.pool_rows[0] = 1
    row.attacker, row.victim, row.weight = 0, 1, 1.0
    row.risk, row.entries, row.stay = risk, entries, stay
    row.risk_x = row.in_x = 0.3
    row.risk_y = row.in_y = 0.2
    row.risk_way = CHASED_OPEN
    found = []
    for k in range(number):
        state.fish.skin[:] = state.fish.scales[:] = 0.0
        state.log.bites[0] = 0
        call(leapt_chase, state, of.floor, 0, 1, 0)
        assert state.log.harm[0] >= 0.0
        found.append(state.log.bites[0])
        assert state.pair.chases[0, 1] == k + 1
    assert state.tally.bites_taken[1] == sum(found)
    return np.array(found)


def test_a_leapt_chase_draws_its_bites_anew():
    """Poisson in the open: mean and variance 0.4, within 4 errors; more where it went in."""
    outside = leapt_bites(risk=0.4, entries=0, stay=0.0)
    assert outside.mean() == pytest.approx(0.4, abs=4.0 * math.sqrt(0.4 / 2000))
    assert outside.var() == pytest.approx(0.4, rel=0.16)
    inside = leapt_bites(risk=0.4, entries=1, stay=0.667)
    par = history(fish(), fish()).state.par[0]
    assert inside.mean() - outside.mean() == pytest.approx(par.bite_rate * 0.667, rel=0.15)
    assert leapt_bites(risk=0.0, entries=0, stay=0.0, number=50).sum() == 0
