"""The film: which moments it shows, what it says of them, and what comes out as a file."""

from __future__ import annotations

import re
import subprocess
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from PIL import Image

from sim.chronicle import Chronicle, Happening
from sim.errors import Refused
from sim.records import LOG
from sim.rules.codes import CHASED
from tests.sim.worlds import shipped
from tests.viz.commands import SMALL
from viz import cli
from viz.film import encode, film_command, making
from viz.film.captions import busy_words, legend, spoken
from viz.film.look import TURNS, fish_picture, holder_style, turn_of
from viz.film.places import Place, places_of
from viz.film.story import BUSY, FIRST, LAST, MOST_SCENES, QUIET, Run, Shot, story_of

DAY = 86400.0


# --- the story, on runs that are made up -----------------------------------------------------


def attacks(*times: float, bites: int = 0) -> np.ndarray:
    rows = np.zeros(len(times), LOG)
    rows["time"], rows["watched"], rows["outcome"] = times, 1, CHASED
    rows["victim"], rows["bites"] = 1, bites
    return rows


def run(*happenings: Happening, log: np.ndarray | None = None, days: int = 10) -> Run:
    """A run that is watched four minutes in every two hours from nine to nine."""
    stretches = tuple(
        (DAY * day + 3600.0 * hour, DAY * day + 3600.0 * hour + 240.0)
        for day in range(days)
        for hour in range(9, 21, 2)
    )
    design: Any = SimpleNamespace(scenario=shipped("newcomer").scenario)
    nothing: Any = None
    chronicle = Chronicle(nothing, attacks() if log is None else log, happenings, 1.0, 0.5)
    return Run(design, chronicle, stretches)


EGGS_S = 5 * DAY + 11 * 3600.0 + 60.0
EGGS = Happening(EGGS_S, "brood", 0, 1, "eggs")


def kinds(scenes: Any) -> list[str]:
    return [scene.kind for scene in scenes]


def test_quiet_life_comes_before_they_spawn_and_the_busiest_moment_after() -> None:
    log = attacks(*(2 * DAY + 9 * 3600.0 + k for k in range(9)), 7 * DAY + 13 * 3600.0 + 30.0)
    scenes = story_of([run(EGGS, log=log)], seconds=60)
    order = kinds(scenes)
    assert order == [FIRST, QUIET, "eggs", BUSY, LAST]
    quiet, eggs, busy = scenes[1].shots[0], scenes[2].shots[0], scenes[3].shots[0]
    assert quiet.end_s < EGGS_S
    assert eggs.start_s < EGGS_S < eggs.end_s
    assert busy.start_s <= 7 * DAY + 13 * 3600.0 + 30.0 <= busy.end_s  # not day 2, before the turn


def test_without_a_turn_the_busiest_moment_is_that_of_the_whole_run() -> None:
    log = attacks(*(2 * DAY + 9 * 3600.0 + 5.0 * k for k in range(9)), 7 * DAY + 13 * 3600.0)
    scenes = story_of([run(log=log)], seconds=60)
    (busy,) = [scene.shots[0] for scene in scenes if scene.kind == BUSY]
    assert busy.start_s // DAY == 2


def test_quiet_life_is_the_stretch_with_the_middle_number_of_chases() -> None:
    """Stretches before the turn hold 0, 1, 1 ... 1, 5 chases: one with a single chase is shown."""
    starts = [DAY * day + 3600.0 * hour for day in range(5) for hour in range(9, 21, 2)]
    log = attacks(
        *sorted([*(s + 10.0 for s in starts[1:]), *(starts[-1] + 20.0 + k for k in range(4))])
    )
    scenes = story_of([run(EGGS, log=log)], seconds=60)
    (quiet,) = [scene.shots[0] for scene in scenes if scene.kind == QUIET]
    stretch = max(s for s in starts if s <= quiet.start_s)
    assert stretch not in (starts[0], starts[-1])


