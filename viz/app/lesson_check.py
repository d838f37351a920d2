"""`python -m viz.app.lesson_check`: plays the lessons and prints what a class would see.

The numbers stand in `docs/teaching.md`; print them anew after a change of a rule.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from viz.app.lessons.counting import other_days
from viz.app.lessons.experiment import QUESTIONS, RUNS, job_of, play_group, told_by, words_for
from viz.app.lessons.parents import RUNS as PARENT_RUNS
from viz.app.lessons.parents import STAGE_OF, both_tanks, compared, play_story

if TYPE_CHECKING:
    from viz.app.batches import BatchJob

SEED = 1
SITTINGS, MINUTES = 8, 10
GROUPS = 12
LONGEST_S = 3600.0  # that are waited for a batch


def counting() -> None:
    """What was to be counted in sittings of ten minutes, on five days each."""
    print(f"Seeing and counting: chases in {MINUTES} minutes on five days, seed {SEED}")
    for run in range(SITTINGS):
        each = other_days(MINUTES, run=run, seed=SEED)
        print(f"  run {run}: {', '.join(map(str, each))}", flush=True)


def experiment() -> None:
    """What a class of twelve groups would have on its board, and what a batch says."""
    from viz.words import in_words

    print(f"\nOne tank is not an experiment: {GROUPS} groups, seed {SEED}; then {RUNS} pairs")
    for question in QUESTIONS:
        dots = [play_group(question.key, group=k + 1, seed=SEED) for k in range(GROUPS)]
        print(f"  {question.words}")
        print("   ", "; ".join(f"{one.first:.1f} and {one.second:.1f}" for one in dots))
        for words in words_for(told_by(dots), question):
            print("   ", words, flush=True)
        job = played(job_of(question.key, seed=SEED))
        if job.now.results is not None:
            print("   ", in_words(job.now.results)[0].words, flush=True)
        job.close()


def parents() -> None:
    """What the story of the parents measures, and what the brood changes."""
    story = play_story(run=0, seed=SEED)
    print(f"\nWhy parents turn on neighbours: run 0, seed {SEED}; then {PARENT_RUNS} runs of both")
    for key in STAGE_OF:
        if key in story.stages:
            print(f"  {key}: {story.stages[key].words}")
    print(f"  {story.attack}. {story.reasons}.", flush=True)
    job = played(both_tanks(seed=SEED))
    for words in compared(*job.batches).words:
        print(" ", words, flush=True)
    job.close()


def played(job: BatchJob) -> BatchJob:
    """Return a batch once all of it is played."""
    job.start()
    job.wait(LONGEST_S)
    return job


LESSONS = {"counting": counting, "class": experiment, "parents": parents}


def main(argv: Sequence[str] | None = None) -> None:
    """Print the numbers of the lessons that are named, or of all.

    Parameters
    ----------
    argv
        Words of the command line.
    """
    parser = argparse.ArgumentParser(prog="python -m viz.app.lesson_check")
    parser.add_argument("lessons", nargs="*", choices=[*LESSONS, []], metavar="LESSON")
    asked = parser.parse_args(argv)
    for key in asked.lessons or LESSONS:
        LESSONS[key]()


if __name__ == "__main__":
    main()
