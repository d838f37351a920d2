"""The keeper's sums in sentences, each with the place of the numbers it stands on."""

from __future__ import annotations

from collections.abc import Sequence

from sim.sums.tank import Moment, TankSums
from sim.units import (
    format_altitude,
    format_both,
    format_both_degrees,
    format_load,
    format_mass,
    format_volume,
)
from viz.phrases import LETTERS, Said, rounded, say
from viz.sums_results import SumsResults, UsedNumber

ALIKE = 0.10  # of the food, assumed: fish that come to eat so little more are not told apart


def sums_in_words(results: SumsResults) -> list[Said]:
    """Return what the sums say, tank beside tank; what is the same for several is said once.

    Parameters
    ----------
    results
        What was reckoned.

    Returns
    -------
    list of Said
        In the order they are to be read.
    """
    said: list[Said] = []
    tanks = range(len(results.tanks))
    for sentence in (_weight, _engineer, _water, _food, _harm, _until, _oxygen):
        said += _once(results, [[sentence(results, number)] for number in tanks])
    return said + _once(results, [_nitrate(results, number) for number in tanks])


def _once(results: SumsResults, by_tank: Sequence[Sequence[Said]]) -> list[Said]:
    """Put the letters of the tanks before sentences, and join those that say the same."""
    letters: dict[str, str] = {}
    sources: dict[str, tuple[str, ...]] = {}
    for letter, sentences in zip(LETTERS, by_tank, strict=False):
        for one in sentences:
            letters[one.words] = ", ".join(filter(None, (letters.get(one.words, ""), letter)))
            sources[one.words] = tuple(dict.fromkeys(sources.get(one.words, ()) + one.sources))
    alone = len(results.tanks) == 1
    return [
        say("" if alone else f"{letters[words]}: ", words, *sources[words]) for words in letters
    ]


def moments_told(sums: TankSums) -> tuple[int, ...]:
    """Return which moments are told apart: the first, and those at which clearly more is eaten.

    Parameters
    ----------
    sums
        Of one tank.
    """
    told = [0]
    for index, moment in enumerate(sums.moments):
        if moment.food_g >= (1.0 + ALIKE) * sums.moments[told[-1]].food_g:
            told.append(index)
    return tuple(told)


def both(us: str, metric: str) -> str:
    """Return a quantity in a keeper's units and in metric: "970 lb (440 kg)".

    Parameters
    ----------
    us, metric
        The same quantity, written twice.
    """
    return f"{us} ({metric})"


def mass_words(mass_kg: float) -> str:
    """Return a mass both ways.

    Parameters
    ----------
    mass_kg
        kg.
    """
    return both(format_mass(mass_kg), format_mass(mass_kg, system="metric"))


def litres(volume_l: float) -> str:
    """Return a volume both ways.

    Parameters
    ----------
    volume_l
        L.
    """
    return both(format_volume(volume_l / 1000.0), format_volume(volume_l / 1000.0, system="metric"))


def load_words(load_kpa: float) -> str:
    """Return a load on the floor both ways.

    Parameters
    ----------
    load_kpa
        kPa.
    """
    return both(format_load(load_kpa), format_load(load_kpa, system="metric"))


def number_words(one: UsedNumber) -> str:
    """Return a number that a scenario does not say, with its unit as a keeper says it.

    Parameters
    ----------
    one
        The number.
    """
    value = one.value
    if one.option == "--altitude":
        return both(format_altitude(value), format_altitude(value, system="metric"))
    if one.unit == "m":
        return format_both(value)
    if one.unit.startswith("share"):
        return f"{_percent(value)} %"
    if one.unit == "d":
        return _days(value)
    if one.unit == "kPa":
        return load_words(value)
    if one.unit == "pH":
        return f"{value:g}"
    return f"{value:g} {one.unit}"


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f}" if share >= 0.0995 else f"{100.0 * share:.2g}"


def _days(days: float) -> str:
    if days < 2.0:
        return f"{rounded(24.0 * days)} hours"
    return f"{rounded(days)} days"


def _weight(results: SumsResults, number: int) -> Said:
    """How much it weighs, against the first tank and against what rooms are designed for."""
    sums = results.tanks[number].sums
    more = ""
    if number > 0:
        gap = sums.total_kg - results.tanks[0].sums.total_kg
        more = (
            f", {mass_words(abs(gap))} {'more' if gap > 0 else 'less'} than A"
            if abs(gap) >= 0.5
            else ", as much as A"
        )
    return Said(
        f"filled, it all weighs about {mass_words(sums.total_kg)}{more}. Under its footprint that "
        f"is {load_words(sums.load_kpa)}, {rounded(sums.room_times)} times what the rooms of "
        "dwellings are commonly designed for.",
        (
            f"/tanks/{number}/sums/total_kg",
            f"/tanks/{number}/sums/load_kpa",
            f"/tanks/{number}/sums/room_times",
            "/numbers/room_load",
        ),
    )


def _engineer(results: SumsResults, number: int) -> Said:
    usual = load_words(results.numbers["room_load"].value)
    return Said(
        f"that design load, {usual}, is meant for the whole room, and a tank stands in one place "
        "of it: whether the floor bears it there, only a structural engineer can say.",
        ("/numbers/room_load",),
    )


