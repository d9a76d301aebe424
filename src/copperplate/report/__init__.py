"""The design report and the lists of a pack. Floor 7."""

from copperplate.report.document import markdown
from copperplate.report.files import pack
from copperplate.report.page import html
from copperplate.report.sheets import Sheet, named

__all__ = ["Sheet", "html", "markdown", "named", "pack"]
