"""The design report and the lists of a pack. Floor 7."""

from copperplate.report.blocks import Block, Heading
from copperplate.report.changes import Changes
from copperplate.report.document import document
from copperplate.report.files import draft, pack, prints
from copperplate.report.lettering import lacking_words
from copperplate.report.markdown import markdown
from copperplate.report.page import html
from copperplate.report.printing import lacking, pdf, png, unwritten
from copperplate.report.sheets import Sheet, named

__all__ = [
    "Block", "Changes", "Heading", "Sheet", "document", "draft", "html", "lacking", "lacking_words", "markdown",
    "named", "pack", "pdf", "png", "prints", "unwritten",
]  # fmt: skip
