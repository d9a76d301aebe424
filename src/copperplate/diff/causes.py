"""What changed in a circuit by its own: where it runs, what is stated, what protects it, what it feeds."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.diff import words
from copperplate.diff.change import Fact
from copperplate.diff.circuit import Circuit, matched, rating_words, size_of
from copperplate.diff.parts import part_facts
from copperplate.units import local, show


def run_causes(old: Circuit, new: Circuit, units: str) -> Iterator[Fact]:
    was, now = old.run, new.run
    subject, metres = now["id"], local("m", units)
    for end, preposition in (("from", "from"), ("to", "to")):
        if was[end] != now[end]:
            verb = "moved" if end == "from" else "now leads"
            text = f"{verb} from {was[end]} to {now[end]}" if end == "from" else f"{verb} to {now[end]}, was {was[end]}"
            yield Fact(preposition, subject, was[end], now[end], "", text)
    if words.differ(was["length_m"], now["length_m"]):
        by = now["length_m"] - was["length_m"]
        text = f"{show(abs(by), metres)} {'longer' if by > 0 else 'shorter'}"
        yield Fact("length", subject, was["length_m"], now["length_m"], "m", text)
    elif _pieces(old) != _pieces(new) and len(old.conductors) == len(new.conductors):
        yield Fact("places", subject, _pieces(old), _pieces(new), "m", "its devices sit elsewhere along it")
    if now["stated"] and size_of(was) != size_of(now):
        text = f"now stated {words.size_label(*size_of(now))} ({words.size_label(*size_of(was))} was chosen)"
        if was["stated"]:
            text = f"stated {words.size_pair(size_of(was), size_of(now))}"
        yield Fact("stated size", subject, was["size"], now["size"], "", text)
    elif was["stated"] and not now["stated"]:
        text = f"size left to choose, was stated {words.size_label(*size_of(was))}"
        yield Fact("stated size", subject, was["size"], None, "", text)
    elif was["parallel"] != now["parallel"]:
        text = f"{was['parallel']} -> {now['parallel']} in parallel"
        yield Fact("parallel", subject, was["parallel"], now["parallel"], "", text)
    for gone in (route for route in was["routes"] if route not in now["routes"]):
        yield Fact("route", subject, gone, None, "", f"no longer via {gone}")
    for come in (route for route in now["routes"] if route not in was["routes"]):
        yield Fact("route", subject, None, come, "", f"now via {come}")
    for key, noun, unit in (("ambient_c", "air", "degC"), ("insulation_c", "insulation", "degC")):
        if words.differ(was[key], now[key]):
            shown = unit if key == "insulation_c" else local(unit, units)
            text = f"{noun} {words.pair(was[key], now[key], shown)}"
            yield Fact(noun, subject, was[key], now[key], unit, text)
    for key, noun in (("engine_space", "in an engine space"), ("sheath", "sheathed")):
        if was[key] != now[key]:
            yield Fact(noun, subject, was[key], now[key], "", f"{'now' if now[key] else 'no longer'} {noun}")
    if was["laid"] != now["laid"]:
        text = f"laid in {now['laid']}" if now["laid"] else f"no longer laid in {was['laid']}"
        yield Fact("laid", subject, was["laid"], now["laid"], "", text)
    if was["conductors"] != now["conductors"]:
        text = f"{was['conductors']} -> {now['conductors']} conductors"
        yield Fact("conductors", subject, was["conductors"], now["conductors"], "", text)
    if was["count"] != now["count"]:
        yield Fact("links", subject, was["count"], now["count"], "", f"{was['count']} -> {now['count']} links")


def _pieces(circuit: Circuit) -> list[float]:
    return [round(conductor["length_m"], 6) for conductor in circuit.conductors]


def device_causes(old: Circuit, new: Circuit) -> Iterator[Fact]:
    for was, now in matched(old, new):
        if was is None or now is None:
            device = now or was
            assert device is not None
            if device["way"] is None:
                here = "added" if was is None else "gone"
                text = f"{device['id']} ({rating_words(device)}) {here}"
                yield Fact("device", device["id"], was and was["kind"], now and now["kind"], "", text)
            continue
        subject = now["id"]
        name = now["kind"] if now["way"] is not None else subject
        if was["kind"] != now["kind"]:
            yield Fact("kind", subject, was["kind"], now["kind"], "", f"{name}: {was['kind']} -> {now['kind']}")
        if now["stated"] and was["rating_a"] is not None and words.differ(was["rating_a"], now["rating_a"]):
            text = f"{name} now stated {show(now['rating_a'], 'A')} ({show(was['rating_a'], 'A')} was chosen)"
            if was["stated"]:
                text = f"stated {name} {words.pair(was['rating_a'], now['rating_a'], 'A')}"
            yield Fact("stated rating", subject, was["rating_a"], now["rating_a"], "A", text)
        elif now["stated"] and was["rating_a"] is None:
            text = f"{name} stated {show(now['rating_a'], 'A')}"
            yield Fact("stated rating", subject, None, now["rating_a"], "A", text)
        elif was["stated"] and not now["stated"]:
            text = f"{name} left to choose, was stated {show(was['rating_a'], 'A')}"
            yield Fact("stated rating", subject, was["rating_a"], None, "A", text)
        keys = [("poles", "poles", ""), ("residual_a", "residual", "mA"), ("resistance_ohm", "resistance", "mohm")]
        if was["family"] == now["family"]:
            keys += [("interrupting_a", "breaks", "kA"), ("voltage_v", "voltage", "V")]
        for key, noun, unit in keys:
            if words.differ(was[key], now[key]):
                yield Fact(noun, subject, was[key], now[key], unit, f"{name} {noun} {_both(was[key], now[key], unit)}")
        said, says = was.get("contact") or {}, now.get("contact") or {}
        for key in sorted(key for key in {*said, *says} if said.get(key) != says.get(key)):
            before, after = (_contact(contact.get(key)) for contact in (said, says))
            word = key.removesuffix("_a").replace("_", "-")
            yield Fact(word, subject, said.get(key), says.get(key), "", f"{name} {word} {before} to {after}")
        if was.get("curve", "") != now.get("curve", ""):
            text = f"{name} curve {was.get('curve') or 'not stated'} to {now.get('curve') or 'not stated'}"
            yield Fact("curve", subject, was.get("curve"), now.get("curve"), "", text)
        if was["backed_by"] != now["backed_by"]:
            text = f"{name} no longer backed by {was['backed_by']}"
            if now["backed_by"]:
                text = f"{name} backed by {now['backed_by']}"
            yield Fact("backed-by", subject, was["backed_by"], now["backed_by"], "", text)
        if was["title"] != now["title"]:
            yield Fact("title", subject, was["title"], now["title"], "", f"{name} titled “{now['title']}”")


def _both(old: float | None, new: float | None, unit: str) -> str:
    if not unit:
        return f"{old} -> {new}"
    if old is None or new is None:
        stated = new if old is None else old
        assert stated is not None
        return f"{show(stated, unit)} {'stated' if old is None else 'no longer stated'}"
    return words.pair(old, new, unit)


def part_causes(old: Circuit, new: Circuit, units: str) -> tuple[Fact, ...]:
    if old.part is None or new.part is None or old.part["id"] != new.part["id"]:
        return ()
    return tuple(part_facts(old.part, new.part, units))


def pins(old: Circuit, new: Circuit) -> Iterator[Fact]:
    """Choices that the plate states now, with the same result."""
    was, now = old.run, new.run
    if now["stated"] and not was["stated"] and size_of(was) == size_of(now) and now["size"] is not None:
        text = f"{words.size_label(*size_of(now))} now stated"
        yield Fact("pinned size", now["id"], None, now["size"], "", text)
    for before, device in matched(old, new):
        if before and device and device["stated"] and not before["stated"] and before["rating_a"] == device["rating_a"]:
            text = f"{rating_words(device)} now stated"
            yield Fact("pinned rating", device["id"], None, device["rating_a"], "A", text)


def _contact(value: object) -> str:
    """What a contact says of itself, as a plate writes it."""
    return show(value, "A") if isinstance(value, float) else "yes" if value is True else str(value or "no")
