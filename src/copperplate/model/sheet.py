"""A drawing as the outputs hand it on."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Sheet:
    """One finished sheet. `slug` names its file, `svg` is complete and stands alone."""

    number: int
    of: int
    slug: str
    title: str
    svg: str
    width_mm: float
    height_mm: float
    cut: tuple[str, ...] = ()
    """Texts of the plate that no room was found for: they end in an ellipsis here, the report has them in full."""
