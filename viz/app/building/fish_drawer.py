"""The drawer of fish, the groups that are in the tank, and the group under the hand."""

from __future__ import annotations

from typing import Any

import solara

from sim.scenario import FishGroup, Scenario
from sim.species import load_species
from sim.units import format_clock, format_length
from viz.app.building.bench import Bench, Picked
from viz.app.building.hands import cap, take_out
from viz.app.building.parts import Input, Messages, plain
from viz.app.editing.stock import add_fish, change_fish
from viz.app.elements import Button, Layer, tag
from viz.app.typed import Chosen, Typed

SEXES = (("unknown", "not sure"), ("male", "male"), ("female", "female"))
TEMPERS = (
    ("unknown", "not sure"),
    ("mild", "mild"),
    ("typical", "typical"),
    ("fierce", "fierce"),
)
PASTS = (("new", "put in"), ("settled", "lived here before"))


def species_options() -> list[tuple[str, str]]:
    """Return every fish to choose from: its trade name with the scientific one."""
    found = [(one.key, f"{one.names[0]} ({one.key})") for one in load_species().values()]
    return sorted(found, key=lambda one: one[1].lower())


def length_text(group: FishGroup) -> str:
    """Return the length of a group as one types it: "about 3.5 in", "adult".

    Parameters
    ----------
    group
        Of a scenario.
    """
    if group.length_m is None:
        return "adult"
    return f"{'about ' if group.length_about else ''}{format_length(group.length_m)}"


@solara.component
def FishDrawer(bench: Bench, now: object) -> None:
    """Fish to be put in: which, how many, how long, what sex and temper.

    Parameters
    ----------
    bench
        What is worked on.
    now
        `Bench.now`, so that it is rendered again when that has changed.
    """
    blank = {"species": "", "count": "1", "length": "", "sex": "unknown", "temper": "unknown"}
    form, set_form = solara.use_state(blank)
    wrong, set_wrong = solara.use_state("")

    def put(key: str, value: str) -> None:
        set_form({**form, key: value})

    def add() -> None:
        said = bench.typed(lambda scenario: _added(scenario, form), did="fish put in")
        set_wrong(said)
        if not said:
            new = bench.scenario.fish[-1].name
            set_form(blank)
            bench.pick(Picked("fish", new))
            bench.session.say(f"{cap(new)} are put in.")

    tag("h3", "Put fish in")
    with Layer("div", classes="hw-form"):
        Chosen(
            "Which fish",
            [("", "choose a fish"), *species_options()],
            form["species"],
            lambda value: put("species", value),
        )
        Typed("How many", form["count"], lambda value: put("count", value))
        Typed(
            "How long, roughly",
            form["length"],
            lambda value: put("length", value),
            example="about 3 in",
            hint="Left empty: full-grown",
        )
        Chosen("Sex", SEXES, form["sex"], lambda value: put("sex", value))
        Chosen("Temper", TEMPERS, form["temper"], lambda value: put("temper", value))
    if wrong:
        tag("p", wrong, classes="hw-field-error", attributes={"role": "alert"})
    Button("Put them in", add, kind="main", disabled=not form["species"])


def _added(scenario: Scenario, form: dict[str, str]) -> Scenario:
    return add_fish(
        scenario,
        species=form["species"],
        count=number_of(form["count"]),
        length=form["length"] or None,
        sex=form["sex"],
        temper=form["temper"],
    )


def number_of(text: str) -> Any:
    """Return a whole number that was typed; the text itself where it is none, to be refused.

    Parameters
    ----------
    text
        As typed.
    """
    return int(text) if text.strip().isdecimal() and len(text) < 10 else text


def Groups(bench: Bench) -> None:
    """The groups of fish of the tank, to be picked.

    Parameters
    ----------
    bench
        What is worked on.
    """
    kinds = load_species()
    tag("h2", "The fish")
    with Layer("ul", classes="hw-groups"):
        for group in bench.scenario.fish:
            about = Picked("fish", group.name)
            kind = kinds[group.species]

            def pick(about: Picked = about) -> None:
                bench.pick(about)

            with Layer("li"):
                Button(
                    group.name if group.count == 1 else f"{group.name} x {group.count}",
                    pick,
                    kind="group",
                    pressed=bench.picked == about,
                )
                words = [kind.names[0]] if kind.names[0] != group.name else []
                words += [] if group.sex == "unknown" else [group.sex]
                words.append(length_text(group))
                tag("span", ", ".join(words), classes="hw-state")
                tag("span", kind.key, classes="hw-latin", attributes={"lang": "la"})
                if group.joins_day:
                    tag("span", f"put in on day {group.joins_day:g}", classes="hw-state")
                Messages(m for m in bench.messages if (m.about, m.name) == ("fish", group.name))
    Button("Put more fish in", lambda: _more(bench))


