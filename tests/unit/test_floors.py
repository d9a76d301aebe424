"""The floors of the house: a module imports only its own room and rooms on lower floors."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2] / "src" / "copperplate"

FLOORS: dict[str, int] = {
    "text": 0, "units": 0,
    "findings": 1,
    "syntax": 2,
    "model": 3,
    "resolve": 4, "standards": 4,
    "network": 5, "flow": 5, "faults": 5,
    "sizing": 6, "protection": 6, "energy": 6, "stock": 6,
    "design": 7, "selectivity": 7, "mending": 7, "left_open": 7, "schema": 7, "audit": 7,
    "drawing": 8, "report": 8, "diff": 8, "why": 8,
    "making": 9, "fixing": 10,
    "cli": 11, "editor": 11, "preview": 11, "interface": 11,
}  # fmt: skip
"""Room -> floor. A room is a folder of the package, or a module that stands alone."""

ALONE = {
    "text": set(), "flow": {"model", "standards", "units"}, "faults": {"model", "standards", "units"},
    "audit": {"model", "standards", "syntax", "units", "findings", "text"},
}  # fmt: skip
"""Rooms that may import fewer rooms than their floor allows. The re-check must not share the computing rooms."""

LEVEL = {
    ("resolve", "standards"), ("design", "audit"), ("design", "selectivity"), ("design", "mending"),
    ("design", "left_open"),
    ("cli", "preview"), ("cli", "editor"),
}  # fmt: skip
"""The imports within a floor: what a plate leaves open is filled in from its rule profile, the pipeline ends with the
re-check, and a command opens another entrance."""

ENTRANCE_OF = {
    "lark": {"syntax"}, "pint": {"units"}, "click": {"cli"}, "rich": {"cli"}, "watchfiles": {"preview"},
    "pygls": {"editor"}, "lsprotocol": {"editor"}, "typst": {"report"}, "resvg_py": {"report"},
    "subprocess": {"cli"}, "threading": {"cli", "preview", "editor"}, "multiprocessing": {"cli"}, "http": {"preview"},
}  # fmt: skip
"""Libraries that only these rooms import."""

TEST_ORACLES = {"numpy", "scipy", "pytest", "hypothesis"}


def imports_of(path: Path) -> Iterator[tuple[str, int]]:
    """Every module that a file imports, at any depth of its code, with the line."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    package = ["copperplate", *path.relative_to(ROOT).parts[:-1]]
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((name.name, node.lineno) for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            module = ".".join([*base, *([node.module] if node.module else [])])
            if module == "copperplate":
                yield from ((f"copperplate.{name.name}", node.lineno) for name in node.names)
            else:
                yield module, node.lineno


def room_of(path: Path) -> str:
    first = path.relative_to(ROOT).parts[0]
    return first.removesuffix(".py")


def modules() -> list[Path]:
    return [path for path in sorted(ROOT.rglob("*.py")) if path.parent != ROOT or not path.name.startswith("__")]


def breaches(path: Path) -> list[str]:
    """What a module imports and may not."""
    room = room_of(path)
    found = []
    for module, line in imports_of(path):
        library, *rest = module.split(".")
        where = f"{path.relative_to(ROOT)}:{line} imports {module}"
        if library == "copperplate":
            other = rest[0] if rest else "__version__"
            if other in (room, "__version__"):
                continue
            if other not in FLOORS:
                found.append(f"{where}, which is no room of the house")
            elif FLOORS[other] >= FLOORS[room] and (room, other) not in LEVEL:
                found.append(f"{where}: floor {FLOORS[room]} may not import floor {FLOORS[other]}")
            elif room in ALONE and other not in ALONE[room]:
                found.append(f"{where}, which {room} may not")
        elif library in ENTRANCE_OF and room not in ENTRANCE_OF[library]:
            found.append(f"{where}, which is for {', '.join(ENTRANCE_OF[library])} only")
        elif library in TEST_ORACLES:
            found.append(f"{where}, which is for tests only")
    return found


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_imports_lower_floors_only(path: Path) -> None:
    assert room_of(path) in FLOORS, "a new room needs a floor in this test"
    assert breaches(path) == []


def test_the_walk_sees_a_breach(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each kind of breach, planted in a copy of the house, is found."""
    monkeypatch.setattr(__name__ + ".ROOT", tmp_path)
    planted = tmp_path / "sizing" / "ladder.py"
    planted.parent.mkdir()
    planted.write_text(
        "import copperplate.text\nfrom copperplate import energy\nfrom copperplate.cli.main import main\n"
        "def f():\n    import numpy\n    from lark import Lark\n    from ..why import ladder\n    from . import x\n"
    )
    assert [found.split(" imports ")[1] for found in breaches(planted)] == [
        "copperplate.energy: floor 6 may not import floor 6",
        "copperplate.cli.main: floor 6 may not import floor 11",
        "numpy, which is for tests only",
        "lark, which is for syntax only",
        "copperplate.why: floor 6 may not import floor 8",
    ]
    audit = tmp_path / "audit.py"
    audit.write_text("from copperplate.network import solve\n")
    assert breaches(audit) == ["audit.py:1 imports copperplate.network, which audit may not"]
