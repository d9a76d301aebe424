"""A drawing as the outputs hand it on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


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
    zones: Mapping[str, str] = field(default_factory=dict)
    """By address, the zone that a thing stands in, as `C3`."""
    cut: tuple[str, ...] = ()
    """Texts of the plate that no room was found for: they end in an ellipsis here, the report has them in full."""
