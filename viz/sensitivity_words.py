"""Sensitivity in words: the page, each sentence computed from the results."""

from __future__ import annotations

import math
import re

from sim.figures import MEASURES
from sim.parameters import Parameter, load_parameters
from sim.sensitivity.emulator import LEAST_R2
from sim.sensitivity.factors import HELD, factor_of, parts
from sim.sensitivity.outcomes import LITTLE, OUTCOMES, Outcome
from sim.unmeasured import accepted_sets, drawn_from_ranges
from viz.evidence_words import number
from viz.phrases import listed
from viz.sensitivity_results import Results, effects

SHORT = {
    "serious": "serious injury",
    "death": "death",
    "dose": "injury dose",
    "worst_injury": "worst injury",
    "hidden_h_per_day": "hours hidden",
    "open_share": "open ground",
}
TITLES = {"quiet": "A pair that does not breed", "brood": "A pair that spawns on day 10"}
SHOWN = 8  # numbers in the table of an outcome
LED_BY = 3  # numbers named in a sentence
LEAST_PATHS, LEAST_CLOUD = 6, 100  # below it is a trial, assumed

# Numbers as a keeper would say them, where they may lead.
PLAIN = {
    "attack_rate": "how readily fish attack",
    "submission": "how far a beaten fish is let alone",
    "avoid_half_life": "how long a chased fish keeps off its bully",
    "avoid_gain": "how fast it learns to",
    "bite_rate": "how often bites land",
    "bite_reach": "from how near they land",
    "wound_chance": "how many of them wound",
    "harm_per_bite": "how much a bite harms",
    "submit_rate": "how soon a caught fish's submission ends an attack",
    "worn_out": "how tired it must be to submit",
    "slip_time": "how soon a fish that is bitten in a cave gets out",
    "fear_half_life": "how long fear lasts",
    "fear_of_chase": "how much a chase frightens",
    "fear_of_bite": "how much a bite frightens",
    "hide_time": "how soon a frightened fish hides",
    "emerge_time": "how soon it comes out again",
    "day_rest_time": "how long fish rest by day",
    "reach_calm": "how much ground an owner claims",
    "reach_breeding": "how much ground a pair claims",
    "calm_tether": "how far an owner strays from its site",
    "cave_charm": "how much fish like a site with a cave",
    "shade": "how far a claim reaches out of sight",
    "layer_one": "how much of a claim holds a layer higher or lower",
    "reach_own_kind": "how far fish of its own kind are kept off",
    "courting_days": "how long a pair courts",
}

HEAD = """\
# Sensitivity

Made by `python -m viz.sensitivity STUDY.jsonl --write docs`; every figure and sentence below the
method is computed. Which of the numbers that nobody has measured decide the answer?

## How

- **What is moved**: every number of [parameters.md](parameters.md) that is assumed, whole or in
  part, over its range, evenly in the logarithm where the range spans a factor of three or more.
  The ranges are what we think possible, not what a fit to the patterns of
  [evidence.md](evidence.md) would leave of them: a number that the patterns pin down matters less
  than here. Harm enters through the harm of a bite alone, moved over the range batches draw it
  from; held are {held}; the healing times and the threshold of a serious injury are no assumption
  of ours. Numbers of one species, its temper and its body, are moved one at a time in
  [species-numbers.md](species-numbers.md); [one-by-one.md](one-by-one.md) plays more runs of those
  that lead, and moves those that change nothing here in tanks that use them.
- **What is asked**: the four-foot and the six-foot tank of the main comparison with the same fish.
  Outcomes are of the four-foot tank, and six feet less four. The injury dose and the worst injury
  are taken as logarithms ({little} added), so an effect on them is a factor.
- **Taking part**: each number is moved to its farther end from four points, one run each in the
  four-foot tank. What changes not one digit of any is left out.
- **Screening** (Morris1991): paths over a grid of four levels that move one number at a time. μ* is
  the mean size of an effect of going through the whole range, σ its spread (it differs with the
  other numbers, with the fish, and by luck). Both ends of a step hold the same fish; each path has
  its own. Two runs of the same fish tell luck: *by luck* is the μ* that luck alone would show. The
  rank is by the effect without luck; *no* means that it cannot be told from luck, or was seen in
  fewer than three paths.
- **Shares** (Sobol2001, Saltelli2010): the numbers that matter most are moved all at once, the
  same fish in every point, the rest at their defaults. S is the share of the variance between
  points that a number explains alone, T with all it does together with others. They are computed
  on an emulator (a Gaussian process on a quadratic trend) of the mean over runs; R² is on points
  held out, and where it is below {r2:g} of what luck leaves no share is given. Brackets are 95 %
  by dealing out the residuals anew; they do not hold what the emulator cannot follow.
"""


