"""Where harm is taken: on whose ground, how far from cover, against what; it all adds up."""

from __future__ import annotations

import numpy as np
import pytest

from sim.draws import named_key
from sim.records import HARM_SHAPE
from sim.rules.chase import end_chase
from sim.rules.claim import claims_on_cells, holder_of
from sim.rules.codes import (
    CHASED_INSIDE,
    CHASED_OPEN,
    CHASED_WALL,
    COVER_BANDS,
    COVER_FAR,
    COVER_INSIDE,
    COVER_MIDDLE,
    COVER_NEAR,
    COVER_NONE,
    COVER_REACH,
    FRY,
    GROUND_BITER,
    GROUND_OPEN,
    GROUND_OTHER,
    GROUND_PAIR,
    GROUND_VICTIM,
    GROUNDS,
    HARM_CONTEST,
    HARM_WAYS,
    LEFT,
    STAGES,
)
from sim.rules.encounter import conclude_at, leapt_chase, place_of_leapt_contest
from sim.rules.harm import cover_band, ground_of, way_to_cover
from sim.rules.raid import bite_in_chase
from sim.rules.risk import forget_risk, risk_in_open
from sim.rules.see import cell_at
from tests.sim.calling import call
from tests.sim.layouts import piece
from tests.sim.worlds import fish, history, nearest_site, put, shipped_history


def company(**more):
    """Two convicts that hold ground at either end, one that holds none, and two pots."""
    of = history(
        fish(name="Left", length_m=0.09),
        fish(name="Right", length_m=0.09),
        fish(name="Guest", length_m=0.08),
        pieces=[
            piece("pot", "6 in", 0.2, 0.3, name="left pot", turn_rad=-1.57),
            piece("pot", "6 in", 1.6, 0.3, name="right pot", turn_rad=-1.57),
        ],
        length_m=1.83,
        changes={"harm_per_bite": 0.005, "wound_chance": 0.6, "reach_calm": 4.0},
        **more,
    )
    for i, x in enumerate((0.2, 1.6)):
        row = of.state.fish[i]
        row.site = nearest_site(of, x, 0.15)
        row.reach = 0.4
        put(of, i, x, 0.1)
    put(of, 2, 0.9, 0.2)
    return of


def bites(of, n: int, *, at: tuple[float, float], part: str = "bite") -> float:
    """Let Left bite Guest so often at a place, the guest whole again after each."""
    put(of, 2, *at)
    before = of.state.tally.dose[2]
    for k in range(n):
        of.state.fish[2].skin = of.state.fish[2].scales = 0.0
        call(bite_in_chase, of.state, of.floor, 0, 2, named_key(part, k))
    return float(of.state.tally.dose[2] - before)


def test_the_names_are_as_many_as_the_table_has_places():
    assert (len(HARM_WAYS), len(GROUNDS), len(STAGES), len(COVER_BANDS)) == HARM_SHAPE


def test_whose_territory_a_cell_is_in_is_who_claims_it_most():
    of = company()
    state, floor = of.state, of.floor
    claims = np.zeros((3, int(floor.dims[6])))
    claims_on_cells(state, floor, claims)
    claims[claims <= state.par.claim_edge[0]] = 0.0
    seen = set()
    for cell in np.flatnonzero(floor.free[0]):
        best = int(np.argmax(claims[:, cell])) if claims[:, cell].any() else -1
        assert call(holder_of, state, floor, int(cell)) == best
        seen.add(best)
    assert seen == {-1, 0, 1}


@pytest.mark.parametrize(
    ("holder", "mates", "ground"),
    [
        (-1, (), GROUND_OPEN),
        (0, (), GROUND_BITER),
        (2, (), GROUND_VICTIM),
        (1, (), GROUND_OTHER),
        (1, (0, 1), GROUND_BITER),
        (1, (2, 1), GROUND_VICTIM),
        (2, (0, 2), GROUND_PAIR),
        (1, (0, 2), GROUND_OTHER),
    ],
)
def test_what_one_of_a_pair_holds_is_its_mates_too(holder, mates, ground):
    of = company()
    if mates:
        of.state.fish.mate[mates[0]], of.state.fish.mate[mates[1]] = mates[1], mates[0]
    assert call(ground_of, of.state, 0, 2, holder) == ground


def test_a_bite_is_kept_where_its_victim_was_and_how_it_was_taken():
    of = company()
    state = of.state
    state.tank.stage = FRY
    home = bites(of, 40, at=(0.25, 0.12))
    glass = bites(of, 40, at=(0.9, 0.02), part="glass")
    away = bites(of, 40, at=(1.5, 0.1), part="away")
    assert min(home, glass, away) > 0.01
    table = state.harm[2].sum(axis=3)
    assert table[CHASED_OPEN, GROUND_BITER, FRY] == pytest.approx(home)
    assert table[CHASED_WALL, GROUND_OPEN, FRY] == pytest.approx(glass)
    assert table[CHASED_OPEN, GROUND_OTHER, FRY] == pytest.approx(away)
    assert state.harm[2].sum() == pytest.approx(home + glass + away)
    assert state.harm[:2].sum() == 0.0
    outcome = of.outcome()
    assert outcome.harm_by[0, 2] == pytest.approx(home + glass + away)
    assert outcome.harm_on[2] == pytest.approx([home, away, 0.0, glass])
    # Blocks are 8 cm: row-major from the front left corner.
    spots = outcome.harm_spots[2]
    assert spots.shape == (6, 23)
    assert spots[1, 3] == pytest.approx(home)
    assert spots[0, 11] == pytest.approx(glass)
    assert spots[1, 18] == pytest.approx(away)


