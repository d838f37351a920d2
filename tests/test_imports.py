"""Imports point one way, rules keep to arithmetic that repeats, and sources are in the list."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SIM = ROOT / "sim"

# A module imports only from rows above its own.
ROWS = (
    "by_reference data errors formats compiler territory ways statistics elo slices",
    "units draws raster species_check parameters dominance paired survival spread records glm "
    "likely",
    "fields tanks species figures state temperature",
    "care naming verdict settings unmeasured varying",
    # Keeper's sums: on a scenario as it stands, no part of a run.
    "sums",
    "sums.assumed sums.density sums.load sums.nitrate sums.ammonia sums.oxygen sums.unionised",
    "sums.food",
    "scenario",
    "furniture",
    "event_rules observing settling",
    "sittings",
    "feeding findings scenario_rules pieces scenario_writing pairing",
    "scenario_variant placing",
    "scenario_words scenario_schema rooms",
    "compartments fitting model_version",
    "scenario_file layout",
    "tables check sums.volume more_caves",
    "varied",
    "sums.tank",
    # Rules: one behaviour a file, from what is perceived to what advances the tank.
    "rules rules.codes",
    "rules.learn",
    "rules.hours rules.see rules.heal rules.claim rules.contest rules.leave rules.stir "
    "rules.mate",
    "rules.harm rules.bite rules.sweep rules.dark rules.familiar rules.young rules.dig",
    "rules.nest rules.parent rules.risk rules.borrow",
    "rules.breed",
    "rules.pair",
    "rules.room rules.observe",
    "rules.hunt",
    "rules.move rules.attack",
    "rules.fear",
    "rules.raid rules.feed",
    "rules.chase",
    "rules.encounter",
    "rules.settle rules.look",
    "rules.place rules.passage rules.grow",
    "rules.arrive",
    "rules.tick",
    "rules.window",
    "rules.occasion",
    "rules.leap rules.meal",
    "rules.advance",
    # Runs and what is made of them.
    "start_breeding start_past day_zero",
    "start",
    "outcome keeper refurnish harm_rows",
    "occasions",
    "engine kept_run kept_question",
    "hands ground model crew spare observed kept_store",
    "kept cluster",
    "batch chronicle footage watched",
    "summary evidence sensitivity",
    "evidence.study",
    "evidence.matched evidence.experience evidence.size evidence.hierarchy evidence.unequal "
    "evidence.structure evidence.brood evidence.ground evidence.crowding evidence.patches",
    "evidence.patterns",
    "evidence.calibrate",
    "sensitivity.factors sensitivity.company sensitivity.outcomes",
    "sensitivity.plan",
    "sensitivity.playing sensitivity.screening sensitivity.emulator",
    "sensitivity.indices",
    "comparison",
    "better better.race better.moving futures",
    "better.search better.buildable",
    "better.improve",
    "sweep taken_away reasons by_day watching",
    "known",
    "response",
)
ROW_OF = {module: k for k, row in enumerate(ROWS) for module in row.split()}

# Imports inside a function that point the other way, and why.
LATE = {
    ("layout", "tables"): "the compiler is loaded when a run asks for tables, not for a check",
}


def module_of(path: Path) -> str:
    parts = path.relative_to(SIM).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def typing_only(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)


def imports(tree: ast.AST, package: str) -> set[str]:
    """Modules of a package that run when this code does, wherever the import stands."""
    found: set[str] = set()
    stack = [tree]
    while stack:
        node = stack.pop()
        if typing_only(node):
            continue
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute"
            whole = node.module or ""
            found |= (
                {f"{whole}.{name.name}" for name in node.names} if whole == package else {whole}
            )
        stack.extend(ast.iter_child_nodes(node))
    return {name for name in found if name == package or name.startswith(f"{package}.")}


def sources() -> list[Path]:
    return sorted(SIM.rglob("*.py"))


@pytest.mark.parametrize("path", sources(), ids=module_of)
def test_arrows_of_import_point_one_way(path):
    module = module_of(path)
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert not imports(tree, "viz"), "sim never imports viz"
    assert not imports(tree, "tests")
    if not module:
        assert not imports(tree, "sim"), "the package itself imports nothing"
        return
    assert module in ROW_OF, f"say in ROWS where {module} stands"
    for name in imports(tree, "sim"):
        other = name.removeprefix("sim").removeprefix(".")
        if (module, other) not in LATE:
            assert ROW_OF[other] < ROW_OF[module], f"{module} imports {other}"


def test_the_order_names_each_module_once_and_no_other():
    named = [module for row in ROWS for module in row.split()]
    assert len(named) == len(set(named))
    assert set(named) == {module_of(path) for path in sources()} - {""}


def test_exceptions_are_still_made_and_only_inside_functions():
    for (module, other), why in LATE.items():
        tree = ast.parse((SIM / f"{module}.py").read_text(encoding="utf-8"))
        top = {n.module for n in tree.body if isinstance(n, ast.ImportFrom)}
        assert f"sim.{other}" in imports(tree, "sim")
        assert f"sim.{other}" not in top
        assert why


def test_the_checker_sees_an_import_the_wrong_way():
    tree = ast.parse("def f():\n    from viz import words\n    import sim.batch\n")
    assert imports(tree, "viz") == {"viz.words"}
    assert imports(tree, "sim") == {"sim.batch"}
    assert imports(ast.parse("if TYPE_CHECKING:\n    import viz\n"), "viz") == set()


# --- arithmetic ----------------------------------------------------------------------------

COMPILED = [*sorted((SIM / "rules").glob("*.py")), SIM / "draws.py"]


def faults(text: str) -> list[str]:
    """What would let two machines, or one twice, give different bytes."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.BinOp, ast.AugAssign)) and isinstance(node.op, ast.Pow):
            power = node.right if isinstance(node, ast.BinOp) else node.value
            whole = isinstance(power, ast.Constant) and isinstance(power.value, int)
            if not whole:
                found.append("** with a power that is no whole number")
        if isinstance(node, ast.keyword) and node.arg in ("fastmath", "parallel"):
            found.append(node.arg)
        name = ast.unparse(node) if isinstance(node, (ast.Attribute, ast.Name)) else ""
        if name in ("np.sum", "numpy.sum", "prange", "numba.prange", "np.power", "math.pow"):
            found.append(name)
        if name.startswith(("np.random", "random.")):
            found.append(name)
        if isinstance(node, ast.Attribute) and node.attr in ("sum", "mean", "dot"):
            found.append(f".{node.attr}")
    return found


