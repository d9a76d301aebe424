"""Writing one file in one step."""

from __future__ import annotations

import os
import tempfile


def replace_file(path: str, content: bytes) -> None:
    """The file with new content in one step, its permissions kept; a link stays a link."""
    target = os.path.realpath(path)
    handle, waiting = tempfile.mkstemp(prefix=".plate.", dir=os.path.dirname(target))
    try:
        with open(handle, "wb") as file:
            file.write(content)
        os.chmod(waiting, os.stat(target).st_mode & 0o7777 if os.path.exists(target) else 0o666 & ~_mask())
        os.replace(waiting, target)
    except OSError:
        os.unlink(waiting)
        raise


def _mask() -> int:
    """The mask for the permissions of new files."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
