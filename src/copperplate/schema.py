"""The public face of a design: `NAME.design.json`, everything that somebody needs to recompute it without us.

Numbers are SI, to twelve significant digits, with the unit in the key; order is the order of declaration; text is LF
and the same on every run. `docs/design.schema.json` says the same as a JSON Schema. Keys keep their meaning once
released: what is new gets a new key.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, is_dataclass
from typing import Any

from copperplate.findings.as_json import finding_json
from copperplate.model.links import Link
from copperplate.model.results import Binding, Candidate, Design, DeviceResult, EnergyResult, RunResult
from copperplate.model.system import Conductor, Device, Part, Route, Run, System
from copperplate.model.trace import Traced
from copperplate.model.values import Size
from copperplate.text import json_text

FORMAT = "copperplate-design/2"


def to_json(design: Design) -> dict[str, Any]:
    """The design as plain values, keys in a stable order. Results that a partial design lacks are null."""
    system = design.system
    return {
        "format": FORMAT,
        "system": _system(design),
        "rules": {name: _traced(constant) for name, constant in design.constants.items()},
        "sources": [
            {
                "id": s.source,
                "kind": s.kind,
                "terminal_v": dict(s.terminal_v),
                "current_a": dict(s.current_a),
                "emf_full_v": s.emf_full_v,
                "resistance_low_ohm": s.resistance_low_ohm,
                "fault_current_a": s.fault_current_a,
                "limits": dict(s.limits),
            }
            for s in design.sources.values()
        ],
        "parts": [_part(part) for part in system.parts.values()],
        "routes": [_route(design, route) for route in system.routes.values()],
        "runs": [_run(run, design.runs.get(run.id)) for run in system.runs.values()],
        "conductors": [_conductor(design, conductor) for conductor in system.conductors.values()],
        "links": [_link(design, link) for link in design.links],
        "nodes": {node: dict(volts) for node, volts in design.node_v.items()},
        "points": [
            {"id": n.id, "part": n.part, "port": n.port, "pole": n.pole, "zone": n.zone, "nominal_v": n.nominal_v}
            for n in system.nodes.values()
        ],
        "devices": [_device(device, design.devices.get(device.id)) for device in system.devices.values()],
        "loads": _loads(design),
        "cases": [
            {
                "id": case.id,
                "title": case.title,
                "kind": case.kind,
                "implied": case.implied,
                "shares": dict(case.shares),
                "open_devices": sorted(case.open_devices),
            }
            for case in system.cases
        ],
        "energy": {balance.bank: _energy(balance) for balance in design.energy},
        "materials": [
            {"group": m.group, "item": m.item, "quantity": m.quantity, "unit": m.unit, "where": list(m.where)}
            for m in design.materials
        ],
        "cuts": [asdict(cut) for cut in design.cuts],
        "terminals": [asdict(fit) for fit in design.fits],
        "assumptions": [{"subject": a.subject, "text": a.text, "source": a.source} for a in design.assumptions],
        "published": [asdict(source) for source in dict.fromkeys(design.sources_used)],
        "not_covered": list(design.not_covered),
        "rechecked": design.rechecked,
        "findings": [finding_json(finding) for finding in design.findings],
    }


def to_text(design: Design) -> str:
    """The text of `NAME.design.json`: one fact a line down to the keys of each item, so that it diffs."""
    return json_text(to_json(design), a_fact_a_line=True)


def _system(design: Design) -> dict[str, Any]:
    s = design.system.settings
    return {
        "title": s.title,
        "nominal_v": s.nominal_v,
        "rules": design.profile,
        "rules_title": design.profile_title,
        "ambient_c": s.ambient_c,
        "insulation_c": s.insulation_c,
        "drop": {"share": s.drop.share, "volts": s.drop.volts},
        "units": s.units,
        "conductors": s.conductors,
        "tinned": s.tinned,
        "negative": s.negative,
        "ac": s.ac,
        "frequency_hz": s.frequency_hz,
        "continuous_factor": s.continuous_factor,
        "client": s.client,
        "site": s.site,
        "designer": s.designer,
        "revision": s.revision,
        "date": s.date,
        "document": s.document,
        "status": s.status,
        "paper": s.paper,
        "source": design.source_name,
        "source_sha256": design.source_sha256,
        "files": list(design.system.files),
        "stock": _stock(design.system),
        "accepts": [{"code": a.code, "subject": a.subject, "reason": a.reason} for a in design.system.accepts],
        "notes": [note.text for note in design.system.notes],
    }


def _stock(system: System) -> dict[str, Any] | None:
    if system.stock is None:
        return None
    return {"sizes": [size.key for size in system.stock.sizes], "at_most": system.stock.at_most}


def _part(part: Part) -> dict[str, Any]:
    return {
        "id": part.id,
        "kind": part.kind,
        "title": part.title,
        "ports": list(part.ports),
        "values": {key: _value(value) for key, value in part.values.items()},
        "stated": [key for key in part.values if key in part.stated],
        "terminals": {port: _value(terminal) for port, terminal in part.terminals.items()},
        "advised": {port: _value(advice) for port, advice in part.advised.items()},
        "comparable": None
        if part.comparable is None
        else {"size": part.comparable[0].key, "source": part.comparable[1]},
    }


def _value(value: Any) -> Any:
    """An attribute's value: sizes by their key, windows, budgets and terminals by their fields."""
    if isinstance(value, Size):
        return value.key
    if is_dataclass(value) and not isinstance(value, type):
        return {name: _value(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, Mapping):
        return {str(key): _value(item) for key, item in value.items()}
    if isinstance(value, (set, frozenset)):
        return sorted(str(item) for item in value)
    if isinstance(value, (list, tuple)):
        return [_value(item) for item in value]
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    return str(value)


def loaded_conductors(design: Design, route: Route) -> int:
    """Conductors in a route that carry current in some case, parallel ones counted."""
    loaded = 0
    for conductor in design.system.conductors.values():
        result = design.conductors.get(conductor.id)
        if route.id in (name for name, _ in conductor.routes) and result is not None:
            run = design.runs.get(conductor.run)
            loaded += (run.parallel if run else 1) * any(result.current_a.values())
    return loaded


def _route(design: Design, route: Route) -> dict[str, Any]:
    return {
        "id": route.id,
        "title": route.title,
        "runs": list(route.runs),
        "loaded_conductors": loaded_conductors(design, route),
        "ambient_c": route.ambient_c,
        "length_m": route.length_m,
        "engine_space": route.engine_space,
        "laid": route.laid,
        "sheath": route.sheath,
    }


def _run(run: Run, result: RunResult | None) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "id": run.id,
        "from": run.from_end,
        "to": run.to_end,
        "current": run.current,
        "conductors": run.conductors,
        "conductor_ids": list(run.conductor_ids),
        "devices": list(run.device_ids),
        "length_m": run.length_m,
        "circuit_length_m": run.circuit_length_m,
        "routes": list(run.routes),
        "engine_space": run.engine_space,
        "sheath": run.sheath,
        "outside_sheath_m": run.outside_m,
        "laid": run.laid,
        "role": run.role,
        "count": run.count,
        "earth": run.earth,
    }
    r = result
    return facts | {
        "size": r.size.key if r and r.size else None,
        "parallel": r.parallel if r else run.parallel,
        "area_mm2": r.area_mm2 if r else None,
        "stated": r.stated if r else run.size is not None,
        "governed_by": r.governed_by if r else None,
        "design_current_a": r.design_current.value if r else None,
        "design_current": _traced(r.design_current) if r else None,
        "table_ampacity_a": r.table_ampacity_a if r else None,
        "ampacity_a": r.ampacity.value if r and r.ampacity else None,
        "ampacity": _traced(r.ampacity) if r and r.ampacity else None,
        "ampacity_factors": [
            {"name": f.quantity, "value": f.value, "source": f.source, "status": f.status} for f in r.factors
        ]
        if r
        else [],
        "insulation_c": r.insulation_c if r else run.insulation_c,
        "ambient_c": r.ambient_c if r else run.ambient_c,
        "drop_v": r.drop_v if r else None,
        "drop_hot_v": r.drop_hot_v if r else None,
        "protected_by": list(r.protected_by) if r else [],
        "spare_length_m": r.spare_length_m if r else None,
        "spare_length_by": _binding(r.spare_length_by) if r else None,
        "spare_current_a": r.spare_current_a if r else None,
        "spare_current_by": _binding(r.spare_current_by) if r else None,
        "next_size": r.next_size.key if r and r.next_size else None,
        "copper_mm2_m": r.copper_mm2_m if r else None,
        "candidates": [_candidate(candidate) for candidate in r.candidates] if r else [],
        "offers": list(r.offers) if r else [],
    }


