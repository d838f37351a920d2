"""Ways to break a scenario that can be played, each so that it must be refused."""

from __future__ import annotations

import copy
import datetime
import math
from collections.abc import Callable, Iterator
from typing import Any

from hypothesis import strategies as st

from tests.hostile.tanks import Plain, tanks

Place = tuple[str | int, ...]
# No key of the language takes one of these, whatever else it takes.
FOREIGN: tuple[Any, ...] = (
    {"odd": 1}, [[["odd"]]], [{}], datetime.date(1979, 5, 27), datetime.datetime(1979, 5, 27, 7),
    -1e9, 1e300, math.nan, math.inf, -math.inf, 2**70, "\x00", "\u202e", "\n", "", "-1e9 furlong",
    "x" * 5000, [1, 2, 3, 4, 5],
)  # fmt: skip
TEXTS = ("name", "title", "keeper", "question")  # may hold nearly any text, and be empty


@st.composite
def broken_tanks(draw: st.DrawFn, *, way: str) -> Plain:
    """Return a scenario that was broken in one of the `WAYS`."""
    return WAYS[way](draw, copy.deepcopy(draw(tanks())))


def leaves(value: Any, place: Place = ()) -> Iterator[tuple[Place, Any]]:
    """Yield every value of a scenario that is no table and no list of tables, with its place."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield from leaves(part, (*place, key))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for index, part in enumerate(value):
            yield from leaves(part, (*place, index))
    else:
        yield place, value


def put(plain: Plain, place: Place, value: Any) -> Plain:
    """Return the scenario with another value at a place."""
    node: Any = plain
    for step in place[:-1]:
        node = node[step]
    node[place[-1]] = value
    return plain


def _foreign(draw: st.DrawFn, plain: Plain) -> Plain:
    place, _ = draw(st.sampled_from([one for one in leaves(plain) if one[0][-1] not in TEXTS]))
    return put(plain, place, draw(st.sampled_from(FOREIGN)))


def _foreign_text(draw: st.DrawFn, plain: Plain) -> Plain:
    key = draw(st.sampled_from(("title", "keeper", "question")))
    plain[key] = draw(st.sampled_from(({"odd": 1}, [1], 3, math.nan, True, "x" * 500, "a\x07b")))
    return plain


def _unknown_key(draw: st.DrawFn, plain: Plain) -> Plain:
    tables = [plain, plain["tank"], *plain["fish"], *plain.get("pieces", ())]
    tables += [plain[key] for key in ("breeding", "feeding", "keeper_plan") if key in plain]
    tables += [*plain.get("events", ()), *plain.get("observe", ())]
    odd = draw(st.text(st.characters(codec="utf-8"), min_size=1, max_size=80))
    draw(st.sampled_from(tables))[f"_{odd}"] = draw(st.sampled_from((1, "48 in", [], {})))
    return plain


def _missing(draw: st.DrawFn, plain: Plain) -> Plain:
    needed = [(plain, "tank"), (plain, "fish"), (plain["fish"][0], "species")]
    needed += [(plain["tank"], side) for side in ("length", "width", "height")]
    needed += [(piece, key) for piece in plain.get("pieces", ()) for key in ("kind", "x", "y")]
    needed += [(event, key) for event in plain.get("events", ()) for key in ("do", "on_day")]
    table, key = draw(st.sampled_from(needed))
    del table[key]
    return plain


def _not_a_table(draw: st.DrawFn, plain: Plain) -> Plain:
    key = draw(st.sampled_from(("tank", "fish", "pieces", "breeding", "feeding", "events",
                                "observe", "keeper_plan")))  # fmt: skip
    plain[key] = draw(st.sampled_from((1, "odd", True, [1], ["odd"], [[]], [{"odd": 1}])))
    return plain


def _a_number_too_many(draw: st.DrawFn, plain: Plain) -> Plain:
    fish = plain["fish"][0]
    fish["count"] = draw(st.sampled_from((0, -1, 201, 2**63, 1.5, "2", True)))
    return plain


def _too_many_fish(draw: st.DrawFn, plain: Plain) -> Plain:
    plain["fish"] += [{"species": "convict", "count": 120}, {"species": "convict", "count": 120}]
    return plain


def _one_name_twice(draw: st.DrawFn, plain: Plain) -> Plain:
    key = draw(st.sampled_from(("fish", "pieces")))
    more = {"fish": {"species": "convict"},
            "pieces": {"kind": "cobble", "size": "4 in", "x": "10 cm", "y": "10 cm"}}  # fmt: skip
    twins = [{**more[key], "name": "Twin"}, {**more[key], "name": "TWIN "}]
    plain[key] = [*plain.get(key, ()), *twins]
    return plain


def _nobody_of_that_name(draw: st.DrawFn, plain: Plain) -> Plain:
    nobody = draw(st.sampled_from(("Nobody", "nowhere", "x" * 60)))
    day = {"on_day": 0}
    ways: tuple[Plain, ...] = (
        {"events": [{**day, "do": "take out", "fish": [nobody]}]},
        {"events": [{**day, "do": "take out", "pieces": [nobody]}]},
        {"events": [{**day, "do": "divider in", "divider": nobody}]},
        {"breeding": {"mode": "off", "site": nobody}},
        {"observe": [{"at": "12:00", "minutes": 5, "fish": [nobody]}]},
        {"fish": [{"species": "convict", "established": {"mate": nobody}}]},
        {"fish": [{"species": "convict", "established": {"owns": nobody}}]},
        {"fish": [{"species": nobody}]},
    )
    return plain | draw(st.sampled_from(ways))


def _too_late(draw: st.DrawFn, plain: Plain) -> Plain:
    late = plain["days"] + draw(st.sampled_from((0.0, 0.5, 1000.0)))
    ways: tuple[Plain, ...] = (
        {"fish": [{"species": "convict", "joins_day": late}]},
        {"events": [{"on_day": late, "do": "water change", "share": "10 %"}]},
        {"fish": [{"species": "convict", "count": 4}],
         "breeding": {"mode": "on", "spawn_day": late}},
        {"observe": [{"from_day": late, "at": "12:00", "minutes": 5}]},
    )  # fmt: skip
    return plain | draw(st.sampled_from(ways))


def _outside(draw: st.DrawFn, plain: Plain) -> Plain:
    length_m = float(plain["tank"]["length"].split()[0])
    x = f"{length_m + draw(st.floats(0.01, 3.0))!r} m"
    stone = {"kind": "cobble", "size": "4 in", "x": x, "y": "10 cm"}
    plain["pieces"] = [*plain.get("pieces", ()), stone]
    return plain


def _two_in_one_place(draw: st.DrawFn, plain: Plain) -> Plain:
    stone = {"kind": "boulder", "length": "8 cm", "width": "8 cm", "height": "10 cm"}
    near = f"{10 + draw(st.floats(-4.0, 4.0)):.4f} cm"
    plain["pieces"] = [
        {**stone, "x": "10 cm", "y": "10 cm"}, {**stone, "x": near, "y": "10 cm"},
    ]  # fmt: skip
    return plain


def _impossible_fish(draw: st.DrawFn, plain: Plain) -> Plain:
    long = draw(st.sampled_from(("1.5 m", "1 m", "about 150 cm", "4 ft")))
    plain["fish"] = [{"species": "neon tetra", "length": long}]
    return plain


def _wide(draw: st.DrawFn, plain: Plain) -> Plain:
    plain["tank"] |= {"length": "40 cm", "width": f"{draw(st.floats(41.0, 2000.0)):.3f} cm"}
    return plain


def _past_midnight(draw: st.DrawFn, plain: Plain) -> Plain:
    event = {"on_day": 0, "do": "lights", "lights_on": "20:00",
             "light_hours": draw(st.floats(4.01, 24.0))}  # fmt: skip
    plain["events"] = [event]
    return plain


def _crossed_outline(draw: st.DrawFn, plain: Plain) -> Plain:
    far = draw(st.floats(1.0, 4.0))
    corners = [(-far, -far), (far, far), (far, -far), (-far, far)]
    if draw(st.booleans()):
        corners = [(0.0, 0.0), (far, 0.0), (2 * far, 0.0)]
    plain["pieces"] = [
        {"kind": "boulder", "height": "5 cm", "x": "10 cm", "y": "10 cm",
         "outline": [[f"{x!r} cm", f"{y!r} cm"] for x, y in corners]}
    ]  # fmt: skip
    return plain


def _unruly(draw: st.DrawFn, plain: Plain) -> Plain:
    ways: tuple[Plain, ...] = (
        {"breeding": {"mode": "on"}},
        {"breeding": {"mode": "off", "spawn_day": 0}},
        {"fish": [{"species": "neon tetra", "count": 4}],
         "breeding": {"mode": "on", "spawn_day": 0}},
        {"keeper_plan": {"moves": "victim"}},
        {"keeper_plan": {"away_days": [[3, 1]]}},
        {"settling_days": 1.5},
        {"without": ["brood", "brood"]},
        {"events": [{"on_day": 0, "do": "take out"}]},
        {"events": [{"on_day": 0, "do": "take the fry"}], "breeding": {"mode": "off"}},
        {"events": [{"on_day": 0, "do": "bring back", "fish": ["Late"]}],
         "fish": [{"name": "Late", "species": "convict"}], "keeper_plan": {}},
        {"fish": [{"species": "convict", "length_about": True}]},
        {"fish": [{"species": "convict", "established": {"brood": {"stage": "eggs"}}}]},
        {"pieces": [{"kind": "pot", "x": "10 cm", "y": "10 cm"}]},
        {"pieces": [{"kind": "pot", "size": "99 in", "x": "10 cm", "y": "10 cm"}]},
        {"pieces_when_resized": "keep"},
        {"remove": {"fish": "all"}},
    )  # fmt: skip
    return plain | draw(st.sampled_from(ways))


WAYS: dict[str, Callable[[st.DrawFn, Plain], Plain]] = {
    "a value no key takes": _foreign,
    "a text no key takes": _foreign_text,
    "an unknown key": _unknown_key,
    "a key is missing": _missing,
    "no table": _not_a_table,
    "no count": _a_number_too_many,
    "too many fish": _too_many_fish,
    "one name twice": _one_name_twice,
    "nobody of that name": _nobody_of_that_name,
    "after the end": _too_late,
    "outside the glass": _outside,
    "two in one place": _two_in_one_place,
    "an impossible fish": _impossible_fish,
    "wider than long": _wide,
    "light past midnight": _past_midnight,
    "an outline that is none": _crossed_outline,
    "what cannot be together": _unruly,
}
