"""Tanks over a reload of the page: as plain values for the browser, and taken up again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sim.errors import Refused
from viz.app.open_tank import OpenTank, tank_of
from viz.app.opening import tank_from_kept
from viz.app.repeating.beginning import plain_batch

if TYPE_CHECKING:
    from viz.app.session import Session


def kept_of(session: Session) -> dict[str, Any]:
    """Return what is to outlive a reload of the page, as plain values for JSON.

    Parameters
    ----------
    session
        The session of the page.
    """
    from sim.scenario_writing import write_scenario

    return {
        "command": str(session.command_file or ""),
        "page": session.page,
        "picked": session.picked,
        "batch": plain_batch(session.batch),
        "tanks": [
            {
                "name": tank.name,
                "text": write_scenario(tank.scenario),
                "saved": write_scenario(tank.saved) if tank.saved else None,
                "of_command": tank.file is not None and tank.file == session.command_file,
            }
            for tank in session.tanks
        ],
    }


@dataclass(frozen=True, slots=True)
class Found:
    """What a page held before a reload.

    Parameters
    ----------
    tanks, picked, page
        As in `Session`.
    batch
        Plain values of `viz.app.repeating.beginning.plain_batch`, as they came back; None for none.
    """

    tanks: tuple[OpenTank, ...]
    picked: int
    page: str
    batch: Any = None


def found_in(kept: Any, session: Session, *, most: int) -> Found | None:
    """Return what was kept over a reload; None if it makes no sense.

    Parameters
    ----------
    kept
        What `kept_of` returned, as it came back from the browser.
    session
        The session of the page as it is without them.
    most
        How many tanks there may be.
    """
    from viz.app import pages

    try:
        entries = kept["tanks"]
        if not isinstance(entries, list) or not 1 <= len(entries) <= most:
            return None
        tanks = []
        for entry in entries:
            name, scenario, saved = tank_from_kept(entry)
            # Only the file of the command line: a page points at no other of this machine.
            file = session.command_file if entry.get("of_command") is True else None
            tank = tank_of(scenario, name=name)
            tanks.append(replace(tank, file=file, saved=saved, changed=scenario != saved))
        picked, page = kept["picked"], kept["page"]
        if page not in {one.key for one in pages.PAGES}:
            page = session.page  # a page that is no more is no reason to lose a tank
        if type(picked) is not int or not 0 <= picked < len(tanks):
            return None
        if kept["command"] != str(session.command_file or ""):
            # Started with another file since: that one comes first, what was unsaved beside it.
            unsaved = [replace(tank, file=None) for tank in tanks if tank.changed]
            return Found((session.tanks[0], *unsaved[: most - 1]), 0, session.page)
    except (Refused, KeyError, TypeError, ValueError, AttributeError):
        return None
    return Found(tuple(tanks), picked, page, kept.get("batch"))
