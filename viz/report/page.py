"""The report from top to bottom: question, tanks, answer, and what it rests on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

from viz.cautions import ABSOLUTE, ABSOLUTE_ALONE, CAUTIONS
from viz.life_words import spare_words
from viz.markup import el
from viz.phrases import LETTERS, Said, hundredths, limits
from viz.report.days import round_spawning, unhurt, unhurt_fish
from viz.report.reasons import why
from viz.report.tables import figures
from viz.report.tanks import hurt_where, tanks
from viz.report.who import who_chases
from viz.results import Results
from viz.sure_words import spread_words
from viz.tables import company_words
from viz.words import each_fish_words, in_words, none_of_these, verdict_words

if TYPE_CHECKING:
    from sim.comparison import Design
    from viz.report.gathered import Pictured
    from viz.why_results import Reasons

ONE_IN_TEN = 0.9  # not hurt yet
UNSAVED = (
    "A tank that was not saved stands in this file whole, to be seen on screen: save it under the "
    "name it has in the command. "
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All that stands on the page.

    Parameters
    ----------
    results
        The answer.
    reasons, pictures, designs
        Of each tank.
    command
        The command that plays it again.
    """

    results: Results
    reasons: tuple[Reasons, ...]
    pictures: tuple[Pictured, ...]
    designs: tuple[Design, ...]
    command: str

    @property
    def alone(self) -> bool:
        """Whether it speaks of one tank."""
        return len(self.designs) == 1

    @property
    def title(self) -> str:
        """What the page is called."""
        names = [design.name for design in self.designs]
        return names[0] if self.alone else ", or ".join(names) + "?"


def page(sheet: Sheet) -> Iterator[Element | None]:
    """Yield the parts of the page in order.

    Parameters
    ----------
    sheet
        All that stands on it.
    """
    yield _head(sheet)
    yield from tanks(sheet)
    yield _answer(sheet)
    yield el("div", figures(sheet.results), unhurt(sheet), class_="figures")
    yield from unhurt_fish(sheet)
    yield from hurt_where(sheet)
    yield from why(sheet)
    yield from who_chases(sheet)
    yield from round_spawning(sheet)
    yield el("div", _ready(sheet), _cautions(), class_="pair two before")
    yield _sure(sheet)
    yield from _again(sheet)


def sentences(said: list[Said]) -> Element | None:
    """Return sentences as a list, None where there is none."""
    return el("ul", (el("li", one.words) for one in said)) if said else None


def _head(sheet: Sheet) -> Element:
    results = sheet.results
    first = results.designs[0]
    asked = [design.scenario.question for design in sheet.designs if design.scenario.question]
    days = "day" if first.days == 1 else "days"
    played = (
        f"{first.runs} runs of {first.days:g} {days}"
        f"{'' if sheet.alone else ' in each tank'}, over {first.draws} draws of "
        f"fish{'' if sheet.alone else ', the same fish in every tank'}."
    )
    same = len({company_words(one) for one in results.designs}) == 1
    who = [
        f"{'' if same or sheet.alone else LETTERS[k] + ': '}{company_words(one)}."
        for k, one in enumerate(results.designs if not same else results.designs[:1])
    ]
    names = [
        el("span", None if sheet.alone else el("b", f"{letter} "), design.name)
        for letter, design in zip(LETTERS, sheet.designs, strict=False)
    ]
    return el(
        "header",
        el("p", "Holdwater: a report on "
           f"{'one tank' if sheet.alone else f'{len(sheet.designs)} tanks'}", class_="kicker"),
        el("h1", names),
        (el("p", words, class_="question") for words in dict.fromkeys(asked)),
        el("p", f"{' '.join(who)} Played: {played}"),
    )  # fmt: skip


def _answer(sheet: Sheet) -> Element:
    results = sheet.results
    first = [
        *none_of_these(results),
        *(verdict_words(results, k) for k in range(len(results.verdicts))),
    ]
    every = in_words(results)
    rest = [one for one in every if one not in first]
    if not first:
        first, rest = rest[:1], rest[1:]
    by_fish = [words for k in range(len(results.verdicts)) for words in each_fish_words(results, k)]
    rest = [one for one in rest if one not in by_fish]
    return el(
        "section",
        el("h2", "The answer"),
        el("div", (el("p", one.words) for one in [*first, *by_fish]), class_="answer"),
        sentences(rest) if sheet.alone else _by_tank(sheet, rest),
    )  # fmt: skip


