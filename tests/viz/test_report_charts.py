"""Charts of the report: numbers stand where they belong, tanks are told apart without colour."""

from __future__ import annotations

import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from tests.viz.made import design, results
from viz.report.charts import (
    DASHES,
    Frame,
    day_chart,
    figure,
    interval_chart,
    mark,
    tick_words,
    ticks,
)
from viz.report.gathered import middle_run
from viz.report.page import _ready
from viz.results import Number, SpareResult
from viz.why_results import CourseResult


def number(estimate, low=None, high=None) -> Number:
    return Number(estimate, low, high, "", 10, "made up")


def frame(**more) -> Frame:
    plain = {
        "width": 345, "height": 190, "title": "T", "words": "W", "key": "k", "x_label": "day",
        "y_label": "of 100", "percent": True, "top": 1.0,
    }  # fmt: skip
    return Frame(**{**plain, **more})


@pytest.mark.parametrize(
    ("low", "high", "most", "found"),
    [
        (0, 1, 4, [0, 0.5, 1]),
        (0, 30, 6, [0, 5, 10, 15, 20, 25, 30]),
        (-7, 21, 6, [-5, 0, 5, 10, 15, 20]),
        (0, 0.163, 4, [0, 0.05, 0.1, 0.15]),
        (2, 2, 4, [2]),
    ],
)
def test_ticks_are_round_and_not_too_many(low, high, most, found):
    assert ticks(low, high, most=most) == pytest.approx(found)
    assert len(ticks(low, high, most=most)) <= most + 1
    assert tick_words(0.5, percent=True) == "50"


def points(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.strip("MZ"))]


def test_a_curve_of_the_unhurt_goes_down_by_steps_from_all():
    course = CourseResult((1, 2), (number(1.0, 0.9, 1.0), number(0.5, 0.3, 0.7)))
    svg = day_chart([("A", course)], frame=frame(), steps=True)
    (line,) = (
        p for p in svg.iter("path") if p.get("fill") == "none" and p.get("stroke-width") == "2"
    )
    found = points(line.get("d"))
    top, middle = found[0][1], found[-1][1]
    assert [y for _, y in found] == pytest.approx([top, top, top, top, middle], abs=0.2)
    assert found[0][0] < found[1][0] < found[3][0] == found[4][0]
    grid = sorted(
        points(p.get("d"))[0][1] for p in svg.iter("path") if p.get("stroke") == "#d8e0e3"
    )
    assert grid == pytest.approx([top, middle, 2 * middle - top], abs=0.2)  # 100, 50, 0
    band = [p for p in svg.iter("path") if p.get("fill-opacity") == "0.13"]
    assert len(band) == 1
    assert any(text.text == "A" for text in svg.iter("text"))


def test_tanks_differ_by_line_and_mark_and_letters_do_not_lie_on_each_other():
    same = CourseResult((0, 1), (number(0.5), number(0.5)))
    svg = day_chart([(letter, same) for letter in "ABCD"], frame=frame())
    lines = [p for p in svg.iter("path") if p.get("stroke-width") == "2"]
    assert [p.get("stroke-dasharray") for p in lines] == list(DASHES)
    assert len(set(DASHES)) == 4
    heights = sorted(float(t.get("y")) for t in svg.iter("text") if t.text in tuple("ABCD"))
    assert np.diff(heights).min() > 10.0
    marks = {mark(k, 0.0, 0.0).get("d") or mark(k, 0.0, 0.0).tag for k in range(4)}
    assert len(marks) == 4


def test_a_tank_without_such_days_is_left_out_and_none_is_said():
    some = CourseResult((0, 1), (number(0.5), number(0.5)))
    svg = day_chart([("A", CourseResult((), ())), ("B", some)], frame=frame())
    assert [t.text for t in svg.iter("text") if t.text in ("A", "B")] == ["B"]
    empty = day_chart([("A", CourseResult((), ()))], frame=frame())
    assert "nothing to show" in "".join(empty.itertext())


