"""Cables of several cores: what each is, which of its cores a run has, and the negative that runs may share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from copperplate.model import Junction, Panel, Part, Route
from copperplate.resolve.facts import read_facts
from copperplate.resolve.legs import Leg, Stretch
from copperplate.resolve.names import declared
from copperplate.resolve.reading import Cable, Place, Reading
from copperplate.syntax.tree import Word


def read_cables(reading: Reading) -> None:
    """The `cable` statements. Each is a route too, whose stretch has the size of its cores."""
    for statement, head, name in declared(reading, "cable"):
        facts = read_facts(statement.items, head.rest, head.title, Place("cable", name.text, reading))
        values, title = facts.values, facts.title.text if facts.title else ""
        if facts.lacks("cores"):
            reading.report("CP209", name.text, name.span, what="its cores", how="`cores 5`")
        if "length_m" not in values and not facts.lacks("length_m"):
            reading.names.unread.add(name.text)
        reading.cables[name.text] = Cable(
            name.text,
            title,
            values.get("cores", 100),
            values.get("size"),
            values.get("shared_negative", False),
            facts.spans.get("size"),
        )
        reading.routes[name.text] = Route(
            id=name.text, title=title, length_m=values.get("length_m"), ambient_c=values.get("ambient_c"),
            engine_space=False, laid="bundle", sheath=True, runs=(), span=name.span,
        )  # fmt: skip


def with_cables(legs: list[Leg], parts: Mapping[str, Part], reading: Reading) -> tuple[list[Leg], dict[str, Part]]:
    """The legs, those through a cable of its size and with their cores; a pair through one whose negative is shared is
    a conductor out, and a common one back from a splice at the far end of the cable. With the splices."""
    found: list[Leg] = []
    backs: dict[tuple[str, str], Leg] = {}
    splices: dict[str, Part] = {}
    for leg in legs:
        cables = [reading.cables[name] for stretch in leg.line if isinstance(stretch, Stretch)
                  for name, _ in stretch.routes if name in reading.cables]  # fmt: skip
        sized = next((cable for cable in cables if cable.size is not None), None)
        if leg.size is None and sized is not None:
            leg = replace(leg, size=sized.size, size_span=sized.size_span)
        shared = next((c for c in cables if c.shared_negative and leg.conductors == 2), None)
        for cable in cables:
            _take_cores(leg, cable, 1 if cable is shared else leg.conductors, reading)
        back = _return(leg.near, parts) if shared is not None else None
        if shared is None or back is None:
            found.append(leg)
            continue
        splice = f"{shared.name}-neg"
        splices[splice] = Junction(
            id=splice, title=f"{shared.title or shared.name}, common negative", span=leg.far.span
        )
        unnamed = replace(leg.statement, name=None)
        far = leg.far.text
        single = replace(
            leg, conductors=1, statement=unnamed, near=Word(splice, leg.far.span), far=Word(back, leg.far.span)
        )
        near = (
            leg.near
            if "." in leg.near.text or isinstance(parts[leg.near.text], Panel)
            else Word(f"{leg.near.text}.pos", leg.near.span)
        )
        found.append(replace(leg, conductors=1, near=near, far=Word(f"{far}.pos", leg.far.span)))
        found.append(replace(single, near=Word(f"{far}.neg", leg.far.span), far=single.near, line=()))
        plain = replace(single, line=tuple(thing for thing in leg.line if isinstance(thing, Stretch)))
        first = backs.get((splice, back))
        backs[splice, back] = plain if first is None or plain.length_m > first.length_m else first
    return [*found, *backs.values()], splices


def _return(near: Word, parts: Mapping[str, Part]) -> str | None:
    """Where the negative of a pair from this end goes back to."""
    part = parts.get(near.text.partition(".")[0])
    if part is None:
        return None
    bar = getattr(part, "return_bar", None)
    return bar or (f"{part.id}.neg" if "neg" in part.ports else None)


def _take_cores(leg: Leg, cable: Cable, count: int, reading: Reading) -> None:
    """The cores that a run says, and for those that it does not say the next free ones."""
    for word in leg.cores[:count]:
        number = int(word.value)
        if number in cable.taken or not 1 <= number <= cable.cores:
            _refuse(leg, cable, number, reading)
        cable.taken.add(number)
    for _ in range(count - len(leg.cores)):
        free = next((n for n in range(1, cable.cores + 1) if n not in cable.taken), None)
        if free is None:
            _refuse(leg, cable, cable.cores + 1, reading)
            return
        cable.taken.add(free)


def _refuse(leg: Leg, cable: Cable, number: int, reading: Reading) -> None:
    free = [str(n) for n in range(1, cable.cores + 1) if n not in cable.taken]
    about = {"way": str(number), "ways": cable.cores, "taken": number in cable.taken, "free": free, "cores": True}
    reading.report("CP249", cable.name, leg.span, **about)
