"""Yardstick: the inner loop of a tick by the compiled rules and in C, on copies of one state."""

from __future__ import annotations

import ctypes
import functools
import shutil
import statistics
import subprocess
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sim.engine import History
from sim.records import FISH, KIND, LOOK, PAIR, SETTINGS, TANK
from sim.rules.codes import NOWHERE, SWIM
from sim.state import State
from sim.tables import Floor
from tests.benchmarks.company import settled
from tests.benchmarks.limit.inner import ticks_of_rules

HERE = Path(__file__).parent
# No fused multiply-add: it rounds otherwise, and the two could not be compared to the bit.
FLAGS = ("-O3", "-march=native", "-ffp-contract=off", "-shared", "-fPIC", "-Wall", "-Werror")
C_TYPES = {"f8": "double", "i8": "int64_t", "u8": "uint64_t", "i4": "int32_t", "u4": "uint32_t"}
OF_STATE = ("fish", "pair", "shuns", "hazards", "together", "loose", "looks", "spots",
            "sifted", "kinds", "tank", "settings", "par", "claim_curve", "fits")  # fmt: skip
OF_FLOOR = ("dims", "edges", "edge_top", "bin_start", "bin_edge", "clear", "sight", "sight_of",
            "site_dist", "site_next", "site_seen", "site_xy", "door_out", "room_door")  # fmt: skip
SIZES = ("n", "wide", "n_kinds", "n_doors", "n_cells", "n_bin_edge", "sight_bytes")
COMPARED_TICKS = 2000
TURNS = 7


class World(ctypes.Structure):
    """Where the arrays lie, as `inner.c` reads them."""

    _fields_ = [
        *((name, ctypes.c_void_p) for name in (*OF_STATE, *OF_FLOOR)),
        *((name, ctypes.c_int64) for name in SIZES),
    ]


class NoCompiler(RuntimeError):  # noqa: N818
    """There is no C compiler on this machine."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What the inner loop costs in both, ns for each fish and tick.

    Parameters
    ----------
    n_fish
        Number of fish.
    rules_ns, c_ns
        Median of several stretches, which take turns.
    """

    n_fish: int
    rules_ns: float
    c_ns: float

    @property
    def ratio(self) -> float:
        """Return how many times longer the rules take."""
        return self.rules_ns / self.c_ns


def c_struct(name: str, dtype: np.dtype) -> str:
    """Return a record as a C struct; both lay it out alike, since it is aligned."""
    assert dtype.names is not None
    rows = [f"    {C_TYPES[dtype[field].str[1:]]} {field};" for field in dtype.names]
    return "\n".join(("typedef struct {", *rows, f"}} {name};"))


@functools.cache
def compiled_c(par: np.dtype) -> Callable[[World, int], None]:
    """Compile `inner.c` for this machine and return its loop.

    Parameters
    ----------
    par
        Record of the parameters.

    Raises
    ------
    NoCompiler
        If there is none called `cc`.
    """
    if shutil.which("cc") is None:
        raise NoCompiler("no C compiler called cc")
    records = {"Fish": FISH, "Pair": PAIR, "Look": LOOK, "Kind": KIND, "Tank": TANK}
    records["Settings"] = SETTINGS
    with tempfile.TemporaryDirectory(prefix="holdwater-limit-") as folder:
        text = "\n\n".join(c_struct(name, dtype) for name, dtype in {**records, "Par": par}.items())
        (Path(folder) / "records.h").write_text(text + "\n", "utf-8")
        made = Path(folder) / "inner.so"
        source = str(HERE / "inner.c")
        words = ("cc", *FLAGS, "-I", folder, source, "-o", str(made), "-lm")
        subprocess.run(words, check=True)
        loop = ctypes.CDLL(str(made)).inner_ticks
    loop.argtypes = (ctypes.POINTER(World), ctypes.c_int64)
    loop.restype = None

    def run(world: World, ticks: int) -> None:
        loop(ctypes.byref(world), ticks)

    return run


def world_of(state: State, floor: Floor) -> World:
    """Return where the arrays of a state and a floor lie."""
    places = {name: getattr(state, name).ctypes.data for name in OF_STATE}
    places.update({name: getattr(floor, name).ctypes.data for name in OF_FLOOR})
    sizes = (
        *(len(state.fish), state.loose.shape[1], len(state.kinds)),
        *(state.fits.shape[1], int(floor.dims[6])),
        *(len(floor.bin_edge), floor.sight.shape[2]),
    )
    return World(**places, **dict(zip(SIZES, sizes, strict=True)))


def calm(history: History) -> State:
    """Return a copy of a tank's state in which nobody chases or makes for cover or food."""
    state = history.snapshot()
    state.fish["act"] = SWIM
    state.fish["goal"] = NOWHERE
    state.fish["lured"] = -1
    state.tank["meal"] = 0
    return state


def timed(run: Callable[[], None]) -> float:
    """Return the processor time (s) of a call."""
    began = time.thread_time()
    run()
    return time.thread_time() - began


def measure_limit(n_fish: int, *, ticks_of_fish: int = 400_000) -> Measured:
    """Run the inner loop of a settled company by the rules and in C, compare and time it.

    Parameters
    ----------
    n_fish
        Number of fish.
    ticks_of_fish
        Fish and ticks of a timed stretch.

    Raises
    ------
    RuntimeError
        If the two do not leave the same bytes.
    NoCompiler
        If there is no C compiler.
    """
    history = settled(n_fish)
    floor, start = history.floor, calm(history)
    loop = compiled_c(start.par.dtype)
    by_rules, by_c = start.copy(), start.copy()
    ticks_of_rules(by_rules, floor, COMPARED_TICKS)
    world = world_of(by_c, floor)
    loop(world, COMPARED_TICKS)
    if by_rules.to_bytes() != by_c.to_bytes():
        raise RuntimeError(f"{n_fish} fish: the rules and the C do not leave the same bytes")
    if (by_c.fish.x == start.fish.x).all():
        raise RuntimeError(f"{n_fish} fish: nobody moved")
    ticks = max(ticks_of_fish // n_fish, 200)
    rules, c = [], []
    for _ in range(TURNS):
        rules.append(timed(lambda: ticks_of_rules(by_rules, floor, ticks)))
        c.append(timed(lambda: loop(world, ticks)))
    scale = 1e9 / (ticks * n_fish)
    return Measured(n_fish, statistics.median(rules) * scale, statistics.median(c) * scale)
