"""Writing one file in one step, and never over what somebody saved meanwhile."""

from __future__ import annotations

import codecs
import os
import tempfile

import click

from copperplate.cli import printing


def write_file(path: str, content: bytes) -> None:
    """A file that is wholly ours, new or in place of the one that stands there."""
    if os.path.exists(path):
        with open(path, "rb") as file:
            replace_file(path, content, file.read())
    else:
        with open(path, "xb") as file:
            file.write(content)


def replace_file(path: str, content: bytes, before: bytes) -> None:
    """Give a file that was read as `before` new content in one step. Mode and owner are kept; a link stays a link.

    Raises click.ClickException, and writes nothing, where the file is read-only, or is no longer what was read."""
    target = os.path.realpath(path)
    stand = os.stat(target)
    if not stand.st_mode & 0o222 or not os.access(target, os.W_OK):
        raise click.ClickException(f"cannot write {path}: it is read-only")
    handle, waiting = tempfile.mkstemp(prefix=".plate.", dir=os.path.dirname(target))
    try:
        with open(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if hasattr(os, "chown") and (stand.st_uid, stand.st_gid) != (os.geteuid(), os.getegid()):
            os.chown(waiting, stand.st_uid, stand.st_gid)
        os.chmod(waiting, stand.st_mode & 0o7777)
        with open(target, "rb") as file:
            if file.read(len(before) + 1) != before:
                raise click.ClickException(f"{path} was saved while it was read, so it is left as it is: run it again")
        os.replace(waiting, target)
    except PermissionError as problem:
        os.unlink(waiting)
        raise click.ClickException(f"cannot write {path} and keep its owner: {problem.strerror}") from None
    except (OSError, click.ClickException):
        os.unlink(waiting)
        raise
    if stand.st_nlink > 1:
        printing.say(f"{path} had other names (hard links) on this disk: those still have the text of before")


def encoded(text: str, before: bytes) -> bytes:
    """The text as the file had it: line ends, and its mark of byte order."""
    returns = before.count(b"\r\n")
    if returns and returns == before.count(b"\n"):
        text = text.replace("\n", "\r\n")
    return (codecs.BOM_UTF8 if before.startswith(codecs.BOM_UTF8) else b"") + text.encode("utf-8")
