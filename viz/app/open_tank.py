"""What a page holds: a tank that is open, a run that is to be shown, how it all looks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused

if TYPE_CHECKING:
    from sim.check import Checked
    from sim.scenario import Scenario
    from sim.settings import Settings

SHADES = ("device", "light", "dark")


@dataclass(frozen=True)
class OpenTank:
    """One tank that is open in the page.

    Parameters
    ----------
    name
        What it is called on screen.
    checked
        The scenario with its layout when it can be played, else None.
    scenario
        The scenario as it was last edited.
    problems
        What hinders it from being played; warnings are those of ``checked``.
    file
        Where it was opened or saved, or None.
    changed
        Whether it was changed since it was opened or saved.
    saved
        The scenario as it was opened or saved, or None when it never was.
    """

    name: str
    checked: Checked | None
    scenario: Scenario
    problems: tuple[Problem, ...] = ()
    file: Path | None = None
    changed: bool = False
    saved: Scenario | None = None

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """What is merely unwise."""
        return self.checked.warnings if self.checked else ()


@dataclass(frozen=True)
class ShownRun:
    """One run of a batch that Watch is to play, exactly.

    Parameters
    ----------
    tank
        Which tank, by its place in `Session.tanks`.
    run
        Its number in the batch, from 0.
    at_day
        Where to begin to watch (days since midnight of day 0), or None for the start.
    seed, settings, changes
        Those of the batch, as `viz.replay` takes them.
    """

    tank: int
    run: int
    at_day: float | None = None
    seed: int | None = None
    settings: Settings | None = None
    changes: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Look:
    """How the page is to look.

    Parameters
    ----------
    shade
        ``"device"`` as the device is set, ``"light"`` or ``"dark"``.
    large
        Large type, for a class or tired eyes.
    gentle
        A hurt fish is shown as moved out, and no wound is drawn or described.
    """

    shade: str = "device"
    large: bool = False
    gentle: bool = False

    def plain(self) -> dict[str, Any]:
        """Return it as plain values for the browser."""
        return {"shade": self.shade, "large": self.large, "gentle": self.gentle}

    @classmethod
    def of(cls, plain: Any) -> Look:
        """Return what a browser has kept; what makes no sense is as if it had kept nothing.

        Parameters
        ----------
        plain
            What `plain` returned once.
        """
        kept = plain if isinstance(plain, dict) else {}
        shade = kept.get("shade")
        return cls(
            shade if shade in SHADES else "device",
            kept.get("large") is True,
            kept.get("gentle") is True,
        )


def opened(checked: Checked, *, file: Path | None = None) -> OpenTank:
    """Return a tank as it was opened just now.

    Parameters
    ----------
    checked
        What the file held.
    file
        The file, or None.
    """
    scenario = checked.scenario
    stem = file.stem.replace("-", " ") if file else "A tank"
    return OpenTank(
        name=scenario.title or stem, checked=checked, scenario=scenario, file=file, saved=scenario
    )


def tank_of(scenario: Scenario, *, name: str) -> OpenTank:
    """Return a tank as it stands, whether or not it can be played.

    Parameters
    ----------
    scenario
        What it is.
    name
        What it is called.
    """
    from sim.check import check_scenario

    try:
        checked = check_scenario(scenario)
    except Refused as refusal:
        return OpenTank(name, None, scenario, refusal.problems)
    return OpenTank(name, checked, scenario)
