"""Bars: their poles, the panels that return to them, and the pairs that land on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from copperplate.model import Bus, Panel, Part, Pole
from copperplate.resolve.legs import Leg
from copperplate.resolve.reading import Reading

BAR_POLES: Mapping[str, Pole] = {"positive": "pos", "negative": "neg"}
"""The pole of a bar by its polarity."""


def bars_by_polarity(parts: Mapping[str, Part]) -> dict[str, tuple[str, ...]]:
    """The names of the bars that carry a single pole: "positive" and "negative", in the order of the plate."""
    bars = [part for part in parts.values() if isinstance(part, Bus)]
    return {polarity: tuple(bar.id for bar in bars if bar.polarity == polarity) for polarity in BAR_POLES}


def with_pairs(legs: Sequence[Leg], parts: Mapping[str, Part]) -> dict[str, Part]:
    """The parts, where bars without a polarity carry both poles if a pair lands on them."""
    paired = {w.text for leg in legs if leg.conductors == 2 for w in (leg.near, leg.far)}
    bare = [part for part in parts.values() if isinstance(part, Bus) and part.polarity is None and not part.ac]
    return {**parts, **{bar.id: replace(bar, polarity="both") for bar in bare if bar.id in paired}}


def check_returns(parts: Mapping[str, Part], reading: Reading) -> dict[str, Part]:
    """The parts, with every `return` that is no negative bar reported and taken out. A bar of no stated polarity
    is negative where a panel returns to it."""
    checked = dict(parts)
    panels = [part for part in parts.values() if isinstance(part, Panel) and part.return_bar is not None]
    for panel in panels:
        bar = checked.get(panel.return_bar or "")
        if isinstance(bar, Bus) and not bar.ac and bar.polarity is None:
            checked[bar.id] = replace(bar, polarity="negative")
            reading.assume(bar.id, f"a negative bar, for `{panel.id}` returns to it")
    for panel in panels:
        if not _returns(panel, panel.return_bar or "", checked, reading):
            checked[panel.id] = replace(panel, return_bar=None)
            reading.names.touched.add(panel.id)
    return checked


def _returns(panel: Panel, name: str, parts: Mapping[str, Part], reading: Reading) -> bool:
    """Whether the negatives of a panel can return to the part of that name; a finding where they cannot."""
    bar, span = parts.get(name), panel.spans.get("return", panel.span)
    if bar is None:
        if name not in reading.names.unread:
            likely = reading.meant(name, [part.id for part in parts.values() if isinstance(part, Bus)])
            reading.report("CP202", panel.id, span, name=name, keyword="return", likely=likely)
        return False
    if isinstance(bar, Bus) and bar.polarity in ("negative", "both"):
        return True
    what = f"a {bar.polarity or 'bare'} bar" if isinstance(bar, Bus) else f"a {bar.kind}"
    others = bars_by_polarity(parts)["negative"]
    about = {"bar": name, "what": what, "other": others[0] if others else None}
    reading.report("CP221", panel.id, span, **about, at={"bar": bar.span})
    return False
