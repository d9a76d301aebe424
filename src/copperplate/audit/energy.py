"""The energy of a day by bank: what each load takes, what is lost before it, what the bank holds."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.audit.saying import defect, told
from copperplate.audit.supply import kind_of
from copperplate.findings import Finding
from copperplate.model import Part
from copperplate.model.graph import Graph, graph
from copperplate.model.results import Design, EnergyResult

NEAR = 1.0001
DAY_H = 24.0


def check_energy(design: Design) -> list[Finding]:
    """Each bank's day against the sum of power times hours over the efficiencies on the way; what it can use; how long
    that lasts; how long its sources take to fill it."""
    net = graph(design.system)
    by_zone: dict[str, list[str]] = {}
    for name, ends in net.consumers.items():
        by_zone.setdefault(ends.zone, []).append(name)
    found: list[Finding] = []
    short = told(design, "CP612")
    for energy in design.energy:
        if energy.bank not in net.outputs:
            continue
        zone = net.outputs[energy.bank].zone
        banks = [p for p in design.system.of_kind("battery") if p.id in net.outputs and net.outputs[p.id].zone == zone]
        volts = banks[0].get("voltage_v", 12.0) * banks[0].get("series", 1)
        daily = _day(design, by_zone, net, zone, volts)
        said = sum(line.wh for line in energy.lines if line.what != "lost in conductors")
        if daily is not None and not daily / NEAR - 1e-6 <= said <= daily * NEAR + 1e-6:
            found.append(defect("CP598", energy.bank, f"a day takes {daily:.5g} Wh, and {said:.5g} Wh was counted"))
        total = sum(line.wh for line in energy.lines)
        if abs(total - energy.daily_wh) > 1e-6 * max(1.0, total):
            found.append(defect("CP598", energy.bank, f"its lines make {total:.5g} Wh, not {energy.daily_wh:.5g} Wh"))
        usable = _usable(banks, volts)
        if usable is not None and (energy.usable_wh is None or energy.usable_wh > usable * NEAR):
            found.append(defect("CP598", energy.bank, f"it holds {usable:.5g} Wh, and {energy.usable_wh} was taken"))
        found += _lasts(energy, usable, energy.bank in short)
        found += _fills(energy, banks)
    return found


def _day(design: Design, by_zone: Mapping[str, list[str]], net: Graph, zone: str, volts: float) -> float | None:
    """Watt-hours a day that leave a source, with all that hangs on its system and on those behind it, the innermost
    first. None where systems feed each other in a ring."""
    inner: dict[str, tuple[float, float]] = {}
    waiting, open_zones = [(zone, volts)], dict[str, None]()
    while waiting:
        here, at_v = waiting[-1]
        parts = [design.system.parts[name] for name in by_zone.get(here, ())]
        turning = [part for part in parts if _turns(part) and part.id in net.outputs]
        behind = [net.outputs[part.id] for part in turning]
        todo = [(b.zone, p.get("out_v", b.nominal_v)) for p, b in zip(turning, behind, strict=True)]
        todo = [one for one in todo if one[0] not in inner]
        if here in open_zones or not todo:
            if todo:
                return None
            waiting.pop()
            inner[here] = _zone(parts, net, at_v, inner)
            continue
        open_zones[here] = None
        waiting += todo
        if len(waiting) > 2 * len(design.system.nodes):
            return None
    return inner[zone][0]


def _turns(part: Part) -> bool:
    return part.kind == "inverter" or (part.kind == "converter" and not part.get("charges", False))


def _zone(parts: list[Part], net: Graph, volts: float, inner: Mapping[str, tuple[float, float]]) -> tuple[float, float]:
    """(watt-hours a day, longest hours) of the consumers of one system: power times hours, over the efficiency of what
    turns it, and idle power for the rest of the day."""
    total, longest = 0.0, 0.0
    for part in parts:
        hours = part.get("daily_h")
        if part.kind == "load" and hours is not None:
            wh, own_h = _watts(part, volts, net.consumers[part.id].current) * hours, hours
        elif _turns(part):
            output = net.outputs.get(part.id)
            wh, own_h = inner[output.zone] if output is not None else (0.0, 0.0)
            if not wh and part.kind == "inverter" and hours is not None:
                wh = part.get("power_w", 0.0) * hours
            own_h = max(own_h, hours or 0.0)
            wh = wh / part.get("efficiency", 0.9) + part.get("idle_w", 0.0) * max(0.0, DAY_H - own_h)
        else:
            continue
        total, longest = total + wh, max(longest, own_h)
    return total, longest


def _watts(part: Part, volts: float, current: str) -> float:
    count = part.get("count", 1)
    if part.get("power_w") is not None:
        return float(part.get("power_w") * count)
    if part.get("current_a") is not None:
        factor = part.get("power_factor", 1.0) if current == "ac" else 1.0
        return float(part.get("current_a") * count * volts * factor)
    return float(volts**2 / part.get("resistance_ohm") * count) if part.get("resistance_ohm") else 0.0


def _usable(banks: list[Part], volts: float) -> float | None:
    if any(part.get("capacity_ah") is None for part in banks):
        return None
    shares = [(part, part.get("usable", kind_of(part).usable_share.value)) for part in banks]
    return volts * sum(part.get("capacity_ah") * part.get("parallel", 1) * share for part, share in shares)


def _lasts(energy: EnergyResult, usable: float | None, warned: bool) -> list[Finding]:
    if usable is None or energy.daily_wh <= 0.0:
        return []
    days, said = usable / energy.daily_wh, energy.autonomy_days
    if said is None or said > days * NEAR:
        return [defect("CP598", energy.bank, f"its capacity lasts {days:.4g} days, and {said} was said")]
    if days < 1.0 / NEAR and not warned:
        return [defect("CP598", energy.bank, f"its capacity lasts {days:.4g} days, untold")]
    return []


def _fills(energy: EnergyResult, banks: list[Part]) -> list[Finding]:
    """Hours from usable-empty to full: amperehours over current and charge efficiency."""
    volts = banks[0].get("voltage_v", 12.0) * banks[0].get("series", 1)
    found: list[Finding] = []
    for source, amperes, hours in energy.recharge:
        wanted = (energy.usable_wh or 0.0) / volts / kind_of(banks[0]).charge_efficiency.value / amperes
        if hours * NEAR < wanted:
            found.append(
                defect("CP598", source, f"`{source}` fills `{energy.bank}` in {wanted:.4g} h, not {hours:.4g} h")
            )
    return found
