"""`stock`, `accept` and `note`; banks and the links between their batteries."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping

from copperplate.findings import CODES
from copperplate.model import Accept, Battery, Note, Part, Run, Settings, Stock
from copperplate.resolve.facts import read_entries
from copperplate.resolve.reading import UNREAD, Facts, Place, Reading
from copperplate.resolve.strings import String
from copperplate.standards import profile
from copperplate.standards.conductors import FOOT_M
from copperplate.syntax.tree import Bad, Text, Word
from copperplate.units import clean


def read_stock(reading: Reading) -> Stock | None:
    """The sizes on the shelf; None where the plate does not say."""
    statements = list(reading.plate.declarations("stock"))
    if not statements:
        return None
    sizes = []
    at_most: int | None = None
    devices: dict[str, tuple[float, ...]] = {}
    for statement in statements:
        place, family = Place("stock", "stock", reading), ""
        for attribute, value, span in read_entries(statement.groups, place, Facts()):
            if value is UNREAD:
                continue
            if attribute.key == "sizes":
                sizes += list(value)
            elif attribute.key in ("family", "breaker"):
                family = value if attribute.key == "family" else "breaker"
                devices.setdefault(family, ())
            elif attribute.key == "rating_a" and family:
                devices[family] = (*devices[family], value)
            elif attribute.key == "rating_a":
                place.report("CP120", span, written=span.text, what="a current", kind="stock", bare=["fuse blade 5 A"])
            elif at_most is not None:
                place.report("CP205", span)
            else:
                at_most = value
        if not statement.atoms:
            reading.report("CP124", "stock", statement.keyword.span, stock=True)
    return Stock(tuple(dict.fromkeys(sizes)), at_most, statements[0].span, devices)


def read_notes(reading: Reading) -> tuple[Note, ...]:
    """The notes, in order."""
    notes = []
    for statement in reading.plate.declarations("note"):
        atoms = statement.atoms
        texts = [atom for atom in atoms if isinstance(atom, Text)]
        if not texts and not any(isinstance(atom, Bad) for atom in atoms):
            reading.report("CP124", "note", statement.keyword.span, note=True)
        notes += [Note(text.text, text.span) for text in texts]
    return tuple(notes)


def read_accepts(known: Container[str], names: Iterable[str], reading: Reading) -> tuple[Accept, ...]:
    """The warnings that the plate accepts; `known` are the addresses that findings may have as their subject."""
    accepts: dict[tuple[str, str], Accept] = {}
    for statement in reading.plate.declarations("accept"):
        atoms = statement.atoms
        words = [atom for atom in atoms if isinstance(atom, Word)]
        text = next((atom for atom in atoms if isinstance(atom, Text)), None)
        if len(words) < 2 or text is None or not text.text.strip():
            reading.report("CP250", "accept", statement.keyword.span)
            continue
        code, subject = words[0], words[1]
        if code.text not in CODES:
            reading.report("CP250", subject.text, code.span, code=code.text)
            continue
        if subject.text not in known and subject.text.partition(".")[0] not in reading.names.unread:
            likely = reading.meant(subject.text, names)
            reading.report("CP202", subject.text, subject.span, address=subject.text, likely=likely)
            continue
        accept = Accept(code.text, subject.text, text.text, statement.span)
        first = accepts.setdefault((code.text, subject.text), accept)
        if first is not accept:
            reading.report("CP205", subject.text, statement.span, code=code.text, at={"first": first.span})
    return tuple(accepts.values())


def link_banks(
    parts: Mapping[str, Part], strings: Iterable[String], settings: Settings, reading: Reading
) -> dict[str, Run]:
    """A run of links for every bank of more than one battery: series links join the batteries of a string,
    parallel links join the strings at both poles. They are listed and cut; the bank itself is one source."""
    runs: dict[str, Run] = {}
    for part in parts.values():
        if not isinstance(part, Battery):
            continue
        series, parallel = part.series, part.parallel
        count = (series - 1) * parallel + 2 * (parallel - 1)
        if count == 0:
            continue
        length_m = part.link_m
        if length_m is None:
            link = profile(settings.rules).figures["link"]
            length_m = link.value
            sample = f"{max(round(length_m / FOOT_M), 1)} ft" if settings.units == "us" else f"{length_m:g} m"
            text = f"{count} links of {length_m:g} m between the batteries"
            reading.assume(part.id, text, link.cited)
            batteries = series * parallel
            reading.report("CP246", part.id, part.span, batteries=batteries, sample=sample, length=length_m)
        own = next((string.links for string in strings if string.name == part.id), ())
        named = [leg.statement.name.text for leg in own if leg.statement.name is not None]
        name = named[0] if len(own) == len(named) == 1 else f"{part.id}.link"
        runs[name] = Run(
            id=name,
            span=part.spans.get("link_m", part.span),
            from_end=part.id,
            to_end=part.id,
            conductors=1,
            current="dc",
            conductor_ids=(),
            device_ids=(),
            length_m=length_m,
            circuit_length_m=clean(length_m * count),
            routes=(),
            ambient_c=settings.ambient_c,
            engine_space=False,
            sheath=False,
            laid="",
            role="link",
            count=count,
            size=next((leg.size for leg in own if leg.size is not None), None),
            size_span=next((leg.size_span for leg in own if leg.size is not None), None),
        )
    return runs
