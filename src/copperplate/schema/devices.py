"""Devices with what they must do and can."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from copperplate.model.results import Design, DeviceResult
from copperplate.model.system import Device
from copperplate.schema.figures import by_case, traced_json
from copperplate.text import fields


def device_json(design: Design, device: Device, result: DeviceResult | None) -> dict[str, Any]:
    """Rating and limits as built; for a device without a result those that the plate states."""
    rating = result.rating if result else None
    needs = rating.needs_a if rating else None
    largest, end = (result.prospective_fault, result.end_fault) if result else (None, None)
    earth, sides = (result.earth_fault, result.fault_sides) if result else (None, None)
    return {
        **fields(device, "id", "kind", "title", "run", "panel", "way", "pole", "poles"),
        "legs": [list(leg) for leg in device.legs],
        **fields(device, "resistance_ohm", "residual_a", "backed_by", "curve"),
        "contact": _contact(device),
        **fields(rating or device, "family", "rating_a"),
        "stated": rating.stated if rating else device.rating_a is not None,
        "needs_a": needs and needs.value,
        "needs": traced_json(needs),
        "air": traced_json(rating.air if rating else None),
        **fields(rating or device, "voltage_v"),
        "protects": list(result.protects) if result else [],
        **fields(result, "smallest_ampacity_a", "distance_from_source_m", "placement_limit_m"),
        "placement_rule": result.placement_rule if result else "",
        "prospective_fault_a": largest and largest.value,
        "fault_sides_a": [side.value if side else 0.0 for side in sides] if sides else None,
        "clearing": asdict(result.clearing) if result and result.clearing else None,
        "interrupting_a": result.interrupting_a if result else device.breaks_a,
        "end_fault_a": end and end.value,
        **fields(result, "opens_within_s"),
        "far_end": result.far_end if result else "",
        "prospective_fault": traced_json(largest),
        "end_fault": traced_json(end),
        "earth_fault_a": earth and earth.value,
        "earth_fault": traced_json(earth),
        "earth_end": result.earth_end if result else "",
        "i2t": result.i2t_a2s if result else None,
        "k2s2": result.k2s2_a2s if result else None,
        "current_a": by_case(design, result.current_a) if result else {},
        "source": rating.source if rating else "",
        "status": rating.status if rating else "",
    }


def _contact(device: Device) -> dict[str, Any] | None:
    """What the plate says of a contact; None where it says nothing."""
    said = fields(device, "normally_open", "closed_by", "worked_by", "coil_a", "reversing", "two_way", "pwm")
    return said if any(said.values()) else None
