"""The entrance: `copperplate COMMAND`. Each command is one file here, imported only when it is asked for.

Exit codes: 0 no error findings; 1 error findings; 2 the command could not run. Whatever the input, no traceback
reaches a user: a defect of ours ends in one line and exit code 2 (COPPERPLATE_TRACEBACK=1 shows the rest).
"""

from __future__ import annotations

import gc
import os
import sys
from importlib import import_module

import click

from copperplate import __version__
from copperplate.cli import printing
from copperplate.text import nearest

COMMANDS = {
    "build": ("build:build", "build boat.plate -o pack --pdf"),
    "check": ("check:check", "check --strict boats/*.plate"),
    "show": ("show:show", "show boat.plate"),
    "why": ("why:why", "why boat.plate fridge"),
    "diff": ("diff:diff", "diff HEAD~1:boat.plate boat.plate"),
    "stock": ("stock:stock", "stock boat.plate --at-most 4"),
    "pin": ("pin:pin", "pin --sizes boat.plate"),
    "fmt": ("fmt:fmt", "fmt --diff boat.plate"),
    "verify": ("verify:verify", "verify pack"),
    "new": ("new:new", "new boat"),
    "explain": ("explain:explain", "explain CP310"),
    "tables": ("tables:tables", "tables"),
    "preview": ("preview:preview", "preview boat.plate"),
    "language-server": ("language_server:language_server", "language-server"),
}
"""Command -> module of this folder and the command in it; and how it is called, say."""


class Commands(click.Group):
    """The commands by name, each imported on first use: starting up must not pay for what is not asked."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        place, example = COMMANDS[cmd_name]
        module, name = place.split(":")
        command = getattr(import_module(f"copperplate.cli.{module}"), name)
        assert isinstance(command, click.Command)
        command.epilog = f"Example: copperplate {example}"
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command of the first word. Raises UsageError with the command that was probably meant."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            likely = nearest(args[0], COMMANDS)
            meant = f"; did you mean `copperplate {likely}`?" if likely is not None else ""
            raise click.UsageError(f"there is no command `{args[0]}`{meant}", ctx)
        return super().resolve_command(ctx, args)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="copperplate", message="%(prog)s %(version)s")
def copperplate() -> None:
    """Wiring of small electrical systems from a plain text: sized conductors, chosen fuses, drawings and a
    report that says why. A source file is a plate, NAME.plate.

    Exit codes: 0 no error findings, 1 error findings, 2 the command could not run.
    """


def main() -> None:
    """What the installed command calls."""
    # One command is one short life: collecting cycles meanwhile costs more than it frees.
    gc.disable()
    for name in ("stdout", "stderr"):
        # A closed stream is None: what would go there goes nowhere.
        stream = getattr(sys, name) or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
        stream.reconfigure(errors="replace")
        setattr(sys, name, stream)
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command line and give its exit code."""
    try:
        code = copperplate.main(arguments or ["--help"], prog_name="copperplate", standalone_mode=False)
        return code if isinstance(code, int) else 0
    except click.ClickException as problem:
        printing.say(_usage(problem))
        return 2
    except (KeyboardInterrupt, click.Abort):
        printing.say("stopped")
        return 2
    except BrokenPipeError:
        printing.drop_output()
        return 2
    except OSError as problem:
        printing.say(f"copperplate: {problem.strerror or problem}: {problem.filename or 'a file'}")
        return 2
    except Exception as defect:
        if os.environ.get("COPPERPLATE_TRACEBACK"):
            raise
        printing.say(_apology(defect))
        return 2


def _usage(problem: click.ClickException) -> str:
    context = getattr(problem, "ctx", None)
    hint = f" (see `{context.command_path} --help`)" if context is not None else ""
    return f"copperplate: {problem.format_message()}{hint}"


def _apology(defect: Exception) -> str:
    """One line that names the defect well enough to find it."""
    step = defect.__traceback__
    place = ""
    while step is not None:
        code = step.tb_frame.f_code
        if "copperplate" in code.co_filename:
            place = f" at {os.path.basename(code.co_filename)}:{step.tb_lineno}"
        step = step.tb_next
    return (
        f"copperplate: sorry, this is a defect of ours and not of your plate: {type(defect).__name__}: "
        f"{str(defect)[:200]!r}{place}. Please report it together with the plate."
    )
