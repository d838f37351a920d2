"""When what nobody has measured is drawn, and how its harm is fixed."""

from __future__ import annotations

from typing import Any

import pytest

from sim.errors import Refused
from sim.parameters import load_parameters
from viz.played import Asked, read_options


def asked(**more: Any) -> Asked:
    typed: dict[str, Any] = {
        "runs": "100",
        "days": None,
        "seed": None,
        "workers": None,
        "watch": "auto",
        "injury_scale": None,
        "hold_assumed": False,
        "changes": (),
        "without": (),
        "json": None,
        "csv": None,
    }
    return read_options(**{**typed, **more})


@pytest.mark.parametrize(
    ("more", "drawn"),
    [
        ({}, True),
        ({"watch": "all"}, True),
        ({"watch": "2"}, True),
        ({"runs": "40"}, True),
        ({"runs": "39"}, False),
        ({"hold_assumed": True}, False),
    ],
)
def test_it_is_drawn_where_there_are_runs_enough(more: dict[str, Any], drawn: bool) -> None:
    assert asked(**more).settings.vary is drawn


def test_the_injury_scale_is_a_multiple_of_the_default() -> None:
    harm = load_parameters()["harm_per_bite"]
    assert asked(injury_scale="2").changes == {"harm_per_bite": 2.0 * harm.value}


@pytest.mark.parametrize("typed", ["0", "-1", "two", "1000", "nan"])
def test_a_scale_that_makes_no_sense_is_a_sentence(typed: str) -> None:
    with pytest.raises(Refused, match="--injury-scale: got") as refusal:
        asked(injury_scale=typed)
    assert len(refusal.value.problems) == 1


def test_the_scale_beside_the_harm_itself_is_refused() -> None:
    with pytest.raises(Refused, match="Keep one"):
        asked(injury_scale="1", changes=("harm_per_bite=0.001",))