def _water(results: SumsResults, number: int) -> Said:
    sums = results.tanks[number].sums
    less = [
        f"{litres(taken)} for the {what}"
        for taken, what in ((sums.grains_l, "sand or gravel"), (sums.pieces_l, "pieces"))
        if taken >= 0.5
    ]
    why = f", less {' and '.join(less)}" if less else ""
    return Said(
        f"it holds {litres(sums.water_l)} of water: {litres(sums.brim_l)} up to the surface{why}.",
        (
            f"/tanks/{number}/sums/water_l",
            f"/tanks/{number}/sums/brim_l",
            f"/tanks/{number}/sums/grains_l",
            f"/tanks/{number}/sums/pieces_l",
        ),
    )


def _food(results: SumsResults, number: int) -> Said:
    sums = results.tanks[number].sums
    now = sums.moments[0]
    eaten = "are fed" if sums.fed_by == "scenario" else "need"
    return Said(
        f"the fish weigh {mass_words(now.fish_g / 1000.0)} together and {eaten} "
        f"{rounded(now.food_g)} g of food a day, of which they make "
        f"{rounded(1000.0 * now.ammonia_g)} mg of ammonia (as nitrogen).",
        (
            f"/tanks/{number}/sums/moments/0/fish_g",
            f"/tanks/{number}/sums/moments/0/food_g",
            f"/tanks/{number}/sums/moments/0/ammonia_g",
        ),
    )


def _harm(results: SumsResults, number: int) -> Said:
    sums = results.tanks[number].sums
    ph = results.numbers["ph"].value
    return Said(
        f"at pH {ph:g} and {format_both_degrees(sums.temperature_c)}, "
        f"{_percent(sums.unionised_share)} % of all ammonia is of the harmful, un-ionised kind, "
        f"and fish are harmed from {rounded(sums.harm_total)} mg/L of it in all (as nitrogen) on; "
        f"at pH {ph + 1.0:g} from {rounded(sums.harm_total_higher)} mg/L.",
        (
            f"/tanks/{number}/sums/unionised_share",
            f"/tanks/{number}/sums/harm_total",
            f"/tanks/{number}/sums/harm_total_higher",
            "/numbers/ph",
            "/numbers/ammonia_harm",
        ),
    )


def _until(results: SumsResults, number: int) -> Said:
    now = results.tanks[number].sums.moments[0]
    return Said(
        f"with a filter that is not ripe, so much has gathered {_days(now.hours_to_harm / 24.0)} "
        "after the fish move in, if none of the water is changed.",
        (f"/tanks/{number}/sums/moments/0/hours_to_harm",),
    )


def _oxygen(results: SumsResults, number: int) -> Said:
    sums = results.tanks[number].sums
    height = results.numbers["altitude"]
    where = "at sea level" if height.value == 0.0 else f"{number_words(height)} above the sea"
    return Said(
        f"saturated with air, the water holds {sums.oxygen_mg_l:.1f} mg/L of oxygen at "
        f"{format_both_degrees(sums.temperature_c)}, {where}; bubbles bring it up to that and "
        "no further.",
        (f"/tanks/{number}/sums/oxygen_mg_l", "/numbers/altitude", "/numbers/salinity"),
    )


def _nitrate(results: SumsResults, number: int) -> list[Said]:
    """Where nitrate settles, and what must be changed, for the fish now and as they will be."""
    sums = results.tanks[number].sums
    return [
        Said(
            _nitrate_words(results, sums.moments[index], first=index == 0),
            (
                f"/tanks/{number}/sums/moments/{index}/nitrate_before",
                f"/tanks/{number}/sums/moments/{index}/change_needed",
                f"/tanks/{number}/sums/moments/{index}/longest_days",
                "/numbers/change_share",
                "/numbers/change_days",
                "/numbers/nitrate_limit",
                "/numbers/tap_nitrate",
            ),
        )
        for index in moments_told(sums)
    ]


def _nitrate_words(results: SumsResults, moment: Moment, *, first: bool) -> str:
    numbers = results.numbers
    share = f"{_percent(numbers['change_share'].value)} %"
    every = _days(numbers["change_days"].value)
    limit = numbers["nitrate_limit"].value
    who = "" if first else f"{when_words(moment)} they eat {rounded(moment.food_g)} g a day; "
    kept = moment.nitrate_before <= limit
    start = (
        f"{who}with {share} of the water changed every {every}, nitrate settles at "
        f"{rounded(moment.nitrate_before)} mg/L before a change and "
        f"{rounded(moment.nitrate_after)} after it, {'within' if kept else 'over'} the limit of "
        f"{limit:g}. "
    )
    if moment.longest_days is None:
        return start + "The water that comes in is at the limit already: no change can keep it."
    days = _days(moment.longest_days)
    if moment.change_needed is None:
        return (
            start + f"Even all of it every {every} would not keep it; {share} every {days} would."
        )
    needed = f"{_percent(moment.change_needed)} % every {every}"
    return start + f"The limit is kept by {needed}, or by {share} every {days}."


def when_words(moment: Moment) -> str:
    """Return when a moment is: "now", "after 365 days" or "full-grown".

    Parameters
    ----------
    moment
        The fish at one time.
    """
    return f"after {moment.day:g} days" if moment.name == "at the end" else moment.name
