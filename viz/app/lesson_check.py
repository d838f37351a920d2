"""`python -m viz.app.lesson_check`: plays the lessons and prints what a class would see.

The numbers stand in `docs/teaching.md`; print them anew after a change of a rule.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from viz.app.lessons.counting import other_days
from viz.app.lessons.experiment import QUESTIONS, RUNS, play_group, told_by, words_for
from viz.app.lessons.parents import STAGE_OF, compared, lesson_tank, play_story, without_brood

SEED = 1
SITTINGS, MINUTES = 8, 10
GROUPS = 12


def counting() -> None:
    """What was to be counted in sittings of ten minutes, on five days each."""
    print(f"Seeing and counting: chases in {MINUTES} minutes on five days, seed {SEED}")
    for run in range(SITTINGS):
        each = other_days(MINUTES, run=run, seed=SEED)
        print(f"  run {run}: {', '.join(map(str, each))}", flush=True)


def experiment() -> None:
    """What a class of twelve groups would have on its board, and what a batch says."""
    from sim.comparison import Design
    from viz.app.batches import BatchJob, asked_for
    from viz.app.lessons.experiment import tanks_of
    from viz.words import in_words

    print(f"\nOne tank is not an experiment: {GROUPS} groups, seed {SEED}; then {RUNS} pairs")
    for question in QUESTIONS:
        dots = [play_group(question.key, group=k + 1, seed=SEED) for k in range(GROUPS)]
        print(f"  {question.words}")
        print("   ", "; ".join(f"{one.first:.1f} and {one.second:.1f}" for one in dots))
        for words in words_for(told_by(dots), question):
            print("   ", words, flush=True)
        designs = [
            Design.of(tank.scenario, tank.layout, name=name, path=None)
            for name, tank in zip(
                (question.first, question.second), tanks_of(question.key), strict=True
            )
        ]
        job = BatchJob(designs, asked=asked_for(RUNS, seed=SEED))
        job.start()
        job.wait(3600.0)
        if job.now.results is not None:
            print("   ", in_words(job.now.results)[0].words, flush=True)
        job.close()


def parents() -> None:
    """What the story of the parents measures, and what the brood changes."""
    from sim.comparison import Design
    from sim.settings import Settings
    from viz.app.batches import BatchJob, asked_for
    from viz.app.lessons import parents as lesson

    story = play_story(run=0, seed=SEED)
    print(f"\nWhy parents turn on neighbours: run 0, seed {SEED}; then {lesson.RUNS} runs of both")
    for key in STAGE_OF:
        if key in story.stages:
            print(f"  {key}: {story.stages[key].words}")
    print(f"  {story.attack}. {story.reasons}.", flush=True)
    from dataclasses import replace

    designs = [
        Design.of(tank.scenario, tank.layout, name=name, path=None)
        for name, tank in (("with", lesson_tank()), ("without", without_brood()))
    ]
    asked = replace(asked_for(lesson.RUNS, seed=SEED), settings=Settings())
    job = BatchJob(designs, asked=asked, keep_days=True)
    job.start()
    job.wait(3600.0)
    for words in compared(*job.batches).words:
        print(" ", words, flush=True)
    job.close()


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
