"""Looking: overlays on the floor and rough odds of the tank on the bench, always of its last state.

What takes long is played by threads of its own, is given up as soon as the tank changes, and is
told to the session when it is there.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from sim.errors import Problem, Refused
from sim.rooms import XY
from sim.scenario_file import scenario_hash
from viz.app.editing.odds import Odds, OddsJob
from viz.app.editing.overlays import Band, Nests, nests, sight_region, swim_bands

if TYPE_CHECKING:
    from shapely.geometry import Polygon

    from sim.check import Checked
    from viz.app.building.bench import Bench

MOST_KNOWN = 16

Overlay = Literal["none", "sight", "swim", "spawn"]
OVERLAYS: tuple[tuple[Overlay, str], ...] = (
    ("none", "nothing"),
    ("sight", "sight"),
    ("swim", "way to swim"),
    ("spawn", "where they spawn"),
)


@dataclass(frozen=True, slots=True)
class Shown:
    """What lies over the floor.

    Parameters
    ----------
    overlay
        Which of `OVERLAYS`.
    at
        The place it is seen or swum from; None where that does not matter.
    sight, bands, nests
        What was asked for; None where it was not, or is not known yet.
    words
        What it says, for those who do not see it.
    """

    overlay: Overlay = "none"
    at: XY | None = None
    sight: Polygon | None = None
    bands: tuple[Band, ...] | None = None
    nests: Nests | None = None
    words: str = ""


class Looking:
    """Overlays and odds of one bench.

    Parameters
    ----------
    bench
        Whose tank it is.

    Attributes
    ----------
    overlay
        Which overlay is asked for.
    at
        From where, m.
    odds
        Rough odds of the tank as it stands; None while none are wanted.
    """

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.overlay: Overlay = "none"
        self.at: XY | None = None
        self.odds: Odds | None = None
        self._lock = threading.Lock()
        self._job: OddsJob | None = None
        self._of: Checked | None = None
        self._known: dict[str, Odds] = {}  # by tank, so that going back shows them at once
        self._wanted = 0
        self._shown: tuple[tuple[object, ...], Shown] | None = None
        self._nests: tuple[Checked, Nests | Refused] | None = None
        self._searching: threading.Event | None = None
        self._searched: Checked | None = None

    # --- overlays -----------------------------------------------------------------------------

    def show(self, overlay: Overlay, *, at: XY | None = None) -> None:
        """Lay something over the floor.

        Parameters
        ----------
        overlay
            What.
        at
            From where, m; where it was before when None.
        """
        self.overlay = overlay
        if at is not None:
            self.at = at
        self.follow()
        self.bench.tell()

    @property
    def place(self) -> XY:
        """The place one looks from: the one pointed at, else the middle of the front glass."""
        tank = self.bench.scenario.tank
        if self.at is None:
            return (0.5 * tank.length_m, 0.15 * tank.width_m)
        return (min(max(self.at[0], 0.0), tank.length_m), min(max(self.at[1], 0.0), tank.width_m))

    @property
    def shown(self) -> Shown:
        """What lies over the floor now."""
        checked = self.bench.tank.checked
        known = (self.overlay, self.place, id(checked), id(self._nests))
        if self._shown is None or self._shown[0] != known:
            self._shown = (known, self._look(checked))
        return self._shown[1]

    def _look(self, checked: Checked | None) -> Shown:
        if self.overlay == "none":
            return Shown()
        if checked is None:
            return Shown(self.overlay, words="The tank cannot be played as it stands.")
        layout, at = checked.layout, self.place
        if self.overlay == "sight":
            seen = sight_region(layout, at)
            share = seen.area / layout.area_m2
            words = f"From there a fish near the floor sees {100 * share:.0f} % of the footprint."
            return Shown("sight", at, sight=seen, words=words)
        if self.overlay == "swim":
            bands = swim_bands(layout, at)
            far = bands[-1].words if bands else "a foot"
            return Shown(
                "swim",
                at,
                bands=bands,
                words=f"The farthest place is more than {far} away."
                if bands
                else f"Everything is less than {far} away.",
            )
        if self._nests is None or self._nests[0] is not checked:
            return Shown("spawn", words="Trying it with 20 draws of fish ...")
        found = self._nests[1]
        if isinstance(found, Refused):
            said = found.problems[0].sentence
            return Shown("spawn", words=said[:1].upper() + said[1:])
        return Shown("spawn", nests=found, words=found.words)

    # --- what is played -----------------------------------------------------------------------

    def want_odds(self, wanted: bool) -> None:
        """Say that rough odds are seen, or no longer; while nobody sees them none are played.

        A column that is made anew may come before the old one goes, so that both are counted.

        Parameters
        ----------
        wanted
            Whether one more sees them, or one less.
        """
        self._wanted += 1 if wanted else -1
        self.follow()

    def follow(self) -> None:
        """Give up what was played of another state of the tank, and play this one."""
        checked = self.bench.tank.checked
        self._follow_odds()
        self._follow_nests(checked if self.overlay == "spawn" else None)

    def _follow_odds(self) -> None:
        checked = self.bench.tank.checked
        with self._lock:
            if self._wanted <= 0:
                self._give_up()
                return
            if checked is self._of and (self._job is not None or self.odds is not None):
                return
            self._give_up()
            self._of = checked
            self.odds = (
                None if checked is None else self._known.get(scenario_hash(checked.scenario))
            )
            if checked is None or self.odds is not None:
                return
            job = OddsJob(
                checked, lambda odds: self._told(job, odds), keep=self.bench.session.keep
            )
            self._job = job
            job.start()

    def _give_up(self) -> None:
        """End the runs that are played; what was finished stays."""
        if self._job is not None:
            self._job.cancel()
            self._job = None
            if self.odds is None or self.odds.results is None:
                self.odds = self._of = None

    def _told(self, job: OddsJob, odds: Odds) -> None:
        with self._lock:
            if self._job is not job:
                return
            self.odds = odds
            if odds.results is not None:
                self._job = None
                self._known[scenario_hash(job.checked.scenario)] = odds
                while len(self._known) > MOST_KNOWN:
                    self._known.pop(next(iter(self._known)))
        self.bench.tell()

    def _follow_nests(self, checked: Checked | None) -> None:
        if checked is self._searched:
            return
        if self._searching is not None:
            self._searching.set()
        self._searched = checked
        if checked is None or (self._nests is not None and self._nests[0] is checked):
            return
        stop = threading.Event()
        self._searching = stop
        threading.Thread(
            target=self._search, args=(checked, stop), name="nests", daemon=True
        ).start()

    def _search(self, checked: Checked, stop: threading.Event) -> None:
        found: Nests | Refused
        try:
            found = nests(checked, stop=stop.is_set)
        except Refused as refusal:
            found = refusal
        except Exception as error:
            # A fault of the program is told in the page; the tank stays as it is.
            found = Refused(Problem("nests", f"it ended with a fault of the program ({error!r})."))
        if not stop.is_set():
            self._nests = (checked, found)
            self.bench.tell()

    def close(self) -> None:
        """Stop everything; nothing more is told."""
        with self._lock:
            self._wanted = 0
            if self._job is not None:
                self._job.cancel()
                self._job = None
        if self._searching is not None:
            self._searching.set()