def _binding(binding: Binding | None) -> dict[str, Any] | None:
    if binding is None:
        return None
    return {"rule": binding.rule, "subject": binding.subject, "limit": binding.limit, "unit": binding.unit}


def _candidate(candidate: Candidate) -> dict[str, Any]:
    return {
        "size": candidate.size.key,
        "parallel": candidate.parallel,
        "chosen": candidate.chosen,
        "rungs": [{"rule": rung.rule, "verdict": rung.verdict, "shown": rung.shown} for rung in candidate.rungs],
    }


def _conductor(design: Design, conductor: Conductor) -> dict[str, Any]:
    result = design.conductors.get(conductor.id)
    return {
        "id": conductor.id,
        "run": conductor.run,
        "pole": conductor.pole,
        "from_node": conductor.from_node,
        "to_node": conductor.to_node,
        "length_m": conductor.length_m,
        "resistance_ohm": dict(result.resistance_ohm) if result else {},
        "temperature_c": result.temperature_c if result else None,
        "current_a": dict(result.current_a) if result else {},
        "colour": result.colour if result else None,
        "marker": conductor.marker,
        "sheath": conductor.sheath,
        "routes": [{"route": route, "length_m": length} for route, length in conductor.routes],
    }


def _link(design: Design, link: Link) -> dict[str, Any]:
    result = design.runs.get(link.run)
    return {
        "id": link.id,
        "run": link.run,
        "bank": link.bank,
        "pole": link.pole,
        "from": link.from_end,
        "to": link.to_end,
        "from_battery": link.from_battery,
        "to_battery": link.to_battery,
        "length_m": link.length_m,
        "size": result.size.key if result and result.size else None,
        "parallel": result.parallel if result else 1,
        "colour": link.colour,
        "marker": link.marker,
    }


