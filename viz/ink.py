"""The look of the command line: deep water, sand and slate, with one warm accent.

Colour only repeats what the words say: nothing is told by colour alone, and without colours (a
pipe, `NO_COLOR`) no meaning is lost. What a person wrote (names, files) is never read as markup.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.console import Console
from rich.text import Text
from rich.theme import Theme

if TYPE_CHECKING:
    from rich.console import ConsoleOptions, RenderResult

WATER, SAND, SLATE, COPPER = "#3f7f9c", "#b39a6b", "#76838c", "#c8743c"
THEME = Theme(
    {
        "water": WATER,
        "sand": SAND,
        "slate": SLATE,
        "accent": f"bold {COPPER}",
        "heading": f"bold {WATER}",
        "table.header": f"bold {WATER}",
        "table.caption": SLATE,
        "bar.back": SLATE,
        "bar.complete": WATER,
        "bar.finished": WATER,
        "bar.pulse": SAND,
        "progress.elapsed": SLATE,
        "progress.remaining": SLATE,
    }
)


def console(*, stderr: bool = False) -> Console:
    """Return a console that takes every text as it stands: no markup, no colouring of numbers.

    Parameters
    ----------
    stderr
        Write to the error stream, where progress and complaints go.

    Returns
    -------
    rich.console.Console
        80 columns wide where it is not a terminal.
    """
    stream = sys.stderr if stderr else sys.stdout
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="replace")  # an old terminal shows a question mark, not a crash
    return Console(
        stderr=stderr, theme=THEME, markup=False, emoji=False, highlight=False, soft_wrap=False
    )


def heading(words: str, *, beside: str = "") -> Text:
    """Return a heading: the words over a short waterline.

    Parameters
    ----------
    words
        The heading.
    beside
        Plain words after it.
    """
    text = Text("\n")
    text.append(safe(words), "heading")
    if beside:
        text.append("  " + safe(beside), "slate")
    text.append("\n" + "~" * min(len(words), 40), "sand")
    return text


def safe(words: str) -> str:
    """Return a text with what would move the cursor replaced by question marks.

    Parameters
    ----------
    words
        Anything a person wrote.
    """
    return "".join(letter if letter.isprintable() or letter == "\n" else "?" for letter in words)


class Hanging:
    """A text that hangs from a mark, so that its lines stay together when wrapped.

    Parameters
    ----------
    words
        The text, taken as it stands.
    mark
        What it hangs from.
    style
        Style of the words.
    """

    def __init__(self, words: str | Text, *, mark: str = "-", style: str = "") -> None:
        self.words = words if isinstance(words, Text) else Text(safe(words), style)
        self.mark = mark

    def __rich_console__(self, screen: Console, options: ConsoleOptions) -> RenderResult:
        """Yield the lines, for rich."""
        inset = cell_len(self.mark) + 1
        lines = self.words.wrap(screen, max(options.max_width - inset, 20))
        for number, line in enumerate(lines):
            line.rstrip()
            yield Text.assemble(
                (f"{self.mark} " if number == 0 else " " * inset, "sand"), line, no_wrap=True
            )


def bullet(words: str | Text, *, mark: str = "-", style: str = "") -> Hanging:
    """Return a sentence that hangs from a mark.

    Parameters
    ----------
    words
        The sentence, taken as it stands.
    mark
        What it hangs from.
    style
        Style of the words.
    """
    return Hanging(words, mark=mark, style=style)
