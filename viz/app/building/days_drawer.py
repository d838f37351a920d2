"""Days: how long it is played, whether they spawn, who looks in, and what is done on which day."""

from __future__ import annotations

from typing import Any

import solara

from sim.scenario import Scenario
from sim.units import format_clock
from viz.app.building.bench import Bench
from viz.app.building.hands import cap
from viz.app.building.parts import Input, Messages, plain
from viz.app.editing.life import (
    add_event,
    change_event,
    remove_event,
    set_breeding,
    set_days,
    set_keeper,
)
from viz.app.editing.stock import all_names
from viz.app.elements import Button, Layer, Switch, tag
from viz.app.typed import Chosen, Typed

MODES = (
    ("off", "nobody spawns"),
    ("on", "a pair spawns on a day"),
    ("spontaneous", "pairs form of themselves"),
)
MOVES = (
    ("none", "nobody looks in"),
    ("nobody", "looks, and moves nobody"),
    ("victim", "moves the hurt fish out"),
    ("bully", "moves the bully out"),
)
# what is done, as one says it, and what it is done to
DEEDS: tuple[tuple[str, str, str], ...] = (
    ("take out", "fish or a piece are taken out", "thing"),
    ("bring back", "fish or a piece are brought back", "thing"),
    ("re-arrange", "a piece is moved", "moves"),
    ("divider in", "the divider is put in", "divider"),
    ("divider out", "the divider is lifted", "divider"),
    ("water change", "water is changed", "share"),
    ("take the fry", "the fry are taken out", ""),
    ("lights", "the light comes on at another time", "lights_on_h"),
)
SPAWN_DAY = 5.0


def DaysDrawer(bench: Bench) -> None:
    """Days, breeding, keeper and events.

    Parameters
    ----------
    bench
        What is worked on.
    """
    scenario = bench.scenario
    with Layer("div", classes="hw-form"):
        Input(
            bench,
            "Title",
            scenario.title,
            lambda s, text: set_days(s, title=text),
            did="another title",
        )
        Input(
            bench,
            "Played for, days",
            f"{scenario.days:g}",
            lambda s, text: set_days(s, days=plain(text)),
            did="other days",
        )
        Input(
            bench,
            "Days to settle before",
            f"{scenario.settling_days:g}",
            lambda s, text: set_days(s, settling_days=plain(text)),
            did="other days to settle",
        )

    def grow(on: bool) -> None:
        bench.do(lambda s: set_days(s, growth=on), did="growth")

    Switch("Fish grow", scenario.growth, grow)
    Messages(m for m in bench.messages if m.about in ("days", "growth", "settling_days"))
    Breeding(bench)
    Keeper(bench)
    Events(bench)


def Breeding(bench: Bench) -> None:
    """Whether they spawn, and when.

    Parameters
    ----------
    bench
        What is worked on.
    """
    scenario = bench.scenario
    breeding = scenario.breeding
    tag("h3", "Spawning")
    with Layer("div", classes="hw-form"):
        Input(
            bench,
            "Breeding",
            breeding.mode,
            lambda s, text: set_breeding(
                s, mode=text, **({"spawn_day": min(SPAWN_DAY, s.days / 2)} if text == "on" else {})
            ),
            did="breeding",
            options=MODES,
        )
        if breeding.mode == "on" and breeding.spawn_day is not None:
            Input(
                bench,
                "Eggs on day",
                f"{breeding.spawn_day:g}",
                lambda s, text: set_breeding(s, spawn_day=plain(text)),
                did="another spawning day",
            )
        if breeding.mode != "off":
            site = breeding.site if isinstance(breeding.site, str) else "a place"
            places = [("auto", "where they like")] + [(p.name, p.name) for p in scenario.pieces]
            if site not in dict(places):
                places.append((site, "a place on the floor"))
            Input(
                bench,
                "Where",
                site,
                lambda s, text: set_breeding(s, site=text),
                did="another nest",
                options=places,
            )
    Messages(m for m in bench.messages if m.about.startswith("breeding"))


def Keeper(bench: Bench) -> None:
    """Who looks in, and what is done about what is seen.

    Parameters
    ----------
    bench
        What is worked on.
    """
    plan = bench.scenario.keeper_plan
    tag("h3", "The keeper")

    def change(scenario: Scenario, text: str) -> Scenario:
        if text == "none":
            return set_keeper(scenario, nobody=True)
        first = {} if scenario.keeper_plan else {"checks_at": ("08:00", "19:00"), "spare_places": 1}
        return set_keeper(scenario, moves=text, **first)

    with Layer("div", classes="hw-form"):
        Input(
            bench,
            "The keeper",
            "none" if plan is None else plan.moves,
            change,
            did="another keeper",
            options=MOVES,
        )
        if plan is not None:
            Input(
                bench,
                "Looks in at",
                ", ".join(format_clock(hour) for hour in plan.checks_at),
                lambda s, text: set_keeper(s, checks_at=tuple(_parts(text))),
                did="looks at other times",
                example="08:00, 19:00",
            )
            Input(
                bench,
                "Spare places",
                str(plan.spare_places),
                lambda s, text: set_keeper(
                    s, spare_places=int(text) if text.strip().isdecimal() else text
                ),
                did="other spare places",
            )
    Messages(m for m in bench.messages if m.about.startswith("keeper_plan"))


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def Events(bench: Bench) -> None:
    """What is done to the tank, each thing with its day.

    Parameters
    ----------
    bench
        What is worked on.
    """
    scenario = bench.scenario
    tag("h3", "What is done on which day")
    if not scenario.events:
        tag("p", "Nothing is done to this tank while it is played.", classes="hw-field-hint")
    with Layer("ul", classes="hw-events"):
        for event in sorted(scenario.events, key=lambda e: e.on_day):
            name = event.name

            def remove(name: str = name) -> None:
                bench.do(lambda s: remove_event(s, name), did=f"{name} taken out")

            def another_day(scenario: Scenario, text: str, name: str = name) -> Scenario:
                return change_event(scenario, name, on_day=plain(text))

            with Layer("li"):
                tag("span", event_words(event), classes="hw-name")
                Input(
                    bench,
                    f"Day of: {name}",
                    f"{event.on_day:g}",
                    another_day,
                    did=f"{name} on another day",
                )
                Messages(m for m in bench.messages if (m.about, m.name) == ("event", name))
                Button("Take it out", remove, kind="quiet", name=f"Take out: {name}")
    NewEvent(bench, bench.now)


