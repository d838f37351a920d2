"""The species file: every block is sound, every fault of it is told, and names find their fish."""

from __future__ import annotations

import copy
import dataclasses
import math
import pickle
import re
import tomllib
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from sim.errors import Refused
from sim.species import Species, find_species, load_species, read_species
from sim.species_check import BROOD, FIELDS, NUMBERS, SOURCED

TEXT = resources.files("sim.data").joinpath("species.toml").read_text(encoding="utf-8")
DOCUMENT = tomllib.loads(TEXT)
BIBLIOGRAPHY = Path(__file__).parents[2] / "docs" / "references.bib"
CONVICT = "Amatitlania nigrofasciata"
ALL = list(load_species().values())
each = pytest.mark.parametrize("one", ALL, ids=lambda one: one.key)


def refusal(change: Any) -> list[str]:
    """The problems of a file of two fish, a convict and a swordtail, after a change to it."""
    blocks = [b for b in DOCUMENT["species"] if b["names"][0] in ("convict cichlid", "swordtail")]
    document = copy.deepcopy({"notes": DOCUMENT["notes"], "species": blocks})
    read_species(tomli_w.dumps(document), where="fish.toml")
    change(document)
    with pytest.raises(Refused) as caught:
        read_species(tomli_w.dumps(document), where="fish.toml")
    return [str(problem) for problem in caught.value.problems]


def setting(key: str, value: object, fish: int = 0) -> Any:
    return lambda document: document["species"][fish].__setitem__(key, value)


class TestShipped:
    def test_the_company_keepers_combine(self) -> None:
        assert len(ALL) >= 30
        kinds = {(one.kind, one.size_class) for one in ALL}
        assert {("cichlid", size) for size in ("large", "medium", "dwarf")} <= kinds
        assert {"livebearer", "shoaling", "catfish", "loach"} <= {kind for kind, _ in kinds}
        shoals = {one.size_class for one in ALL if one.kind == "shoaling"}
        assert {"small", "large"} <= shoals
        for name in (
            CONVICT,
            "Nannacara anomala",
            "Geophagus brasiliensis",
            "Oreochromis niloticus",
            "Oreochromis mossambicus",
            "Xiphophorus hellerii",
            "Danio rerio",
        ):
            assert name in load_species(), "a published set-up uses it"

    def test_the_check_knows_every_field(self) -> None:
        assert {one.name for one in dataclasses.fields(Species)} == FIELDS
        assert set(NUMBERS) < set(SOURCED) < FIELDS
        hints = {one.name: one.type for one in dataclasses.fields(Species)}
        numeric = {n for n, hint in hints.items() if re.search("float|int|bool", str(hint))}
        assert numeric <= set(SOURCED), "a number that needs no source"

    @each
    def test_every_value_has_a_source_in_words(self, one: Species) -> None:
        assert set(one.sources) == set(SOURCED)
        for name, source in one.sources.items():
            assert source, name
            assert source == " ".join(source.split()), name
            known = ("assumed", "from memory", "read", "derived")
            assert any(word in source for word in known), f"{name}: how is it known? {source}"

    def test_every_note_is_used(self) -> None:
        used = {note for block in DOCUMENT["species"] for note in block["sources"]}
        assert used == DOCUMENT["notes"].keys()

    def test_every_key_cited_is_in_the_bibliography(self) -> None:
        cited = set(re.findall(r"`([^`]+)`", "\n".join(DOCUMENT["notes"].values())))
        keys = re.findall(r"^@\w+\{([^,\s]+),", BIBLIOGRAPHY.read_text(encoding="utf-8"), re.M)
        assert len(keys) == len(set(keys)), "a key is there twice"
        assert len(cited) > 10
        assert cited <= set(keys)

    def test_bibliography_entries_are_closed(self) -> None:
        text = BIBLIOGRAPHY.read_text(encoding="utf-8")
        body = "\n".join(line for line in text.splitlines() if not line.startswith("%"))
        entries = re.split(r"^(?=@)", body, flags=re.M)[1:]
        for entry in entries:
            assert entry.count("{") == entry.count("}"), entry
            assert re.search(r"\b(author)\s*=", entry), entry

    def test_convict_is_the_unit_of_aggression(self) -> None:
        convict = load_species()[CONVICT]
        assert convict.aggression == 1.0
        assert (convict.adult_male_m, convict.adult_female_m) == (0.12, 0.09)
        assert convict.mass_g(0.12) == pytest.approx(33.0, abs=1.0)  # 34 to 36 g are quoted
        assert (convict.clutch, convict.fry) == (155, 27)

    @each
    def test_mass_agrees_with_the_body(self, one: Species) -> None:
        """An ellipsoid of the body's length, depth and width holds the mass the formula gives.

        Snout to tail base is about 0.83 of the length; a fish tapers, so that 0.45 to 1 of the
        ellipsoid is filled. The two come from different columns of the file.
        """
        length_cm = 100.0 * one.adult_male_m
        ellipsoid_g = math.pi / 6.0 * 0.83 * length_cm**3 * one.depth_ratio * one.width_ratio
        assert 0.45 < one.mass_g(one.adult_male_m) / ellipsoid_g < 1.0

    def test_who_swallows_whom(self) -> None:
        def swallows(eater: str, prey: str) -> bool:
            large, small = find_species(eater), find_species(prey)
            depth_m = small.depth_ratio * small.adult_m("unknown")
            return depth_m < large.gape_ratio * large.adult_m("male")

        assert swallows("oscar", "neon tetra")
        assert swallows("angelfish", "neon tetra")
        assert swallows("jaguar cichlid", "swordtail")
        assert not swallows("convict", "swordtail")
        assert not swallows("oscar", "silver dollar")
        assert not swallows("silver dollar", "neon tetra")
        # a slender fish of about a third of its own length, and not one of half of it
        midas = find_species("Midas cichlid")
        slender = find_species("giant danio").depth_ratio
        assert 0.25 * midas.gape_ratio > slender * 0.25 / 3.0
        assert 0.25 * midas.gape_ratio < slender * 0.25 / 2.0

    @each
    def test_temper_and_size_go_with_the_kind(self, one: Species) -> None:
        length_m = max(one.adult_male_m, one.adult_female_m)
        if one.kind != "cichlid":
            assert (one.site, one.territorial) == ("none", False)
            assert one.aggression <= 0.2
        elif one.size_class == "dwarf":
            assert length_m < 0.10
            assert one.aggression <= 0.5
        elif one.size_class == "large":
            assert length_m >= 0.20
        if one.kind == "catfish":
            assert one.armour >= 0.5
            assert one.layer == 0
            assert one.dusk > one.day
        assert one.aggression <= 1.5

    @pytest.mark.parametrize(
        "one", [one for one in ALL if one.size_class == "dwarf"], ids=lambda one: one.key
    )
    def test_a_door_lets_a_dwarf_in_and_keeps_a_convict_out(self, one: Species) -> None:
        convict = find_species("convict")
        door_m = 0.9 * convict.adult_female_m * convict.depth_ratio
        assert max(one.adult_male_m, one.adult_female_m) * one.depth_ratio < door_m

    def test_a_list_of_ones_own_and_a_value_that_travels(self) -> None:
        load_species().clear()
        assert load_species()
        one = load_species()[CONVICT]
        again = pickle.loads(pickle.dumps(one))
        assert (again, again.sources, hash(again)) == (one, one.sources, hash(one))

    def test_adult_length_by_sex(self) -> None:
        one = load_species()[CONVICT]
        assert one.adult_m("male") == 0.12
        assert one.adult_m("female") == 0.09
        assert one.adult_m("unknown") == pytest.approx(0.105)


