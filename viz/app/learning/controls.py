"""Controls of a challenge: what may be set in it without touching the tank itself.

They are made from what the challenge allows. Pieces, fish and events that may be added are added in
Build, on the tank.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import solara

from sim.errors import Refused
from sim.observing import days_of
from sim.scenario import Scenario
from sim.units import format_clock
from viz.app.challenges import May
from viz.app.editing.changing import named, rebuilt, remade, replaced
from viz.app.editing.life import change_event, set_keeper
from viz.app.editing.stock import change_fish
from viz.app.elements import Layer
from viz.app.learning.trying import Trying
from viz.app.typed import Chosen, Typed

Options = Sequence[tuple[str, str]]
LOOKS = (
    ("", "never"),
    ("09:00", "in the morning"),
    ("19:00", "in the evening"),
    ("09:00,19:00", "morning and evening"),
)
MOVES = (
    ("nobody", "nobody"),
    ("victim", "the fish that is badly hurt"),
    ("bully", "the fish that hurt it"),
)
BACK = (
    ("", "stays out"),
    ("1", "comes back after a day"),
    ("3", "comes back after 3 days"),
    ("7", "comes back after 7 days"),
)


@dataclass(frozen=True)
class Setting:
    """One thing that can be set.

    Parameters
    ----------
    label
        What it is.
    value
        As it stands, as text.
    edit
        Gives the tank with what was chosen or typed; may refuse.
    options
        To choose from; typed where there are none.
    example
        Of what is typed.
    """

    label: str
    value: str
    edit: Callable[[Scenario, str], Scenario]
    options: Options = ()
    example: str = ""


def Controls(trying: Trying) -> None:
    """The controls of a challenge.

    Parameters
    ----------
    trying
        How far it is.
    """
    tank = trying.tank
    if tank is None:
        return
    settings = [one for may in trying.challenge.may for one in settings_of(may, tank.scenario)]
    if settings:
        with Layer("div", classes="hw-form"):
            for one in settings:
                Control(trying, one.label, one.value, one)


@solara.component
def Control(trying: Trying, label: str, value: str, setting: Setting) -> None:
    """One of them, with what is wrong with what was typed below it.

    Parameters
    ----------
    trying
        How far it is.
    label, value
        Of the setting.
    setting
        What is set.
    """
    wrong, set_wrong = solara.use_state(("", ""))  # the sentence, and the value it came after

    def put(text: str) -> None:
        try:
            problems = trying.change(lambda scenario: setting.edit(scenario, text))
        except Refused as refusal:
            problems = refusal.problems
        set_wrong((" ".join(one.sentence for one in problems), value))

    error = wrong[0] if wrong[1] == value else ""
    if setting.options:
        Chosen(label, setting.options, value, put, error=error)
    else:
        Typed(label, value, put, example=setting.example, error=error)


def settings_of(may: May, scenario: Scenario) -> Iterator[Setting]:
    """Yield what can be set of something that may be changed.

    Parameters
    ----------
    may
        What may be changed.
    scenario
        As it stands.
    """
    if may.part == "keeper_plan":
        yield from _keeper(scenario)
    for name in may.names:
        if may.part == "fish":
            yield from _fish(may, scenario, name)
        elif may.part == "events":
            yield from _event(may, scenario, name)
        elif may.part == "pieces" and "kind" in may.keys:
            yield from _kind(may, scenario, name)
        elif may.part == "observe":
            yield from _sitting(may, scenario, name)


def _numbers(may: May, key: str) -> Options:
    low, high = may.bounds[key]
    return tuple((str(n), str(n)) for n in range(round(low), round(high) + 1))


def _entry(entries: Sequence[Any], name: str) -> Any:
    return next((one for one in entries if one.name.lower() == name.lower()), None)


def _fish(may: May, scenario: Scenario, name: str) -> Iterator[Setting]:
    group = _entry(scenario.fish, name)
    if group is None:
        return
    if "count" in may.keys:
        yield Setting(
            f"How many: {name}",
            str(group.count),
            lambda s, text: change_fish(s, name, count=int(text)),
            _numbers(may, "count"),
        )
    if "joins_at" in may.keys and group.joins_at_h is not None:
        yield Setting(
            f"{name} joins at",
            format_clock(group.joins_at_h),
            lambda s, text: change_fish(s, name, joins_at_h=text),
            example="22:00",
        )


def _event(may: May, scenario: Scenario, name: str) -> Iterator[Setting]:
    event = _entry(scenario.events, name)
    if event is None:
        return
    if "on_day" in may.keys:
        yield Setting(
            f"Day of: {name}",
            f"{event.on_day:g}",
            lambda s, text: change_event(s, name, on_day=float(text)),
            _numbers(may, "on_day"),
        )
    if "at" in may.keys and event.at_h is not None:
        yield Setting(
            f"Time of: {name}",
            format_clock(event.at_h),
            lambda s, text: change_event(s, name, at_h=text),
            example="12:00",
        )


def _kind(may: May, scenario: Scenario, name: str) -> Iterator[Setting]:
    piece = _entry(scenario.pieces, name)
    if piece is None:
        return

    def edit(scenario: Scenario, text: str) -> Scenario:
        index = named(scenario.pieces, name, what="piece")
        other = remade(scenario.pieces[index], kind=text)
        return rebuilt(scenario, pieces=replaced(scenario.pieces, index, other))

    kinds = [str(kind) for kind in may.values["kind"]]
    yield Setting(f"The {name}", piece.kind, edit, tuple((kind, kind) for kind in kinds))


def _keeper(scenario: Scenario) -> Iterator[Setting]:
    plan = scenario.keeper_plan
    if plan is None:
        return
    looks = ",".join(format_clock(hour) for hour in plan.checks_at)
    offered: Options = LOOKS if looks in dict(LOOKS) else (*LOOKS, (looks, looks))
    back = "" if plan.back_after_days is None else f"{plan.back_after_days:g}"

    def look(scenario: Scenario, text: str) -> Scenario:
        return set_keeper(scenario, checks_at=tuple(one for one in text.split(",") if one))

    yield Setting("You look", looks, look, offered)
    yield Setting("You move", plan.moves, lambda s, text: set_keeper(s, moves=text), MOVES)
    yield Setting(
        "Who was moved",
        back,
        lambda s, text: set_keeper(s, back_after_days=float(text) if text else None),
        BACK if back in dict(BACK) else (*BACK, (back, f"comes back after {back} days")),
    )


def _sitting(may: May, scenario: Scenario, name: str) -> Iterator[Setting]:
    one = _entry(scenario.observe, name)
    if one is None:
        return
    most = round(may.bounds["sittings"][1])

    def put(scenario: Scenario, **values: Any) -> Scenario:
        index = named(scenario.observe, name, what="sitting")
        other = remade(scenario.observe[index], **values)
        return rebuilt(scenario, observe=replaced(scenario.observe, index, other))

    count = len(days_of(one))
    last = int(scenario.days) - 1
    yield Setting(
        "First day with the pad",
        f"{one.from_day:g}",
        lambda s, text: put(s, from_day=float(text), to_day=float(text) + count - 1),
        tuple((str(day), str(day)) for day in range(last + 1)),
    )
    yield Setting(
        "On how many days",
        str(count),
        lambda s, text: put(s, to_day=one.from_day + int(text) - 1),
        tuple((str(n), str(n)) for n in range(1, most + 1)),
    )
    yield Setting("At", format_clock(one.at_h), lambda s, text: put(s, at_h=text), example="11:00")
