"""What a kept run answers, and its key: no two versions of the model share one."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from sim.model_version import data_digest, model_version
from sim.scenario_file import scenario_hash, write_scenario

if TYPE_CHECKING:
    from sim.scenario import Scenario
    from sim.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a kept run answers.

    Parameters
    ----------
    key
        Digest of all that follows and of the version.
    version
        Facts of the model that plays it.
    hash
        Digest of the scenario.
    title, scenario
        Its title, and the whole of it as a file.
    seed
        Of the study.
    settings, changes
        Plain values of the settings, and numbers that differ from the defaults.
    """

    key: str
    version: Mapping[str, Any]
    hash: str
    title: str
    scenario: str
    seed: int
    settings: Mapping[str, Any]
    changes: Mapping[str, float]

    @property
    def sound(self) -> bool:
        """Whether the key is that of what it says; its text is no part of the key."""
        return self.key == _key_of(
            self.version, self.hash, self.seed, self.settings, self.changes
        )


def _key_of(
    version: Mapping[str, Any],
    digest: str,
    seed: int,
    settings: Mapping[str, Any],
    changes: Mapping[str, float],
) -> str:
    return digest_of([version, digest, seed, settings, changes])


def this_version() -> dict[str, Any]:
    """Return the facts of the model that plays here and now."""
    return {**model_version(), "data": data_digest()}


def question_of(
    scenario: Scenario, *, seed: int, settings: Settings, changes: Mapping[str, float]
) -> Question:
    """Return the question that a batch asks of this version.

    Parameters
    ----------
    scenario
        A checked scenario.
    seed, settings, changes
        As `sim.batch.play_batch`.
    """
    facts = this_version()
    digest = scenario_hash(scenario)
    plain = asdict(settings)
    changed = {name: float(changes[name]) for name in sorted(changes)}
    return Question(
        key=_key_of(facts, digest, seed, plain, changed),
        version=facts,
        hash=digest,
        title=scenario.title,
        scenario=write_scenario(scenario),
        seed=seed,
        settings=plain,
        changes=changed,
    )


def digest_of(value: Any) -> str:
    """Return the digest of plain values, in hex.

    Parameters
    ----------
    value
        As JSON has them; the order of keys does not matter.
    """
    words = json.dumps(value, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(words.encode()).hexdigest()
