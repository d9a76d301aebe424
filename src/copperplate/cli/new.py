"""`new NAME`: a starter plate that checks clean, or a copy of an example."""

from __future__ import annotations

from pathlib import Path

import click
from click.shell_completion import CompletionItem

from copperplate.cli import printing, shipped
from copperplate.text import nearest

STARTER = '''\
# What is left out here is chosen: sizes, fuses. What is written is checked.
system "{title}"
  nominal 12 V
  conductors mm2

battery house "House battery" 12 V, 35 Ah, agm
  range 12.0..14.4 V
  fault-current 0.9 kA  # from the maker's sheet of the battery
bus minus "Negative bar" negative, 60 A
panel block "Fuse block" blade, ways 6, 60 A, return minus
load fridge "Refrigerator" 45 W, works 10.5..15 V, drop 5 %
load lights "Lights" 6 x 0.2 A, drop 10 %
load pump "Water pump" 4 A, intermittent, drop 10 %

# Runs: lengths one way; -//- is a pair, out and back.
house.pos -- 0.3 m -- [main: fuse blade] -- 1.0 m -- block
house.neg -- 1.2 m -- minus
block.1 -//- 3.5 m -- fridge
block.2 -//- 6 m -- lights
block.3 -//- 4 m -- pump
'''


def _complete(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    return [CompletionItem(name) for name in shipped.example_names() if name.startswith(incomplete)]


@click.command()
@click.argument("name")
@click.option("--like", metavar="EXAMPLE", shell_complete=_complete, help="Start from a shipped example.")
def new(name: str, like: str | None) -> int:
    """Write a starter plate NAME.plate that checks clean; what exists is never overwritten."""
    target = Path(name if name.endswith(".plate") else name + ".plate")
    if target.name.startswith("."):
        raise click.UsageError("a plate needs a name")
    files = {target: STARTER.format(title=_title(target))} if like is None else _copy_of(like, target)
    for path in files:
        if path.exists() or path.is_symlink():
            raise click.ClickException(f"{path} is there already")
    for path, text in files.items():
        with open(path, "x", encoding="utf-8", newline="\n") as file:
            file.write(text)
        printing.write(f"wrote {path}\n")
    printing.write(f"next: copperplate check {target}\n")
    return 0


def _title(target: Path) -> str:
    """A title from the file's name, safe inside quotes."""
    words = target.stem.replace("-", " ").replace("_", " ").strip()
    return "".join(c for c in words if c.isprintable() and c not in '"\\').capitalize() or "System"


def _copy_of(example: str, target: Path) -> dict[Path, str]:
    """The example's plate under the new name, and the other files that it uses under their own."""
    names = shipped.example_names()
    if example not in names:
        near = nearest(example, names)
        hint = f"did you mean {near}?" if near else f"there are {', '.join(names)}"
        raise click.UsageError(f"no example is called {example}; {hint}")
    folder = shipped.examples() / example
    return {
        target if path.stem == example else target.parent / path.name: path.read_text(encoding="utf-8")
        for path in sorted(folder.glob("*.plate"))
    }
