"""Files that ship with the compiler: the pages of the findings and the examples.

A wheel carries them inside the package; an editable install and a checkout have them beside `src`.
"""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1]
CHECKOUT = PACKAGE.parents[1]


def pages() -> Path:
    """The folder with a page for each finding code."""
    return _folder(PACKAGE / "pages", CHECKOUT / "docs" / "findings")


def examples() -> Path:
    """The folder with a folder for each example."""
    return _folder(PACKAGE / "examples", CHECKOUT / "examples")


def example_names() -> list[str]:
    """The examples by name: folders with a plate of their own name."""
    return sorted(folder.name for folder in examples().iterdir() if (folder / f"{folder.name}.plate").is_file())


def _folder(installed: Path, beside: Path) -> Path:
    return installed if installed.is_dir() else beside
