"""Scene: what of a tank does not move, as plain values for the drawing in the browser.

Metres, seen from above, the front glass at the bottom. It is sent once, and again when a piece
moves.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import shapely

from sim.scenario import company
from viz.app.building.scene import COLOURS, doors_of, ring_of
from viz.app.moment import rings_of

if TYPE_CHECKING:
    from sim.layout import Layout
    from sim.scenario import Scenario


def scene_of(scenario: Scenario, layout: Layout) -> dict[str, Any]:
    """Return the scene of a tank with the furniture of a layout.

    Parameters
    ----------
    scenario
        Its fish.
    layout
        Its pieces; one of the stages of the scenario's layout.
    """
    return {
        "tank": {
            "length": layout.length_m,
            "width": layout.width_m,
            "substrate": scenario.tank.substrate,
        },
        "pieces": [
            {
                "name": piece.name,
                "group": piece.kind.group,
                "kind": piece.kind.key,
                "x": piece.outline.centroid.x,
                "y": piece.outline.centroid.y,
                "turn": piece.turn_rad,
                "outline": ring_of(piece.outline),
                "room": None if piece.room is None else ring_of(piece.room),
                "doors": doors_of(piece),
            }
            for piece in layout.pieces
        ],
        "fish": fish_of(scenario),
    }


def fish_of(scenario: Scenario) -> list[dict[str, Any]]:
    """Return how each fish is drawn: number, name, length, shape, and which species it is.

    Parameters
    ----------
    scenario
        A checked scenario.
    """
    members = company(scenario)
    kinds = list(dict.fromkeys(member.species.key for member in members))
    return [
        {
            "number": number + 1,
            "name": member.name,
            "species": member.species.names[0],
            "colour": kinds.index(member.species.key) % COLOURS,
            "length": float(shown_length(member)),
            "wide": member.species.width_ratio,
            "shape": member.species.shape,
        }
        for number, member in enumerate(members)
    ]


def shown_length(member: Any) -> float:
    """Return the length (m) a fish is drawn at before a run has drawn its own."""
    from sim.summary import length_at_least, length_at_most

    return 0.5 * (length_at_least(member) + length_at_most(member))


def sight_rings(layout: Layout, at: tuple[float, float]) -> list[Any]:
    """Return the outlines of what a fish sees from a point near the floor.

    Parameters
    ----------
    layout
        With the furniture of the moment.
    at
        In m.
    """
    from viz.app.editing.overlays import sight_region

    region: shapely.Geometry = sight_region(layout, at)
    return [list(ring) for ring in rings_of(region)]
