"""What flows for ever in each conductor, from either end, as a reader is told of it."""

from __future__ import annotations

import math

from copperplate.flow import Direction, Judged, Tap
from copperplate.model.results import Lasting, Limit, Stretch
from copperplate.protection.study import ProtectionStudy

NOTHING = Limit(0.0)


def lasting(study: ProtectionStudy) -> dict[str, tuple[Lasting, Lasting]]:
    """By conductor, from its first end and from its second. Of a return the larger of what consumers bring back and of
    what a short to the body does."""
    overload = study.overload
    exposed = {(judged.direction.line, judged.direction.node): judged for judged in study.judged if judged.ways}
    found: dict[str, tuple[Lasting, Lasting]] = {}
    for number, line in enumerate(overload.pole.lines):
        if line.kind == "conductor":
            first, second = (_of(study, d, exposed.get((number, d.node))) for d in overload.directions(number))
            found[line.id] = first, second
    for conductor, both in study.from_consumers.items():
        bodies = study.from_bodies.get(conductor, (NOTHING, NOTHING))
        one, other = (
            max(limits, key=lambda limit: limit.amperes if limit.amperes < math.inf else -1.0)
            for limits in zip(both, bodies, strict=True)
        )
        found[conductor] = Lasting(one), Lasting(other)
    return found


def _of(study: ProtectionStudy, direction: Direction, judged: Judged | None) -> Lasting:
    limit = study.overload.limit(direction) if direction.into_a > 0.0 else NOTHING
    if judged is None:
        return Lasting(limit)
    passed = judged.passed_a if judged.passed_a < math.inf else None
    return Lasting(limit, tuple(_stretch(study, way) for way in judged.ways), passed, judged.short)


def _stretch(study: ProtectionStudy, way: Tap) -> Stretch:
    rule = study.profile.placement(way.origin, way.sheath) if way.origin != "device" else None
    limit_m, source = (rule.value, rule.source) if rule is not None else (0.0, "")
    return Stretch(way.start, way.metres, limit_m, source, way.devices)