def source_word(row: Parameter) -> str:
    """Return in a word or two what a number rests on."""
    if row.source.startswith("assumed"):
        word = "assumed"
    elif row.source.startswith("from memory"):
        word = "from memory"
    else:
        word = "in part assumed"
    key = re.search(r"(direction|order):? (\w+\d{4}\w?)\b", row.source)
    return f"{word}, {key[1]} {key[2]}" if key else word


def range_words(name: str) -> str:
    """Return the range that a number is moved over, with its unit."""
    factor, row = factor_of(load_parameters()[name]), load_parameters()[name]
    scale = ", log" if factor.in_log else ""
    return f"{factor.low:g} to {factor.high:g} {row.unit}{scale}"


def outcome_of(name: str) -> Outcome:
    """Return the outcome of a name."""
    return next(one for one in OUTCOMES if one.name == name)


def outcome_title(outcome: Outcome) -> str:
    """Return an outcome as a heading: "six feet less four: hours hidden"."""
    short = SHORT[outcome.raw]
    return f"six feet less four: {short}" if outcome.differs else short


def amount(outcome: Outcome, value: float) -> str:
    """Return the size of an effect in the unit of its outcome."""
    if outcome.in_log:
        return f"×{number(math.exp(value))}"
    if outcome.unit == "share of runs":
        return f"{number(100.0 * value)} in 100 runs"
    if outcome.unit == "share of floor":
        return f"{number(100.0 * value)} % of floor"
    return f"{number(value)} {outcome.unit}"


def ranked(kind: Results, outcome: Outcome) -> list[Results]:
    """Return the effects on an outcome that are told from luck, the greatest first."""
    told = [one for one in effects(kind, outcome.name) if one["told"]]
    return sorted(told, key=lambda one: -one["clear"])


def way(effect: Results) -> str:
    """Return which way a number works: more of it gives more, less, or now this, now that."""
    if abs(effect["mean"]) < 0.5 * effect["size"]:
        return "either way"
    return "more" if effect["mean"] > 0.0 else "less"


def names_in_words(names: list[str]) -> str:
    """Return names in code style, as a list in a sentence."""
    return listed([f"`{name}`" for name in names])


def leading(kind: Results, outcome: Outcome) -> str:
    """Return the sentence on what an outcome hangs on."""
    told = ranked(kind, outcome)
    title = f"*{outcome_title(outcome)[:1].upper()}{outcome_title(outcome)[1:]}*"
    shares = shares_of(kind, outcome)
    if not told and shares:
        best = sorted(shares, key=lambda name: -shares[name][0])[:LED_BY]
        said = [f"`{name}` alone explains {_percent(shares[name])}" for name in best]
        return (
            f"{title}: one at a time no number can be told from luck; moved together, "
            f"{', '.join(said)}."
        )
    if not told:
        return f"{title}: no number can be told from luck, so what it hangs on is not resolved."
    said = []
    for one in told[:LED_BY]:
        share = f"{100.0 * one['share']:.0f} %"
        said.append(f"`{one['name']}` ({share}, {way(one)})")
    text = f"{title} hangs on {', '.join(said)}"
    rest = len(told) - len(said)
    text += f", and on {rest} more that can be told from luck." if rest else "."
    if shares:
        name = max(shares, key=lambda one: shares[one][0])
        alone = sum(share[0] for share in shares.values())
        text += (
            f" Moved together, `{name}` alone explains {_percent(shares[name])}, and all "
            f"{len(shares)} without their interplay {min(100.0 * alone, 100.0):.0f} %."
        )
    return text


def shares_of(kind: Results, outcome: Outcome) -> dict[str, list[float]]:
    """Return the shares of the variance that numbers explain alone; none where they are declined.

    Parameters
    ----------
    kind
        Of one pair of tanks.
    outcome
        One that was asked for.

    Returns
    -------
    dict
        Number to share, and the ends of its interval.
    """
    found = (kind["sobol"] or {}).get("outcomes", {}).get(outcome.name)
    return dict(found["first"]) if found and found["first"] else {}


