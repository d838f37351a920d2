"""Bench: the hands of the page Build on the tanks of a session.

Every edit goes through `Bench.do`: it is tried, checked, refused with a sentence or kept as a step
that can be gone back. It needs no browser.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from sim.scenario import Scenario
from viz.app.building.looking import Looking
from viz.app.editing.draft import Draft, Step
from viz.app.editing.pad import Pad
from viz.app.editing.shelf import digest_of, folders, listed, path_listed
from viz.app.editing.verdict import Judged, Message, judge, messages_of, new_problems

if TYPE_CHECKING:
    from viz.app.building.knowing import KnowingJob
    from viz.app.open_tank import OpenTank
    from viz.app.session import Session

Edit = Callable[[Scenario], Scenario]

DRAWERS: tuple[tuple[str, str], ...] = (
    ("pieces", "Pieces"),
    ("fish", "Fish"),
    ("tank", "Tank"),
    ("days", "Days"),
    ("variant", "Change one thing"),
    ("counts", "Watched"),
    ("layout", "Better layout"),
    ("files", "Files"),
)


@dataclass(frozen=True, slots=True)
class Picked:
    """What is under the hand.

    Parameters
    ----------
    what
        "piece", "fish" or "event".
    name
        Of the piece, the group of fish or the event.
    """

    what: str
    name: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why the last edit was not done.

    Parameters
    ----------
    problems
        The sentences.
    about
        What it was about; None for nothing on the floor.
    """

    problems: tuple[Problem, ...]
    about: Picked | None = None

    @property
    def words(self) -> str:
        """The sentences in one line."""
        said = [problem.sentence for problem in self.problems]
        return " ".join(words[:1].upper() + words[1:] for words in said)