def test_an_interval_stands_on_its_scale():
    rows = [("one", [(0, number(0.25, 0.0, 0.5)), (1, None)]), ("a longer name of it", [])]
    svg = interval_chart(rows, frame=frame(), floors=[0.5, None], missing="none")
    (disc,) = svg.iter("circle")
    bar = next(p for p in svg.iter("path") if p.get("stroke-linecap") == "round")
    start, end = map(float, re.match(r"M([\d.]+) [\d.]+H([\d.]+)", bar.get("d")).groups())
    assert float(disc.get("cx")) == pytest.approx(0.5 * (start + end), abs=0.2)
    dashed = next(p for p in svg.iter("path") if p.get("stroke-dasharray") == "2 2")
    assert float(re.match(r"M([\d.]+)", dashed.get("d")).group(1)) == pytest.approx(end, abs=0.2)
    said = " ".join(svg.itertext())
    assert "25 (0 to 50)" in said
    assert "none" in said


def test_differences_have_a_line_at_none():
    rows = [("less", [(0, number(-1.0, -1.5, -0.5))]), ("more", [(0, number(0.5, 0.2, 0.8))])]
    svg = interval_chart(rows, frame=frame(percent=False, top=None))
    (zero,) = (p for p in svg.iter("path") if p.get("stroke-width") == "1.2")
    x = float(re.match(r"M([\d.]+)", zero.get("d")).group(1))
    left, right = sorted(float(disc.get("cx")) for disc in svg.iter("circle"))
    assert left < x < right
    assert (x - left) == pytest.approx(2 * (right - x), rel=0.05)


def test_long_names_take_two_lines():
    name = "in a hiding place that the biter passes into"
    svg = interval_chart([(name, [(0, number(0.5, 0.4, 0.6))])], frame=frame())
    lines = [t.text for t in svg.iter("text") if t.text and t.text in name]
    assert " ".join(lines) == name
    assert len(lines) == 2


@pytest.mark.parametrize(
    ("what", "percent", "words"),
    [
        (number(0.25, 0.1, 0.5), True, "25 (10 to 50)"),
        (number(-0.5, -1.0, 0.25), False, "-0.5 (-1 to 0.25)"),
        (number(2.0), False, "2"),
        (number(None), False, "?"),
    ],
)
def test_a_figure_is_short(what, percent, words):
    assert figure(what, percent=percent) == words


@pytest.mark.parametrize(("dose", "run"), [([3, 1, 2], 2), ([4, 1, 2, 3], 2), ([5], 0)])
def test_the_middle_run_has_as_many_above_as_below(dose, run):
    assert middle_run(SimpleNamespace(run_column=lambda _: np.array(dose))) == run


def ready(*, unhurt: list[float], spare=None) -> str:
    one = design(at_risk="Moth")
    if spare is not None:
        one = replace(one, spare=spare)
    course = CourseResult(tuple(range(1, len(unhurt) + 1)), tuple(number(v) for v in unhurt))
    sheet = SimpleNamespace(
        results=results(one), pictures=[SimpleNamespace(unhurt=course)], alone=True
    )
    return " ".join("".join(_ready(sheet).itertext()).split())


def test_what_to_have_ready_comes_before_the_day_on_which_one_run_in_ten_needs_it():
    assert "By day 2 one run in ten has seen" in ready(unhurt=[1.0, 0.9, 0.8])
    assert "In fewer than one run in ten" in ready(unhurt=[1.0, 0.95, 0.91])
    assert "Watch Moth first: seriously hurt" in ready(unhurt=[1.0])


def test_where_a_keeper_looks_the_spare_places_are_those_that_were_counted():
    places = SpareResult(2, 5.0, number(0.95, 0.9, 0.99), number(0.0, 0.0, 0.05), (), ())
    words = ready(unhurt=[1.0, 0.5], spare=places)
    assert "Have 2 spare places ready, the first by day 5" in words
    assert "one run in ten has seen" not in words
