"""Glass: the size of the tank by its trade name or by its sides, its floor, water and light."""

from __future__ import annotations

from typing import Any, Literal

from sim.scenario import Scenario, Tank
from sim.tanks import StandardTank, load_tanks
from viz.app.editing.changing import rebuilt, remade

When = Literal["keep", "stretch"]
TOLERANCE_M = 0.0005  # two sizes this near are one
SIDES = ("length_m", "width_m", "height_m")


def trade_name(tank: Tank) -> str | None:
    """Return what the trade calls a tank of these sides; None where it has no name for it.

    Parameters
    ----------
    tank
        Of a scenario.
    """
    for known in load_tanks().values():
        if all(abs(getattr(known, s) - getattr(tank, s)) < TOLERANCE_M for s in SIDES):
            return known.name
    return None


def trade_sizes() -> tuple[StandardTank, ...]:
    """Return the sizes that have a name, smallest first."""
    return tuple(load_tanks().values())


def resize_tank(
    scenario: Scenario,
    *,
    size: str | None = None,
    length: str | float | None = None,
    width: str | float | None = None,
    height: str | float | None = None,
    pieces: When = "stretch",
) -> Scenario:
    """Return the tank in another size; its dividers are cut to the new width.

    Parameters
    ----------
    scenario
        The tank.
    size
        A name of the trade; or
    length, width, height
        its sides, as text with a unit or in m; a side that is left out stays.
    pieces
        Whether places on the floor keep their distance from the left and front glass, or are
        spread in proportion.

    Raises
    ------
    Refused
        If a size cannot be.
    """
    before = scenario.tank
    sides: dict[str, Any] = {
        key: value
        for key, value in (("length", length), ("width", width), ("height", height))
        if value is not None
    }
    rest = {k: v for k, v in dict(before).items() if k not in SIDES}
    if size is not None:
        from viz.app.editing.changing import checked

        tank = checked(Tank, {**rest, "size": size}, where="tank")
    else:
        tank = remade(before, **{f"{key}_m": value for key, value in sides.items()})
    ratios = (tank.length_m / before.length_m, tank.width_m / before.width_m)
    moved = scenario
    if pieces == "stretch" and ratios != (1.0, 1.0):
        moved = _spread(scenario, ratios)
    cut = tuple(
        remade(p, length_m=tank.width_m, y_m=tank.width_m / 2) if _spans(p, before) else p
        for p in moved.pieces
    )
    return rebuilt(moved, tank=tank, pieces=cut)


def _spans(piece: Any, tank: Tank) -> bool:
    """Whether a piece is a divider from the front glass to the back."""
    from viz.app.editing.furnish import is_divider

    return bool(
        piece.length_m is not None
        and abs(piece.length_m - tank.width_m) < TOLERANCE_M
        and is_divider(piece)
    )


def _spread(scenario: Scenario, ratios: tuple[float, float]) -> Scenario:
    """Every place on the floor, spread in proportion."""
    right, back = ratios

    def far(place: Any) -> Any:
        if place is None or isinstance(place, str):
            return place
        return (round(place[0] * right, 9), round(place[1] * back, 9))

    def part(table: Any) -> Any:
        return remade(table, x_m=round(table.x_m * right, 9), y_m=round(table.y_m * back, 9))

    fish = tuple(
        remade(
            group,
            joins_place=far(group.joins_place),
            established=group.established
            and remade(group.established, owns=far(group.established.owns)),
        )
        for group in scenario.fish
    )
    events = tuple(
        remade(event, place=far(event.place), moves=tuple(map(part, event.moves)))
        for event in scenario.events
    )
    feeding = scenario.feeding
    if feeding is not None:
        feeding = remade(feeding, spots=tuple(map(far, feeding.spots)))
    return rebuilt(
        scenario,
        pieces=tuple(map(part, scenario.pieces)),
        fish=fish,
        events=events,
        feeding=feeding,
        breeding=remade(scenario.breeding, site=far(scenario.breeding.site)),
    )


def set_water(scenario: Scenario, **values: Any) -> Scenario:
    """Return the tank with another substrate, temperature or light.

    Parameters
    ----------
    scenario
        The tank.
    values
        Of `sim.scenario.Tank`: substrate, temperature_c, lights_on_h, light_hours, dusk_hours.

    Raises
    ------
    Refused
        If a value cannot be.
    """
    return rebuilt(scenario, tank=remade(scenario.tank, **values))
