"""What a source can push into a circuit for ever, and into a short."""

from __future__ import annotations

import math

from copperplate.model import Alternator, Battery, Inverter, Part, Solar
from copperplate.standards.profile import Profile


def unlimited(part: Part) -> bool:
    """Whether a part can feed a fault with more than its own rating: a battery, an alternator that does not limit
    itself."""
    return isinstance(part, Battery) or (isinstance(part, Alternator) and not part.self_limiting)


def rated_a(part: Part, nominal_v: float) -> float:
    """The most that a source with a limit of its own gives at its rating, amperes; 0.0 where the plate does not tell.
    `nominal_v` is that of its output, for sources that state a power."""
    if isinstance(part, Solar):
        return (part.isc_a or part.imp_a or 0.0) * part.parallel
    if part.current_a:
        return part.current_a
    if part.power_w and nominal_v > 0.0 and part.roles.mains:
        return part.power_w / nominal_v
    return 0.0


def lasting_a(part: Part, profile: Profile, nominal_v: float, direct: bool) -> float:
    """The most that a source pushes out for ever, amperes; infinite for a battery. `direct`: at its DC terminals. An
    alternator that does not limit itself gives a multiple of its rating, an array more in the brightest light; both by
    the profile."""
    if isinstance(part, Battery):
        return math.inf
    if isinstance(part, Inverter) and direct:
        return part.charges_a or 0.0
    name = "generator-fault" if unlimited(part) else "source-solar" if isinstance(part, Solar) else ""
    return rated_a(part, nominal_v) * (profile.figures[name].value if name else 1.0)
