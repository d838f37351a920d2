"""What comes from the browser is checked before anything is done with it."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

import pytest

from tests.viz.app.editing.made import group, piece
from viz.app.building.bench import Bench, Picked, bench_of
from viz.app.building.hands import Hands
from viz.app.building.scene import scene_of
from viz.app.session import Session


@pytest.fixture
def bench() -> Iterator[Bench]:
    session = Session()
    yield bench_of(session)
    session.close()


class Heard:
    """Hands with their answers."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.hands = Hands(bench)
        self.answers: list[dict[str, Any]] = []

    def __call__(self, **message: object) -> dict[str, Any] | None:
        before = len(self.answers)
        self.hands.hear(message, self.answers.append)
        return self.answers[-1] if len(self.answers) > before else None


@pytest.fixture
def hear(bench: Bench) -> Heard:
    return Heard(bench)


def drop(x: object, y: object, **more: object) -> dict[str, object]:
    return {
        "kind": "drop", "what": "piece", "name": "stone row", "x": x, "y": y,
        "turn": math.pi / 2, "n": 1, **more,
    }  # fmt: skip


def test_a_drop_is_answered_and_said(bench: Bench, hear: Heard) -> None:
    assert hear(**drop(0.6, 0.2)) == {"kind": "answer", "n": 1, "ok": True, "sentence": ""}
    stones = piece(bench.scenario, "stone row")
    assert stones.x_m == pytest.approx(0.6, abs=0.0032)
    assert stones.x_m / 0.00635 == pytest.approx(round(stones.x_m / 0.00635)), "a quarter inch"
    assert bench.session.sentence == (
        "Stone row: 23.5 in from the left, 7.8 in from the front, turned 90 degrees."
    )


def test_a_refused_drop_is_answered_with_the_sentence(bench: Bench, hear: Heard) -> None:
    before = bench.scenario
    pot = piece(before, "large pot")
    answer = hear(**drop(pot.x_m, pot.y_m))
    assert answer is not None
    assert not answer["ok"]
    assert answer["sentence"].startswith('Not there: it stands where "large pot" stands')
    assert answer["sentence"].endswith("It is back where it was.")
    assert bench.scenario is before
    assert bench.session.sentence == answer["sentence"]


def test_a_try_changes_nothing(bench: Bench, hear: Heard) -> None:
    before = bench.scenario
    pot = piece(before, "large pot")
    tried = hear(**{**drop(pot.x_m, pot.y_m), "kind": "try"})
    assert tried is not None
    assert tried["sentence"].startswith("It stands where")
    assert hear(**{**drop(0.6, 0.2), "kind": "try"}) == {"kind": "tried", "n": 1, "sentence": ""}
    assert bench.scenario is before
    assert bench.draft.undoes is None


def test_turning_keeps_the_place_to_the_last_digit(bench: Bench, hear: Heard) -> None:
    root = piece(bench.scenario, "root")
    hear(**drop(root.x_m, root.y_m, name="root", turn=0.3))
    turned = piece(bench.scenario, "root")
    assert (turned.x_m, turned.y_m) == (root.x_m, root.y_m)
    assert turned.turn_rad == pytest.approx(0.3)


def test_keys_one_after_the_other_are_one_step(bench: Bench, hear: Heard) -> None:
    before = bench.scenario
    for number in range(5):
        hear(**drop(0.55 + 0.0254 * number, 0.2, n=number, keys=True))
    hear(kind="undo")
    assert bench.scenario == before
    assert bench.session.sentence == "Gone back: stone row moved."
    hear(kind="redo")
    assert bench.session.sentence == "Done again: stone row moved."


def test_fish_are_put_in_their_place(bench: Bench, hear: Heard) -> None:
    answer = hear(kind="drop", what="fish", name="swordtails", x=0.8, y=0.1, n=4)
    assert answer is not None
    assert answer["ok"]
    assert group(bench.scenario, "swordtails").joins_place == pytest.approx((0.8, 0.1), abs=0.004)
    assert bench.session.sentence.startswith("Swordtails, all 6: put in ")
    stone = hear(kind="drop", what="fish", name="Lint", x=0.533, y=0.254, n=5)
    assert stone is not None
    assert stone["sentence"].startswith('Not there: "stone row" stands there')


def test_pieces_come_and_go(bench: Bench, hear: Heard) -> None:
    hear(kind="put", piece="cobble", size="4 in", x=0.62, y=0.1, n=1)
    assert bench.picked == Picked("piece", "4 in cobble")
    assert piece(bench.scenario, "4 in cobble").x_m == pytest.approx(0.62, abs=0.004)
    hear(kind="remove", what="piece", name="4 in cobble")
    assert len(bench.scenario.pieces) == 6
    hear(kind="put", piece="cobble", size="5 in", x=0.62, y=0.1, n=2)
    assert bench.session.sentence.startswith('No such size of cobble, got "5 in"')
    hear(kind="put", piece="cobble", size="4 in", x=0.01, y=0.01, n=3)
    assert len(bench.scenario.pieces) == 6, "not through the glass"


