"""The species pages: nothing is left out, and what stands there is what the file says."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable

import pytest
from rich.console import Console, RenderableType

from sim.species import Species, find_species, load_species
from sim.species_check import SITES as SITE_WORDS
from sim.species_check import SOURCED
from viz.species_page import SHOWN, SITES, TEMPERS, species_card, species_table, temper_words

Show = Callable[[RenderableType], str]


@pytest.fixture
def show() -> Show:
    def shown(page: RenderableType) -> str:
        console = Console(width=400, color_system=None)
        with console.capture() as capture:
            console.print(page)
        return capture.get()

    return shown


def row(text: str, start: str) -> str:
    lines = [line for line in text.splitlines() if line.strip().startswith(start)]
    assert len(lines) == 1, start
    return re.sub(r"\s+", " ", lines[0]).strip()


class TestTable:
    def test_one_row_each(self, show: Show) -> None:
        table = species_table()
        assert table.row_count == len(load_species())
        text = show(table)
        for one in load_species().values():
            assert one.names[0] in text
            assert one.key in text

    def test_the_convict(self, show: Show) -> None:
        assert row(show(species_table()), "convict cichlid") == (
            "convict cichlid Amatitlania nigrofasciata 4.7 / 3.5 12 / 9 floor fierce cave"
        )

    def test_every_word_survives_a_narrow_screen(self) -> None:
        console = Console(width=80, color_system=None)
        with console.capture() as capture:
            console.print(species_table())
        assert "…" not in capture.get()


class TestTemper:
    @pytest.mark.parametrize(
        ("name", "words"),
        [
            ("neon tetra", "harmless"),
            ("swordtail", "peaceful"),
            ("angelfish", "mild"),
            ("firemouth", "quarrelsome"),
            ("convict", "fierce"),
            ("Midas cichlid", "very fierce"),
        ],
    )
    def test_in_a_keepers_words(self, name: str, words: str) -> None:
        assert temper_words(find_species(name)) == words

    def test_steps_rise_and_have_no_gap(self) -> None:
        bounds = [upper for upper, _ in TEMPERS]
        assert bounds == sorted(bounds)
        convict = find_species("convict")
        for upper, words in TEMPERS[:-1]:
            below = dataclasses.replace(convict, aggression=upper - 1e-9)
            at = dataclasses.replace(convict, aggression=upper)
            assert temper_words(below) == words != temper_words(at)


class TestCard:
    def test_shows_every_field_that_has_a_source(self) -> None:
        assert sorted(SHOWN) == sorted(SOURCED)
        assert set(SITES) == set(SITE_WORDS)

    @pytest.mark.parametrize("one", load_species().values(), ids=lambda one: one.key)
    def test_every_source_is_there(self, one: Species, show: Show) -> None:
        text = re.sub(r"\s+", " ", show(species_card(one)))
        for name in (one.key, *one.names, *one.synonyms):
            assert name in text
        for source in set(one.sources.values()):
            if len(source) < 100:  # a longer one is folded between the columns
                assert source.replace("`", "") in text
        assert text.count("assumed") >= sum("assumed" in s for s in one.sources.values())

    @pytest.mark.parametrize(
        ("start", "expected"),
        [
            ("full-grown male", "full-grown male 4.7 in (12 cm) 10 cm SL, about 12 cm TL"),
            ("body depth", "body depth 0.4 of its length assumed"),
            ("lives mostly at the", "lives mostly at the floor from memory"),
            ("time at floor", "time at floor, middle, surface 65%, 30%, 5% assumed"),
            ("warmest water", "warmest water 86 °F (30 °C) from memory"),
            ("attacks", "attacks, against a convict's 1 1 times assumed"),
            ("holds ground", "holds ground of its own yes from memory"),
            ("spawns in or at", "spawns in or at cave from memory"),
            ("guarded fry", "guarded fry 35 days assumed within"),
            ("eggs in a spawning", "eggs in a spawning 155 eggs Ishikawa2010 (abstract read)"),
        ],
    )
    def test_value_unit_and_source(self, start: str, expected: str, show: Show) -> None:
        assert row(show(species_card(find_species("convict"))), start).startswith(expected)

    def test_a_changed_value_changes_the_card(self, show: Show) -> None:
        convict = find_species("convict")
        sources = {**convict.sources, "armour": "a paper [of ours]"}
        changed = dataclasses.replace(convict, armour=0.25, sources=sources)
        armour = "share of a bite's harm kept off"
        assert row(show(species_card(convict)), armour) == f"{armour} 0 assumed"
        assert row(show(species_card(changed)), armour) == f"{armour} 0.25 a paper [of ours]"
