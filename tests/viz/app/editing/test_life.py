"""Breeding, events, keeper and meals."""

from __future__ import annotations

import pytest

from sim.errors import Refused
from tests.viz.app.editing.made import shipped
from viz.app.editing import life
from viz.app.editing.verdict import judge


def test_a_mode_takes_what_it_does_not_use_with_it():
    on = life.set_breeding(shipped(), mode="on", spawn_day=5, pair=("Basalt", "Pumice"))
    assert judge(on).problems == ()
    free = life.set_breeding(on, mode="spontaneous")
    assert (free.breeding.spawn_day, free.breeding.pair) == (None, None)
    assert judge(free).problems == ()
    off = life.set_breeding(on, mode="off")
    assert off.breeding.spawn_day is None
    assert judge(off).problems == ()


def test_events_come_change_and_go():
    scenario = life.add_event(shipped(), do="take out", on_day=3, fish=("Basalt",))
    scenario = life.add_event(scenario, do="take out", on_day=5, fish=("Lint",))
    assert [e.name for e in scenario.events] == ["take out", "take out 2"]
    assert judge(scenario).problems == ()
    later = life.change_event(scenario, "take out 2", on_day=6.5)
    assert later.events[1].on_day == 6.5
    assert [e.name for e in life.remove_event(later, "take out").events] == ["take out 2"]
    with pytest.raises(Refused, match='got do = "take out" without'):
        life.add_event(shipped(), do="take out", on_day=3)
    with pytest.raises(Refused, match="an event that is not here"):
        life.remove_event(shipped(), "castle")


def test_what_check_says_of_an_event_stands_beside_it():
    late = life.add_event(shipped(), do="water change", on_day=40, share=0.3)
    (message,) = [m for m in judge(late).messages if not m.unwise]
    assert (message.about, message.name) == ("event", "water change")
    assert message.words.startswith("Got 40, when the run is over")


def test_keeper_and_meals_come_and_go():
    kept = life.set_keeper(shipped(), checks_at=("08:00", "19:00"), moves="victim", spare_places=2)
    assert judge(kept).problems == ()
    assert life.set_keeper(kept, spare_places=1).keeper_plan.spare_places == 1
    assert life.set_keeper(kept, nobody=True).keeper_plan is None
    fed = life.set_meals(shipped(), times=("10:00",))
    assert fed.feeding.times == (10.0,)
    assert life.set_meals(fed, unseen=True).feeding is None


def test_days_and_growth():
    after = life.set_days(shipped(), days="2 weeks", growth=True)
    assert (after.days, after.growth) == (14.0, True)
    with pytest.raises(Refused, match="a number of days from"):
        life.set_days(shipped(), days=-1)
