"""Sources: what they hold, push and turn into another voltage, and what they, chargers and banks may do at most."""

from __future__ import annotations

from copperplate.audit.saying import defect, told
from copperplate.audit.wires import Joined, joined
from copperplate.findings import Finding
from copperplate.model import Case, Part
from copperplate.model.graph import Graph, Terminals, graph
from copperplate.model.results import Design
from copperplate.model.transfer import handing
from copperplate.standards import OutsideTable, chemistry, profile
from copperplate.standards.batteries import Chemistry
from copperplate.standards.solar import cold_voc_factor

NEAR = 1.0001
VOLTS = 1e-6
CHARGING = {"charger": "out_v", "controller": "out_v", "alternator": "voltage_v", "converter": "out_v"}


def check_supply(design: Design) -> list[Finding]:
    """Held voltages by case; a bank's current against its limits; arrays in the cold; charging voltages against the
    chemistry; supplies against what is drawn from them."""
    net, wired = graph(design.system), joined(design.system)
    return [
        *_held(design, net, wired),
        *_bank_limits(design, net, wired),
        *_cold(design, net),
        *_charging(design, net),
        *_asked(design, net, wired),
        *_turned(design, net, wired),
        *_strings(design),
    ]


def kind_of(part: Part) -> Chemistry:
    return chemistry(part.get("chemistry", "flooded"), part.get("voltage_v", 12.0))


def low_v(part: Part) -> float:
    """The low end of a bank's range: stated, else usual for its chemistry."""
    window = part.get("range")
    return float((window.low if window else kind_of(part).low_v.value) * part.get("series", 1))


def full_v(part: Part) -> float:
    """A bank's voltage while charging ends: stated, else the high end of its range, else usual."""
    window = part.get("range")
    each = part.get("full_v") or (window.high if window else kind_of(part).full_v.value)
    return float(each * part.get("series", 1))


def _held(design: Design, net: Graph, wired: Joined) -> list[Finding]:
    """Terminal volts of every bank and of every source that holds a voltage, in the cases that have it on. Banks that
    share their bars share current by their resistance, so there only the safe side can be told."""
    found: list[Finding] = []
    banked: dict[str, list[Part]] = {}
    for part in design.system.of_kind("battery"):
        if part.id in net.outputs:
            banked.setdefault(net.outputs[part.id].zone, []).append(part)
    for name, ends in net.outputs.items():
        part = design.system.parts[name]
        if not net.holds(name):
            continue
        for case in design.system.cases:
            volts = _across(design, case, ends.pos, ends.neg)
            if volts is None:
                continue
            if part.kind == "battery":
                banks = banked[ends.zone]
                charging = case.kind == "charge"
                wanted = max(map(full_v, banks)) if charging else min(map(low_v, banks))
                off = wanted - volts if charging else volts - wanted
                wrong = off > VOLTS * wanted if len(banks) > 1 else abs(off) > VOLTS * wanted
                # Banks side by side: while one feeds the other its volts lie on either side of what is held; one that
                # is parted from all others gives nothing.
                given = wired.leaving(design, case, ends.pos) if len(banks) > 1 else None
                if len(banks) > 1 and (abs(off) <= 0.05 * wanted or (given is not None and abs(given) < 1e-6)):
                    continue
            else:
                if not case.shares.get(name):
                    continue
                wanted = part.get("out_v", ends.nominal_v) if part.kind == "converter" else ends.nominal_v
                wrong = abs(volts - wanted) > VOLTS * wanted
            if wrong:
                message = f"`{name}` holds {wanted:.6g} V in case `{case.id}`, and {volts:.6g} V was taken"
                found.append(defect("CP598", name, message))
    return found


def _across(design: Design, case: Case, pos: str, neg: str) -> float | None:
    high, low = design.node_v.get(pos, {}).get(case.id), design.node_v.get(neg, {}).get(case.id)
    return None if high is None or low is None else high - low


