"""What fuzzing has found, kept so that it stays mended."""

from __future__ import annotations

import pytest

from sim.check import check_reading
from sim.errors import Refused
from sim.scenario_file import reading_of
from sim.scenario_variant import source
from tests.hostile.playing import assert_sentences, checked_of, live
from tests.hostile.tanks import Plain

TANK = {"length": "48 in", "width": "18 in", "height": "21 in"}
FISH = [{"species": "convict"}]

SENTENCES: dict[str, Plain] = {
    "a letter that turns the line round, in the name of a fish": {
        "tank": TANK, "fish": [{"species": "\u202econvict"}],
    },
    "and in a size of a tank": {"tank": {"size": "99\u202e gallon"}, "fish": FISH},
    "a hyphen nobody sees, in a size of a piece": {
        "tank": TANK, "fish": FISH,
        "pieces": [{"kind": "pot", "size": "6\u00ad in", "x": "8 in", "y": "8 in"}],
    },
    "a name of a fish as long as a book": {"tank": TANK, "fish": [{"species": "x" * 100_000}]},
}  # fmt: skip


@pytest.mark.parametrize("name", SENTENCES)
def test_it_is_refused_in_a_sentence_that_can_be_printed(name: str) -> None:
    with pytest.raises(Refused) as caught:
        check_reading(reading_of(source(SENTENCES[name], file="tank.toml")), file="tank.toml")
    assert_sentences([str(problem) for problem in caught.value.problems])


def test_no_more_than_all_of_the_waking_time_is_watched() -> None:
    """A short day that was watched whole, and a little more: its share was above one."""
    checked = checked_of(
        {
            "days": 0.5,
            "tank": {
                "length": "0.9752884431491244 m", "width": "0.5874689669292363 m",
                "height": "1.0 m", "temperature": "5.000 degC", "lights_on": "09:15",
                "light_hours": 2.75,
            },
            "without": ["assessment"],
            "pieces": [
                {"kind": "cobble", "size": "4 in", "x": "0.4876442215745622 m",
                 "y": "0.29373448346461817 m"}
            ],
            "fish": [
                {"species": "Rocio octofasciata", "count": 6, "temper": "mild"},
                {"species": "Archocentrus multispinosus", "count": 3, "length": "0.109375 m",
                 "established": {"since_day": -40.0}},
            ],
            "feeding": {"times": ["09:15"]},
        }
    )  # fmt: skip
    assert checked is not None
    assert live(checked, ticks=1, strides=1, most_s=5.0) > 0
