"""Routes, runs with the reasons of their sizes, and conductors."""

from __future__ import annotations

from dataclasses import asdict
from math import inf
from typing import Any

from copperplate.model.links import Link
from copperplate.model.results import Binding, Candidate, Design, Lasting, RunResult
from copperplate.model.system import Conductor, Route, Run
from copperplate.schema.figures import by_case, traced_json


def loaded_conductors(design: Design, route: Route) -> int:
    """Conductors in a route that carry current in some case, parallel ones counted."""
    loaded = 0
    for conductor in design.system.conductors.values():
        result = design.conductors.get(conductor.id)
        if route.id in (name for name, _ in conductor.routes) and result is not None:
            run = design.runs.get(conductor.run)
            loaded += (run.parallel if run else 1) * any(result.current_a.values())
    return loaded


def route_json(design: Design, route: Route) -> dict[str, Any]:
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


def run_json(run: Run, result: RunResult | None) -> dict[str, Any]:
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
        "design_current": traced_json(r.design_current) if r else None,
        "table_ampacity_a": r.table_ampacity_a if r else None,
        "ampacity_a": r.ampacity.value if r and r.ampacity else None,
        "ampacity": traced_json(r.ampacity) if r and r.ampacity else None,
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


def _both(first: Lasting, second: Lasting) -> dict[str, Any]:
    return {"forward": _lasting(first), "back": _lasting(second)}


def _lasting(lasting: Lasting) -> dict[str, Any]:
    """Null amperes where nothing limits what flows."""
    limit = lasting.limit
    limits = dict((*limit.devices, *limit.sources))
    return {
        "amperes": limit.amperes if limit.amperes < inf else None,
        "cut": list(limits),
        "cut_a": limits,
        "unlimited": list(limit.free),
        "stretches": [asdict(stretch) | {"devices": dict(stretch.devices)} for stretch in lasting.stretches],
        "passed_a": lasting.passed_a,
        "tapped": lasting.tapped,
    }


def conductor_json(design: Design, conductor: Conductor) -> dict[str, Any]:
    result = design.conductors.get(conductor.id)
    return {
        "id": conductor.id,
        "run": conductor.run,
        "pole": conductor.pole,
        "from_node": conductor.from_node,
        "to_node": conductor.to_node,
        "length_m": conductor.length_m,
        "resistance_ohm": by_case(design, result.resistance_ohm) if result else {},
        "temperature_c": result.temperature_c if result else None,
        "current_a": by_case(design, result.current_a) if result else {},
        "lasting_a": _both(*both) if (both := design.lasting.get(conductor.id)) else None,
        "colour": result.colour if result else None,
        "marker": conductor.marker,
        "sheath": conductor.sheath,
        "routes": [{"route": route, "length_m": length} for route, length in conductor.routes],
    }


def link_json(design: Design, link: Link) -> dict[str, Any]:
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