def leaders(kind: Results, name: str) -> list[str]:
    """Return up to three numbers that an outcome hangs on most, by share, else by rank."""
    outcome = outcome_of(name)
    shares = shares_of(kind, outcome)
    if shares:
        held = [one for one in shares if shares[one][1] > 0.0]
        return sorted(held, key=lambda one: -shares[one][0])[:LED_BY]
    return [one["name"] for one in ranked(kind, outcome)[:LED_BY]]


def in_short(results: Results) -> list[str]:
    """Return the paragraph that heads the page: what the advice depends on, in a keeper's words."""
    lines = ["## In short", ""]
    for key, kind in results.items():
        hurt, hide = (plainly(leaders(kind, name)) for name in ("dose", "hidden_h_per_day"))
        less, alike, more = kind["orders"]["dose_difference"]
        total = less + alike + more
        resolved = plainly(leaders(kind, "dose_difference"))
        _, low, high = kind["spans"]["serious"]
        lines += [
            f"**{TITLES[key]}.** How badly fish are hurt depends most on {hurt}; how long they "
            f"hide, on {hide}. Nobody has measured these: over their ranges a serious injury comes "
            f"in {100 * low:.0f} to {100 * high:.0f} of 100 runs of the four-foot tank. That six "
            f"feet are better than four depends on them far less: the longer tank showed the "
            f"smaller dose of injury in {less} of {total} points. "
            + (
                f"By how much depends most on {resolved}."
                if resolved
                else "What decides how much better it is, these runs do not tell from luck; more "
                "runs of fewer numbers do, a little: [one number at a time](one-by-one.md)."
            ),
            "",
        ]
    return lines


def plainly(names: list[str]) -> str:
    """Return numbers as a keeper would say them, as a list in a sentence; empty for none."""
    return listed([f"{PLAIN[one]} (`{one}`)" if one in PLAIN else f"`{one}`" for one in names])


def _percent(share: list[float]) -> str:
    value, low, high = (100.0 * one for one in share)
    return f"{value:.0f} % ({low:.0f} to {high:.0f})"


def matters_nowhere(kind: Results) -> list[str]:
    """Return the numbers that took part and are told from luck for no outcome."""
    told = {
        one["name"] for outcome in OUTCOMES for one in effects(kind, outcome.name) if one["told"]
    }
    return [name for name in kind["morris"]["names"] if name not in told]


def which_decide(kind: Results) -> list[str]:
    """Return the numbers that lead in some outcome, those that lead in most first."""
    count: dict[str, int] = {}
    for outcome in OUTCOMES:
        for one in ranked(kind, outcome)[:1]:
            count[one["name"]] = count.get(one["name"], 0) + 1
    return sorted(count, key=lambda name: -count[name])


def order_words(kind: Results) -> list[str]:
    """Return how firm the order of the two tanks is over all points."""
    words = {
        "dose_difference": "a smaller injury dose",
        "hidden_h_per_day_difference": "fewer hours hidden",
        "open_share_difference": "less open ground",
    }
    sentences = []
    for name, (less, alike, more) in kind["orders"].items():
        total = less + alike + more
        middle, low, high = kind["spans"][name]
        outcome = outcome_of(name)
        if outcome.in_log:
            span = f"six feet over four {number(middle)} ({number(low)} to {number(high)})"
        else:
            scale = 100.0 if outcome.unit.startswith("share") else 1.0
            unit = "% of the floor" if outcome.unit == "share of floor" else outcome.unit
            numbers = [number(scale * one) for one in (middle, low, high)]
            span = f"six feet less four {numbers[0]} {unit} ({numbers[1]} to {numbers[2]})"
        sentences.append(
            f"The six-foot tank showed {words[name]} in {less} of {total} points"
            f"{f', {alike} alike' if alike else ''}; {span}."
        )
    middle, low, high = kind["spans"]["serious"]
    sentences.append(
        f"A serious injury in the four-foot tank: in {100 * middle:.0f} of 100 runs at the middle "
        f"point, {100 * low:.0f} to {100 * high:.0f} over nine points in ten."
    )
    return sentences


