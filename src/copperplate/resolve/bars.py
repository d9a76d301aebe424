"""Bars: their poles, the panels that return to them, and the pairs that land on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from copperplate.model import Bus, Earth, Panel, Part, Pole
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
    both = [bar for bar in bare if bar.id in paired and bar.return_bar is None]
    return {**parts, **{bar.id: replace(bar, polarity="both") for bar in both}}


def check_returns(parts: Mapping[str, Part], reading: Reading) -> dict[str, Part]:
    """The parts, with every `return` that is no negative bar reported and taken out. A bar of no stated polarity
    is negative where a panel returns to it. A negative terminal of a part may be a return, and a body that conducts."""
    checked = dict(parts)
    returning = [part for part in parts.values() if isinstance(part, Panel | Bus) and part.return_bar is not None]
    for part in returning:
        bar = checked.get(part.return_bar or "")
        if isinstance(bar, Bus) and not bar.ac and bar.polarity is None:
            checked[bar.id] = replace(bar, polarity="negative")
            reading.assume(bar.id, f"a negative bar, for `{part.id}` returns to it")
    for part in returning:
        if not _returns(part, part.return_bar or "", checked, reading):
            checked[part.id] = replace(part, return_bar=None)
            reading.names.touched.add(part.id)
    return checked


def _returns(owner: Panel | Bus, name: str, parts: Mapping[str, Part], reading: Reading) -> bool:
    """Whether the negatives of a panel or bar can return to the part or terminal of that name; a finding where they
    cannot."""
    id, _, port = name.partition(".")
    bar, span = parts.get(id), owner.spans.get("return", owner.span)
    if bar is None:
        if id not in reading.names.unread:
            likely = reading.meant(id, [part.id for part in parts.values() if isinstance(part, Bus)])
            reading.report("CP202", owner.id, span, name=id, keyword="return", likely=likely)
            reading.names.unread.add(id)  # Once, for the runs to it too.
        return False
    if isinstance(bar, Bus) and bar.polarity in ("negative", "both"):
        return True
    if (isinstance(bar, Earth) and bar.conducts) or (port.rpartition(".")[2] == "neg" and port in bar.ports):
        return True
    what = f"a {bar.polarity or 'bare'} bar" if isinstance(bar, Bus) else f"a {bar.kind}"
    others = bars_by_polarity(parts)["negative"]
    about = {"bar": name, "what": what, "other": others[0] if others else None}
    reading.report("CP221", owner.id, span, **about, at={"bar": bar.span})
    return False
