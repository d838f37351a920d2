"""Frames of a film: what is drawn where, held against the same frame without it."""

from __future__ import annotations

from functools import cache
from itertools import islice
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
from PIL import ImageColor

from sim.chronicle import Chronicle
from sim.footage import FRAME, Footage, Ground
from sim.ground import Territory
from sim.records import LOG
from sim.rules.codes import AWAY, FLEE, IN_TANK, PURSUE, SWIM
from tests.sim.worlds import shipped
from viz.film import frames as drawn
from viz.film.frames import Screen
from viz.film.look import ACCENT, DEEP, FLOOR, GLASS, INK, PALE, holder_style
from viz.film.story import Moment, Run, Scene, Shot

SIZE, FPS = (1280, 720), 2
TICK_S, TICKS, LAST = 0.25, 13, 5  # three seconds of six frames; the last is at 2.5 s
HUNTER, HUNTED = 0, 1
STEP_M = 0.06  # in a tick, of both, to the right
EVENT = Moment(0.0, "event", "the lamp goes out")


# --- what is filmed is made up -----------------------------------------------------------------


def run_in(name: str) -> Run:
    """A run of a shipped tank, of which only the fish and the furniture are real."""
    tank = shipped(name)
    design: Any = SimpleNamespace(name=name, scenario=tank.scenario, layout=tank.layout)
    outcome: Any = SimpleNamespace(run=0)
    return Run(design, Chronicle(outcome, np.zeros(0, LOG), (), 1.0, 0.5), ((0.0, 240.0),))


def held(x0: float, y0: float, x1: float, y1: float, *, by: int = 0) -> Ground:
    return ground(Territory((by,), 0, shapely.box(x0, y0, x1, y1)))


def ground(*territories: Territory) -> Ground:
    return Ground(0.0, 0, territories, (), 3, 2, (0, 0, 0))


NOBODY = ground()


def filmed(run: Run, on: Ground, *, chase: bool = False, from_x_m: float = 0.2) -> Footage:
    """Two fish swim to the right along the front, 0.2 m apart; the one behind may be chasing."""
    rows = np.zeros((TICKS, len(run.design.layout.members)), FRAME)
    rows["presence"], rows["room"], rows["target"] = AWAY, -1, -1
    for fish in (HUNTER, HUNTED):
        rows["presence"][:, fish], rows["act"][:, fish] = IN_TANK, SWIM
        rows["x"][:, fish] = from_x_m + 0.2 * fish + STEP_M * np.arange(TICKS)
        rows["y"][:, fish] = 0.07
        rows["head_x"][:, fish] = 1.0
        rows["length"][:, fish], rows["width"][:, fish] = 0.1, 0.02
    if chase:
        rows["act"][:, HUNTER], rows["act"][:, HUNTED] = PURSUE, FLEE
        rows["target"][:, HUNTER] = HUNTED
    return Footage(TICK_S * np.arange(TICKS), rows, (on,))


def screen(*tanks: tuple[Run, Footage], kind: str = "event") -> Screen:
    """A film of one scene as fast as life, whose cards are too short for a frame."""
    shot = Shot(0.0, 3.0, EVENT if kind == "event" else None)
    scene = Scene(kind, 3.0, 1.0, (shot,) * len(tanks))
    runs, footage = [run for run, _ in tanks], [[one] for _, one in tanks]
    return Screen(runs, [scene], footage, size=SIZE, fps=FPS, seconds=1.0, title="Made up")


def last_frame(of: Screen) -> np.ndarray:
    """The last frame of the scene, red, green and blue of each pixel."""
    (frame,) = islice(of.play(), LAST, LAST + 1)
    return np.asarray(frame, dtype=int)