def _by_tank(sheet: Sheet, said: list[Said]) -> Element:
    """Sentences that begin with the letter of a tank, a column for each."""
    columns = []
    for letter, design in zip(LETTERS, sheet.designs, strict=False):
        start = f"{letter}: "
        mine = [_capital(one.words.removeprefix(start)) for one in said
                if one.words.startswith(start)]  # fmt: skip
        columns.append(
            el("div", el("h3", f"{letter} {design.name}"), el("ul", (el("li", w) for w in mine)))
        )
    return el("div", columns, class_="pair two")


def _ready(sheet: Sheet) -> Element:
    results = sheet.results
    items = []
    for number, (design, picture) in enumerate(zip(results.designs, sheet.pictures, strict=True)):
        start = "" if sheet.alone else f"{LETTERS[number]}: "
        day = next(
            (day for day, share in zip(picture.unhurt.days, picture.unhurt.numbers, strict=True)
             if share.estimate is not None and share.estimate <= ONE_IN_TEN),
            None,
        )  # fmt: skip
        if day is None:
            words = (
                "in fewer than one run in ten is a fish seriously hurt; still have a divider and a "
                "spare tank at hand"
            )
        else:
            words = (
                f"by day {day} one run in ten has seen a serious injury: have a spare "
                "tank running, cycled and warm, before that day"
            )
        spare = spare_words(design, number=number, start="")
        if spare:  # a keeper looks: what it needs is counted, not guessed
            words = _lower(" ".join(one.words for one in spare)).removesuffix(".")
        risk = design.at_risk
        if risk is not None and risk.share.estimate:
            words += (
                f". Watch {risk.name} first: "
                + ("seriously hurt" if risk.by == "serious" else "bitten most")
                + f" in {hundredths(risk.share.estimate)} of 100 runs"
                + limits(risk.share, share=True)
            )
        items.append(_capital(f"{start}{words}."))
    return el(
        "section",
        el("h2", "What to have ready"),
        el("ul", (el("li", words) for words in items)),
    )


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _sure(sheet: Sheet) -> Element:
    criteria = dict.fromkeys(found.criterion for found in sheet.results.verdicts)
    return el(
        "section",
        el("h2", "How sure this is"),
        el("ul",
           (el("li", one.words) for one in spread_words(sheet.results)),
           el("li", ABSOLUTE_ALONE if sheet.alone else ABSOLUTE),
           (el("li", f"How better and worse are told. {words}") for words in criteria)),
        class_="sure",
    )  # fmt: skip


def _cautions() -> Element:
    return el(
        "section",
        el("h2", "Before you build it"),
        el("div", el("ul", (el("li", words) for words in CAUTIONS)), class_="cautions"),
    )


def _again(sheet: Sheet) -> Iterator[Element]:
    from sim.scenario_file import write_scenario

    played = sheet.results.provenance
    facts = [f"seed {played['seed']}", f"watched {played['watch']}"]
    for name in ("version", "model", "python", "numpy", "numba"):
        if name in played:
            facts.append(f"{name} {played[name]}")
    changed = played.get("parameters_changed")
    if isinstance(changed, dict) and changed:
        facts.append("changed: " + ", ".join(f"{k} = {v:g}" for k, v in changed.items()))
    for letter, design in zip(LETTERS, sheet.results.designs, strict=False):
        if design.without:
            who = "" if sheet.alone else f" in {letter}"
            facts.append(f"switched off{who}: " + ", ".join(design.without))
    yield el(
        "section",
        el("h2", "To play it again"),
        el("pre", sheet.command),
        el("p",
           (el("span", el("b", "" if sheet.alone else f"{letter} "),
               el("code", design.file or "not saved"), f", digest {design.hash[:16]}. ")
            for letter, design in zip(LETTERS, sheet.results.designs, strict=False)),
           UNSAVED if any(not design.file for design in sheet.results.designs) else "",
           f"{_capital('; '.join(facts))}. The same files, options and version give the same "
           "numbers.", class_="small files"),
        (el("details",
            el("summary", f"The whole of {design.name} as a scenario file"),
            el("pre", write_scenario(design.scenario)))
         for design in sheet.designs),
    )  # fmt: skip
