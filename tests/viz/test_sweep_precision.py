"""`holdwater sweep --precision`: points that are played until they are narrow, or to the cap."""

from __future__ import annotations

import csv
import json
from pathlib import Path

from tests.viz.commands import SMALL, holdwater

WIDTH, MOST = 0.16, 64


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_with_precision_a_point_is_played_until_it_is_narrow_or_the_cap_is_reached(
    tmp_path: Path,
) -> None:
    """In 60 in little happens and 40 runs suffice; in 30 in more, and 64 do not."""
    (tmp_path / "tank.toml").write_text(SMALL, encoding="utf-8")
    done = holdwater(
        "sweep", "tank.toml", "--vary", "tank.length=30 in,60 in", "--days", 1, "--precision",
        f"dose={WIDTH}", "--most-runs", MOST, "--outcome", "dose", "--workers", 1, "--json",
        "sweep.json", "--csv", "csv", cwd=tmp_path,
    )  # fmt: skip
    assert done.code == 0, done.err
    whole = json.loads((tmp_path / "sweep.json").read_text(encoding="utf-8"))
    table = [one for one in rows(tmp_path / "csv" / "outcomes.csv") if one["outcome"] == "dose"]
    found = {}
    for row, point in zip(table, whole["points"], strict=True):
        half = 0.5 * (float(row["high"]) - float(row["low"]))
        found[row["tank.length"]] = (int(row["runs_count"]), point["narrow"])
        assert point["narrow"] == (half <= WIDTH)
        assert point["runs"] == int(row["runs_count"])
        assert int(row["draws_count"]) == point["runs"] // 4  # four runs for each draw of fish
    assert found == {"30 in": (MOST, False), "60 in": (40, True)}, "another width is needed"
    assert whole["precision"] == {"outcome": "dose", "half_width": WIDTH, "most_runs": MOST}
    # a step rests on the runs that both points have
    (step,) = rows(tmp_path / "csv" / "steps.csv")
    assert int(step["draws_count"]) == 10
    page = " ".join(done.out.split())
    assert "2 points, all combinations, 40 to 64 runs of 1 day each" in page
    assert (
        f"no wider than {WIDTH} to either side, injury, or for 64 runs; it took 40 to 64, and 1 "
        "point stayed wider." in page
    )
    lines = [" ".join(line.split()) for line in done.out.splitlines()]
    assert any(line.startswith("30 in 64 wide 0.") for line in lines)
    assert any(line.startswith("60 in 40 0.") for line in lines)
