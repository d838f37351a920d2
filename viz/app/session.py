"""Session: the state of one page in the browser, and the one place where it changes.

A page makes its session once (`solara.use_memo`) and hands it to everything it shows. Components
read it, call its methods, and are told of every change by `listen`; nothing of a page is kept in
the globals of a module, so that two pages never see each other.

It needs no browser and no Solara, and is tested as it stands.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused
from viz.app.keeping import found_in, kept_of
from viz.app.open_tank import Look, OpenTank, ShownRun, opened, tank_of
from viz.app.opening import open_path, open_text, shipped
from viz.app.repeating.beginning import take_up

if TYPE_CHECKING:
    from sim.scenario import Scenario
    from sim.settings import Settings

__all__ = ["Look", "OpenTank", "Session", "ShownRun"]

MOST_TANKS = 4  # as many as one comparison takes
FIRST_TANK = "convict-four-foot.toml"

Told = Callable[[], None]


class Session:
    """What one page in the browser holds: its tanks, which page it is on, what runs behind it.

    Parameters
    ----------
    file
        The file that was named on the command line; None opens the tank of the first visit.
    keep
        Folder in which the runs that are played are kept; None for nowhere.

    Attributes
    ----------
    tanks
        One to four open tanks; the first is the reference of a comparison.
    picked
        Which of them is worked on.
    page
        Key of the page that is shown, one of `viz.app.pages.PAGES`.
    live
        The `LiveTank` of the picked tank, once Watch has made it. It is closed, and None again,
        when that tank changes or another is picked.
    beside
        The `LiveTank` of a second tank while Compare shows it with the first: it ends with `live`,
        and when another page is turned to.
    beside_tank
        Which tank that is.
    batch
        The batch that Repeat plays or has played. It is closed, and None again, when a tank
        changes.
    branching
        The `Branching` of the living tank: futures of one of its moments. It ends with that tank.
    behind
        What else is done behind the page, by what it is (a film, a sweep, a search); each has
        `close`, and is closed with the page or when another of its kind takes its place.
    why
        The `Reasoning` about a batch, once Why was shown. It ends with the batch.
    bench
        The `Bench` of Build, once that page was shown.
    learn
        The `Desk` of Learn, once that page was shown.
    together
        Entered while everybody is told, so that the page is rendered once for one change.
    shown
        The run of a batch that Watch is to play, or None for a run of its own.
    opened_with
        What was wrong with the file of the command line; empty when all was well.
    command_file
        The file that was named on the command line, or None.
    sentence
        The last event, for the line under the floor.
    look
        How the page is to look.
    overlays
        What lies over the floor, words of `viz.app.floor.widget`.
    arrived
        Whether the browser has said what it kept; nothing is shown before.
    first_time
        Whether this browser opens the app for the first time.
    """

    def __init__(self, file: Path | None = None, *, keep: Path | None = None) -> None:
        self._lock = threading.RLock()
        self._listeners: list[Told] = []
        self._closed = False
        self.command_file = file
        self.keep = keep
        self.page = "watch"
        self.picked = 0
        self.live: Any = None
        self.beside: Any = None
        self.beside_tank = -1
        self.batch: Any = None
        self.branching: Any = None
        self.behind: dict[str, Any] = {}
        self.why: Any = None
        self.bench: Any = None
        self.learn: Any = None
        self.together: AbstractContextManager[object] = nullcontext()
        self.shown: ShownRun | None = None
        self.opened_with: tuple[Problem, ...] = ()
        self.sentence = ""
        self._said_at = time.monotonic()
        self.look = Look()
        self.overlays: frozenset[str] = frozenset({"territories"})
        self.arrived = False
        self.first_time = False
        first = None
        if file is not None:
            try:
                first = opened(open_path(file), file=file)
            except Refused as refusal:
                self.opened_with = refusal.problems
        self.tanks: tuple[OpenTank, ...] = (first or opened(open_path(shipped(FIRST_TANK))),)

    @property
    def tank(self) -> OpenTank:
        """The tank that is worked on."""
        return self.tanks[self.picked]

    # --- tanks --------------------------------------------------------------------------------

    def replace_tank(self, index: int, scenario: Scenario, *, file: Path | None = None) -> None:
        """Put a changed scenario in the place of a tank; it is checked, and everybody is told.

        What is wrong with it does not hinder its being stored: `OpenTank.problems` says it, and
        `OpenTank.checked` is None until it is mended.

        Parameters
        ----------
        index
            Which tank.
        scenario
            What it is now.
        file
            Where it was saved just now; None after an edit.
        """
        with self._lock:
            before = self.tanks[index]
            saved = scenario if file is not None else before.saved
            after = replace(
                tank_of(scenario, name=scenario.title or before.name),
                file=file or before.file,
                saved=saved,
                changed=scenario != saved,
            )
            self.tanks = (*self.tanks[:index], after, *self.tanks[index + 1 :])
            if scenario != before.scenario:
                self._stop_what_played(index)
        self.tell()

    def add_variant(self, scenario: Scenario, *, name: str) -> None:
        """Open a further tank beside the others and work on it.

        Parameters
        ----------
        scenario
            The variant, whole.
        name
            What it is called.

        Raises
        ------
        Refused
            If there are four already.
        """
        with self._lock:
            if len(self.tanks) == MOST_TANKS:
                raise Refused(
                    Problem(
                        "tanks",
                        f"got one more than {MOST_TANKS}; expected at most {MOST_TANKS} beside "
                        "each other. Close one first.",
                    )
                )
            title = self._unused(name)
            scenario = scenario.model_copy(update={"title": title})
            self.tanks = (*self.tanks, replace(tank_of(scenario, name=title), changed=True))
            self._stop_what_played(None)
            self.picked = len(self.tanks) - 1
        self.tell()

    def close_tank(self, index: int) -> None:
        """Close a tank, unless it is the last one.

        Parameters
        ----------
        index
            Which tank.
        """
        with self._lock:
            if len(self.tanks) == 1:
                return
            self.tanks = (*self.tanks[:index], *self.tanks[index + 1 :])
            self._stop_what_played(None)
            self.picked = min(self.picked - (self.picked > index), len(self.tanks) - 1)
        self.tell()

    def pick(self, index: int) -> None:
        """Work on another of the open tanks; two that live beside each other live on.

        Parameters
        ----------
        index
            Which tank.
        """
        with self._lock:
            if index == self.picked or not 0 <= index < len(self.tanks):
                return
            self.picked, before = index, self.picked
            if self.beside is not None and self.beside_tank == index:
                self.live, self.beside, self.beside_tank = self.beside, self.live, before
                self._stop_branching()
            else:
                self._stop_live()
        self.tell()

    def open_file(self, path_or_text: Path | str, *, name: str = "") -> tuple[Problem, ...]:
        """Open a scenario in the place of the picked tank; a bad one changes nothing.

        Parameters
        ----------
        path_or_text
            A file, or the text of one that came from the browser.
        name
            What the file was called there.

        Returns
        -------
        what is wrong with it, as `holdwater check` says it; empty when it is open.
        """
        try:
            if isinstance(path_or_text, Path):
                opening = opened(open_path(path_or_text), file=path_or_text)
            else:
                opening = opened(open_text(path_or_text, name=name))
        except Refused as refusal:
            return refusal.problems
        with self._lock:
            index = self.picked
            self.tanks = (*self.tanks[:index], opening, *self.tanks[index + 1 :])
            self._stop_what_played(index)
        self.tell()
        return ()

    # --- what is shown ------------------------------------------------------------------------

    def go(self, page: str) -> None:
        """Turn to a page.

        Parameters
        ----------
        page
            Its key.

        Raises
        ------
        KeyError
            If there is no such page.
        """
        from viz.app.pages import page_of

        key = page_of(page).key
        with self._lock:
            if self.page == key:
                return
            self.page = key
            self.sentence = ""  # it was of the page before
            self._stop_beside()
        self.tell()

    def quiet_for(self, seconds: float) -> bool:
        """Return whether nothing has been said for so long.

        Parameters
        ----------
        seconds
            Of the clock.
        """
        return time.monotonic() - self._said_at > seconds

    def say(self, sentence: str) -> None:
        """Put the last event under the floor, where a screen reader hears it.

        Parameters
        ----------
        sentence
            The event; the same once more tells nobody.
        """
        with self._lock:
            if self.sentence == sentence:
                return
            self.sentence = sentence
            self._said_at = time.monotonic()
        self.tell()

    def overlay(self, name: str, on: bool) -> None:
        """Lay something over the floor, or take it off.

        Parameters
        ----------
        name
            Which.
        on
            Whether it is to be seen.
        """
        with self._lock:
            self.overlays = self.overlays | {name} if on else self.overlays - {name}
        self.tell()

    def greeted(self) -> None:
        """The first visit is over: somebody has begun."""
        with self._lock:
            if not self.first_time:
                return
            self.first_time = False
        self.tell()

    def branch(self, branching: Any) -> None:
        """Have the futures of a moment played, in the place of those before.

        Parameters
        ----------
        branching
            A `viz.app.watching.branching.Branching`; None for none.
        """
        with self._lock:
            before, self.branching = self.branching, branching
            if before is not None:
                before.close()
        self.tell()

    def put_beside(self, live: Any, tank: int) -> None:
        """Have a second tank live beside the first, in the place of the one before.

        Parameters
        ----------
        live
            A `viz.app.live.LiveTank`.
        tank
            Which tank it is of.
        """
        with self._lock:
            self._stop_beside()
            self.beside, self.beside_tank = live, tank
        self.tell()

    def put_behind(self, what: str, work: Any) -> None:
        """Have something done behind the page, in the place of what was there of its kind.

        Parameters
        ----------
        what
            Its kind.
        work
            It, not begun yet; None for nothing.
        """
        with self._lock:
            before = self.behind.pop(what, None)
            if work is not None:
                self.behind[what] = work
        if before is not None:
            before.close()
        self.tell()

    def explain(self, reasoning: Any) -> None:
        """Have the reasons of a batch told, in the place of those before.

        Parameters
        ----------
        reasoning
            A `viz.app.why.reasoning.Reasoning`; None for none.
        """
        with self._lock:
            before, self.why = self.why, reasoning
            if before is not None:
                before.close()
        self.tell()

    def change_look(self, look: Look) -> None:
        """Change how the page looks.

        Parameters
        ----------
        look
            How it is to look.
        """
        with self._lock:
            self.look = look
        self.tell()

    def show_run(
        self,
        tank: int,
        run: int,
        *,
        at_day: float | None = None,
        seed: int | None = None,
        settings: Settings | None = None,
        changes: Mapping[str, float] | None = None,
    ) -> None:
        """Turn to Watch and have it play one run of a batch, the very same.

        Parameters
        ----------
        tank
            Which tank.
        run
            Number of the run in the batch, from 0.
        at_day
            Where to begin to watch, or None for the start.
        seed, settings, changes
            Those of the batch.
        """
        from viz.app.pages import page_of

        with self._lock:
            self._stop_live()
            self.picked = tank
            self.shown = ShownRun(tank, run, at_day, seed, settings, dict(changes or {}))
            self.page = page_of("watch").key
        self.tell()

    # --- who is told --------------------------------------------------------------------------

    def listen(self, callback: Told) -> Callable[[], None]:
        """Have a function called after every change, from whichever thread made it.

        Parameters
        ----------
        callback
            Takes nothing; reads the session for what it wants to know.

        Returns
        -------
        a function that ends it; may be called more than once.
        """
        with self._lock:
            self._listeners.append(callback)

        def stop() -> None:
            with self._lock:
                if callback in self._listeners:
                    self._listeners.remove(callback)

        return stop

    def tell(self) -> None:
        """Tell everybody who listens that something has changed; no lock is held meanwhile."""
        with self._lock:
            listeners = () if self._closed else tuple(self._listeners)
        with self.together:
            for callback in listeners:
                callback()

    def close(self) -> None:
        """Stop what runs behind the page, and tell nobody any more; may be called twice."""
        with self._lock:
            self._closed = True
            self._listeners.clear()
            self._stop_what_played(None)
            for part in (self.bench, self.learn, *self.behind.values()):
                if part is not None:
                    part.close()

    # --- kept over a reload -------------------------------------------------------------------

    def arrive(self, *, look: Look, kept: Any, been: bool) -> None:
        """Take up what the browser has kept; the page is shown from then on.

        Parameters
        ----------
        look
            How the page is to look.
        kept
            What `kept` returned before a reload, or nothing of the kind.
        been
            Whether this browser has opened the app before.
        """
        self.restore(kept)
        with self._lock:
            self.look, self.arrived, self.first_time = look, True, not been
        self.tell()

    def kept(self) -> dict[str, Any]:
        """Return what is to outlive a reload of the page, as plain values for JSON."""
        with self._lock:
            return kept_of(self)

    def restore(self, kept: Any) -> bool:
        """Take up what was kept before a reload; what makes no sense is left as it was.

        Parameters
        ----------
        kept
            What `kept` returned, as it came back from the browser.

        Returns
        -------
        whether it was taken up.
        """
        found = found_in(kept, self, most=MOST_TANKS)
        if found is None:
            return False
        with self._lock:
            self._stop_what_played(None)
            self.tanks, self.picked, self.page = found.tanks, found.picked, found.page
        take_up(self, found.batch)
        self.tell()
        return True

    # --- inside -------------------------------------------------------------------------------

    def _unused(self, name: str) -> str:
        taken = {tank.name for tank in self.tanks}
        tries = [name, *(f"{name} ({number})" for number in range(2, MOST_TANKS + 2))]
        return next(one for one in tries if one not in taken)

    def _stop_what_played(self, index: int | None) -> None:
        """Stop the batch, and the living tanks if it is one of them; None for any."""
        if index is None or index in (self.picked, self.beside_tank):
            self._stop_live()
        if self.batch is not None:
            batch, self.batch = self.batch, None
            batch.close()
        if self.why is not None:
            why, self.why = self.why, None
            why.close()

    def _stop_live(self) -> None:
        self.shown = None
        self._stop_branching()
        self._stop_beside()
        if self.live is not None:
            live, self.live = self.live, None
            live.close()

    def _stop_beside(self) -> None:
        if self.beside is not None:
            beside, self.beside, self.beside_tank = self.beside, None, -1
            beside.close()

    def _stop_branching(self) -> None:
        if self.branching is not None:
            branching, self.branching = self.branching, None
            branching.close()
