"""Parts of the forms of the bench: an input whose value goes through an edit, and messages."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import solara

from sim.scenario import Scenario
from viz.app.building.bench import Bench, Edit
from viz.app.editing.verdict import Message
from viz.app.elements import Layer, tag
from viz.app.typed import Chosen, Typed
from viz.app.using import use_session

EditOf = Callable[[str], Edit]
Change = Callable[[Scenario, str], Scenario]


def use_bench(bench: Bench) -> None:
    """Render the component again whenever something on the bench has changed.

    Parameters
    ----------
    bench
        What is worked on.
    """
    use_session(bench.session, lambda session: bench.now)


def plain(text: str) -> float | str:
    """Return a number that was typed; the text itself where it has a unit, or is none.

    Parameters
    ----------
    text
        As typed.
    """
    try:
        return float(text)
    except ValueError:
        return text


@solara.component
def Input(
    bench: Bench,
    label: str,
    value: str,
    change: Change,
    *,
    did: str,
    example: str = "",
    hint: str = "",
    options: Sequence[tuple[str, str]] = (),
) -> None:
    """An input whose value goes through an edit; what cannot be stands below it as a sentence.

    Parameters
    ----------
    bench
        What is worked on.
    label
        What is typed or chosen.
    value
        What stands in it.
    change
        Gives the tank with what was typed; raises `Refused` where it cannot be.
    did
        What is done, for undo.
    example, hint
        As in `viz.app.typed.Typed`.
    options
        To choose from, in place of typing.
    """
    wrong, set_wrong = solara.use_state(("", ""))  # the sentence, and the value it came after

    def put(text: str) -> None:
        said = bench.typed(lambda scenario: change(scenario, text), did=did)
        set_wrong((said, value))

    error = wrong[0] if wrong[1] == value else ""
    if options:
        Chosen(label, options, value, put, hint=hint, error=error)
    else:
        Typed(label, value, put, example=example, hint=hint, error=error)


def Messages(messages: Iterable[Message]) -> None:
    """Sentences of `check`, those that hinder a run first.

    Parameters
    ----------
    messages
        To be shown.
    """
    shown = tuple(messages)
    if not shown:
        return
    with Layer("ul", classes="hw-said"):
        for one in shown:
            tag(
                "li",
                tag("span", "unwise: " if one.unwise else "", classes="hw-where-inline"),
                tag("span", one.words),
                classes="hw-warning" if one.unwise else "hw-problem",
            )
