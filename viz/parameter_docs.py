"""The page `docs/parameters.md`, made from the numbers the rules read.

python -m viz.parameter_docs > docs/parameters.md
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import sim
from sim.parameters import Parameter, load_parameters
from sim.settings import BEAT_S, LOOK_S, Settings
from viz.parameters_page import range_words

HEAD = """\
# Parameters

Made from `sim/data/parameters.toml` by `python -m viz.parameter_docs`; a test holds it to that
file, so edit the file and make the page anew. A name with a year is an entry of
[references.bib](references.bib). {assumed} of the {total} numbers rest on an assumption or on
memory, whole or in part: they are marked **assumed**. The range is what we think possible; the
default lies inside it, and `--set NAME=VALUE` takes any value of it.

| parameter | value | range | unit | | rests on |
|---|---:|---|---|---|---|
"""

MIDDLE = """
## Numbers of the method

Not of the fish: how time is cut, from `sim/settings.py`. `--watch` changes the gaps.

| setting | value |
|---|---:|
"""

CODE = """
## Numbers that stand in the code

Assumed too, but of the second order: no study moves them and `--set` does not take them. The
words are those beside them.

| number | value | in | |
|---|---|---|---|
"""

# What a run's course may hang on; what is only said or checked of it stands elsewhere.
OF_A_RUN = ("rules/*", "start", "start_past", "ways", "pieces", "rooms", "layout")
A_NUMBER = re.compile(r"^([A-Z][A-Z0-9_]*(?:, [A-Z][A-Z0-9_]*)*) = (.+?)  # (.*\bassumed\b.*)$")


def numbers_in_code() -> Iterator[tuple[str, str, str, str]]:
    """Yield each assumed number that stands in the code: its name, value, file, and the words.

    A number is a name in capitals at the margin, with `assumed` in the remark behind it.
    """
    home = Path(sim.__file__).parent
    for where in OF_A_RUN:
        for file in sorted(home.glob(f"{where}.py")):
            for line in file.read_text("utf-8").splitlines():
                if found := A_NUMBER.match(line):
                    yield found[1], found[2], file.relative_to(home).as_posix(), found[3]


def parameters_page() -> str:
    """Return the whole page as Markdown, with a line break at its end."""
    table = load_parameters().values()
    head = HEAD.format(assumed=sum(one.assumed for one in table), total=len(table))
    settings = Settings()
    method = [(field.name, getattr(settings, field.name)) for field in fields(settings)]
    method += [("look round every, s", LOOK_S), ("slow update while watched every, s", BEAT_S)]
    return (
        head
        + "".join(map(_row, table))
        + MIDDLE
        + "".join(f"| `{name}` | {_shown(value)} |\n" for name, value in method)
        + CODE
        + "".join(
            f"| `{name}` | {value.replace('|', '/')} | `{file}` | {words.replace('|', '/')} |\n"
            for name, value, file, words in numbers_in_code()
        )
    )


def _row(one: Parameter) -> str:
    mark = "**assumed**" if one.assumed else ""
    source = one.source.replace("|", "/")
    return (
        f"| `{one.name}` | {one.value:g} | {range_words(one)} | {one.unit} "
        f"| {mark} | {source} |\n"
    )


def _shown(value: float | bool) -> str:
    return str(value).lower() if isinstance(value, bool) else f"{value:g}"


if __name__ == "__main__":
    sys.stdout.write(parameters_page())
