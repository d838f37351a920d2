"""Frames into a file: MP4 through ffmpeg where there is one, GIF without it.

A file is there whole or not at all: it is made under a passing name beside its place.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.errors import Problem, Refused
from viz.asked import quoted
from viz.record import mask, not_written

if TYPE_CHECKING:
    from PIL import Image

GIF_COLOURS = 128


def find_ffmpeg() -> str | None:
    """Return the ffmpeg to call: that of the package imageio-ffmpeg, else the system's, else None.

    Returns
    -------
    str or None
        Path of the program.
    """
    try:
        from imageio_ffmpeg import get_ffmpeg_exe
    except ImportError:
        return shutil.which("ffmpeg")
    try:
        return str(get_ffmpeg_exe())
    except RuntimeError:
        return shutil.which("ffmpeg")


@contextmanager
def made_whole(path: Path) -> Iterator[Path]:
    """Yield a passing name with the same ending; it takes its own name when the block ends well.

    Parameters
    ----------
    path
        Where the file is to stand.

    Raises
    ------
    Refused
        If it cannot be written.
    """
    real = Path(os.path.realpath(path))
    passing = None
    try:
        handle, name = tempfile.mkstemp(prefix=".holdwater-", suffix=real.suffix, dir=real.parent)
        os.close(handle)
        passing = Path(name)
        yield passing
        os.chmod(passing, 0o666 & ~mask())
        os.replace(passing, real)
    except OSError as error:
        raise not_written(path, error) from None
    finally:
        if passing is not None:
            with suppress(OSError):
                passing.unlink(missing_ok=True)


def write_mp4(
    path: Path, frames: Iterable[Image.Image], *, fps: int, size: tuple[int, int],
    ffmpeg: str, title: str, words: str,
) -> None:  # fmt: skip
    """Write frames as an MP4 that plays everywhere (H.264, yuv420p).

    Parameters
    ----------
    path
        The file.
    frames
        RGB, all of one size.
    fps
        Frames a second.
    size
        Width and height in pixels, both even.
    ffmpeg
        The program.
    title, words
        Kept in the file, for who cannot see it.

    Raises
    ------
    Refused
        If ffmpeg cannot make it, or it cannot be written.
    """
    with made_whole(path) as passing, tempfile.TemporaryFile() as said:
        command = [
            ffmpeg, "-hide_banner", "-loglevel", "error", "-y",
            "-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{size[0]}x{size[1]}", "-r", str(fps),
            "-i", "-", "-an", "-c:v", "libx264", "-preset", "veryfast", "-crf", "21",
            "-pix_fmt", "yuv420p", "-movflags", "+faststart",
            "-metadata", f"title={title}", "-metadata", f"comment={words}", str(passing),
        ]  # fmt: skip
        process = subprocess.Popen(command, stdin=subprocess.PIPE, stderr=said)
        assert process.stdin is not None
        try:
            with suppress(BrokenPipeError):
                for frame in frames:
                    process.stdin.write(frame.tobytes())
            with suppress(BrokenPipeError):
                process.stdin.close()
        except BaseException:
            process.kill()
            process.wait()
            raise
        if process.wait() != 0:
            said.seek(0)
            last = said.read().decode("utf-8", "replace").strip().splitlines()[-1:]
            raise Refused(
                Problem(
                    quoted(path),
                    f"ffmpeg could not make it ({' '.join(last) or 'it said nothing'}); expected "
                    "one with libx264. Install the extra `film`, or ask for a .gif.",
                )
            )


def write_gif(
    path: Path, frames: Iterable[Image.Image], *, fps: int, words: str, sample: Image.Image
) -> None:
    """Write frames as a GIF that plays over and over.

    Parameters
    ----------
    path
        The file.
    frames
        RGB, all of one size.
    fps
        Frames a second; those of a GIF last whole hundredths of a second.
    words
        Kept in the file, for who cannot see it.
    sample
        A frame whose colours are typical.

    Raises
    ------
    Refused
        If it cannot be written.
    """
    from PIL import Image

    with made_whole(path) as passing:
        palette = _palette(sample)
        steady = (frame.quantize(palette=palette, dither=Image.Dither.NONE) for frame in frames)
        first = next(steady)
        first.save(
            passing, format="GIF", save_all=True, append_images=steady, loop=0, optimize=False,
            duration=round(100 / fps) * 10, comment=words.encode("ascii", "replace"),
        )  # fmt: skip


def _palette(frame: Image.Image) -> Image.Image:
    """One palette for all frames: the colours of the film, and blends of each with the others."""
    from PIL import Image

    from viz.film.look import PALETTE

    colours = [tuple(int(c[k : k + 2], 16) for k in (1, 3, 5)) for c in PALETTE]
    blends = [
        tuple(round(a * (1 - t) + b * t) for a, b in zip(one, other, strict=True))
        for i, one in enumerate(colours)
        for other in colours[:i]
        for t in (0.33, 0.67)
    ]
    quantized = frame.quantize(colors=96, dither=Image.Dither.NONE)
    used = np.array((quantized.getpalette() or [])[: 96 * 3]).reshape(-1, 3).tolist()
    flat = [*colours, *used, *blends][:255]
    found = Image.new("P", (1, 1))
    found.putpalette([part for colour in flat for part in colour])
    return found
