"""Devices with what they must do and can."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from copperplate.model.results import Design, DeviceResult
from copperplate.model.system import Device
from copperplate.schema.figures import by_case, traced_json


def device_json(design: Design, device: Device, result: DeviceResult | None) -> dict[str, Any]:
    """Rating and limits as built; for a device without a result those that the plate states."""
    rating = result.rating if result else None
    return {
        "id": device.id,
        "kind": device.kind,
        "title": device.title,
        "run": device.run,
        "panel": device.panel,
        "way": device.way,
        "pole": device.pole,
        "poles": device.poles,
        "legs": [[start, end] for start, end in device.legs],
        "resistance_ohm": device.resistance_ohm,
        "residual_a": device.residual_a,
        "backed_by": device.backed_by,
        "curve": device.curve,
        "family": rating.family if rating else device.family,
        "rating_a": rating.rating_a if rating else device.rating_a,
        "stated": rating.stated if rating else device.rating_a is not None,
        "needs_a": rating.needs_a.value if rating else None,
        "needs": traced_json(rating.needs_a) if rating else None,
        "voltage_v": rating.voltage_v if rating else device.voltage_v,
        "protects": list(result.protects) if result else [],
        "smallest_ampacity_a": result.smallest_ampacity_a if result else None,
        "distance_from_source_m": result.distance_from_source_m if result else None,
        "placement_limit_m": result.placement_limit_m if result else None,
        "placement_rule": result.placement_rule if result else "",
        "prospective_fault_a": result.prospective_fault.value if result and result.prospective_fault else None,
        "fault_sides_a": list(result.fault_sides_a) if result and result.fault_sides_a else None,
        "clearing": asdict(result.clearing) if result and result.clearing else None,
        "interrupting_a": result.interrupting_a if result else device.breaks_a,
        "end_fault_a": result.end_fault.value if result and result.end_fault else None,
        "opens_within_s": result.opens_within_s if result else None,
        "far_end": result.far_end if result else "",
        "prospective_fault": traced_json(result.prospective_fault) if result and result.prospective_fault else None,
        "end_fault": traced_json(result.end_fault) if result and result.end_fault else None,
        "earth_fault_a": result.earth_fault.value if result and result.earth_fault else None,
        "earth_fault": traced_json(result.earth_fault) if result and result.earth_fault else None,
        "earth_end": result.earth_end if result else "",
        "i2t": result.i2t_a2s if result else None,
        "k2s2": result.k2s2_a2s if result else None,
        "current_a": by_case(design, result.current_a) if result else {},
        "source": rating.source if rating else "",
        "status": rating.status if rating else "",
    }
