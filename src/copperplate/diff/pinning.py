"""Pinning: the choices that must not move later, written back into the plate with the smallest change of its text.

Ways of panels always; with sizes also every size, family and rating that was chosen. From then on they are checked
and not chosen; the design is the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from copperplate.model import Panel
from copperplate.model.results import Design
from copperplate.model.system import Device, Run
from copperplate.syntax.tree import Bracket, End, Plate, RunElement, RunStatement, Segment, Stroke, Word


@dataclass(frozen=True, order=True)
class Edit:
    """`text` in place of the characters `start` to `end` of the plate. `what` says what it pins."""

    start: int
    end: int
    text: str
    what: str


def edits(plate: Plate, design: Design, sizes: bool) -> tuple[Edit, ...]:
    """What to change in the text of `plate`, whose design this is, in the order of the text."""
    pins: list[Edit] = []
    name = plate.source.name
    runs = {run.span.start: run for run in design.system.runs.values() if run.span.source.name == name}
    devices = {device.span.start: device for device in design.system.devices.values() if not device.panel}
    ways = {device.run: device for device in design.system.devices.values() if device.panel}
    for statement in plate.statements:
        if not isinstance(statement, RunStatement):
            continue
        for leg in _legs(statement):
            near = leg[0]
            assert isinstance(near, End)
            run = runs.get(near.address.span.start)
            if run is None:
                continue
            pins += _way(near.address, run, design)
            if sizes:
                pins += _size(leg, run, design)
                pins += _way_rating(leg, ways.get(run.id), design)
                for element in leg:
                    if isinstance(element, Bracket) and element.span.start in devices:
                        pins += _rating(element, devices[element.span.start], design)
    return tuple(sorted(pins))


def apply_edits(text: str, changes: tuple[Edit, ...]) -> str:
    """The text with the edits done."""
    for edit in reversed(changes):
        text = text[: edit.start] + edit.text + text[edit.end :]
    return text


def _legs(statement: RunStatement) -> Iterator[tuple[RunElement, ...]]:
    """The legs of a run, each from one end to the next."""
    ends = [place for place, element in enumerate(statement.elements) if isinstance(element, End)]
    for start, stop in pairwise(ends):
        yield statement.elements[start : stop + 1]


def _way(near: Word, run: Run, design: Design) -> Iterator[Edit]:
    """The number of the way, where the plate names the panel alone."""
    part = design.system.parts.get(near.text)
    if isinstance(part, Panel) and re.fullmatch(rf"{re.escape(near.text)}\.\d+", run.from_end):
        yield Edit(near.span.start, near.span.end, run.from_end, f"way {run.from_end}")


def _size(leg: tuple[RunElement, ...], run: Run, design: Design) -> Iterator[Edit]:
    """The size, behind what the first stretch of the run says."""
    result = design.runs.get(run.id)
    stretch = next((element for element in leg if isinstance(element, Segment)), None)
    if run.size is None and result is not None and result.size is not None and stretch is not None:
        end = stretch.items[-1].span.end
        yield Edit(end, end, f", {result.size.key}", f"size of {run.id}")


def _rating(bracket: Bracket, device: Device, design: Design) -> Iterator[Edit]:
    """Family and rating of a device in the line."""
    family, amperes = _chosen(device, design)
    if family:
        first = bracket.items[0]
        kind = first.atoms[0].span.end
        text = f" {family}" if len(first.atoms) == 1 else f" {family},"
        yield Edit(kind, kind, text, f"family of {device.id}")
    if amperes:
        end = bracket.items[-1].span.end
        yield Edit(end, end, f", {amperes}", f"rating of {device.id}")


def _way_rating(leg: tuple[RunElement, ...], device: Device | None, design: Design) -> Iterator[Edit]:
    """Family and rating of a way's own device: in its bracket beside the panel, or in a new one there."""
    if device is None:
        return
    family, amperes = _chosen(device, design)
    pins = ", ".join(pin for pin in (family, amperes) if pin)
    if not pins:
        return
    what = f"rating of {device.id}"
    for element in leg:
        if isinstance(element, Bracket) and element.span.start == device.span.start:
            end = element.items[-1].span.end
            yield Edit(end, end, f", {pins}", what)
            return
    first, last = leg[1], leg[-2]
    assert isinstance(first, Stroke) and isinstance(last, Stroke)
    if device.span.start == leg[0].address.span.start:  # type: ignore[union-attr]
        yield Edit(first.span.end, first.span.end, f" [{pins}] --", what)
    elif first is not last:
        yield Edit(last.span.start, last.span.start, f"-- [{pins}] ", what)


def _chosen(device: Device, design: Design) -> tuple[str, str]:
    """The family and the rating that the plate leaves open and the design chose; "" where it chose none."""
    result = design.devices.get(device.id)
    if result is None:
        return "", ""
    rating = result.rating
    family = rating.family if device.roles.melts and device.family is None else ""
    amperes = f"{rating.rating_a:g} A" if device.rating_a is None and rating.rating_a is not None else ""
    return family, amperes