def _bank_limits(design: Design, net: Graph, wired: Joined) -> list[Finding]:
    found: list[Finding] = []
    warned = told(design, "CP615")
    for part in design.system.of_kind("battery"):
        strings = part.get("parallel", 1)
        if part.id not in net.outputs:
            continue
        for case in design.system.cases:
            limit = part.get("max_charge_a" if case.kind == "charge" else "max_discharge_a")
            given = wired.leaving(design, case, net.outputs[part.id].pos) if limit is not None else None
            if limit is None or given is None or (case.kind == "charge" and part.id in warned):
                continue
            flows = -given if case.kind == "charge" else given
            if flows > limit * strings * NEAR + 1e-6:
                message = f"`{part.id}` takes {limit * strings:.4g} A, and {flows:.4g} A flow in case `{case.id}`"
                found.append(defect("CP598", part.id, message))
    return found


def cold_v(design: Design, array: Part) -> float | None:
    """Open-circuit volts of an array's strings at their coldest: n Voc (1 + b (T - 25 °C)), b the module's own, else
    by the table of the rules."""
    if not array.get("voc_v"):
        return None
    rules = profile(design.profile)
    taken, name = rules.figures["coldest"].value, rules.sheet["solar"]["table"]
    coldest = array.get("coldest_c", taken)
    if array.get("temp_coefficient_per_k") is not None:
        rise = max(1.0, 1.0 + array.get("temp_coefficient_per_k") * (coldest - 25.0))
    else:
        try:
            rise = cold_voc_factor(coldest, name).value
        except OutsideTable:
            rise = cold_voc_factor(taken, name).value
    return float(array.get("voc_v") * array.get("series", 1) * rise)


def _cold(design: Design, net: Graph) -> list[Finding]:
    found: list[Finding] = []
    for controller in design.system.of_kind("controller"):
        limit, inlet = controller.get("max_input_v"), net.consumers.get(controller.id)
        for array in design.system.of_kind("solar"):
            if limit is None or inlet is None or array.id not in net.outputs:
                continue
            volts = cold_v(design, array)
            if net.outputs[array.id].zone == inlet.zone and volts is not None and volts > limit * NEAR:
                message = f"`{array.id}` reaches {volts:.4g} V in the cold, and `{controller.id}` takes {limit:.4g} V"
                found.append(defect("CP598", array.id, message))
    return found


def _charging(design: Design, net: Graph) -> list[Finding]:
    """What a charging source gives at most, against the bank on its bars: above what the chemistry takes is refused,
    above the bank's full voltage or below that of a full bank at rest is told."""
    found: list[Finding] = []
    above, never = told(design, "CP607"), told(design, "CP608")
    for part in design.system.parts.values():
        key = CHARGING.get(part.kind)
        if key is None or part.get(key) is None or part.id not in net.outputs:
            continue
        if part.kind == "converter" and not part.get("charges", False):
            continue
        given = part.get("current_a") or 0.0
        zone = net.outputs[part.id].zone
        banks = [b for b in design.system.of_kind("battery") if b.id in net.outputs and net.outputs[b.id].zone == zone]
        if not banks or (given <= 0.0 and part.kind != "controller"):
            continue
        volts, full = part.get(key), min(map(full_v, banks))
        weakest = min(banks, key=lambda b: kind_of(b).high_v.value * b.get("series", 1))
        high = kind_of(weakest).high_v.value * weakest.get("series", 1)
        rest = kind_of(weakest).emf_full_v.value * weakest.get("series", 1)
        if volts > max(full, high) * NEAR:
            message = f"`{part.id}` charges to {volts:.4g} V, and `{weakest.id}` takes {max(full, high):.4g} V at most"
            found.append(defect("CP598", part.id, message))
        elif volts > full * NEAR and part.id not in above:
            found.append(defect("CP598", part.id, f"`{part.id}` charges to {volts:.4g} V, above {full:.4g} V, untold"))
        elif volts < rest / NEAR and part.id not in never and _pushes(design, net, part):
            found.append(defect("CP598", part.id, f"`{part.id}` gives {volts:.4g} V, below {rest:.4g} V, untold"))
    return found


def _pushes(design: Design, net: Graph, part: Part) -> bool:
    """Whether a source brings any current at its rating: an array without a figure brings none."""
    if part.get("current_a"):
        return True
    inlet = net.consumers.get(part.id)
    arrays = [a for a in design.system.of_kind("solar") if a.id in net.outputs]
    return any(inlet is not None and net.outputs[a.id].zone == inlet.zone and a.get("power_w") for a in arrays)


