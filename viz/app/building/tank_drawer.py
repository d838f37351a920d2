"""Glass and water: the size of the tank by name or by its sides, its floor, warmth and light."""

from __future__ import annotations

import solara

from sim.scenario import Scenario
from sim.units import format_clock, format_length, format_temperature
from viz.app.building.bench import Bench
from viz.app.building.parts import Input, Messages, plain
from viz.app.building.sums_section import KeeperSums
from viz.app.editing.glass import When, resize_tank, set_water, trade_name, trade_sizes
from viz.app.elements import Choice, Layer, tag
from viz.checked import footprint

SUBSTRATES = (("sand", "sand"), ("gravel", "gravel"), ("bare", "bare glass"))
WHEN: tuple[tuple[When, str], ...] = (
    ("stretch", "are spread with it"),
    ("keep", "stay where they are"),
)


@solara.component
def TankDrawer(bench: Bench, now: object) -> None:
    """The size of the tank, its floor, its water and its light.

    Parameters
    ----------
    bench
        What is worked on.
    now
        `Bench.now`, so that it is rendered again when that has changed.
    """
    when, set_when = solara.use_state("stretch")
    tank = bench.scenario.tank
    pieces: When = "keep" if when == "keep" else "stretch"
    name = trade_name(tank) or ""
    tag("p", f"{footprint(bench.scenario)}.", classes="hw-measures")
    Messages(m for m in bench.messages if m.about.startswith("tank"))
    Choice("In another size the pieces", WHEN, when, set_when)
    with Layer("div", classes="hw-form"):
        own = [] if name else [("", "of its own")]
        sizes = [
            (size.name, f"{size.name}, {format_length(size.length_m)} long")
            for size in trade_sizes()
        ]
        Input(
            bench,
            "Size by name",
            name,
            lambda scenario, text: resize_tank(scenario, size=text, pieces=pieces),
            did="another tank",
            options=[*own, *sizes],
        )
        for side, words in (("length", "Long"), ("width", "Front to back"), ("height", "High")):

            def change(scenario: Scenario, text: str, side: str = side) -> Scenario:
                return resize_tank(
                    scenario,
                    length=text if side == "length" else None,
                    width=text if side == "width" else None,
                    height=text if side == "height" else None,
                    pieces=pieces,
                )

            value = format_length(getattr(tank, f"{side}_m"))
            Input(bench, words, value, change, did="another size")
    tag("h3", "Floor, water and light")
    with Layer("div", classes="hw-form"):
        Input(
            bench,
            "Floor",
            tank.substrate,
            lambda scenario, text: set_water(scenario, substrate=text),
            did="another floor",
            options=SUBSTRATES,
        )
        Input(
            bench,
            "Water",
            format_temperature(tank.temperature_c),
            lambda scenario, text: set_water(scenario, temperature_c=text),
            did="another temperature",
        )
        Input(
            bench,
            "Light from",
            format_clock(tank.lights_on_h),
            lambda scenario, text: set_water(scenario, lights_on_h=text),
            did="light at another time",
        )
        Input(
            bench,
            "Hours of light",
            f"{tank.light_hours:g}",
            lambda scenario, text: set_water(scenario, light_hours=plain(text)),
            did="another length of day",
        )
    KeeperSums(bench, now)
