"""Sentences on a sweep: what each factor gains, and past which value no further gain is shown."""

from __future__ import annotations

from collections.abc import Sequence

from sim.figures import MEASURES, OF_FISH
from viz.checked import counted
from viz.phrases import Said, rounded
from viz.sweep_results import PastResult, StepResult, SweepResults

# what is said after an amount: "0.08 less injury received"
NOUNS = {
    "dose": "injury received",
    "serious": "in 100 runs with a serious injury",
    "death": "in 100 runs with a death",
    "hidden_h_per_day": "hours hidden a day",
    "corner_h_per_day": "hours a day in a top corner",
    "hurt_fish": "fish seriously hurt",
    "chases_per_h": "chases an hour",
    "bites_per_h": "bites an hour",
    "held_share": "hundredths of the floor defended",
    "open_share": "hundredths of the floor that nobody defends",
}


def sweep_sentences(results: SweepResults) -> list[Said]:
    """Return what a sweep says, each sentence with JSON pointers to its numbers.

    Parameters
    ----------
    results
        Of a sweep.
    """
    said: list[Said] = []
    if results.plan == "full":
        for number, past in enumerate(results.past):
            steps = [
                (k, step)
                for k, step in enumerate(results.steps)
                if (step.factor, step.outcome) == (past.factor, past.outcome)
            ]
            said.append(
                Said(
                    _past_words(past, [step for _, step in steps]),
                    (f"/past/{number}", *(f"/steps/{k}" for k, _ in steps)),
                )
            )
        return said
    for outcome in results.shown:
        mine = [(k, step) for k, step in enumerate(results.steps) if step.outcome == outcome]
        if not mine:
            said.append(
                Said(
                    f"{subject(outcome)}: too few points to part the factors. Ask for more "
                    "--points.",
                    (f"/explained/{outcome}",),
                )
            )
        for factor in dict.fromkeys(step.factor for _, step in mine):
            parts = [(k, step) for k, step in mine if step.factor == factor]
            said.append(
                Said(
                    _stretch_words(factor, [step for _, step in parts]),
                    tuple(f"/steps/{k}" for k, _ in parts),
                )
            )
    return said


def subject(outcome: str) -> str:
    """Return an outcome as the subject of a sentence: "Injury received, summed over the fish"."""
    text = MEASURES[outcome].text
    return text[:1].upper() + text[1:]


def change_words(step: StepResult) -> str:
    """Return a change with its interval: "0.08 less injury received (0.01 to 0.16 less)".

    Parameters
    ----------
    step
        Of any outcome.
    """
    share = step.unit.startswith("share")
    unit = "of 100" if share else step.unit
    noun = NOUNS.get(step.outcome, f"{MEASURES[step.outcome].text} ({unit})")
    if step.estimate is None:
        return f"no number of {noun}"
    scale = 100.0 if share else 1.0
    return f"{_less(scale * step.estimate, noun)}{interval_words(step)}"


def interval_words(step: StepResult) -> str:
    """Return the interval of a change in brackets, its sides as "less" and "more".

    Parameters
    ----------
    step
        Of any outcome.
    """
    if step.low is None or step.high is None:
        return " (too rare or too few for an interval)"
    scale = 100.0 if step.unit.startswith("share") else 1.0
    low, high = scale * step.low, scale * step.high
    if low > 0.0:
        return f" ({rounded(low)} to {rounded(high)} more)"
    if high < 0.0:
        return f" ({rounded(-high)} to {rounded(-low)} less)"
    return f" ({rounded(-low)} less to {rounded(high)} more)"


def _less(value: float, noun: str) -> str:
    if value == 0.0:
        return f"no change in {noun}" if not noun.startswith("in 100") else f"0 more {noun}"
    return f"{rounded(abs(value))} {'more' if value > 0.0 else 'less'} {noun}"


