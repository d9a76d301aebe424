"""Lasting overload: what may flow for ever, as maximum flows between supplies and consumers. Floor 5.

Pure reckoning: numbers in, numbers out. `lasting` answers for live conductors, `bars` for bars, `returns` for the way
back. `blocks` parts a network at its bridges and cut vertices, `messages` say what the rest of it means to a node, and
`maximum` is the maximum flow that all of it comes down to where there are loops.
"""

from copperplate.flow.coming_back import duties, from_bodies, from_consumers
from copperplate.flow.overload import NO_DUTY, Direction, Duty, Judged, Overload, overload
from copperplate.flow.pole import Pole
from copperplate.flow.taps import Tap

__all__ = [
    "NO_DUTY", "Direction", "Duty", "Judged", "Overload", "Pole", "Tap", "duties", "from_bodies", "from_consumers",
    "overload",
]  # fmt: skip
