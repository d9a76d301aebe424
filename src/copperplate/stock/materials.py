"""What to buy and what to cut."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from copperplate.model import Link, Run, System, links
from copperplate.model.results import Cut, Fit, Material, Rating, RunResult
from copperplate.standards import Profile, colour

SLACK_SHARE = 0.10
SLACK_M = 0.15
"""A conductor is cut a tenth longer than its run, and by 0.15 m at least. Common practice, no source."""
ROUND_M = 0.05
GROUPS = ("conductor", "lug", "ferrule", "fuse", "breaker", "device")


@dataclass(frozen=True, slots=True)
class _Piece:
    tag: str
    run: Run
    colour: str
    length_m: float
    from_end: str
    to_end: str
    conductor: str


def materials(
    system: System,
    profile: Profile,
    runs: Mapping[str, RunResult],
    ratings: Mapping[str, Rating],
    fits: tuple[Fit, ...],
) -> tuple[tuple[Material, ...], tuple[Cut, ...]]:
    """The materials, grouped and totalled in order of first use, and one cut for each piece of conductor.

    Conductors are in metres as cut, everything else in pieces; fuses carry one spare of each rating."""
    fitting = {(fit.conductor, fit.node): fit.fitting for fit in fits}
    cuts: list[Cut] = []
    metres: dict[tuple[str, str], list[Cut]] = {}
    pieces: dict[tuple[str, str], list[str]] = {}
    for piece in _pieces(system, runs):
        result = runs[piece.run.id]
        if result.size is None:
            continue
        ends = [fitting.get((piece.conductor, end), "") for end in (piece.from_end, piece.to_end)]
        cut = Cut(
            conductor=piece.tag,
            size=result.size.key,
            colour=piece.colour,
            length_m=piece.length_m,
            cut_m=_cut_m(piece.length_m),
            from_end=piece.from_end,
            to_end=piece.to_end,
            from_fitting=ends[0],
            to_fitting=ends[1],
        )
        cuts.append(cut)
        metres.setdefault((result.size.label, cut.colour), []).append(cut)
        for item in ends:
            if item:
                pieces.setdefault(("ferrule" if item.startswith("ferrule") else "lug", item), []).append(piece.tag)
    bought = [
        Material(
            "conductor",
            f"{size}, {tint}",
            round(sum(c.cut_m for c in found), 6),
            "m",
            tuple(c.conductor for c in found),
        )
        for (size, tint), found in metres.items()
    ]
    for device in system.devices.values():
        rating = ratings.get(device.id)
        amperes = rating.rating_a if rating is not None else device.rating_a
        if amperes is None:
            continue
        poles = f", {device.poles} poles" if device.poles > 1 else ""
        family = (
            f" {rating.family}" if rating is not None and rating.family and device.kind in ("fuse", "breaker") else ""
        )
        name = device.kind if device.kind == family.strip() else f"{device.kind}{family}"
        group = device.kind if device.kind in ("fuse", "breaker") else "device"
        pieces.setdefault((group, f"{name}, {amperes:g} A{poles}"), []).append(device.id)
    bought += [
        Material(group, item, len(where) + (group == "fuse"), "pcs", tuple(where))
        for (group, item), where in pieces.items()
    ]
    return tuple(sorted(bought, key=lambda m: GROUPS.index(m.group))), tuple(cuts)


def _pieces(system: System, runs: Mapping[str, RunResult]) -> Iterator[_Piece]:
    """Every physical piece of conductor: parallel ones and the links of a bank one by one."""
    settings = system.settings
    joining: dict[str, list[Link]] = {}
    for link in links(system):
        joining.setdefault(link.run, []).append(link)
    for run in system.runs.values():
        result = runs.get(run.id)
        if result is None:
            continue
        for link in joining.get(run.id, ()):
            tint = colour(settings.rules, settings.negative, link.pole, "dc", settings.ac)
            for tag in _tags(link.marker, result.parallel):
                yield _Piece(tag, run, tint, link.length_m, link.from_end, link.to_end, link.id)
        for conductor_id in run.conductor_ids:
            conductor = system.conductors[conductor_id]
            tint = colour(settings.rules, settings.negative, conductor.pole, run.current, settings.ac)
            for tag in _tags(conductor.marker, result.parallel):
                yield _Piece(tag, run, tint, conductor.length_m, conductor.from_node, conductor.to_node, conductor.id)


def _tags(marker: str, parallel: int) -> list[str]:
    """The marker of each of several conductors side by side."""
    return [f"{marker} ({n} of {parallel})" for n in range(1, parallel + 1)] if parallel > 1 else [marker]


def _cut_m(length_m: float) -> float:
    """Length to cut, rounded up to 5 cm."""
    wanted = length_m + max(SLACK_SHARE * length_m, SLACK_M)
    return round(math.ceil(wanted / ROUND_M - 1e-9) * ROUND_M, 6)
