"""The highest voltage that each galvanic system can have: what the devices in it must be able to interrupt."""

from __future__ import annotations

from copperplate.model import Solar, System, Traced
from copperplate.protection.battery import banks
from copperplate.standards import Profile
from copperplate.standards.solar import cold_string_v

_OUTPUTS = {
    "charger": ("out_v", ""),
    "controller": ("out_v", ""),
    "converter": ("out_v", "out"),
    "alternator": ("voltage_v", ""),
}
"""By kind: the attribute with the output voltage, and the port that it stands at."""


def highest_v(system: System, profile: Profile) -> dict[str, Traced]:
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
        elif isinstance(part, Solar) and part.voc_v:
            volts = cold_string_v(profile, part.voc_v, part.series, part.temp_coefficient_per_k, part.coldest_c)
        elif part.kind in _OUTPUTS and part.get(_OUTPUTS[part.kind][0]):
            value = part.get(_OUTPUTS[part.kind][0])
            volts = Traced(value, "V", f"output voltage of `{part_id}`")
        if volts is not None:
            zones.setdefault(node.zone, []).append(volts)
    return {zone: max(candidates, key=lambda t: t.value) for zone, candidates in zones.items()}


def _is_output(system: System, node_id: str) -> bool:
    node = system.nodes[node_id]
    part = system.parts.get(node.part)
    if part is None:
        return False
    if part.kind in ("battery", "solar"):
        return True
    entry = _OUTPUTS.get(part.kind)
    return entry is not None and node_id == ".".join(filter(None, (part.id, entry[1], "pos")))