def summary(kind: Results) -> list[str]:
    """Return the paragraph of a pair of tanks: what decides, what does not."""
    screen, cloud = kind["morris"], kind["sobol"]
    lines = []
    few = screen["paths"] < LEAST_PATHS or cloud is None or cloud["points"] < LEAST_CLOUD
    if few:
        lines += [
            f"**A trial, not yet a study**: {screen['paths']} paths where {LEAST_PATHS} or more "
            f"are wanted, {cloud['points'] if cloud else 0} points where {LEAST_CLOUD} or more "
            "are. What follows shows the form; nothing should be read out of it.",
            "",
        ]
    moved, idle = len(screen["names"]), len(kind["idle"])
    lines += [
        f"{moved + idle} assumed numbers; {idle} changed not one digit of {kind['trials']} trial "
        f"runs. The other {moved} were screened by {screen['paths']} paths, "
        f"{screen['runs']} runs a point in each tank, {number(kind['days'])} days."
        + (
            f" {len(cloud['names'])} were then moved together over {cloud['points']} points, "
            f"{cloud['runs']} runs each."
            if cloud
            else ""
        )
        + f" Rules and numbers: `{kind['model']}`.",
        "",
    ]
    lead = which_decide(kind)
    if lead:
        lines.append(f"What decides: {names_in_words(lead)} lead in one outcome or more.")
    for name in drawn_from_ranges():
        if name not in screen["names"]:
            continue
        best = _best_place(kind, name)
        if best is None:
            lines.append(f"`{name}`, which batches draw, is told from luck for no outcome.")
        else:
            rank, outcome = best
            lines.append(
                f"`{name}`, which batches draw, ranks {rank} for {outcome_title(outcome)}, its "
                "best."
            )
    fitted = [name for name in accepted_sets()[0] if name in screen["names"]]
    told = [name for name in fitted if _best_place(kind, name) is not None]
    if fitted:
        lines.append(
            f"Of the {len(fitted)} numbers here that calibration moved and batches go through in "
            "kept sets, "
            + (
                f"{names_in_words(told)} can be told from luck."
                if told
                else "none can be told from luck."
            )
        )
    nowhere = matters_nowhere(kind)
    if nowhere:
        lines.append(
            f"{len(nowhere)} of the {moved} are told from luck for no outcome: "
            f"{names_in_words(nowhere)}."
        )
    lines += ["", *(f"- {leading(kind, outcome)}" for outcome in OUTCOMES), ""]
    where = (
        f"Over {cloud['points']} points of the numbers that matter most"
        if kind["over"] == "sobol"
        else f"Over the {screen['points']} points of the paths"
    )
    lines += [f"{where} (middle, and nine points in ten):", ""]
    lines += [f"- {sentence}" for sentence in order_words(kind)]
    return lines


def _best_place(kind: Results, name: str) -> tuple[int, Outcome] | None:
    places = [
        (rank, outcome)
        for outcome in OUTCOMES
        for rank, one in enumerate(ranked(kind, outcome), start=1)
        if one["name"] == name
    ]
    return min(places, key=lambda place: place[0]) if places else None


def outcome_section(kind: Results, outcome: Outcome) -> list[str]:
    """Return the table of one outcome."""
    title = outcome_title(outcome)
    luck = max((one["luck"] for one in effects(kind, outcome.name)), default=0.0)
    lines = [f"#### {title[:1].upper()}{title[1:]}", ""]
    told = ranked(kind, outcome)
    text = f"{MEASURES[outcome.raw].text}. By luck alone: {amount(outcome, luck)}."
    lines.append(text[:1].upper() + text[1:])
    found = (kind["sobol"] or {}).get("outcomes", {}).get(outcome.name)
    if found:
        lines.append(emulator_words(found))
    lines.append("")
    first, total = (found or {}).get("first", {}), (found or {}).get("total", {})
    if not told:
        return lines + shares_table(first, total)
    heads = ["rank", "number", "rests on", "range", "μ*", "σ", "share", "more of it"]
    heads += ["S", "T"] if first else []
    lines += ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    for rank, one in enumerate(told[:SHOWN], start=1):
        row = load_parameters()[one["name"]]
        cells = [
            str(rank),
            f"`{one['name']}`",
            source_word(row),
            range_words(one["name"]),
            amount(outcome, one["size"]),
            amount(outcome, one["spread"]),
            f"{100 * one['share']:.0f} %",
            way(one),
        ]
        if first:
            cells += [_limits(first.get(one["name"])), _limits(total.get(one["name"]))]
        lines.append("| " + " | ".join(cells) + " |")
    lines.append("")
    return lines


