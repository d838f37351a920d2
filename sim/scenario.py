"""The scenario: a tank, what stands in it, who lives in it, and what happens, checked and in SI.

The models are the language of a scenario file, whole. What cannot be is refused by
`sim.scenario_rules`, never ignored.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema, model_validator

from sim.care import Established, Event, Feeding, KeeperPlan, Observation
from sim.errors import Refused
from sim.fields import (
    Angle,
    Clock,
    Coordinate,
    Day,
    Days,
    FishLength,
    LightHours,
    Line,
    Name,
    NameOrPlace,
    Offset,
    PieceSide,
    Place,
    Table,
    TankSide,
    Temperature,
    shown,
    whole_number,
)
from sim.naming import member_names, name_parts
from sim.tanks import find_tank

if TYPE_CHECKING:
    from sim.species import Species

MOST_FISH = 200
MOST_PIECES = 200

Mechanism = Literal["assessment", "learning", "occlusion", "hiding", "individuality", "brood"]
Sex = Literal["male", "female", "unknown"]
Temper = Literal["unknown", "mild", "typical", "fierce"]

Count = Annotated[
    int,
    whole_number(1, MOST_FISH, f"a whole number from 1 to {MOST_FISH}"),
    WithJsonSchema({"type": "integer", "minimum": 1, "maximum": MOST_FISH}),
]
Seed = Annotated[
    int,
    whole_number(0, 2**63 - 1, "a whole number from 0 to 9223372036854775807"),
    WithJsonSchema({"type": "integer", "minimum": 0}),
]


def _species(value: str) -> str:
    from sim.species import find_species

    try:
        key: str = find_species(" ".join(value.split())).key
    except Refused as refusal:
        raise ValueError(refusal.problems[0].sentence) from None
    return key


SpeciesName = Annotated[str, AfterValidator(_species), WithJsonSchema({"type": "string"})]


def _adult_is_none(value: Any) -> Any:
    return None if isinstance(value, str) and value.strip().lower() == "adult" else value


BodyLength = Annotated[
    FishLength | None,
    BeforeValidator(_adult_is_none),
    WithJsonSchema({"type": "string", "examples": ["adult", "4.5 in", "about 2 in"]}),
]


class Tank(Table):
    """The glass box, its floor, its water and its light."""

    length_m: TankSide = Field(description="long side, x", examples=["48 in"])
    width_m: TankSide = Field(description="front to back, y", examples=["18 in"])
    height_m: TankSide = Field(description="floor to surface", examples=["21 in"])
    substrate: Literal["sand", "gravel", "bare"] = Field(
        default="sand", description="what can be dug"
    )
    temperature_c: Temperature = Field(
        default=26.0, description="water temperature", examples=["79 degF"]
    )
    lights_on_h: Clock = Field(
        default=9.0, description="when the light comes on", examples=["09:00"]
    )
    light_hours: LightHours = Field(default=11.0, description="hours of light a day", examples=[11])
    dusk_hours: LightHours = Field(
        default=0.0, description="of these, dim hours at either end", examples=[1]
    )

    @model_validator(mode="before")
    @classmethod
    def _take_standard_size(cls, data: Any) -> Any:
        if not isinstance(data, Mapping) or "size" not in data:
            return data
        sides = [key for key in ("length", "width", "height") if key in data]
        if sides:
            raise ValueError(
                f"got both `size` and `{sides[0]}`; expected a standard size, or length, width "
                "and height. Keep one."
            )
        if not isinstance(data["size"], str):
            raise ValueError(
                f'got size = {shown(data["size"])}; expected a standard size such as "75 gallon".'
            )
        standard = find_tank(data["size"])
        plain = {key: value for key, value in data.items() if key != "size"}
        for side in ("length", "width", "height"):
            plain[side] = f"{getattr(standard, side + '_m')!r} m"
        return plain

    @model_validator(mode="after")
    def _long_side_is_length(self) -> Self:
        if self.width_m > self.length_m:
            raise ValueError(
                f"got a width of {self.width_m:g} m and a length of {self.length_m:g} m; expected "
                "the length to be the long side. Swap them."
            )
        return self


class Door(Table):
    """A way into the room of a piece."""

    width_m: PieceSide = Field(description="clear width", examples=["2 in"])
    height_m: PieceSide = Field(description="clear height", examples=["2 in"])
    facing_rad: Angle = Field(
        default=0.0, description="the way it looks, before the piece is turned", examples=["90 deg"]
    )
    along_m: Offset = Field(
        default=0.0,
        description="of a divider's door: how far from the middle of the sheet, along it",
        examples=["4 in"],
    )


class Piece(Table):
    """Anything placed: hardscape, plant, divider, equipment."""

    name: Name = Field(default="", description="its name; left out: its kind and a number")
    kind: Name = Field(description="a kind of the catalogue", examples=["pot"])
    size: Name | None = Field(
        default=None, description="a size of the catalogue", examples=["6 in"]
    )
    length_m: PieceSide | None = Field(
        default=None, description="its own length", examples=["6 in"]
    )
    width_m: PieceSide | None = Field(default=None, description="its own width", examples=["5 in"])
    height_m: PieceSide | None = Field(
        default=None, description="its own height", examples=["4 in"]
    )
    shape: Literal["rectangle", "ellipse", "taper"] | None = Field(
        default=None, description="its outline seen from above; left out: that of its kind"
    )
    outline: tuple[Place, ...] | None = Field(
        default=None,
        min_length=3,
        max_length=200,
        description="its own corners, as steps from its middle (x, y)",
    )
    x_m: Coordinate = Field(description="its middle, from the left glass", examples=["12 in"])
    y_m: Coordinate = Field(description="its middle, from the front glass", examples=["6 in"])
    turn_rad: Angle = Field(
        default=0.0, description="turned counter-clockwise seen from above", examples=["90 deg"]
    )
    doors: tuple[Door, ...] = Field(
        default=(), max_length=20, description="its own doors; left out: those of its kind and size"
    )

    @model_validator(mode="after")
    def _says_how_large(self) -> Self:
        own = self.length_m is not None and self.width_m is not None
        if self.size is None and self.outline is None and not own:
            raise ValueError(
                "how large it is, is missing; expected `size`, or `length` and `width`, or an "
                '`outline`. Add one, for example size = "6 in".'
            )
        if self.outline is not None and (self.length_m is not None or self.width_m is not None):
            raise ValueError(
                "got both an `outline` and a `length` or `width`; expected one of them. Keep one."
            )
        return self


class FishGroup(Table):
    """One fish by name, or several alike."""

    name: Name = Field(
        default="", description="of the fish, or of the group; left out: the trade name"
    )
    species: SpeciesName = Field(description="scientific or trade name", examples=["swordtail"])
    count: Count = Field(default=1, description="how many", examples=[6])
    sex: Sex = Field(default="unknown", description="sex; unknown: drawn for each run")
    length_m: BodyLength = Field(
        default=None,
        description='total length, or "adult"',
        examples=["4.5 in"],
        validate_default=False,
    )
    length_about: bool = Field(
        default=False, description='the length is a guess; "about 2 in" says the same'
    )
    temper: Temper = Field(
        default="unknown", description="temperament; unknown: drawn for each run"
    )
    joins_day: Day = Field(default=0.0, description="the day it is put in", examples=[7])
    joins_at_h: Clock | None = Field(
        default=None,
        description="time of that day, in the light or in the dark; left out: when the light "
        "comes on",
        examples=["22:00"],
    )
    joins_place: Place | None = Field(
        default=None,
        description="where it is put in, and on which side of a divider; left out: anywhere",
        examples=[["40 in", "9 in"]],
    )
    established: Established | None = Field(
        default=None, description="its life here before the start"
    )

    @model_validator(mode="before")
    @classmethod
    def _take_about(cls, data: Any) -> Any:
        text = data.get("length") if isinstance(data, Mapping) else None
        if isinstance(text, str) and text.strip().lower().startswith("about "):
            return {**data, "length": text.strip()[len("about ") :], "length_about": True}
        return data

    @model_validator(mode="after")
    def _an_adult_is_no_guess(self) -> Self:
        if self.length_about and self.length_m is None:
            raise ValueError(
                'got length_about without a length; expected one. Write length = "about 3 in".'
            )
        return self


class Breeding(Table):
    """Whether a pair spawns, and when."""

    mode: Literal["off", "on", "spontaneous"] = Field(default="off", description="breeding mode")
    spawn_day: Day | None = Field(
        default=None, description="the day the eggs are laid", examples=[10]
    )
    pair: tuple[Name, Name] | None = Field(
        default=None, description="the two fish; left out: the likeliest pair"
    )
    site: NameOrPlace = Field(
        default="auto", description='"auto", a piece, or a place on the floor'
    )


class Scenario(Table):
    """A scenario, complete: everything a run needs to know but the draws."""

    title: Line = Field(default="", description="a name for lists and plots")
    question: Line = Field(
        default="", description="what it asks; usually the file's first two lines"
    )
    keeper: Line = Field(default="", description="whose tank it is")
    days: Days = Field(default=30.0, description="how long a run lasts", examples=[30])
    seed: Seed | None = Field(default=None, description="first random seed; left out: 1")
    without: tuple[Mechanism, ...] = Field(
        max_length=20,
        default=(),
        description="mechanisms switched off, to see whether the result hangs on them",
    )
    settling_days: Day = Field(
        default=0.0, description="whole days that are lived before day 0 and not counted"
    )
    growth: bool = Field(default=False, description="fish grow")
    tank: Tank
    pieces: tuple[Piece, ...] = Field(default=(), max_length=MOST_PIECES)
    fish: tuple[FishGroup, ...] = Field(min_length=1, max_length=MOST_FISH)
    breeding: Breeding = Breeding()
    feeding: Feeding | None = None
    events: tuple[Event, ...] = Field(default=(), max_length=1000)
    observe: tuple[Observation, ...] = Field(default=(), max_length=200)
    keeper_plan: KeeperPlan | None = None

    @model_validator(mode="after")
    def _name_the_nameless(self) -> Self:
        for key, entries in name_parts(self).items():
            object.__setattr__(self, key, entries)  # frozen for everyone else
        return self


@dataclass(frozen=True, slots=True)
class Member:
    """One fish of a scenario.

    Parameters
    ----------
    name : its own name, unique in the scenario.
    group : name of its group; its own for a fish that was named.
    index : its place in the group, from 0; with ``group`` it stays the same fish in a variant.
    species : its species.
    sex : ``"male"``, ``"female"`` or ``"unknown"``.
    length_m : total length in metres, `None` for adult length.
    about : the length is a guess.
    temper : ``"unknown"``, ``"mild"``, ``"typical"`` or ``"fierce"``.
    joins_day : day it is put in.
    joins_at_h : hour of that day, `None` for when the light comes on.
    joins_place : where (m), `None` for anywhere.
    """

    name: str
    group: str
    index: int
    species: Species
    sex: Sex
    length_m: float | None
    about: bool
    temper: Temper
    joins_day: float
    joins_at_h: float | None = None
    joins_place: tuple[float, float] | None = None


def company(scenario: Scenario) -> tuple[Member, ...]:
    """The fish of a scenario one by one, in the order of the file.

    Parameters
    ----------
    scenario : a checked scenario.

    Returns
    -------
    one `Member` for each fish.
    """
    from sim.species import load_species

    species = load_species()
    return tuple(
        Member(
            name=name,
            group=group.name,
            index=index,
            species=species[group.species],
            sex=group.sex,
            length_m=group.length_m,
            about=group.length_about,
            temper=group.temper,
            joins_day=group.joins_day,
            joins_at_h=group.joins_at_h,
            joins_place=group.joins_place,
        )
        for group in scenario.fish
        for index, name in enumerate(member_names(group))
    )
