"""Cluster: runs played by the workers of a Dask cluster, in errands that take seconds each.

A run hangs on its seed and number alone, so it does not matter which machine plays it. What its
bytes hang on besides (the rules, the libraries, the processor they are compiled for) is compared
with each worker's, and a worker that would play another model plays nothing.

A worker that dies takes its errand with it; the scheduler gives that to another. The layout is made
anew where a run is played: a scenario is sent in kilobytes, its tables are megabytes.
"""

from __future__ import annotations

import itertools
import threading
import time
import uuid
from collections import OrderedDict, deque
from collections.abc import Iterator, Mapping
from concurrent.futures import CancelledError
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from sim.crew import Job, play_one
from sim.errors import Problem, Refused
from sim.kept_question import this_version
from sim.kept_run import as_bytes, checksum, parts_of
from sim.outcome import Outcome

if TYPE_CHECKING:
    from sim.layout import Layout
    from sim.scenario import Scenario
    from sim.settings import Settings

ERRAND_S = 2.0  # s of playing that an errand should take
FIRST_RUNS = 2  # of an errand, before it is known how long a run takes
MOST_RUNS = 2000  # of an errand
AHEAD = 2  # errands handed out and not yet taken back, for each thread of a worker
LOOK_S = 0.2  # s between two looks at whether the next errand is done
NOBODY_S = 60.0  # s without any worker after which nothing more is waited for
TRIES = 4  # with an errand whose workers die; the scheduler gives it to several each time
LAYOUTS_KEPT = 64  # whose tables stay in a worker's memory
# Facts of a version that say on what it is compiled; the others say what is played.
ABOUT_MACHINES = ("machine", "system", "libm")

Facts = Mapping[str, Any]


class Bare(NamedTuple):
    """A job without its layout, which is made where it is played; fields as `sim.crew.Job`."""

    scenario: Scenario
    run: int
    seed: int | None
    settings: Settings | None
    changes: dict[str, float] | None
    tempers_of: int | None

    @classmethod
    def of(cls, job: Job) -> Bare:
        """Return a job without its layout."""
        changes = None if job.changes is None else dict(job.changes)
        return cls(job.scenario, job.run, job.seed, job.settings, changes, job.tempers_of)

    def job(self, layout: Layout) -> Job:
        """Return the job with a layout of its scenario."""
        return Job(layout=layout, **self._asdict())


@dataclass(frozen=True, kw_only=True)
class Errand:
    """Runs that one worker plays one after another.

    Parameters
    ----------
    jobs
        Without layouts.
    facts
        What the worker's version must say.
    """

    jobs: tuple[Bare, ...]
    facts: Facts


@dataclass(frozen=True, kw_only=True)
class Brought:
    """What a worker brings back.

    Parameters
    ----------
    runs
        Checksum and bytes of each run, in the order of the errand.
    run_s
        Seconds that a run took, the middle one.
    """

    runs: tuple[tuple[bytes, bytes], ...]
    run_s: float


