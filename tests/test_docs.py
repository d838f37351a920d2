"""The pages say what the code says: order of a tick, parameters, links, sources, commands."""

from __future__ import annotations

import ast
import re
import shlex
import tomllib
from pathlib import Path

import pytest

from sim.check import check_file
from sim.parameters import load_parameters
from sim.rules import tick
from viz import cli
from viz.parameter_docs import parameters_page

TOP = Path(__file__).parents[1]
PAGES = sorted([*TOP.glob("*.md"), *TOP.glob("docs/**/*.md")])
NUMBERED = re.compile(r"^\d+\. (.+)$", re.MULTILINE)
# The README and DEVELOPERS call the program by its path in the environment, the guide by name.
COMMAND = re.compile(r"^(?:.*&& )?(?:\.venv/bin/)?holdwater (.+)$", re.MULTILINE)
FENCED = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
CITED = re.compile(r"\b([A-Z][A-Za-z]+(?:19|20)\d\d[a-z]?)\b")


def blocks(page: Path, language: str) -> list[str]:
    """Return what stands in the fenced blocks of a language."""
    return [body for word, body in FENCED.findall(page.read_text("utf-8")) if word == language]


def commands() -> list[tuple[str, str]]:
    """Return the name of a page and each `holdwater` command a block of it shows."""
    return [
        (page.name, line)
        for page in PAGES
        for block in blocks(page, "sh")
        for line in COMMAND.findall(block)
    ]


def anchors(text: str) -> set[str]:
    """Return the anchors that the headings of a page give."""
    headings = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    plain = [re.sub(r"[^\w\- ]", "", heading.lower()) for heading in headings]
    return {heading.strip().replace(" ", "-") for heading in plain}


def known_sources() -> set[str]:
    """Return the keys of the bibliography."""
    text = (TOP / "docs" / "references.bib").read_text("utf-8")
    return set(re.findall(r"^@\w+\{(\w+),", text, re.MULTILINE))


def test_the_model_page_has_the_order_of_a_tick() -> None:
    page = (TOP / "docs" / "model.md").read_text("utf-8")
    between = page.split("<!-- tick order: begin -->")[1].split("<!-- tick order: end -->")[0]
    steps = NUMBERED.findall(tick.__doc__ or "")
    assert len(steps) >= 7
    assert NUMBERED.findall(between) == steps


# The rules that each step of a tick calls; the first, the clock, calls none.
CALLS_OF_STEPS = (
    (),
    ("look",),
    ("change_layer", "steer"),
    ("cruise",),
    ("pursue",),
    ("contest_tick",),
    ("slow_update",),
)


def test_the_order_of_a_tick_is_that_in_which_the_code_calls_its_rules() -> None:
    tree = ast.parse(Path(tick.__file__).read_text("utf-8"))
    (body,) = [
        node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == "tick"
    ]
    found = [
        (node.lineno, node.col_offset, node.func.id)
        for node in ast.walk(body)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    ]
    calls = [(line, name) for line, _, name in sorted(found) if name not in ("range", "len")]
    assert [name for _, name in calls] == [name for names in CALLS_OF_STEPS for name in names]
    assert len(CALLS_OF_STEPS) == len(NUMBERED.findall(tick.__doc__ or ""))
    (clock,) = [
        node.lineno
        for node in ast.walk(body)
        if isinstance(node, ast.AugAssign) and ast.unparse(node.target) == "t.clock"
    ]
    assert clock < calls[0][0]


def test_the_page_of_parameters_is_current() -> None:
    kept = (TOP / "docs" / "parameters.md").read_text("utf-8")
    assert kept == parameters_page(), "run python -m viz.parameter_docs > docs/parameters.md"


def test_every_parameter_stands_on_its_page_once() -> None:
    page = parameters_page()
    assert [name for name in load_parameters() if page.count(f"| `{name}` |") != 1] == []


def test_parameters_that_the_model_page_gives_are_what_the_code_has() -> None:
    """A name in code style with a value, as in `reach_calm` = 5, holds the default."""
    page = (TOP / "docs" / "model.md").read_text("utf-8")
    given = re.findall(r"`(\w+)`\s*=\s*(\d+(?:\.\d+)?)", page)
    assert ("reach_calm", "5") in given
    wrong = [name for name, value in given if load_parameters()[name].value != float(value)]
    assert wrong == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(TOP)))
def test_links_lead_somewhere(page: Path) -> None:
    text = re.sub(r"```.*?```", "", page.read_text("utf-8"), flags=re.DOTALL)
    lost = []
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if re.match(r"https?:", target):
            continue
        name, _, anchor = target.partition("#")
        there = (page.parent / name) if name else page
        if not there.exists() or (anchor and anchor not in anchors(there.read_text("utf-8"))):
            lost.append(target)
    assert lost == []


@pytest.mark.parametrize("folder", ["docs", "docs/decisions"])
def test_the_index_names_every_page(folder: str) -> None:
    index = (TOP / folder / "README.md").read_text("utf-8")
    pages = [path.name for path in (TOP / folder).glob("*.md") if path.name != "README.md"]
    assert len(pages) >= 5
    assert [name for name in pages if f"({name})" not in index] == []


def test_every_source_that_is_cited_is_in_the_bibliography() -> None:
    known = known_sources()
    assert len(known) > 50
    texts = [*PAGES, *TOP.glob("sim/**/*.py"), *TOP.glob("sim/data/*.toml")]
    cited = {
        (str(path.relative_to(TOP)), key)
        for path in texts
        for key in CITED.findall(path.read_text("utf-8"))
    }
    assert len({key for _, key in cited}) > 20
    assert sorted(pair for pair in cited if pair[1] not in known) == []


def test_pages_show_commands_that_there_are() -> None:
    shown = commands()
    assert len(shown) >= 12
    names = {info.name or info.callback.__name__ for info in cli.app.registered_commands}
    names |= {group.name for group in cli.app.registered_groups}
    helps = "".join(path.read_text("utf-8") for path in (TOP / "viz").glob("cli*.py"))
    for page, line in shown:
        words = shlex.split(line)
        assert words[0] in names, f"{page}: holdwater {line}"
        for word in words[1:]:
            if word.startswith("--") and word != "--help":
                assert f'"{word}"' in helps, f"{page}: holdwater {line}"
            if word.startswith("scenarios/"):
                assert (TOP / word).is_file(), f"{page}: holdwater {line}"


def test_scenarios_that_pages_show_can_be_played(tmp_path: Path) -> None:
    base = (TOP / "scenarios" / "convict-four-foot.toml").read_text("utf-8")
    (tmp_path / "convict-four-foot.toml").write_text(base, "utf-8")
    played = 0
    for page in (TOP / "README.md", TOP / "docs" / "guide.md"):
        for block in blocks(page, "toml"):
            tomllib.loads(block)
            file = tmp_path / f"{page.stem}-{played}.toml"
            file.write_text(block, "utf-8")
            assert check_file(file).warnings == ()
            played += 1
    assert played >= 3


def test_the_two_commands_of_the_readme_stand_as_promised() -> None:
    text = (TOP / "README.md").read_text("utf-8")
    assert (
        "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/holdwater compare "
        "scenarios/convict-four-foot.toml scenarios/convict-six-foot.toml\n" in text
    )
    assert (
        "python3 -m venv .venv && .venv/bin/pip install -e '.[test]' && .venv/bin/pytest\n" in text
    )


def test_the_version_is_said_once_and_the_same() -> None:
    import sim

    project = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["version"] == sim.__version__
