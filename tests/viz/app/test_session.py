"""Session: tanks that open, change, close and come back, and who is told of it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sim.errors import Refused
from sim.scenario import Piece, Scenario
from tests.viz.commands import SMALL
from viz.app import pages
from viz.app.opening import open_text, shipped
from viz.app.session import MOST_TANKS, Look, Session


class Runs:
    """Stands for what runs behind a page."""

    def __init__(self) -> None:
        self.closed = 0

    def close(self) -> None:
        self.closed += 1


@pytest.fixture
def two_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    both = tuple(
        pages.PageOf(key=key, name=key.title(), hint="", middle=lambda session: None)
        for key in ("build", "watch")
    )
    monkeypatch.setattr(pages, "PAGES", both)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def with_a_stone_on_the_pot(scenario: Scenario) -> Scenario:
    pot = scenario.pieces[0]
    stone = Piece(name="stone", kind="cobble", size="4 in", x_m=pot.x_m, y_m=pot.y_m)
    return scenario.model_copy(update={"pieces": (*scenario.pieces, stone)})


def renamed(scenario: Scenario, title: str) -> Scenario:
    return scenario.model_copy(update={"title": title})


def test_it_opens_the_file_of_the_command_line(small: Path) -> None:
    session = Session(small)
    assert session.tank.name == "Small tank"
    assert session.tank.file == small
    assert session.tank.checked is not None
    assert not session.tank.changed
    assert session.opened_with == ()


def test_without_a_file_it_opens_a_tank_that_ships() -> None:
    session = Session()
    assert session.tank.checked is not None
    assert session.tank.file is None
    assert (
        session.tank.scenario
        == open_text(shipped("convict-four-foot.toml").read_text("utf-8")).scenario
    )


def test_a_bad_file_of_the_command_line_is_told_and_a_tank_is_there_all_the_same(
    tmp_path: Path,
) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(SMALL.replace('"30 in"', '"30 parsecs"'), encoding="utf-8")
    session = Session(path)
    assert len(session.opened_with) == 1
    assert "bad.toml, tank.length" in session.opened_with[0].where
    assert session.tank.checked is not None


def test_an_edit_is_checked_stored_and_told(small: Path) -> None:
    session = Session(small)
    told: list[str] = []
    session.listen(lambda: told.append(session.tank.name))
    session.replace_tank(0, renamed(session.tank.scenario, "Another"))
    assert told == ["Another"]
    assert session.tank.changed
    assert session.tank.checked is not None


def test_what_cannot_be_played_is_stored_with_its_sentences(small: Path) -> None:
    session = Session(small)
    session.replace_tank(0, with_a_stone_on_the_pot(session.tank.scenario))
    assert session.tank.checked is None
    assert any("overlap" in problem.sentence for problem in session.tank.problems)
    session.replace_tank(0, session.tank.saved)
    assert session.tank.checked is not None
    assert session.tank.problems == ()
    assert not session.tank.changed  # back at what the file holds


def test_saving_makes_it_unchanged_and_stops_nothing(small: Path, tmp_path: Path) -> None:
    session = Session(small)
    session.replace_tank(0, renamed(session.tank.scenario, "Another"))
    session.live = live = Runs()
    session.replace_tank(0, session.tank.scenario, file=tmp_path / "other.toml")
    assert not session.tank.changed
    assert session.tank.file == tmp_path / "other.toml"
    assert session.live is live
    assert live.closed == 0


def test_a_change_stops_what_played_the_tank_as_it_was(small: Path) -> None:
    session = Session(small)
    session.live, session.batch = live, batch = Runs(), Runs()
    session.replace_tank(0, renamed(session.tank.scenario, "Another"))
    assert (live.closed, batch.closed) == (1, 1)
    assert session.live is None
    assert session.batch is None


def test_a_change_of_another_tank_leaves_the_living_one_alone(small: Path) -> None:
    session = Session(small)
    session.add_variant(session.tank.scenario, name="Longer")
    session.live, session.batch = live, batch = Runs(), Runs()
    session.replace_tank(0, renamed(session.tanks[0].scenario, "Another"))
    assert (live.closed, batch.closed) == (0, 1)


def test_variants_get_names_of_their_own_and_there_are_four_at_most(small: Path) -> None:
    session = Session(small)
    for _ in range(MOST_TANKS - 1):
        session.add_variant(session.tanks[0].scenario, name="Small tank")
    assert [tank.name for tank in session.tanks] == [
        "Small tank", "Small tank (2)", "Small tank (3)", "Small tank (4)",
    ]  # fmt: skip
    assert session.picked == 3
    with pytest.raises(Refused, match="at most 4"):
        session.add_variant(session.tank.scenario, name="One more")
    assert len(session.tanks) == 4


def test_closing_keeps_the_picked_one_picked_and_the_last_one_open(small: Path) -> None:
    session = Session(small)
    session.add_variant(session.tank.scenario, name="B")
    session.add_variant(session.tank.scenario, name="C")
    session.pick(1)
    session.close_tank(0)
    assert session.tank.name == "B"
    session.close_tank(1)
    session.close_tank(0)
    assert [tank.name for tank in session.tanks] == ["B"]


def test_a_bad_file_changes_nothing_and_says_what_check_says(small: Path) -> None:
    session = Session(small)
    told: list[int] = []
    session.listen(lambda: told.append(1))
    session.live = live = Runs()
    before = session.tanks
    bad = SMALL.replace('kind = "pot"', 'kind = "bucket"').replace("days = 2", "days = -2")
    problems = session.open_file(bad, name="C:\\tanks\\mine.toml")
    assert [problem.where for problem in problems] == [
        "mine.toml, days", 'mine.toml, pieces "pot".kind',
    ]  # fmt: skip
    assert session.tanks is before
    assert (live.closed, told) == (0, [])


def test_a_text_from_the_browser_opens(small: Path) -> None:
    session = Session()
    assert session.open_file(SMALL, name="mine.toml") == ()
    assert session.tank.name == "Small tank"
    assert session.tank.file is None


@pytest.mark.parametrize("name", ["../../x.toml", "/etc/passwd", "", "..", "a\0b", "x" * 999])
def test_the_name_of_a_text_leads_nowhere(name: str) -> None:
    assert open_text(SMALL, name=name).scenario.title == "Small tank"


def test_a_text_may_be_based_on_a_tank_that_ships() -> None:
    checked = open_text('based_on = "convict-four-foot.toml"\ndays = 3\n')
    assert len(checked.scenario.fish) == 4


@pytest.mark.parametrize("base", ["/etc/tank.toml", "../../secret.toml", "secret.toml"])
def test_a_text_may_be_based_on_nothing_else(base: str, tmp_path: Path) -> None:
    with pytest.raises(Refused) as refused:
        open_text(f'based_on = "{base}"\n', name="mine.toml")
    (problem,) = refused.value.problems
    assert "mine.toml" in problem.where
    assert "holdwater-" not in str(problem)


def test_a_large_text_is_refused_before_it_is_read() -> None:
    (problem,) = Session().open_file("x" * 1_000_001, name="mine.toml")
    assert "too large" in problem.sentence


@pytest.mark.usefixtures("two_pages")
def test_it_turns_to_a_page_and_to_no_other(small: Path) -> None:
    session = Session(small)
    told: list[str] = []
    session.listen(lambda: told.append(session.page))
    session.go("build")
    session.go("build")
    assert told == ["build"]
    with pytest.raises(KeyError):
        session.go("elsewhere")


@pytest.mark.usefixtures("two_pages")
def test_it_shows_a_run_of_a_batch_as_the_batch_played_it(small: Path) -> None:
    session = Session(small)
    session.page = "build"
    session.live, session.batch = live, batch = Runs(), Runs()
    session.show_run(0, 17, at_day=3.5, seed=4, changes={"injury_scale": 2.0})
    assert session.page == "watch"
    assert session.shown is not None
    assert (session.shown.run, session.shown.at_day, session.shown.seed) == (17, 3.5, 4)
    assert session.shown.changes == {"injury_scale": 2.0}
    assert (live.closed, batch.closed) == (1, 0)
    assert session.batch is batch


def test_two_that_live_beside_each_other_live_on_when_the_other_is_picked(small: Path) -> None:
    session = Session(small)
    session.add_variant(renamed(session.tank.scenario, "other"), name="other")
    session.go("compare")
    first, second = Runs(), Runs()
    session.live = second
    session.put_beside(first, 0)
    session.pick(0)
    assert (session.live, session.beside, session.beside_tank) == (first, second, 1)
    assert (first.closed, second.closed) == (0, 0)
    session.go("watch")  # where one lives alone
    assert (session.live, session.beside, session.beside_tank) == (first, None, -1)
    assert (first.closed, second.closed) == (0, 1)


def test_a_change_of_the_one_beside_ends_both(small: Path) -> None:
    session = Session(small)
    session.add_variant(renamed(session.tank.scenario, "other"), name="other")
    session.live, beside = Runs(), Runs()
    live = session.live
    session.put_beside(beside, 0)
    session.replace_tank(0, with_a_stone_on_the_pot(session.tanks[0].scenario))
    assert session.live is session.beside is None
    assert (live.closed, beside.closed) == (1, 1)


def test_who_stopped_listening_is_told_no_more(small: Path) -> None:
    session = Session(small)
    told: list[int] = []
    stop = session.listen(lambda: told.append(1))
    session.tell()
    stop()
    stop()
    session.tell()
    assert told == [1]


def test_a_sentence_is_told_once(small: Path) -> None:
    session = Session(small)
    told: list[str] = []
    session.listen(lambda: told.append(session.sentence))
    session.say("Flint has taken the pot.")
    session.say("Flint has taken the pot.")
    assert told == ["Flint has taken the pot."]


def test_how_it_looks_comes_back_and_nonsense_does_not() -> None:
    look = Look(shade="dark", large=True, gentle=True)
    assert Look.of(json.loads(json.dumps(look.plain()))) == look
    for nonsense in (None, [], "dark", {"shade": "pink", "large": 1}, {"gentle": "true"}):
        assert Look.of(nonsense) == Look()


@pytest.mark.usefixtures("two_pages")
def test_it_is_shown_once_the_browser_has_answered_whatever_that_was(small: Path) -> None:
    for kept in (None, {"tanks": "nonsense"}):
        session = Session(small)
        assert not session.arrived
        session.arrive(look=Look(shade="dark"), kept=kept, been=False)
        assert session.arrived
        assert session.first_time
        assert session.look.shade == "dark"
        assert session.tank.name == "Small tank"


def test_closing_stops_what_runs_and_tells_nobody(small: Path) -> None:
    session = Session(small)
    session.live, session.batch = live, batch = Runs(), Runs()
    session.listen(lambda: pytest.fail("told after closing"))
    session.close()
    session.close()
    session.tell()
    assert (live.closed, batch.closed) == (1, 1)


@pytest.mark.usefixtures("two_pages")
def test_unsaved_tanks_outlive_a_reload(small: Path) -> None:
    session = Session(small)
    session.add_variant(with_a_stone_on_the_pot(session.tank.scenario), name="With a stone")
    session.go("build")
    kept = json.loads(json.dumps(session.kept()))
    again = Session(small)
    told: list[int] = []
    again.listen(lambda: told.append(1))
    assert again.restore(kept)
    for came, was in zip(again.tanks, session.tanks, strict=True):
        assert came.scenario == was.scenario
        assert (came.name, came.saved, came.file, came.changed, came.problems) == (
            was.name, was.saved, was.file, was.changed, was.problems,
        )  # fmt: skip
    assert (again.picked, again.page) == (1, "build")
    assert again.tanks[0].file == small
    assert again.tank.changed
    assert again.tank.problems
    assert told == [1]


@pytest.mark.usefixtures("two_pages")
@pytest.mark.parametrize(
    "spoil",
    [
        lambda kept: None,
        lambda kept: [],
        lambda kept: {**kept, "tanks": []},
        lambda kept: {**kept, "tanks": kept["tanks"] * 5},
        lambda kept: {**kept, "picked": 7},
        lambda kept: {**kept, "picked": True},
        lambda kept: {**kept, "tanks": [{**kept["tanks"][0], "text": "nonsense ="}]},
        lambda kept: {**kept, "tanks": [{**kept["tanks"][0], "text": 3}]},
        lambda kept: {**kept, "tanks": [{**kept["tanks"][0], "saved": 3}]},
        lambda kept: {**kept, "tanks": ["tank"]},
    ],
)
def test_what_comes_back_spoilt_changes_nothing(small: Path, spoil) -> None:  # type: ignore[no-untyped-def]
    session = Session(small)
    before = session.tanks
    assert not session.restore(spoil(session.kept()))
    assert session.tanks is before


@pytest.mark.usefixtures("two_pages")
def test_what_was_unsaved_stands_beside_another_file_that_was_asked_for_since(small: Path) -> None:
    session = Session()
    session.add_variant(session.tank.scenario, name="In the making")
    again = Session(small)
    assert again.restore(session.kept())
    assert [tank.name for tank in again.tanks] == ["Small tank", "In the making"]
    assert again.tank.file == small
    assert again.tanks[1].changed


@pytest.mark.usefixtures("two_pages")
def test_what_comes_back_names_no_file_of_this_machine(small: Path, tmp_path: Path) -> None:
    session = Session()
    kept = session.kept()
    kept["tanks"][0] |= {"file": str(tmp_path / "elsewhere.toml"), "of_command": True}
    assert session.restore(kept)
    assert session.tank.file is None


def test_a_page_that_is_no_more_loses_no_tank(small: Path) -> None:
    session = Session(small)
    kept = {**session.kept(), "page": "elsewhere"}
    kept["tanks"] = [*kept["tanks"], {**kept["tanks"][0], "name": "Second"}]
    page = session.page
    assert session.restore(kept)
    assert (len(session.tanks), session.page) == (2, page)
