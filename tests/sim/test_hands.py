"""Hands: what is done to a running tank is what an event of the file would have done."""

from __future__ import annotations

import numpy as np
import pytest

from sim.check import check_file
from sim.errors import Refused
from sim.hands import Played, feed_now, settle_acts, spawn_now, with_event, with_pieces
from sim.rules.codes import AWAY, EGGS, IN_TANK, NIGHT
from sim.scenario import Piece
from sim.settings import Settings

FOUR_FOOT = "scenarios/convict-four-foot.toml"


def begun(day: float = 1.5, file: str = FOUR_FOOT):
    checked = check_file(file)
    played = Played(
        scenario=checked.scenario, layout=checked.layout, run=3, seed=5,
        settings=Settings(watch_all=True),
    )  # fmt: skip
    history = played.begin()
    history.advance(until_day=day)
    settle_acts(history)
    return played, history


def name(played, i: int) -> str:
    from sim.outcome import fish_names

    return fish_names(played.scenario)[i]


def test_a_hand_is_the_event_that_the_file_would_have_had():
    """Played again from its first moment with the event in the file, the same bytes come."""
    played, history = begun()
    after, now = with_event(played, history, do="take out", fish=(name(played, 2),))
    now.advance(until_day=1.7)
    again = after.begin()
    again.advance(until_day=1.7)
    assert again.state.fish.presence[2] == AWAY
    assert again.day == now.day
    assert again.state.fish.tobytes() == now.state.fish.tobytes()
    assert again.state.pair.tobytes() == now.state.pair.tobytes()


def test_what_has_happened_stays():
    played, history = begun()
    before = history.snapshot()
    _, now = with_event(played, history, do="take out", fish=(name(played, 2),))
    rest = np.arange(len(before.fish)) != 2
    assert now.state.fish.x[rest] == pytest.approx(before.fish.x[rest])
    assert np.array_equal(now.state.tally.chases_given, before.tally.chases_given)
    assert now.day == pytest.approx(history.day)


def test_one_that_was_taken_out_is_put_back():
    played, history = begun()
    played, history = with_event(played, history, do="take out", fish=(name(played, 2),))
    history.advance(until_day=history.day + 0.05)
    _, history = with_event(played, history, do="bring back", fish=(name(played, 2),))
    assert history.state.fish.presence[2] == IN_TANK


def test_they_spawn_at_that_moment_and_their_ground_grows():
    from sim.ground import territories

    played, history = begun()
    before = {t.fish: t.area_m2 for t in territories(history)}
    played, history = spawn_now(played, history)
    row = history.state.broods[0]
    assert row.stage == EGGS
    assert history.day < 1.51
    pair = tuple(sorted((int(row.mother), int(row.father))))
    history.advance(until_day=history.day + 0.01)
    after = {t.fish: t.area_m2 for t in territories(history)}
    assert after[pair] > 1.5 * max(before.get(pair, 0.0), 0.01)
    assert played.scenario.breeding.mode == "on"
    with pytest.raises(Refused, match="young in the tank already"):
        spawn_now(played, history)


def test_nobody_spawns_where_no_two_can():
    played, history = begun(file="scenarios/small-tetras-large-cichlid.toml")
    with pytest.raises(Refused, match="can pair"):
        spawn_now(played, history)


def test_food_falls_at_the_end_that_was_asked_for():
    played, history = begun()
    played, history = feed_now(played, history, right=True)
    history.strides(20)
    tank = history.state.tank[0]
    assert tank.meal == 1
    assert history.state.food.x[0] > 0.8 * played.scenario.tank.length_m


def test_a_divider_that_the_file_has_not_got_is_put_in_and_taken_out():
    played, history = begun()
    tank = played.scenario.tank
    sheet = Piece(
        name="sheet", kind="divider", length_m=0.006, width_m=tank.width_m,
        x_m=0.5 * tank.length_m, y_m=0.5 * tank.width_m,
    )  # fmt: skip
    played, history = with_pieces(played, history, (sheet,), do="divider in", divider="sheet")
    assert len(set(history.state.fish.compartment.tolist())) == 2
    history.advance(until_day=history.day + 0.01)
    played, history = with_event(played, history, do="divider out", divider="sheet")
    assert len(set(history.state.fish.compartment.tolist())) == 1


def test_a_stone_is_moved_and_one_that_overlaps_is_refused_with_a_sentence():
    played, history = begun()
    pieces = history.layout.pieces
    moved = {"piece": "stone row", "x_m": 0.483, "y_m": 0.254}
    _, now = with_event(played, history, do="re-arrange", moves=(moved,))
    assert now.state.tank.furniture[0] == 1
    assert now.layout.stages[1].pieces[1].outline.centroid.x == pytest.approx(0.483)
    on_another = {"piece": pieces[0].name, "x_m": float(pieces[1].outline.centroid.x),
                  "y_m": float(pieces[1].outline.centroid.y)}  # fmt: skip
    with pytest.raises(Refused):
        with_event(played, history, do="re-arrange", moves=(on_another,))


def test_nothing_is_done_to_a_run_that_is_over():
    played, history = begun()
    history.state.tank.end[0] = history.state.tank.clock[0]
    with pytest.raises(Refused, match="over"):
        with_event(played, history, do="take the fry")


def test_they_spawn_and_are_fed_from_the_first_moment_of_light_and_not_when_it_goes_off():
    played, history = begun(day=2.0)
    while history.state.tank.phase[0] == NIGHT:
        history.strides(1)
    assert history.state.tank.clock[0] % 86400.0 == pytest.approx(
        float(history.state.tank.light_on[0]), abs=1e-3
    )
    spawn_now(played, history)
    feed_now(played, history, right=False)
    off = (history.state.tank.light_off[0] - 300.0) / 86400.0
    history.advance(until_day=2.0 + off)
    settle_acts(history)
    for hand in (spawn_now, lambda *run: feed_now(*run, right=True)):
        with pytest.raises(Refused, match="the light is off, or goes off soon"):
            hand(played, history)
