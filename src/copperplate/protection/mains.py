"""What stands between a bank or an array and the rest: a main device, and something that opens by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from copperplate.findings import Finding, make
from copperplate.model import Battery, Solar
from copperplate.protection.study import ProtectionStudy
from copperplate.units import exceeds


def check_mains(study: ProtectionStudy) -> list[Finding]:
    """Banks that feed a bar through conductors without a main device; banks and arrays that nothing parts from the rest
    by hand. A bar that is fed ahead of the switch, for what must stay live, is no bar without one."""
    return [*_banks(study), *_arrays(study)]


def _banks(study: ProtectionStudy) -> Iterator[Finding]:
    system, figures = study.system, study.profile.figures
    bars = {node.id: node.part for node in system.nodes.values() if _is_bar(study, node.part)}
    for battery in system.of(Battery):
        bare = _reached(study, battery.id, lambda name: system.devices[name].roles.protects)
        far = {bars[node]: metres for node, metres in bare.items() if node in bars and metres > 0.0}
        if far:
            bar = min(far, key=lambda name: far[name])
            rule = study.profile.clauses["main"]
            at = {"bar": system.parts[bar].span}
            yield make("CP442", battery.id, battery.span, at=at, bar=bar, rule=rule)
        least_ah, high_v = figures["disconnect-capacity"], figures.get("disconnect-voltage")
        by_law = high_v is not None and exceeds((battery.gives_v or 0.0), high_v.value)
        capacity_ah = (battery.capacity_ah or float("inf")) * battery.parallel
        if not by_law and not exceeds(capacity_ah, least_ah.value):
            continue
        unparted = _reached(study, battery.id, lambda name: _parts_by_hand(study, name))
        live = [node for node in bars if node in unparted]
        all_bars = [node for node in _reached(study, battery.id, lambda name: False) if node in bars]
        if live and len(live) == len(all_bars):
            figure = high_v if by_law and high_v is not None else least_ah
            code = "CP444" if by_law else "CP443"
            yield make(code, battery.id, battery.span, bar=bars[live[0]], rule=figure.cited)


def _arrays(study: ProtectionStudy) -> Iterator[Finding]:
    """Arrays that are joined to their controller, or to a bank, with nothing between that opens by hand."""
    system = study.system
    ends = {node.id: node.part for node in system.nodes.values() if node.part and _takes(study, node.part)}
    joined: dict[str, str] = {}
    for array in system.of(Solar):
        unparted = _reached(study, array.id, lambda name: _parts_by_hand(study, name))
        nearest = next((ends[node] for node in unparted if node in ends), None)
        joined |= {array.id: nearest} if nearest is not None else {}
    if joined:
        first, rule = next(iter(joined)), study.profile.clauses["array-disconnect"]
        ends_of = list(dict.fromkeys(joined.values()))
        yield make("CP445", first, system.parts[first].span, arrays=list(joined), ends=ends_of, rule=rule)


def _is_bar(study: ProtectionStudy, part: str) -> bool:
    return part in study.system.parts and study.system.parts[part].roles.bar


def _takes(study: ProtectionStudy, part: str) -> bool:
    roles = study.system.parts[part].roles if part in study.system.parts else None
    return roles is not None and (roles.stores or roles.consumes or roles.bar)


def _parts_by_hand(study: ProtectionStudy, device: str) -> bool:
    """Whether a device is opened on purpose, and is more than the way of a panel."""
    return study.system.devices[device].roles.switches and not study.system.devices[device].panel


def _reached(study: ProtectionStudy, source: str, parts: Callable[[str], bool]) -> dict[str, float]:
    """The nodes that a source's positive reaches without a device that parts them, with the metres of conductor."""
    pole = study.overload.pole
    start = next((s.node for s in pole.sources if s.part == source and s.direct), None)
    if start is None:
        return {}
    found = pole.metres(start, lambda line: line.kind == "device" and parts(line.id))
    return {pole.names[node]: metres for node, metres in found.items()}
