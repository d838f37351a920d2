"""The one place that decides how the rules are compiled."""

from __future__ import annotations

import functools
import hashlib
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import numba
import numpy as np
import platformdirs
from numba.core import config

F = TypeVar("F", bound=Callable[..., Any])

# No fused arithmetic, so that bytes repeat; no lock, so that runs go side by side.
COMMON: dict[str, Any] = {"nogil": True, "fastmath": False, "error_model": "numpy"}
# The rules never allocate, so they need no counting of references.
RULES: dict[str, Any] = {**COMMON, "_nrt": False}
INNER: dict[str, Any] = {**RULES, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
# Of LLVM. The usual 3 takes an eighth longer to compile, for the same bytes played no faster.
LEVEL = 2
if "NUMBA_OPT" not in os.environ:
    setattr(config, "OPT", type(vars(config)["OPT"])(LEVEL))  # noqa: B010  set by name: untyped


def _digest(paths: Iterable[Path]) -> str:
    root = Path(__file__).parent
    digest = hashlib.sha256()
    for path in sorted(paths):
        digest.update(path.relative_to(root).as_posix().encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


@functools.cache
def source_digest() -> str:
    """Return a digest of every source and data file of `sim`: it names the model.

    Returns
    -------
    str
        Sixteen hexadecimal digits.
    """
    root = Path(__file__).parent
    return _digest(path for kind in ("py", "toml", "csv") for path in root.rglob(f"*.{kind}"))


@functools.cache
def compiled_digest() -> str:
    """Return a digest of the sources that compiled code comes from.

    numba looks only at the file of the function it has cached, not at the files of the
    functions that one calls, so a rule changed in another file would go unnoticed.

    Returns
    -------
    str
        Sixteen hexadecimal digits.
    """
    root = Path(__file__).parent
    shapes = {root / f"{name}.py" for name in ("records", "state", "tables", "by_reference")}
    shapes.add(Path(__file__))
    return _digest(
        path
        for path in root.rglob("*.py")
        if path in shapes or b"from sim.compiler import" in path.read_bytes()
    )


def cache_folder() -> Path:
    """Return the folder that keeps what was compiled from these very sources.

    Returns
    -------
    Path
        A folder below the user's cache; numba makes it when it first writes to it.
    """
    return Path(platformdirs.user_cache_dir("holdwater")) / "compiled" / compiled_digest()


def _compile(function: F, *, options: dict[str, Any], keep: bool) -> F:
    if getattr(config, "DISABLE_JIT", 0):
        # Unsigned integers wrap round in compiled code; numpy would warn that they do.
        return np.errstate(over="ignore")(function) if keep else function
    if keep:
        setattr(config, "CACHE_DIR", str(cache_folder()))  # noqa: B010  set by name: untyped
    compiled: F = numba.njit(cache=keep, **options)(function)
    return compiled


def jit(function: F) -> F:
    """Compile a function that other compiled functions call, and that may allocate arrays.

    Parameters
    ----------
    function
        A function over arrays.

    Returns
    -------
    callable
        The compiled function, or the same function where the compiler is off.
    """
    return _compile(function, options=COMMON, keep=False)


def entry(function: F) -> F:
    """Compile a function that Python calls, and keep what was compiled between sessions.

    Parameters
    ----------
    function
        A function over arrays.

    Returns
    -------
    callable
        The compiled function; with the compiler off, the function itself with wrap-around
        of unsigned integers allowed, as the compiled one has it.
    """
    return _compile(function, options=COMMON, keep=True)


def rule(function: F) -> F:
    """Compile a rule: a function over the state that allocates nothing.

    Parameters
    ----------
    function
        A function over the state's arrays.

    Returns
    -------
    callable
        The compiled function, or the same function where the compiler is off.
    """
    return _compile(function, options=INNER, keep=False)


def small_rule(function: F) -> F:
    """Compile a short rule into each of its callers, which costs less than a call.

    Parameters
    ----------
    function
        A function over the state's arrays.

    Returns
    -------
    callable
        The compiled function, or the same function where the compiler is off.
    """
    return _compile(function, options={**INNER, "forceinline": True}, keep=False)


def only_rule(function: F) -> F:
    """Compile a rule that has one caller as a part of that caller.

    A function is optimised and turned into machine code once for itself and once more within each
    function above it. Near the top of the calls, where all rules hang below, a function less saves
    seconds of the first run.

    Parameters
    ----------
    function
        A function over the state's arrays.

    Returns
    -------
    callable
        The compiled function, or the same function where the compiler is off.
    """
    return _compile(function, options={**INNER, "inline": "always"}, keep=False)


def rule_entry(function: F) -> F:
    """Compile a rule that Python calls, and keep what was compiled between sessions.

    Parameters
    ----------
    function
        A function over the state's arrays.

    Returns
    -------
    callable
        The compiled function; with the compiler off, as `entry` does.
    """
    return _compile(function, options=RULES, keep=True)
