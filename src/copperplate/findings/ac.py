"""Codes 7xx: AC. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {
    "CP701": ("error", "an AC circuit has no device on board"),
    "CP702": ("error", "a fuse in an unpolarised AC system"),
    "CP703": ("warning", "nothing joins neutral and earth while a source supplies"),
    "CP704": ("error", "neutral and earth are joined twice"),
    "CP705": ("error", "an AC circuit has no protective earth"),
    "CP706": ("warning", "no residual-current protection"),
    "CP707": ("error", "unsheathed AC conductors share a route with DC"),
    "CP708": ("error", "an AC source is asked for more than it gives"),
    "CP709": ("warning", "a start asks more of an inverter than its surge"),
    "CP710": ("warning", "the main AC device does not open the neutral"),
    "CP711": ("warning", "an AC cable shares a route with unsheathed DC conductors"),
    "CP712": ("error", "two AC sources can supply at once"),
    "CP713": ("warning", "the fault current of an AC supply is not known"),
    "CP714": ("error", "an AC device cannot break its fault current"),
    "CP715": ("warning", "what an AC device breaks is not stated"),
    "CP716": ("warning", "an earth fault opens nothing for sure"),
    "CP717": ("warning", "a short circuit of an AC circuit is small for its breaker"),
    "CP718": ("advice", "a maker must tell how soon an AC device opens"),
    "CP719": ("error", "an inverter feeds its own inlet"),
}
