"""`build PLATE...`: the pack."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from copperplate.cli import plates as reading
from copperplate.cli import printing, revisions
from copperplate.cli.pack import settle, write_draft, write_pack
from copperplate.findings.terminal import counts, harmless
from copperplate.units import counted, number

if TYPE_CHECKING:
    from copperplate.making import Made
    from copperplate.model.results import Design, DeviceResult
    from copperplate.report import Reader


@click.command()
@reading.PLATES
@click.option("-o", "--output", "folder", default="build", metavar="DIR", type=click.Path(), help="Where packs go.")
@click.option("--detail", is_flag=True, help="Give every circuit its page of reasons in the report.")
@click.option("--pdf", is_flag=True, help="Write the documents of the report as PDF too (extra `pdf`).")
@click.option("--for", "readers", metavar="READERS", help="Whose PDF: client, installer, inspector, engineer.")
@click.option("--png", is_flag=True, help="Write every sheet as PNG too (extra `png`).")
@click.option("--since", metavar="OLD", help="Add what changed since OLD, a file or REVISION:path as `diff` takes it.")
def build(
    plates: tuple[str, ...], folder: str, detail: bool, pdf: bool, readers: str | None, png: bool, since: str | None
) -> int:
    """Write the pack of each plate: drawing sheets, the report of four documents, lists and design JSON.

    With error findings a draft is written, sheets and report with a numbered mark at each error, and the last good
    pack stays as it was.
    """
    extras = tuple(extra for extra, wanted in (("pdf", pdf), ("png", png)) if wanted)
    _installed(extras)
    wanted = _readers(readers)
    if since is not None and len(plates) > 1:
        raise click.UsageError("--since compares one plate with its earlier revision, and several plates are named")
    if since == reading.STDIN and since in plates:
        raise click.UsageError("standard input is one plate, and cannot be its own earlier revision")
    contents, all_read = reading.read_each(plates)
    stems = [_stem(path) for path, _ in contents]
    for stem in stems:
        if not stem or not stem.isprintable():
            what = "a name before `.plate`" if not stem else "a name that can be read"
            raise click.UsageError(f"the files of a pack are named after its plate, and {stem!r} is not {what}")
    for stem in stems:
        if stems.count(stem) > 1:
            raise click.UsageError(f"two of these plates would both be written as {stem}.*")
    before = revisions.compile_any(since) if since is not None else None
    code = 0
    for (path, data), stem in zip(contents, stems, strict=True):
        settle(Path(folder), stem)
        with printing.progress(f"building {path}"):
            made = reading.compile_path(path, data).drawn(before)
            files = _files(made, stem, detail, extras, before, wanted)
            if made.sound is None:
                write_draft(Path(folder), stem, files)
            else:
                write_pack(Path(folder), stem, made.name, made.digests, files)
        reading.print_findings(made)
        if made.sound is None:
            printing.write(_draft(files, folder))
            code = 1
        else:
            printing.write(_result(made.sound, files, folder))
    return code if all_read else 2


def _stem(path: str) -> str:
    """`launch` of `boats/launch.plate`: what the files of its pack begin with."""
    return "plate" if path == reading.STDIN else os.path.basename(path).removesuffix(".plate")


def _readers(named: str | None) -> tuple[Reader, ...]:
    """The documents asked for by `--for`, in their order; all of them without it."""
    from copperplate.report import READERS

    asked = [name.strip() for name in named.split(",")] if named is not None else list(READERS)
    for name in asked:
        if name not in READERS:
            raise click.UsageError(f"--for takes {', '.join(READERS)}, and {name!r} is none of them")
    return tuple(reader for reader in READERS if reader in asked)


def _installed(extras: tuple[str, ...]) -> None:
    """Refuse to begin where an extra that was asked for is not installed."""
    for extra in extras:
        from copperplate import report

        if report.lacking(extra):
            install = f"pip install 'copperplate[{extra}]'"
            raise click.UsageError(f"--{extra} needs the extra `{extra}`, which is not installed: {install}")


def _files(
    made: Made, stem: str, detail: bool, extras: tuple[str, ...], before: Made | None, readers: tuple[Reader, ...]
) -> dict[str, bytes]:
    """The pack, with what the extras add to it; a draft where errors stand, without them."""
    from copperplate import report
    from copperplate.cli.since import changes

    design = made.sound
    if design is None:
        return made.files(stem)
    since = changes(before, made, stem) if before is not None else None
    files = made.files(stem, detail, since)
    for extra in extras:
        prints = report.prints(design, made.sheets, stem, detail, extra, since, readers)
        lacking = report.unwritten(extra, files[f"{stem}.report.md"].decode(), report.named(made.sheets, stem))
        if lacking:
            what = next(iter(prints)) if extra == "pdf" else "the PNG files"
            printing.say(
                f"the fonts at hand lack {report.lacking_words(lacking)}: they may be empty boxes in {what}, not in"
                f" {stem}.report.html; a package with such a font, once installed, is used"
            )
        files |= prints
    return files


def _result(design: Design, files: dict[str, bytes], folder: str) -> str:
    """What was written and what matters, in two lines."""
    marked = any(name.endswith(".changes.svg") for name in files)
    sheets = sum(name.endswith(".svg") for name in files) - marked
    lists = sum(name.endswith(".csv") for name in files)
    report = "report with PDF" if any(name.endswith(".pdf") for name in files) else "report"
    report += ", marked drawing" if marked else ""
    written = f"{counted(sheets, 'sheet')}, {report}, {lists} lists, design.json in {folder}/"
    return f"{harmless(written)}\n{' · '.join(_matters(design))}\n"


def _draft(files: dict[str, bytes], folder: str) -> str:
    """What was written of a plate with errors, in a line."""
    sheets = sum(name.endswith(".svg") for name in files)
    if not files:
        return "no pack was written, and nothing could be drawn\n"
    return harmless(f"a draft, no pack: {counted(sheets, 'sheet')} with the errors marked, report in {folder}/") + "\n"


def _matters(design: Design) -> Iterator[str]:
    yield counts(f for f in design.findings if f.accepted is None) or "no findings"
    yield counted(len(design.assumptions), "assumption")
    if design.loads:
        worst = max(design.loads.values(), key=lambda load: load.drop_v / load.budget_v if load.budget_v else 0.0)
        yield f"largest drop {number(worst.drop_percent, 2)} of {number(worst.budget_percent)} % ({worst.load})"
    if (main := _main_device(design)) is not None and main.rating.rating_a is not None:
        yield f"main {design.system.devices[main.device].kind} {number(main.rating.rating_a)} A"


def _main_device(design: Design) -> DeviceResult | None:
    """The first protective device behind the first battery that has one."""
    for run in design.system.runs.values():
        if design.system.parts[design.system.end_parts(run)[0]].roles.stores:
            for device in run.device_ids:
                if design.system.devices[device].roles.protects and device in design.devices:
                    return design.devices[device]
    return None