@pytest.mark.parametrize("seconds", [10, 27, 60, 150, 300])
def test_shots_lie_in_watched_time_and_never_run_back(seconds: int) -> None:
    many = [
        Happening(DAY * k + 9.5 * 3600.0, what, k % 3, detail="pot")
        for k, what in enumerate(["takes a place", "first torn fins", "dies", "is moved out"])
    ]
    one, other = run(EGGS, *many, log=attacks(EGGS_S + 5.0)), run(*many[::-1])
    scenes = story_of([one, other], seconds=seconds)
    assert 2 <= len(scenes) <= MOST_SCENES
    assert sum(scene.seconds for scene in scenes) <= 0.83 * seconds
    for tank, told in enumerate((one, other)):
        shots = [scene.shots[tank] for scene in scenes]
        for shot in shots:
            assert any(a - 1e-6 <= shot.start_s < shot.end_s <= b + 1e-6 for a, b in told.stretches)
        assert all(a.end_s <= b.start_s + 1e-6 for a, b in pairwise(shots))
    for scene in scenes:
        shot = scene.shots[0]
        assert shot.end_s - shot.start_s == pytest.approx(scene.seconds * scene.speed, rel=0.5)


def test_a_tank_in_which_it_did_not_happen_shows_what_goes_on_meanwhile() -> None:
    scenes = story_of([run(EGGS), run()], seconds=60)
    (eggs,) = [scene for scene in scenes if scene.kind == "eggs"]
    assert eggs.shots[0].moment is not None
    assert eggs.shots[1].moment is None
    assert abs(eggs.shots[1].start_s - eggs.shots[0].start_s) < 2 * 3600.0


def test_nothing_is_shown_from_before_the_day_that_was_asked_for() -> None:
    scenes = story_of([run(EGGS)], seconds=60, from_s=6 * DAY)
    assert "eggs" not in kinds(scenes)
    assert FIRST not in kinds(scenes)
    assert min(scene.shots[0].start_s for scene in scenes) >= 6 * DAY
    assert story_of([run(EGGS)], seconds=60, from_s=11 * DAY) == ()


def test_the_busiest_moment_is_told_by_what_the_log_counts() -> None:
    log = attacks(100.0, 105.0, 110.0, 119.0, 130.0, bites=2)
    log["attacker"] = [0, 0, 2, 0, 0]
    log["watched"][1] = 0  # leapt: nobody saw it
    assert busy_words(Shot(100.0, 120.0), run=run(log=log)) == (
        "3 chases in 20 seconds, 2 of them by Umber; 6 bites."
    )
    assert busy_words(Shot(125.0, 131.0), run=run(log=log)) == (
        "1 chase in 6 seconds, by Umber; 2 bites."
    )
    assert busy_words(Shot(10.0, 20.0), run=run(log=log)) == "No chase in these 10 seconds."


def test_the_legend_counts_the_fish_as_they_are_numbered() -> None:
    one, other = (
        Run(SimpleNamespace(scenario=tank.scenario, layout=tank.layout), *[None] * 2)  # type: ignore[arg-type]
        for tank in (shipped("newcomer"), shipped("convict-four-foot"))
    )
    own = [("1 Umber"), ("2 Ochre"), ("3 Sienna"), ("4-7 swordtails")]
    assert [words for words, _ in legend([one])] == own
    assert [words for words, _ in legend([one, one])] == own
    both = [words for words, _ in legend([one, other])]
    assert both[:2] == ["A 1 Umber", "A 2 Ochre"]
    assert both[4:] == ["B 1 Basalt", "B 2 Pumice", "B 3-8 swordtails", "B 9 Lint"]


def test_time_is_spoken() -> None:
    assert [spoken(s) for s in (1.0, 40.0, 3000.0, 7200.0, DAY, 2.92 * DAY)] == [
        "1 second", "1 minute", "50 minutes", "2 hours", "1 day", "2 days 22 hours",
    ]  # fmt: skip


# --- drawing -----------------------------------------------------------------------------------


