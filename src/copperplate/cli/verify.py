"""`verify DIR`: whether a folder holds whole packs."""

from __future__ import annotations

import re
from hashlib import sha256
from pathlib import Path

import click

from copperplate.cli import printing
from copperplate.cli.pack import OF_A_PACK, read_manifest


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(exists=True, file_okay=False, path_type=Path))
def verify(folder: Path) -> int:
    """Tell of every pack in DIR whether it is whole, of which plate it is, and which of its files differ.

    Exit code 0 where there is a pack and all are whole, else 1.
    """
    manifests = sorted(folder.glob("*.pack.json"))
    broken = sorted(path.parent.name[1:-5] for path in folder.glob(".?*.next/*.pack.json"))
    whole = bool(manifests) and not broken
    for stem in broken:
        printing.tell(f"{stem}: a build was stopped while its files moved; build the plate again")
    for path in manifests:
        stem = path.name.removesuffix(".pack.json")
        if stem not in broken:
            faults = _faults(folder, path, stem)
            whole &= not faults
            for fault in faults:
                printing.tell(f"{stem}: {fault}")
    if not manifests and not broken:
        printing.tell(f"{folder}: no pack is here: no manifest, NAME.pack.json, stands in it")
    return 0 if whole else 1


def _faults(folder: Path, path: Path, stem: str) -> list[str]:
    """What keeps a pack from being whole, in sentences; for a whole one its line is written."""
    entry = read_manifest(path.read_bytes())
    if entry is None:
        return [f"{path.name} is no manifest of a pack"]
    faults = []
    for name, digest in entry["files"].items():
        file = folder / name
        if not file.is_file():
            faults.append(f"{name} is missing")
        elif sha256(file.read_bytes()).hexdigest() != digest:
            faults.append(f"{name} is not as it was written")
    for file in sorted(folder.iterdir()):
        if re.fullmatch(re.escape(stem) + OF_A_PACK, file.name) and file.name not in entry["files"]:
            faults.append(f"{file.name} is of another pack")
    if not faults:
        count = len(entry["files"])
        printing.tell(f"{stem}: whole, {count} files of {entry['plate']}, written by version {entry['version']}")
    return faults
