"""The package's shape: imports run one way, no file hides what it imports, nothing fetches anything."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "aquacalc"
ORDER = [
    {"face", "failure"},
    {"files", "units"},
    {"equations"},
    {"catalogue"},
    {"plan"},
    {"geometry"},
    {"hydraulics"},
    {"engine"},
    {"results"},
    {"findings"},
    {"pages"},
    {"bench"},
    {"design", "figures"},
    {"buildsheet"},
    {"report", "evidence"},
    {"live"},
    {"notebook"},
    {"teaching"},
    {"commands"},
    {"__main__"},
]
RANK = {name: i for i, names in enumerate(ORDER) for name in names}
FILES = sorted(ROOT.rglob("*.py"))


def part(path):
    relative = path.relative_to(ROOT)
    return relative.parts[0].removesuffix(".py")


@pytest.mark.identity
@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_run_one_way(path):
    here = part(path)
    if here == "__init__":
        return
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("aquacalc"):
            assert all(alias.name != "*" for alias in node.names), f"{path.name}: star import"
            inner = node.module.split(".")[1:2] or [alias.name for alias in node.names]
            for name in inner:
                if name in RANK:
                    assert RANK[name] <= RANK[here], f"{path.name} imports {name}, which stands above {here}"
                else:
                    assert name in ("__version__",), (
                        f"{path.name} imports {name}, which has no place in the order"
                    )


@pytest.mark.identity
def test_only_the_door_knows_pint():
    """Units are text outside and floats inside: no other module imports pint."""
    users = {
        part(path)
        for path in FILES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Import | ast.ImportFrom)
        and "pint" in [getattr(node, "module", None), *(alias.name for alias in node.names)]
    }
    assert users == {"units"}
