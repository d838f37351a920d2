"""LiveTank: commands, skips, hands, faults and sleep, mostly stepped by hand."""

from __future__ import annotations

import math
import threading
import time
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from sim.rules.codes import AWAY, EGGS, IN_TANK
from tests.viz.app.watching.made import obey, played_of, still
from viz.app.events import Teller
from viz.app.live import (
    MOST_TELL_S,
    SLEEP_AFTER_S,
    SPEEDS,
    TELL_S,
    TELL_SHARE,
    THREAD,
    Hand,
    LiveTank,
    until_words,
)


def waited(condition: Any, seconds: float = 20.0) -> bool:
    """Wait for something another thread does; return whether it came."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if condition():
            return True
        time.sleep(0.01)
    return False


def test_it_goes_on_as_fast_as_it_is_told():
    live = still()
    for speed in SPEEDS:
        before = live.history.state.tank.clock[0]
        live.speed(speed)
        obey(live)
        for _ in range(20):
            live.step(0.1)
        passed = live.history.state.tank.clock[0] - before
        assert passed == pytest.approx(2.0 * speed, abs=0.4)
        assert live.moment.speed == speed


def test_a_class_is_told_less_often_so_that_words_never_take_more_than_a_share_of_a_core():
    enough = threading.Event()
    others = [threading.Thread(target=enough.wait, name=THREAD, daemon=True) for _ in range(30)]
    for one in others:
        one.start()
    living = sum(thread.name == THREAD for thread in threading.enumerate())
    took_s = 0.02
    period_s = until_words(took_s)
    long_s = until_words(2.0)  # as the first words of a page may take
    enough.set()
    assert living >= len(others)
    assert period_s == pytest.approx(living * took_s / TELL_SHARE)
    assert period_s > TELL_S
    assert until_words(0.0) == TELL_S
    assert long_s == MOST_TELL_S


def test_a_speed_that_there_is_not_changes_nothing():
    live = still()
    for nonsense in (1000.0, -1.0, float("nan")):
        live.speed(nonsense)
    obey(live)
    assert live.moment.speed == 1.0


def test_paused_it_stands_still_and_plays_on():
    live = still()
    live.pause()
    obey(live)
    before = live.history.state.tank.clock[0]
    live.step(0.5)
    assert live.history.state.tank.clock[0] == before
    assert not live.moment.playing
    live.play()
    obey(live)
    live.step(0.5)
    assert live.history.state.tank.clock[0] > before


def test_watching_changes_nothing_in_the_run():
    """Stepped by frames at any speed, it is the history that the batch plays."""
    live = still(watch_all=False)
    live.speed(100.0)
    obey(live)
    for _ in range(30):
        live.step(0.1)
    again = played_of(watch_all=False).begin()
    while again.state.tank.clock[0] < live.history.state.tank.clock[0]:
        again.strides(1)
    assert again.state.fish.tobytes() == live.history.state.fish.tobytes()
    assert again.state.pair.tobytes() == live.history.state.pair.tobytes()


def test_frames_say_where_every_fish_is():
    live = still()
    frames: list[Any] = []
    stop = live.on_frame(frames.append)
    obey(live)
    live.step(0.4)
    fish = live.history.state.fish
    frame = frames[-1]
    assert frame.motion.dtype == np.float32
    assert frame.motion.shape == (len(fish), 4)
    assert frame.motion[:, 0] == pytest.approx(fish.x, abs=1e-5)
    assert np.cos(frame.motion[:, 2]) == pytest.approx(
        fish.head_x / np.hypot(fish.head_x, fish.head_y), abs=1e-5
    )
    assert len(frame.motion.tobytes()) == 16 * len(fish)
    assert [one.number for one in frames] == sorted(one.number for one in frames)
    stop()
    count = len(frames)
    live.step(0.4)
    assert len(frames) == count


def test_next_event_stops_at_something_that_is_told_and_says_that_time_was_skipped():
    live = still()
    before = live.history.day
    live.next_event()
    obey(live)
    assert live.history.day > before
    skip, news = live.moment.events[-2:]
    assert (skip.kind, skip.day) == ("skip", before)
    assert news.kind not in ("skip", "leap")  # what it stopped at
    assert live.moment.last == news  # stands under the floor
    assert live.moment.stretches[-1].what == "skipped"


def test_time_that_was_skipped_without_an_event_says_so():
    live = still()
    teller = Teller(live.history)
    teller.skipped(1.0, 2.0, night=False)
    assert teller.last is not None
    assert teller.last.words == "24 hours skipped: nothing to tell of them"


def test_next_day_is_tomorrow_when_the_light_comes_on():
    live = still()
    live.next_day()
    obey(live)
    on = live.played.scenario.tank.lights_on_h / 24.0
    assert live.history.day == pytest.approx(1.0 + on, abs=0.01)
    assert [one.words for one in live.moment.events if one.kind == "skip"] != []


def test_skipped_time_is_never_told_as_watched():
    live = still()
    live.step(0.5)
    for _ in range(2):
        live.next_day()
        obey(live)
    live.step(0.5)
    stretches = live.moment.stretches
    for one, after in pairwise(stretches):
        assert one.end <= after.start + 1e-4
    watched = sum(one.end - one.start for one in stretches if one.what == "watched")
    assert watched < 0.01


def test_a_hand_is_done_and_told():
    live = still()
    name = live.moment.fish[3].name
    live.do(Hand("take out", {"fish": (name,)}, words=f"{name} is moved out"))
    obey(live)
    assert live.history.state.fish.presence[3] == AWAY
    assert live.moment.refused == ()
    assert live.moment.fish[3].hurt == "taken out"
    assert any(one.kind == "hand" and name in one.words for one in live.moment.events)
    live.do(Hand("bring back", {"fish": (name,)}, words=f"{name} is put back"))
    obey(live)
    assert live.history.state.fish.presence[3] == IN_TANK


def test_a_hand_that_cannot_be_is_refused_with_a_sentence_and_the_run_goes_on():
    live = still()
    live.do(Hand("take the fry", {}, words="The young are taken out"))
    live.do(Hand("spawn", {}, words="The pair spawns"))
    live.do(Hand("spawn", {}, words="The pair spawns"))
    obey(live)
    (said,) = live.moment.refused
    assert "young in the tank already" in said
    live.step(0.4)
    assert live.fault is None
    live.play()
    obey(live)
    assert live.moment.refused == ()


def test_eggs_lie_where_the_pair_has_spawned_and_are_fry_a_week_later():
    live = still()
    obey(live)
    assert live.moment.nests == ()
    live.do(Hand("spawn", {}, words="The pair spawns"))
    obey(live)
    (nest,) = live.moment.nests
    assert (nest.stage, nest.left) == (0, 1.0)
    holders = [ground for ground in live.moment.ground if 0 in ground.fish]
    assert math.dist(nest.at, holders[0].home) < 0.3
    length_m, width_m = (float(side) for side in live.history.floor.dims[:2])
    assert 0.0 < nest.at[0] < length_m
    assert 0.0 < nest.at[1] < width_m
    live.history.advance(until_day=live.history.day + 8.0)
    obey(live)
    assert [one.stage for one in live.moment.nests] == [2]


def test_when_they_spawn_their_ground_spreads():
    live = still()
    live.next_day()
    obey(live)

    def largest() -> float:
        return max((one.area_m2 for one in live.moment.ground if len(one.fish) > 1), default=0.0)

    before = largest()
    live.do(Hand("spawn", {}, words="The pair spawns"))
    obey(live)
    for _ in range(40):
        live.step(1.0)
    obey(live)
    assert live.history.state.broods.stage[0] == EGGS
    assert largest() > 1.5 * before
    assert live.moment.broods[-1].what == "eggs"
    assert any(fish.doing.startswith("guards eggs") for fish in live.moment.fish)


def test_a_picked_fish_tells_what_it_sees_and_why_it_attacked():
    live = still()
    live.next_day()
    obey(live)
    log = live.history.state.log
    attacker = int(log["attacker"][(int(live.history.state.tank.log_rows[0]) - 1) % len(log)])
    live.pick(attacker)
    obey(live)
    picked = live.moment.picked
    assert picked.row == attacker
    assert picked.sees.startswith("Sees ")
    assert picked.attacked
    assert picked.attacked[1].startswith("Because: ")
    live.pick(-1)
    obey(live)
    assert live.moment.picked is None
    live.pick(10_000)
    obey(live)
    assert live.moment.picked is None


def test_a_branch_hands_over_a_copy_of_this_moment():
    live = still()
    taken: list[Any] = []
    live.branch(lambda *what: taken.append(what))
    obey(live)
    ((played, state, day),) = taken
    assert played is live.played
    assert day == live.history.day
    before = state.fish.x.copy()
    live.step(1.0)
    assert np.array_equal(state.fish.x, before)


def test_a_run_of_a_batch_is_shown_from_the_day_that_is_asked_for():
    live = still(watch_all=False, at_day=1.5)
    assert live.history.day >= 1.5
    again = played_of(watch_all=False).begin()
    while again.state.tank.clock[0] < live.history.state.tank.clock[0]:
        again.strides(1)
    assert again.state.fish.tobytes() == live.history.state.fish.tobytes()


def test_leapt_time_is_passed_at_once_and_told_as_skipped():
    live = still(watch_all=False)
    live.speed(100.0)
    obey(live)
    for _ in range(60):
        live.step(0.1)
    obey(live)
    whats = {one.what for one in live.moment.stretches}
    assert whats == {"watched", "skipped"}


def test_without_a_sign_of_life_it_sleeps_and_wakes_with_one(monkeypatch: pytest.MonkeyPatch):
    live = still()
    live._sign = time.monotonic() - SLEEP_AFTER_S - 1.0
    before = live.history.state.tank.clock[0]
    live.step(0.5)
    live._tell()
    assert live.history.state.tank.clock[0] == before
    assert live.moment.asleep
    live.alive()
    live.step(0.5)
    live._tell()
    assert live.history.state.tank.clock[0] > before
    assert not live.moment.asleep


def test_at_its_end_it_stands_still():
    live = still(watch_all=False, at_day=29.9)
    live.next_day()
    obey(live)
    assert live.moment.finished
    assert not live.moment.playing
    live.do(Hand("take the fry", {}))
    live.step(0.5)
    obey(live)
    assert "over" in live.moment.refused[0]


def test_the_thread_sends_frames_tells_a_fault_and_begins_again(
    caplog: pytest.LogCaptureFixture,
):
    told = threading.Event()
    frames: list[Any] = []
    live = LiveTank(played_of(), told=told.set)
    live.on_frame(frames.append)
    try:
        assert waited(lambda: len(frames) > 5)
        assert told.is_set()

        def break_it(*_: Any) -> None:
            raise RuntimeError("on purpose")

        live.branch(break_it)
        assert waited(lambda: live.fault is not None)
        assert "on purpose" in str(live.fault)
        assert not live.moment.playing
        assert "on purpose" in caplog.text  # where the program was started
        count = len(frames)
        live.restart()
        assert waited(lambda: live.moment is not None and len(frames) > count + 3)
        assert live.fault is None
    finally:
        live.close()
    assert not live._thread.is_alive()
    live.close()


def test_leaps_of_a_run_share_a_line_and_are_not_read_out():
    """A run of a batch leaps many times a day; the list of what happened is not for that."""
    live = still(watch_all=False)
    live.speed(100.0)
    obey(live)
    for _ in range(900):
        live.alive()  # a busy machine takes longer over this than a tank without a page stays awake
        live.step(0.1)
    live._tell()
    events = live.moment.events
    leaps = [one for one in events if one.kind == "leap"]
    assert leaps
    assert all(a.kind != "leap" or b.kind != "leap" for a, b in pairwise(events))
    skips = [one for one in live.moment.stretches if one.what == "skipped"]
    many = [one for one in leaps if " leaps of this run" in one.words]
    assert len(skips) > len(leaps)
    assert many
    assert live.moment.last is None or live.moment.last.kind != "leap"
