"""What fuzzing has found, kept so that it stays mended."""

from __future__ import annotations

import pytest

from sim.check import check_reading
from sim.errors import Refused
from sim.scenario_file import reading_of
from sim.scenario_variant import source
from tests.hostile.playing import assert_sentences
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
