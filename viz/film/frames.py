"""Frames: the tank from above in motion, one picture after the other, drawn on what stands still.

The still layer is drawn once for each look at who holds what; on it a frame only pastes small
pictures of fish, lines of chases, marks of bites, and the clock.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw

from viz.checked import days_words
from viz.film.captions import caption, counts_words, legend, outcome_words, spoken
from viz.film.look import (
    ACCENT,
    DEEP,
    PALE,
    SOFT,
    SPECIES_COLOURS,
    font,
)
from viz.film.moving import Moving
from viz.film.places import places_of, px
from viz.film.still import still
from viz.film.story import END_SHARE, TITLE_SHARE, Run, Scene
from viz.phrases import LETTERS
from viz.replay_page import ONE_RUN, moment

if TYPE_CHECKING:
    from sim.footage import Footage, Ground

SAID_S = 2.2  # of film, of the words on what was skipped


class Screen:
    """All that is drawn of a film.

    Parameters
    ----------
    runs
        One for each tank.
    scenes
        The story.
    footage
        For each tank what was recorded of each scene, as `footage[tank][scene]`.
    size
        Pixels.
    fps
        Frames a second.
    seconds
        Of the whole film.
    title
        What the film is called.
    """

    def __init__(
        self,
        runs: Sequence[Run],
        scenes: Sequence[Scene],
        footage: Sequence[Sequence[Footage]],
        *,
        size: tuple[int, int],
        fps: int,
        seconds: float,
        title: str,
    ) -> None:
        self.runs, self.scenes, self.footage = runs, scenes, footage
        self.size, self.fps, self.title = size, fps, title
        self.title_s, self.end_s = TITLE_SHARE * seconds, END_SHARE * seconds
        self.places = places_of([run.design.layout for run in runs], size=size)
        keys = list(dict.fromkeys(m.species.key for r in runs for m in r.design.layout.members))
        self.colours = {
            key: SPECIES_COLOURS[k % len(SPECIES_COLOURS)] for k, key in enumerate(keys)
        }

    @property
    def frames(self) -> int:
        """How many frames there are."""
        parts = (self.title_s, *(scene.seconds for scene in self.scenes), self.end_s)
        return sum(self._count(part) for part in parts)

    def play(self) -> Iterator[Image.Image]:
        """Yield every frame in its turn."""
        card = self.title_card()
        for _ in range(self._count(self.title_s)):
            yield card
        for number in range(len(self.scenes)):
            yield from self._scene(number)
        card = self.end_card()
        for _ in range(self._count(self.end_s)):
            yield card

    def sample(self) -> Image.Image:
        """Return a frame with the colours of most others."""
        return next(self._scene(len(self.scenes) // 2))

    def _count(self, seconds: float) -> int:
        return round(seconds * self.fps)

    def px(self, length: float) -> int:
        """Return a length on the wide screen as pixels of this one, at least 1."""
        return px(length, size=self.size)

    # --- scenes ----------------------------------------------------------------------------

    def _scene(self, number: int) -> Iterator[Image.Image]:
        scene = self.scenes[number]
        base = self._base(number)
        moving = [self._moving(tank, number) for tank in range(len(self.runs))]
        kept: dict[tuple[int, int], Image.Image] = {}
        for k in range(self._count(scene.seconds)):
            film_s = k / self.fps
            frame = base.copy()
            pen = ImageDraw.Draw(frame)
            for tank, shot in enumerate(scene.shots):
                footage = self.footage[tank][number]
                time_s = min(shot.start_s + film_s * scene.speed, float(footage.time_s[-1]))
                ground = footage.ground_at(time_s)
                key = (tank, id(ground))
                if key not in kept:
                    kept[key] = self._still(tank, ground)
                place = self.places[tank]
                frame.paste(kept[key], (place.left, place.top))
                moving[tank].draw(frame, time_s)
                self._clock(pen, tank, time_s)
            if film_s < SAID_S:
                self._skipped(pen, number)
            yield frame

    def _base(self, number: int) -> Image.Image:
        """What stands still through a scene: its name, the words, the day line."""
        scene = self.scenes[number]
        frame = Image.new("RGB", self.size, DEEP)
        pen = ImageDraw.Draw(frame)
        edge = self.px(24)
        pen.text((edge, self.px(36)), scene.name, fill=PALE, font=font(self.px(34), bold=True),
                 anchor="lm")  # fmt: skip
        for tank, (run, shot) in enumerate(zip(self.runs, scene.shots, strict=True)):
            place, footage = self.places[tank], self.footage[tank][number]
            if len(self.runs) > 1:
                pen.text(
                    (place.left, place.top - self.px(16)), f"{LETTERS[tank]}  {run.design.name}",
                    fill=PALE, font=font(self.px(18), bold=True), anchor="lm",
                )  # fmt: skip
            said = caption(scene, shot=shot, footage=footage, run=run)
            y = self._paragraph(
                pen, said, (place.words_left, place.words_top), wide=place.words_wide,
                size=24 if len(self.runs) == 1 else 20, fill=PALE,
            )  # fmt: skip
            self._paragraph(
                pen, counts_words(footage.ground[0], run=run) + ".",
                (place.words_left, y + self.px(4)), wide=place.words_wide, size=16, fill=SOFT,
            )  # fmt: skip
        self._legend(pen)
        self._day_line(pen, number)
        return frame

    def _moving(self, tank: int, number: int) -> Moving:
        return Moving(
            self.footage[tank][number], place=self.places[tank],
            members=self.runs[tank].design.layout.members, colours=self.colours,
            speed=self.scenes[number].speed, wide=self.size[0],
        )  # fmt: skip

    def _still(self, tank: int, ground: Ground) -> Image.Image:
        place = self.places[tank]
        stage = self.runs[tank].design.layout.stages[ground.stage]
        return still(stage, ground, size=(place.wide, place.high), letters=self.px(13))

    def _paragraph(
        self, pen: ImageDraw.ImageDraw, words: str, at: tuple[int, int], *, wide: int, size: int,
        fill: str, bold: bool = False,
    ) -> int:  # fmt: skip
        """Write words in lines of a width; return where the next line would stand."""
        letters = font(self.px(size), bold=bold)
        line, y = "", at[1]
        for word in [*words.split(), ""]:
            longer = f"{line} {word}".strip()
            if line and (not word or letters.getlength(longer) > wide):
                pen.text((at[0], y), line, fill=fill, font=letters)
                y += round(1.3 * self.px(size))
                line = word
            else:
                line = longer
        return y

    def _clock(self, pen: ImageDraw.ImageDraw, tank: int, time_s: float) -> None:
        place = self.places[tank]
        if len(self.runs) > 1:
            at = (place.left + place.wide, place.top - self.px(16))
            pen.text(at, moment(time_s), fill=PALE, font=font(self.px(18)), anchor="rm")
        else:
            at = (self.size[0] - self.px(24), self.px(36))
            pen.text(at, moment(time_s), fill=PALE, font=font(self.px(28)), anchor="rm")

    def _legend(self, pen: ImageDraw.ImageDraw) -> None:
        x, y = self.px(24), self.size[1] - self.px(64)
        letters = font(self.px(16))
        for words, species in legend(self.runs):
            if x + letters.getlength(words) > self.size[0] - self.px(340):
                break
            pen.ellipse([x, y - self.px(6), x + self.px(12), y + self.px(6)],
                        fill=self.colours[species], outline=SOFT)  # fmt: skip
            pen.text((x + self.px(18), y), words, fill=SOFT, font=letters, anchor="lm")
            x += round(letters.getlength(words)) + self.px(44)
        pen.text((self.size[0] - self.px(24), y), "hatched: ground that is defended", fill=SOFT,
                 font=letters, anchor="rm")  # fmt: skip

    def _day_line(self, pen: ImageDraw.ImageDraw, number: int) -> None:
        """The days of the run as a line, a mark for each scene, the present one filled."""
        scene = self.scenes[number]
        y = self.size[1] - self.px(26)
        left, right = self.px(24), self.size[0] // 2
        days = self.runs[0].design.scenario.days
        letters = font(self.px(16))
        pen.line([left, y, right, y], fill=SOFT, width=self.px(1))
        for k, one in enumerate(self.scenes):
            x = left + (right - left) * min(one.shots[0].start_s / 86400.0 / days, 1.0)
            here = k == number
            r = self.px(7 if here else 4)
            pen.ellipse([x - r, y - r, x + r, y + r], fill=ACCENT if here else DEEP, outline=SOFT)
        pen.text((right + self.px(12), y), days_words(days), fill=SOFT, font=letters, anchor="lm")
        speed = f"shown {scene.speed:.2g} times as fast as life"
        pen.text((self.size[0] - left, y), speed, fill=SOFT, font=letters, anchor="rm")

    def _skipped(self, pen: ImageDraw.ImageDraw, number: int) -> None:
        """Say how much of the run was left out before this scene."""
        words = self.skipped_words(number)
        if words:
            at = (self.size[0] // 2, self.px(36))
            pen.text(at, words, fill="#e39a63", font=font(self.px(22)), anchor="mm")

    def skipped_words(self, number: int) -> str:
        """Return how much of the run was left out before a scene; empty where nothing was."""
        if number == 0:
            return ""
        gaps = [
            shots.start_s - before.end_s
            for shots, before in zip(
                self.scenes[number].shots, self.scenes[number - 1].shots, strict=True
            )
        ]
        said = [spoken(gap) for gap in gaps if gap > 1.0]
        if not said:
            return ""
        if len(set(said)) == 1 and len(said) == len(gaps):
            return f"{said[0]} later"
        return "; ".join(
            f"{LETTERS[k]} {spoken(gap)} later" for k, gap in enumerate(gaps) if gap > 1.0
        )

    # --- cards -----------------------------------------------------------------------------

    def title_card(self) -> Image.Image:
        """Return what stands before the film: the question, what is shown, and of how much."""
        frame = Image.new("RGB", self.size, DEEP)
        pen = ImageDraw.Draw(frame)
        x, wide = self.px(90), self.size[0] - 2 * self.px(90)
        y = self._paragraph(
            pen, self.title, (x, self.px(190)), wide=wide, size=40, fill=PALE, bold=True
        )
        y += self.px(18)
        for words in self.opening():
            y = self._paragraph(pen, words, (x, y), wide=wide, size=22, fill=SOFT) + self.px(10)
        return frame

    def opening(self) -> list[str]:
        """Return the sentences of the title card."""
        run = self.runs[0]
        number = run.chronicle.outcome.run
        days = run.design.scenario.days
        shown = sum(shot.end_s - shot.start_s for one in self.scenes for shot in one.shots)
        shown /= len(self.runs)
        what = (
            f"Run {number} of a model of {days_words(days)}."
            if len(self.runs) == 1
            else f"Run {number} of a model of {days_words(days)}, with the same fish in each tank."
        )
        return [
            what,
            f"{len(self.scenes)} moments, {spoken(shown)} in all, are shown; the rest is skipped.",
        ]

    def end_card(self) -> Image.Image:
        """Return what stands after the film: what came of it, and what one run cannot tell."""
        frame = Image.new("RGB", self.size, DEEP)
        pen = ImageDraw.Draw(frame)
        x, wide = self.px(90), self.size[0] - 2 * self.px(90)
        y = self._paragraph(
            pen, "What came of it", (x, self.px(110)), wide=wide, size=34, fill=PALE, bold=True
        ) + self.px(14)
        for tank, run in enumerate(self.runs):
            if len(self.runs) > 1:
                head = f"{LETTERS[tank]}  {run.design.name}"
                y = self._paragraph(pen, head, (x, y), wide=wide, size=22, fill=PALE, bold=True)
            for words in outcome_words(run):
                y = self._paragraph(pen, words, (x, y), wide=wide, size=22, fill=PALE)
            y += self.px(16)
        self._paragraph(pen, ONE_RUN, (x, y + self.px(8)), wide=wide, size=20, fill="#e39a63")
        return frame
