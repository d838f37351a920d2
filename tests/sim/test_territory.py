"""Territories as polygons, against Voronoi cells, circles and the count of cells."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPoint, Point, box

from sim.territory import claim_leads, territory_polygons

LENGTH_M, WIDTH_M, CELL_M, THRESHOLD = 1.2, 0.6, 0.04, 0.1


def claims_of(
    sites: np.ndarray, reach_m: np.ndarray | float, *, cell_m: float = CELL_M
) -> np.ndarray:
    """A claim that falls to the threshold at its reach: 0.1 to the power of (d / reach) squared."""
    nx, ny = round(LENGTH_M / cell_m), round(WIDTH_M / cell_m)
    x, y = np.meshgrid((np.arange(nx) + 0.5) * cell_m, (np.arange(ny) + 0.5) * cell_m)
    dist = np.hypot(x - sites[:, 0, None, None], y - sites[:, 1, None, None])
    return THRESHOLD ** ((dist / np.reshape(reach_m, (-1, 1, 1))) ** 2)


def polygons(claims: np.ndarray, *, cell_m: float = CELL_M) -> list[shapely.Geometry]:
    return territory_polygons(
        claims, cell_m=cell_m, size_m=(LENGTH_M, WIDTH_M), threshold=THRESHOLD
    )


@pytest.mark.parametrize(("cell_m", "tolerance"), [(0.04, 0.02), (0.02, 0.005), (0.01, 0.0015)])
def test_one_owner_in_open_water_holds_a_circle(cell_m: float, tolerance: float) -> None:
    # the claim is curved between centres: the error falls with the cell's square
    claims = claims_of(np.array([[0.61, 0.29]]), 0.25, cell_m=cell_m)
    (shape,) = polygons(claims, cell_m=cell_m)
    assert shape.area == pytest.approx(math.pi * 0.25**2, rel=tolerance)
    assert shape.centroid.coords[0] == pytest.approx((0.61, 0.29), abs=0.002)


@pytest.mark.parametrize("seed", range(5))
def test_equal_owners_split_open_water_as_a_voronoi_diagram(seed: int) -> None:
    """Six owners (seeded) whose reach is beyond the glass, against shapely's Voronoi cells."""
    rng = np.random.default_rng(seed)
    sites = rng.uniform([0.05, 0.05], [LENGTH_M - 0.05, WIDTH_M - 0.05], (6, 2))
    glass = box(0, 0, LENGTH_M, WIDTH_M)
    cells = shapely.get_parts(shapely.voronoi_polygons(MultiPoint(sites), extend_to=glass))
    for site, shape in zip(sites, polygons(claims_of(sites, 3.0)), strict=True):
        (cell,) = [c.intersection(glass) for c in cells if c.contains(Point(site))]
        # claims are smooth across a border: a tenth of a cell on average at the worst of these,
        # most of it beside the glass and where three meet
        wrong_m2 = shape.symmetric_difference(cell).area
        assert wrong_m2 < 0.12 * cell.length * CELL_M
        assert shape.area == pytest.approx(cell.area, abs=0.5 * cell.length * CELL_M)


def test_equal_owners_of_short_reach_hold_what_both_diagrams_share() -> None:
    sites = np.array([[0.3, 0.3], [0.6, 0.3], [1.05, 0.3]])
    found = polygons(claims_of(sites, 0.2))
    half = math.acos(0.15 / 0.2)
    lens_half = 0.2**2 * (half - math.sin(half) * math.cos(half))
    whole = math.pi * 0.2**2
    third = 0.2**2 * (math.acos(0.75) - math.sin(math.acos(0.75)) * 0.75)  # beyond the glass
    assert [shape.area for shape in found] == pytest.approx(
        [whole - lens_half, whole - lens_half, whole - third], rel=0.03
    )


def test_the_owner_of_longer_reach_holds_an_apollonius_circle_against_the_other() -> None:
    sites = np.array([[0.3, 0.3], [0.7, 0.3]])
    small, large = polygons(claims_of(sites, [0.6, 1.2], cell_m=0.01), cell_m=0.01)
    # points half as far from the first as from the second: a circle on the line of both sites,
    # from 0.3 - 0.4 to 0.3 + 0.4 / 3
    middle, radius_m = 0.3 + (0.4 / 3 - 0.4) / 2, (0.4 / 3 + 0.4) / 2
    circle = Point(middle, 0.3).buffer(radius_m, quad_segs=64)
    glass = box(0, 0, LENGTH_M, WIDTH_M)
    assert small.area == pytest.approx(circle.intersection(glass).area, rel=0.005)
    assert not large.intersects(small.buffer(-0.002))


