"""What is said of an audit of the libraries: skipped is not looked up, and a fault is a failure."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import pytest

FILE = Path(__file__).parents[1] / ".ci" / "audit.py"
FAULT = {"name": "odd", "version": "1.0", "vulns": [{"id": "X-1", "fix_versions": ["1.1"]}]}
SOUND = {"name": "even", "version": "2.0", "vulns": []}
SKIPPED = {"name": "own", "skip_reason": "not found"}


@pytest.fixture
def audit() -> Any:
    spec = importlib.util.spec_from_file_location("audit", FILE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_a_fault_fails_and_names_its_mend(audit: Any) -> None:
    code, lines = audit.told([FAULT, SOUND])
    assert code == 1
    assert lines[0] == "odd 1.0: X-1, mended in 1.1"
    assert lines[1] == "2 libraries looked up: 1 known faults."


def test_what_was_skipped_is_named_and_not_counted(audit: Any) -> None:
    code, lines = audit.told([SOUND, SKIPPED])
    assert code == 0
    assert lines == ["1 libraries looked up: 0 known faults.", "Not looked up: own."]


def test_where_nobody_answers_it_says_that_nothing_was_audited(
    audit: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(audit, "pip_audit", lambda *words: [SKIPPED])
    assert audit.main() == 0
    assert "NOTHING WAS AUDITED" in capsys.readouterr().out
