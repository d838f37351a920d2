"""`python -m viz.app.challenge_check [KEY...]`: plays every challenge and says who passes.

Of each challenge the tank as it stands, and every answer that its file keeps. The start and the
tempting answers must fail, the right ones pass. Exit code 1 where one does not.

An answer is one tank of many alike, each judged by runs of its own; so it is also said in how many
of 100 tries like it it would pass, by drawing its draws of fish anew. A line stands well where that
is at least 90 for the right answer and at most 10 for the others.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence

import numpy as np

from sim.check import Checked
from viz.app.challenge_judging import Judged, play_try
from viz.app.challenges import Challenge, load_challenges
from viz.phrases import hundredths

START = "as it stands"
TRIES = 500


def tries_of(challenge: Challenge) -> Iterator[tuple[str, Checked, bool]]:
    """Yield the tries of a challenge: what it is, the tank, and whether it must pass.

    Parameters
    ----------
    challenge
        Its answers are variants of its start.
    """
    yield START, challenge.start, False
    for answer in challenge.answers:
        yield answer.name, challenge.answered(answer), answer.right


def passes_again(judged: Judged, *, seed: int = 1) -> float:
    """Return in which share of tries like this one it would pass.

    Parameters
    ----------
    judged
        What came of this one.
    seed
        Of the drawing of draws of fish, `TRIES` times as many as there are, with replacement.
    """
    from sim.figures import share_of_runs

    rng = np.random.default_rng(seed)
    draw, held = (np.array(one) for one in zip(*judged.held, strict=True))
    rows = [np.flatnonzero(draw == one) for one in np.unique(draw)]
    passed = 0
    for _ in range(TRIES):
        picked = [rows[k] for k in rng.integers(len(rows), size=len(rows))]
        place = np.repeat(np.arange(len(picked)), [len(one) for one in picked])
        share = share_of_runs(held[np.concatenate(picked)], draw=place)
        passed += share.low >= judged.line
    return passed / TRIES


def line_of(name: str, judged: Judged, *, must_pass: bool) -> str:
    """Return a line of the page: share, interval, verdict, and how often it would be the same.

    Parameters
    ----------
    name
        Of the try.
    judged
        What came of it.
    must_pass
        Whether it must pass.
    """
    share = judged.share
    limits = f"({hundredths(share.low)} to {hundredths(share.high)})"
    verdict = "passed" if judged.passed else "failed"
    wrong = "" if judged.passed == must_pass else "   NOT AS IT MUST BE"
    again = f"passes in {hundredths(passes_again(judged))} of 100 like it"
    return f"  {name:42.42} {hundredths(share.value):>6} {limits:>13}  {verdict}, {again}{wrong}"


def main(argv: Sequence[str] | None = None) -> int:
    """Play the challenges that are named, or all, and print what came of them.

    Parameters
    ----------
    argv
        Words of the command line.

    Returns
    -------
    exit code: 0 where everything is as it must be, else 1.
    """
    parser = argparse.ArgumentParser(prog="python -m viz.app.challenge_check")
    parser.add_argument("keys", nargs="*", metavar="KEY", help="challenges; all where none")
    parser.add_argument("--workers", type=int, default=None)
    asked = parser.parse_args(argv)
    known = {one.key: one for one in load_challenges()}
    unknown = [key for key in asked.keys if key not in known]
    if unknown:
        print(f"no challenge {unknown[0]}; expected one of {', '.join(known)}.", file=sys.stderr)
        return 2
    well = True
    for key in asked.keys or known:
        challenge = known[key]
        passed = challenge.passed
        print(f"{challenge.number}. {challenge.title}")
        print(f"  {passed.runs} runs, line {hundredths(passed.line)} in 100", flush=True)
        for name, tank, must_pass in tries_of(challenge):
            judged, _ = play_try(challenge, tank, workers=asked.workers)
            print(line_of(name, judged, must_pass=must_pass))
            if len(judged.each) > 1:
                for words, share in judged.each:
                    print(f"    {hundredths(share):>7}  {words}")
            sys.stdout.flush()
            well = well and judged.passed == must_pass
        print()
    return 0 if well else 1


if __name__ == "__main__":
    raise SystemExit(main())
