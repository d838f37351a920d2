"""Trying: a challenge that is worked on, what was played for it, and what came of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz.app.challenge_judging import Judged, judge, needs_days, needs_start, seed_for
from viz.app.challenge_rules import not_allowed, refuse_what_is_not_allowed
from viz.app.editing.differences import differences

if TYPE_CHECKING:
    from sim.check import Checked
    from sim.comparison import Design
    from sim.scenario import Scenario
    from viz.app.batches import BatchJob
    from viz.app.challenges import Challenge
    from viz.app.learning.desk import Desk
    from viz.app.open_tank import OpenTank

THE_TRY, NOTHING = "try", "nothing"


@dataclass(frozen=True, slots=True)
class Play:
    """A tank that is judged.

    Parameters
    ----------
    words
        What it is.
    tank
        The tank.
    judged
        What came of it; None before.
    """

    words: str
    tank: Checked
    judged: Judged | None = None


class Trying:
    """A challenge that is worked on.

    Parameters
    ----------
    desk
        Where it lies.
    challenge
        Which.

    Attributes
    ----------
    said
        What was answered last: `THE_TRY`, `NOTHING`, or "" for nothing yet.
    plays
        What is judged for that answer.
    done, asked
        Runs that are played, and to be played, all plays together.
    told
        Whether the player has asked to be told.
    judged_job
        The runs with which the tank was judged last, for Why; None where it stands otherwise since.
    """

    def __init__(self, desk: Desk, challenge: Challenge) -> None:
        self.desk = desk
        self.challenge = challenge
        self.said = ""
        self.plays: tuple[Play, ...] = ()
        self.done = 0
        self.told = False
        self.job: BatchJob | None = None
        self.judged_job: BatchJob | None = None
        self._closed = False

    # --- how it stands --------------------------------------------------------------------------

    @property
    def tank(self) -> OpenTank | None:
        """The open tank of the challenge; None where it was closed."""
        index = self.desk.tank_named(self.challenge.title)
        return None if index is None else self.desk.session.tanks[index]

    @property
    def changed(self) -> tuple[str, ...]:
        """What differs from the tank as it was given, a sentence each."""
        tank = self.tank
        return () if tank is None else self._differs(tank.scenario)

    @property
    def outdated(self) -> bool:
        """Whether the tank was changed since it was judged; what came of it says nothing of it."""
        if self.said != THE_TRY or not self.plays:
            return False
        tank, judged = self.tank, self.plays[0].tank.scenario
        if tank is None:
            return True
        return tank.scenario.model_copy(update={"title": judged.title}) != judged

    @property
    def judged_as(self) -> tuple[str, ...]:
        """What differed from the tank as it was given when it was judged, a sentence each."""
        return self._differs(self.plays[0].tank.scenario) if self.plays else ()

    @property
    def forbidden(self) -> tuple[str, ...]:
        """What differs and may not."""
        tank = self.tank
        return () if tank is None else not_allowed(self.challenge, tank.scenario)

    @property
    def explained(self) -> bool:
        """Whether the judged runs can be asked why: the tank still is what was judged."""
        tank, job = self.tank, self.judged_job
        return tank is not None and job is not None and tank.scenario == job.designs[0].scenario

    @property
    def playing(self) -> bool:
        """Whether runs are being played."""
        return self.job is not None

    @property
    def asked(self) -> int:
        """Runs to be played, all plays together."""
        each = 2 if needs_start(self.challenge) else 1
        return self.challenge.passed.runs * each * len(self.plays)

    @property
    def solved(self) -> bool:
        """Whether the last answer was right."""
        judged = [play.judged for play in self.plays]
        if not judged or any(one is None for one in judged):
            return False
        if self.said == THE_TRY:
            return all(one is not None and one.passed for one in judged)
        return bool(self.challenge.nothing) and not any(
            one is not None and one.passed for one in judged
        )

    @property
    def settled(self) -> bool:
        """Whether everything that was asked for is judged."""
        return bool(self.plays) and all(play.judged is not None for play in self.plays)

    # --- what is pressed ------------------------------------------------------------------------

    def begin_again(self) -> None:
        """Put the tank back as it was given."""
        index = self.desk.tank_named(self.challenge.title)
        if index is None:
            self.desk.take_up(self.challenge.key)
            return
        name = self.desk.session.tanks[index].name
        start = self.challenge.start.scenario.model_copy(update={"title": name})
        self.said, self.plays, self.told, self.judged_job = "", (), False, None
        self.desk.session.replace_tank(index, start)
        self.desk.tell()

    def change(self, edit: Callable[[Scenario], Scenario]) -> tuple[Problem, ...]:
        """Change the tank; return why it cannot be, nothing where it was changed.

        Parameters
        ----------
        edit
            From a scenario to another; may refuse.
        """
        index = self.desk.tank_named(self.challenge.title)
        if index is None:
            return ()
        try:
            after = edit(self.desk.session.tanks[index].scenario)
        except Refused as refusal:
            return refusal.problems
        self.desk.session.replace_tank(index, after)
        return ()

    def play(self) -> None:
        """Judge the tank as it stands: fresh runs, once."""
        tank = self.tank
        self.desk.refused = ()
        if tank is None or self.playing:
            return
        if tank.checked is None:
            self.desk.refused = tank.problems
        else:
            try:
                refuse_what_is_not_allowed(self.challenge, tank.scenario)
            except Refused as refusal:
                self.desk.refused = refusal.problems
            else:
                self._judge(THE_TRY, [Play("your tank", tank.checked)])
                return
        self.desk.tell()

    def say_nothing_works(self) -> None:
        """Answer that nothing here works, and have played what speaks for or against it.

        Where it is right, answers that look good are played; where it is not, one that passes.
        """
        if self.playing:
            return
        right = not self.challenge.nothing
        plays = [
            Play(answer.name, self.challenge.answered(answer))
            for answer in self.challenge.answers
            if answer.right == right
        ]
        self._judge(NOTHING, plays[:1] if right else plays)

    def ask_why(self) -> None:
        """Turn to Why with the runs with which the tank was judged; none is played again."""
        from viz.app.why.asking import ask_why

        index = self.desk.tank_named(self.challenge.title)
        if index is None or self.judged_job is None or not self.explained:
            return
        session = self.desk.session
        session.pick(index)
        note = (
            f"These are the {self.judged_job.runs} fresh runs with which your try at "
            f'"{self.challenge.title}" was judged.'
        )
        ask_why(session, self.judged_job, only=0, tanks=(index,), note=note)
        session.go("why")

    def give_up(self) -> None:
        """Be told."""
        self.told = True
        self.desk.tell()

    def close(self) -> None:
        """Stop what is played."""
        self._closed = True
        if self.job is not None:
            self.job.close()

    # --- inside ---------------------------------------------------------------------------------

    def _differs(self, scenario: Scenario) -> tuple[str, ...]:
        found = differences(self.challenge.start.scenario, scenario)
        return tuple(one.words for one in found)

    def _judge(self, said: str, plays: Sequence[Play]) -> None:
        self.said, self.plays, self.done, self.judged_job = said, tuple(plays), 0, None
        self._next()

    def _next(self) -> None:
        from viz.app.batches import BatchJob, asked_for

        number = next((k for k, one in enumerate(self.plays) if one.judged is None), None)
        if number is None or self._closed:
            self.job = None
            if self.solved:
                self.desk.passed.add(self.challenge.key)
            self.desk.tell()
            return
        play = self.plays[number]
        self.job = BatchJob(
            tuple(self._designs(play)),
            asked=asked_for(
                self.challenge.passed.runs, seed=seed_for(self.challenge, play.tank.scenario)
            ),
            told=lambda: self._told(number),
            # of a try everything, since one that failed opens Why
            keep_days=self.said == THE_TRY or needs_days(self.challenge),
            keep=self.desk.session.keep,
        )
        self.job.start()
        self.desk.tell()

    def _designs(self, play: Play) -> Iterator[Design]:
        from sim.comparison import Design

        tanks = [("your tank", play.tank)]
        if needs_start(self.challenge):
            tanks.append(("as it was given", self.challenge.start))
        for name, tank in tanks:
            yield Design.of(tank.scenario, tank.layout, name=name, path=None)

    def _told(self, number: int) -> None:
        job = self.job
        if job is None or self._closed:
            return
        now, tanks = job.now, len(job.designs)
        self.done = tanks * (number * self.challenge.passed.runs + now.done)
        if now.refused:
            self.job, self.plays = None, ()
            self.desk.refused = now.refused
        elif now.over:
            judged = judge(self.challenge, *job.batches)
            if self.said == THE_TRY:
                self.judged_job = job
            plays = list(self.plays)
            plays[number] = replace(plays[number], judged=judged)
            self.plays = tuple(plays)
            self._next()
            return
        self.desk.tell()
