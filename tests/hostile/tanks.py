"""Scenarios from anywhere in the language, as a file would hold them.

What is drawn keeps to the rules of `sim.scenario_rules`, so that nearly all of them can be played;
what a drawing cannot know beforehand (a cave that nobody fits, a piece that shuts off the floor) is
left to the check.
"""

from __future__ import annotations

import math
from typing import Any

from hypothesis import strategies as st

from sim.pieces import Kind, Size, load_pieces
from sim.species import load_species

Plain = dict[str, Any]
DIVIDERS = ("divider", "clear-divider", "mesh-divider")
MECHANISMS = ("assessment", "learning", "occlusion", "hiding", "individuality", "brood")
GAP_M = 0.012  # between slots, so that what touches is a case of its own


def lengths(low_m: float, high_m: float) -> st.SearchStrategy[str]:
    """Return lengths between two bounds in every unit a keeper writes."""
    inside = st.floats(low_m, high_m, allow_nan=False)

    def written(metres: float, unit: str) -> str:
        size = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254}[unit]
        return f"{metres / size:.9f} {unit}"

    return st.builds(written, inside, st.sampled_from(("m", "cm", "mm", "in")))


def clocks(low_h: float, high_h: float) -> st.SearchStrategy[str]:
    """Return times of day between two hours."""
    minutes = st.integers(math.ceil(60.0 * low_h), max(math.ceil(60.0 * low_h), int(60.0 * high_h)))
    return minutes.map(lambda m: f"{min(m, 1439) // 60:02d}:{min(m, 1439) % 60:02d}")


@st.composite
def tanks(draw: st.DrawFn, *, most_fish: int = 12) -> Plain:
    """Return a scenario as plain values.

    Parameters
    ----------
    draw
        Hypothesis's.
    most_fish
        In all.
    """
    days = draw(st.sampled_from((0.01, 0.3, 0.5, 1.0, 2.0, 3.5, 12.0)))
    glass, light = _glass(draw), _light(draw)
    length_m, width_m, height_m = glass
    plain: Plain = {
        "days": days,
        "tank": {
            "length": f"{length_m!r} m",
            "width": f"{width_m!r} m",
            "height": f"{height_m!r} m",
            "substrate": draw(st.sampled_from(("sand", "gravel", "bare"))),
            "temperature": f"{draw(st.floats(5.0, 40.0)):.3f} degC",
            "lights_on": _clock(light[0]),
            "light_hours": light[1],
            "dusk_hours": draw(st.sampled_from((0.0, 0.0, 0.25, 0.5))) * light[1],
        },
    }
    if draw(st.booleans()):
        plain["seed"] = draw(st.integers(0, 2**63 - 1))
    if draw(st.integers(0, 3)) == 0:
        plain["without"] = draw(st.lists(st.sampled_from(MECHANISMS), unique=True, max_size=6))
    if draw(st.integers(0, 4)) == 0:
        plain["settling_days"] = draw(st.sampled_from((1, 2, 3)))
    if draw(st.booleans()):
        plain["growth"] = draw(st.booleans())
    pieces, empty = _pieces(draw, glass)
    if pieces:
        plain["pieces"] = pieces
    plain["fish"] = _fish(draw, days=days, glass=glass, most=most_fish, plain=plain)
    _breeding(draw, plain)
    _feeding(draw, plain, glass=glass, light=light)
    _events(draw, plain, glass=glass, light=light, empty=empty)
    _watched(draw, plain, light=light)
    _keeper(draw, plain)
    return plain


def _clock(hour: float) -> str:
    return f"{int(hour):02d}:{round(60 * (hour % 1)) % 60:02d}"


def _glass(draw: st.DrawFn) -> tuple[float, float, float]:
    """Return length, width and height: often a usual tank, sometimes a bowl or a hall."""
    spans = {"bowl": (0.2, 0.5), "usual": (0.6, 2.0), "hall": (2.0, 20.0)}
    low, high = spans[draw(st.sampled_from(("bowl", "usual", "usual", "usual", "hall")))]
    length_m = draw(st.floats(low, high))
    width_m = draw(st.floats(0.2, max(0.2, min(length_m, high))))
    return length_m, min(width_m, length_m), draw(st.floats(0.2, max(0.21, 0.6 * high)))


def _light(draw: st.DrawFn) -> tuple[float, float]:
    """Return when the light comes on and for how long (h)."""
    on_h = draw(st.integers(0, 4 * 18)) / 4
    return on_h, draw(st.integers(0, int(4 * (24.0 - on_h)))) / 4


# --- pieces ----------------------------------------------------------------------------------