def _more(bench: Bench) -> None:
    bench.pick(None)
    bench.open_drawer("fish")


def PickedFish(bench: Bench, group: FishGroup) -> None:
    """The group of fish under the hand.

    Parameters
    ----------
    bench
        What is worked on.
    group
        Which.
    """
    name = group.name
    about = Picked("fish", name)

    def change(key: str) -> Any:
        return lambda scenario, text: change_fish(scenario, name, **{key: text})

    with Layer("div", classes="hw-picked", role="group", name=f"Picked: {name}"):
        tag("h2", name)
        kind = load_species()[group.species]
        tag("p", kind.names[0], tag("span", f" {kind.key}", classes="hw-latin"))
        Messages(m for m in bench.messages if (m.about, m.name) == ("fish", name))
        with Layer("div", classes="hw-form"):
            Input(bench, "Name", name, change("name"), did=f"{name} named anew")
            Input(
                bench,
                "Which fish",
                group.species,
                change("species"),
                did=f"{name}: another fish",
                options=species_options(),
            )
            Input(
                bench,
                "How many",
                str(group.count),
                lambda scenario, text: change_fish(scenario, name, count=number_of(text)),
                did=f"{name}: another number",
            )
            Input(
                bench,
                "How long, roughly",
                length_text(group),
                change("length"),
                did=f"{name}: another length",
                hint='"about" for a guess; "adult" for full-grown',
            )
            Input(bench, "Sex", group.sex, change("sex"), did=f"{name}: sex", options=SEXES)
            Input(
                bench, "Temper", group.temper, change("temper"), did=f"{name}: temper",
                options=TEMPERS,
            )  # fmt: skip
            Since(bench, group)
        place = group.joins_place
        if place is not None:
            x, y = (format_length(side) for side in place)
            tag("p", f"Put in {x} from the left, {y} from the front.", classes="hw-measures")
        with Layer("div", classes="hw-row"):
            if place is not None:
                Button("Put in anywhere", lambda: anywhere(bench, name))
            Button("Take them out", lambda: take_out(bench, about))
            Button("Let go", lambda: bench.pick(None), kind="quiet")
        refusal = bench.refusal
        if refusal is not None and refusal.about in (about, None):
            tag("p", refusal.words, classes="hw-field-error", attributes={"role": "alert"})


def anywhere(bench: Bench, name: str) -> None:
    """Let a group of fish be put in anywhere.

    Parameters
    ----------
    bench
        What is worked on.
    name
        Of the group.
    """
    bench.do(
        lambda scenario: change_fish(scenario, name, joins_place=None),
        did=f"{name} put in anywhere",
        about=Picked("fish", name),
    )


def Since(bench: Bench, group: FishGroup) -> None:
    """Since when a group is in the tank: put in on a day, or living there before day 0.

    Parameters
    ----------
    bench
        What is worked on.
    group
        Which.
    """
    name, past = group.name, group.established
    Input(
        bench,
        "Since when",
        "new" if past is None else "settled",
        lambda scenario, text: since(scenario, name, settled=text == "settled"),
        did=f"{name}: since when",
        options=PASTS,
    )
    if past is not None:
        Input(
            bench,
            "Days before day 0",
            f"{-past.since_day:g}",
            lambda scenario, text: since(scenario, name, settled=True, days=text),
            did=f"{name}: since when",
        )
        return
    Input(
        bench,
        "On day",
        f"{group.joins_day:g}",
        lambda scenario, text: change_fish(scenario, name, joins_day=plain(text)),
        did=f"{name}: another day",
    )
    Input(
        bench,
        "At",
        "" if group.joins_at_h is None else format_clock(group.joins_at_h),
        lambda scenario, text: change_fish(scenario, name, joins_at_h=text.strip() or None),
        did=f"{name}: another time of day",
        example="when the light comes on",
    )


def since(scenario: Scenario, name: str, *, settled: bool, days: str | None = None) -> Scenario:
    """Return a tank in which a group has lived before day 0, or is put in.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the group.
    settled
        Whether it has lived there before.
    days
        How many days, as typed; None for as many as it had, or a hundred.

    Raises
    ------
    Refused
        If that is no number of days.
    """
    from sim.care import Established
    from sim.errors import Problem, Refused
    from viz.app.editing.changing import remade

    group = next(g for g in scenario.fish if g.name == name)
    if not settled:
        return change_fish(scenario, name, established=None)
    past = group.established or Established(since_day=-100.0)
    if days is not None:
        try:
            number = float(days.lower().removesuffix("days").strip())
        except ValueError:
            raise Refused(
                Problem("", f'got "{days[:40]}"; expected a number of days. Correct it.')
            ) from None
        past = remade(past, since_day=-number)
    return change_fish(
        scenario, name, established=past, joins_day=0.0, joins_at_h=None, joins_place=None
    )