def _past_words(past: PastResult, steps: Sequence[StepResult]) -> str:
    what = "gain" if MEASURES[past.outcome].good else "change"
    shared = past.factor.lower().startswith("fish.") and past.outcome in OF_FISH
    whom = " (of the fish that live in both tanks)" if shared else ""
    start = f"{past.factor}, {MEASURES[past.outcome].text}{whom}: "
    if not steps:
        return start + "no run has a value."
    if past.value is None:
        return (
            f"{start}where the {what}s end cannot be said, since it was too rare, or too few draws "
            "of fish were played, for every interval."
        )
    if past.last:
        gains = _listed(steps, "gain")
        return f"{start}the {what}s go on to the last value, {past.value}. " + (
            f"From step to step: {gains}." if gains else f"No single step shows one{_whole(past)}."
        )
    first = past.value == steps[0].start
    opening = f"{start}from {past.value} on" if first else f"{start}past {past.value}"
    words = f"{opening} the interval includes no {'' if first else 'further '}{what}"
    if past.onward is not None:
        words += f": to {past.onward.end}, {change_words(past.onward)}"
    at = [step.start for step in steps].index(past.value)
    before, worse = _listed(steps[:at], "gain"), _listed(steps, "loss")
    back = _listed(steps[at:], "gain")
    hidden = not before and past.before is not None
    how_back = "Some of that comes back" if worse else f"A single step shows a {what}"
    return (
        f"{words}."
        + (f" Before that: {before}." if before else "")
        + (f" Before that no single step shows one{_whole(past)}." if hidden else "")
        + (f" It even gets worse: {worse}." if worse else "")
        + (f" {how_back}: {back}." if back else "")
    )


def _whole(past: PastResult) -> str:
    """Return which change of more than a step shows a gain, to follow that no single one does."""
    one = past.before
    return " by itself" if one is None else f", {one.start} to {one.end} does: {change_words(one)}"


def _listed(steps: Sequence[StepResult], says: str) -> str:
    """Return the steps of which that is said, with their changes."""
    return "; ".join(
        f"{step.start} to {step.end}, {change_words(step)}" for step in steps if step.says == says
    )


def _stretch_words(factor: str, parts: Sequence[StepResult]) -> str:
    outcome = parts[0].outcome
    what = "gain" if MEASURES[outcome].good else "change"
    told = "; ".join(f"{one.start} to {one.end}, {change_words(one)}" for one in parts)
    words = f"{factor}, {MEASURES[outcome].text}, all else alike: {told}."
    upper = [one for one in parts if one.part == "upper half"]
    lower = [one for one in parts if one.part == "lower half"]
    if upper and upper[0].says in ("none", "loss"):
        further = "further " if lower and lower[0].says == "gain" else ""
        words += f" Past {upper[0].start} the interval includes no {further}{what}."
    return words


def sure_sentences(results: SweepResults) -> list[str]:
    """Return how sure a sweep is.

    Parameters
    ----------
    results
        Of a sweep.
    """
    runs = [point.runs for point in results.points]
    said = [
        "Run 0 holds the same fish at every point, run 1 too, and so on: changes are told from "
        "differences between runs of one number, so an interval of a change can be far narrower "
        "than those of the two points.",
        "Each interval by itself is right in 95 of 100 cases. Among many steps a few look like a "
        'gain, or like none, by chance. "Includes no further gain" means that none was shown with '
        "these runs; the interval says how large one may still be.",
    ]
    if results.precision is not None:
        asked = results.precision
        name = str(asked["outcome"])
        wide = sum(point.narrow is False for point in results.points)
        said.append(
            f"Each point was played until the interval of {MEASURES[name].text} was no wider than "
            f"{asked['half_width']:g} to either side, {MEASURES[name].unit}, or for "
            f"{asked['most_runs']} runs; it took "
            + (f"{min(runs)}" if min(runs) == max(runs) else f"{min(runs)} to {max(runs)}")
            + (f", and {counted(wide, 'point')} stayed wider." if wide else ".")
            + " How narrow an interval is says nothing of what it holds, so stopping there keeps it"
            " honest; nothing was stopped because a gain was shown. Changes rest on the first "
            f"{min(runs)} runs of each point, which all have."
        )
    for outcome, share in results.explained.items():
        if share is not None:
            said.append(
                f"{subject(outcome)}: two straight lines for each factor explain "
                f"{100.0 * max(share, 0.0):.0f} % of the variance between the points"
                + ("." if share >= 0.7 else "; little, so take the changes as rough.")
            )
    if any(f.varies and f.key.lower().startswith("fish.") for f in results.factors):
        said.append(
            "Changes in what happens to the fish are of those that live in both tanks, or with a "
            "Latin plan at every point; the points themselves tell of all their fish."
        )
    if any(key == "hardscape.caves" for key in (f.key.lower() for f in results.factors)):
        said.append(
            "Where a further cave stands changes as much as that it stands: these places are "
            "buildable, not the best."
        )
    return said
