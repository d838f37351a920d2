"""The recording of the first visit is a stretch of a real run, and small."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest

from sim.records import FISH, LOG
from viz.app import recording
from viz.app.recording import FIELDS, FIRST, first_recording, from_bytes, stretch, to_bytes

COMPARED_S = 15.0  # later two machines may differ, since they round differently
NEAR_M = 2e-3


def test_it_is_what_the_rules_play() -> None:
    kept = first_recording()
    history = recording.first_history(run=kept.run)
    again = stretch(history, run=kept.run, begin=float(kept.time_s[0]), seconds=COMPARED_S)
    count = len(again.time_s)
    words = "the rules have changed: python -m viz.app.recording viz/app/recordings/first.rec"
    np.testing.assert_allclose(again.time_s, kept.time_s[:count], err_msg=words)
    for name in ("x", "y"):
        near = np.abs(again.fish[name] - kept.fish[name][:count]) < NEAR_M
        assert near.mean() > 0.99, words
    np.testing.assert_array_equal(again.fish.presence, kept.fish.presence[:count], err_msg=words)


def test_it_shows_a_tank_in_which_something_happens() -> None:
    kept = first_recording()
    moved = np.hypot(np.ptp(kept.fish.x, axis=0), np.ptp(kept.fish.y, axis=0))
    assert (moved > 0.1).sum() >= 5  # m; most of the nine swim about
    assert len(kept.attacks) >= 3
    assert 60.0 <= kept.seconds <= 90.0


def test_it_is_small() -> None:
    assert len(files("viz.app").joinpath(FIRST).read_bytes()) < 40_000


def test_its_fields_are_those_of_the_state() -> None:
    kept = first_recording()
    assert set(FIELDS) <= set(FISH.names)
    assert set(recording.ATTACK_FIELDS) <= set(LOG.names)
    assert kept.fish.dtype.names == FIELDS


def test_it_comes_back_from_its_bytes_as_it_was() -> None:
    kept = first_recording()
    again = from_bytes(to_bytes(kept))
    np.testing.assert_array_equal(again.fish, kept.fish)
    np.testing.assert_array_equal(again.attacks, kept.attacks)
    assert (again.tank, again.run, again.seed, again.step_s) == (
        kept.tank, kept.run, kept.seed, kept.step_s,
    )  # fmt: skip


def test_places_are_kept_to_a_tenth_of_a_millimetre_and_headings_to_half_a_degree() -> None:
    fish = np.zeros(1, FISH).view(np.recarray)
    fish.x, fish.y, fish.head_x, fish.head_y, fish.fear = 1.23456, 0.00004, -0.6, 0.8, 0.5
    again = recording.shown_of(recording.kept_of(fish))
    assert abs(again.x[0] - 1.23456) <= 5.1e-5
    assert abs(again.y[0] - 0.00004) <= 5.1e-5
    assert abs(again.head_x[0] + 0.6) < 0.005
    assert abs(again.head_y[0] - 0.8) < 0.005
    assert abs(again.fear[0] - 0.5) < 0.003


def test_after_its_end_it_begins_anew() -> None:
    kept = first_recording()
    np.testing.assert_array_equal(kept.at(0.0), kept.at(kept.seconds))
    assert (kept.at(1.0).x != kept.at(0.0).x).any()


def test_another_format_is_refused() -> None:
    content = to_bytes(first_recording())
    with pytest.raises(ValueError, match="expected 'holdwater recording 1'"):
        recording_with_format(content, "holdwater recording 9")


def recording_with_format(content: bytes, name: str) -> None:
    from io import BytesIO

    with np.load(BytesIO(content)) as held:
        fields = dict(held)
    fields["told"] = np.frombuffer(f'{{"format": "{name}"}}'.encode(), dtype=np.uint8)
    buffer = BytesIO()
    np.savez_compressed(buffer, **fields)
    from_bytes(buffer.getvalue())
