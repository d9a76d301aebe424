"""The highest voltage that each galvanic system can have: what the devices in it must be able to interrupt."""

from __future__ import annotations

from copperplate.model import Part, System, Traced
from copperplate.protection.battery import banks
from copperplate.standards import OutsideTable
from copperplate.standards.solar import cold_string_v

_OUTPUTS = {
    "charger": ("out_v", ""),
    "controller": ("out_v", ""),
    "converter": ("out_v", "out"),
    "alternator": ("voltage_v", ""),
}
"""By kind: the attribute with the output voltage, and the port that it stands at."""
COLDEST_C = -40.0
"""Taken for an array whose plate says nothing of its coldest day; the last row of NEC Table 690.7(A)."""


def highest_v(system: System) -> dict[str, Traced]:
    """Highest DC voltage by zone, charging and cold sun included, with what makes it."""
    zones: dict[str, list[Traced]] = {}
    outputs = {node.part: node for node in system.nodes.values() if node.pole == "pos" and _is_output(system, node.id)}
    all_banks = banks(system)
    for part_id, node in outputs.items():
        part = system.parts[part_id]
        volts: Traced | None = None
        if part_id in all_banks:
            volts = Traced(
                all_banks[part_id].highest_v, "V", f"highest voltage of `{part_id}`",
                "the higher of its range and of full charge", (("charging", all_banks[part_id].highest_v, "V"),),
            )  # fmt: skip
        elif part.kind == "solar" and part.get("voc_v"):
            volts = array_v(part)
        elif part.kind in _OUTPUTS and part.get(_OUTPUTS[part.kind][0]):
            value = part.get(_OUTPUTS[part.kind][0])
            volts = Traced(value, "V", f"output voltage of `{part_id}`")
        if volts is not None:
            zones.setdefault(node.zone, []).append(volts)
    return {zone: max(candidates, key=lambda t: t.value) for zone, candidates in zones.items()}


def array_v(part: Part) -> Traced:
    """Open-circuit voltage of an array's strings on the coldest day."""
    coldest = part.get("coldest_c", COLDEST_C)
    series, voc_v = part.get("series", 1), part.get("voc_v")
    try:
        return cold_string_v(voc_v, series, part.get("temp_coefficient_per_k"), coldest)
    except OutsideTable:
        return cold_string_v(voc_v, series, None, COLDEST_C)


def _is_output(system: System, node_id: str) -> bool:
    node = system.nodes[node_id]
    part = system.parts.get(node.part)
    if part is None:
        return False
    if part.kind in ("battery", "solar"):
        return True
    entry = _OUTPUTS.get(part.kind)
    return entry is not None and node_id == ".".join(filter(None, (part.id, entry[1], "pos")))
