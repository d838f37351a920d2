"""Tanks at the ends of the language: each is played sanely, or refused with a sentence."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import tomli_w

from sim.check import check_reading
from sim.engine import History
from sim.errors import Refused
from sim.scenario_file import reading_of
from sim.scenario_variant import source
from tests.hostile.playing import checked_of, live
from tests.hostile.sane import Watch
from tests.hostile.tanks import Plain
from viz.cli import outcome


def tank(length: str, width: str, height: str, **more: Any) -> Plain:
    sides = {"length": length, "width": width, "height": height}
    given = more.pop("tank", {})
    return {"days": 1, "tank": sides | given, "fish": [{"species": "convict"}], **more}


def stone(x: str, y: str, length: str, width: str, **more: str) -> Plain:
    return {"kind": "rock-wall", "height": "20 cm", "x": x, "y": y, "length": length,
            "width": width, **more}  # fmt: skip


def refused(plain: Plain) -> str:
    with pytest.raises(Refused) as caught:
        check_reading(reading_of(source(plain, file="tank.toml")), file="tank.toml")
    return str(caught.value)


CROWD = [{"species": "convict", "count": 150}, {"species": "neon tetra", "count": 50}]
# Rows of stones with slits of three centimetres: hardly a place that is not stone.
SLITS = [stone(f"{5 + 13 * k} cm", "20 cm", "10 cm", "34 cm") for k in range(9)]

PLAYED: dict[str, Plain] = {
    "20 cm, one small fish": tank("20 cm", "20 cm", "20 cm", fish=[{"species": "neon tetra"}]),
    "20 cm, full of fish": tank(
        "20 cm", "20 cm", "20 cm", fish=[{"species": "convict", "length": "2 cm", "count": 60}]
    ),
    "20 m, one fish": tank("20 m", "20 m", "20 m"),
    "20 m long and 20 cm wide": tank("20 m", "20 cm", "20 cm", fish=CROWD[1:]),
    "200 fish in four feet": tank("48 in", "18 in", "21 in", fish=CROWD, days=0.38),
    "no hardscape, and nothing to dig": tank(
        "48 in", "18 in", "21 in", tank={"substrate": "bare"},
        fish=[{"species": "convict", "sex": sex} for sex in ("male", "female")],
        breeding={"mode": "spontaneous"},
    ),
    "nearly nothing but hardscape": tank(
        "120 cm", "40 cm", "50 cm", pieces=SLITS,
        fish=[{"species": "convict", "count": 6}],
    ),
    "stones up to the surface": tank(
        "120 cm", "40 cm", "50 cm", pieces=[one | {"height": "50 cm"} for one in SLITS],
        fish=[{"species": "convict", "count": 6}],
    ),
    "a day of no light": tank("48 in", "18 in", "21 in", tank={"light_hours": 0}, days=3),
    "a day of light only": tank(
        "48 in", "18 in", "21 in", tank={"lights_on": "00:00", "light_hours": 24}, days=2,
        fish=[{"species": "convict", "count": 3}],
    ),
    "the light is taken away": tank(
        "48 in", "18 in", "21 in", days=2, fish=[{"species": "convict", "count": 3}],
        events=[{"on_day": 1, "do": "lights", "light_hours": 0}],
    ),
    "fish as long as the tank": tank(
        "30 cm", "20 cm", "40 cm", fish=[{"species": "oscar", "length": "29.9 cm", "count": 2}]
    ),
    "as cold and as hot as can be": tank(
        "48 in", "18 in", "21 in", tank={"temperature": "40 degC"}, growth=True,
        events=[{"on_day": 0.5, "do": "water change", "share": 1}],
    ),
}  # fmt: skip

REFUSED: dict[str, tuple[Plain, str]] = {
    "19 cm": (tank("19 cm", "20 cm", "20 cm"), "expected a length from 20 cm (8 in) to 20 m"),
    "21 m": (tank("21 m", "20 cm", "20 cm"), "expected a length from 20 cm (8 in) to 20 m"),
    "no fish": (tank("48 in", "18 in", "21 in", fish=[]), "nobody lives here"),
    "201 fish": (
        tank("48 in", "18 in", "21 in", fish=[{"species": "convict", "count": 67}] * 3),
        "too many fish, got 201; expected at most 200",
    ),
    "nothing but hardscape": (
        tank("48 in", "18 in", "21 in", pieces=[stone("24 in", "9 in", "48 in", "18 in")]),
        "the pieces leave no room to swim near the floor",
    ),
    "a cave nobody fits": (
        tank(
            "48 in", "18 in", "21 in",
            pieces=[{"kind": "pot", "size": "4 in", "x": "12 in", "y": "9 in"}],
            fish=[{"species": "oscar", "length": "12 in"}],
        ),
        "nobody fits, got a door",
    ),
    "a fish that does not fit": (
        tank("20 cm", "20 cm", "20 cm", fish=[{"species": "oscar"}]),
        "the fish does not fit the tank at all",
    ),
    "a meal in the dark": (
        tank("48 in", "18 in", "21 in", tank={"light_hours": 0}, feeding={"times": ["09:00"]}),
        "in the dark",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", PLAYED)
def test_it_is_played_sanely(name: str) -> None:
    checked = checked_of(PLAYED[name])
    assert checked is not None
    crowd = len(checked.layout.members) > 100
    assert live(checked, strides=8, ticks=8, most_s=0.0 if crowd else 0.3) > 0


@pytest.mark.parametrize("name", REFUSED)
def test_it_is_refused_with_the_sentence_it_needs(name: str) -> None:
    plain, words = REFUSED[name]
    assert words in refused(plain)


def test_a_batch_in_which_nothing_can_happen_is_told_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    dark = PLAYED["a day of no light"]
    Path("dark.toml").write_bytes(tomli_w.dumps(dark).encode())
    alone = dark | {"tank": dark["tank"] | {"light_hours": 2}}
    Path("alone.toml").write_bytes(tomli_w.dumps(alone).encode())
    for words in (["run", "dark.toml"], ["compare", "dark.toml", "alone.toml"]):
        code = outcome([*words, "--runs", "4", "--json", "out.json", "--csv", "tables",
                        "--report", "page.html"])  # fmt: skip
        said = capsys.readouterr()
        assert code == 0, said.err
        assert "nan" not in said.out.lower()
        assert "NaN" not in Path("out.json").read_text()


def test_in_a_tank_without_light_nobody_is_hurt() -> None:
    checked = checked_of(PLAYED["a day of no light"] | {"fish": [{"species": "convict",
                                                                  "count": 4}]})  # fmt: skip
    assert checked is not None
    history = History(checked.scenario, checked.layout)
    watch = Watch(history)
    history.advance()
    watch.look()
    row = history.outcome().row[0]
    assert history.finished
    assert row["watched_share"] == 1.0  # of no waking time at all
    assert row["dose"] == 0.0
    assert history.state.tank.awake[0] < 1.0  # a tick at the hour at which light would come on
