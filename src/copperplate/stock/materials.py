"""What to buy and what to cut."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from copperplate.model import Conductor, Device, Link, Pole, Run, System, links
from copperplate.model.results import Cut, Fit, Material, Rating, RunResult
from copperplate.model.travellers import travellers
from copperplate.standards import Profile, colour
from copperplate.standards.fuses import blade_colour
from copperplate.units import NOISE, show

ROUND_M = 0.05
GROUPS = ("conductor", "cable", "lead", "lug", "ferrule", "splice", "fuse", "holder", "breaker", "device")


@dataclass(frozen=True, slots=True)
class _PieceToCut:
    """One piece to cut: a conductor by itself, or a cable with the ends of its cores."""

    tag: str
    run: Run
    colour: str
    length_m: float
    from_end: str
    to_end: str
    ends: tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]]
    """(conductor, node) of every core at the first end, and at the second."""


def materials(
    system: System,
    profile: Profile,
    runs: Mapping[str, RunResult],
    ratings: Mapping[str, Rating],
    fits: tuple[Fit, ...],
) -> tuple[tuple[Material, ...], tuple[Cut, ...]]:
    """The materials, grouped and totalled in order of first use (of lugs those of unknown terminals last), and one cut
    for each piece of conductor or cable.

    Conductors and cables are in metres as cut, everything else in pieces; fuses carry one spare of each rating."""
    fitting = {(fit.conductor, fit.node): fit.fitting for fit in fits}
    cuts: list[Cut] = []
    metres: dict[tuple[str, str], list[Cut]] = {}
    pieces: dict[tuple[str, str], list[str]] = {}
    for piece in _pieces(system, runs):
        result = runs[piece.run.id]
        if result.size is None:
            continue
        fittings = [[item for end in side if (item := fitting.get(end, ""))] for side in piece.ends]
        cut = Cut(
            conductor=piece.tag,
            size=result.size.key,
            colour=piece.colour,
            length_m=piece.length_m,
            cut_m=_cut_m(profile, piece.length_m),
            from_end=piece.from_end,
            to_end=piece.to_end,
            from_fitting=_together(fittings[0]),
            to_fitting=_together(fittings[1]),
            cores=len(piece.colour.split()),
        )
        cuts.append(cut)
        label = result.size.label if cut.cores == 1 else f"{cut.cores}-core {result.size.label}"
        metres.setdefault(("conductor" if cut.cores == 1 else "cable", f"{label}, {cut.colour}"), []).append(cut)
        for item in (item for side in fittings for item in side):
            group = next((group for group in ("ferrule", "splice") if item.startswith(group)), "lug")
            pieces.setdefault((group, item), []).append(piece.tag)
    bought = [
        Material(group, item, round(sum(cut.cut_m for cut in own), 6), "m", tuple(cut.conductor for cut in own))
        for (group, item), own in metres.items()
    ]
    for device in system.devices.values():
        rating = ratings.get(device.id)
        amperes = rating.rating_a if rating is not None else device.rating_a
        if amperes is None:
            continue
        item = _item(system, device, rating, amperes)
        pieces.setdefault((device.kind if device.roles.protects else "device", item), []).append(device.id)
        if device.roles.melts and not device.panel and rating is not None and rating.family:
            pieces.setdefault(("holder", f"holder {rating.family}, for {amperes:g} A"), []).append(device.id)
    for lead in system.leads.values():
        item = f"{lead.lead or 'made-up lead'}, {show(lead.length_m, system.settings.length_unit)}"
        pieces.setdefault(("lead", item), []).append(lead.marker)
    bought += [
        Material(group, item, _bought(system, group, where) + (group == "fuse"), "pcs", tuple(where))
        for (group, item), where in pieces.items()
    ]
    return tuple(sorted(bought, key=lambda m: (GROUPS.index(m.group), m.item.startswith("lug or")))), tuple(cuts)


def _bought(system: System, group: str, where: Sequence[str]) -> int:
    """How many pieces these are: the contacts of one device are one."""
    if group != "device":
        return len(where)
    of = [device.of for name in where if (device := system.devices.get(name)) is not None and device.of]
    return len(where) - len(of) + len(set(of))


def _together(fittings: list[str]) -> str:
    """The fittings at one end of a cable: `3 x ferrule 2.5 mm², 8 mm, blue`."""
    counted = Counter(fittings)
    return "; ".join(f"{n} x {item}" if n > 1 else item for item, n in counted.items())


def _item(system: System, device: Device, rating: Rating | None, amperes: float) -> str:
    """What to ask for: `fuse blade, 3 A, violet`, `breaker, 30 A, 2 poles, AC 120 V, curve C, residual 30 mA`."""
    family = rating.family if rating is not None and device.roles.protects else ""
    kind = system.parts[device.of].kind if device.of in system.parts else device.kind
    name = kind if family in ("", device.kind) else f"{kind} {family}"
    words = [name, f"{amperes:g} A"]
    if family and (tint := blade_colour(family, amperes)):
        words.append(tint)
    if device.poles > 1:
        words.append(f"{device.poles} poles")
    if device.roles.protects and not device.roles.melts:
        volts = system.nodes[device.legs[0][0]].nominal_v
        words.append(f"{system.runs[device.run].current.upper()} {volts:g} V")
        words += [f"curve {device.curve.upper()}"] if device.curve else []
        words += [f"residual {device.residual_a * 1000:g} mA"] if device.residual_a else []
        words += [f"breaks {device.breaks_a / 1000:g} kA"] if device.breaks_a else []
    return ", ".join(words)


def _pieces(system: System, runs: Mapping[str, RunResult]) -> Iterator[_PieceToCut]:
    """Every physical piece: parallel conductors and the links of a bank one by one, AC runs as cables."""
    joining: dict[str, list[Link]] = {}
    beside = travellers(system)
    for link in links(system):
        joining.setdefault(link.run, []).append(link)
    for run in system.runs.values():
        result = runs.get(run.id)
        if result is None:
            continue
        for link in joining.get(run.id, ()):
            tint = _colour(system, link.pole, "dc")
            ends = ((link.id, link.from_end),), ((link.id, link.to_end),)
            for tag in _tags(link.marker, result.parallel):
                yield _PieceToCut(tag, run, tint, link.length_m, link.from_end, link.to_end, ends)
        laid = [system.conductors[name] for name in run.conductor_ids]
        if run.current == "ac" and len({conductor.pole for conductor in laid}) > 1:
            yield from _cables(system, run, laid, result.parallel)
            continue
        for c in laid:
            tint = _colour(system, c.pole, run.current)
            ends = ((c.id, c.from_node),), ((c.id, c.to_node),)
            second = [beside[c.id]] if c.id in beside else []
            for tag in (*_tags(c.marker, result.parallel), *second):
                yield _PieceToCut(tag, run, tint, c.length_m, c.from_node, c.to_node, ends)


def _cables(system: System, run: Run, laid: list[Conductor], parallel: int) -> Iterator[_PieceToCut]:
    """The cables of an AC run: a piece for each stretch of the core that devices divide most often. A core that runs
    on past a device, as the earth does, is in the cable on both sides of it and ends where they end."""
    cores: dict[Pole, list[Conductor]] = {}
    for conductor in laid:
        cores.setdefault(conductor.pole, []).append(conductor)
    lead = max(cores.values(), key=len)
    tints = " ".join(_colour(system, pole, "ac") for pole in cores)
    name = run.id.removesuffix(".run")
    for place, stretch in enumerate(lead):
        starts: list[tuple[str, str]] = []
        stops: list[tuple[str, str]] = []
        for core in cores.values():
            within = [n * len(core) // len(lead) for n in range(len(lead))]
            here = core[within[place]]
            if place == 0 or within[place - 1] != within[place]:
                starts.append((here.id, here.from_node))
            if place + 1 == len(lead) or within[place + 1] != within[place]:
                stops.append((here.id, here.to_node))
        ends = tuple(starts), tuple(stops)
        tag = name if len(lead) == 1 else f"{name}/{place + 1}"
        for numbered in _tags(tag, parallel):
            yield _PieceToCut(numbered, run, tints, stretch.length_m, stretch.from_node, stretch.to_node, ends)


def _colour(system: System, pole: Pole, current: Literal["dc", "ac"]) -> str:
    settings = system.settings
    return colour(settings.rules, settings.negative, pole, current, settings.ac)


def _tags(marker: str, parallel: int) -> list[str]:
    """The marker of each of several conductors side by side."""
    return [f"{marker} ({n} of {parallel})" for n in range(1, parallel + 1)] if parallel > 1 else [marker]


def _cut_m(profile: Profile, length_m: float) -> float:
    """Length to cut, rounded up to 5 cm."""
    slack = profile.figures["slack"].value * length_m
    wanted = length_m + max(slack, profile.figures["slack-least"].value)
    return round(math.ceil(wanted / ROUND_M - NOISE) * ROUND_M, 6)