def _pieces(
    draw: st.DrawFn, glass: tuple[float, float, float]
) -> tuple[list[Plain], list[tuple[float, float]]]:
    """Return pieces in slots of the floor, and the middles of the slots that are left empty."""
    length_m, width_m, height_m = glass
    slot_m = max(0.12, draw(st.floats(0.12, 0.6)))
    nx, ny = (max(1, min(6, int(side / slot_m))) for side in (length_m, width_m))
    wide, deep = length_m / nx, width_m / ny
    most_m = min(wide, deep) - GAP_M
    slots = draw(st.permutations([(i, j) for i in range(nx) for j in range(ny)]))
    wanted = draw(st.integers(0, min(len(slots), 10)))
    sized = [
        (kind, size)
        for kind in load_pieces().values()
        if kind.group != "divider"
        for size in kind.sizes
        if math.hypot(size.length_m, size.width_m) < most_m
        and (size.height_m is None or size.height_m < height_m)
    ]
    pieces = []
    for i, j in slots[:wanted]:
        x, y = (i + 0.5) * wide, (j + 0.5) * deep
        pieces.append(_piece(draw, x, y, most_m=most_m, height_m=height_m, sized=sized))
    if nx > 1 and draw(st.integers(0, 4)) == 0:
        pieces.append(_divider(draw, wide * draw(st.integers(1, nx - 1)), width_m))
    for number, piece in enumerate(pieces):
        if draw(st.integers(0, 3)):
            piece["name"] = f"thing {number}"
    left = [((i + 0.5) * wide, (j + 0.5) * deep) for i, j in slots[wanted:]]
    return pieces, left


def _piece(
    draw: st.DrawFn, x: float, y: float, *, most_m: float, height_m: float,
    sized: list[tuple[Kind, Size]],
) -> Plain:  # fmt: skip
    place = {"x": f"{x!r} m", "y": f"{y!r} m", "turn": f"{draw(st.floats(-360, 360)):.3f} deg"}
    if sized and draw(st.integers(0, 2)):
        kind, size = draw(st.sampled_from(sized))
        return {"kind": kind.key, "size": size.name, **place}
    radius = 0.5 * most_m
    low = 0.01
    own: Plain = {
        "kind": draw(st.sampled_from(("boulder", "rock-wall", "cobble", "slate", "driftwood"))),
        "height": draw(lengths(0.005, height_m)),
    }
    if draw(st.integers(0, 2)) == 0:
        # corners in the order of their angles round the middle, so that no sides cross
        count = draw(st.integers(3, 9))
        turns = [(k + draw(st.floats(0.05, 0.6))) * math.tau / count for k in range(count)]
        away = [draw(st.floats(min(0.3 * radius, low), radius)) for _ in turns]
        own["outline"] = [
            [f"{100 * r * math.cos(t):.6f} cm", f"{100 * r * math.sin(t):.6f} cm"]
            for r, t in zip(away, turns, strict=True)
        ]
        return {**own, **place}
    side = max(low, most_m / math.sqrt(2.0) - 0.002)
    own["length"], own["width"] = draw(lengths(low, side)), draw(lengths(low, side))
    if draw(st.booleans()):
        own["shape"] = draw(st.sampled_from(("rectangle", "ellipse", "taper")))
    if draw(st.integers(0, 3)) == 0:
        tall, room = draw(st.floats(0.6, 0.95)) * height_m, max(low, 0.9 * side)
        own.update(height=f"{tall!r} m", length=f"{room!r} m", width=f"{room!r} m")
        own["doors"] = [
            {
                "width": draw(lengths(0.01, max(0.011, 0.7 * room))),
                "height": draw(lengths(0.01, max(0.011, 0.7 * tall))),
                "facing": f"{draw(st.integers(0, 359))} deg",
            }
            for _ in range(draw(st.integers(1, 3)))
        ]
    return {**own, **place}


def _divider(draw: st.DrawFn, x: float, width_m: float) -> Plain:
    """Return a sheet from the front glass to the back, between two columns of slots."""
    kind = draw(st.sampled_from(DIVIDERS))
    sheet: Plain = {
        "kind": kind, "length": f"{width_m!r} m", "width": "6 mm",
        "x": f"{x!r} m", "y": f"{0.5 * width_m!r} m", "turn": "90 deg", "name": "sheet",
    }  # fmt: skip
    if draw(st.booleans()):
        along = draw(st.floats(-0.3, 0.3)) * width_m
        sheet["doors"] = [
            {"width": draw(lengths(0.02, 0.09)), "height": "8 cm", "along": f"{along!r} m"}
        ]
    return sheet


# --- who lives there -------------------------------------------------------------------------


