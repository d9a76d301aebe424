"""Where rule profiles and tables of standards are looked for: the folder that ships, then those that were registered.

A folder is laid out as `standards/data`: `profiles/NAME.toml` is the profile NAME, `BODY/TABLE.csv` with its sheet
`TABLE.toml` the table BODY/TABLE. Of two files of one name the first counts, so that what ships stays what it is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable

FOLDERS: list[Traversable] = [files("copperplate") / "standards" / "data"]


def register(folder: Traversable) -> None:
    """Look in this folder too. NotADirectoryError where there is none."""
    if not folder.is_dir():
        raise NotADirectoryError(folder)
    if folder not in FOLDERS:
        FOLDERS.append(folder)


def file_of(name: str) -> Traversable | None:
    """The first file of this name below the folders ("profiles/nec.toml"), or None."""
    return next((path for folder in FOLDERS if (path := folder / name).is_file()), None)


def names(folder: Traversable, ending: str) -> list[str]:
    """The files of a folder with this ending, sorted and without it; none where there is no folder."""
    found = (file.name for file in (folder.iterdir() if folder.is_dir() else ()))
    return sorted(name.removesuffix(ending) for name in found if name.endswith(ending))


class ProfileNames(Collection[str]):
    """The names of the rule profiles that stand in the folders when asked, folder by folder and there by name."""

    def _names(self) -> dict[str, None]:
        return dict.fromkeys(name for folder in FOLDERS for name in names(folder / "profiles", ".toml"))

    def __iter__(self) -> Iterator[str]:
        return iter(self._names())

    def __contains__(self, name: object) -> bool:
        return name in self._names()

    def __len__(self) -> int:
        return len(self._names())