class Bench:
    """The hands of one page on its tanks.

    Parameters
    ----------
    session
        The session of the page.
    started_in
        Folder the app was started in, the one that files are saved to and opened from besides
        those of the open tanks.

    Attributes
    ----------
    picked
        What is under the hand, or None.
    refusal
        Why the last edit was not done, or None.
    looking
        Overlays and rough odds.
    drawer
        Which drawer is open, one of `DRAWERS`.
    knowing
        What learns, or has learnt, from counts; None before any.
    version
        Rises with every change that is not one of the session's own.
    """

    def __init__(self, session: Session, *, started_in: Path | None = None) -> None:
        self.session = session
        self.started_in = started_in or Path.cwd()
        self.picked: Picked | None = None
        self.refusal: Refusal | None = None
        self.version = 0
        self.looking = Looking(self)
        self.drawer = DRAWERS[0][0]
        self.knowing: KnowingJob | None = None
        self._pads: dict[int, Pad] = {}
        self._drafts: dict[int, Draft] = {}
        self._keeping: int | None = None  # the tank that is being changed from here
        self._drafts_lock = threading.Lock()
        self._digests: dict[Path, str] = {}

    def tell(self) -> None:
        """Tell everybody who listens to the session that something here has changed."""
        self.version += 1
        self.session.tell()

    @property
    def now(self) -> tuple[object, ...]:
        """What the page shows, as a value that can be compared cheaply."""
        return (self.version, self.session.picked, self.session.tanks)

    # --- the draft ----------------------------------------------------------------------------

    @property
    def tank(self) -> OpenTank:
        """The tank that is worked on."""
        return self.session.tank

    @property
    def scenario(self) -> Scenario:
        """What it is now."""
        return self.session.tank.scenario

    @property
    def draft(self) -> Draft:
        """The steps of the tank that is worked on, with what was done to it on other pages."""
        with self._drafts_lock:
            index, tank = self.session.picked, self.session.tank
            known = self._drafts.get(index)
            if known is not None and index == self._keeping:
                return known  # its tank follows; until then it is not what was done elsewhere
            if known is not None and known.scenario == tank.scenario:
                draft = replace(known, kept=tank.saved, file=tank.file)
            elif known is not None and tank.changed and known.file == tank.file:
                draft = known.done(tank.scenario, did="what was done elsewhere")
            else:
                draft = Draft((Step(tank.scenario),), kept=tank.saved, file=tank.file)
                if tank.file is not None:
                    self._digests.setdefault(tank.file, digest_of(tank.file))
            self._drafts[index] = draft
            return draft

    def forget(self) -> None:
        """Begin anew, when tanks were closed and others took their places."""
        self._drafts.clear()
        self._pads.clear()
        self.picked = self.refusal = None

    # --- edits --------------------------------------------------------------------------------

    def do(
        self,
        edit: Edit,
        *,
        did: str,
        about: Picked | None = None,
        joins: str = "",
        by_hand: bool = False,
    ) -> bool:
        """Do an edit, unless it cannot be.

        Parameters
        ----------
        edit
            Gives the tank after it; raises `Refused` where a value cannot be.
        did
            What is done, in words: "stone row moved".
        about
            What it is about; picked when it is done.
        joins
            As `viz.app.editing.draft.Draft.done`.
        by_hand
            It puts something in its place, and is refused where `check` then finds something wrong
            that was not wrong before. What is typed in a form is kept, and the sentence stands
            beside it.

        Returns
        -------
        bool
            Whether it was done; if not, `refusal` says why and the tank is as it was.
        """
        draft = self.draft
        try:
            after = edit(draft.scenario)
        except Refused as refusal:
            return self.refuse(refusal.problems, about)
        if by_hand and after != draft.scenario:
            wrong = new_problems(self.judged, judge(after))
            if wrong:
                return self.refuse(wrong, about)
        self.refusal = None
        if about is not None:
            self.picked = about
        self._keep(draft.done(after, did=did, joins=joins))
        return True

    def typed(self, edit: Edit, *, did: str, about: Picked | None = None, joins: str = "") -> str:
        """Do an edit that was typed in a form, and return the sentence to stand beside it.

        Parameters
        ----------
        edit, did, about, joins
            As in `do`.

        Returns
        -------
        str
            Why it was not done; empty where it was.
        """
        if self.do(edit, did=did, about=about, joins=joins):
            self.session.say(f"Done: {did}.")
            return ""
        said = self.refusal.words if self.refusal is not None else ""
        self.refusal = None
        return said

    def would_refuse(self, edit: Edit) -> tuple[Problem, ...]:
        """Return why an edit by hand would not be done; nothing if it would.

        Parameters
        ----------
        edit
            As in `do`.
        """
        try:
            after = edit(self.scenario)
        except Refused as refusal:
            return refusal.problems
        return new_problems(self.judged, judge(after))

    def refuse(self, problems: tuple[Problem, ...], about: Picked | None = None) -> bool:
        """Say why something is not done; return False.

        Parameters
        ----------
        problems
            The sentences.
        about
            What it was about.
        """
        self.refusal = Refusal(problems, about)
        self.tell()
        return False

    def undo(self) -> None:
        """Go back one step."""
        self._keep(self.draft.undone())

    def redo(self) -> None:
        """Do again what was gone back."""
        self._keep(self.draft.redone())

    def _keep(self, draft: Draft) -> None:
        """Put a draft and its tank in the place of those before; others may look meanwhile."""
        index = self.session.picked
        with self._drafts_lock:
            self._drafts[index] = draft
            self._keeping = index
        try:
            if not self._there(self.picked, draft.scenario):
                self.picked = None
            self.version += 1
            if draft.scenario != self.session.tank.scenario:
                self.session.replace_tank(index, draft.scenario)
            else:
                self.session.tell()
        finally:
            self._keeping = None
        self.looking.follow()

    # --- what is under the hand ---------------------------------------------------------------

    def pick(self, picked: Picked | None) -> None:
        """Take something in hand, or nothing.

        Parameters
        ----------
        picked
            What; something that is not there is nothing.
        """
        self.picked = picked if self._there(picked, self.scenario) else None
        self.refusal = None
        self.looking.follow()
        self.tell()

    @staticmethod
    def _there(picked: Picked | None, scenario: Scenario) -> bool:
        if picked is None:
            return False
        names = {
            "piece": [piece.name for piece in scenario.pieces],
            "fish": [group.name for group in scenario.fish],
            "event": [event.name for event in scenario.events],
        }
        return picked.name in names.get(picked.what, ())

    def open_drawer(self, key: str) -> None:
        """Open another drawer.

        Parameters
        ----------
        key
            Of `DRAWERS`.
        """
        if key in dict(DRAWERS) and key != self.drawer:
            self.drawer = key
            self.tell()

    # --- what check says ----------------------------------------------------------------------

    @property
    def judged(self) -> Judged:
        """The tank as `check` sees it."""
        tank = self.session.tank
        warnings = tank.warnings if tank.checked is not None else ()
        return Judged(tank.scenario, tank.checked, tank.problems, warnings)

    @property
    def messages(self) -> tuple[Message, ...]:
        """Every sentence of `check` with what it stands beside."""
        tank = self.session.tank
        return messages_of(tank.scenario, problems=tank.problems, warnings=tank.warnings)

    # --- what was counted at the real tank ----------------------------------------------------

    @property
    def pad(self) -> Pad:
        """The counts of the tank that is worked on, as they were typed."""
        return self._pads.get(self.session.picked) or Pad.blank(self.scenario)

    def write(self, pad: Pad) -> None:
        """Put down counts of the tank that is worked on.

        Parameters
        ----------
        pad
            All of them.
        """
        self._pads[self.session.picked] = pad
        self.tell()

    def learn_from(self, job: KnowingJob) -> None:
        """Begin to learn from counts, in the place of what was learnt before.

        Parameters
        ----------
        job
            That has not begun.
        """
        before, self.knowing = self.knowing, job
        if before is not None:
            before.close()
        job.start()
        self.tell()

    # --- files --------------------------------------------------------------------------------

    @property
    def folders(self) -> tuple[Path, ...]:
        """The folders that are read and written."""
        files = tuple(tank.file for tank in self.session.tanks)
        return folders(started_in=self.started_in, files=files)

    @property
    def files(self) -> tuple[Path, ...]:
        """The scenario files of these folders."""
        return listed(self.folders)

    def open_listed(self, path: str) -> bool:
        """Open one of `files` in the place of the tank that is worked on.

        Parameters
        ----------
        path
            As text.

        Returns
        -------
        bool
            Whether it was opened; if not, `refusal` has the sentences of `check`.
        """
        try:
            found = path_listed(path, folders=self.folders)
        except Refused as refusal:
            return self.refuse(refusal.problems)
        digest = digest_of(found)
        return self._opened(self.session.open_file(found), file=found, digest=digest)

    def open_text(self, text: str, *, name: str) -> bool:
        """Open a text that was handed over, in the place of the tank that is worked on.

        Parameters
        ----------
        text
            Of a scenario file.
        name
            What it is called.

        Returns
        -------
        bool
            Whether it was opened; if not, `refusal` has the sentences of `check`.
        """
        return self._opened(self.session.open_file(text, name=name))

    def _opened(
        self, problems: tuple[Problem, ...], *, file: Path | None = None, digest: str = ""
    ) -> bool:
        if problems:
            return self.refuse(problems)
        self._drafts.pop(self.session.picked, None)
        self._pads.pop(self.session.picked, None)
        if file is not None:
            self._digests[file] = digest
        self.picked = self.refusal = None
        self.looking.follow()
        self.tell()
        return True

    def save(self, name: str, *, folder: Path | None = None, over: bool = False) -> bool:
        """Save the tank that is worked on.

        Parameters
        ----------
        name
            Of the file.
        folder
            One of `folders`; the first where None.
        over
            Write over a file of that name.

        Returns
        -------
        bool
            Whether it was written; if not, `refusal` says why.

        Raises
        ------
        viz.app.editing.saving.Occupied
            If there is a file of that name and `over` was not said.
        """
        from viz.app.editing.saving import Occupied, file_name, save

        where = self.folders[0] if folder is None else folder
        if where not in self.folders:
            return self.refuse(
                (Problem(where.name, "this is no folder one pointed at; expected one of those."),)
            )
        try:
            seen = self._digests.get(where / file_name(name), "")
            saved = save(self.scenario, name, folder=where, over=over, seen=seen)
        except Occupied:
            raise
        except Refused as refusal:
            return self.refuse(refusal.problems)
        self._digests[saved.file] = saved.digest
        self.refusal = None
        self.version += 1
        self.session.replace_tank(self.session.picked, self.scenario, file=saved.file)
        return True

    # --- variants -----------------------------------------------------------------------------

    def add_variant(self, scenario: Scenario, *, name: str) -> bool:
        """Put a variant beside the tanks and work on it.

        Parameters
        ----------
        scenario
            The variant, whole.
        name
            What it is called.

        Returns
        -------
        bool
            Whether there was room for one more; if not, `refusal` says so.
        """
        try:
            self.session.add_variant(scenario, name=name)
        except Refused as refusal:
            return self.refuse(refusal.problems)
        self.picked = self.refusal = None
        self.looking.follow()
        return True

    def close(self) -> None:
        """Stop what is played behind the page."""
        self.looking.close()
        if self.knowing is not None:
            self.knowing.close()


def bench_of(session: Session) -> Bench:
    """Return the bench of a session, made when it is first asked for.

    Parameters
    ----------
    session
        The session of the page.
    """
    if session.bench is None:
        session.bench = Bench(session)
    bench: Bench = session.bench
    return bench