def _device(device: Device, result: DeviceResult | None) -> dict[str, Any]:
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
        "needs": _traced(rating.needs_a) if rating else None,
        "voltage_v": rating.voltage_v if rating else device.voltage_v,
        "protects": list(result.protects) if result else [],
        "smallest_ampacity_a": result.smallest_ampacity_a if result else None,
        "distance_from_source_m": result.distance_from_source_m if result else None,
        "placement_limit_m": result.placement_limit_m if result else None,
        "placement_rule": result.placement_rule if result else "",
        "prospective_fault_a": result.prospective_fault.value if result and result.prospective_fault else None,
        "interrupting_a": result.interrupting_a if result else device.breaks_a,
        "end_fault_a": result.end_fault.value if result and result.end_fault else None,
        "opens_within_s": result.opens_within_s if result else None,
        "far_end": result.far_end if result else "",
        "prospective_fault": _traced(result.prospective_fault) if result and result.prospective_fault else None,
        "end_fault": _traced(result.end_fault) if result and result.end_fault else None,
        "earth_fault_a": result.earth_fault.value if result and result.earth_fault else None,
        "earth_fault": _traced(result.earth_fault) if result and result.earth_fault else None,
        "earth_end": result.earth_end if result else "",
        "i2t": result.i2t_a2s if result else None,
        "k2s2": result.k2s2_a2s if result else None,
        "current_a": dict(result.current_a) if result else {},
        "source": rating.source if rating else "",
        "status": rating.status if rating else "",
    }


def _loads(design: Design) -> list[dict[str, Any]]:
    return [
        {
            "id": load.load,
            "current_a": load.current_a,
            "voltage_v": load.voltage_v,
            "highest_v": load.highest_v,
            "nominal_v": load.nominal_v,
            "drop_v": load.drop_v,
            "drop_percent": load.drop_percent,
            "solved_drop_v": load.solved_drop_v,
            "solved_percent": load.solved_percent,
            "budget_v": load.budget_v,
            "budget_percent": load.budget_percent,
            "works_low_v": load.works_low_v,
            "works_high_v": load.works_high_v,
            "worst_case": load.worst_case,
            "source": load.source,
            "run": load.run,
            "start_a": load.start_a,
            "start_v": load.start_v,
            "path": [asdict(step) for step in load.path],
        }
        for load in design.loads.values()
    ]


def _energy(balance: EnergyResult) -> dict[str, Any]:
    return {
        "daily_wh": balance.daily_wh,
        "usable_wh": balance.usable_wh,
        "autonomy_days": balance.autonomy_days,
        "lines": [asdict(line) for line in balance.lines],
        "recharge": [
            {"source": source, "current_a": amperes, "hours": hours} for source, amperes, hours in balance.recharge
        ],
        "cases": [{"case": case, "given_w": watts, "hours": hours} for case, watts, hours in balance.by_case],
    }


def _traced(number: Traced) -> dict[str, Any]:
    return {
        "value": number.value,
        "unit": number.unit,
        "quantity": number.quantity,
        "formula": number.formula,
        "inputs": [{"name": name, "value": value, "unit": unit} for name, value, unit in number.inputs],
        "source": number.source,
        "status": number.status,
    }
