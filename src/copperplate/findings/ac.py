"""Codes 7xx: AC. A row each; `findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.entry import Entry

CODES: dict[str, Entry] = {
    "CP701": Entry("error", "an AC circuit has no device on board"),
    "CP702": Entry("error", "a fuse in an unpolarised AC system"),
    "CP703": Entry("warning", "nothing joins neutral and earth while a source supplies"),
    "CP704": Entry("error", "neutral and earth are joined twice"),
    "CP705": Entry("error", "an AC circuit has no protective earth"),
    "CP706": Entry("warning", "no residual-current protection"),
    "CP707": Entry("error", "unsheathed AC conductors share a route with DC"),
    "CP708": Entry("error", "an AC source is asked for more than it gives"),
    "CP709": Entry("warning", "a start asks more of an inverter than its surge"),
    "CP710": Entry("warning", "the main AC device does not open the neutral"),
    "CP711": Entry("warning", "an AC cable shares a route with unsheathed DC conductors"),
    "CP712": Entry("error", "two AC sources can supply at once"),
    "CP713": Entry("warning", "the fault current of an AC supply is not known"),
    "CP714": Entry("error", "an AC device cannot break its fault current"),
    "CP715": Entry("warning", "what an AC device breaks is not stated"),
    "CP716": Entry("warning", "an earth fault opens nothing for sure"),
    "CP717": Entry("warning", "a short circuit of an AC circuit is small for its breaker"),
    "CP718": Entry("advice", "a maker must tell how soon an AC device opens"),
    "CP719": Entry("error", "an inverter feeds its own inlet"),
}
