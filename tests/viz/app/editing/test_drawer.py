"""The drawer says how large a piece is, and who fits it until when, as the runs have it."""

from __future__ import annotations

import numpy as np
import pytest

from sim.fitting import chance_through, fits, longest_through
from sim.pieces import find_kind, find_size, load_pieces
from sim.scenario import company
from sim.start import draw_fish
from sim.sums.food import length_on
from tests.viz.app.editing.made import shipped
from viz.app.editing.drawer import fit_words, room_words, shelves
from viz.app.editing.furnish import add_piece
from viz.app.editing.life import set_days
from viz.app.editing.stock import change_fish
from viz.app.editing.verdict import judge


def doors(kind: str, size: str):
    return find_size(size, kind=find_kind(kind)).doors


def offered(scenario, title: str):
    return next(p for shelf in shelves(scenario) for p in shelf.pieces if p.title == title)


def test_every_size_of_the_catalogue_lies_in_the_drawer_once():
    there = [(p.kind, p.size) for shelf in shelves(shipped()) for p in shelf.pieces]
    assert len(set(there)) == len(there)
    wanted = [
        (kind.key, size.name)
        for kind in load_pieces().values()
        if kind.group != "divider"
        for size in kind.sizes
    ]
    dividers = [key for key, kind in load_pieces().items() if kind.group == "divider"]
    assert sorted(there) == sorted([*wanted, *((key, "18 in") for key in dividers)])


def test_it_says_what_keepers_ask():
    pipe = offered(shipped(), "Plastic pipe, 2 in")
    assert pipe.measures == "5.9 x 2.4 in, 2.4 in high"
    assert pipe.doors == "2 doors, 2 in wide and 1.8 in high"
    assert pipe.fits == "Room for Pumice, swordtails and Lint; too large: Basalt."
    assert offered(shipped(), "Flower pot on its side, 6 in").fits == "Everybody here fits."
    assert offered(shipped(), "Cobble, 4 in").fits == ""
    assert offered(shipped(), "Opaque divider").measures == "cut to 18 in, as high as the tank"


def test_who_is_said_to_fit_passes_in_a_run():
    """The table of fits that a run begins with is filled from the same bodies."""
    from sim.check import check_scenario
    from sim.rules.codes import MALE
    from sim.start import start_state

    scenario, _ = add_piece(shipped(), kind="pipe", size="2 in")
    checked = check_scenario(scenario)
    state = start_state(checked.scenario, checked.layout)
    names = [fish.name for fish in company(scenario)]
    for room_number, room in enumerate(checked.layout.rooms):
        at = [k for k, door in enumerate(checked.layout.doors) if door.room == room_number]
        for fish in company(scenario):
            row = names.index(fish.name)
            chance = chance_through(fish, room.doors)
            if chance in (0.0, 1.0):
                assert bool(state.fits[row, at].any()) == bool(chance), (fish.name, room.name)
    assert state.fish.sex[0] == MALE


def test_a_chance_is_that_of_the_draws():
    """2000 draws of an adult convict of unknown sex; five standard errors are 0.056."""
    scenario = change_fish(shipped(), "Basalt", length="adult", sex="unknown")
    member = company(scenario)[0]
    opening = doors("pipe", "2 in")
    most_m = longest_through(member, opening)
    drawn = [
        draw_fish(scenario, seed=1, draw=k, quality_sd=0.1, daring_sd=0.1)[0].length_m
        for k in range(2000)
    ]
    assert np.mean(np.array(drawn) < most_m) == pytest.approx(
        chance_through(member, opening), abs=0.056
    )
    assert 0.05 < chance_through(member, opening) < 0.95
    assert " of 100 draws" in fit_words([member], opening, scenario=scenario)


def test_until_when_is_the_day_at_which_the_fish_is_too_long():
    scenario = set_days(shipped("acaras-growing-up"), growth=True)
    opening = doors("pipe", "2 in")
    found = [
        one
        for one in fits(company(scenario), opening, temperature_c=scenario.tank.temperature_c)
        if one.until_day is not None
    ]
    assert found, "a young acara outgrows a two-inch pipe"
    for one in found:
        most_m = longest_through(one.member, opening)
        for day, fits_then in ((one.until_day - 0.1, True), (one.until_day + 0.1, False)):
            length_m = length_on(one.member, day=day, temperature_c=scenario.tank.temperature_c)
            assert (length_m < most_m) == fits_then
        assert not one.grown
    words = offered(scenario, "Plastic pipe, 2 in").fits
    assert f"until about day {found[0].until_day:.0f}, fed well" in words


def test_warm_water_brings_the_day_nearer():
    scenario = shipped("acaras-growing-up")
    opening = doors("pipe", "2 in")
    cool, warm = (fits(company(scenario), opening, temperature_c=c)[0].until_day for c in (24, 29))
    assert warm < cool


def test_without_growth_it_says_that_the_runs_know_none():
    scenario = set_days(shipped("acaras-growing-up"), growth=False)
    assert "fish do not grow in these runs" in offered(scenario, "Plastic pipe, 2 in").fits


def test_a_room_that_stands_is_told_by_its_open_doors():
    found = judge(shipped())
    room = next(r for r in found.checked.layout.rooms if r.name == "small pot")
    assert room_words(shipped(), room) == (
        "Room for swordtails and Lint; too large: Basalt and Pumice."
    )
