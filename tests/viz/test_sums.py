"""The command `sums`: its page, its sentences and where they stand, its file, its refusals."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from rich.console import Console

from sim.check import check_file
from sim.sums.density import water_density
from sim.sums.tank import TankSums
from sim.sums.unionised import unionised_share
from tests.viz import made
from tests.viz.commands import SMALL, TOP, environment, holdwater
from viz.cautions import SUMS_CAUTIONS
from viz.printed import results_page, sums_pointer
from viz.sums_command import read_numbers
from viz.sums_page import sums_page
from viz.sums_results import SumsResults, gather_sums, sums_json
from viz.sums_words import moments_told, sums_in_words

FOUR, SIX = (TOP / "scenarios" / f"convict-{feet}-foot.toml" for feet in ("four", "six"))
ACARAS = TOP / "scenarios" / "acaras-growing-up.toml"


def reckoned(*paths: Path, **given: float) -> SumsResults:
    return gather_sums(paths, checked=[check_file(path) for path in paths], given=given)


def printed(results: SumsResults, *, width: int = 80) -> str:
    console = Console(width=width, color_system=None)
    with console.capture() as capture:
        console.print(sums_page(results))
    return capture.get()


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def at(whole: Any, pointer: str) -> Any:
    for part in pointer.removeprefix("/").split("/"):
        whole = whole[int(part)] if isinstance(whole, list) else whole[part]
    return whole


class TestPage:
    def test_one_tank(self) -> None:
        text = plain(printed(reckoned(FOUR)))
        assert "Filled, it all weighs about 971 lb (440 kg)." in text
        assert "only a structural engineer can say" in text
        assert "aquatic veterinarian" in text
        assert "what counts is what your test kits read" in text
        assert "convict cichlid x 2, swordtail x 6, bristlenose" in text
        for caution in SUMS_CAUTIONS:
            assert caution in text

    def test_several_stand_side_by_side(self) -> None:
        results = reckoned(FOUR, SIX, ACARAS)
        text = printed(results)
        lines = {line[:34].strip(): line[34:].split() for line in text.splitlines()}
        assert lines["water"] in (
            ["604", "lb", "912", "lb", "609", "lb"],
            ["73", "gal", "110", "gal", "73", "gal"],
        )
        assert lines["all together"] == ["971", "lb", "1437", "lb", "962", "lb"]
        assert "466 lb (211 kg) more than A" in plain(text)
        assert "A, B: the fish weigh 3.9 oz (112 g) together" in plain(text)
        assert "A, B, C: that design load, 40 lb/sq ft (1.9 kPa)" in plain(text)

    @pytest.mark.parametrize("paths", [(FOUR,), (FOUR, SIX), (FOUR, SIX, ACARAS, FOUR)])
    def test_it_fits_80_columns_and_hides_nothing(self, paths: tuple[Path, ...]) -> None:
        text = printed(reckoned(*paths))
        assert max(map(len, text.splitlines())) <= 80
        assert "…" not in text

    def test_what_is_assumed_and_what_is_given_is_said(self) -> None:
        assumed = plain(printed(reckoned(FOUR)))
        assert "pH of the water: 7.5 (--ph); assumed: measure yours" in assumed
        assert "limit for nitrate: 40 mg/L (--nitrate-limit); common practice, no source" in assumed
        given = plain(printed(reckoned(FOUR, ph=8.2, altitude=1524.0)))
        assert "pH of the water: 8.2, given" in given
        assert "height above the sea: 5000 ft (1524 m), given" in given
        assert "5000 ft (1524 m) above the sea" in given

    def test_each_moment_that_differs_has_its_table(self) -> None:
        growing = printed(reckoned(ACARAS))
        for when in ("now", "after 365 days", "full-grown"):
            assert f"The fish and their water  {when}" in growing
        grown = printed(reckoned(FOUR))
        assert "The fish and their water  now" in grown
        assert "full-grown" not in grown  # they eat less than a tenth more
        assert moments_told(reckoned(ACARAS).tanks[0].sums) == (0, 1, 2)
        mixed = printed(reckoned(FOUR, ACARAS))
        places = [mixed.index(f"water  {w}") for w in ("now", "after 365 days", "full-grown")]
        assert places == sorted(places)

    def test_salt_water_has_its_word(self) -> None:
        words = "the harmful share of ammonia is that of fresh water"
        assert words not in plain(printed(reckoned(FOUR)))
        assert words in plain(printed(reckoned(FOUR, salinity=5.0)))


class TestWords:
    def test_every_sentence_stands_on_numbers_of_the_file(self) -> None:
        results = reckoned(FOUR, SIX, ACARAS)
        whole = json.loads(sums_json(results))
        assert len(whole["sentences"]) >= 12
        for sentence in whole["sentences"]:
            assert sentence["sources"]
            for pointer in sentence["sources"]:
                at(whole, pointer)

    def test_what_is_the_same_is_said_once_and_stands_on_both(self) -> None:
        said = sums_in_words(reckoned(FOUR, SIX))
        food = [one for one in said if "g of food a day, of which" in one.words]
        assert len(food) == 1
        assert {"/tanks/0/sums/moments/0/food_g", "/tanks/1/sums/moments/0/food_g"} <= set(
            food[0].sources
        )
        assert sum("it holds" in one.words for one in said) == 2

    @pytest.mark.parametrize(
        ("given", "words"),
        [
            ({}, "over the limit of 40. The limit is kept by 26 % every 7 days"),
            ({"change_share": 0.5}, "within the limit of 40"),
            ({"nitrate_limit": 10.0}, "The water that comes in is at the limit already"),
            ({"nitrate_limit": 15.0}, "Even all of it every 7 days would not keep it"),
        ],
    )
    def test_nitrate(self, given: dict[str, float], words: str) -> None:
        text = " ".join(one.words for one in sums_in_words(reckoned(FOUR, **given)))
        assert words in text

    def test_a_comparison_points_to_the_sums_of_its_files(self) -> None:
        assert sums_pointer(["a.toml"]) == [
            "What it weighs, and what its fish do to the water: holdwater sums a.toml"
        ]
        (words,) = sums_pointer(["a.toml", "my tanks/b.toml"])
        assert words.endswith("holdwater sums a.toml 'my tanks/b.toml'")
        assert sums_pointer(["", "b.toml"]) == []
        console = Console(width=200, color_system=None)
        with console.capture() as capture:
            console.print(results_page(made.results(made.design(), made.design())))
        files = " ".join([made.design().file] * 2)
        assert f"What they weigh, and what their fish do to the water: holdwater sums {files}" in (
            capture.get()
        )


class TestFile:
    def schema(self) -> Any:
        return json.loads((TOP / "docs" / "sums.schema.json").read_text("utf-8"))

    def test_valid_by_its_schema(self) -> None:
        jsonschema.Draft202012Validator.check_schema(self.schema())
        for results in (reckoned(FOUR), reckoned(ACARAS, SIX, nitrate_limit=5.0)):
            jsonschema.Draft202012Validator(self.schema()).validate(json.loads(sums_json(results)))

    @pytest.mark.parametrize("lost", ["format", "tanks", "numbers", "sentences", "cautions"])
    def test_the_schema_sees_what_is_missing(self, lost: str) -> None:
        whole = json.loads(sums_json(reckoned(FOUR)))
        del whole[lost]
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.Draft202012Validator(self.schema()).validate(whole)

    def test_the_schema_sees_a_field_it_does_not_know(self) -> None:
        whole = json.loads(sums_json(reckoned(FOUR)))
        whole["tanks"][0]["sums"]["colour"] = 1
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.Draft202012Validator(self.schema()).validate(whole)


class TestCommand:
    def test_page_and_file(self, tmp_path: Path) -> None:
        (tmp_path / "tank.toml").write_text(SMALL, "utf-8")
        ended = holdwater(
            "sums", "tank.toml", "--altitude", "5000 ft", "--every", "10", "--protein", "0.45",
            "--json", "out.json", cwd=tmp_path,
        )  # fmt: skip
        assert ended.code == 0, ended.err
        assert "Small tank  tank.toml" in ended.out
        numbers = json.loads((tmp_path / "out.json").read_text("utf-8"))["numbers"]
        assert numbers["altitude"]["value"] == pytest.approx(1524.0)
        assert numbers["change_days"]["value"] == 10.0
        assert numbers["protein"] == {**numbers["protein"], "value": 0.45, "given": True}
        assert numbers["ph"]["given"] is False

    def test_it_does_not_wait_for_the_compiler(self, tmp_path: Path) -> None:
        (tmp_path / "tank.toml").write_text(SMALL, "utf-8")
        code = (
            "import sys\nfrom viz.cli import outcome\nassert outcome(['sums', 'tank.toml']) == 0\n"
            "assert 'numba' not in sys.modules\nassert 'mesa' not in sys.modules\n"
        )
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=tmp_path, env=environment(), check=True, capture_output=True,
        )  # fmt: skip

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (["tank.toml", "--ph", "15"], '--ph: got "15"; expected 5 to 10.'),
            (["tank.toml", "--ph", "sour"], '--ph: got "sour"; expected 5 to 10.'),
            (["tank.toml", "--ph", "nan"], '--ph: got "nan"; expected 5 to 10.'),
            (["tank.toml", "--altitude", "5000"], '--altitude: got "5000", which has no unit'),
            (["tank.toml", "--altitude", "30000 ft"], "expected -400 to 5000 m."),
            (["tank.toml", "--change", "150 %"], "--change: got"),
            (["tank.toml", "--change", "0"], 'expected 1 to 100 %, as "25 %".'),
            (["tank.toml", "--every", "0"], 'expected 0.25 to 365 days, as "7 days".'),
            (["tank.toml", "--every", "soon"], "--every: got"),
            (["tank.toml", "--substrate-depth", "1 m"], "expected 0 to 0.3 m."),
            (["tank.toml", "--json", "missing/out.json"], "there is no folder"),
            (["tank.toml"] * 5, "expected one to 4 scenario files"),
            (["none.toml"], "there is no such file"),
            ([], "missing argument"),
        ],
    )
    def test_refused(self, arguments: list[str], words: str, tmp_path: Path) -> None:
        (tmp_path / "tank.toml").write_text(SMALL, "utf-8")
        ended = holdwater("sums", *arguments, cwd=tmp_path)
        assert ended.code == 2, ended.err
        assert words in ended.err
        assert ended.out == ""
        assert "Traceback" not in ended.err
        assert [path.name for path in tmp_path.iterdir()] == ["tank.toml"]

    def test_all_that_is_wrong_is_named_at_once(self, tmp_path: Path) -> None:
        (tmp_path / "tank.toml").write_text(SMALL, "utf-8")
        ended = holdwater(
            "sums", "tank.toml", "--ph", "1", "--change", "x", "--json", ".", cwd=tmp_path
        )
        assert len(ended.err.splitlines()) == 3

    def test_a_wrong_file_is_named_whichever_it_is(self, tmp_path: Path) -> None:
        (tmp_path / "tank.toml").write_text(SMALL, "utf-8")
        ended = holdwater("sums", "tank.toml", "none.toml", cwd=tmp_path)
        assert (ended.code, ended.out) == (2, "")
        assert "none.toml: there is no such file" in ended.err

    def test_units_are_those_a_keeper_types(self) -> None:
        asked = {"--substrate-depth": "2 in", "--change": "30 %", "--every": "2 weeks"}
        assert read_numbers(asked) == {
            "substrate_depth": 0.0508,
            "change_share": 0.3,
            "change_days": 14.0,
        }


def example(sums: TankSums) -> dict[str, str]:
    """What the worked example of docs/sums.md must give."""
    now = sums.moments[0]
    return {
        "up to the surface": f"{sums.brim_l:.1f} L",
        "grains": f"{sums.grains_l:.1f} L",
        "pieces": f"{sums.pieces_l:.1f} L",
        "water": f"{sums.water_l:.1f} L",
        "water weighs": f"{sums.water_kg:.1f} kg",
        "grains weigh": f"{sums.substrate_kg:.1f} kg",
        "pieces weigh": f"{sums.pieces_kg:.1f} kg",
        "glass": f"{sums.glass_kg:.1f} kg",
        "stand": f"{sums.stand_kg:.1f} kg",
        "all together": f"{sums.total_kg:.1f} kg",
        "load": f"{sums.load_kpa:.2f} kPa",
        "fish": f"{now.fish_g:.1f} g",
        "food": f"{now.food_g:.3f} g/day",
        "ammonia": f"{1000.0 * now.ammonia_g:.1f} mg/day",
        "ammonia in the water": f"{now.ammonia_rise:.3f} mg/L a day",
        "harmful share": f"{100.0 * sums.unionised_share:.2f} %",
        "ammonia that harms": f"{sums.harm_total:.2f} mg/L",
        "until then": f"{now.hours_to_harm / 24.0:.1f} days",
        "oxygen": f"{sums.oxygen_mg_l:.2f} mg/L",
        "nitrate rises": f"{now.nitrate_rise:.3f} mg/L a day",
        "nitrate before a change": f"{now.nitrate_before:.1f} mg/L",
        "change needed": f"{100.0 * (now.change_needed or 0.0):.1f} %",
    }


class TestPages:
    def test_the_worked_example(self) -> None:
        page = (TOP / "docs" / "sums.md").read_text("utf-8")
        part = page.split("## A worked example")[1].split("## ")[0]
        rows = [
            [cell.strip() for cell in line.strip("|").split("|")]
            for line in part.splitlines()
            if line.startswith("|")
        ][2:]
        sums = reckoned(FOUR).tanks[0].sums
        assert {step: result for step, _, result in rows} == example(sums)
        how = {step: words for step, words, _ in rows}
        # what a reader can do on a calculator comes out as printed, to its rounding
        for step, value in (
            ("up to the surface", sums.brim_l / 1000.0),
            ("grains", sums.grains_l / 1000.0),
        ):
            product = 1.0
            for factor in re.findall(r"\d+\.\d+", how[step]):
                product *= float(factor)
            assert product == pytest.approx(value, rel=1e-4)
        assert "0.9969 kg/L" in how["water weighs"]
        assert round(water_density(sums.temperature_c), 1) == 996.9
        assert "pKa 9.2292" in how["harmful share"]
        share = 1.0 / (1.0 + 10.0 ** (9.2292 - 7.5))
        assert share == pytest.approx(unionised_share(sums.temperature_c, ph=7.5), rel=1e-3)

    def test_what_the_guide_says(self) -> None:
        guide = plain((TOP / "docs" / "guide.md").read_text("utf-8"))
        both = plain(" ".join(one.words for one in sums_in_words(reckoned(FOUR, SIX))))
        for words in ("971 lb (440 kg)", "466 lb (211 kg) more"):
            assert words in guide
            assert words in both
        assert "settles at 30 mg/L before a change" in guide
        assert "settles at 30 mg/L before a change" in both
        assert "settles at 41 mg/L before a change" in both
        assert "instead of 41" in guide
        basic = " ".join(one.words for one in sums_in_words(reckoned(FOUR, ph=8.2)))
        assert "harmed from 0.58 mg/L" in basic
        assert "harmed from 0.58 mg/L" in guide
        young = " ".join(one.words for one in sums_in_words(reckoned(ACARAS)))
        assert "need 0.56 g of food a day" in young
        assert "need 0.56 g of food a day" in guide
        assert "they eat 3.6 g a day" in young
        assert "3.6 g." in guide
