"""The first visit without a browser: who is introduced, what the choices do, the recording."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from sim.check import check_file
from tests.viz.app.rendering import button, page_context, rendered, shown
from viz.app import recorded
from viz.app.first_visit import FirstVisit
from viz.app.introducing import introductions
from viz.app.live import Hand
from viz.app.motion import Frame
from viz.app.opening import shipped
from viz.app.recorded import frame_at, play, recorded_for
from viz.app.recording import TANK, first_recording
from viz.app.session import Session


class Tank:
    """Stands for a living tank that is not ready yet."""

    def __init__(self) -> None:
        self.moment = None
        self.fault = None
        self.hands: list[Hand] = []

    def do(self, hand: Hand) -> None:
        self.hands.append(hand)

    def close(self) -> None:
        pass


@pytest.fixture
def session() -> Iterator[Session]:
    with page_context():
        made = Session()
        made.first_time = made.arrived = True
        made.live = Tank()
        yield made
        made.close()


def test_every_fish_is_introduced_in_a_line() -> None:
    checked = check_file(shipped(TANK))
    basalt, pumice, swordtails, lint = introductions(checked.scenario, checked.layout)
    assert (basalt.numbers, pumice.numbers, swordtails.numbers, lint.numbers) == (
        "1", "2", "3 to 8", "9",
    )  # fmt: skip
    assert basalt.words.startswith("convict cichlid, male")
    assert "fits the large pot, not the pipe or small pot" in basalt.words
    assert "fits the large pot and pipe, not the small pot" in pumice.words
    assert "keep together" in swordtails.words
    assert "fits every hiding place" in lint.words


def test_who_fits_is_what_the_doors_say() -> None:
    checked = check_file(shipped(TANK))
    rooms = {room.name: room for room in checked.layout.rooms}
    from sim.scenario import company

    basalt = company(checked.scenario)[0]
    kind = basalt.species
    deep, wide = basalt.length_m * kind.depth_ratio, basalt.length_m * kind.width_ratio
    passes = {
        name: any(door.height_m > deep and door.width_m > wide for door in room.doors)
        for name, room in rooms.items()
    }
    assert passes == {"large pot": True, "pipe": False, "small pot": False}


def test_they_spawn_now_reaches_the_tank_even_before_it_is_ready(session: Session) -> None:
    context = rendered(FirstVisit(session))
    button(context, "They spawn now").click()
    assert [hand.what for hand in session.live.hands] == ["spawn"]
    assert not session.first_time


def test_a_hiding_place_opens_a_second_tank_on_build(session: Session) -> None:
    context = rendered(FirstVisit(session))
    before = session.tank.scenario
    button(context, "Add a hiding place").click()
    assert len(session.tanks) == 2
    assert session.picked == 1
    assert session.page == "build"
    added = {piece.name for piece in session.tank.scenario.pieces} - {
        piece.name for piece in before.pieces
    }
    assert len(added) == 1
    assert session.tank.checked is not None
    assert len(session.tank.checked.layout.rooms) == len(session.tanks[0].checked.layout.rooms) + 1
    assert not session.first_time


def test_six_feet_opens_a_second_tank_with_the_same_fish(session: Session) -> None:
    context = rendered(FirstVisit(session))
    button(context, "Make it six feet").click()
    first, second = session.tanks
    assert second.scenario.fish == first.scenario.fish
    assert second.scenario.tank.length_m == pytest.approx(6 * 0.3048)
    assert session.page == "watch"


def test_just_watching_ends_the_first_visit(session: Session) -> None:
    told: list[bool] = []
    session.listen(lambda: told.append(session.first_time))
    context = rendered(FirstVisit(session))
    button(context, "Just watch").click()
    session.greeted()
    assert told == [False]


def test_the_recording_is_shown_only_of_its_own_tank_and_only_while_nothing_can_be_played(
    monkeypatch: pytest.MonkeyPatch, session: Session
) -> None:
    scenario = session.tank.scenario
    monkeypatch.setattr(recorded, "compiled_before", lambda: True)
    assert recorded_for(scenario) is None
    monkeypatch.setattr(recorded, "compiled_before", lambda: False)
    assert recorded_for(scenario) is not None
    assert recorded_for(scenario.model_copy(update={"days": 3.0})) is None
    words = shown(rendered(FirstVisit(session)))
    assert "What moves is a recording of this tank." in words


def test_between_two_ticks_a_fish_is_between_its_two_places() -> None:
    kept = first_recording()
    before, after = kept.fish[10], kept.fish[11]
    frame = frame_at(kept, 10.5 * kept.step_s, number=1)
    np.testing.assert_allclose(frame.motion[:, 0], (before.x + after.x) / 2, atol=1e-6)
    np.testing.assert_allclose(frame.motion[:, 1], (before.y + after.y) / 2, atol=1e-6)
    for turn, one, other in zip(
        frame.motion[:, 2],
        np.arctan2(before.head_y, before.head_x),
        np.arctan2(after.head_y, after.head_x),
        strict=True,
    ):
        half = np.angle(np.exp(1j * (other - one))) / 2
        assert abs(np.angle(np.exp(1j * (turn - one - half)))) < 1e-5
    assert frame.acts == tuple(before.act.tolist())
    assert set(frame.shown) <= {0, 1, 2}


def test_it_is_sent_until_it_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(recorded, "FRAME_S", 0.002)
    frames: list[Frame] = []
    enough = threading.Event()

    def send(frame: Any) -> None:
        frames.append(frame)
        if len(frames) == 5:
            enough.set()

    stop = play(first_recording(), send)
    assert enough.wait(10)
    stop()
    sent = len(frames)
    time.sleep(0.05)
    assert len(frames) == sent
    assert [frame.number for frame in frames[:5]] == [1, 2, 3, 4, 5]
