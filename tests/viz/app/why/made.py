"""Two small tanks, played on the page: the second longer, with one fish more."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.viz.commands import SMALL
from viz.app.repeating.beginning import begin_batch
from viz.app.session import Session

MORE_FISH = SMALL.replace("count = 2", "count = 3").replace("30 in", "36 in")


def files(folder: Path) -> tuple[Path, Path]:
    """The files of the two tanks."""
    small, longer = folder / "small.toml", folder / "longer.toml"
    small.write_text(SMALL, encoding="utf-8")
    longer.write_text(MORE_FISH.replace("Small tank", "Longer tank"), encoding="utf-8")
    return small, longer


def page_with(first: Path, *others: Path) -> Session:
    """A page with these tanks open, the first picked."""
    session = Session(first)
    for path in others:
        session.add_variant(session.tank.scenario, name="next")
        assert session.open_file(path) == ()
    session.pick(0)
    return session


def played(session: Session, *, runs: int) -> Any:
    """The batch of a page, whole, of all its tanks."""
    tanks = tuple(range(len(session.tanks)))
    assert begin_batch(session, runs=runs, tanks=tanks) == ()
    assert session.batch.wait(200.0)
    assert session.batch.now.whole
    return session.batch
