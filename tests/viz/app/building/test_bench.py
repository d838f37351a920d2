"""The bench: edits are kept or refused, gone back, opened, saved and varied, without a browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sim.check import check_file
from tests.viz.app.editing.made import SCENARIOS, piece
from viz.app import session as session_module
from viz.app.building.bench import Bench, Picked, bench_of
from viz.app.editing import furnish
from viz.app.editing.saving import Occupied
from viz.app.open_tank import OpenTank
from viz.app.session import Session

STONES = Picked("piece", "stone row")


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    path = tmp_path / "mine.toml"
    path.write_text((SCENARIOS / "convict-four-foot.toml").read_text("utf-8"), encoding="utf-8")
    made = Session(path)
    yield made
    made.close()


@pytest.fixture
def bench(session: Session) -> Bench:
    return bench_of(session)


def move(bench: Bench, x_m: float, y_m: float = 0.2, *, joins: str = "") -> bool:
    return bench.do(
        lambda scenario: furnish.move_piece(scenario, "stone row", x_m=x_m, y_m=y_m),
        did="stone row moved",
        about=STONES,
        joins=joins,
        by_hand=True,
    )


def test_a_session_has_one_bench(session: Session) -> None:
    assert bench_of(session) is bench_of(session)


def test_what_is_done_is_the_tank_of_the_session(bench: Bench) -> None:
    told: list[int] = []
    bench.session.listen(lambda: told.append(bench.version))
    assert move(bench, 0.6)
    assert piece(bench.session.tank.scenario, "stone row").x_m == 0.6
    assert bench.session.tank.changed
    assert bench.picked == STONES
    assert told
    assert bench.draft.undoes == "stone row moved"


def test_what_cannot_be_leaves_everything_as_it_was(bench: Bench) -> None:
    before = bench.scenario
    pot = piece(before, "large pot")
    assert not move(bench, pot.x_m, pot.y_m)
    assert bench.refusal is not None
    assert bench.refusal.words.startswith('It stands where "large pot" stands')
    assert bench.refusal.about == STONES
    assert bench.scenario is before
    assert bench.draft.undoes is None
    assert move(bench, 0.6)
    assert bench.refusal is None


def test_back_and_again(bench: Bench) -> None:
    before = bench.scenario
    for x_m in (0.6, 0.62, 0.64):
        move(bench, x_m, joins="stone row by keys")
    move(bench, 0.5)
    bench.undo()
    assert piece(bench.scenario, "stone row").x_m == 0.64
    bench.undo()
    assert bench.scenario == before
    assert not bench.session.tank.changed
    bench.undo()
    assert bench.scenario == before
    bench.redo()
    bench.redo()
    assert piece(bench.scenario, "stone row").x_m == 0.5


def test_what_is_in_hand_is_there(bench: Bench) -> None:
    bench.do(
        lambda s: furnish.remove_piece(s, "stone row"), did="stone row taken out", about=STONES
    )
    assert bench.picked is None
    bench.pick(STONES)
    assert bench.picked is None
    bench.undo()
    bench.pick(STONES)
    assert bench.picked == STONES


def test_what_is_done_elsewhere_can_be_gone_back_too(bench: Bench) -> None:
    move(bench, 0.6)
    other, _ = furnish.add_piece(bench.scenario, kind="cobble", size="4 in")
    bench.session.replace_tank(0, other)
    assert bench.draft.undoes == "what was done elsewhere"
    bench.undo()
    assert len(bench.scenario.pieces) == len(other.pieces) - 1
    bench.undo()
    assert not bench.session.tank.changed


def test_who_looks_while_a_step_is_gone_back_does_not_take_it_for_an_edit(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page is rendered by other threads too, also while the tank of a step is being checked."""
    move(bench, 0.6)
    whole = session_module.tank_of
    seen: list[str | None] = []

    def checked_slowly(*given: Any, **named: Any) -> OpenTank:
        seen.append(bench.draft.redoes)
        return whole(*given, **named)

    monkeypatch.setattr(session_module, "tank_of", checked_slowly)
    bench.undo()
    assert seen == ["stone row moved"]
    assert bench.draft.redoes == "stone row moved"
    assert bench.draft.undoes is None
    bench.redo()
    assert piece(bench.scenario, "stone row").x_m == 0.6
    assert bench.draft.undoes == "stone row moved"


def test_a_tank_kept_over_a_reload_is_still_not_saved(bench: Bench, session: Session) -> None:
    move(bench, 0.6)
    kept = session.kept()
    again = Session(session.command_file)
    again.restore(kept)
    fresh = bench_of(again)
    assert piece(fresh.scenario, "stone row").x_m == 0.6
    assert fresh.draft.changed
    assert again.tank.changed
    again.close()


