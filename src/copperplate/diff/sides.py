"""One side of a comparison: a design as JSON, or what is there instead where a plate makes none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from copperplate import schema
from copperplate.findings import Finding
from copperplate.findings.as_json import finding_json
from copperplate.model.results import Design
from copperplate.text import json_value

EMPTY = "CP119"
"""An empty plate: the side of a plate that is new, or gone, and nothing to complain of."""


def as_json(design: Design | None, findings: Sequence[Finding]) -> dict[str, Any]:
    """The design as `NAME.design.json` has it, with all findings of its plate. A plate without a design has its
    findings alone, an empty one nothing."""
    if [finding.code for finding in findings] == [EMPTY]:
        findings = ()
    if design is None:
        return {"format": schema.FORMAT, "system": {}, "findings": [finding_json(finding) for finding in findings]}
    side: dict[str, Any] = json_value(schema.to_json(replace(design, findings=tuple(findings))))
    return side
