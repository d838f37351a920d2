"""Tables of results, read as a person reads them: 80 columns, no colours, names as they are."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console, RenderableType

from tests.viz.made import design, number, results
from viz.ink import THEME
from viz.printed import results_page
from viz.tables import STRIP_CELLS, at_risk, chases_ended, compared, happened, strip


def shown(page: RenderableType, *, width: int = 80) -> str:
    """Print with markup switched on, so that a name taken as markup would be lost."""
    stream = io.StringIO()
    Console(file=stream, width=width, theme=THEME, markup=True, color_system=None).print(page)
    return stream.getvalue()


@pytest.mark.parametrize("count", [1, 2, 3, 4])
@pytest.mark.parametrize("width", [80, 120])
def test_fits_and_cuts_nothing(count: int, width: int) -> None:
    text = shown(results_page(results(*[design()] * count)), width=width)
    assert max(len(line) for line in text.splitlines()) <= width
    assert "…" not in text
    for letter in "ABCD"[:count] if count > 1 else "":
        assert f"  {letter}  " in text


@pytest.mark.parametrize("page", [compared, at_risk, results_page])
def test_names_are_only_text(page: object) -> None:
    odd = replace(
        design(fish=("[red]x[/red]", ":fish: [/]"), at_risk="[red]x[/red]"),
        name="[bold]n[/bold]", file="[link]f",
    )  # fmt: skip
    text = shown(page(results(odd)))  # type: ignore[operator]
    if page is not at_risk:
        assert "[bold]n[/bold]" in text
        assert "[link]f" in text
    if page is not compared:
        assert "[red]x[/red]" in text
        assert ":fish: [/]" in text


def test_what_was_compared() -> None:
    text = shown(compared(results(design(), design())))
    assert "48 x 18 x 21 in, 79 gal" in text
    assert "convict cichlid x 2" in " ".join(text.split())
    assert "100 runs of 30 days each, over 50 draws of fish" in " ".join(text.split())


def test_what_is_unusual_is_said() -> None:
    found = results(replace(design(), without=("hiding",)))
    found.provenance["parameters_changed"] = {"stamina_time": 4.0}
    found.provenance["watch"] = "all"
    text = shown(compared(found))
    for words in ("changed: stamina_time = 4", "switched off: hiding", "watched: all"):
        assert words in text


def test_strip_stands_where_the_numbers_are() -> None:
    text = strip(50.0, low=0.0, high=100.0, end=100.0).plain
    assert len(text) == STRIP_CELLS
    assert text.index("o") in (STRIP_CELLS // 2 - 1, STRIP_CELLS // 2)
    assert set(text) == {"~", "o"}
    assert strip(0.0, low=0.0, high=0.0, end=100.0).plain == "o" + "." * (STRIP_CELLS - 1)
    assert strip(120.0, low=90.0, high=150.0, end=100.0).plain.endswith("~o")


def test_figures() -> None:
    one = replace(
        design(), outcomes={**design().outcomes, "dose": number(0.5, None, None, "injury")}
    )
    text = shown(happened(results(one)))
    assert "12   7 to 20" in text
    assert "0.5   too rare for an interval" in text


def test_at_risk_counts_the_rest() -> None:
    text = shown(at_risk(results(design(fish=tuple(f"f{k}" for k in range(20))))))
    assert "4 more fish, each seriously hurt in at most 10 in 100 runs." in text


def test_a_fish_of_one_tank_only() -> None:
    text = shown(at_risk(results(design(), design(fish=("Moth",)))))
    row = next(line for line in text.splitlines() if line.startswith("Rook"))
    assert row.split().count("-") == 4


def test_how_chases_ended() -> None:
    assert "tired" in shown(chases_ended(results(design())))
    none = replace(design(), ends={})
    assert "There were no chases." in shown(chases_ended(results(none)))
