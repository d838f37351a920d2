"""A recording: a stretch of a real run in a small file, to be shown while nothing can run yet.

The first visit begins with a tank that already moves, before the rules are compiled for the
machine. What moves is no drawing: `python -m viz.app.recording FILE` plays the tank of the first
visit through `sim.engine.History`, looks for its liveliest stretch in the first hours, and keeps of
every tick what a screen shows. A test plays it again and compares.

The file is a NumPy archive: ``told`` (JSON: tank, run, seed, seconds between frames), ``time`` and
``attacks``, and one array for each field of `FIELDS`, places in tenths of a millimetre.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from sim.engine import History

FORMAT = "holdwater recording 1"
FIRST = "recordings/first.rec"
TANK = "convict-four-foot.toml"
SECONDS = 75.0
RUNS = 8
SEARCHED_S = 3600.0  # of waking time from the first moment on
_PLACE = 1e-4  # m, what a kept place is rounded to
_TURN = 127.0

# Fields of `sim.records.FISH` that a screen shows, and what they are kept as.
WHOLE = ("presence", "layer", "room", "act", "target", "hiding", "site", "goal")
PLACES = ("x", "y", "speed", "reach", "length")
TURNS = ("head_x", "head_y")
SHARES = ("skin", "scales", "fear", "stamina")
FIELDS = (*WHOLE, *PLACES, *TURNS, *SHARES)
ATTACK_FIELDS = ("time", "attacker", "victim", "outcome", "end", "bites", "x", "y")


@dataclass(frozen=True)
class Recording:
    """A stretch of a run.

    Parameters
    ----------
    tank
        File of the tank that ships.
    run, seed
        Which run it is from.
    step_s
        Seconds between two frames.
    time_s
        Time of each frame since midnight of day 0, shape (n_frames,).
    fish
        What is kept of each fish, fields of `sim.records.FISH` named in `FIELDS`, shape
        (n_frames, n_fish).
    attacks
        Those of the stretch, fields of `sim.records.LOG` named in `ATTACK_FIELDS`.
    """

    tank: str
    run: int
    seed: int
    step_s: float
    time_s: np.ndarray
    fish: np.recarray
    attacks: np.recarray

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return self.step_s * len(self.time_s)

    def at(self, seconds: float) -> np.recarray:
        """Return the fish at a moment; after the end it begins anew.

        Parameters
        ----------
        seconds
            Since the beginning of the recording.
        """
        frame: np.recarray = self.fish[int(seconds / self.step_s) % len(self.time_s)]
        return frame


def record(*, runs: int = RUNS) -> Recording:
    """Play the tank of the first visit a few times and return the liveliest stretch of all.

    Parameters
    ----------
    runs
        How many runs are looked through.
    """
    found = []
    for run in range(runs):
        begin, lively = liveliest(first_history(run=run))
        found.append((-lively, run, begin))
    _, run, begin = min(found)
    return stretch(first_history(run=run), run=run, begin=begin, seconds=SECONDS)


def first_history(*, run: int) -> History:
    """Return a run of the tank of the first visit, at its beginning.

    Parameters
    ----------
    run
        Its number.
    """
    from sim.check import check_file
    from sim.engine import History
    from viz.app.opening import shipped

    checked = check_file(shipped(TANK))
    return History(checked.scenario, checked.layout, run=run)


def stretch(history: History, *, run: int, begin: float, seconds: float) -> Recording:
    """Return a stretch of a run.

    Parameters
    ----------
    history
        The run, before it; it is played on.
    run
        Its number.
    begin
        When the stretch begins, s since midnight of day 0.
    seconds
        How long it is.
    """
    from sim.batch import seed_of

    while clock(history) < begin - 1e-9:
        history.strides(1)
    step_s = float(history.state.settings.tick[0])
    times, frames = [], []
    for _ in range(round(seconds / step_s)):
        times.append(clock(history))
        frames.append(kept_of(history.state.fish))
        history.strides(1)
    return Recording(
        tank=TANK,
        run=run,
        seed=seed_of(history.scenario, seed=None),
        step_s=step_s,
        time_s=np.array(times),
        fish=shown_of({name: np.array([frame[name] for frame in frames]) for name in FIELDS}),
        attacks=attacks_between(history, times[0], times[-1]),
    )


def clock(history: History) -> float:
    """Return the time of a history, s since midnight of day 0.

    Parameters
    ----------
    history
        Of a tank that does not settle.
    """
    return float(history.state.tank.clock[0])


def liveliest(history: History) -> tuple[float, float]:
    """Return when the liveliest unbroken watched stretch begins, and how lively it is.

    Lively is the number of chases in it, times the share of fish that are seen in the open.

    Parameters
    ----------
    history
        At its beginning; it is played on.
    """
    from sim.rules.codes import IN_TANK

    starts, chases, seen, unbroken = [], [], [], []
    state, step = history.state, float(history.state.settings.tick[0])
    first, run_of = clock(history), 0
    while clock(history) < first + SEARCHED_S:
        before, count = clock(history), int(state.tank.chases[0])
        in_open = (state.fish.presence == IN_TANK) & (state.fish.room < 0)
        history.strides(1)
        run_of = run_of + 1 if abs(clock(history) - before - step) < 1e-6 else 0
        starts.append(before)
        chases.append(int(state.tank.chases[0]) - count)
        seen.append(float(in_open.mean()))
        unbroken.append(run_of)
    length = round(SECONDS / step)
    window = np.ones(length)
    lively = np.convolve(chases, window, "valid") * np.convolve(seen, window / length, "valid")
    lively[np.array(unbroken[length - 1 :]) < length] = -1.0
    best = int(np.argmax(lively))
    return starts[best], float(lively[best])


def kept_of(fish: np.recarray) -> dict[str, np.ndarray]:
    """Return what a recording keeps of the fish of one moment, in whole numbers.

    Parameters
    ----------
    fish
        As `sim.state.State` has them.
    """
    kept = {name: fish[name].astype(np.int16) for name in WHOLE}
    kept |= {name: np.round(fish[name] / _PLACE).astype(np.uint16) for name in PLACES}
    kept |= {name: np.round(fish[name] * _TURN).astype(np.int8) for name in TURNS}
    kept |= {name: np.round(np.clip(fish[name], 0, 1) * 255).astype(np.uint8) for name in SHARES}
    return kept


def shown_of(kept: dict[str, np.ndarray]) -> np.recarray:
    """Return fish with the fields a screen reads, in the units of `sim.records.FISH`.

    Parameters
    ----------
    kept
        As `kept_of`, one row for each moment.
    """
    kinds = [(name, "i8" if name in WHOLE else "f8") for name in FIELDS]
    fish = np.zeros(kept["x"].shape, dtype=kinds)
    for name in FIELDS:
        unit = _PLACE if name in PLACES else 1 / _TURN if name in TURNS else 1 / 255
        fish[name] = kept[name] if name in WHOLE else kept[name] * unit
    return fish.view(np.recarray)


def attacks_between(history: History, first_s: float, last_s: float) -> np.recarray:
    """Return the attacks of a stretch as far as the log still holds them.

    Parameters
    ----------
    history
        Shortly after it.
    first_s, last_s
        Of the stretch, s since midnight of day 0.
    """
    from sim.records import LOG_ROWS

    rows = int(history.state.tank.log_rows[0])
    ring = history.state.log[np.arange(max(0, rows - LOG_ROWS), rows) % LOG_ROWS]
    found = ring[(ring["time"] >= first_s) & (ring["time"] <= last_s)]
    kinds = [(name, found.dtype[name]) for name in ATTACK_FIELDS]
    kept = np.zeros(len(found), dtype=kinds)
    for name in ATTACK_FIELDS:
        kept[name] = found[name]
    return kept.view(np.recarray)


def to_bytes(recording: Recording) -> bytes:
    """Return a recording as the bytes of a file.

    Parameters
    ----------
    recording
        What is kept.
    """
    told = {
        "format": FORMAT,
        "tank": recording.tank,
        "run": recording.run,
        "seed": recording.seed,
        "step_s": recording.step_s,
    }
    fields: dict[str, Any] = {"time": recording.time_s}
    fields |= {f"attack_{name}": recording.attacks[name] for name in ATTACK_FIELDS}
    for name, values in kept_of(recording.fish).items():
        # Differences from frame to frame are small and pack well; they wrap around.
        fields[f"fish_{name}"] = np.diff(values, axis=0, prepend=np.zeros_like(values[:1]))
    buffer = BytesIO()
    fields["told"] = np.frombuffer(json.dumps(told).encode(), dtype=np.uint8)
    np.savez_compressed(buffer, **fields)
    return buffer.getvalue()


def from_bytes(content: bytes) -> Recording:
    """Return the recording that the bytes of a file hold.

    Parameters
    ----------
    content
        As `to_bytes` returned them.

    Raises
    ------
    ValueError
        If it is no recording of this format.
    """
    with np.load(BytesIO(content), allow_pickle=False) as held:
        told = json.loads(bytes(held["told"]))
        if told.get("format") != FORMAT:
            raise ValueError(f"got {told.get('format')!r}; expected {FORMAT!r}")
        kept = {
            name: np.cumsum(held[f"fish_{name}"], axis=0, dtype=held[f"fish_{name}"].dtype)
            for name in FIELDS
        }
        found = [held[f"attack_{name}"] for name in ATTACK_FIELDS]
        kinds = [(name, one.dtype) for name, one in zip(ATTACK_FIELDS, found, strict=True)]
        attacks = np.zeros(len(found[0]), dtype=kinds)
        for name, one in zip(ATTACK_FIELDS, found, strict=True):
            attacks[name] = one
        return Recording(
            tank=told["tank"],
            run=told["run"],
            seed=told["seed"],
            step_s=told["step_s"],
            time_s=held["time"],
            fish=shown_of(kept),
            attacks=attacks.view(np.recarray),
        )


def first_recording() -> Recording:
    """Return the recording of the first visit."""
    return from_bytes(files("viz.app").joinpath(FIRST).read_bytes())


def main() -> None:
    """Record the first visit's tank into the file that is named."""
    recording = record()
    path = Path(sys.argv[1]) if len(sys.argv) == 2 else None
    if path is None:
        raise SystemExit("python -m viz.app.recording FILE")
    content = to_bytes(recording)
    path.write_bytes(content)
    print(
        f"{path}: {recording.seconds:g} s from day {recording.time_s[0] / 86400:.3f}, "
        f"{len(recording.attacks)} attacks, {len(content) / 1000:.0f} kB"
    )


if __name__ == "__main__":
    main()