def test_a_fish_looks_where_it_swims() -> None:
    """A third of its length ahead of its middle it is broad, behind it narrow before the tail."""
    for turn, (x, y) in {0: (1, 0), TURNS // 4: (0, -1), TURNS // 2: (-1, 0)}.items():
        picture = fish_picture(60, 14, turn, "#000000", "#ffffff", 3, 11, False)
        alpha = np.asarray(picture.getchannel("A"), dtype=float)
        rows, columns = np.indices(alpha.shape)
        half = picture.width / 2
        far = (columns - half) * x + (rows - half) * y
        ahead, behind = ((way * far > 18) & (way * far < 22) for way in (1, -1))
        assert alpha[ahead].sum() > 1.4 * alpha[behind].sum()
    assert turn_of(0.0, 1.0) == TURNS // 4
    assert turn_of(1.0, -0.001) in (0, TURNS)


def test_owners_are_told_apart_by_colour_and_hatching_together() -> None:
    assert len({holder_style(row) for row in range(36)}) == 36
    assert len({holder_style(row)[1] for row in range(6)}) == 6


def test_a_body_is_drawn_inside_the_glass() -> None:
    place = Place(100, 50, 500.0, 600, 200, 0, 0, 0)
    assert place.at(0.0, 0.0) == (100, 250)
    assert place.inside(100, 250, long_px=60, wide_px=10, turn=0) == (130, 245)
    x, y = place.inside(700, 50, long_px=60, wide_px=10, turn=TURNS // 4)
    assert (round(x), round(y)) == (695, 80)


@pytest.mark.parametrize("sizes", [[(1.2, 0.45)], [(1.2, 0.45), (1.8, 0.45)], [(0.5, 0.5)] * 2])
def test_tanks_are_drawn_to_one_scale_and_do_not_touch(sizes: list[tuple[float, float]]) -> None:
    layouts: Any = [SimpleNamespace(length_m=a, width_m=b) for a, b in sizes]
    places = places_of(layouts, size=(1280, 720))
    assert len({place.scale for place in places}) == 1
    for place, (length, _) in zip(places, sizes, strict=True):
        assert place.wide == round(place.scale * length)
        assert place.left >= 0
        assert place.left + place.wide <= 1280
        assert place.top + place.high <= 720 - 60
        assert place.words_wide >= 200
    assert all(a.top + a.high < b.top for a, b in pairwise(places))


# --- files -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("film")
    (place / "small.toml").write_text(SMALL, "utf-8")
    (place / "bare.toml").write_text(
        '# Does it help to take the pot away?\nbased_on = "small.toml"\ntitle = "Bare"\n'
        '[remove]\npieces = ["pot"]\n', "utf-8",
    )  # fmt: skip
    return place


def test_an_mp4_has_the_frames_and_the_words(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = folder / "one.mp4"
    code = cli.outcome(["film", str(folder / "small.toml"), "-o", str(out), "--seconds", "10"])
    said = capsys.readouterr()
    assert code == 0, said.err
    ffmpeg = encode.find_ffmpeg()
    assert ffmpeg is not None
    told = subprocess.run([ffmpeg, "-hide_banner", "-i", str(out), "-f", "null", "-"],
                          capture_output=True, text=True, check=True).stderr  # fmt: skip
    seconds = float(re.search(r"Duration: 00:00:(\d+\.\d+)", told)[1])  # type: ignore[index]
    assert 9.0 <= seconds <= 10.2
    assert "1280x720" in told
    assert "yuv420p" in told
    assert "Small tank" in told
    assert "day 0, " in told
    assert "The film" in said.out
    assert "What came of it" not in said.out
    assert "In the end: " in said.out
    assert "aquatic veterinarian" in said.out
    assert [path.name for path in folder.iterdir() if path.name.startswith(".")] == []


def test_a_gif_of_two_tanks_lasts_as_long_and_moves(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = folder / "two.gif"
    files = [str(folder / name) for name in ("small.toml", "bare.toml")]
    code = cli.outcome(["film", *files, "-o", str(out), "--seconds", "10", "--run", "2"])
    said = capsys.readouterr()
    assert code == 0, said.err
    lasts, pictures = 0, []
    with Image.open(out) as gif:
        assert gif.size == making.GIF_SIZE
        assert b"Does it help to take the pot away?" in gif.info["comment"]
        for k in range(gif.n_frames):
            gif.seek(k)
            lasts += gif.info["duration"]
            if k in (gif.n_frames // 2, gif.n_frames // 2 + 2):
                pictures.append(np.asarray(gif.convert("RGB"), dtype=int))
    assert 9000 <= lasts <= 10200
    assert (np.abs(pictures[0] - pictures[1]).sum(axis=2) > 60).sum() > 20
    assert "  A day " in said.out
    assert "  B day " in said.out
    assert "Run 2 of a model of 2 days, with the same fish in each tank." in said.out


def test_without_ffmpeg_a_gif_is_made_and_said(folder: Path) -> None:
    wanted = making.Wanted(folder / "other.mp4", 0, 10, 0.0)
    _, now, told = film_command.without_ffmpeg(wanted, ffmpeg=None)
    assert now.out == folder / "other.gif"
    assert "a GIF is made instead" in told
    assert film_command.without_ffmpeg(wanted, ffmpeg="/bin/ffmpeg") == ("/bin/ffmpeg", wanted, "")
    now.out.write_text("mine")
    with pytest.raises(Refused, match="is there already"):
        film_command.without_ffmpeg(wanted, ffmpeg=None)
    assert now.out.read_text() == "mine"


def test_an_ffmpeg_that_fails_is_told_and_leaves_nothing(folder: Path, tmp_path: Path) -> None:
    broken = tmp_path / "ffmpeg"
    broken.write_text("#!/bin/sh\necho no such encoder >&2\nexit 1\n")
    broken.chmod(0o755)
    out = tmp_path / "x.mp4"
    frames = [Image.new("RGB", (64, 64))] * 3
    with pytest.raises(Refused, match="no such encoder"):
        encode.write_mp4(out, frames, fps=25, size=(64, 64), ffmpeg=str(broken), title="", words="")
    assert [path.name for path in tmp_path.iterdir()] == ["ffmpeg"]


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("-o", "a.avi"), "expected a name ending in .mp4 or .gif"),
        (("-o", "none/a.mp4"), "there is no folder"),
        (("-o", "a.mp4", "--seconds", "3"), "a whole number from 10 to 300"),
        (("-o", "a.mp4", "--run", "100"), "--run: got \"100\"; expected a whole number from 0 to"),
        (("-o", "a.mp4", "--from-day", "soon"), "--from-day: got"),
        (("-o", "a.mp4", "--from-day", "9"), "after which nothing of the run was watched"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said(
    folder: Path, more: tuple[str, ...], says: str,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(folder)
    assert cli.outcome(["film", "small.toml", *more]) == 2
    assert says in " ".join(capsys.readouterr().err.split())
    assert not (folder / "a.mp4").exists()


@pytest.mark.parametrize("files", [["small.toml"] * 3])
def test_more_than_two_tanks_are_refused(
    folder: Path, files: list[str], capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(folder)
    assert cli.outcome(["film", *files, "-o", "a.mp4"]) == 2
    assert "got 3 files; expected one, or two to compare" in capsys.readouterr().err


# --- the picture -------------------------------------------------------------------------------


def test_the_picture_is_to_the_scale_it_says(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """30 in at 1 : 3 are 10 in of paper: 1600 dots of the PNG between the outer edges of glass."""
    out = folder / "tank.png"
    assert cli.outcome(["picture", str(folder / "small.toml"), "-o", str(out)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    where = "8 in (20.3 cm) from the left and 6 in (15.2 cm) from the front"
    assert f"pot (flower pot on its side) {where}" in said
    with Image.open(out) as picture:
        assert round(picture.info["dpi"][0]) == 160
        assert "pot (flower pot" in picture.text["Description"]
        pixels = np.asarray(picture.convert("RGB"), dtype=int)
    glass = np.abs(pixels - np.array([0x3F, 0x7F, 0x9C])).sum(axis=2) < 12
    columns = np.flatnonzero(glass.sum(axis=0) > 100)
    assert columns[-1] - columns[0] == pytest.approx(1600 + 6, abs=4)  # a line is 3 points wide


def test_the_picture_as_svg_repeats_and_keeps_its_letters(folder: Path) -> None:
    for name in ("a.svg", "b.svg"):
        assert cli.outcome(["picture", str(folder / "small.toml"), "-o", str(folder / name)]) == 0
    text = (folder / "a.svg").read_text("utf-8")
    assert text == (folder / "b.svg").read_text("utf-8")
    assert ">pot</text>" in text
    assert "1 : 3 printed at full size" in text
    assert "<dc:description>Small tank" in text


def test_a_picture_of_another_kind_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.outcome(["picture", str(folder / "small.toml"), "-o", str(folder / "t.pdf")]) == 2
    assert "expected a name ending in .png or .svg" in capsys.readouterr().err