def _fish(
    draw: st.DrawFn, *, days: float, glass: tuple[float, float, float], most: int, plain: Plain
) -> list[Plain]:
    species = [
        one
        for one in load_species().values()
        if max(one.adult_male_m, one.adult_female_m) < 0.95 * glass[0]
        and max(one.adult_male_m, one.adult_female_m) * one.depth_ratio < 0.95 * glass[2]
    ]
    groups: list[Plain] = []
    left, taken = draw(st.integers(1, most)), set()
    while left > 0 and len(groups) < 8:
        count = draw(st.integers(1, left))
        left -= count
        one = draw(st.sampled_from(species))
        group: Plain = {"species": draw(st.sampled_from((one.key, *one.names)))}
        if count > 1 or draw(st.booleans()):
            group["count"] = count
        if draw(st.booleans()):
            group["name"] = f"Fish {chr(65 + len(groups))}"
        if draw(st.booleans()):
            group["sex"] = draw(st.sampled_from(("male", "female", "unknown")))
        if draw(st.booleans()):
            group["temper"] = draw(st.sampled_from(("mild", "typical", "fierce", "unknown")))
        adult = max(one.adult_male_m, one.adult_female_m)
        if draw(st.booleans()):
            words = draw(lengths(0.005, adult))
            group["length"] = f"about {words}" if draw(st.booleans()) else words
        if draw(st.integers(0, 3)) == 0 and days > 0.5:
            group["joins_day"] = draw(st.sampled_from((0.0, 0.5 * days, 0.9 * days)))
            if draw(st.booleans()):
                group["joins_at"] = draw(clocks(0, 23.9))
            if draw(st.booleans()):
                group["joins_place"] = _place(draw, glass)
        elif draw(st.integers(0, 2)) == 0:
            group["established"] = _past(draw, count, plain, taken, glass=glass)
        groups.append(group)
    return groups


def _place(draw: st.DrawFn, glass: tuple[float, float, float]) -> list[str]:
    return [draw(lengths(0.001, glass[0] - 0.001)), draw(lengths(0.001, glass[1] - 0.001))]


def _past(
    draw: st.DrawFn, count: int, plain: Plain, taken: set[str], *, glass: tuple[float, float, float]
) -> Plain:
    """Return a life in the tank before the start."""
    settled = plain.get("settling_days", 0)
    past: Plain = {"since_day": -settled - draw(st.sampled_from((0.0, 1.0, 40.0, 700.0)))}
    if draw(st.booleans()):
        past["rank"] = draw(st.integers(1, 12))
    if draw(st.booleans()):
        past["injury"] = draw(st.sampled_from((0.0, 0.1, "30 %", 0.99, 1.0)))
    if count == 1 and draw(st.booleans()):
        names = [one["name"] for one in plain.get("pieces", ()) if "name" in one]
        free = [name for name in names if name not in taken]
        if free and draw(st.booleans()):
            past["owns"] = draw(st.sampled_from(free))
            taken.add(past["owns"])
        elif "a place" not in taken:
            past["owns"] = _place(draw, glass)
            taken.add("a place")
    return past


def _breeding(draw: st.DrawFn, plain: Plain) -> None:
    """Have a pair that spawns, or none; where one is wanted it is put in."""
    mode = draw(st.sampled_from(("", "", "off", "on", "spontaneous")))
    if not mode:
        return
    plain["breeding"] = {"mode": mode}
    if mode == "off":
        return
    length_m = float(plain["tank"]["length"].split()[0])
    height_m = float(plain["tank"]["height"].split()[0])
    parents = [
        one
        for one in load_species().values()
        if one.site != "none"
        and max(one.adult_male_m, one.adult_female_m) < 0.95 * length_m
        and max(one.adult_male_m, one.adult_female_m) * one.depth_ratio < 0.95 * height_m
    ]
    kind = draw(st.sampled_from(parents)).key
    pair: list[Plain] = [
        {"name": "Sire", "species": kind, "sex": "male"},
        {"name": "Dam", "species": kind, "sex": "female"},
    ]
    if mode == "spontaneous" and draw(st.booleans()):
        for one, other in zip(pair, ("Dam", "Sire"), strict=True):
            one["established"] = {"mate": other, "since_day": -plain.get("settling_days", 0)}
        if "settling_days" not in plain and draw(st.booleans()):
            stages = ("courting", "digging", "eggs", "wrigglers", "fry", "resting")
            brood = {"stage": draw(st.sampled_from(stages)), "days_in_stage": draw(st.floats(0, 9))}
            pair[draw(st.integers(0, 1))]["established"]["brood"] = brood
    plain["fish"] += pair
    if mode == "on":
        plain["breeding"]["spawn_day"] = draw(st.floats(0.0, 0.9)) * plain["days"]
        if draw(st.booleans()):
            plain["breeding"]["pair"] = ["Sire", "Dam"]
    names = [one["name"] for one in plain.get("pieces", ()) if "name" in one]
    if names and draw(st.integers(0, 2)) == 0:
        plain["breeding"]["site"] = draw(st.sampled_from(names))


