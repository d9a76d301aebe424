"""What is wrong with the rating of a device, before anything is known of sizes."""

from __future__ import annotations

from copperplate.findings import Finding, Measure, Related, finding, make
from copperplate.model import Device, Traced
from copperplate.model.results import Rating
from copperplate.protection.bounds import START_S, Bounds, limit_of, starting_a, starts
from copperplate.standards import fuses
from copperplate.standards.profile import Profile
from copperplate.units import exceeds, number, suffices


def judge(profile: Profile, device: Device, family: fuses.Family, rating: Rating, bounds: Bounds) -> list[Finding]:
    """Every finding on one rating."""
    if rating.rating_a is None:
        return [_none_large_enough(profile, device, family, rating)]
    return [
        *_too_small(profile, device, family, rating, rating.rating_a),
        *_too_large(device, family, rating, rating.rating_a, bounds),
        *_advised(device, rating, bounds),
        *_start(device, family, rating.rating_a, bounds),
        *_source(profile, device, family, rating.rating_a, bounds),
    ]


def _none_large_enough(profile: Profile, device: Device, family: fuses.Family, rating: Rating) -> Finding:
    needs = rating.needs_a.value
    larger = [profile.family(name) for name in ("single-bolt", "class-t") if device.kind == "fuse"]
    made = next(((f, a) for f in larger if (a := fuses.next_rating(f, needs)) is not None), None)
    return make(
        "CP406",
        device.id,
        device.span,
        needs=needs,
        largest=family.ratings_a[-1],
        family=family.title,
        story=story(rating.needs_a),
        rule=family.standard,
        larger=made[0].title if made else None,
        word=made[0].id if made else None,
        next=made[1] if made else None,
    )


def _too_small(
    profile: Profile, device: Device, family: fuses.Family, rating: Rating, rating_a: float
) -> list[Finding]:
    needs = rating.needs_a.value
    if not rating.stated or suffices(rating_a, needs):
        return []
    return [
        make(
            "CP405",
            device.id,
            device.span,
            rating=rating_a,
            needs=needs,
            next=fuses.next_rating(family, needs),
            story=story(rating.needs_a),
            rule=profile.device_factor.source,
        )
    ]


def _too_large(device: Device, family: fuses.Family, rating: Rating, rating_a: float, bounds: Bounds) -> list[Finding]:
    limit, part, key = limit_of(bounds)
    if part is None or not exceeds(rating_a, limit):
        return []
    needs = rating.needs_a.value
    made = [r for r in family.ratings_a if suffices(r, needs) and not exceeds(r, limit)]
    if made:
        help = f"{number(made[0])} A"
    elif needs <= limit:
        help = f"a device of {number(needs)} to {number(limit)} A, stated, where one is made"
    else:
        help = f"at most {number(limit)} A after factors on this circuit, or a device of its own at a bar"
    who = f"the maker of `{part.id}` allows" if key == "max_fuse_a" else f"a way of `{part.id}` takes"
    return [
        finding(
            "CP407" if key == "max_fuse_a" else "CP408",
            device.id,
            f"`{device.id}` is {number(rating_a)} A and {who} {number(limit)} A",
            device.span,
            label=f"{number(rating_a)} A is {'stated' if rating.stated else 'the next rating'}",
            notes=(story(rating.needs_a),),
            help=help,
            related=(Related(part.spans.get(key, part.span), f"{number(limit)} A at most"),),
            measure=Measure(rating_a, limit, "A"),
        )
    ]


def _advised(device: Device, rating: Rating, bounds: Bounds) -> list[Finding]:
    """The maker advises less than the current needs: documents and physics disagree."""
    needs = rating.needs_a.value
    return [
        finding(
            "CP409",
            device.id,
            f"the maker of `{part.id}` advises a fuse of {number(part.get('advised_fuse_a'))} A, and "
            f"`{device.id}` must carry {number(needs)} A",
            device.span,
            label=f"needs {number(needs)} A",
            notes=(story(rating.needs_a),),
            help=f"ask the maker of `{part.id}` which is right; the larger is kept until then",
            related=(Related(part.spans.get("advised_fuse_a", part.span), "the maker's advice"),),
            measure=Measure(part.get("advised_fuse_a"), needs, "A"),
        )
        for part in bounds.parts
        if part.get("advised_fuse_a") and not suffices(part.get("advised_fuse_a"), needs)
    ]


def _start(device: Device, family: fuses.Family, rating_a: float, bounds: Bounds) -> list[Finding]:
    """A motor's starting current against the fast gate of the family."""
    start_a = starting_a(bounds)
    if starts(family, rating_a, start_a):
        return []
    gate_s = fuses.fast_gate(family, rating_a, start_a) or 0.0
    when = f"after {number(gate_s)} s" if gate_s else "at once"
    passing = [r for r in family.ratings_a if r > rating_a and starts(family, r, start_a)]
    limit, _, _ = limit_of(bounds)
    if passing and passing[0] <= limit:
        help = f"{number(passing[0])} A lets it start"
    elif passing:
        help = f"a slower family: the {number(passing[0])} A that lets it start is above {number(limit)} A"
    else:
        help = "a slower family, or a breaker made for motors"
    return [
        finding(
            "CP410",
            device.id,
            f"`{device.id}` may open {when} at a start of {number(start_a)} A",
            device.span,
            label=f"{family.title}, {number(rating_a)} A",
            notes=(
                f"a start is taken to last {number(START_S)} s (common practice, no source), and all else behind it "
                "to run",
            ),
            help=help,
            measure=Measure(gate_s, START_S, "s"),
            rule=family.standard,
        )
    ]


def _source(profile: Profile, device: Device, family: fuses.Family, rating_a: float, bounds: Bounds) -> list[Finding]:
    """A source that does not limit itself: its device is held to a share of its output."""
    found: list[Finding] = []
    for part in bounds.parts:
        share, output = profile.source_limit(part.kind), part.get("current_a")
        if share is None or not output or part.get("self_limiting", False):
            continue
        limit = share.value * output
        if not exceeds(rating_a, limit):
            continue
        made = [r for r in family.ratings_a if suffices(r, output) and not exceeds(r, limit)]
        found.append(
            finding(
                "CP428",
                device.id,
                f"`{device.id}` is {number(rating_a)} A; `{part.id}` of {number(output)} A allows {number(limit)} A",
                device.span,
                label=f"{number(rating_a)} A",
                notes=(f"{number(share.value * 100)} % of the rated output, for it does not limit itself",),
                help=f"{number(made[0])} A" if made else "`self-limiting`, where its maker states that it is",
                related=(Related(part.span, f"{number(output)} A"),),
                measure=Measure(rating_a, limit, "A"),
                rule=share.source,
            )
        )
    return found


def story(needs: Traced) -> str:
    """Where a figure comes from, in one line."""
    inputs = ", ".join(
        f"{what} {number(value) if isinstance(value, float) else value}{' ' + unit if unit else ''}"
        for what, value, unit in needs.inputs
    )
    said = needs.formula or needs.quantity
    return f"{number(needs.value)} {needs.unit}: {said}" + (f" ({inputs})" if inputs else "")
