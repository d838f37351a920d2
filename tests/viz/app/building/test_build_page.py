"""The page Build without a browser: what stands in its columns, and what pressing does."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from sim.check import Checked, check_file, check_scenario
from tests.viz.app.editing.made import SCENARIOS
from tests.viz.app.rendering import below, button, page_context, rendered, shown
from viz.app import frame
from viz.app.building.bench import DRAWERS, Bench, Picked, bench_of
from viz.app.editing.glass import resize_tank
from viz.app.editing.life import set_days
from viz.app.editing.odds import Odds
from viz.app.session import Session
from viz.sums_results import gather_sums
from viz.sums_words import sums_in_words


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    path = tmp_path / "mine.toml"
    path.write_text((SCENARIOS / "convict-four-foot.toml").read_text("utf-8"), encoding="utf-8")
    with page_context():
        session = Session(path)
        session.go("build")
        made = bench_of(session)
        made.started_in = tmp_path
        # Runs are another test's.
        made.looking._follow_odds = lambda: None  # type: ignore[method-assign]
        yield made
        session.close()


def typed(context: object, label: str) -> object:
    """The one input with this label."""
    (found,) = (one for one in below(context.container) if getattr(one, "label", "") == label)  # type: ignore[attr-defined]
    return found


def put(context: object, label: str, text: str) -> None:
    """Type in an input, or choose in a list."""
    typed(context, label).vue_typed(text)  # type: ignore[attr-defined]


def drawer(context: object, key: str) -> None:
    button(context, dict(DRAWERS)[key]).click()


def test_the_fish_stand_with_trade_and_scientific_name(bench: Bench) -> None:
    words = shown(rendered(frame.Frame(bench.session)))
    for part in ("swordtails x 6", "Xiphophorus hellerii", "convict cichlid, male, 4.8 in",
                 "Rough odds", "Cobble, 4 in", "This is a model."):  # fmt: skip
        assert part in words


def test_every_drawer_opens(bench: Bench) -> None:
    context = rendered(frame.Frame(bench.session))
    found = {}
    for key, _ in DRAWERS:
        drawer(context, key)
        found[key] = shown(context)
    assert "Put fish in" in found["fish"]
    assert "79 gal to the brim" in found["tank"]
    assert "Nothing is done to this tank" in found["days"]
    assert "In 6 feet" in found["variant"]
    assert str(bench.folders[0]) in found["files"]


def test_a_piece_is_put_in_picked_turned_and_taken_out(bench: Bench) -> None:
    context = rendered(frame.Frame(bench.session))
    button(context, "Hiding places").click()
    assert "Room for Pumice, swordtails and Lint; too large: Basalt." in shown(context)
    button(context, "Plastic pipe, 2 in").click()
    assert bench.picked == Picked("piece", "2 in pipe")
    before = bench.scenario
    button(context, "Turn left").click()
    assert bench.scenario != before
    button(context, "Undo").click()
    assert bench.scenario == before
    put(context, "From the left", "30 in")
    assert bench.scenario.pieces[-1].x_m == pytest.approx(0.762)
    put(context, "From the left", "far")
    assert typed(context, "From the left").error.startswith('Got "far"')
    put(context, "Size", "3 in")
    assert bench.scenario.pieces[-1].size == "3 in"
    put(context, "Name", "Large Pot")
    assert "which another piece is called" in typed(context, "Name").error
    button(context, "Take it out").click()
    assert len(bench.scenario.pieces) == 6
    assert bench.picked is None


def test_fish_are_put_in_and_changed(bench: Bench) -> None:
    context = rendered(frame.Frame(bench.session))
    button(context, "Put more fish in").click()
    put(context, "Which fish", "Thorichthys meeki")
    put(context, "How many", "two")
    button(context, "Put them in").click()
    assert 'Got "two"; expected a whole number' in shown(context)
    put(context, "How many", "2")
    put(context, "How long, roughly", "about 4 in")
    button(context, "Put them in").click()
    new = bench.scenario.fish[-1]
    assert (new.species, new.count, new.length_about) == ("Thorichthys meeki", 2, True)
    assert bench.picked == Picked("fish", new.name)
    put(context, "Since when", "settled")
    assert bench.scenario.fish[-1].established.since_day == -100.0
    put(context, "Days before day 0", "300")
    assert bench.scenario.fish[-1].established.since_day == -300.0
    put(context, "Days before day 0", "long")
    assert "expected a number of days" in typed(context, "Days before day 0").error
    put(context, "Since when", "new")
    put(context, "On day", "3")
    put(context, "At", "22:00")
    assert (bench.scenario.fish[-1].joins_day, bench.scenario.fish[-1].joins_at_h) == (3.0, 22.0)
    button(context, "Take them out").click()
    assert len(bench.scenario.fish) == 4


def test_the_glass_is_changed_by_name_and_by_its_sides(bench: Bench) -> None:
    context = rendered(frame.Frame(bench.session))
    drawer(context, "tank")
    put(context, "Size by name", "125 gallon")
    assert bench.scenario.tank.length_m == pytest.approx(1.8288)
    assert bench.tank.checked is not None
    button(context, "stay where they are").click()
    put(context, "Long", "36 in")
    assert bench.tank.checked is None
    words = shown(context)
    assert "Before it can be played:" in words
    assert "It goes through the right glass" in words
    button(context, "pipe").click()
    assert bench.picked == Picked("piece", "pipe")
    put(context, "Floor", "gravel")
    assert bench.scenario.tank.substrate == "gravel"
    put(context, "Water", "boiling")
    assert typed(context, "Water").error


def sentences(checked: list[Checked], given: dict[str, float]) -> list[str]:
    """What the command would say of these tanks."""
    results = gather_sums(
        [Path("mine.toml"), Path("other.toml")][: len(checked)], checked=checked, given=given
    )
    return [said.words for said in sums_in_words(results)]


def test_the_sums_are_those_of_the_command_and_follow_what_is_typed(
    bench: Bench, tmp_path: Path
) -> None:
    context = rendered(frame.Frame(bench.session))
    drawer(context, "tank")
    assert "What the floor carries" not in shown(context)
    button(context, "Reckon it").click()
    checked = check_file(tmp_path / "mine.toml")

    def told(**given: float) -> list[str]:
        return sentences([checked], given)

    for words in told():
        assert words in shown(context)
    assert "a structural engineer" in shown(context)
    put(context, "pH of the water", "8.4")
    assert told(ph=8.4) != told()
    for words in told(ph=8.4):
        assert words in shown(context)
    put(context, "Water changed each time", "all of it")
    assert "expected" in typed(context, "Water changed each time").error
    for words in told(ph=8.4):  # what cannot be read is left out
        assert words in shown(context)
    put(context, "Water changed each time", "50 %")
    for words in told(ph=8.4, change_share=0.5):
        assert words in shown(context)


def test_the_sums_of_open_tanks_stand_beside_each_other(bench: Bench, tmp_path: Path) -> None:
    bench.add_variant(resize_tank(bench.scenario, size="125 gallon"), name="In 6 feet")
    context = rendered(frame.Frame(bench.session))
    drawer(context, "tank")
    button(context, "Reckon it").click()
    assert "gal (" in shown(context)
    both = [check_file(tmp_path / "mine.toml"), check_scenario(bench.scenario)]
    alone, beside = sentences(both[1:], {}), sentences(both, {})
    assert all(words in shown(context) for words in alone)
    button(context, "Beside the other open tanks").click()
    assert all(words in shown(context) for words in beside)
    assert not set(alone) & set(beside)
    bench.do(lambda scenario: resize_tank(scenario, length="36 in", pieces="keep"), did="shorter")
    assert "In 6 feet: no sums before it can be played" in shown(context)


def test_days_spawning_keeper_and_events(bench: Bench) -> None:
    context = rendered(frame.Frame(bench.session))
    drawer(context, "days")
    put(context, "Breeding", "on")
    put(context, "Eggs on day", "8")
    assert (bench.scenario.breeding.mode, bench.scenario.breeding.spawn_day) == ("on", 8.0)
    put(context, "Where", "large pot")
    assert bench.scenario.breeding.site == "large pot"
    put(context, "The keeper", "victim")
    put(context, "Looks in at", "07:30, 20:00")
    put(context, "Spare places", "2")
    plan = bench.scenario.keeper_plan
    assert (plan.moves, plan.checks_at, plan.spare_places) == ("victim", (7.5, 20.0), 2)
    put(context, "Something is done", "take out")
    put(context, "On day", "12")
    button(context, "Add it").click()
    assert 'Got do = "take out" without' in shown(context)
    put(context, "To", "Basalt")
    button(context, "Add it").click()
    assert "Day 12: take out: Basalt" in shown(context)
    put(context, "Day of: take out", "13")
    assert bench.scenario.events[0].on_day == 13.0
    put(context, "Something is done", "re-arrange")
    put(context, "To", "stone row")
    put(context, "Then from the left", "24 in")
    button(context, "Add it").click()
    assert len(bench.scenario.events) == 1, "a place has two sides"
    put(context, "Then from the front", "8 in")
    button(context, "Add it").click()
    (move,) = bench.scenario.events[1].moves
    assert (move.piece, move.x_m) == ("stone row", pytest.approx(0.6096))
    put(context, "Something is done", "take out")
    put(context, "To", "pipe")
    put(context, "On day", "9")
    button(context, "Add it").click()
    assert bench.scenario.events[2].pieces == ("pipe",)
    assert bench.tank.problems == ()
    put(context, "Played for, days", "10")
    assert "when the run is over" in shown(context)
    put(context, "Played for, days", "2 weeks")
    assert bench.tank.checked is not None


def test_one_thing_is_changed_and_told(bench: Bench) -> None:
    context = rendered(frame.Frame(bench.session))
    drawer(context, "variant")
    button(context, "They spawn on day 5").click()
    assert len(bench.session.tanks) == 2
    words = shown(context)
    assert "B differs from A in one thing." in words
    assert 'Breeding: mode "on" instead of "off"; spawn day 5 instead of none.' in words
    button(context, "12 swordtails").click()
    assert "C differs from A in 2 things: which of them makes a difference cannot be told" in shown(
        context
    )
    button(context, "Close C").click()
    button(context, "Close B").click()
    assert len(bench.session.tanks) == 1


def test_saving_asks_and_a_bad_file_loses_nothing(bench: Bench, tmp_path: Path) -> None:
    context = rendered(frame.Frame(bench.session))
    (tmp_path / "bad.toml").write_text('tank = "wide"\n', encoding="utf-8")
    drawer(context, "files")
    before = (tmp_path / "mine.toml").read_text("utf-8")
    button(context, "Save").click()
    assert "there is a file of that name already" in shown(context)
    assert (tmp_path / "mine.toml").read_text("utf-8") == before
    button(context, "Leave it").click()
    put(context, "File name", "yours")
    button(context, "Save").click()
    assert (tmp_path / "yours.toml").exists()
    assert bench.session.sentence == "Saved as yours.toml."
    scenario = bench.scenario
    put(context, "A tank of these folders", str(tmp_path.resolve() / "bad.toml"))
    words = shown(context)
    assert 'tank: got "wide"; expected a table of keys.' in words
    assert "fish: is missing" in words
    assert bench.scenario is scenario
    handed = next(one for one in below(context.container) if getattr(one, "accept", "") == ".toml")
    good = (SCENARIOS / "juveniles-crowd.toml").read_text("utf-8")
    for padding in ("x" * 1_000_001, "ü" * 500_001):  # more bytes than are taken; else a good file
        handed.vue_handed({"name": "big.toml", "text": f"# {padding}\n{good}"})
        assert bench.scenario is scenario
    handed.vue_handed({"name": 7, "text": None})
    handed.vue_handed("nonsense")
    assert bench.scenario is scenario
    handed.vue_handed({"name": "theirs.toml", "text": "days = 3"})
    assert "theirs.toml, tank: is missing" in shown(context)
    bench.do(lambda s: set_days(s, days=3), did="three days")
    handed.vue_handed({"name": "crowd.toml", "text": good})
    assert "This tank is not saved as it stands." in shown(context)
    button(context, "Leave it").click()
    assert bench.scenario.days == 3.0
    handed.vue_handed({"name": "crowd.toml", "text": good})
    button(context, "Open it").click()
    assert bench.scenario.title == check_file(SCENARIOS / "juveniles-crowd.toml").scenario.title


def test_rough_odds_are_shown_as_far_as_they_are_known(bench: Bench) -> None:
    from tests.viz.made import design, results

    context = rendered(frame.Frame(bench.session))
    bench.looking.odds = Odds(7, 20, hurt=2)
    bench.tell()
    assert "7 of 20 runs are played, in 2 of them a fish is seriously hurt" in shown(context)
    bench.looking.odds = Odds(20, 20, results=results(design(runs=20)))
    bench.tell()
    words = shown(context)
    assert "bring a fish hurt beyond torn fins" in words
    assert "Rough: 20 runs." in words
    assert "--" not in words, "nobody types an option here"
