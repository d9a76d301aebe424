"""What is wrong with the rating of a device, before anything is known of sizes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from copperplate.findings import Finding, make
from copperplate.model import Device, System, Traced
from copperplate.model.results import Rating
from copperplate.protection.bounds import Bounds, limit_of, starts
from copperplate.standards import fuses
from copperplate.standards.profile import Profile
from copperplate.units import exceeds, number, suffices

BY_LIMIT = {"max_fuse_a": "CP407", "way_max_a": "CP408", "current_a": "CP730", "outlets": "CP731"}
"""The finding of a rating above a limit, by the key that states it."""


def judge(profile: Profile, device: Device, family: fuses.Family, rating: Rating, bounds: Bounds) -> Iterator[Finding]:
    """Every finding on one rating."""
    needs, rating_a, limit = rating.needs_a.value, rating.rating_a, limit_of(bounds)
    figures: dict[str, Any] = {
        "rating": rating_a,
        "needs": needs,
        "family": family.title,
        "stated": rating.stated,
        "story": story(rating.needs_a),
    }
    if rating_a is None:
        larger = [profile.family(name) for name in ("single-bolt", "class-t") if device.roles.melts]
        made = next(((f, a) for f in larger if (a := fuses.next_rating(f, needs)) is not None), None)
        figures |= {"larger": made[0].title, "word": made[0].id, "next": made[1]} if made else {}
        largest = family.ratings_a[-1]
        yield make("CP406", device.id, device.span, largest=largest, rule=family.standard, **figures)
        return
    on_shelf = dict(profile.shelf).get(rating.family)
    if rating.stated and on_shelf and rating_a not in on_shelf:
        shelf = " ".join(f"{number(a)} A" for a in on_shelf)
        fitting = _between(family, needs, limit.rating_a)
        yield make("CP512", device.id, device.span, shelf=shelf, next=fitting, **figures)
    if rating.stated and not suffices(rating_a, needs):
        next_a = _between(family, needs, limit.rating_a)
        rule = profile.figures["device-factor"].source
        yield make("CP405", device.id, device.span, next=next_a, rule=rule, **figures)
    if limit.part is not None and exceeds(rating_a, limit.rating_a):
        yield make(
            BY_LIMIT[limit.key],
            device.id,
            device.span,
            at={"part": limit.part.spans.get(limit.key, limit.part.span)},
            part=limit.part.id,
            limit=limit.rating_a,
            next=_between(family, needs, limit.rating_a),
            fits=needs <= limit.rating_a,
            rule=profile.figures["outlet-circuit"].cited,
            **figures,
        )
    for part in bounds.parts:
        # The maker advises less than the current needs: documents and physics disagree.
        if part.advised_fuse_a and not suffices(part.advised_fuse_a, needs):
            at = {"part": part.spans.get("advised_fuse_a", part.span)}
            figures_of = {"part": part.id, "advised": part.advised_fuse_a}
            yield make("CP409", device.id, device.span, at=at, **figures_of, **figures)
    if starts(family, rating_a, bounds) is False:
        start = next(s for s in bounds.starts if starts(family, rating_a, replace(bounds, starts=(s,))) is False)
        gate_s = fuses.fast_gate(family, rating_a, start.amperes) or 0.0
        passing = next((r for r in family.ratings_a if r > rating_a and starts(family, r, bounds)), None)
        lasts = profile.figures["surge-time" if start.seconds > profile.figures["start-time"].value else "start-time"]
        yield make(
            "CP410",
            device.id,
            device.span,
            start=start.amperes,
            gate=gate_s,
            after=gate_s or None,
            lasts=lasts.value,
            lasting=lasts.cited,
            next=passing,
            fits=passing is not None and passing <= limit.rating_a,
            limit=limit.rating_a,
            rule=family.standard,
            **figures,
        )
    yield from _held(profile, device, family, rating_a, bounds)


def unproven(system: System, at: Mapping[str, tuple[Rating, fuses.Family, Bounds]]) -> list[Finding]:
    """Devices that no curve tells of at a start behind them: one line for all."""
    rows: list[dict[str, Any]] = []
    for name, (rating, family, bounds) in at.items():
        if rating.rating_a is None or starts(family, rating.rating_a, bounds) is not None:
            continue
        open_to = [s for s in bounds.starts if starts(family, rating.rating_a, replace(bounds, starts=(s,))) is None]
        most = max(open_to, key=lambda start: start.amperes)
        rows.append({"device": name, **most._asdict(), "times": most.amperes / rating.rating_a})
    if not rows:
        return []
    first = system.devices[rows[0]["device"]]
    return [make("CP452", first.id, first.span, devices=[row["device"] for row in rows], starts=rows)]


def _held(profile: Profile, device: Device, family: fuses.Family, rating_a: float, bounds: Bounds) -> Iterator[Finding]:
    """A source that does not limit itself: its device is held to a share of its output."""
    for part in bounds.parts:
        share, output = profile.source_limit(part.kind), part.current_a
        if share is None or not output or part.self_limiting or not exceeds(rating_a, share.value * output):
            continue
        yield make(
            "CP428",
            device.id,
            device.span,
            at={"source": part.span},
            rating=rating_a,
            source=part.id,
            output=output,
            limit=share.value * output,
            percent=share.value * 100,
            next=_between(family, output, share.value * output),
            rule=share.source,
        )


def _between(family: fuses.Family, least_a: float, most_a: float) -> float | None:
    """The smallest rating that is made between two figures."""
    return next((r for r in family.ratings_a if suffices(r, least_a) and not exceeds(r, most_a)), None)


def story(needs: Traced) -> str:
    """Where a figure comes from, in one line."""
    inputs = ", ".join(
        f"{what} {number(value) if isinstance(value, float) else value}{' ' + unit if unit else ''}"
        for what, value, unit in needs.inputs
    )
    reckoned = needs.formula or needs.quantity
    return f"{number(needs.value)} {needs.unit}: {reckoned}" + (f" ({inputs})" if inputs else "")
