"""The highest voltage that each galvanic system can have: what the devices in it must be able to interrupt."""

from __future__ import annotations

from copperplate.faults import banks
from copperplate.model import Node, Solar, System, Traced
from copperplate.standards import Profile
from copperplate.standards.solar import cold_string_v


def highest_v(system: System, profile: Profile) -> dict[str, Traced]:
    """Highest DC voltage by zone, charging and cold sun included, with what makes it."""
    zones: dict[str, list[Traced]] = {}
    outputs = {node.part: node for node in system.nodes.values() if node.pole == "pos" and _is_output(system, node)}
    all_banks = banks(system)
    for part_id, node in outputs.items():
        part = system.parts[part_id]
        volts: Traced | None = None
        if part_id in all_banks:
            volts = Traced(
                all_banks[part_id].highest_v, "V", f"highest voltage of `{part_id}`",
                "the higher of its range and of full charge", (("charging", all_banks[part_id].highest_v, "V"),),
            )  # fmt: skip
        elif isinstance(part, Solar):
            if part.voc_v:
                volts = cold_string_v(profile, part.voc_v, part.series, part.temp_coefficient_per_k, part.coldest_c)
        elif part.gives_v:
            volts = Traced(part.gives_v, "V", f"output voltage of `{part_id}`")
        if volts is not None:
            zones.setdefault(node.zone, []).append(volts)
    return {zone: max(candidates, key=lambda t: t.value) for zone, candidates in zones.items()}


def _is_output(system: System, node: Node) -> bool:
    """Whether a node is the positive terminal of a DC output."""
    part = system.parts.get(node.part)
    if part is None or part.roles.gives_at is None or part.roles.mains:
        return False
    return node.id == ".".join(filter(None, (part.id, part.roles.gives_at, "pos")))
