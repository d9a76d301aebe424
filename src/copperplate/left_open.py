"""What a plate leaves open with `?`: one finding for each, and what was taken instead."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Literal

from copperplate.findings import Finding, make
from copperplate.model import Battery
from copperplate.model.results import Design
from copperplate.units import show

_SEVERITIES: dict[str, Literal["error", "warning", "advice"]] = {
    "draft": "advice", "build": "error", "as-built": "error",
}  # fmt: skip
"""By how far the design is: a draft may have open points, what is built from may not."""


def open_points(design: Design) -> tuple[Finding, ...]:
    """The open points of a plate. Of a length it says up to which the size that was chosen serves."""
    severity = _SEVERITIES.get(design.system.settings.stage, "warning")
    return tuple(replace(finding, severity=severity) for finding in _points(design))


def _points(design: Design) -> Iterator[Finding]:
    system = design.system
    unit, stage = system.settings.length_unit, system.settings.stage or "none"
    for part in system.parts.values():
        for key in sorted(part.left_open):
            taken = part.fault_current_a if isinstance(part, Battery) else None
            yield make("CP253", part.id, part.spans.get(key, part.span), taken=taken, load=taken is None, stage=stage)
    for run in system.runs.values():
        if run.length_open:
            result = design.runs.get(run.id)
            spare_m = result.spare_length_m if result is not None and result.size is not None else None
            serves = None if spare_m is None else spare_m + run.length_m
            lengths: dict[str, Any] = {"length": show(run.length_m, unit), "serves": serves and show(serves, unit)}
            yield make("CP253", run.id, run.span, **lengths, stage=stage)
