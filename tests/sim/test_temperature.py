"""How fast broods develop and how readily fish attack in warm and in cool water."""

from __future__ import annotations

import pytest

from sim.species import load_species
from sim.temperature import aggression_factor, development_rate


def test_development_is_one_at_27_degrees_and_multiplies_by_q10_in_ten():
    assert development_rate(27.0) == 1.0
    assert development_rate(37.0, q10=2.5) == pytest.approx(2.5)
    assert development_rate(31.0, q10=2.0) == pytest.approx(development_rate(29.0, q10=2.0) ** 2)


def test_eggs_hatch_in_two_to_three_days_at_27_degrees():
    """Common practice, no source; of the convict, whose stage is from a paper."""
    eggs = load_species()["Amatitlania nigrofasciata"].eggs_days / development_rate(27.0)
    assert 2.0 <= eggs <= 3.0
    assert eggs / development_rate(22.0) > eggs


def test_without_the_effect_no_temperature_matters():
    for curve in ("rises", "humped"):
        for degrees in (18.0, 24.0, 27.0, 33.0):
            assert aggression_factor(degrees, curve=curve, effect=0.0) == 1.0


def test_the_curves_go_as_the_papers_say():
    def rises(degrees):
        return aggression_factor(degrees, curve="rises", effect=1.0)

    def humped(degrees):
        return aggression_factor(degrees, curve="humped", effect=1.0)

    assert rises(26.0) < rises(30.0) == rises(33.0)  # convicts; Cichlasoma paranaense
    assert rises(21.0) < rises(27.0) == 1.0
    assert humped(23.8) < humped(27.9) > humped(31.7)  # angelfish
    half = aggression_factor(21.0, curve="rises", effect=0.5)
    assert half == pytest.approx(0.5 * (1.0 + rises(21.0)))


def test_the_angelfish_alone_has_the_hump():
    assert [s.key for s in load_species().values() if s.warmth == "humped"] == [
        "Pterophyllum scalare"
    ]
