"""`check --fix PLATE...`: the edits that mend the writing, made or shown."""

from __future__ import annotations

import os
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from copperplate.cli import plates as reading
from copperplate.cli import printing
from copperplate.cli.writing import encoded, replace_file
from copperplate.findings import Finding
from copperplate.findings.as_json import span_json
from copperplate.units import counted

if TYPE_CHECKING:
    from copperplate.fixing import Fix
    from copperplate.making import Made


def offers(made: Made, data: bytes) -> list[tuple[Finding, tuple[Fix, ...]]]:
    """Every finding of a plate that was read as `data`, with the edits that mend it alone."""
    if not any(finding.edits for finding in made.open_findings):
        return [(finding, ()) for finding in made.findings]
    from copperplate.fixing import fixes

    files = reading.Files(made.name, data, partial(reading.inside, Path(made.folder)))
    found = {id(finding): each for finding, each in fixes(made, files)}
    return [(finding, found.get(id(finding), ())) for finding in made.findings]


def fix_json(fix: Fix, folder: str) -> dict[str, Any]:
    """An edit as plain values. `folder` stands before the names of files."""
    return {"title": fix.title, "safe": fix.safe, "span": span_json(fix.span, folder), "text": fix.text}


def mend(plates: tuple[str, ...], diff: bool, strict: bool) -> int:
    """Make every safe edit in plates and the files that they use, or show them (`diff`), and print what is left.
    Exit code as `check`'s of what is left; of `diff` 1 where something would change."""
    from copperplate.fixing import fixed
    from copperplate.making import make

    contents, all_read = reading.read_each(plates)
    code = 0 if all_read else 2
    for path, data in contents:
        made = reading.compile_path(path, data)
        files = reading.Files(made.name, data, partial(reading.inside, Path(made.folder)))
        mended = fixed(made, files)
        for name, source in mended.changed.items():
            before = files.get(name)
            if before is None:
                continue
            after, place = encoded(source.text, before), path if name == made.name else os.path.join(made.folder, name)
            if diff:
                printing.write(printing.difference(place, before, after))
            elif path == reading.STDIN:
                printing.write(after.decode("utf-8"))
            else:
                replace_file(place, after, before)
        if diff:
            code = max(code, int(bool(mended.changed)))
            continue
        for fix in mended.done:
            printing.tell(f"{made.folder}{fix.span.source.name}:{fix.span.line}: {fix.title}")
        printing.tell(f"{path}: {counted(len(mended.done), 'edit')} made")
        left = make(mended.texts, made.name, made.folder, made.called)
        if path != reading.STDIN:
            reading.print_findings(left)
        code = max(code, reading.exit_code(left.findings, strict))
    return code
