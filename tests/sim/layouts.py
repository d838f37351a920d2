"""Invented layouts that several tests share."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from sim.layout import Layout
from sim.scenario import Piece, Scenario


def piece(kind: str, size: str | None, x_m: float, y_m: float, **more: Any) -> dict[str, Any]:
    return {"kind": kind, "size": size, "x_m": x_m, "y_m": y_m, **more}


def block(length_m: float, width_m: float, x_m: float, y_m: float, **more: Any) -> dict[str, Any]:
    """A stone of given measures, a rectangle seen from above, 30 cm high unless said."""
    given = {"length_m": length_m, "width_m": width_m, "height_m": 0.3, **more}
    return {"kind": "rock-wall", "x_m": x_m, "y_m": y_m, **given}


def scenario(
    pieces: list[dict[str, Any]],
    *,
    length_m: float = 1.22,
    width_m: float = 0.457,
    height_m: float = 0.533,
    fish: list[dict[str, Any]] | None = None,
) -> Scenario:
    tank = {"length_m": length_m, "width_m": width_m, "height_m": height_m}
    fish = [{"species": "convict"}] if fish is None else fish
    return Scenario.model_validate({"tank": tank, "pieces": pieces, "fish": fish})


def layout(pieces: list[dict[str, Any]], **more: Any) -> Layout:
    return Layout(scenario(pieces, **more))


def one(**values: Any) -> Piece:
    return Piece.model_validate({"name": "thing", "x_m": 0.0, "y_m": 0.0, **values})


def furnished(**more: Any) -> Layout:
    """A six-foot tank with twelve pieces of many kinds and heights, nothing aligned with cells."""
    found = layout(
        [
            piece("boulder", "8 in", 0.203, 0.201, turn_rad=0.31),
            piece("boulder", "10 in", 0.611, 0.302, turn_rad=1.03),
            piece("pot", "6 in", 1.003, 0.121, turn_rad=0.23),
            piece("pot", "4 in", 1.307, 0.303, turn_rad=2.07),
            piece("slate", "8 in", 0.887, 0.357),
            piece("driftwood", "14 in", 1.457, 0.173, turn_rad=0.17),
            piece("plant", "tall", 0.117, 0.347),
            piece("plant", "medium", 1.738, 0.093),
            piece("cobble", "6 in", 0.391, 0.083),
            piece("pipe", "3 in", 0.787, 0.127, turn_rad=1.31),
            piece("cobble", "4 in", 1.187, 0.087),
            piece("rock-cave", "8 in", 1.697, 0.313, turn_rad=-1.9),
        ],
        length_m=1.829,
        **more,
    )
    assert found.problems() == []
    return found


def scattered(seed: int, *, n_pieces: int = 7) -> Layout:
    """A four-foot tank with blocks of any height at random, some overlapping or at the glass."""
    rng = np.random.default_rng(seed)
    pieces = [
        block(
            *rng.uniform(0.05, 0.25, 2),
            *rng.uniform([0.1, 0.1], [1.1, 0.35]),
            height_m=rng.uniform(0.02, 0.53),
            turn_rad=rng.uniform(0, math.tau),
            shape=["rectangle", "ellipse"][i % 2],
        )
        for i in range(n_pieces)
    ]
    return layout(pieces)


def inside(shape: Polygon, xy: np.ndarray) -> np.ndarray:
    """Ray casting, written out: a second way to ask whether points lie in an outline."""
    corners = np.asarray(shape.exterior.coords)
    odd = np.zeros(len(xy), dtype=bool)
    for (ax, ay), (bx, by) in pairwise(corners):
        spans = (ay > xy[:, 1]) != (by > xy[:, 1])
        with np.errstate(divide="ignore", invalid="ignore"):
            odd ^= spans & (xy[:, 0] < ax + (xy[:, 1] - ay) * (bx - ax) / (by - ay))
    return odd
