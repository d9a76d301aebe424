"""Whether returns of a stated size carry what comes back through them for ever, from consumers and from bodies."""

from __future__ import annotations

from collections.abc import Mapping

from copperplate.findings import Finding, make
from copperplate.flow import duties
from copperplate.model import Run
from copperplate.model.results import Limit
from copperplate.protection.allowances import in_law, size_for, together_in_time
from copperplate.protection.disconnection import Opening
from copperplate.protection.study import ProtectionStudy
from copperplate.units import exceeds

LISTED = 3
"""Devices that are named one by one."""


def check_carried_back(study: ProtectionStudy, opened: Mapping[str, Opening]) -> list[Finding]:
    """Returns of an earthed system, of a stated size and in a run of their own, that carry less than the devices of the
    positives let come back."""
    system = study.system
    found: dict[str, Finding] = {}
    for conductor, both in study.from_consumers.items():
        run, carried = system.runs[system.conductors[conductor].run], study.ampacity_a(conductor)
        limit = max(both, key=lambda limit: limit.amperes)
        share = study.profile.figures["device-share"].value
        alone = all(system.conductors[c].pole in ("neg", "pe") for c in run.conductor_ids)
        if run.size is None or run.earth or not alone or carried is None or run.id in found or not limit.devices:
            continue
        if exceeds(limit.amperes, carried * share) and limit.amperes < float("inf"):
            found[run.id] = _carries_less(study, run, conductor, limit, carried, opened)
    return list(found.values())


def _carries_less(
    study: ProtectionStudy,
    run: Run,
    conductor: str,
    limit: Limit,
    carried: float,
    opened: Mapping[str, Opening],
) -> Finding:
    system, devices = study.system, tuple(device for device, _ in limit.devices)
    larger = size_for(study, run, limit.amperes)
    law = in_law(study, conductor, limit.amperes, carried)
    figures = {
        "rating": limit.amperes,
        "carries": carried,
        "size": run.size.label if run.size else "",
        "larger": larger.label if larger else None,
        "rule": study.profile.clauses["device-rating"],
        **law,
    }
    place = run.size_span or run.span
    if together_in_time(study, run, limit, carried, opened):
        own = [(system.devices[d].span, {"own": study.rating_a.get(d) or 0.0}) for d in devices]
        return make("CP438", run.id, place, at={"device": own}, devices=devices, **figures)
    if law.get("within") and len(devices) == 1 and not limit.sources and study.ratings[devices[0]].stated:
        return make("CP437", devices[0], system.devices[devices[0]].span, at={"run": place}, run=run.id, **figures)
    more = [f"{len(devices) - LISTED} more"] if len(devices) > LISTED else []
    return make(
        "CP404",
        devices[0],
        place,
        at={"devices": system.devices[devices[0]].span},
        devices=" and ".join([*(f"`{device}`" for device in devices[:LISTED]), *more]),
        single=len(devices) == 1,
        returns=run.id,
        laid=run.size.laid(run.parallel) if run.size else "",
        fitting=larger.label if larger else None,
        **{name: value for name, value in figures.items() if name not in ("size", "larger", *law)},
    )


def check_bodies(study: ProtectionStudy) -> list[Finding]:
    """Conductors that lead back from a conducting body and carry less than a short to it can drive through them for
    ever."""
    found: dict[str, Finding] = {}
    for conductor, duty in duties(study.from_bodies).items():
        run = study.system.runs[study.system.conductors[conductor].run]
        carried = study.ampacity_a(conductor)
        if carried is None or run.id in found or not exceeds(duty.amperes, carried):
            continue
        size, larger = study.runs[run.id].size, size_for(study, run, duty.amperes)
        found[run.id] = make(
            "CP435",
            run.id,
            run.size_span or run.span,
            at={"device": [(study.system.devices[d].span, {}) for d in duty.by]},
            size=size.label if size else "",
            carries=carried,
            passed=duty.amperes,
            devices=duty.by,
            larger=larger.label if larger else None,
            rule=study.profile.clauses["protection"],
        )
    return list(found.values())