@pytest.mark.parametrize("path", COMPILED, ids=lambda path: path.stem)
def test_rules_use_no_arithmetic_that_may_be_reordered(path):
    assert faults(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    "text", ["x ** 0.5", "x ** y", "x **= 1.5", "jit(fastmath=True)", "np.sum(x)", "prange(3)",
             "jit(parallel=True)", "x.sum()", "np.random.rand()", "math.pow(x, y)"],
)  # fmt: skip
def test_the_checker_of_arithmetic_sees_a_fault(text):
    assert faults(text)


def test_the_compiler_is_told_to_keep_the_order_of_arithmetic():
    from sim.compiler import COMMON, INNER, RULES

    for options in (COMMON, RULES, INNER):
        assert options["fastmath"] is False
        assert options["nogil"] is True
        assert "parallel" not in options


# Fields of a record that hide behind a method of numpy's would read as that method uncompiled.
def test_no_field_of_the_state_is_named_like_a_method_of_a_record():
    import numpy as np

    from sim import records
    from sim.parameters import parameter_record

    dtypes = [value for value in vars(records).values() if isinstance(value, np.dtype)]
    assert len(dtypes) >= 9
    for dtype in [*dtypes, parameter_record().dtype]:
        hidden = [name for name in dtype.names or () if hasattr(np.void, name)]
        assert hidden == []


# --- docstrings ----------------------------------------------------------------------------

KEY = re.compile(r"\b[A-Z][A-Za-z]+(?:19|20)\d\d[a-z]?\b")

# Rules of bookkeeping, which state no behaviour of fish.
NO_BEHAVIOUR = {"__init__", "advance", "codes", "hours", "leap", "look", "tick", "window"}


def known_keys() -> set[str]:
    text = (ROOT / "docs" / "references.bib").read_text(encoding="utf-8")
    return set(re.findall(r"^@\w+\{([^,\s]+),", text, re.MULTILINE))


def cited(path: Path) -> set[str]:
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".toml":
        return set(KEY.findall(text))
    found: set[str] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.Module, ast.FunctionDef, ast.ClassDef)):
            doc = ast.get_docstring(node) or ""
            if "References\n" in doc:
                found |= set(KEY.findall(doc.split("References\n", 1)[1]))
    return found


@pytest.mark.parametrize(
    "path", [*sources(), *sorted(SIM.rglob("*.toml"))], ids=lambda path: path.name
)
def test_every_source_that_is_cited_is_in_the_list_of_references(path):
    assert cited(path) - known_keys() == set()


def test_sources_are_cited_at_all():
    every = set().union(*(cited(path) for path in [*sources(), *SIM.rglob("*.toml")]))
    assert len(every) > 25
    assert KEY.findall("Wood2012, Neat1998a (x)") == ["Wood2012", "Neat1998a"]


@pytest.mark.parametrize(
    "path",
    [path for path in sorted((SIM / "rules").glob("*.py")) if path.stem not in NO_BEHAVIOUR],
    ids=lambda path: path.stem,
)
def test_a_rule_says_where_it_comes_from_or_that_it_is_assumed(path):
    doc = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    assert "References\n" in doc
    tail = doc.split("References\n", 1)[1]
    assert KEY.search(tail) or "assumed" in tail or "evidence page" in tail


@pytest.mark.parametrize(
    "name", ["attack", "bite", "claim", "contest", "fear", "heal", "learn", "leap"]
)
def test_a_rule_with_an_equation_writes_it_out(name):
    doc = ast.get_docstring(ast.parse((SIM / "rules" / f"{name}.py").read_text("utf-8"))) or ""
    assert ".. math::" in doc or ":math:" in doc or re.search(r"e\^\{", doc)


@pytest.mark.parametrize("path", COMPILED, ids=lambda path: path.stem)
def test_every_rule_has_a_sentence(path):
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef):
            first = (ast.get_docstring(node) or "").split("\n")[0]
            assert first.endswith((".", ":", ";")), f"{path.name}: {node.name}"
