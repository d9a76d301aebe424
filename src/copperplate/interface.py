"""The public interface: a plate in, its design and what is made of it out. `docs/python.md` shows it.

Floor 9, an entrance.

    design = copperplate.compile(Path("launch.plate"))
    design.runs["bilge.run"].size, design.loads["bilge"].quantity("drop_v")
    copperplate.to_json(design), copperplate.draw(design), copperplate.pack(design), copperplate.compare(old, new)

Names that stand here and in the schema of the design keep their meaning as `docs/python.md` says. A plate on the disk
and the files that it uses are read; nothing is written.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from copperplate.findings import Finding
from copperplate.making import Made, make
from copperplate.text import json_value

if TYPE_CHECKING:
    from copperplate.drawing import Sheet
    from copperplate.model.results import Design


class PlateError(ValueError):
    """A plate that makes no system at all. `findings` say why."""

    def __init__(self, name: str, findings: tuple[Finding, ...]) -> None:
        first = next((f.message for f in findings if f.severity == "error"), "it makes no system")
        super().__init__(f"{name}: {first}")
        self.findings = findings


def compile(plate: Path | str | bytes) -> Design:
    """The design of a plate: a path (`Path`), or the text itself. With error findings the design is partial; look at
    `design.errors`. Files that a plate at a path uses lie in its folder or below; a text uses none.

    Raises PlateError where the plate makes no system, OSError where there is no such file."""
    made = _made(plate)
    if made.design is None:
        raise PlateError(made.name, made.findings)
    return made.design


def to_json(design: Design) -> dict[str, Any]:
    """The design as plain values, in SI units with the unit in each key: what `NAME.design.json` holds."""
    from copperplate import schema

    return json_value(schema.to_json(design))


def draw(design: Design) -> list[Sheet]:
    """The sheets of the drawing, each with its `title` and `svg` (millimetres). ValueError where an error stands."""
    _whole(design)
    from copperplate import drawing

    return list(drawing.sheets(design))


def pack(design: Design, stem: str = "plate") -> dict[str, str]:
    """The texts of the pack by name: report, sheets, lists, design. ValueError where an error stands."""
    _whole(design)
    from copperplate import drawing, report

    return dict(report.pack(design, drawing.sheets(design), stem))


def compare(old: Design, new: Design) -> dict[str, Any]:
    """What changed from one design to another, as `copperplate diff --format json` prints it."""
    from copperplate import diff

    return json_value(diff.compare(to_json(old), to_json(new), old.source_name, new.source_name))


def _made(plate: Path | str | bytes) -> Made:
    if isinstance(plate, Path):
        plate.stat()
        return make(_Folder(plate.parent.resolve()), plate.name)
    return make({"plate": plate if isinstance(plate, bytes) else plate.encode()}, "plate")


def _whole(design: Design) -> None:
    if design.errors:
        raise ValueError(f"{design.source_name} has errors: {design.errors[0].message}")


class _Folder:
    """The files of a folder and below, by name. A name that leads out of it is no file."""

    def __init__(self, root: Path) -> None:
        self._root = root

    def get(self, name: str, /) -> bytes | None:
        path = (self._root / name).resolve()
        if not path.is_relative_to(self._root):
            return None
        return path.read_bytes() if path.is_file() else None