def perimeter_m(cells: np.ndarray) -> float:
    """The outline of the cells a holder leads, the glass included."""
    ring = np.pad(cells, 1).astype(int)
    steps = np.abs(np.diff(ring, axis=0)).sum() + np.abs(np.diff(ring, axis=1)).sum()
    return float(steps * CELL_M)


def test_area_agrees_with_the_cells_the_rules_count() -> None:
    """400 fields of claims (seed 11): within half a cell all round.

    The contour runs between the centres of a cell that is led and one that is not, so at most
    half a cell from the border of the two. Where claims are smooth that may be said of the
    polygon's own perimeter; broken ones, drawn cell by cell, can have a tiny polygon in a cell.
    """
    rng = np.random.default_rng(11)
    errors = []
    for trial in range(400):
        smooth = trial % 2 == 0
        if smooth:
            sites = rng.uniform([0, 0], [LENGTH_M, WIDTH_M], (4, 2))
            claims = claims_of(sites, rng.uniform(0.15, 0.5, 4))
        else:
            claims = rng.choice([0, 0.05, 0.1, 0.2, 0.5, 1.0], size=(3, 15, 30))
        leads = claim_leads(claims, threshold=THRESHOLD)
        for lead, shape in zip(leads, polygons(claims), strict=True):
            counted = (lead > 0).sum() * CELL_M**2
            around_m = perimeter_m(lead > 0)
            assert shape.is_valid
            assert abs(shape.area - counted) <= 0.5 * around_m * CELL_M
            if smooth and counted > 20 * CELL_M**2:
                assert abs(shape.area - counted) <= 0.5 * shape.length * CELL_M
                errors.append(abs(shape.area - counted) / counted)
    # 1.1 % in the middle of these (4 cm cells), far below the bound
    assert len(errors) > 300
    assert np.median(errors) < 0.02


def test_no_point_has_two_owners() -> None:
    rng = np.random.default_rng(12)
    sites = rng.uniform([0, 0], [LENGTH_M, WIDTH_M], (8, 2))
    found = polygons(claims_of(sites, rng.uniform(0.1, 0.5, 8)))
    for i, one in enumerate(found):
        for other in found[:i]:
            # where three meet, each contour cuts its own corner of a cell
            assert one.intersection(other).area < 0.5 * CELL_M**2


def test_a_territory_reaches_the_glass_and_not_beyond() -> None:
    nx, ny = 31, 12  # the last column and row hang over the glass
    (shape,) = territory_polygons(
        np.ones((1, ny, nx)), cell_m=0.04, size_m=(1.22, 0.457), threshold=THRESHOLD
    )
    assert shape.equals(box(0, 0, 1.22, 0.457))


def test_a_hole_and_two_parts() -> None:
    claims = np.zeros((1, 15, 30))
    claims[0, 3:12, 3:12] = 1.0
    claims[0, 6:9, 6:9] = 0.0
    claims[0, 5:8, 20:25] = 1.0
    (shape,) = polygons(claims)
    parts = sorted(shape.geoms, key=lambda part: part.area)
    assert [len(part.interiors) for part in parts] == [0, 1]


def test_who_leads_nowhere_has_an_empty_territory() -> None:
    claims = np.full((2, 15, 30), 0.5)
    claims[1] = 0.09
    first, second = polygons(claims)
    assert first.area == pytest.approx(LENGTH_M * WIDTH_M)
    assert second.is_empty
    tied = polygons(np.full((2, 15, 30), 0.5))
    assert all(shape.is_empty for shape in tied)
    assert (
        territory_polygons(
            np.empty((0, 15, 30)), cell_m=CELL_M, size_m=(LENGTH_M, WIDTH_M), threshold=THRESHOLD
        )
        == []
    )


def test_leads_in_closed_form() -> None:
    claims = np.array([[[0.5, 0.05]], [[0.2, 0.3]]])
    leads = claim_leads(claims, threshold=0.1)
    assert leads == pytest.approx(np.array([[[0.3, -0.25]], [[-0.3, 0.2]]]))