def test_the_distance_is_to_swim_to_a_door_that_the_victim_passes():
    of = company()
    state, floor = of.state, of.floor
    expected = {COVER_NEAR: 0.1, COVER_REACH: 0.2, COVER_MIDDLE: 0.4, COVER_FAR: 9.0}
    seen = set()
    for x in np.arange(0.3, 1.2, 0.05):
        cell = call(cell_at, floor, float(x), 0.1)
        away = call(way_to_cover, state, floor, 2, cell)
        assert away == pytest.approx(min(floor.door_dist[:, cell]))
        band = call(cover_band, state, floor, 2, cell, CHASED_OPEN)
        assert away < expected[band]
        assert call(cover_band, state, floor, 2, cell, CHASED_INSIDE) == COVER_INSIDE
        seen.add(band)
    assert {COVER_REACH, COVER_MIDDLE, COVER_FAR} <= seen
    state.fits[2, 0] = 0  # now the other pot is the nearest
    cell = call(cell_at, floor, 0.3, 0.1)
    assert call(way_to_cover, state, floor, 2, cell) == pytest.approx(floor.door_dist[1, cell])
    state.fits[2, :] = 0
    assert call(cover_band, state, floor, 2, cell, CHASED_OPEN) == COVER_NONE


def test_a_bite_in_a_hiding_place_is_told_apart():
    of = company()
    state = of.state
    put(of, 2, 0.2, 0.3)
    state.fish[2].room = 0
    for k in range(40):
        state.fish[2].skin = state.fish[2].scales = 0.0
        call(bite_in_chase, state, of.floor, 0, 2, named_key("inside", k))
    dose = state.tally.dose[2]
    assert dose > 0.01
    assert state.harm[2, CHASED_INSIDE, :, :, COVER_INSIDE].sum() == pytest.approx(dose)


def watched_chase(of, x: float, y: float, *, bitten: bool) -> None:
    """A chase of Guest by Left that ends elsewhere than where it was likely to bite."""
    state = of.state
    call(forget_risk, state, 0)
    if bitten:
        put(of, 2, x, y)
        call(risk_in_open, state, of.floor, 0, 2, 1.5, named_key("risk"))
    put(of, 2, 0.6, 0.4)
    call(end_chase, state, of.floor, 0, 2, LEFT, 1.0)
    state.harm[...] = 0.0
    state.harm_spots[...] = 0.0


def test_leapt_harm_is_taken_where_the_watched_chase_was_likely_to_bite():
    of = company()
    state, floor = of.state, of.floor
    watched_chase(of, 0.25, 0.12, bitten=True)
    before = state.tally.dose[2]
    for _ in range(40):
        state.fish[2].skin = state.fish[2].scales = 0.0
        call(leapt_chase, state, floor, 0, 2, 0)
    harm = state.tally.dose[2] - before
    assert harm > 0.01
    assert state.harm[2, CHASED_OPEN, GROUND_BITER].sum() == pytest.approx(harm)
    spots = of.outcome().harm_spots[2]
    assert spots[1, 3] == pytest.approx(harm)
    assert spots.sum() == pytest.approx(harm)


@pytest.mark.parametrize(("bitten", "x"), [(True, 0.25), (False, 0.6)])
def test_a_leapt_contest_is_placed_by_a_watched_chase(bitten, x):
    of = company()
    watched_chase(of, 0.25, 0.12, bitten=bitten)
    put(of, 2, 1.5, 0.2)
    y = 0.12 if bitten else 0.4
    assert call(place_of_leapt_contest, of.state, 0, 2) == (x, y)


def test_before_any_chase_a_leapt_contest_is_where_its_victim_was_last_seen():
    of = company()
    assert call(place_of_leapt_contest, of.state, 0, 2) == (0.9, 0.2)


def test_a_contest_hurts_each_where_it_was():
    of = company()
    put(of, 1, 1.5, 0.1)
    at = (0.25, 0.12, 1.5, 0.1)
    state = of.state
    state.par.harm_per_bite = 0.01
    for _ in range(5):
        call(conclude_at, state, of.floor, 2, 1, at, -1, 900.0, 900.0, 0.0, 0.1, 0.0, 0.1)
    won, lost = state.tally.dose[1], state.tally.dose[2]
    assert lost > won > 0.0
    assert state.harm[2, HARM_CONTEST, GROUND_OTHER].sum() == pytest.approx(lost)
    assert state.harm[1, HARM_CONTEST, GROUND_VICTIM].sum() == pytest.approx(won)
    spots = of.outcome().harm_spots
    assert spots[2, 1, 3] == pytest.approx(lost)
    assert spots[1, 1, 18] == pytest.approx(won)


@pytest.mark.parametrize(
    "name", ["convict-pair-forms", "small-tetras-large-cichlid", "convict-four-foot-settled"]
)
def test_the_harm_of_a_run_is_its_dose_by_whatever_it_is_told(name):
    of = shipped_history(name, days=3, run=2, changes={"attack_rate": 0.5})
    of.advance()
    outcome = of.outcome()
    dose = outcome.fish["dose"]
    assert dose.sum() > 0.05
    assert outcome.harm.sum(axis=(1, 2, 3, 4)) == pytest.approx(dose)
    assert outcome.harm_by.sum(axis=0) == pytest.approx(dose)
    assert outcome.harm_on.sum(axis=1) == pytest.approx(dose)
    assert outcome.harm_spots.sum(axis=(1, 2)) == pytest.approx(dose)
    if name == "convict-pair-forms":
        assert outcome.harm[:, HARM_CONTEST].sum() > 0.0
    assert outcome.harm[:, CHASED_OPEN:].sum() > 0.0
    held = outcome.harm[:, :, [GROUND_BITER, GROUND_VICTIM, GROUND_OTHER, GROUND_PAIR]].sum()
    assert outcome.harm_on[:, :-1].sum() == pytest.approx(held)
