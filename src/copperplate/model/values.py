"""Values that attributes carry once resolved. Plain numbers are SI floats; these are the others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

SizeSystem = Literal["AWG", "SAE", "mm2"]


@dataclass(frozen=True, slots=True)
class Size:
    """A conductor size by its trade name: number "12" or "2/0" with AWG or SAE, "2.5" with mm2."""

    number: str
    system: SizeSystem

    @property
    def label(self) -> str:
        """"12 AWG", "10 SAE", "2.5 mm²": what readers see."""
        return f"{self.number} {'mm²' if self.system == 'mm2' else self.system}"

    @property
    def key(self) -> str:
        """"12 AWG", "10 SAE", "2.5 mm2": what plates and JSON say."""
        return f"{self.number} {self.system}"

    def laid(self, parallel: int) -> str:
        """"2 x 12 AWG" where several conductors of the size lie side by side, its label where there is one."""
        return f"{parallel} x {self.label}" if parallel > 1 else self.label


@dataclass(frozen=True, slots=True)
class Window:
    """A closed range in SI units."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Budget:
    """A voltage-drop budget: a share of the nominal voltage (0.03) or volts; exactly one is not None."""

    share: float | None = None
    volts: float | None = None

    def volts_of(self, nominal_v: float) -> float:
        """The budget in volts on a system of `nominal_v`."""
        return self.volts if self.volts is not None else (self.share or 0.0) * nominal_v


@dataclass(frozen=True, slots=True)
class Terminal:
    """What a conductor lands on: `stud` with its name, `clamp` from `smallest` to `largest`, or a fixed `lead`
    (both then name its size)."""

    form: Literal["stud", "clamp", "lead"]
    stud: str = ""
    smallest: Size | None = None
    largest: Size | None = None


@dataclass(frozen=True, slots=True)
class Advice:
    """The maker's advised conductor, for runs up to `to_length_m` one way (None: any length)."""

    size: Size
    to_length_m: float | None = None