class TestFind:
    @pytest.mark.parametrize(
        ("name", "key"),
        [
            ("Amatitlania nigrofasciata", CONVICT),
            ("CONVICT  cichlid", CONVICT),
            ("Cichlasoma nigrofasciatum", CONVICT),
            ("jack_dempsey", "Rocio octofasciata"),
            ("golden eyed dwarf cichlid", "Nannacara anomala"),
            ("Herotilapia multispinosa", "Archocentrus multispinosus"),
            ("bristlenose catfish", "Ancistrus cirrhosus"),
        ],
    )
    def test_by_any_of_its_names(self, name: str, key: str) -> None:
        assert find_species(name).key == key

    def test_every_name_finds_its_own_fish(self) -> None:
        for one in ALL:
            for name in (one.key, *one.names, *one.synonyms):
                assert find_species(name.upper()) is one

    @pytest.mark.parametrize(
        ("name", "hint"),
        [
            ("convct", 'Did you mean "convict cichlid" (Amatitlania nigrofasciata)?'),
            ("cory", 'Did you mean "bronze cory" (Corydoras aeneus)'),
            ("swordtails", '"swordtail" (Xiphophorus hellerii)'),
        ],
    )
    def test_near_miss_is_named(self, name: str, hint: str) -> None:
        with pytest.raises(Refused) as caught:
            find_species(name)
        assert hint in str(caught.value)
        assert f'got "{name}"' in str(caught.value)

    @pytest.mark.parametrize("name", ["", "qqqq", "x" * 5000])
    def test_nothing_near(self, name: str) -> None:
        with pytest.raises(Refused) as caught:
            find_species(name)
        assert "Did you mean" not in str(caught.value)
        assert len(str(caught.value)) < 300
        assert "`holdwater species`" in str(caught.value)


