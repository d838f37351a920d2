"""Known faults in the libraries of an environment, as far as a service that knows them answers.

``audit.py SITE_PACKAGES`` runs pip-audit, which is in the environment this is run with. Of what it
could not look up pip-audit says that no fault is known; here it counts as not looked at. It ends
with 1 where a fault is known, and with 0 where none is or nobody could be asked, which it says.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ASKED_FIRST = "pip==20.0"  # faults of it are known, so an answer that knows none is no answer
PATIENCE_S = 10


def pip_audit(*words: str) -> list[dict[str, Any]]:
    """Return what pip-audit says of each library; nothing where it cannot say anything."""
    command = [sys.executable, "-m", "pip_audit", "--format", "json", "--progress-spinner", "off",
               "--timeout", str(PATIENCE_S), *words]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    try:
        found: list[dict[str, Any]] = json.loads(done.stdout)["dependencies"]
    except (ValueError, KeyError):
        return []
    return found


def answers() -> bool:
    """Return whether the service knows the faults of one old library."""
    with tempfile.TemporaryDirectory() as place:
        asked = Path(place) / "asked.txt"
        asked.write_text(ASKED_FIRST + "\n", encoding="utf-8")
        found = pip_audit("--requirement", str(asked), "--no-deps", "--disable-pip")
    return any(one.get("vulns") for one in found)


def told(found: list[dict[str, Any]]) -> tuple[int, list[str]]:
    """Return the exit code and the lines for what was found.

    Parameters
    ----------
    found
        Of pip-audit: a library each, with its faults or why it was skipped.
    """
    skipped = [one["name"] for one in found if "skip_reason" in one]
    looked = [one for one in found if "skip_reason" not in one]
    lines = [
        f"{one['name']} {one['version']}: {fault['id']}, mended in "
        f"{', '.join(fault.get('fix_versions', ())) or 'no version yet'}"
        for one in looked
        for fault in one.get("vulns", ())
    ]
    code = 1 if lines else 0
    lines.append(f"{len(looked)} libraries looked up: {len(lines)} known faults.")
    if skipped:
        lines.append(f"Not looked up: {', '.join(skipped)}.")
    return code, lines


def main() -> int:
    """Ask, and say what came of it."""
    if not answers():
        print("Nobody who knows of faults could be asked from here: NOTHING WAS AUDITED.")
        return 0
    found = pip_audit("--path", sys.argv[1], "--skip-editable")
    if not found:
        print("It answered once and then no more: NOTHING WAS AUDITED.")
        return 0
    code, lines = told(found)
    print("\n".join(lines))
    return code


if __name__ == "__main__":
    sys.exit(main())