def test_a_place_is_looked_from(bench: Bench, hear: Heard) -> None:
    bench.looking.show("sight")
    hear(kind="look", x=0.7, y=0.1)
    assert bench.looking.place == (0.7, 0.1)
    assert bench.looking.shown.words.startswith("From there a fish near the floor sees ")
    hear(kind="look", x=99, y=-99)
    assert bench.looking.place == (bench.scenario.tank.length_m, 0.0)


NONSENSE: tuple[object, ...] = (
    None, 7, "drop", [], {}, {"kind": None}, {"kind": "explode"}, {"kind": ["drop"]},
    drop(math.nan, 0.2), drop(math.inf, 0.2), drop("0.6", 0.2), drop(None, 0.2), drop(True, 0.2),
    drop(10**400, 0.2), drop(0.6, 0.2, n="1"), drop(0.6, 0.2, n=True),
    drop(0.6, 0.2, name="castle"), drop(0.6, 0.2, turn="x"),
    drop(0.6, 0.2, name=7), drop(0.6, 0.2, name="x" * 500), drop(0.6, 0.2, what="tank"),
    drop(0.6, 0.2, what="fish", name="nobody"), drop(0.6, 0.2, turn=math.nan),
    {"kind": "put", "piece": 7, "size": "4 in", "x": 0.1, "y": 0.1},
    {"kind": "put", "piece": "cobble", "size": None, "x": 0.1, "y": 0.1},
    {"kind": "put", "piece": "cobble", "size": "4 in", "x": math.nan, "y": 0.1},
    {"kind": "look", "x": math.nan, "y": 0.0}, {"kind": "look"}, {"kind": "remove"},
    {"kind": "remove", "what": "tank", "name": "x"}, {"kind": "pick", "what": 3, "name": 4},
    {"kind": "try"}, {"kind": "undo"}, {"kind": "redo"},
)  # fmt: skip


@pytest.mark.parametrize("message", NONSENSE, ids=str)
def test_what_makes_no_sense_does_nothing(bench: Bench, message: object) -> None:
    before = bench.scenario
    answers: list[dict[str, Any]] = []
    Hands(bench).hear(message, answers.append)
    assert answers == []
    assert bench.scenario is before
    assert bench.looking.place == bench.looking.place


def test_a_place_far_away_is_held_at_the_glass(bench: Bench, hear: Heard) -> None:
    answer = hear(**drop(1e9, -1e9))
    assert answer is not None
    assert not answer["ok"]
    assert "glass" in answer["sentence"]


def test_the_scene_is_plain_and_says_all(bench: Bench) -> None:
    scene = scene_of(bench)
    assert json.loads(json.dumps(scene, allow_nan=False)) == scene
    assert [one["name"] for one in scene["pieces"]] == [p.name for p in bench.scenario.pieces]
    assert [one["count"] for one in scene["fish"]] == [1, 1, 6, 1]
    assert all(one["anywhere"] for one in scene["fish"])
    pot = scene["pieces"][0]
    assert pot["label"] == (
        "large pot, flower pot on its side, 9 in from the left, 12 in from the front"
    )
    (door,) = pot["doors"]
    assert door["width"] == 0.135
    assert door["y"] < pot["y"], "turned to the front"
    assert scene["picked"] is None


def test_a_mark_stands_on_what_a_sentence_is_about(bench: Bench) -> None:
    from viz.app.editing.glass import resize_tank

    bench.do(lambda s: resize_tank(s, length="36 in", pieces="keep"), did="another size")
    scene = scene_of(bench)
    marked = {one["name"]: one["mark"] for one in scene["pieces"]}
    assert marked["pipe"] == "problem"
    assert marked["large pot"] == ""
    says = next(one["says"] for one in scene["pieces"] if one["name"] == "pipe")
    assert says.startswith("It goes through the right glass")


def test_fish_that_are_put_in_anywhere_are_shown_in_open_water(bench: Bench) -> None:
    from shapely.geometry import Point

    layout = bench.tank.checked.layout
    places = {}
    for one in scene_of(bench)["fish"]:
        places[one["name"]] = (one["x"], one["y"])
        assert all(not p.outline.contains(Point(one["x"], one["y"])) for p in layout.pieces)
    hands = Heard(bench)
    hands(**drop(0.62, 0.2))
    after = {one["name"]: (one["x"], one["y"]) for one in scene_of(bench)["fish"]}
    assert sum(places[name] == after[name] for name in places) >= 3, "they stay where they are"


def test_a_piece_that_comes_later_is_shown_so() -> None:
    from tests.viz.app.editing.made import SCENARIOS

    session = Session(SCENARIOS / "divider-opaque.toml")
    bench = bench_of(session)
    rows = scene_of(bench)["pieces"]
    events = {event.do for event in bench.scenario.events}
    assert events == {"divider out"}
    assert not any(row["later"] for row in rows)
    from viz.app.editing.changing import rebuilt, remade

    name = next(event.divider for event in bench.scenario.events)
    event = remade(bench.scenario.events[0], do="divider in")
    bench.do(lambda s: rebuilt(s, events=(event,)), did="later")
    assert {row["name"] for row in scene_of(bench)["pieces"] if row["later"]} == {name}
    session.close()
