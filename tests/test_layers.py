"""Imports run one way, in the order of the map in DEVELOPERS.md; heavy packages wait for use."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import networkx
import pytest

import fitcheck

PACKAGE = Path(fitcheck.__file__).parent
MAP = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
LAYERS = re.findall(r"^\| `(\w+)/?` \|", MAP, re.MULTILINE)
MODULES = sorted(
    path.relative_to(PACKAGE) for path in PACKAGE.rglob("*.py") if "_data" not in path.parts
)
HEAVY = {
    *("networkx", "numpy", "scipy", "pydantic", "rich", "duckdb", "pyarrow", "openpyxl"),
    *("starlette", "uvicorn"),
}
# Modules that are themselves imported only where they are used.
MAY_IMPORT = {
    "knowledge/graph.py": {"networkx"},
    "language/spans.py": {"numpy"},
    "check/tolerances/chance.py": {"numpy"},
    **{
        f"screen/{name}.py": {"numpy"}
        for name in (
            "ahead",
            "candidates",
            "demands",
            "kit_tables",
            "identify",
            "sets",
        )
    },
    "report": {"rich"},
    "bench": {"starlette", "uvicorn"},
}


def _imports(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written in full"
            assert node.module
            yield node.module


def _at_import(body: list[ast.stmt]) -> Iterator[ast.stmt]:
    """The statements run when a module is imported."""
    for node in body:
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            continue
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        inner = [
            value
            for name in ("body", "orelse", "finalbody", "handlers")
            for value in getattr(node, name, [])
        ]
        yield from (
            _at_import([part for part in inner if isinstance(part, ast.stmt)]) if inner else [node]
        )


def test_the_map_names_every_package():
    packages = {path.name for path in PACKAGE.iterdir() if (path / "__init__.py").is_file()}
    assert packages == set(LAYERS)
    assert LAYERS[0] == "cli" and LAYERS[-1] == "source"


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_imports_run_one_way(module):
    text = (PACKAGE / module).read_text(encoding="utf-8")
    own = module.parts[0]
    if own not in LAYERS:  # the front door, and `python -m fitcheck`
        assert str(module) in ("__init__.py", "__main__.py")
        return
    allowed = LAYERS[LAYERS.index(own) :]
    tree = ast.parse(text)
    for name in _imports(tree):
        if name.startswith("fitcheck."):
            assert name.split(".")[1] in allowed, f"{module} imports {name}"
    # Through the front door all is in reach: only the version is asked for there.
    asked = {
        node.attr
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id == "fitcheck"
    }
    taken = {
        alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module == "fitcheck"
        for alias in node.names
    }
    assert asked | taken <= {"__version__"}


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_heavy_packages_are_imported_where_they_are_used(module):
    tree = ast.parse((PACKAGE / module).read_text(encoding="utf-8"))
    found = {name.split(".")[0] for node in _at_import(tree.body) for name in _imports(node)}
    allowed = MAY_IMPORT.get(str(module)) or MAY_IMPORT.get(module.parts[0], set())
    assert found & HEAVY <= allowed


@pytest.mark.parametrize("imported", ["fitcheck, fitcheck.check", "fitcheck.cli.main"])
def test_the_engine_is_imported_without_heavy_packages(imported):
    told = subprocess.run(
        [sys.executable, "-c", f"import {imported}, sys; print(*sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = set(told.stdout.split())
    assert "fitcheck" in loaded
    assert not loaded & HEAVY


def test_modules_stay_small():
    """One noun a module: 400 lines are a guide, and no reason for splinters; formulas with long texts aside."""
    lengths = {
        str(module): len((PACKAGE / module).read_text(encoding="utf-8").splitlines())
        for module in MODULES
        if module.parts[0] != "calculations"
    }
    past = {module: length for module, length in lengths.items() if length > 400}
    assert len(past) <= 4 and max(past.values(), default=0) <= 450, past


def test_one_class_name_is_one_thing():
    names = [
        node.name
        for module in MODULES
        for node in ast.parse((PACKAGE / module).read_text(encoding="utf-8")).body
        if isinstance(node, ast.ClassDef)
    ]
    assert sorted({name for name in names if names.count(name) > 1}) == []


def test_no_modules_import_each_other_in_a_circle():
    """Imports of types alone, and those within a function, count as well."""
    names = {
        ".".join(("fitcheck", *module.with_suffix("").parts)).removesuffix(".__init__"): module
        for module in MODULES
    }
    graph = networkx.DiGraph()
    for name, module in names.items():
        for node in ast.walk(ast.parse((PACKAGE / module).read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module in names:
                read = (f"{node.module}.{alias.name}" for alias in node.names)
                graph.add_edges_from((name, one if one in names else node.module) for one in read)
    circles = [sorted(some) for some in networkx.strongly_connected_components(graph)]
    assert graph.number_of_edges() > 1000
    assert [some for some in circles if len(some) > 1] == []
