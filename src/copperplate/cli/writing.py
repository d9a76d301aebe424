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
        os.chmod(waiting, os.stat(target).st_mode & 0o7777)
        os.replace(waiting, target)
    except OSError:
        os.unlink(waiting)
        raise
