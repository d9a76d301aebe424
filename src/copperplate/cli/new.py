"""`new NAME`: a starter plate that checks clean, or a copy of an example."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import click
from click.shell_completion import CompletionItem

from copperplate.cli import printing, shipped
from copperplate.text import nearest


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
    written = {target: _starter(target)} if like is None else _copy_of(like, target)
    for path in written:
        if path.exists() or path.is_symlink():
            raise click.ClickException(f"{path} is there already")
    for path, text in written.items():
        with open(path, "x", encoding="utf-8", newline="\n") as file:
            file.write(text)
        printing.tell(f"wrote {path}")
    printing.tell(f"next: copperplate check {target}")
    return 0


def _starter(target: Path) -> str:
    """The starter plate, with a title from the file's name, safe inside quotes."""
    words = target.stem.replace("-", " ").replace("_", " ").strip()
    title = "".join(c for c in words if c.isprintable() and c not in '"\\').capitalize() or "System"
    return (files("copperplate.cli") / "starter.plate").read_text("utf-8").format(title=title)


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
