"""What the design has reported to its reader, so that the re-check need not."""

from __future__ import annotations

from copperplate.model.results import Design


def reported(design: Design, *codes: str) -> frozenset[str]:
    """Subjects of the design's own findings of these codes. What is only warned of refuses no pack, but a design that
    breaks such a rule in silence does."""
    return frozenset(f.subject for f in design.findings if f.code in codes)
