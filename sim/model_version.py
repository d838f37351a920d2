"""Which model plays: all that the bytes of a run hang on beside its file, seed and settings."""

from __future__ import annotations

import functools
import hashlib
import platform
from pathlib import Path
from typing import Any


def version() -> str:
    """Return the version of the program, or that of its sources when it is not installed."""
    return installed("holdwater")


def installed(package: str) -> str:
    """Return the version of a package without loading it; words where it is not installed."""
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as version_of

    try:
        return version_of(package)
    except PackageNotFoundError:
        return "not installed"


@functools.cache
def model_version() -> dict[str, Any]:
    """Return the version of the program, the digest of its rules, and what they run on.

    Returns
    -------
    dict
        Plain values: version, model, python, numpy, numba, llvmlite, scipy, shapely, geos,
        compiled, machine, system, libm.
    """
    import numba
    import numpy
    import shapely
    from numba import config

    import sim.compiler  # by this name: files that import from it are compiled anew when changed

    return {
        "version": version(),
        "model": sim.compiler.source_digest(),
        "python": platform.python_version(),
        "numpy": numpy.__version__,
        "numba": numba.__version__,
        "llvmlite": installed("llvmlite"),
        # Where everything lies, what sees what and the ways round pieces come from these.
        "scipy": installed("scipy"),
        "shapely": shapely.__version__,
        "geos": shapely.geos_version_string,
        "compiled": not vars(config)["DISABLE_JIT"],
        "machine": f"{platform.machine()} {_processor()}".strip(),
        "system": platform.system(),
        "libm": " ".join(platform.libc_ver()).strip() or "unknown",
    }


@functools.cache
def data_digest() -> str:
    """Return a digest of every data file of the rules, tables of numbers too.

    Returns
    -------
    str
        Sixteen hexadecimal digits.
    """
    digest = hashlib.sha256()
    for path in sorted((Path(__file__).parent / "data").iterdir()):
        if path.suffix in (".toml", ".csv"):
            digest.update(path.name.encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _processor() -> str:
    try:
        from llvmlite.binding import get_host_cpu_name  # type: ignore[import-untyped]

        return str(get_host_cpu_name())
    except ImportError:
        return ""