def test_a_bad_file_says_what_check_says_and_loses_nothing(bench: Bench, tmp_path: Path) -> None:
    move(bench, 0.6)
    before = bench.session.tanks
    text = (tmp_path / "mine.toml").read_text("utf-8")
    bad = text.replace('kind = "driftwood"', 'kind = "driftwod"').replace("swordtail", "swrdtail")
    (tmp_path / "bad.toml").write_text(bad, encoding="utf-8")
    from sim.errors import Refused

    with pytest.raises(Refused) as refusal:
        check_file(tmp_path / "bad.toml")
    assert not bench.open_listed(str(tmp_path.resolve() / "bad.toml"))
    assert bench.refusal is not None
    said = [problem.sentence for problem in bench.refusal.problems]
    assert said == [problem.sentence for problem in refusal.value.problems]
    assert len(said) == 2
    assert not bench.open_text(bad, name="theirs.toml")
    assert [p.sentence for p in bench.refusal.problems] == said
    assert bench.refusal.problems[0].where.startswith("theirs.toml, ")
    assert bench.session.tanks is before
    assert bench.draft.undoes == "stone row moved"


def test_another_tank_comes_in_the_place_of_this_one(bench: Bench, tmp_path: Path) -> None:
    move(bench, 0.6)
    text = (SCENARIOS / "juveniles-crowd.toml").read_text("utf-8")
    (tmp_path / "other.toml").write_text(text, encoding="utf-8")
    assert bench.open_listed(str(tmp_path.resolve() / "other.toml"))
    assert bench.scenario.title == check_file(SCENARIOS / "juveniles-crowd.toml").scenario.title
    assert bench.draft.undoes is None
    assert not bench.session.tank.changed


def test_only_files_of_the_folders_are_opened(bench: Bench) -> None:
    elsewhere = SCENARIOS / "laboratory"
    path = next(elsewhere.glob("*.toml"))
    assert not bench.open_listed(str(path))
    assert "not in the folder that the app was started in" in bench.refusal.words


def test_saving_asks_before_it_writes_over(bench: Bench, tmp_path: Path) -> None:
    move(bench, 0.6)
    with pytest.raises(Occupied):
        bench.save("mine.toml")
    assert check_file(tmp_path / "mine.toml").scenario != bench.scenario
    assert bench.save("mine.toml", over=True)
    assert check_file(tmp_path / "mine.toml").scenario == bench.scenario
    assert not bench.session.tank.changed
    move(bench, 0.5)
    assert bench.save("yours")
    assert bench.session.tank.file == tmp_path.resolve() / "yours.toml"
    assert bench.draft.undoes == "stone row moved", "saving forgets no step"
    assert not bench.save("a/b")
    assert "expected a plain name" in bench.refusal.words
    assert not bench.save("x", folder=Path("/"))
    assert "no folder one pointed at" in bench.refusal.words


def test_a_change_by_another_program_is_told_before_it_is_lost(
    bench: Bench, tmp_path: Path
) -> None:
    move(bench, 0.6)
    (tmp_path / "mine.toml").write_text("# theirs", encoding="utf-8")
    with pytest.raises(Occupied, match="another program has changed it since it was opened"):
        bench.save("mine.toml")


def test_a_variant_stands_beside_and_has_steps_of_its_own(bench: Bench) -> None:
    from viz.app.editing.variants import one_things

    move(bench, 0.6)
    offer = one_things(bench.scenario)[0]
    assert bench.add_variant(offer.scenario, name=f"Tank, {offer.words}")
    assert (len(bench.session.tanks), bench.session.picked) == (2, 1)
    assert bench.draft.undoes is None
    move(bench, 1.0)
    assert bench.draft.undoes == "stone row moved"
    bench.session.pick(0)
    assert bench.draft.undoes == "stone row moved"
    bench.undo()
    assert bench.draft.undoes is None
    bench.session.pick(1)
    assert bench.draft.undoes == "stone row moved"
    while len(bench.session.tanks) < 4:
        assert bench.add_variant(offer.scenario, name="one more")
    assert not bench.add_variant(offer.scenario, name="one too many")
    assert "at most 4" in bench.refusal.words


def test_a_closed_tank_takes_its_steps_with_it(bench: Bench) -> None:
    bench.add_variant(bench.scenario, name="B")
    move(bench, 0.6)
    bench.session.close_tank(0)
    bench.forget()
    assert bench.draft.undoes is None
    assert piece(bench.scenario, "stone row").x_m == 0.6