class TestFaults:
    @pytest.mark.parametrize(
        ("key", "value", "expected"),
        [
            ("adult_male_m", 12.0, "a number from 0.01 to 1.5"),
            ("adult_male_m", math.nan, "a number from 0.01 to 1.5"),
            ("adult_male_m", math.inf, "a number from 0.01 to 1.5"),
            ("adult_male_m", "12 cm", "a number from 0.01 to 1.5"),
            ("aggression", -1, "a number from 0 to 3"),
            ("boldness", True, "a number from 0 to 1"),
            ("layer", 3, "a whole number from 0 to 2"),
            ("layer", 0.0, "a whole number from 0 to 2"),
            ("clutch", 15.5, "a whole number from 0 to 20000"),
            ("layer_share", [0.5, 0.5], "three shares from 0 to 1"),
            ("layer_share", [1.5, -0.5, 0.0], "three shares from 0 to 1"),
            ("layer_share", 1.0, "three shares from 0 to 1"),
            ("kind", "bird", "one of cichlid, livebearer"),
            ("site", "reef", "one of none, cave, pit, surface"),
            ("shape", ["deep"], "one of deep, disc"),
            ("colour", 3, "one of barred"),
            ("digs", 1, "true or false"),
            ("names", [], "a list of names"),
            ("names", "convict", "a list of names"),
            ("synonyms", [" "], "a list of names"),
            ("key", "", "a word"),
        ],
    )
    def test_value_of_the_wrong_kind_or_size(self, key: str, value: object, expected: str) -> None:
        told = refusal(setting(key, value))
        assert len(told) == 1
        assert f", {key}: got " in told[0]
        assert expected in told[0]
        assert told[0].startswith("fish.toml, ")

    @pytest.mark.parametrize(
        ("key", "value", "expected"),
        [
            ("layer_share", [0.5, 0.4, 0.2], "layer_share: the shares add up to 1.1; expected 1."),
            ("layer", 1, "layer: got 1; expected the layer with the greatest share of time."),
            ("maturity_m", 0.09, "maturity_m: got 0.09; expected less than the full-grown 0.09."),
            ("temperature_low_c", 30, "temperature_low_c: got 30; expected less than"),
            ("size_class", "small", "size_class: got 'small'; expected one of large, medium"),
            ("fry", 156, "fry: got 156; expected no more than the clutch, 155."),
            *((name, 0, f"{name}: got 0 with the site 'cave'") for name in BROOD),
        ],
    )
    def test_values_that_do_not_go_together(self, key: str, value: object, expected: str) -> None:
        told = refusal(setting(key, value))
        # no clutch, but fry of it: one change, two disagreements
        assert len(told) == (2 if key == "clutch" else 1)
        assert expected in told[0]
        assert CONVICT in told[0]

    def test_brood_of_a_fish_that_does_not_spawn(self) -> None:
        told = refusal(setting("eggs_days", 3.0, fish=1))
        assert told == [
            "fish.toml, Xiphophorus hellerii, eggs_days: got 3 with the site 'none'; expected more "
            "than 0 for a fish that spawns, and 0 for one whose site is 'none'."
        ]

    def test_keys(self) -> None:
        assert "aggressoin: unknown key. Did you mean" in refusal(setting("aggressoin", 1.0))[0]
        assert "missing; expected" in refusal(lambda d: d["species"][0].pop("armour"))[0]
        assert "colors: unknown key" in refusal(lambda d: d.__setitem__("colors", 1))[0]

    @pytest.mark.parametrize("name", SOURCED)
    def test_a_value_without_a_source(self, name: str) -> None:
        def drop(document: dict[str, Any]) -> None:
            for names in document["species"][0]["sources"].values():
                if name in names:
                    names.remove(name)

        assert refusal(drop) == [
            f"fish.toml, {CONVICT}, {name}: there is no source; expected one for every value. "
            'Add one, or "assumed".'
        ]

    def test_sources_that_are_wrong(self) -> None:
        def source(note: str, names: object) -> Any:
            return lambda d: d["species"][0]["sources"].__setitem__(note, names)

        assert "no such note" in refusal(source("hearsay", []))[0]
        assert "has the source" in refusal(source("like_convict", ["armour"]))[0]
        assert "expected the name of a field" in refusal(source("like_convict", ["beauty"]))[0]
        assert "expected a list of fields" in refusal(source("reference", "aggression"))[0]
        assert "expected a table" in refusal(setting("sources", "assumed"))[0]
        assert "no such note, or it is empty" in "".join(
            refusal(lambda d: d["notes"].__setitem__("assumed", " "))
        )

    def test_names_two_fish_share(self) -> None:
        told = refusal(setting("names", ["Convict"], fish=1))
        assert told == [
            f'fish.toml, Xiphophorus hellerii, names: "convict" is also a name of {CONVICT}; '
            "expected one fish to a name."
        ]

    def test_a_fish_that_is_there_twice(self) -> None:
        told = refusal(lambda d: d["species"].append(d["species"][0]))
        assert told == [f"fish.toml, {CONVICT}: this fish is there twice. Remove one."]

    def test_all_at_once(self) -> None:
        def spoil(document: dict[str, Any]) -> None:
            document["species"][0] |= {"day": 2, "site": "reef"}
            document["species"][1]["armour"] = -1

        assert len(refusal(spoil)) == 3

    @pytest.mark.parametrize(
        ("text", "expected"),
        [
            ("[notes", "fish.toml: this is not TOML"),
            ("", "fish.toml: no fish"),
            ("notes = 1\nspecies = 1", "fish.toml: no fish"),
            ("species = [1]", "fish.toml, species block 1: got 1; expected a [[species]] block."),
        ],
    )
    def test_no_such_file(self, text: str, expected: str) -> None:
        with pytest.raises(Refused) as caught:
            read_species(text, where="fish.toml")
        assert str(caught.value).startswith(expected)