def event_words(event: Any) -> str:
    """Return an event in words: "day 7, 10:00: take out Basalt".

    Parameters
    ----------
    event
        Of a scenario.
    """
    at = "" if event.at_h is None else f", {format_clock(event.at_h)}"
    named = [*event.fish, *event.pieces, *(move.piece for move in event.moves)]
    named += [event.divider] if event.divider else []
    said = f"day {event.on_day:g}{at}: {event.do}"
    if event.share is not None:
        said += f", {100 * event.share:g} %"
    if event.lights_on_h is not None:
        said += f" on at {format_clock(event.lights_on_h)}"
    if event.light_hours is not None:
        said += f", {event.light_hours:g} hours"
    return cap(said + (f": {', '.join(named)}" if named else ""))


@solara.component
def NewEvent(bench: Bench, now: object) -> None:
    """Something more that is done on a day.

    Parameters
    ----------
    bench
        What is worked on.
    now
        `Bench.now`, so that it is rendered again when that has changed.
    """
    scenario = bench.scenario
    blank = {"do": "", "day": "7", "at": "", "to": "", "x": "", "y": ""}
    form, set_form = solara.use_state(blank)
    wrong, set_wrong = solara.use_state("")

    def put(key: str, value: str) -> None:
        more = {"to": ""} if key == "do" else {}
        set_form({**form, **more, key: value})

    def add() -> None:
        said = bench.typed(lambda s: _event_of(s, form), did="something more on a day")
        set_wrong(said)
        if not said:
            set_form(blank)

    target = next((key for do, _, key in DEEDS if do == form["do"]), "")
    with Layer("div", classes="hw-form"):
        deeds = [("", "choose"), *((do, words) for do, words, _ in DEEDS)]
        Chosen("Something is done", deeds, form["do"], lambda value: put("do", value))
        if form["do"]:
            Typed("On day", form["day"], lambda value: put("day", value))
            Typed(
                "At",
                form["at"],
                lambda value: put("at", value),
                example="when the light comes on",
            )
            targets = _targets(scenario, target)
            if targets:
                options = [("", "choose"), *((name, name) for name in targets)]
                Chosen("To", options, form["to"], lambda value: put("to", value))
            elif target == "share":
                Typed("How much", form["to"], lambda value: put("to", value), example="30 %")
            elif target == "lights_on_h":
                Typed("On at", form["to"], lambda value: put("to", value), example="08:00")
            if target == "moves":
                Typed(
                    "Then from the left", form["x"], lambda value: put("x", value), example="20 in"
                )
                Typed(
                    "Then from the front", form["y"], lambda value: put("y", value), example="6 in"
                )
            if target == "divider" and not targets:
                tag("p", "Put a divider in first.", classes="hw-field-hint")
    if wrong:
        tag("p", wrong, classes="hw-field-error", attributes={"role": "alert"})
    Button("Add it", add, disabled=not form["do"])


def _targets(scenario: Scenario, key: str) -> list[str]:
    from viz.app.editing.furnish import is_divider

    pieces = [piece.name for piece in scenario.pieces]
    if key == "thing":
        return [*dict.fromkeys(all_names(scenario)), *pieces]
    if key == "moves":
        return pieces
    if key == "divider":
        return [piece.name for piece in scenario.pieces if is_divider(piece)]
    return []


def _event_of(scenario: Scenario, form: dict[str, str]) -> Scenario:
    target = next(key for do, _, key in DEEDS if do == form["do"])
    to = form["to"]
    values: dict[str, Any] = {}
    if target == "thing" and to:
        is_piece = any(piece.name == to for piece in scenario.pieces)
        values["pieces" if is_piece else "fish"] = (to,)
    elif target == "moves" and to:
        values["moves"] = ({"piece": to, "x_m": form["x"], "y_m": form["y"]},)
    elif target and to:
        values[target] = to
    if form["at"].strip():
        values["at_h"] = form["at"].strip()
    return add_event(scenario, do=form["do"], on_day=plain(form["day"]), **values)  # type: ignore[arg-type]
