"""The one place that decides how the rules are compiled."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numba
import numpy as np
import platformdirs

F = TypeVar("F", bound=Callable[..., Any])


def source_digest() -> str:
    """Return a digest of every source file of `sim`, which names the compiled version.

    numba looks only at the file of the function it has cached, not at the files of the
    functions that one calls, so a rule changed in another file would go unnoticed.

    Returns
    -------
    str
        Sixteen hexadecimal digits.
    """
    root = Path(__file__).parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*.py")):
        digest.update(path.relative_to(root).as_posix().encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def use_cache() -> Path:
    """Point numba's cache at the user's cache folder, under the digest of the sources.

    Returns
    -------
    Path
        The folder; it is made by numba when it first writes to it.
    """
    folder = Path(platformdirs.user_cache_dir("holdwater")) / "compiled" / source_digest()
    numba.config.CACHE_DIR = str(folder)
    return folder


def jit(function: F) -> F:
    """Compile a rule: without the lock, without fused arithmetic, so that bytes repeat.

    Parameters
    ----------
    function
        A function over the state's arrays.

    Returns
    -------
    callable
        The compiled function, or the same function where the compiler is off.
    """
    return numba.njit(nogil=True, fastmath=False)(function)  # type: ignore[no-any-return]


def entry(function: F) -> F:
    """Compile a function that Python calls, and keep what was compiled between sessions.

    Parameters
    ----------
    function
        A function over the state's arrays.

    Returns
    -------
    callable
        The compiled function; with the compiler off, the function itself with wrap-around
        of unsigned integers allowed, as the compiled one has it.
    """
    if numba.config.DISABLE_JIT:
        return np.errstate(over="ignore")(function)
    use_cache()
    return numba.njit(nogil=True, fastmath=False, cache=True)(function)  # type: ignore[no-any-return]
