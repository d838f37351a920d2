"""Any scenario that keeps to the rules is played sanely; any other is refused in a sentence.

The same few every time, so that nothing fails by chance;
`python -m tests.hostile` draws thousands.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from tests.hostile.broken import WAYS, broken_tanks
from tests.hostile.playing import assert_refused, checked_of, live
from tests.hostile.tanks import Plain, tanks

FEW = settings(
    derandomize=True, deadline=None, database=None, phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip


def test_any_tank_is_played_sanely_tick_by_tick_and_in_leaps() -> None:
    looks: list[int] = []

    @settings(FEW, max_examples=30)
    @given(plain=tanks())
    def each(plain: Plain) -> None:
        checked = checked_of(plain)
        looks.append(0 if checked is None else live(checked, most_s=0.1))

    each()
    assert sum(map(bool, looks)) > 0.8 * len(looks), "too few of them can be played"


@pytest.mark.parametrize("way", WAYS)
def test_any_broken_tank_is_refused_in_a_sentence(way: str, tmp_path: Path) -> None:
    @settings(FEW, max_examples=8)
    @given(plain=broken_tanks(way=way))
    def each(plain: Plain) -> None:
        assert_refused(plain, folder=tmp_path)

    each()


def test_what_is_refused_is_refused_by_every_command_alike(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from viz.cli import outcome

    monkeypatch.chdir(tmp_path)
    Path("tank.toml").write_text('days = -1\ntank.size = "75 gallon"\n', encoding="utf-8")
    words = [["check"], ["run"], ["why"], ["improve"], ["sums"], ["report", "-o", "page.html"],
             ["sweep", "--vary", "tank.height=16 in,18 in"], ["picture", "-o", "tank.png"],
             ["film", "-o", "tank.gif"], ["compare", "tank.toml"]]  # fmt: skip
    for command, *more in words:
        code = outcome([command, "tank.toml", *more])
        said = capsys.readouterr().err
        assert code == 2, command
        assert "tank.toml, days" in said, command
        assert "Traceback" not in said, command
        assert sorted(path.name for path in tmp_path.iterdir()) == ["tank.toml"], command