def shares_table(first: dict[str, list[float]], total: dict[str, list[float]]) -> list[str]:
    """Return the shares of numbers that matter only moved together; nothing where there are none.

    Parameters
    ----------
    first, total
        Number to what it explains alone, and with all it does together with others.
    """
    if not first:
        return []
    heads = ["number", "rests on", "range", "S", "T"]
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    for name in sorted(first, key=lambda one: -first[one][0])[:SHOWN]:
        cells = [f"`{name}`", source_word(load_parameters()[name]), range_words(name)]
        cells += [_limits(first[name]), _limits(total.get(name))]
        lines.append("| " + " | ".join(cells) + " |")
    return [*lines, ""]


def emulator_words(found: Results) -> str:
    """Return how well the emulator of an outcome does, and whether shares are given."""
    if found["r2"] is None:
        return "No emulator: too few points, or all alike."
    text = f"R² {number(found['r2'])} on points held out"
    if found["clear_r2"] is None:
        return (
            f"{text}; {100 * found['luck']:.0f} % of the variance between points is luck, which "
            "leaves too little to explain: shares declined."
        )
    text += (
        f", {number(found['clear_r2'])} of what luck leaves "
        f"({100 * found['luck']:.0f} % of the variance is luck)"
    )
    return f"{text}." if found["first"] else f"{text}: below {LEAST_R2:g}, shares declined."


def _limits(share: list[float] | None) -> str:
    if share is None:
        return "-"
    return f"{share[0]:.2f} ({share[1]:.2f} to {share[2]:.2f})"


def whole_table(kind: Results) -> list[str]:
    """Return every number that was moved with its rank for each outcome."""
    heads = ["number", "part", "rests on", "range"]
    heads += [SHORT[one.raw] + (", difference" if one.differs else "") for one in OUTCOMES]
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    places: dict[str, dict[str, int]] = {
        outcome.name: {one["name"]: k for k, one in enumerate(ranked(kind, outcome), start=1)}
        for outcome in OUTCOMES
    }
    for name in kind["morris"]["names"]:
        cells = [f"`{name}`", parts()[name], source_word(load_parameters()[name])]
        cells.append(range_words(name))
        cells += [str(places[outcome.name].get(name, "no")) for outcome in OUTCOMES]
        lines.append("| " + " | ".join(cells) + " |")
    return lines


def kind_section(key: str, kind: Results) -> list[str]:
    """Return all that is said of one pair of tanks."""
    lines = [f"## {TITLES[key]}", "", *summary(kind), ""]
    lines += [
        f"![Which number decides what](figures/sensitivity-{key}.svg)",
        "",
        "Area: share of the squared effects on an outcome. Full: more of the number, more of the "
        "outcome. Ring: less. Cross: either way.",
        "",
    ]
    if kind["sobol"] and any(one["first"] for one in kind["sobol"]["outcomes"].values()):
        lines += [f"![Shares of the variance](figures/sensitivity-{key}-shares.svg)", ""]
    lines += ["### By outcome", ""]
    for outcome in OUTCOMES:
        lines += outcome_section(kind, outcome)
    lines += ["### Every number that was moved, with its rank", "", *whole_table(kind), ""]
    if kind["idle"]:
        lines += [
            "### What changed nothing in the trial runs",
            "",
            f"{names_in_words(kind['idle'])}.",
            "",
        ]
    return lines


def page(results: Results) -> str:
    """Return the whole page as Markdown, with a line break at its end."""
    held = "; ".join(f"`{name}`, since {why}" for name, why in HELD.items())
    lines = [HEAD.format(held=held, little=f"{LITTLE:g}", r2=LEAST_R2), *in_short(results)]
    for key, kind in results.items():
        lines += kind_section(key, kind)
    return "\n".join(lines).rstrip("\n") + "\n"


def screen_lines(kind: Results) -> list[str]:
    """Return the sentences on outcomes, for a terminal."""
    return [leading(kind, outcome).replace("*", "").replace("`", "") for outcome in OUTCOMES]
