"""The species as a person reads them: a table of all, and a card with every number and source."""

from __future__ import annotations

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from sim.species import Species, load_species
from sim.units import System, format_both, format_both_degrees, format_length

LAYERS = ("floor", "middle", "surface")
SITES = {
    "cave": "cave",
    "pit": "pit in sand",
    "surface": "flat stone",
    "none": "not played",
}
# upper end of the aggression multiplier, and what a keeper would call such a fish
TEMPERS = (
    (0.06, "harmless"),
    (0.25, "peaceful"),
    (0.55, "mild"),
    (0.85, "quarrelsome"),
    (1.25, "fierce"),
    (float("inf"), "very fierce"),
)
# card: heading, then the field, what it is, and its unit; lengths are shown both ways
_ROWS: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...] = (
    (
        "Size",
        (
            ("adult_male_m", "full-grown male", "length"),
            ("adult_female_m", "full-grown female", "length"),
            ("maturity_m", "mature from", "length"),
            ("weight_a", "weight: a in a x (length in cm)^b", "g"),
            ("weight_b", "weight: b", ""),
            ("depth_ratio", "body depth", "of its length"),
            ("width_ratio", "body width", "of its length"),
            ("gape_ratio", "swallows a body as deep as", "of its length"),
            ("growth_male_per_y", "growth of a male toward that length", "1/year"),
            ("growth_female_per_y", "growth of a female", "1/year"),
        ),
    ),
    (
        "Where and when",
        (
            ("layer", "lives mostly at the", "layer"),
            ("layer_share", "time at floor, middle, surface", "shares"),
            ("day", "active by day", "of 1"),
            ("dusk", "active at dusk", "of 1"),
            ("night", "active at night", "of 1"),
            ("shoaling", "keeps to its shoal", "of 1"),
            ("temperature_low_c", "coolest water", "temperature"),
            ("temperature_high_c", "warmest water", "temperature"),
            ("warmth", "temper in warmer water", "word"),
        ),
    ),
    (
        "Temper",
        (
            ("aggression", "attacks, against a convict's 1", "times"),
            ("aggression_sd", "spread of that among fish (sd of its logarithm)", ""),
            ("boldness", "boldness", "of 1"),
            ("boldness_sd", "spread of that among fish (sd)", ""),
            ("armour", "share of a bite's harm kept off", ""),
            ("territorial", "holds ground of its own", "flag"),
        ),
    ),
    (
        "Breeding",
        (
            ("site", "spawns in or at", "site"),
            ("digs", "digs", "flag"),
            ("eggs_days", "eggs", "days"),
            ("wrigglers_days", "wrigglers", "days"),
            ("fry_days", "guarded fry", "days"),
            ("interval_days", "from spawning to spawning", "days"),
            ("clutch", "eggs in a spawning", "eggs"),
            ("clutch_length_m", "of a female of", "length"),
            ("fry", "fry that reach independence", "fish"),
        ),
    ),
)
SHOWN = tuple(name for _, rows in _ROWS for name, _, _ in rows)


def temper_words(species: Species) -> str:
    """Return the temper in a keeper's words, from the aggression multiplier alone.

    Parameters
    ----------
    species : the species.
    """
    return next(words for upper, words in TEMPERS if species.aggression < upper)


def species_table() -> Table:
    """Return one row for each species: names, size, layer, temper, where it spawns."""
    table = Table(
        box=box.SIMPLE_HEAD,
        caption="Sizes are total lengths of full-grown fish, male / female. Temper rests on an "
        "assumed number. `holdwater species NAME` shows one fish with its sources.",
        caption_justify="left",
    )
    table.add_column("fish", overflow="fold")
    table.add_column("scientific name", style="italic", overflow="fold")
    for heading in ("size, in", "size, cm"):
        table.add_column(heading, justify="right", no_wrap=True)
    for heading in ("layer", "temper", "spawns in or at"):
        table.add_column(heading, overflow="fold")
    for one in load_species().values():
        table.add_row(
            one.names[0],
            one.key,
            f"{_bare(one.adult_male_m, 'us')} / {_bare(one.adult_female_m, 'us')}",
            f"{_bare(one.adult_male_m, 'metric')} / {_bare(one.adult_female_m, 'metric')}",
            LAYERS[one.layer],
            temper_words(one),
            SITES[one.site],
        )
    return table


def species_card(species: Species) -> RenderableType:
    """Return everything known of one species: each value, its unit, and where it comes from.

    Parameters
    ----------
    species : the species.
    """
    parts: list[RenderableType] = [
        Text.assemble((species.names[0], "bold"), "  ", (species.key, "italic")),
    ]
    if species.names[1:]:
        parts.append(Text("also sold as " + ", ".join(species.names[1:])))
    if species.synonyms:
        parts.append(Text("older names: " + ", ".join(species.synonyms)))
    parts.append(
        Text(
            f"{species.size_class} {_kind(species)}, {species.shape} body, {species.colour}; "
            f"{temper_words(species)}"
        )
    )
    for heading, rows in _ROWS:
        table = Table(box=box.SIMPLE_HEAD, expand=True, padding=(0, 1))
        table.add_column(heading, ratio=3)
        table.add_column("value", ratio=2, overflow="fold")
        table.add_column("source", ratio=5)
        for name, words, unit in rows:
            # a source is text, not markup: square brackets in it must stay
            source = Text(species.sources[name].replace("`", ""))
            table.add_row(words, _value_text(getattr(species, name), unit), source)
        parts.append(table)
    parts.append(Text("A name with a year is an entry of docs/references.bib.", style="dim"))
    return Group(*parts)


def _bare(length_m: float, system: System) -> str:
    """Return a length without its unit, which stands in the heading."""
    return format_length(length_m, system=system).split()[0]


def _kind(species: Species) -> str:
    return "shoaling fish" if species.kind == "shoaling" else species.kind


def _value_text(value: float | int | str | tuple[float, ...], unit: str) -> str:
    if unit == "flag":
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(f"{part:.0%}" for part in value)
    if isinstance(value, str):
        return SITES.get(value, value)
    if unit == "length":
        return format_both(value)
    if unit == "layer":
        return LAYERS[int(value)]
    if unit == "temperature":
        return format_both_degrees(value)
    return f"{value:g} {unit}".strip()
