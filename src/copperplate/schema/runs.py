"""Routes, runs with the reasons of their sizes, and conductors."""

from __future__ import annotations

from dataclasses import asdict
from math import inf
from typing import Any

from copperplate.model.links import Link
from copperplate.model.results import Binding, Candidate, Design, Lasting, RunResult
from copperplate.model.system import Conductor, Lead, Route, Run
from copperplate.schema.figures import by_case, traced_json
from copperplate.text import fields


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
        **fields(route, "id", "title", "runs"),
        "loaded_conductors": loaded_conductors(design, route),
        **fields(route, "ambient_c", "length_m", "engine_space", "laid", "sheath"),
    }


def lead_json(lead: Lead) -> dict[str, Any]:
    return {"id": lead.id, "from": lead.from_end, "to": lead.to_end, **fields(lead, "length_m", "routes", "lead")}


def run_json(run: Run, r: RunResult | None) -> dict[str, Any]:
    return {
        "id": run.id,
        "from": run.from_end,
        "to": run.to_end,
        **fields(run, "current", "conductors", "conductor_ids"),
        "devices": list(run.device_ids),
        **fields(run, "length_m", "circuit_length_m", "routes", "engine_space", "sheath"),
        "outside_sheath_m": run.outside_m,
        **fields(run, "laid", "role", "count", "earth", "signal_a", "lead"),
        **fields(r, "brief_s"),
        "size": r.size.key if r and r.size else None,
        **fields(r or run, "parallel"),
        **fields(r, "area_mm2"),
        "stated": r.stated if r else run.size is not None,
        **fields(r, "governed_by"),
        "design_current_a": r.design_current.value if r else None,
        "design_current": traced_json(r.design_current) if r else None,
        **fields(r, "table_ampacity_a"),
        "ampacity_a": r.ampacity.value if r and r.ampacity else None,
        "ampacity": traced_json(r.ampacity) if r else None,
        "ampacity_factors": [
            {"name": f.quantity, **fields(f, "value", "source", "status")} for f in (r.factors if r else ())
        ],
        **fields(r or run, "insulation_c", "ambient_c"),
        **fields(r, "drop_v", "drop_hot_v"),
        "protected_by": list(r.protected_by) if r else [],
        **fields(r, "spare_length_m"),
        "spare_length_by": _binding(r.spare_length_by) if r else None,
        **fields(r, "spare_current_a"),
        "spare_current_by": _binding(r.spare_current_by) if r else None,
        "next_size": r.next_size.key if r and r.next_size else None,
        **fields(r, "copper_mm2_m"),
        "candidates": [_candidate(candidate) for candidate in r.candidates] if r else [],
        "offers": list(r.offers) if r else [],
    }


def _binding(binding: Binding | None) -> dict[str, Any] | None:
    return None if binding is None else fields(binding, "rule", "subject", "limit", "unit")


def _candidate(candidate: Candidate) -> dict[str, Any]:
    return {
        "size": candidate.size.key,
        **fields(candidate, "parallel", "chosen"),
        "rungs": [fields(rung, "rule", "verdict", "shown") for rung in candidate.rungs],
    }


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
        **fields(lasting, "passed_a", "tapped"),
    }


def conductor_json(design: Design, conductor: Conductor) -> dict[str, Any]:
    result, both = design.conductors.get(conductor.id), design.lasting.get(conductor.id)
    return {
        **fields(conductor, "id", "run", "pole", "from_node", "to_node", "length_m"),
        "resistance_ohm": by_case(design, result.resistance_ohm) if result else {},
        **fields(result, "temperature_c"),
        "current_a": by_case(design, result.current_a) if result else {},
        "lasting_a": dict(zip(("forward", "back"), map(_lasting, both), strict=True)) if both else None,
        **fields(result, "colour"),
        **fields(conductor, "marker", "sheath"),
        "routes": [{"route": route, "length_m": length} for route, length in conductor.routes],
    }


def link_json(design: Design, link: Link) -> dict[str, Any]:
    result = design.runs.get(link.run)
    return {
        **fields(link, "id", "run", "bank", "pole"),
        "from": link.from_end,
        "to": link.to_end,
        **fields(link, "from_battery", "to_battery", "length_m"),
        "size": result.size.key if result and result.size else None,
        "parallel": result.parallel if result else 1,
        **fields(link, "colour", "marker"),
    }