# --- what is done ------------------------------------------------------------------------------


def _feeding(
    draw: st.DrawFn, plain: Plain, *, glass: tuple[float, float, float], light: tuple[float, float]
) -> None:
    if light[1] < 1.0 or draw(st.booleans()):
        return
    feeding: Plain = {}
    hours = clocks(light[0], min(light[0] + light[1] - 0.25, 23.9))
    feeding["times"] = sorted(set(draw(st.lists(hours, min_size=1, max_size=4))))
    if draw(st.booleans()):
        feeding["spots"] = [_place(draw, glass) for _ in range(draw(st.integers(1, 3)))]
    if draw(st.booleans()):
        feeding["share_of_mass"] = draw(st.sampled_from(("0 %", "0.1 %", "2 %", 0.5, 1)))
    plain["feeding"] = feeding


def _events(
    draw: st.DrawFn, plain: Plain, *, glass: tuple[float, float, float],
    light: tuple[float, float], empty: list[tuple[float, float]],
) -> None:  # fmt: skip
    days = plain["days"]
    events: list[Plain] = []
    loose = [
        one["name"]
        for one in plain.get("pieces", ())
        if "name" in one and one["kind"] not in DIVIDERS
    ]
    owned = {group.get("established", {}).get("owns", "") for group in plain["fish"]
             if isinstance(group.get("established", {}).get("owns"), str)}  # fmt: skip
    loose = [name for name in loose if name not in owned]
    here = [group["name"] for group in plain["fish"]
            if "name" in group and "joins_day" not in group]  # fmt: skip
    kinds = st.sampled_from(("water", "lights", "out and back", "re-arrange", "pieces", "divider"))
    for deed in draw(st.lists(kinds, max_size=3, unique=True)):
        one: Plain = {"on_day": draw(st.floats(0.0, 0.5)) * days}
        if draw(st.booleans()):
            one["at"] = draw(clocks(light[0], 23.9))
        if deed == "water":
            one |= {"do": "water change", "share": draw(st.sampled_from(("25 %", 0, 1, 0.5)))}
        elif deed == "lights":
            on_h = draw(st.integers(0, 20))
            one |= {"do": "lights", "lights_on": f"{on_h:02d}:00",
                    "light_hours": draw(st.integers(0, 24 - on_h))}  # fmt: skip
        elif deed == "out and back" and here:
            one |= {"do": "take out", "fish": [draw(st.sampled_from(here))]}
            if draw(st.booleans()):
                back = {**one, "on_day": 0.75 * days, "do": "bring back"}
                if draw(st.booleans()):
                    back["place"] = _place(draw, glass)
                events.append(back)
        elif deed == "re-arrange" and loose and empty:
            x, y = draw(st.sampled_from(empty))
            move = {"piece": draw(st.sampled_from(loose)), "x": f"{x!r} m", "y": f"{y!r} m"}
            one |= {"do": "re-arrange", "moves": [move]}
        elif deed == "pieces" and loose and not any(e["do"] == "re-arrange" for e in events):
            one |= {"do": "take out", "pieces": [draw(st.sampled_from(loose))]}
        elif deed == "divider" and any(p.get("name") == "sheet" for p in plain.get("pieces", ())):
            one |= {"do": draw(st.sampled_from(("divider in", "divider out"))), "divider": "sheet"}
        if "do" in one:
            events.append(one)
    if any("pieces" in e for e in events):
        events = [e for e in events if e["do"] != "re-arrange"]
    if events:
        plain["events"] = events


def _watched(draw: st.DrawFn, plain: Plain, *, light: tuple[float, float]) -> None:
    if light[1] < 1.0 or plain["days"] < 1.0 or draw(st.integers(0, 3)):
        return
    at = draw(clocks(light[0], light[0] + light[1] - 0.9))
    one: Plain = {"at": at, "minutes": draw(st.floats(0.1, 30.0))}
    if plain["days"] >= 2.0 and draw(st.booleans()):
        one["to_day"] = int(plain["days"]) - 1
    plain["observe"] = [one]


def _keeper(draw: st.DrawFn, plain: Plain) -> None:
    if draw(st.booleans()):
        return
    plan: Plain = {
        "checks_at": sorted(set(draw(st.lists(clocks(0, 23.9), min_size=1, max_size=4)))),
        "moves": draw(st.sampled_from(("victim", "bully", "nobody"))),
        "spare_places": draw(st.integers(0, 3)),
    }
    if plan["moves"] != "nobody" and draw(st.booleans()):
        plan["back_after_days"] = draw(st.floats(0.0, 3.0))
    if draw(st.booleans()):
        first = draw(st.floats(0.0, 3.0))
        plan["away_days"] = [[first, first + draw(st.floats(0.0, 5.0))]]
    plain["keeper_plan"] = plan
