"""Sums: what the tank weighs and what its fish do to its water, as `holdwater sums` has it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import solara

from sim.errors import Problem, Refused
from viz.app.building.bench import Bench
from viz.app.elements import Button, Layer, Refusals, Switch, tag
from viz.app.given import Given, file_stem
from viz.app.open_tank import OpenTank
from viz.app.typed import Typed
from viz.phrases import LETTERS

if TYPE_CHECKING:
    from viz.sums_page import SumsTable
    from viz.sums_results import SumsResults


@solara.component
def KeeperSums(bench: Bench, now: object) -> None:
    """The sums of the tank that is worked on, once they are asked for.

    Parameters
    ----------
    bench
        What is worked on.
    now
        `Bench.now`, so that it is rendered again when that has changed.
    """
    wanted, want = solara.use_state(False)
    beside, set_beside = solara.use_state(False)
    nothing: dict[str, str] = {}
    typed, set_typed = solara.use_state(nothing)
    tag("h3", "Weight and water")
    if not wanted:
        tag("p", "What the filled tank weighs on its floor, and what these fish do to its water.",
            classes="hw-soft")  # fmt: skip
        Button("Reckon it", lambda: want(True))
        return
    given, wrong = numbers_given(typed)
    inputs(typed, lambda option, text: set_typed({**typed, option: text}), wrong)
    tanks = bench.session.tanks
    if len(tanks) > 1:
        Switch("Beside the other open tanks", beside, set_beside)
    Sums(tanks if beside else (bench.tank,), given)


@solara.component
def Sums(tanks: tuple[OpenTank, ...], given: dict[str, float]) -> None:
    """The sums of open tanks; reckoned anew when a tank or a number has changed, and not before.

    Parameters
    ----------
    tanks, given
        As `sums_of`.
    """
    try:
        results = sums_of(tanks, given)
    except Refused as refusal:
        Refusals(refusal.problems)
        return
    with Layer("div"):
        sums_told(results)


def numbers_given(typed: Mapping[str, str]) -> tuple[dict[str, float], dict[str, str]]:
    """Return the numbers that can be reckoned with, and what is wrong with the others.

    Parameters
    ----------
    typed
        What stands in each input, by the option of the command that gives the same.

    Returns
    -------
    numbers
        By name, as `viz.sums_command.read_numbers` gives them.
    wrong
        A sentence by option.
    """
    from viz.sums_command import read_numbers

    given: dict[str, float] = {}
    wrong: dict[str, str] = {}
    for option, text in typed.items():
        if not text.strip():
            continue
        try:
            given |= read_numbers({option: text})
        except Refused as refusal:
            words = " ".join(problem.sentence for problem in refusal.problems)
            wrong[option] = words[:1].upper() + words[1:]
    return given, wrong


def inputs(
    typed: Mapping[str, str], put: Callable[[str, str], None], wrong: Mapping[str, str]
) -> None:
    """An input for each number that a scenario does not say.

    Parameters
    ----------
    typed
        What stands in each, by option; an empty one shows what is assumed.
    put
        Called with the option and what was typed.
    wrong
        A sentence by option.
    """
    from viz.sums_results import used_numbers
    from viz.sums_words import number_words

    with Layer("div", classes="hw-form"):
        for one in used_numbers({}).values():
            if one.option:

                def typed_now(text: str, option: str = one.option) -> None:
                    put(option, text)

                Typed(
                    one.words if one.unit == "pH" else one.words[:1].upper() + one.words[1:],
                    typed.get(one.option, ""),
                    typed_now,
                    example=number_words(one),
                    error=wrong.get(one.option, ""),
                )


def sums_of(tanks: Sequence[OpenTank], given: Mapping[str, float]) -> SumsResults:
    """Reckon the sums of open tanks.

    Parameters
    ----------
    tanks
        In the order of the page.
    given
        Numbers in place of those that are assumed.

    Raises
    ------
    Refused
        If a tank cannot be built as it stands, or a number fits no sum of it.
    """
    from viz.sums_results import gather_sums

    problems: list[Problem] = []
    paths, checked = [], []
    for tank in tanks:
        if tank.checked is None:
            problems.append(
                Problem(tank.name, "no sums before it can be played; see what check says.")
            )
        else:
            paths.append(tank.file or Path(f"{file_stem(tank.name)}.toml"))
            checked.append(tank.checked)
    if problems:
        raise Refused(problems)
    return gather_sums(paths, checked=checked, given=given)


def sums_told(results: SumsResults) -> None:
    """The sentences, tables, what is taken for granted, the cautions, and the file.

    Parameters
    ----------
    results
        What was reckoned.
    """
    from viz.cautions import SUMS_CAUTIONS
    from viz.sums_page import granted, tables_of
    from viz.sums_results import sums_json
    from viz.sums_words import sums_in_words

    if len(results.tanks) > 1:
        for letter, tank in zip(LETTERS, results.tanks, strict=False):
            tag("p", f"{letter} {tank.name}", classes="hw-name")
    for said in sums_in_words(results):
        tag("p", said.words)
    for table in tables_of(results):
        with Layer("div", classes="hw-table-room", name=table.title, role="region", tabindex="0"):
            one_table(table)
    with Layer("details", classes="hw-more"):
        tag("summary", "What is taken for granted")
        with Layer("ul", classes="hw-said"):
            for words in granted(results, options=False):
                tag("li", words, classes="hw-soft")
    tag("h3", "Before you build it")
    for words in SUMS_CAUTIONS:
        tag("p", words)
    Given(
        "Keep the sums", f"{file_stem(results.tanks[0].name)}-sums.json",
        lambda: sums_json(results), kind="application/json",
        hint="As holdwater sums --json writes them",
    )  # fmt: skip


def one_table(table: SumsTable) -> None:
    """One table of the sums; units of both systems stand in one cell.

    Parameters
    ----------
    table
        As `viz.sums_page.tables_of` gives it.
    """
    from viz.sums_page import in_a_line

    tanks = len(table.rows[0][1])
    with Layer("table", classes="hw-points hw-sums"):
        tag("caption", f"{table.title}, {table.beside}" if table.beside else table.title)
        if tanks > 1:
            with Layer("thead"), Layer("tr"):
                for words in ("", *LETTERS[:tanks]):
                    tag("th", words, attributes={"scope": "col"})
        with Layer("tbody"):
            for words, cells in table.rows:
                with Layer("tr"):
                    tag("th", words, attributes={"scope": "row"})
                    for cell in cells:
                        tag("td", in_a_line(cell))
