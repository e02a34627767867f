"""The floor plan holds: read from the syntax trees, so that it cannot drift from the code."""

import ast
from pathlib import Path

import pytest

import reworkkit

PACKAGE = Path(reworkkit.__file__).parent
MAY_IMPORT = {
    "model": {"model"},
    "errors": {"model"},
    "tables": {"model", "errors", "tables"},
    "read": {"model", "errors", "tables", "read"},
    "compute": {"model", "errors", "tables", "compute"},
    "record": {"model", "errors", "record"},
    "show": {"model", "errors", "show"},
    "pipeline": {"model", "errors", "tables", "read", "compute", "record", "pipeline"},
    "cli": {"model", "errors", "pipeline", "show", "cli"},
    "__init__": set(),
}
MODULES = sorted(PACKAGE.rglob("*.py"))
LONGEST_MODULE = 400
LONGEST_FUNCTION = 50


def stage(path: Path) -> str:
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imported(path: Path) -> list[tuple[int, str]]:
    """Return (line, dotted name) of every import of the package itself, type-checking blocks included."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found: list[tuple[int, str]] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "reworkkit":
            names = (
                [f"{node.module}.{alias.name}" for alias in node.names] if node.module.count(".") < 2 else [node.module]
            )
            found += [(node.lineno, name) for name in names]
        elif isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names if alias.name.startswith("reworkkit")]
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_a_stage_imports_only_what_it_may(path: Path) -> None:
    for line, name in imported(path):
        parts = name.split(".")
        target = parts[1] if len(parts) > 1 else "__init__"
        target = target if target in MAY_IMPORT else "__init__"
        assert target in MAY_IMPORT[stage(path)] | {"__init__"}, f"{path}:{line} imports {name}"


def compute_room(path_or_name: str) -> str:
    return path_or_name.split(".")[0]


@pytest.mark.parametrize(
    "path", sorted((PACKAGE / "compute").rglob("*.py")), ids=lambda path: path.relative_to(PACKAGE).as_posix()
)
def test_a_compute_module_imports_no_sibling(path: Path) -> None:
    own = path.relative_to(PACKAGE / "compute").parts[0].removesuffix(".py")
    for line, name in imported(path):
        parts = name.split(".")
        if parts[1] == "compute" and len(parts) > 2:
            assert parts[2] in (own, "formulas"), f"{path}:{line} imports {name}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_modules_and_functions_stay_small(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= LONGEST_MODULE, f"{path} has {text.count(chr(10))} lines"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            lines = (node.end_lineno or node.lineno) - node.body[0].lineno + 1
            assert lines <= LONGEST_FUNCTION, f"{path}:{node.lineno} {node.name} has {lines} lines"


def test_the_graph_of_work_holds_no_decision() -> None:
    tree = ast.parse((PACKAGE / "pipeline" / "work.py").read_text(encoding="utf-8"))
    inside = [node for part in ast.walk(tree) if isinstance(part, ast.FunctionDef) for node in ast.walk(part)]
    assert not [node.lineno for node in inside if isinstance(node, ast.If | ast.For | ast.While | ast.IfExp)]


def test_only_their_owners_know_typer_sqlite_and_pandas() -> None:
    owners = {
        "typer": {"cli"},
        "sqlite3": {"record"},
        "pandas": {"read"},
        "jinja2": {"show"},
        "pydantic": {"read", "model"},
    }
    for path in MODULES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module] if isinstance(node, ast.ImportFrom) and node.module else []
            for name in names:
                library = name.split(".")[0]
                assert stage(path) in owners.get(library, {stage(path)}), f"{path}:{node.lineno} imports {library}"


def test_every_float_field_names_its_unit() -> None:
    units = (
        "_v",
        "_a",
        "_ohm",
        "_f",
        "_h",
        "_w",
        "_j",
        "_s",
        "_c",
        "_k",
        "_k_per_w",
        "_mm",
        "_mm2",
        "_deg",
        "_percent",
        "_g",
    )
    allowed = {"low", "nominal", "high", "value", "cost"}  # Band and Reading carry their unit in a field beside them
    for path in sorted((PACKAGE / "model").glob("*.py")):
        for record in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(record, ast.ClassDef):
                continue
            for field in record.body:
                if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name):
                    kind = ast.unparse(field.annotation)
                    name = field.target.id
                    if kind in ("float", "float | None"):
                        assert name.endswith(units) or name in allowed, f"{path.name}: {record.name}.{name} has no unit"
