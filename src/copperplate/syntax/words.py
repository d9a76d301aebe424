"""Reads words, names, addresses and texts. A problem comes beside its atom."""

from __future__ import annotations

import re
from functools import lru_cache
from unicodedata import normalize

from copperplate.syntax.lines import UNPRINTABLE
from copperplate.syntax.problems import Problem
from copperplate.syntax.tree import Bad, StudAtom, Text, Word
from copperplate.syntax.values import Recipe

NAME = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_ADDRESS = re.compile(NAME.pattern + r"(?:\.[a-z0-9]+(?:-[a-z0-9]+)*)*[-+]?(?:/[0-9]+)?")
_CODE = re.compile(r"[A-Z]{2}[0-9]{3}")
_STUD = re.compile(r"M[0-9]+|no-[0-9]+")


def name_like(text: str) -> str:
    """The nearest legal spelling of a name, or "" where nothing of it is left: `Port_Locker` -> `port-locker`."""
    plain = normalize("NFKD", text.replace("ß", "ss")).encode("ascii", "ignore").decode().lower()
    parts = [re.sub(r"[^a-z0-9]+", "-", part).strip("-") for part in plain.split(".")]
    spelled = ".".join(part for part in parts if part)
    return spelled if NAME.match(spelled) else ""


def misspelled_part(address: str) -> str:
    """What of an address is spelled wrong: `House` of `House.pos` and of `House`."""
    first = address.split(".")[0]
    return address if NAME.fullmatch(first) else first


@lru_cache(maxsize=8192)
def read_word(written: str) -> Recipe:
    """A name, an address, a finding's code, a stud's trade name, or any other word."""
    if _STUD.fullmatch(written):
        return (lambda span: StudAtom(written, span)), None
    if _ADDRESS.fullmatch(written) or _CODE.fullmatch(written):
        return (lambda span: Word(written, span)), None
    plain = written.lower().replace("_", "-")
    if _ADDRESS.fullmatch(plain):
        return (lambda span: Word(plain, span)), None
    spelled = name_like(written)
    if not spelled:
        return (lambda span: Bad(written, span)), Problem("CP109", 0, len(written), {"written": written})
    misspelled = Problem("CP109", 0, len(written), {"written": written, "instead": spelled})
    return (lambda span: Word(spelled, span)), misspelled


def read_text(written: str) -> str:
    """The characters of a quoted text: `\\"` and `\\\\` stand for the mark behind the backslash."""
    text = written[1:-1]
    if "\\" in text:
        text = re.sub(r'\\(["\\])', r"\1", text)
    return UNPRINTABLE.sub(" ", text)


def read_loose_text(written: str) -> Recipe:
    """A text without its closing quote, or in quotes of another kind."""
    inner = written.strip("\"“”„«»'").strip()
    quoted = '"' + inner.replace("\\", "\\\\").replace('"', "'") + '"'
    if not written.startswith('"'):
        return (lambda span: Text(inner, span)), Problem("CP103", 0, len(written), {"quoted": quoted})
    closed = quoted if "," not in inner else None
    return (lambda span: Bad(written, span)), Problem("CP103", 0, len(written), {"open": True, "quoted": closed})
