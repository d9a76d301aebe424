"""Devices above what the profile allows on a small conductor, whatever its ampacity."""

from __future__ import annotations

from copperplate.findings import Finding, make
from copperplate.protection.study import ProtectionStudy
from copperplate.standards.conductors import area_mm2
from copperplate.units import exceeds


def check_small(study: ProtectionStudy) -> list[Finding]:
    """Devices above what the profile allows on a small conductor, whatever its ampacity."""
    system = study.system
    found: dict[str, Finding] = {}
    for conductor, duty in study.duties.items():
        run = system.runs[system.conductors[conductor].run]
        result = study.runs.get(run.id)
        if result is None or result.size is None or not duty.by or run.id in found:
            continue
        cap = study.profile.device_cap(result.size, run.current)
        if cap is None or run.parallel > 1 or not exceeds(duty.amperes, cap.value):
            continue
        sizes = study.profile.sizes(system.settings.conductors)
        caps = [(size, study.profile.device_cap(size, run.current)) for size in sizes]
        larger = [s for s, c in caps if area_mm2(s) > result.area_mm2 and (c is None or c.value >= duty.amperes)]
        found[run.id] = make(
            "CP433",
            duty.by[0],
            system.devices[duty.by[0]].span,
            at={"run": run.size_span or run.span},
            rating=duty.amperes,
            size=result.size.label,
            run=run.id,
            limit=cap.value,
            larger=larger[0].label if larger else None,
            rule=cap.source,
        )
    return list(found.values())
