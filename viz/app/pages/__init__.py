"""The pages of the app, in the order of their tabs. A page is listed once it is whole.

To add one, write `viz/app/pages/<key>.py` with a component that takes the session::

    @solara.component
    def Repeat(session: Session) -> None:
        use_session(session)          # renders again after every change of the session
        ...

and a `PageOf` below. `render` is called inside the page's layout and fills the middle column; a
page that also has something for the other two gives `left` and `right`. The floor, the day line
and the sentence under it belong to the frame and are the same on every page.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from viz.app.building.plan import PlannedDays
from viz.app.building.words import BuildWords
from viz.app.building.workbench import Workbench
from viz.app.floor.stacked import StackedFloors
from viz.app.pages.build import Build, BuildCompany
from viz.app.pages.compare import Compare
from viz.app.pages.learn import Learn, LearnWords
from viz.app.pages.repeat import Repeat
from viz.app.pages.watch import Watch, WatchCompany, WatchWords
from viz.app.pages.why import Why
from viz.app.repeating.said import FishRisks, ResultWords
from viz.app.why.floor import HurtFloor
from viz.app.why.ground import OpenGroundDays
from viz.app.why.said import WhyCompany, WhyWords

if TYPE_CHECKING:
    from viz.app.session import Session

Render = Callable[["Session"], Any]


@dataclass(frozen=True, kw_only=True)
class PageOf:
    """One page of the app.

    Parameters
    ----------
    key
        One word, lower case; ``Session.page`` while it is shown.
    name
        On its tab.
    hint
        What it is for, in a few words, for the tab's title.
    middle
        Fills the middle column: a component that takes the session.
    left, right
        Fill the other columns; None leaves them to the frame (the fish; what is known so far).
    floor
        Stands in the floor's place while the page is shown; None for the living tank.
    day_line
        Stands in the day line's place; None for the days of the living tank.
    """

    key: str
    name: str
    hint: str
    middle: Render
    left: Render | None = None
    right: Render | None = None
    floor: Render | None = None
    day_line: Render | None = None


PAGES: tuple[PageOf, ...] = (
    PageOf(
        key="build",
        name="Build",
        hint="Glass, pieces, fish and days, changed by hand",
        middle=Build,
        left=BuildCompany,
        right=BuildWords,
        floor=Workbench,
        day_line=PlannedDays,
    ),
    PageOf(
        key="watch",
        name="Watch",
        hint="The tank as it lives, with hands on it",
        middle=Watch,
        left=WatchCompany,
        right=WatchWords,
    ),
    PageOf(
        key="repeat",
        name="Repeat",
        hint="The same tank many times over, one row per run",
        middle=Repeat,
        left=FishRisks,
        right=ResultWords,
    ),
    PageOf(
        key="compare",
        name="Compare",
        hint="The same fish in other tanks",
        middle=Compare,
        left=FishRisks,
        right=ResultWords,
        floor=StackedFloors,
    ),
    PageOf(
        key="why",
        name="Why",
        hint="Where they are hurt, and what changes when one thing is taken away",
        middle=Why,
        left=WhyCompany,
        right=WhyWords,
        floor=HurtFloor,
        day_line=OpenGroundDays,
    ),
    PageOf(
        key="learn",
        name="Learn",
        hint="Three lessons and eight challenges",
        middle=Learn,
        left=WatchCompany,
        right=LearnWords,
    ),
)


def page_of(key: str) -> PageOf:
    """Return a page by its key.

    Parameters
    ----------
    key
        For example ``"watch"``.

    Raises
    ------
    KeyError
        If there is no such page.
    """
    for page in PAGES:
        if page.key == key:
            return page
    raise KeyError(key)


def page_shown(key: str) -> PageOf | None:
    """Return a page by its key, the first where there is none of that key; None without any.

    Parameters
    ----------
    key
        Of `Session.page`.
    """
    first = PAGES[0] if PAGES else None
    return next((page for page in PAGES if page.key == key), first)
