"""What a keeper does and what the fish have behind them, as a scenario says it.

What must hold between its parts, and between them and the rest, is in `sim.scenario_rules`.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, WithJsonSchema, model_validator

from sim.fields import (
    Angle,
    Clock,
    Coordinate,
    Day,
    DayBefore,
    LightHours,
    Minutes,
    Name,
    NameOrPlace,
    Place,
    Share,
    Table,
    shown,
    whole_number,
)

Stage = Literal["courting", "digging", "eggs", "wrigglers", "fry", "resting"]
Deed = Literal[
    "take out",
    "bring back",
    "re-arrange",
    "divider in",
    "divider out",
    "water change",
    "take the fry",
    "lights",
]
Rank = Annotated[
    int,
    whole_number(1, 200, "a rank from 1 (the top) to 200"),
    WithJsonSchema({"type": "integer", "minimum": 1, "maximum": 200}),
]
SmallCount = Annotated[
    int,
    whole_number(0, 200, "a whole number from 0 to 200"),
    WithJsonSchema({"type": "integer", "minimum": 0, "maximum": 200}),
]

_DEED_MAY: dict[str, tuple[str, ...]] = {
    "bring back": ("place",),
    "divider in": ("fish", "place"),
}
_DEED_NEEDS: dict[str, tuple[str, ...]] = {
    "take out": ("fish", "pieces"),
    "bring back": ("fish", "pieces"),
    "re-arrange": ("moves",),
    "divider in": ("divider",),
    "divider out": ("divider",),
    "water change": ("share",),
    "take the fry": (),
    "lights": ("lights_on", "light_hours"),
}


class Brood(Table):
    """A brood that is there at the start."""

    stage: Stage = Field(description="where the brood stands")
    days_in_stage: Day = Field(default=0.0, description="days since the stage began")


class Established(Table):
    """What a fish brings from its time in the tank before day 0."""

    since_day: DayBefore = Field(
        default=0.0, description="the day it came, negative: before the start"
    )
    owns: NameOrPlace | None = Field(default=None, description="the piece or place it holds")
    rank: Rank | None = Field(default=None, description="its rank in the tank, 1 is the top")
    mate: Name | None = Field(default=None, description="the fish it is paired with")
    brood: Brood | None = Field(default=None, description="the brood it guards")
    injury: Share | None = Field(default=None, description="how hurt it is at the start")


class Feeding(Table):
    """When, where and how much is fed."""

    times: tuple[Clock, ...] = Field(default=(), max_length=24, description="times of day")
    spots: tuple[Place, ...] = Field(default=(), max_length=24, description="where the food falls")
    share_of_mass: Share | None = Field(
        default=None, description="food a day, as a share of fish mass"
    )


class Move(Table):
    """A piece given a new place."""

    piece: Name = Field(description="the piece that is moved")
    x_m: Coordinate = Field(description="new place of its middle along the tank")
    y_m: Coordinate = Field(description="new place of its middle across the tank")
    turn_rad: Angle | None = Field(
        default=None, description="how it is turned then; left out: as it was"
    )


class Event(Table):
    """Something done to the tank on a day."""

    name: Name = Field(default="", description="so that a variant can change or remove it")
    on_day: Day = Field(description="the day, 0 is the first")
    at_h: Clock | None = Field(
        default=None, description="time of day; left out: when the light comes on"
    )
    do: Deed = Field(description="what is done")
    fish: tuple[Name, ...] = Field(default=(), max_length=200, description="the fish it is done to")
    pieces: tuple[Name, ...] = Field(
        default=(), max_length=200, description="the pieces it is done to"
    )
    moves: tuple[Move, ...] = Field(
        default=(), max_length=200, description="pieces and their new places"
    )
    divider: Name | None = Field(default=None, description="the divider's name among the pieces")
    place: Place | None = Field(
        default=None,
        description="where the fish are put that are brought back, or moved behind the divider",
    )
    share: Share | None = Field(default=None, description="share of the water that is changed")
    lights_on_h: Clock | None = Field(
        default=None, description="from now on the light comes on then"
    )
    light_hours: LightHours | None = Field(default=None, description="hours of light from now on")

    @model_validator(mode="after")
    def _says_what_it_is_done_to(self) -> Self:
        needs = _DEED_NEEDS[self.do]
        given = {
            "fish": bool(self.fish),
            "pieces": bool(self.pieces),
            "moves": bool(self.moves),
            "divider": self.divider is not None,
            "share": self.share is not None,
            "lights_on": self.lights_on_h is not None,
            "light_hours": self.light_hours is not None,
            "place": self.place is not None,
        }
        may = _DEED_MAY.get(self.do, ())
        if needs and not any(given[key] for key in needs):
            keys = " or ".join(f"`{key}`" for key in needs)
            raise ValueError(f"got do = {shown(self.do)} without {keys}; expected it. Add it.")
        foreign = [key for key, there in given.items() if there and key not in needs + may]
        if foreign:
            raise ValueError(
                f"got do = {shown(self.do)} with `{foreign[0]}`, which it does not use; "
                f"expected {' or '.join(f'`{key}`' for key in needs) or 'no more'}. Take it out."
            )
        if self.place is not None and not self.fish:
            raise ValueError(
                "got a `place` without `fish`; expected the fish that are put there. Add `fish`."
            )
        if self.do == "divider in" and self.fish and self.place is None:
            raise ValueError(
                "got `fish` without a `place`; expected the place behind the divider where they "
                "are put. Add `place`."
            )
        return self


class Observation(Table):
    """A stretch of time in which somebody watches and counts acts, as with a pad.

    With `fish` it is a meeting: they are put in for it, and taken out when it is over.
    """

    name: Name = Field(default="", description="so that others can speak of it")
    from_day: Day = Field(default=0.0, description="the day, 0 is the first")
    to_day: Day | None = Field(
        default=None, description="last of the days on which it is done; left out: that day alone"
    )
    at_h: Clock = Field(description="time of day", examples=["14:00"])
    minutes: Minutes = Field(description="how long", examples=[10])
    fish: tuple[Name, ...] = Field(
        default=(),
        max_length=200,
        description='who is put in for it and taken out after it; "winner of NAME" and "loser of '
        'NAME" speak of an earlier one',
    )
    until_decided: bool = Field(
        default=False,
        description="it ends once a contest is won, or a fish has left without one",
    )


class KeeperPlan(Table):
    """When the keeper looks, and what is done about what is seen."""

    checks_at: tuple[Clock, ...] = Field(
        default=(), max_length=24, description="times of day of a look"
    )
    away_days: tuple[tuple[Day, Day], ...] = Field(
        default=(), max_length=100, description="from day, to day: nobody looks"
    )
    moves: Literal["victim", "bully", "nobody"] = Field(
        default="nobody", description="who is moved out when a fish is seriously hurt"
    )
    spare_places: SmallCount = Field(
        default=0, description="tanks or compartments a fish can go to"
    )
    back_after_days: Day | None = Field(
        default=None,
        description="a fish that was moved out is brought back after so many days, once it is no "
        "longer seriously hurt; left out: it stays out",
    )
