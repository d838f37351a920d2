"""Change one thing: a tank beside this one, and in what exactly the two differ."""

from __future__ import annotations

import solara

from viz.app.building.bench import Bench
from viz.app.building.hands import cap
from viz.app.editing.differences import differences, told
from viz.app.editing.variants import OneThing, one_things
from viz.app.elements import Button, Layer, tag
from viz.app.session import MOST_TANKS
from viz.phrases import LETTERS


def VariantDrawer(bench: Bench) -> None:
    """Offers to change one thing, and the differences of the tanks that are open.

    Parameters
    ----------
    bench
        What is worked on.
    """
    session = bench.session
    tanks = session.tanks
    if len(tanks) > 1:
        tag("h3", "In what they differ")
        for number, tank in enumerate(tanks[1:], start=1):
            found = differences(tanks[0].scenario, tank.scenario)
            with Layer("div", classes="hw-differences"):
                tag("p", f"{LETTERS[number]}: {tank.name}", classes="hw-name")
                tag("p", told(tanks[0].scenario, tank.scenario, number=number))
                with Layer("ul", classes="hw-said"):
                    for one in found:
                        tag("li", one.words)

                def close(number: int = number) -> None:
                    session.close_tank(number)
                    bench.forget()

                Button(f"Close {LETTERS[number]}", close, kind="quiet")
    if len(tanks) < MOST_TANKS:
        Offers(bench, bench.now)
    else:
        tag("p", f"{MOST_TANKS} tanks are open, as many as can be compared.")
    refusal = bench.refusal
    if refusal is not None and refusal.about is None:
        tag("p", refusal.words, classes="hw-field-error", attributes={"role": "alert"})


@solara.component
def Offers(bench: Bench, now: object) -> None:
    """What can be changed in this tank, one thing each.

    Parameters
    ----------
    bench
        What is worked on.
    now
        `Bench.now`, so that it is rendered again when that has changed.
    """
    session = bench.session
    tag("h3", "Change one thing in this tank")
    offers = solara.use_memo(lambda: one_things(bench.scenario), [id(bench.scenario)])
    with Layer("div", classes="hw-stack"):
        for offer in offers:

            def make(offer: OneThing = offer) -> None:
                name = f"{bench.scenario.title or bench.tank.name}, {offer.words}"
                if bench.add_variant(offer.scenario, name=name[:400]):
                    session.say(f"Beside it stands the same tank, {offer.words}.")

            Button(cap(offer.words), make, kind="one-thing")

        def copy() -> None:
            name = f"{bench.scenario.title or bench.tank.name}, changed"
            if bench.add_variant(bench.scenario, name=name[:400]):
                session.say("Beside it stands the same tank. Change one thing in it.")

        Button("Something else: a copy to change by hand", copy, kind="one-thing")