def _asked(design: Design, net: Graph, wired: Joined) -> list[Finding]:
    """Amperes that leave each converter, inverter, shore supply and generator, against its rating; of the first
    two in load cases. Behind several that share their bars the split is theirs and no figure of the plate."""
    found: list[Finding] = []
    through = handing(design.system, net)
    for name, ends in net.outputs.items():
        part = design.system.parts[name]
        if part.kind not in ("converter", "inverter", "shore", "generator") or not net.holds(name):
            continue
        beside = [p for p, other in net.outputs.items() if net.holds(p) and other.zone == ends.zone and p != name]
        volts = part.get("out_v", ends.nominal_v) if part.kind == "converter" else ends.nominal_v
        lines = 2 if ends.third else 1
        rated = part.get("power_w", 0.0) / volts if part.get("power_w") else (part.get("current_a") or 0.0) * lines
        for case in design.system.cases:
            each = [wired.leaving(design, case, node) for node in (ends.pos, ends.third) if node]
            outside = part.kind in ("shore", "generator")
            if not rated or name in through[case.id] or (case.kind != "load" and not outside):
                continue
            if any(amperes is None for amperes in each) or any(case.shares.get(p) for p in beside):
                continue
            given = sum(abs(amperes or 0.0) for amperes in each)
            if given > rated * NEAR + 1e-6:
                message = f"{given:.4g} A leave `{name}` in case `{case.id}`, and it gives {rated:.4g} A"
                found.append(defect("CP598", name, message))
    return found


def _turned(design: Design, net: Graph, wired: Joined) -> list[Finding]:
    """Power into each converter, inverter and charger against what it gives over its efficiency. One with nothing
    behind it draws its rating."""
    found: list[Finding] = []
    through = handing(design.system, net)
    asked = {ends.zone for name, ends in net.consumers.items() if design.system.parts[name].kind != "controller"}
    for name, ends in net.consumers.items():
        part, output = design.system.parts[name], net.outputs.get(name)
        if part.kind not in ("converter", "inverter", "charger") or output is None or name in net.inlets:
            continue
        for case in design.system.cases:
            share = case.shares.get(name, 0.0)
            volts_in = _across(design, case, ends.pos, ends.neg)
            drawn = wired.leaving(design, case, ends.pos)
            if not share or volts_in is None or drawn is None or name in through[case.id]:
                continue
            if part.kind == "inverter" and case.kind == "charge":
                continue
            given = _given_w(design, case, wired, output)
            if given is None or (part.kind == "converter" and not net.holds(name) and case.kind != "charge"):
                continue
            rated = part.get("current_a", 0.0) * part.get("out_v", 0.0) if part.kind == "converter" else None
            rated = part.get("power_w", 0.0) if part.kind == "inverter" else rated
            if rated is not None and net.holds(name):
                given = min(given, share * rated) if output.zone in asked else share * rated
            wanted = max(given / part.get("efficiency", 0.9), 0.0)
            power = abs(volts_in * drawn)
            if power < wanted * (1 - 1e-4) - 1e-3:
                message = f"`{name}` gives {given:.5g} W in case `{case.id}` and takes {power:.5g} W"
                found.append(defect("CP598", name, message))
    return found


def _given_w(design: Design, case: Case, wired: Joined, output: Terminals) -> float | None:
    total = 0.0
    for node in (output.pos, output.third):
        amperes = wired.leaving(design, case, node) if node else 0.0
        volts = _across(design, case, node, output.neg) if node else 0.0
        if amperes is None or volts is None:
            return None
        total += abs(amperes * volts)
    return total


def _strings(design: Design) -> list[Finding]:
    """Three strings or more in parallel want a device each (NEC 690.9(A)); different chemistries on one bar."""
    warned, rules, found = told(design, "CP426"), profile(design.profile), []
    for part in design.system.of_kind("battery", "solar"):
        if part.get("parallel", 1) >= rules.figures[f"strings-{part.kind}"].value and part.id not in warned:
            found.append(
                defect("CP598", part.id, f"`{part.id}` has {part.get('parallel')} strings in parallel, untold")
            )
    return found
