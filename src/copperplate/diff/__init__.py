"""What changed between two designs: in words, as data, as marks on the drawing. Floor 7."""

from copperplate.diff.compare import FORMAT, compare
from copperplate.diff.markdown import markdown
from copperplate.diff.patch import apply, patch
from copperplate.diff.sides import as_json
from copperplate.diff.text import text

__all__ = ["FORMAT", "apply", "as_json", "compare", "markdown", "patch", "text"]
