"""What changed in the facts of parts, routes, operating states and the system itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from copperplate.diff import words
from copperplate.diff.change import Change, Fact, Kind
from copperplate.model.kinds import COMMON, KINDS, SEGMENT, Attribute
from copperplate.units import show

Json = dict[str, Any]

TITLE_BLOCK = ("title", "client", "site", "designer", "revision", "date", "document", "status", "paper")
NOT_ELECTRICAL = (*TITLE_BLOCK, "units")


def part_facts(old: Json, new: Json, units: str) -> Iterator[Fact]:
    """What changed in the facts of one part. Whether a value was stated or taken by default is no difference."""
    subject, kind = new["id"], new["kind"]
    if old["kind"] != kind:
        yield Fact("kind", subject, old["kind"], kind, "", f"{old['kind']} -> {kind}")
        return
    before, after = old["values"], new["values"]
    known = {attribute.key: attribute for attribute in (*KINDS[kind].attributes, *COMMON)}
    for key in dict.fromkeys((*after, *before)):
        was, now = before.get(key), after.get(key)
        if words.differ(was, now):
            attribute = known.get(key, Attribute(key, key.replace("_", "-"), "word", ""))
            text = words.changed_value(attribute, was, now, units)
            yield Fact(attribute.word, subject, was, now, attribute.unit and _si(attribute.unit), text)
    for key, noun in (("terminals", "terminal"), ("advised", "advised-wire")):
        for port in dict.fromkeys((*new[key], *old[key])):
            was, now = old[key].get(port), new[key].get(port)
            if words.differ(was, now):
                at = f"{noun} {port}".rstrip()
                yield Fact(noun, subject, was, now, "", f"{at} {_landing(noun, was)} -> {_landing(noun, now)}")
    if words.differ(old["comparable"], new["comparable"]):
        was, now = old["comparable"], new["comparable"]
        before_text, after_text = (words.size_label(c["size"]) if c else "none" for c in (was, now))
        yield Fact("comparable-wire", subject, was, now, "", f"comparable-wire {before_text} -> {after_text}")
    if old["title"] != new["title"]:
        yield Fact("title", subject, old["title"], new["title"], "", f"titled “{new['title']}”, was “{old['title']}”")


def _si(unit: str) -> str:
    return {"kA": "A", "mohm": "ohm", "mA": "A", "%": ""}.get(unit, unit)


def _landing(noun: str, landing: Json | None) -> str:
    if noun == "terminal" or landing is None:
        return words.terminal(landing)
    to = landing["to_length_m"]
    return words.size_label(landing["size"]) + (f" to {show(to, 'm')}" if to is not None else "")


def _changes(
    kind: Kind,
    sides: Iterable[Iterable[Json]],
    added: Callable[[Json], str],
    causes: Callable[[Json, Json], Iterable[Fact]],
    title: str = "title",
    weight: str = "fact",
) -> Iterator[Change]:
    """Things of a kind added, in words; changed, each by its causes; and removed. Of states of operation nothing
    stands on the drawing."""
    before, after = ({each["id"]: each for each in side} for side in sides)
    for name, now in after.items():
        drawn = () if kind == "case" else (name,)
        if name not in before:
            yield Change("added", kind, name, now[title], weight, words=added(now), addresses=drawn)
        elif facts := tuple(causes(before[name], now)):
            named = {fact.fact for fact in facts} == {"title"}
            yield Change("changed", kind, name, now[title], "words" if named else "fact", facts, addresses=drawn)
    for name, was in before.items():
        if name not in after:
            gone = {"part": was.get("kind", ""), "case": "operating state"}.get(kind, kind)
            drawn = () if kind == "case" else (name,)
            yield Change("removed", kind, name, was[title], weight, words=f"{gone} gone", addresses=drawn)


def part_changes(old: Json, new: Json, folded: set[str], units: str) -> Iterator[Change]:
    """Parts added, removed and changed, but for those that a circuit speaks for."""
    own = ([part for part in side.get("parts", ()) if part["id"] not in folded] for side in (old, new))
    for change in _changes(
        "part",
        own,
        added=lambda part: f"new {part['kind']}{_rated(part, units)}",
        causes=lambda was, now: part_facts(was, now, units),
        weight="circuit",
    ):
        follows = tuple(_source_facts(old, new, change.address)) if change.what == "changed" else ()
        higher = any(fact.fact == "fault-current" and fact.new > fact.old for fact in follows)
        yield replace(change, consequences=follows, weight="safety" if higher else change.weight)


def _rated(part: Json, units: str) -> str:
    """The first stated figures of a part: `, 100 A`."""
    text = ""
    for attribute in KINDS[part["kind"]].attributes:
        rating = part["values"].get(attribute.key)
        if attribute.bare and attribute.form == "quantity" and rating is not None:
            text += f", {words.value(attribute, rating, units)}"
    return text


def _source_facts(old: Json, new: Json, name: str) -> Iterator[Fact]:
    """What follows for a source: the current that a short can draw from it."""
    before = {source["id"]: source for source in old.get("sources", ())}.get(name)
    after = {source["id"]: source for source in new.get("sources", ())}.get(name)
    if before and after and before["fault_current_a"] is not None and after["fault_current_a"] is not None:
        was, now = before["fault_current_a"], after["fault_current_a"]
        if words.shown_differ(was, now):
            yield Fact("fault-current", name, was, now, "A", f"a short can draw {words.pair(was, now, 'kA')}")


def route_changes(old: Json, new: Json, units: str) -> Iterator[Change]:
    """Routes by their own facts; what runs through them, the circuits say."""

    def causes(was: Json, now: Json) -> Iterator[Fact]:
        for attribute in KINDS["route"].attributes:
            before, after = was[attribute.key], now[attribute.key]
            if words.differ(before, after) and not (before in (None, "", False) and after in (None, "", False)):
                shown = (before, after) if attribute.form == "flag" else (before or None, after or None)
                text = words.changed_value(attribute, *shown, units)
                yield Fact(attribute.word, now["id"], before, after, attribute.unit, text)
        if was["title"] != now["title"]:
            text = f"titled “{now['title']}”, was “{was['title']}”"
            yield Fact("title", now["id"], was["title"], now["title"], "", text)

    yield from _changes("route", (side.get("routes", ()) for side in (old, new)), lambda _: "new route", causes)


def lead_changes(old: Json, new: Json, units: str) -> Iterator[Change]:
    """Made-up leads: where they go, how long they are and what they are."""
    length = next(attribute for attribute in SEGMENT if attribute.key == "length_m")

    def causes(was: Json, now: Json) -> Iterator[Fact]:
        for key in ("from", "to", "lead"):
            if was[key] != now[key]:
                text = f"{key} {was[key] or 'none'} -> {now[key] or 'none'}"
                yield Fact(key, now["id"], was[key], now[key], "", text)
        if words.differ(was["length_m"], now["length_m"]):
            text = words.changed_value(length, was["length_m"], now["length_m"], units)
            yield Fact("length", now["id"], was["length_m"], now["length_m"], "m", text)

    sides = (side.get("leads", ()) for side in (old, new))
    yield from _changes("lead", sides, lambda lead: f"new lead from {lead['from']} to {lead['to']}", causes, "lead")


def case_changes(old: Json, new: Json) -> Iterator[Change]:
    """Operating states that the plate declares: what is on in them. A part that is gone is off by itself."""
    kept = {part["id"] for part in new.get("parts", ())}

    def causes(was: Json, now: Json) -> Iterator[Fact]:
        before, after = was["shares"], now["shares"]
        for part in dict.fromkeys((*after, *before)):
            if part in kept and words.differ(before.get(part), after.get(part)):
                text = f"{part} {'on' if part in after else 'off'}"
                if part in before and part in after:
                    text = f"{part} {words.pair(before[part], after[part], '%')}"
                yield Fact("on", part, before.get(part), after.get(part), "", text)
        for device in sorted(set(now["open_devices"]) ^ set(was["open_devices"])):
            opened = device in now["open_devices"]
            yield Fact("open", device, not opened, opened, "", f"{device} {'open' if opened else 'closed'}")
        if was["title"] != now["title"]:
            yield Fact("title", now["id"], was["title"], now["title"], "", f"titled “{now['title']}”")

    declared = ([case for case in side.get("cases", ()) if not case["implied"]] for side in (old, new))
    on = "new operating state: {} on"
    yield from _changes("case", declared, lambda case: on.format(", ".join(case["shares"]) or "nothing"), causes)


def system_changes(old: Json, new: Json, units: str) -> Iterator[Change]:
    """The settings, the shelf, the constants of the rules, the title block and the notes."""
    was, now = old["system"], new["system"]
    attributes = [a for a in KINDS["system"].attributes if a.key not in NOT_ELECTRICAL]
    pairs = [(a, was.get(a.key, a.default), now.get(a.key, a.default)) for a in attributes]
    causes = [
        Fact(a.word, "system", before, after, a.unit, words.changed_value(a, before, after, units))
        for a, before, after in pairs
        if words.differ(before, after)
    ]
    if causes:
        loosened = any(fact.fact in ("rules", "continuous-factor", "drop") for fact in causes)
        yield Change("changed", "system", "system", now["title"], "safety" if loosened else "fact", tuple(causes))
    if words.differ(was["stock"], now["stock"]):
        text = f"stock {_shelf(was['stock'])} -> {_shelf(now['stock'])}"
        fact = Fact("stock", "stock", was["stock"], now["stock"], "", text)
        yield Change("changed", "stock", "stock", "", "fact", (fact,))
    if was["rules"] == now["rules"]:
        for name, constant in new["rules"].items():
            earlier = old["rules"].get(name)
            if earlier is not None and words.differ(earlier["value"], constant["value"]):
                text = f"{constant['quantity']} {words.plain(earlier['value'])} -> {words.plain(constant['value'])}"
                fact = Fact(name, "rules", earlier["value"], constant["value"], constant["unit"], text)
                yield Change("changed", "rules", name, "", "safety", (fact,))
    papers = tuple(
        Fact(key, "system", was[key], now[key], "", f"{key} {_quoted(was[key])} -> {_quoted(now[key])}")
        for key in TITLE_BLOCK
        # The paper follows the units where the plate says neither.
        if was[key] != now[key] and not (key == "paper" and was["units"] != now["units"])
    )
    if papers:
        yield Change("changed", "title block", "title block", "", "words", papers)
    come = [text for text in now["notes"] if text not in was["notes"]]
    gone = [text for text in was["notes"] if text not in now["notes"]]
    notes = [Fact("note", "note", None, text, "", f"new: {_quoted(text)}") for text in come]
    notes += [Fact("note", "note", text, None, "", f"gone: {_quoted(text)}") for text in gone]
    if notes:
        yield Change("changed", "note", "note", "", "words", tuple(notes))


def inherited(old: Json, new: Json) -> frozenset[tuple[str, Any, Any]]:
    """(fact, old, new) of runs that follow from the system's or a route's own change."""
    was, now = old["system"], new["system"]
    facts = [("air", was["ambient_c"], now["ambient_c"]), ("insulation", was["insulation_c"], now["insulation_c"])]
    before = {route["id"]: route for route in old.get("routes", ())}
    for route in new.get("routes", ()):
        earlier = before.get(route["id"], route)
        facts.append(("in an engine space", earlier["engine_space"], route["engine_space"]))
        facts.append(("laid", earlier["laid"], route["laid"]))
        facts.append(("sheathed", earlier["sheath"], route["sheath"]))
        facts.append(("air", _air_c(earlier, was), _air_c(route, now)))
    return frozenset(entry for entry in facts if words.differ(entry[1], entry[2]))


def _air_c(route: Json, system: Json) -> float:
    return float(system["ambient_c"] if route["ambient_c"] is None else route["ambient_c"])


def _shelf(stock: Json | None) -> str:
    if stock is None:
        return "any size"
    sizes = ", ".join(map(words.size_label, stock["sizes"]))
    return f"at most {stock['at_most']} sizes" if stock["at_most"] is not None and not sizes else sizes or "any size"


def _quoted(text: str) -> str:
    return f"“{' '.join(str(text).split())}”" if text else "none"
