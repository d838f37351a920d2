"""Territories as polygons agree with the cells that the ticks count."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from shapely import unary_union

from sim.check import check_file
from sim.engine import History
from sim.ground import claim_grids, holders, territories

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module", params=["convict-spawning", "juveniles-crowd"])
def history(request):
    checked = check_file(SCENARIOS / f"{request.param}.toml")
    run = History(checked.scenario, checked.layout, run=1)
    run.advance(until_day=12.0)
    return run


def test_somebody_holds_ground(history):
    assert holders(history)
    assert all(len(rows) in (1, 2) for rows in holders(history))


def test_polygon_areas_agree_with_counted_cells(history):
    # The bound of counting: half the outline's length times the cell.
    cell = history.floor.dims[3]
    free = history.floor.free[0].reshape(claim_grids(history).shape[1:]) == 1
    grids = claim_grids(history)
    edge = float(history.state.par.claim_edge[0])
    checked = 0
    for k, territory in enumerate(territories(history)):
        others = np.delete(grids, k, axis=0).max(axis=0, initial=edge)
        cells = (grids[k] > np.maximum(others, edge)) & free
        counted = cells.sum() * cell**2
        padded = np.pad(cells, 1)
        sides = (padded[1:] != padded[:-1]).sum() + (padded[:, 1:] != padded[:, :-1]).sum()
        assert abs(territory.area_m2 - counted) <= 0.5 * sides * cell * cell + 1e-9
        checked += counted > 0
    assert checked > 0


def test_polygons_do_not_overlap_and_stay_in_the_glass(history):
    outlines = [t.outline for t in territories(history)]
    total = sum(outline.area for outline in outlines)
    assert unary_union(outlines).area == pytest.approx(total, rel=1e-6)
    for outline in outlines:
        if not outline.is_empty:
            x0, y0, x1, y1 = outline.bounds
            assert x0 >= -1e-9
            assert y0 >= -1e-9
            assert x1 <= history.floor.dims[0] + 1e-9
            assert y1 <= history.floor.dims[1] + 1e-9


def test_the_pair_holds_one_territory_round_its_brood():
    checked = check_file(SCENARIOS / "convict-spawning.toml")
    run = History(checked.scenario, checked.layout)
    run.advance(until_day=11.5)
    row = run.state.broods[0]
    pair = [t for t in territories(run) if len(t.fish) == 2]
    assert len(pair) == 1
    assert set(pair[0].fish) == {int(row.mother), int(row.father)}
    assert pair[0].site == int(row.place)