def changed(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Which pixels differ, shape (high, wide)."""
    found: np.ndarray = np.abs(one - other).max(axis=2) > 0
    return found


def near(pixels: np.ndarray, colour: str, *, within: int = 40) -> np.ndarray:
    found: np.ndarray = np.abs(pixels - np.array(ImageColor.getrgb(colour))).max(axis=2) <= within
    return found


def box_px(of: Screen, tank: int, *metres: float, by_px: float = 0.0) -> np.ndarray:
    """Which pixels lie in a box of the floor (x0, y0, x1, y1), made wider to all sides."""
    place, (x0, y0, x1, y1) = of.places[tank], metres
    (left, bottom), (right, top) = place.at(x0, y0), place.at(x1, y1)
    y, x = np.indices((SIZE[1], SIZE[0])) + 0.5
    inside: np.ndarray = (x > left - by_px) & (x < right + by_px)
    return inside & (y > top - by_px) & (y < bottom + by_px)


def floor_px(of: Screen, tank: int, *, by_px: float = 0.0) -> np.ndarray:
    layout = of.runs[tank].design.layout
    return box_px(of, tank, 0.0, 0.0, layout.length_m, layout.width_m, by_px=by_px)


def words_px(of: Screen, tank: int) -> np.ndarray:
    """The band in which the words of a tank stand: from their corner down to what comes next."""
    place, last = of.places[tank], tank + 1 == len(of.places)
    below = SIZE[1] - of.px(72) if last else of.places[tank + 1].top - of.px(30)
    y, x = np.indices((SIZE[1], SIZE[0]))
    right = place.words_left + place.words_wide
    inside: np.ndarray = (x >= place.words_left - 2) & (x < right)  # a letter may lean out
    return inside & (y >= place.words_top) & (y < below)


@cache
def four_feet() -> Run:
    return run_in("convict-four-foot")


# --- held ground -------------------------------------------------------------------------------

OPEN = (0.66, 0.05, 0.96, 0.28)  # bare floor of the four-foot tank


@pytest.mark.parametrize("holder", [0, 1, 8])
def test_held_ground_is_tinted_all_over_and_nothing_else_changes(holder: int) -> None:
    run = four_feet()
    without = screen((run, filmed(run, NOBODY)))
    own = held(*OPEN, by=holder)
    one, other = (last_frame(screen((run, filmed(run, each)))) for each in (NOBODY, own))
    differ = changed(one, other)
    inside = box_px(without, 0, *OPEN, by_px=-2.0) & near(one, FLOOR, within=6)  # not under fish
    assert inside.sum() > 10_000
    assert differ[inside].mean() > 0.999
    assert not differ[~box_px(without, 0, *OPEN, by_px=3.0)].any()
    # a fifth of the owner's colour over the floor, where no hatching and no name lies on it
    floor, colour = (np.array(ImageColor.getrgb(c)) for c in (FLOOR, holder_style(holder)[0]))
    tint = np.median(other[inside], axis=0)
    assert np.abs(tint - (0.8 * floor + 0.2 * colour)).max() < 12


def test_two_holders_of_one_colour_are_told_apart_by_their_hatching() -> None:
    assert holder_style(2)[0] == holder_style(8)[0]
    run = four_feet()
    one, other = (
        last_frame(screen((run, filmed(run, held(*OPEN, by=holder))))) for holder in (2, 8)
    )
    of = screen((run, filmed(run, NOBODY)))
    nameless = box_px(of, 0, OPEN[0], OPEN[1], OPEN[2], OPEN[1] + 0.08)
    assert changed(one, other)[nameless].mean() > 0.1


def test_ground_is_shown_as_it_was_at_the_time_of_the_frame() -> None:
    """Left ground to begin with, right ground from the first second on: the last frame has that."""
    run = four_feet()
    left, right = held(0.40, 0.05, 0.55, 0.20), held(*OPEN)
    later = Ground(1.0, 0, right.territories, (), 3, 2, (0, 0, 0))
    both = filmed(run, left)
    moved = Footage(both.time_s, both.frames, (left, later))
    assert (last_frame(screen((run, moved))) == last_frame(screen((run, filmed(run, right))))).all()
    first, second = (next(screen((run, one)).play()) for one in (moved, both))
    assert first.tobytes() == second.tobytes()


# --- a chase -----------------------------------------------------------------------------------


def now_m(fish: int) -> float:
    """Where a fish is in the last frame, from the left, m."""
    return 0.2 + 0.2 * fish + STEP_M * (LAST / FPS) / TICK_S


def test_a_chase_draws_both_ways_and_the_hunter_bright_and_changes_nothing_far_away() -> None:
    run = four_feet()
    of = screen((run, filmed(run, NOBODY)))
    calm, wild = (
        last_frame(screen((run, filmed(run, NOBODY, chase=chase)))) for chase in (False, True)
    )
    differ = changed(calm, wild)
    # a second behind each there is a line, copper behind the hunter and dark behind the hunted
    behind_m = STEP_M / TICK_S
    for fish, far_m in ((HUNTER, 0.95 * behind_m), (HUNTED, 0.2 - 0.06)):  # up to the hunter
        line = box_px(of, 0, now_m(fish) - far_m, 0.069, now_m(fish) - 0.06, 0.071)
        assert differ[line].mean() > 0.99
    copper, dark = (np.array(ImageColor.getrgb(c)) for c in (ACCENT, INK))
    floor = np.array(ImageColor.getrgb(FLOOR))
    hunters = box_px(of, 0, now_m(HUNTER) - 0.14, 0.069, now_m(HUNTER) - 0.08, 0.071)
    hunteds = box_px(of, 0, now_m(HUNTED) - 0.14, 0.069, now_m(HUNTED) - 0.08, 0.071)
    for part, colour in ((hunters, copper), (hunteds, dark)):
        seen = wild[part].mean(axis=0)
        assert np.abs(seen - colour).sum() < np.abs(seen - floor).sum()
    assert wild[hunters].mean(axis=0)[0] - wild[hunteds].mean(axis=0)[0] > 40  # of red
    # the older part is the fainter
    x = now_m(HUNTER) - 0.9 * behind_m
    old = box_px(of, 0, x, 0.069, x + 0.02, 0.071)
    assert np.abs(wild[old] - calm[old]).mean() < 0.6 * np.abs(wild[hunters] - calm[hunters]).mean()
    # the edge of the hunter is copper, that of the hunted stays pale
    bodies = [
        box_px(of, 0, now_m(fish) - 0.05, 0.055, now_m(fish) + 0.05, 0.085)
        for fish in (HUNTER, HUNTED)
    ]
    pale = [[int(near(one, PALE)[body].sum()) for one in (calm, wild)] for body in bodies]
    assert pale[HUNTER][1] < 0.3 * pale[HUNTER][0]
    assert pale[HUNTED][1] > 0.7 * pale[HUNTED][0]
    # names stand by the two; beyond their reach, 36 pixels up or down, nothing is different
    reach = box_px(of, 0, now_m(HUNTER) - 1.05 * behind_m, 0.07, now_m(HUNTED) + 0.05, 0.07,
                   by_px=of.px(36))  # fmt: skip
    assert not differ[~reach].any()
    assert differ[reach & ~box_px(of, 0, 0.0, 0.055, 1.2, 0.085)].sum() > 400  # the names


def test_who_chases_whom_is_told_by_who_is_bright() -> None:
    """The same two fish in the same places, the one ahead chasing the one behind."""
    run = four_feet()
    forth, back = (filmed(run, NOBODY, chase=True) for _ in range(2))
    acts, targets = back.frames["act"], back.frames["target"]
    acts[:, HUNTER], acts[:, HUNTED] = FLEE, PURSUE
    targets[:, HUNTER], targets[:, HUNTED] = -1, HUNTER
    of = screen((run, forth))
    pictures = [last_frame(screen((run, one))) for one in (forth, back)]
    for fish in (HUNTER, HUNTED):
        edge = box_px(of, 0, now_m(fish) - 0.02, 0.055, now_m(fish) + 0.05, 0.085)
        bright = [int(near(one, ACCENT, within=30)[edge].sum()) for one in pictures]
        assert bright[fish] > 3 * bright[1 - fish]


# --- the caption -------------------------------------------------------------------------------


def test_a_caption_stands_in_its_band_and_nowhere_else(monkeypatch: pytest.MonkeyPatch) -> None:
    run = four_feet()
    footage = filmed(run, held(*OPEN), chase=True)
    of = screen((run, footage))
    said = last_frame(of)
    band = words_px(of, 0)
    assert not (band & floor_px(of, 0, by_px=2.0)).any()
    monkeypatch.setattr(drawn, "caption", lambda *_, **__: "")
    silent = last_frame(screen((run, footage)))
    differ = changed(said, silent)
    assert differ[band].sum() > 500
    assert not differ[~band].any()
    first_line = band & (np.indices(band.shape)[0] < of.places[0].words_top + of.px(28))
    assert near(said, PALE, within=20)[first_line].sum() > 300
    assert not near(silent, PALE, within=20)[band].any()  # the counts that stay are softer
    monkeypatch.setattr(drawn, "counts_words", lambda *_, **__: "")
    mute = last_frame(screen((run, footage)))
    assert changed(mute, silent)[band].sum() > 200
    assert not changed(mute, silent)[~band].any()
    assert (~near(mute, DEEP, within=0)[band]).sum() < 20  # nothing is left but a full stop


def test_the_caption_is_of_the_ground_that_is_seen() -> None:
    """In a quiet scene the caption says who holds what: with the ground its words change too."""
    run = four_feet()
    of = screen((run, filmed(run, NOBODY)), kind="quiet")
    one, other = (
        last_frame(screen((run, filmed(run, each)), kind="quiet")) for each in (NOBODY, held(*OPEN))
    )
    differ, band = changed(one, other), words_px(of, 0)
    assert differ[band].sum() > 500
    assert not differ[~(band | box_px(of, 0, *OPEN, by_px=3.0))].any()


# --- two tanks ---------------------------------------------------------------------------------

LEFT, RIGHT = (0.42, 0.02, 0.62, 0.14), (0.66, 0.04, 0.92, 0.25)  # bare floor in both tanks


def two(*grounds: Ground, chase: tuple[bool, bool] = (False, False)) -> Screen:
    runs = (four_feet(), run_in("convict-bare"))
    return screen(
        *((run, filmed(run, on, chase=wild, from_x_m=0.1))
          for run, on, wild in zip(runs, grounds, chase, strict=True))
    )  # fmt: skip


def test_two_tanks_are_drawn_one_above_the_other_to_one_scale() -> None:
    of = two(NOBODY, NOBODY)
    frame = last_frame(of)
    glass = near(frame, GLASS, within=12)
    rows = np.flatnonzero(glass.sum(axis=1) > 300)  # the front and the back of each
    groups = np.split(rows, np.flatnonzero(np.diff(rows) > 3) + 1)
    assert len(groups) == 4
    edges = [float(group.mean()) for group in groups]
    high = of.places[0].scale * four_feet().design.layout.width_m
    assert [edges[1] - edges[0], edges[3] - edges[2]] == pytest.approx([high, high], abs=3)
    assert edges[2] > edges[1] + 40  # words of the first, heading of the second
    for tank, top in enumerate((edges[0], edges[2])):
        assert of.places[tank].top == pytest.approx(top, abs=3)
        floor = floor_px(of, tank, by_px=-3.0)
        bare = near(frame, FLOOR, within=6)[floor].mean()
        assert bare > 0.9 if tank else 0.5 < bare < 0.9  # only the first has furniture
    assert not near(frame, FLOOR, within=6)[~(floor_px(of, 0) | floor_px(of, 1))].any()


def test_each_of_two_tanks_shows_its_own_ground_and_its_own_chase() -> None:
    nothing = last_frame(two(NOBODY, NOBODY))
    of = two(NOBODY, NOBODY)
    for tank in (0, 1):
        for where, holder in ((LEFT, 0), (RIGHT, 1)):
            own = held(*where, by=holder)
            one = last_frame(two(*((own, NOBODY) if tank == 0 else (NOBODY, own))))
            differ = changed(nothing, one)
            assert differ[box_px(of, tank, *where, by_px=-2.0)].mean() > 0.9
            assert not differ[~box_px(of, tank, *where, by_px=3.0)].any()
        wild = last_frame(two(NOBODY, NOBODY, chase=(tank == 0, tank == 1)))
        differ = changed(nothing, wild)
        assert differ[floor_px(of, tank)].sum() > 500
        assert not differ[~floor_px(of, tank)].any()
    both = last_frame(two(held(*LEFT, by=0), held(*RIGHT, by=1)))
    differ = changed(nothing, both)
    for tank, mine, others in ((0, LEFT, RIGHT), (1, RIGHT, LEFT)):
        assert differ[box_px(of, tank, *mine, by_px=-2.0)].mean() > 0.9
        assert not differ[box_px(of, tank, *others, by_px=-3.0)].any()


def test_each_of_two_tanks_has_its_own_caption(monkeypatch: pytest.MonkeyPatch) -> None:
    of = two(NOBODY, NOBODY)
    said = last_frame(of)
    second = of.runs[1]
    shown = drawn.caption
    monkeypatch.setattr(
        drawn, "caption",
        lambda *a, run, **more: "" if run.design.name == second.design.name
        else shown(*a, run=run, **more),
    )  # fmt: skip
    differ = changed(said, last_frame(two(NOBODY, NOBODY)))
    band = words_px(of, 1)
    assert differ[band].sum() > 300
    assert not differ[~band].any()
