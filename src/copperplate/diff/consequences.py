"""What follows for a circuit: current, rating, drop, size, with the reason that the new ladder gives."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.diff import words
from copperplate.diff.change import Fact
from copperplate.diff.circuit import Circuit, area_mm2, matched, size_of
from copperplate.model.results import SET_BY
from copperplate.units import show


def consequences(old: Circuit, new: Circuit, own: bool) -> Iterator[Fact]:
    was, now = old.run, new.run
    subject = now["id"]
    before, after = was["design_current_a"], now["design_current_a"]
    resized = size_of(was) != size_of(now) and not now["stated"]
    carries = before is not None and after is not None and words.shown_differ(before, after)
    if carries:
        yield Fact("current", subject, before, after, "A", f"carries {words.pair(before, after, 'A')}")
    for device, built in matched(old, new):
        if device is None or built is None:
            continue
        name = built["kind"] if built["way"] is not None else built["id"]
        if device["family"] != built["family"] and device["kind"] == built["kind"]:
            text = f"{name} {device['family'] or 'no family'} -> {built['family'] or 'no family'}"
            yield Fact("family", built["id"], device["family"], built["family"], "", text)
        ratings = device["rating_a"], built["rating_a"]
        if not built["stated"] and None not in ratings and words.differ(*ratings):
            yield Fact("rating", built["id"], *ratings, "A", f"{name} {words.pair(*ratings, 'A')}")
        elif not built["stated"] and ratings[0] is not None and ratings[1] is None:
            text = f"no {name} rating fits, was {show(ratings[0], 'A')}"
            yield Fact("rating", built["id"], ratings[0], None, "A", text)
    drop = _drop(old, new, resized, own)
    thinner = resized and was["size"] is not None and now["size"] is not None and area_mm2(now) < area_mm2(was)
    if thinner:
        text = f"{words.size_pair(size_of(was), size_of(now))} is enough"
        yield Fact("size", subject, was["size"], now["size"], "", text)
    if drop is not None:
        yield drop
    if thinner:
        return
    if resized:
        yield Fact("size", subject, was["size"], now["size"], "", _resized(old, new, drop is not None))
    elif size_of(now) == size_of(was) and now["size"] is not None and (drop is not None or carries):
        text = f"still {words.size_label(*size_of(now))}" + (" as stated" if now["stated"] else "")
        yield Fact("same size", subject, was["size"], now["size"], "", text)


def _drop(old: Circuit, new: Circuit, resized: bool, own: bool) -> Fact | None:
    """The voltage drop of the whole path to the consumer. Where the size had to change, what the old one would give
    stands for itself in the new ladder, and is the reason."""
    if old.load is None or new.load is None:
        return None
    before, after = old.load["drop_percent"] / 100, new.load["drop_percent"] / 100
    budget_was, budget = old.load["budget_percent"] / 100, new.load["budget_percent"] / 100
    least = 0.0 if own else 0.0005
    moved = words.shown_differ(before, after) and abs(after - before) > least
    if not moved and not words.shown_differ(budget_was, budget):
        return None
    text = f"drop {words.pair(before, after, '%')}" if moved else f"drop {show(after, '%')}"
    if words.shown_differ(budget_was, budget):
        text += f", budget {words.pair(budget_was, budget, '%')}"
    else:
        text += f" of {show(budget, '%')}"
    refusal = _refusal(new, size_of(old.run)) if resized else ""
    if refusal.endswith("%"):
        was_text = show(before, "%").removesuffix(" %")
        text = f"drop {was_text} -> {refusal} of {show(budget, '%')}"
    return Fact("drop", new.load["id"], before, after, "", text, limit=budget)


def _refusal(circuit: Circuit, size: tuple[str | None, int]) -> str:
    """What the ladder shows where it refuses that size for its drop; "" where it does not."""
    for candidate in circuit.run["candidates"]:
        if (candidate["size"], candidate["parallel"]) == size:
            shown = (r["shown"] for r in candidate["rungs"] if r["rule"] == "drop" and r["verdict"] == "refused")
            return next(shown, "")
    return ""


def _resized(old: Circuit, new: Circuit, has_drop: bool) -> str:
    """`so 14 -> 12 AWG`, with the reason where the figures before it do not give one, and the drop as built."""
    was, now = size_of(old.run), size_of(new.run)
    if now[0] is None:
        return f"no size fits, was {words.size_label(*was)}"
    text = f"so {words.size_pair(was, now)}"
    governed = new.run["governed_by"]
    if governed in SET_BY and governed != "drop":  # The figures of the drop stand before it.
        text += f" for {SET_BY[governed]}"
    if has_drop and _refusal(new, was).endswith("%") and new.load is not None:
        text += f" ({show(new.load['drop_percent'] / 100, '%')})"
    return text
