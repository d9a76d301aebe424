"""The publication behind a source line, for the list of sources at the end of a report."""

from __future__ import annotations

import re

from copperplate.model.results import Source

DOCUMENTS: tuple[tuple[str, str, str], ...] = (
    ("33 CFR 183", "Code of Federal Regulations, title 33, part 183 subpart I: boats", "as published"),
    ("46 CFR", "Code of Federal Regulations, title 46: shipping", "as published"),
    ("NEC", "NFPA 70, National Electrical Code", "numbering of 2020 to 2023"),
    ("IEC 60364", "IEC 60364, low-voltage electrical installations", "parts as cited"),
    ("IEC 60228", "IEC 60228, conductors of insulated cables", "as published"),
    ("IEC 60445", "IEC 60445, identification of terminals and conductors", "2017"),
    ("IEC 60269", "IEC 60269-2, low-voltage fuses", "as published"),
    ("IEC 60898", "IEC 60898-1, circuit-breakers for households", "as published"),
    ("ISO 10133", "ISO 10133, small craft: extra-low-voltage DC installations", "2012, withdrawn 2020"),
    ("ISO 13297", "ISO 13297, small craft: electrical systems", "2020"),
    ("small-craft", "ISO 10133 and ISO 13297, small craft", "2012 and 2020"),
    ("ISO 8820", "ISO 8820, road vehicles: fuse-links", "parts as cited"),
    ("ISO 20934", "ISO 20934, road vehicles: fuse-links for 48 V", "2019"),
    ("UL 248", "UL 248, low-voltage fuses", "parts as cited"),
    ("ASTM B258", "ASTM B258, diameters and areas of AWG conductors", "as published"),
    ("the plate", "The plate itself", ""),
    ("US small-craft practice", "Small-craft practice in the US, as several public pages give it", "not dated"),
)
"""(what a source line begins with, title, edition)."""

PRACTICE = "Practice of the trade, no published source"


def published(source: str, status: str) -> Source:
    """The publication that a source line names, with the clause and without the row or the words behind it, so
    that the rows of one table are one source; `status` is carried on. What names no document is practice."""
    clause = re.split(r"[,;:] ", source, maxsplit=1)[0]
    for prefix, title, edition in DOCUMENTS:
        if source.startswith(prefix):
            return Source(title, edition, clause, status)
    return Source(PRACTICE, "", clause, status)
