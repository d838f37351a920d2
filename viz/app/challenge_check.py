"""`python -m viz.app.challenge_check [KEY...]`: plays every challenge and says who passes.

Of each challenge the tank as it stands, and every answer that its file keeps. The start and the
tempting answers must fail, the right ones pass. Exit code 1 where one does not.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence

from sim.check import Checked
from viz.app.challenge_judging import Judged, play_try
from viz.app.challenges import Challenge, load_challenges
from viz.phrases import hundredths

START = "as it stands"


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


def line_of(name: str, judged: Judged, *, must_pass: bool) -> str:
    """Return a line of the page: share, interval, line, and whether it is as it must be.

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
    return f"  {name:44.44} {hundredths(share.value):>7} {limits:>13}  {verdict}{wrong}"


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
