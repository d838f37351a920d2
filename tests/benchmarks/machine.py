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


def describe(*, load_before: str) -> str:
    """Return a paragraph on the machine, the versions and how busy it was.

    Parameters
    ----------
    load_before
        As `load` gave it before the first measurement.
    """
    versions = ", ".join(f"{name} {version(name)}" for name in PACKAGES)
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


def write_section(path: Path, *, heading: str, parts: Iterable[str]) -> None:
    """Write one section of a page, in place of an older one or at the end of the page.

    Parameters
    ----------
    path
        A page that is there.
    heading
        Of the section, of the second level.
    parts
        Its paragraphs and tables.
    """
    page = path.read_text("utf-8")
    write_page(path, parts=[_without(page, heading), f"## {heading}", *parts])


def section_of(path: Path, *, heading: str) -> list[str]:
    """Return a section that stands in a page already, for a page that is written anew."""
    page = path.read_text("utf-8") if path.exists() else ""
    _, mark, rest = page.partition(f"\n## {heading}\n")
    return [f"## {heading}\n{rest.partition(chr(10) + '## ')[0]}"] if mark else []


def _without(page: str, heading: str) -> str:
    head, mark, rest = page.partition(f"\n## {heading}\n")
    _, more, tail = rest.partition("\n## ") if mark else ("", "", "")
    return head + (f"\n## {tail}" if more else "")


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
