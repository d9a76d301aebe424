"""What the re-check says, and what the design has already told its reader."""

from __future__ import annotations

from copperplate.findings import Finding, finding
from copperplate.model.results import Design

HELP = "a defect of this program, not of the plate: please report it"


def defect(code: str, subject: str, message: str) -> Finding:
    """A finding of the re-check: no fault of the plate, whose own faults have findings of their own."""
    return finding(code, subject, message, help=HELP)


def told(design: Design, *codes: str) -> frozenset[str]:
    """Subjects of the design's own findings of these codes. What is only warned of refuses no pack, but a design that
    breaks such a rule in silence does."""
    return frozenset(f.subject for f in design.findings if f.code in codes)
