"""Small plates for tests of the computing rooms, compiled whole."""

from __future__ import annotations

from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model.results import Design
from copperplate.text import Source

HEAD = """system "Small"
  nominal 12 V
  rules cfr-183
  conductors awg
battery bank "Bank" 12 V, 200 Ah, agm
  range 12..14.4 V
  full 14.4 V
  fault-current 3 kA
"""
BARS = """bus plus "Positive bus" positive, 300 A
bus minus "Negative bus" negative, 300 A
panel cabin "Fuse block" blade, ways 12, return minus
bank.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus
bank.neg -- 0.8 m -- minus
plus -- [feed: fuse class-t] -- 1 m -- cabin
"""


def compiled(text: str, head: str = HEAD) -> tuple[Design, tuple[Finding, ...]]:
    """The design of a plate that can be resolved, and its findings."""
    design, findings = compile_plate(Source("small.plate", head + text), lambda name: None)
    assert design is not None, [f.message for f in findings]
    return design, findings


def sound(text: str, head: str = HEAD) -> Design:
    """The design of a plate without an error."""
    design, findings = compiled(text, head)
    errors = [f"{f.code} {f.message}" for f in findings if f.severity == "error"]
    assert not errors, errors
    return design


def doubled(head: str = HEAD) -> str:
    """The head of the same plate at 24 V."""
    for old, new in (("nominal 12 V", "nominal 24 V"), ("12 V, 200", "24 V, 200"), ("12..14.4", "24..28.8")):
        head = head.replace(old, new)
    return head.replace("full 14.4", "full 28.8")


def codes(findings: tuple[Finding, ...], severity: str = "error") -> list[str]:
    """The codes of one severity, in order."""
    return [f.code for f in findings if f.severity == severity]


def size(design: Design, run: str) -> str:
    """The size of a run as plates write it; "" where it has none."""
    found = design.runs[run].size
    return found.key if found else ""


def copper(design: Design) -> float:
    """All copper of a design, mm²m."""
    return sum(run.copper_mm2_m for run in design.runs.values())
