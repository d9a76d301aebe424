"""The design report and the lists of a pack. Floor 7."""

from copperplate.report.blocks import READERS, Block, Heading, Reader
from copperplate.report.changes import Changes
from copperplate.report.document import document
from copperplate.report.files import draft, pack, prints
from copperplate.report.lettering import lacking_words
from copperplate.report.markdown import markdown
from copperplate.report.page import html
from copperplate.report.points import questions
from copperplate.report.printing import lacking, pdf, png, unwritten
from copperplate.report.sheets import Sheet, named

__all__ = [
    "READERS", "Block", "Changes", "Heading", "Reader", "Sheet", "document", "draft", "html", "lacking",
    "lacking_words", "markdown", "named", "pack", "pdf", "png", "prints", "questions", "unwritten",
]  # fmt: skip