class Cluster:
    """A player on the workers of a Dask cluster, whose `play` is for `sim.crew.play`.

    Parameters
    ----------
    client
        A `distributed.Client`.
    where
        What a refusal points at.

    Raises
    ------
    Refused
        If a worker would play another model.
    """

    def __init__(self, client: Any, *, where: str = "--on") -> None:
        self.client = client
        self.where = where
        self.facts = this_version()
        self.other_machines: tuple[str, ...] = ()  # facts by which workers' machines differ
        self.look()

    def look(self) -> None:
        """Compare the version of every worker with the one here."""
        odd: set[str] = set()
        for address, facts in self._asked().items():
            differ = differences(self.facts, facts)
            if not set(differ) <= set(ABOUT_MACHINES):
                raise Refused(other_model(self.facts, facts, at=address, where=self.where))
            odd |= set(differ)
        self.other_machines = tuple(name for name in ABOUT_MACHINES if name in odd)

    def _asked(self) -> dict[str, Facts]:
        """Return the facts of every worker by its address."""
        found: dict[str, Any] = self.client.run(this_version, on_error="return")
        for address, facts in found.items():
            if isinstance(facts, BaseException):
                raise Refused(
                    Problem(
                        self.where,
                        f"the worker {address} cannot play ({type(facts).__name__}: {facts}); "
                        "expected the same holdwater there as here. Install it in the environment "
                        "that the workers are started from.",
                    )
                )
        return found

    @property
    def threads(self) -> int:
        """Threads of all workers that are there now."""
        return sum(self.client.nthreads().values())

    def play(self, jobs: Iterator[Job]) -> Iterator[Outcome]:
        """Play runs and yield their outcomes in the order of the jobs.

        Parameters
        ----------
        jobs
            Taken as they are needed.

        Yields
        ------
        Outcome
            Of each job.

        Raises
        ------
        Refused
            If a scenario cannot be played as asked, or no worker is left that plays it.
        """
        from distributed.client import FutureCancelledError

        gone = (CancelledError, FutureCancelledError, OSError)
        waiting: deque[tuple[Errand, Any]] = deque()
        count, runs = itertools.count(), FIRST_RUNS
        name = f"holdwater-{uuid.uuid4().hex[:12]}"

        def hand_out(errand: Errand) -> Any:
            key = f"{name}-{next(count)}"
            return self.client.submit(run_errand, errand, key=key, pure=False)

        try:
            while True:
                while len(waiting) < AHEAD * max(self.threads, 1):
                    some = tuple(Bare.of(job) for job in itertools.islice(jobs, runs))
                    if not some:
                        break
                    errand = Errand(jobs=some, facts=self.facts)
                    waiting.append((errand, hand_out(errand)))
                if not waiting:
                    return
                errand, future = waiting.popleft()
                brought = self._brought(errand, future, hand_out)
                runs = min(max(round(ERRAND_S / max(brought.run_s, 1e-6)), 1), MOST_RUNS)
                for job, (digest, data) in zip(errand.jobs, brought.runs, strict=True):
                    yield Outcome(**parts_of(digest, data, run=job.run))
        except gone as error:
            raise Refused(self._lost(f"{type(error).__name__}: {error}")) from None
        finally:
            self._let_go([future for _, future in waiting])

    def _brought(self, errand: Errand, future: Any, hand_out: Any) -> Brought:
        """Wait for an errand; one whose workers died is handed out again."""
        from distributed import KilledWorker

        alone_since: float | None = None
        for _ in range(TRIES):
            while True:
                try:
                    found: Brought = future.result(timeout=LOOK_S)
                    return found
                except KilledWorker:
                    future = hand_out(errand)
                    break
                except TimeoutError:
                    pass
                # A worker may be on its way back; none for long is none.
                now = time.monotonic()
                alone_since = None if self.threads else alone_since or now
                if alone_since is not None and now - alone_since > NOBODY_S:
                    raise Refused(self._lost(f"no worker for {NOBODY_S:.0f} s"))
        raise Refused(self._lost("every worker that played the same runs died"))

    def _lost(self, reason: str) -> Problem:
        return Problem(
            self.where,
            f"the cluster is lost ({' '.join(reason.split())[:200]}); expected a scheduler and "
            "workers that stay, with memory enough. With --keep the same command goes on from what "
            "was finished.",
        )

    def _let_go(self, futures: list[Any]) -> None:
        """Have the scheduler forget what nobody waits for any more."""
        import contextlib

        with contextlib.suppress(Exception):  # it may be gone itself
            self.client.cancel(futures, force=True)


def differences(here: Facts, there: Facts) -> tuple[str, ...]:
    """Return the names of the facts in which two versions differ."""
    return tuple(name for name in {**here, **there} if here.get(name) != there.get(name))


def other_model(here: Facts, there: Facts, *, at: str, where: str) -> Problem:
    """Return the sentence for a worker that would play another model.

    Parameters
    ----------
    here, there
        Facts of the versions.
    at
        The worker's address.
    where
        What it points at.
    """
    told = ", ".join(
        f"{name} {there.get(name)} where here it is {here.get(name)}"
        for name in differences(here, there)
        if name not in ABOUT_MACHINES
    )
    return Problem(
        where,
        f"the worker {at} plays another model, got {told}; expected the same version and "
        "libraries on every worker. Install there what is installed here.",
    )


# --- where the runs are played -------------------------------------------------------------------

_LOCK = threading.Lock()
_LAYOUTS: OrderedDict[str, Layout] = OrderedDict()


def run_errand(errand: Errand) -> Brought:
    """Play the runs of an errand, on a worker.

    Parameters
    ----------
    errand
        Its jobs have no layouts.

    Raises
    ------
    Refused
        If a scenario cannot be played as asked, or another model is installed here.
    """
    facts = this_version()
    if not set(differences(errand.facts, facts)) <= set(ABOUT_MACHINES):
        import socket

        raise Refused(other_model(errand.facts, facts, at=socket.gethostname(), where="--on"))
    layouts: dict[int, Layout] = {}
    runs: list[tuple[bytes, bytes]] = []
    took: list[float] = []
    for job in errand.jobs:
        layout = layouts.get(id(job.scenario))
        if layout is None:
            layout = layouts[id(job.scenario)] = _layout_of(job.scenario)
        began = time.monotonic()
        data = as_bytes(play_one(job.job(layout)))
        took.append(time.monotonic() - began)
        runs.append((checksum(data), data))
    return Brought(runs=tuple(runs), run_s=sorted(took)[len(took) // 2] if took else 0.0)


def _layout_of(scenario: Scenario) -> Layout:
    """Return the layout of a scenario with its tables, made once in a process."""
    from sim.layout import Layout
    from sim.scenario_file import scenario_hash

    key = scenario_hash(scenario)
    with _LOCK:  # or every thread would make its own
        layout = _LAYOUTS.get(key)
        if layout is None:
            layout = _LAYOUTS[key] = Layout(scenario)
            layout.floors()
            while len(_LAYOUTS) > LAYOUTS_KEPT:
                _LAYOUTS.popitem(last=False)
        _LAYOUTS.move_to_end(key)
        return layout
