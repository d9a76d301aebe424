"""Currents for sizing, and the network solved with the sizes as built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from copperplate.model.system import State
from copperplate.model.trace import Traced


@dataclass(frozen=True)
class Demand:
    """Currents for sizing, fixed before any size is known (amperes, never less than in the final solve).

    By conductor id: `design_a` the largest over all cases; `drop_a` the largest over load cases (what voltage
    drop is judged with); `factored_a` the design current with the profile's continuous and source factors,
    which devices (and conductors where the profile says so) must carry. By load id: `load_a`. By device id:
    `device_a` and `device_factored_a`. `why` by conductor, device or load id traces the figure; by `inv.ac-in` what an
    inverter draws to charge, on each line."""

    design_a: Mapping[str, float]
    drop_a: Mapping[str, float]
    factored_a: Mapping[str, float]
    load_a: Mapping[str, float]
    device_a: Mapping[str, float]
    device_factored_a: Mapping[str, float]
    case_a: Mapping[str, Mapping[str, float]]
    """By case id, then conductor id: signed amperes from `from_node` to `to_node`."""
    budget_v: Mapping[str, Traced]
    """By load id (inverters, converters and other consumers too): the voltage-drop budget of its whole path."""
    why: Mapping[str, Traced]
    low_v: Mapping[str, float] = field(default_factory=dict)
    """By zone: the lowest terminal voltage that its source holds in load cases."""
    rated_a: Mapping[str, float] = field(default_factory=dict)
    """By device id: as `device_factored_a` in load cases, with every inverter that is on at its rating, whatever the
    plate draws behind it."""
    full_mains: bool = True
    """Whether a main device whose rating is left out stands for that; False where no size would carry it."""
    bank_ohm: Mapping[str, float] = field(default_factory=dict)
    """By zone: what its banks have within themselves, which a start loses on top of what their terminals hold."""
    steady_a: Mapping[str, float] = field(default_factory=dict)
    """By conductor that carries loads which run but briefly: its design current without them."""
    brief_s: Mapping[str, float] = field(default_factory=dict)
    """By the same conductors: how long they run, seconds."""


@dataclass(frozen=True)
class Holding:
    """Two nodes that a source holds apart. By case id, in those that have it on: `volts` of `to_node` above `from_node`
    behind `inside_ohm`, and the amperes that run from `from_node` to `to_node` inside."""

    part: str
    from_node: str
    to_node: str
    inside_ohm: float
    volts: Mapping[str, float]
    current_a: Mapping[str, float]


@dataclass(frozen=True)
class Conversion:
    """What a converting element draws, in watts: the larger of what its part gives at `outputs` over the efficiency
    and of `idle_w`, shared by so many `lines`. It gives its share of `limit_w` at most."""

    outputs: tuple[str, ...]
    limit_w: float | None
    efficiency: float
    idle_w: float
    lines: int


@dataclass(frozen=True)
class Transfer:
    """What an inlet draws beside, in the `cases` in which it hands its supply through: the watts that its part gives
    at `outputs`, over `volts`."""

    outputs: tuple[str, ...]
    volts: float
    cases: tuple[str, ...]


@dataclass(frozen=True)
class ElementDraw:
    """What a part draws from `from_node` to `to_node`: `share` x (amperes + siemens x V + watts / V) at V volts between
    them, the share of its full current by case id (0.0 where there is none). It pushes where the amperes are negative.
    In place of watts it may have a conversion."""

    part: str
    role: Literal["supply", "inlet", "push"]
    from_node: str
    to_node: str
    amperes: float
    siemens: float
    watts: float
    conversion: Conversion | None
    transfer: Transfer | None
    share: Mapping[str, float]
    current_a: Mapping[str, float]


@dataclass(frozen=True)
class Solution:
    """The network solved with the sizes as built. By id of a case, or of one of the `states` beside them, then node,
    conductor, device, part.

    `node_v` volts against the negative of the bank (or other source) that the node hangs together with;
    `conductor_a`, `device_a` signed amperes in the direction from the source as written; `load_a`, `source_a` amperes
    by part id; `resistance_ohm` of a conductor with its copper as warm as the case makes it, `temperature_c` in the
    case of its largest current. `collapsed` names the loads (by case) whose supply breaks down."""

    node_v: Mapping[str, Mapping[str, float]]
    conductor_a: Mapping[str, Mapping[str, float]]
    device_a: Mapping[str, Mapping[str, float]]
    load_a: Mapping[str, Mapping[str, float]]
    source_a: Mapping[str, Mapping[str, float]]
    temperature_c: Mapping[str, float]
    resistance_ohm: Mapping[str, Mapping[str, float]]
    held_v: Mapping[str, Mapping[str, float]]
    """By case id, then source id: the terminal voltage that the source is held at."""
    collapsed: Mapping[str, tuple[str, ...]]
    holdings: tuple[Holding, ...]
    draws: tuple[ElementDraw, ...]
    states: tuple[State, ...] = ()
    unsettled: frozenset[str] = frozenset()
    """Ids of those whose currents found no rest, as where an inverter feeds its own inlet."""

    def hottest_ohm(self, conductor: str) -> float:
        """Resistance of a conductor in the case that warms it most; 0.0 where it has no size."""
        return max((ohms.get(conductor, 0.0) for ohms in self.resistance_ohm.values()), default=0.0)
