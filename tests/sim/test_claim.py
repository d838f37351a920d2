"""Claims: the published radius, swim distance, shade, layers, and the ground that is counted."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.rules.claim import (
    body_reach,
    claims_on_cells,
    curve,
    exposure,
    layer_factor,
    measure_ground,
    site_claim,
)
from sim.rules.see import cell_at
from sim.rules.settle import hold
from tests.sim.calling import call
from tests.sim.layouts import block
from tests.sim.worlds import fish, fixed_bytes, history, nearest_site, put


def owner(*, pieces=None, length_m=0.09, size=(3.0, 2.0), others=1, without=()):
    of = history(
        fish(length_m=length_m, sex="male"),
        *(fish(name=f"other {k}", length_m=0.07, sex="male") for k in range(others)),
        pieces=pieces,
        length_m=size[0],
        width_m=size[1],
        without=without,
    )
    of.state.fish["site"] = -1
    hold_at(of, 0, size[0] / 2, size[1] / 2)
    return of


def hold_at(of, i: int, x: float, y: float) -> None:
    site = nearest_site(of, x, y)
    call(hold, of.state, i, site)
    put(of, i, *map(float, of.floor.site_xy[site]))


def claim_at(of, i: int, x: float, y: float, kind: float = 1.0) -> float:
    return call(site_claim, of.state, of.floor, i, call(cell_at, of.floor, x, y), kind)


@pytest.mark.parametrize("length_m", [0.05, 0.09, 0.2])
def test_the_claim_at_the_published_radius_is_the_edge(length_m):
    """On the curve, 257 points of theta^(u^2) joined by lines: within 2e-4."""
    of = owner(length_m=length_m)
    state, p = of.state, of.state.par[0]
    reach = p.reach_calm * length_m * (length_m / p.calm_length) ** p.reach_growth
    assert call(body_reach, state, length_m, p.reach_calm, p.calm_length) == pytest.approx(reach)
    assert state.fish.reach[0] == pytest.approx(reach)
    assert call(curve, state, 1.0) == pytest.approx(p.claim_edge)
    assert call(curve, state, 0.0) == 1.0
    assert call(curve, state, 4.0) == 0.0
    for u in np.linspace(0.0, 1.99, 40):
        assert call(curve, state, u * u) == pytest.approx(p.claim_edge ** (u * u), abs=2e-4)


def test_reach_in_lengths_is_what_the_papers_measured_at_their_length():
    of = owner(length_m=0.05)
    assert of.state.fish.reach[0] == pytest.approx(5 * 0.05)
    larger = owner(length_m=0.10)
    assert larger.state.fish.reach[0] == pytest.approx(0.25 * 2**1.3)


def test_a_claim_never_exceeds_one_and_falls_with_swim_distance():
    of = owner(pieces=[block(0.03, 1.2, 1.7, 1.0, height_m=0.02)])
    floor = of.floor
    cells = range(len(floor.free[0]))
    claims = np.array([call(site_claim, of.state, floor, 0, cell, 1.0) for cell in cells])
    assert claims.max() <= 1.0
    seen = floor.site_seen[of.state.fish.site[0]] == 1
    away = floor.site_dist[of.state.fish.site[0]][seen]
    order = np.argsort(away)
    assert np.all(np.diff(claims[seen][order]) <= 1e-12)
    assert claims[seen][order][0] > 0.95
    assert claims.min() >= 0.0


def test_a_wall_lengthens_the_way_and_shades_what_is_behind_it():
    wall = [block(0.03, 0.25, 1.6, 1.0)]
    open_tank, walled = owner(), owner(pieces=wall)
    unshaded = owner(pieces=wall, without=("occlusion",))
    front, behind = (1.3, 1.0), (1.7, 1.0)
    assert claim_at(walled, 0, *front) == pytest.approx(claim_at(open_tank, 0, *front), abs=0.05)
    assert claim_at(walled, 0, *behind) < claim_at(unshaded, 0, *behind)
    assert claim_at(unshaded, 0, *behind) < 0.6 * claim_at(open_tank, 0, *behind)
    cell = call(cell_at, walled.floor, *behind)
    site = walled.state.fish.site[0]
    u = walled.floor.site_dist[site, cell] / walled.state.fish.reach[0]
    for of, share in ((walled, 0.6), (unshaded, 1.0)):
        expected = 0.1 ** (u * u / share) if u * u / share < 4 else 0.0
        assert claim_at(of, 0, *behind) == pytest.approx(expected, abs=2e-4)


def test_own_kind_is_kept_farther_off_than_similar_than_other():
    of = owner(others=0)
    p = of.state.par[0]
    kinds = (p.reach_own_kind, p.reach_similar, p.reach_other)
    claims = [claim_at(of, 0, 1.8, 1.0, k) for k in kinds]
    assert claims[0] > claims[1] > claims[2] > 0.0


def test_layers_apart_leave_less_of_a_claim():
    of = owner()
    p = of.state.par[0]
    for a in range(3):
        for b in range(3):
            want = (1.0, p.layer_one, p.layer_two)[abs(a - b)]
            assert call(layer_factor, of.state, a, b) == want


def exposure_at(of, x: float, y: float, layer: int = 0) -> float:
    put(of, 1, x, y, layer=layer)
    a, b = of.state.fish[0], of.state.fish[1]
    return call(exposure, of.state, of.floor, 0, 1, float((a.x - b.x) ** 2 + (a.y - b.y) ** 2))


def test_exposure_is_the_claim_less_what_the_other_claims_at_home():
    of = owner()
    p, state = of.state.par[0], of.state
    at = (1.9, 1.0)
    free = exposure_at(of, *at)
    cell = state.fish.cell[1]
    kind = state.pair.kind_reach[0, 1]
    assert free == pytest.approx(call(site_claim, state, of.floor, 0, cell, kind))
    assert exposure_at(of, *at, layer=1) == pytest.approx(p.layer_one * free)
    state.fish.site[1] = nearest_site(of, *at)
    state.fish.reach[1] = state.fish.reach[0]
    home = exposure_at(of, *at)
    own = call(site_claim, state, of.floor, 1, cell, 1.0)
    assert own > 0.8
    assert home == pytest.approx(free * (1 - own))


def test_outside_the_edge_and_the_own_space_nothing_is_claimed():
    of = owner()
    reach = of.state.fish.reach[0] * of.state.pair.kind_reach[0, 1]
    x, y = map(float, of.floor.site_xy[of.state.fish.site[0]])
    assert exposure_at(of, x + 0.93 * reach, y) > 0.1
    assert exposure_at(of, x + 1.07 * reach, y) == 0.0


def test_a_fish_without_a_site_claims_the_water_round_its_body():
    of = owner()
    p = of.state.par[0]
    of.state.fish.site[0] = -1
    near = p.own_space * of.state.fish.length[0]
    found = [exposure_at(of, float(of.state.fish.x[0]) + s * near, 1.0) for s in (0.02, 0.5, 0.95)]
    dy = 1.0 - float(of.state.fish.y[0])
    for share, got in zip((0.02, 0.5, 0.95), found, strict=True):
        u2 = share**2 + (dy / near) ** 2
        assert got == pytest.approx(p.own_space_claim * 0.1**u2, abs=2e-4)
    assert exposure_at(of, float(of.state.fish.x[0]) + 1.1 * near, 1.0) == 0.0


def test_ground_held_in_open_water_is_the_disc_of_the_reach():
    """Cells counted against pi R^2: within half the perimeter times a cell."""
    of = owner(others=0)
    before = fixed_bytes(of)
    share = call(measure_ground, of.state, of.floor)
    assert fixed_bytes(of) == before
    reach, cell = of.state.fish.reach[0], of.floor.dims[3]
    area = math.pi * reach**2
    slack = math.pi * reach * cell
    assert of.state.fish.area[0] == pytest.approx(area, abs=slack)
    assert of.state.fish.free_area[0] == of.state.fish.area[0]
    assert share == pytest.approx(area / 6.0, abs=slack / 6.0)


def test_two_owners_of_equal_reach_share_the_ground_between_them():
    of = owner(others=1)
    hold_at(of, 0, 1.3, 1.0)
    hold_at(of, 1, 1.7, 1.0)
    of.state.fish.reach[1] = of.state.fish.reach[0]
    call(measure_ground, of.state, of.floor)
    a, b = of.state.fish.area
    reach, cell = of.state.fish.reach[0], of.floor.dims[3]
    d = math.dist(*(of.floor.site_xy[of.state.fish.site[i]] for i in (0, 1)))
    lens = 2 * reach**2 * math.acos(d / 2 / reach) - d / 2 * math.sqrt(4 * reach**2 - d * d)
    assert a == pytest.approx(b, abs=2 * reach * cell)
    assert a + b == pytest.approx(2 * math.pi * reach**2 - lens, abs=2 * math.pi * reach * cell)
    assert of.state.fish.free_area[0] > a


def test_the_ground_counted_is_that_of_the_claims_the_ticks_read():
    of = owner(pieces=[block(0.3, 0.2, 1.9, 1.1)], others=2)
    hold_at(of, 1, 2.2, 0.6)
    call(measure_ground, of.state, of.floor)
    claims = np.zeros((3, int(of.floor.dims[6])))
    claims_on_cells(of.state, of.floor, claims)
    best = claims.max(axis=0)
    edge = of.state.par.claim_edge[0]
    for i in range(3):
        mine = (claims[i] == best) & (claims[i] > edge)
        assert of.state.fish.area[i] == pytest.approx(mine.sum() * of.floor.dims[3] ** 2)
    assert of.state.fish.area[2] == 0.0
