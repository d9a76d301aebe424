"""Where rule profiles and tables of standards are looked for: the folder that ships, then those that were registered.

A folder is laid out as `standards/data`: `profiles/NAME.toml` is the profile NAME, `BODY/TABLE.csv` with its sheet
`TABLE.toml` the table BODY/TABLE. Of two files of one name the first counts, so that what ships stays what it is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path

FOLDERS: list[Path] = [Path(__file__).parents[1] / "standards" / "data"]


def register(folder: Path) -> None:
    """Look in this folder too. NotADirectoryError where there is none."""
    if not folder.is_dir():
        raise NotADirectoryError(folder)
    if folder not in FOLDERS:
        FOLDERS.append(folder)


def file_of(name: str) -> Path | None:
    """The first file of this name below the folders ("profiles/nec.toml"), or None."""
    return next((path for folder in FOLDERS if (path := folder / name).is_file()), None)


class ProfileNames(Collection[str]):
    """The names of the rule profiles that stand in the folders when asked, folder by folder and there by name."""

    def _names(self) -> dict[str, None]:
        files = (path for folder in FOLDERS for path in sorted((folder / "profiles").glob("*.toml")))
        return dict.fromkeys(path.stem for path in files)

    def __iter__(self) -> Iterator[str]:
        return iter(self._names())

    def __contains__(self, name: object) -> bool:
        return name in self._names()

    def __len__(self) -> int:
        return len(self._names())
