"""What is bought, cut and fitted, and the sources that a design rests on."""

from __future__ import annotations

from dataclasses import dataclass

from copperplate.units import Measured


@dataclass(frozen=True)
class Material:
    """One line to buy. `group` is "conductor", "cable", "lug", "ferrule", "splice", "fuse", "holder", "breaker" or
    "device"."""

    group: str
    item: str
    quantity: float
    unit: str
    where: tuple[str, ...]


@dataclass(frozen=True)
class Cut(Measured):
    """One conductor to cut, or one AC cable with all its cores: net length and length with slack. `colour` of a cable
    are those of its `cores`, `conductor` its run without the names of cores."""

    conductor: str
    size: str
    colour: str
    length_m: float
    cut_m: float
    from_end: str
    to_end: str
    from_fitting: str
    to_fitting: str
    cores: int = 1


@dataclass(frozen=True)
class Fit:
    """One end of one conductor on its terminal."""

    conductor: str
    node: str
    terminal: str
    """What stands there: "stud M8", "clamp 1.5 to 35 mm²", "way of a panel", "not stated"."""
    accepts: str
    size: str
    fitting: str
    fits: bool | None
    """None where the plate states no terminal."""


@dataclass(frozen=True)
class PublishedSource:
    """A published source that this design used."""

    title: str
    edition: str
    clause: str
    status: str
