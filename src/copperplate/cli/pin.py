"""`pin PLATE`: the choices that must not move later, written into the plate."""

from __future__ import annotations

import click

from copperplate.cli import plates as reading
from copperplate.cli import printing
from copperplate.cli.revisions import compare
from copperplate.cli.writing import encoded, replace_file
from copperplate.text import Source
from copperplate.units import counted


@click.command()
@reading.PLATE
@click.option("--sizes", is_flag=True, help="Pin conductor sizes, fuse families and ratings as well.")
def pin(plate: str, sizes: bool) -> int:
    """Write the ways of panels that were chosen into PLATE, and with --sizes sizes and ratings too.

    The design stays the same; what is pinned is checked from then on, not chosen. "-" reads standard input and writes
    the plate to standard output. Nothing is written where the plate has errors.
    """
    from copperplate import syntax
    from copperplate.diff import pinning

    data = reading.read_bytes(plate)
    made = reading.compile_path(plate, data)
    source = made.sources[made.name]
    if made.sound is None or source is None:
        reading.print_findings(made)
        printing.say("nothing is pinned while errors stand")
        return 1
    tree, _ = syntax.parse(source)
    edits = pinning.edits(tree, made.sound, sizes)
    text = pinning.apply_edits(source.text, edits)
    if syntax.format(source)[0] == source.text:
        # What was in the one style stays in it: a line may have grown too long.
        text = syntax.format(Source(source.name, text))[0]
    pinned = encoded(text, data)
    again = reading.compile_path(plate, pinned)
    moved = compare(made, again, plate, plate)
    if again.design is None or any(change["change"] != "pinned" for change in moved["changes"]):
        raise click.ClickException(
            f"pinning would change the design of {plate}, so it is left as it is; please report this with the plate"
        )
    if plate == reading.STDIN:
        printing.write(pinned.decode("utf-8"))
        return 0
    if edits:
        replace_file(plate, pinned, data)
    for edit in edits:
        printing.tell(f"{edit.what}: {edit.text.strip(' ,-').strip('[]')}")
    pinned_count = f"{counted(len(edits), 'choice')} pinned, the design is the same"
    printing.tell(f"{plate}: {pinned_count if edits else 'nothing to pin'}")
    return 0
