"""What changed in the facts of parts, routes, operating states and the system itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from copperplate.diff import words
from copperplate.diff.change import Change, Fact
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


def part_changes(old: Json, new: Json, folded: set[str], units: str) -> Iterator[Change]:
    """Parts added, removed and changed, but for those that a circuit speaks for."""
    before = {part["id"]: part for part in old.get("parts", ())}
    after = {part["id"]: part for part in new.get("parts", ())}
    for name, part in after.items():
        if name in folded:
            continue
        if name not in before:
            text = f"new {part['kind']}{_rated(part, units)}"
            yield Change("added", "part", name, part["title"], "circuit", words=text, addresses=(name,))
            continue
        causes = tuple(part_facts(before[name], part, units))
        if causes:
            consequences = tuple(_source_facts(old, new, name))
            weight = "words" if {fact.fact for fact in causes} == {"title"} else "fact"
            if any(fact.fact == "fault-current" and fact.new > fact.old for fact in consequences):
                weight = "safety"
            yield Change("changed", "part", name, part["title"], weight, causes, consequences, addresses=(name,))
    for name, part in before.items():
        if name not in after and name not in folded:
            gone = f"{part['kind']} gone"
            yield Change("removed", "part", name, part["title"], "circuit", words=gone, addresses=(name,))


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
    before = {route["id"]: route for route in old.get("routes", ())}
    after = {route["id"]: route for route in new.get("routes", ())}
    for name, route in after.items():
        if name not in before:
            yield Change("added", "route", name, route["title"], "fact", words="new route", addresses=(name,))
            continue
        causes = []
        for attribute in KINDS["route"].attributes:
            was, now = before[name][attribute.key], route[attribute.key]
            if words.differ(was, now) and not (was in (None, "", False) and now in (None, "", False)):
                text = words.changed_value(attribute, was or None, now or None, units)
                if attribute.form == "flag":
                    text = words.changed_value(attribute, was, now, units)
                causes.append(Fact(attribute.word, name, was, now, attribute.unit, text))
        if before[name]["title"] != route["title"]:
            text = f"titled “{route['title']}”, was “{before[name]['title']}”"
            causes.append(Fact("title", name, before[name]["title"], route["title"], "", text))
        if causes:
            weight = "words" if {fact.fact for fact in causes} == {"title"} else "fact"
            yield Change("changed", "route", name, route["title"], weight, tuple(causes), addresses=(name,))
    for name, route in before.items():
        if name not in after:
            yield Change("removed", "route", name, route["title"], "fact", words="route gone", addresses=(name,))


def lead_changes(old: Json, new: Json, units: str) -> Iterator[Change]:
    """Made-up leads: where they go, how long they are and what they are."""
    before = {lead["id"]: lead for lead in old.get("leads", ())}
    after = {lead["id"]: lead for lead in new.get("leads", ())}
    length = next(attribute for attribute in SEGMENT if attribute.key == "length_m")
    for name, lead in after.items():
        if name not in before:
            text = f"new lead from {lead['from']} to {lead['to']}"
            yield Change("added", "lead", name, lead["lead"], "fact", words=text, addresses=(name,))
            continue
        was = before[name]
        causes = [
            Fact(key, name, was[key], lead[key], "", f"{key} {was[key] or 'none'} -> {lead[key] or 'none'}")
            for key in ("from", "to", "lead")
            if was[key] != lead[key]
        ]
        if words.differ(was["length_m"], lead["length_m"]):
            text = words.changed_value(length, was["length_m"], lead["length_m"], units)
            causes.append(Fact("length", name, was["length_m"], lead["length_m"], "m", text))
        if causes:
            yield Change("changed", "lead", name, lead["lead"], "fact", tuple(causes), addresses=(name,))
    for name, lead in before.items():
        if name not in after:
            yield Change("removed", "lead", name, lead["lead"], "fact", words="lead gone", addresses=(name,))


def case_changes(old: Json, new: Json) -> Iterator[Change]:
    """Operating states that the plate declares: what is on in them. A part that is gone is off by itself."""
    before = {case["id"]: case for case in old.get("cases", ()) if not case["implied"]}
    after = {case["id"]: case for case in new.get("cases", ()) if not case["implied"]}
    kept = {part["id"] for part in new.get("parts", ())}
    for name, case in after.items():
        if name not in before:
            on = ", ".join(case["shares"]) or "nothing"
            yield Change("added", "case", name, case["title"], "fact", words=f"new operating state: {on} on")
            continue
        causes = []
        was, now = before[name]["shares"], case["shares"]
        for part in dict.fromkeys((*now, *was)):
            if part in kept and words.differ(was.get(part), now.get(part)):
                text = f"{part} {'on' if part in now else 'off'}"
                if part in was and part in now:
                    text = f"{part} {words.pair(was[part], now[part], '%')}"
                causes.append(Fact("on", part, was.get(part), now.get(part), "", text))
        for device in sorted(set(case["open_devices"]) ^ set(before[name]["open_devices"])):
            opened = device in case["open_devices"]
            causes.append(Fact("open", device, not opened, opened, "", f"{device} {'open' if opened else 'closed'}"))
        if before[name]["title"] != case["title"]:
            text = f"titled “{case['title']}”"
            causes.append(Fact("title", name, before[name]["title"], case["title"], "", text))
        if causes:
            yield Change("changed", "case", name, case["title"], "fact", tuple(causes))
    for name, case in before.items():
        if name not in after:
            yield Change("removed", "case", name, case["title"], "fact", words="operating state gone")


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
