"""A tank from above: to scale, with doors, owners and fish, and in words."""

from __future__ import annotations

import re

import pytest
import shapely

from sim.check import check_file
from sim.ground import Territory
from tests.viz.commands import TOP
from viz.drawing import DrawnFish, Sheet, draw_tank, hatches, path_of
from viz.markup import el

FOUR = check_file(TOP / "scenarios" / "convict-four-foot.toml").layout
SCALE = 500.0


def sheet(**more) -> Sheet:
    plain = {"px_per_m": SCALE, "title": "Four feet", "words": "In words.", "key": "t"}
    return Sheet(**{**plain, **more})


def to(x: float, y: float) -> tuple[float, float]:
    return x * SCALE, (FOUR.width_m - y) * SCALE


def test_glass_pieces_and_rooms_are_to_scale_with_the_front_below():
    svg = draw_tank(FOUR, sheet=sheet(bar=False))
    glass = svg.findall("rect")[0]
    assert float(glass.get("width")) == pytest.approx(FOUR.length_m * SCALE, abs=0.01)
    assert float(glass.get("height")) == pytest.approx(FOUR.width_m * SCALE, abs=0.01)
    drawn = {path.get("d") for path in svg.findall("path")}
    for piece in FOUR.pieces:
        assert path_of(piece.outline, to) in drawn
        if piece.room is not None:
            assert path_of(piece.room, to) in drawn
    front = path_of(shapely.box(0.0, 0.0, 0.1, 0.1), to)
    assert f"{FOUR.width_m * SCALE:.1f}" in front


def test_the_scale_bar_is_a_foot_long():
    svg = draw_tank(FOUR, sheet=sheet())
    (bar,) = (p.get("d") for p in svg.findall("path") if (p.get("d") or "").startswith("M0 "))
    assert float(re.search(r"h([\d.]+)", bar).group(1)) == pytest.approx(0.3048 * SCALE, abs=0.06)
    assert any("12 in (30 cm)" in (text.text or "") for text in svg.iter("text"))


def test_a_picture_has_a_title_and_words_that_are_bound_to_it():
    svg = draw_tank(FOUR, sheet=sheet(title="<b>&", words="</svg><script>"))
    assert svg.get("role") == "img"
    title, words = svg.find("title"), svg.find("desc")
    assert svg.get("aria-labelledby") == title.get("id") == "t-title"
    assert svg.get("aria-describedby") == words.get("id") == "t-words"
    assert title.text == "<b>&"


def test_owners_have_names_and_hatching_as_well_as_colour():
    ground = (
        Territory((0, 1), 0, shapely.box(0.0, 0.0, 0.5, 0.4)),
        Territory((2,), 1, shapely.box(0.7, 0.1, 1.2, 0.4)),
        Territory((3,), 2, shapely.MultiPolygon()),
    )
    svg = draw_tank(FOUR, sheet=sheet(), ground=ground)
    fills = [path.get("fill") for path in svg.findall("path")]
    assert fills.count("url(#holder-0)") == fills.count("url(#holder-2)") == 1
    assert "url(#holder-3)" not in fills
    names = [text.text for text in svg.iter("text")]
    assert "Basalt and Pumice" in names
    patterns = hatches([0, 2, 2])
    assert [one.get("id") for one in patterns.iter("pattern")] == ["holder-0", "holder-2"]
    turns = {one.get("patternTransform") for one in patterns.iter("pattern")}
    inner = [one.findall("*")[1].tag for one in patterns.iter("pattern")]
    assert len(turns) == 2 or inner[0] != inner[1]


def test_fish_are_as_long_as_they_are_and_those_in_hiding_are_numbers():
    out = DrawnFish(0, 0.6, 0.2, 1.0, 0.0, 0.10, 0.02)
    hidden = [
        DrawnFish(k, *FOUR.rooms[0].point, 1.0, 0.0, 0.05, 0.01, room=0) for k in (3, 4, 5, 6)
    ]
    svg = draw_tank(FOUR, sheet=sheet(), fish=[out, *hidden])
    (body,) = svg.iter("polygon")
    xs = [float(pair.split(",")[0]) for pair in body.get("points").split()]
    assert max(xs) - min(xs) == pytest.approx(1.15 * 0.10 * SCALE, abs=0.2)
    numbers = [text.text for text in svg.iter("text")]
    assert {"1", "4", "5", "6", "7"} <= set(numbers)
    places = [g.get("transform") for g in svg.iter("g") if g.get("transform")]
    assert len(set(places)) == len(places) == 5


def test_more_can_be_drawn_above_the_pieces():
    def over(place):
        x, y = place(0.0, 0.0)
        return [el("circle", cx=x, cy=y, r=1)]

    svg = draw_tank(FOUR, sheet=sheet(over=over, names=False))
    (disc,) = (one for one in svg.findall("circle"))
    assert float(disc.get("cy")) == pytest.approx(FOUR.width_m * SCALE, abs=0.01)
