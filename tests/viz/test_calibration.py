"""Waves of calibration: what is kept between them."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from sim.evidence.calibrate import FREE, next_points
from viz.calibration import read_table, table


def test_a_table_of_kept_points_is_read_as_it_was_written(tmp_path: Path) -> None:
    shipped = Path(str(files("sim.data") / "accepted.csv"))
    known = read_table(shipped)
    assert all(set(one.point) == set(FREE) and one.kept for one in known)
    again = tmp_path / "table.csv"
    again.write_text(table(known), "utf-8")
    assert again.read_bytes() == shipped.read_bytes()


def test_points_of_an_older_table_are_moved_from() -> None:
    known = read_table(Path(str(files("sim.data") / "accepted.csv")))
    points = list(next_points(known, 5, seed=3))
    assert len({tuple(point.values()) for point in points}) == 5
    assert all(point not in [one.point for one in known] for point in points)
