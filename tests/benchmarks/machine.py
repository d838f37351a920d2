"""Machine: what the figures were measured on, and the few shapes a page is made of."""

from __future__ import annotations

import os
import platform
from collections.abc import Iterable, Sequence
from importlib.metadata import version
from pathlib import Path

from sim.compiler import source_digest
from sim.crew import usual_workers

PACKAGES = ("numba", "numpy", "scipy", "shapely", "mesa")
PROCESSORS = Path("/proc/cpuinfo")


def processor() -> str:
    """Return the kind of processor, as far as the system says."""
    if PROCESSORS.exists():
        for line in PROCESSORS.read_text("utf-8", errors="replace").splitlines():
            if line.startswith("model name"):
                return line.split(":", 1)[1].strip()
    return platform.processor() or platform.machine()


def load() -> str:
    """Return the load average of the last minute, or that it is not known."""
    if hasattr(os, "getloadavg"):
        return f"{os.getloadavg()[0]:.1f}"
    return "not known"


def describe(*, load_before: str, packages: Sequence[str] = PACKAGES) -> str:
    """Return a paragraph on the machine, the versions and how busy it was.

    Parameters
    ----------
    load_before
        As `load` gave it before the first measurement.
    packages
        Those it hangs on.
    """
    versions = ", ".join(f"{name} {version(name)}" for name in packages)
    return (
        f"Measured on {usual_workers()} cores ({processor()}, {platform.system()}), "
        f"Python {platform.python_version()}, {versions}; rules {source_digest()}. "
        f"Load average {load_before} when it began and {load()} when it ended, its own work "
        "included. Anything else that runs on the machine makes times longer and noisy; ratios "
        "suffer less. Measure again on yours."
    )


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table of a page; the first column is text, the others are figures."""
    lines = [
        "| " + " | ".join(head) + " |",
        "|---|" + "---:|" * (len(head) - 1),
        *("| " + " | ".join(row) + " |" for row in rows),
    ]
    return "\n".join(lines)


def write_page(path: Path, *, parts: Iterable[str]) -> None:
    """Write a page whole or not at all.

    Parameters
    ----------
    path
        Where it belongs.
    parts
        Its paragraphs, headings and tables.
    """
    draft = path.with_name(path.name + ".new")
    draft.write_text("\n\n".join(part.strip() for part in parts) + "\n", "utf-8")
    draft.replace(path)


def section_of(page: str, heading: str) -> str:
    """Return a section of a page with its heading; empty where there is none.

    Parameters
    ----------
    page
        The text.
    heading
        Of the section, beginning with ``## ``.
    """
    found: list[str] = []
    inside = False
    for line in page.splitlines():
        if line.startswith("## "):
            inside = line == heading
        if inside:
            found.append(line)
    return "\n".join(found).strip()


def write_section(path: Path, heading: str, *, parts: Iterable[str]) -> None:
    """Write a section of a page in the place of the one before, or at its end; the rest stays.

    Parameters
    ----------
    path
        The page.
    heading
        Of the section, beginning with ``## ``.
    parts
        What stands below it.
    """
    page = path.read_text("utf-8")
    new = "\n\n".join(part.strip() for part in (heading, *parts))
    old = section_of(page, heading)
    page = page.replace(old, new) if old else f"{page.rstrip()}\n\n{new}\n"
    write_page(path, parts=[page])
