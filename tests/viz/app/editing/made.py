"""Tanks for tests of editing."""

from __future__ import annotations

from pathlib import Path

from sim.check import check_file
from sim.scenario import Scenario

SCENARIOS = Path(__file__).parents[4] / "scenarios"


def shipped(name: str = "convict-four-foot") -> Scenario:
    """Return a shipped tank."""
    return check_file(SCENARIOS / f"{name}.toml").scenario


def piece(scenario: Scenario, name: str):
    """Return a piece by its name."""
    return next(one for one in scenario.pieces if one.name == name)


def group(scenario: Scenario, name: str):
    """Return a group of fish by its name."""
    return next(one for one in scenario.fish if one.name == name)
