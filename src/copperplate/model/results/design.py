"""The finished design."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from copperplate.findings import Finding
from copperplate.model.links import Link
from copperplate.model.results.lists import Cut, Fit, Material, PublishedSource
from copperplate.model.results.network import ElementDraw, Holding
from copperplate.model.results.protection import DeviceResult, Lasting
from copperplate.model.results.sizing import ConductorResult, RunResult
from copperplate.model.results.supply import EnergyResult, LoadResult, SourceResult
from copperplate.model.system import State, System
from copperplate.model.trace import Assumption, Traced


@dataclass(frozen=True)
class Design:
    """The finished design: one value, from which every output is made. Mappings keep declaration order.

    With error findings the results may be partial: a run or device whose result could not be reached is
    absent from its mapping."""

    system: System
    source_name: str
    source_sha256: str
    profile: str
    profile_title: str
    runs: Mapping[str, RunResult]
    conductors: Mapping[str, ConductorResult]
    devices: Mapping[str, DeviceResult]
    loads: Mapping[str, LoadResult]
    sources: Mapping[str, SourceResult]
    node_v: Mapping[str, Mapping[str, float]]
    """By node id, then case id: volts against the negative of the bank (or other source) that the node hangs
    together with."""
    energy: tuple[EnergyResult, ...]
    materials: tuple[Material, ...]
    cuts: tuple[Cut, ...]
    fits: tuple[Fit, ...]
    assumptions: tuple[Assumption, ...]
    sources_used: tuple[PublishedSource, ...]
    constants: Mapping[str, Traced]
    """Every constant of the rule profile used."""
    findings: tuple[Finding, ...]
    not_covered: tuple[str, ...] = ()
    """Sentences for the first page: what this version does not size or prove for this plate."""
    holdings: tuple[Holding, ...] = ()
    draws: tuple[ElementDraw, ...] = ()
    """What each source holds and each element draws: with the resistances all that the voltages follow from."""
    links: tuple[Link, ...] = ()
    """The conductors between the batteries of banks, with their colours. Their size is that of their run."""
    states: tuple[State, ...] = ()
    """What the cases imply, solved beside them: results by case hold these by their ids too."""
    lasting: Mapping[str, tuple[Lasting, Lasting]] = field(default_factory=dict)
    """By conductor id what flows in it for ever from `from_node` on, and from `to_node`; none of protective earths."""
    rechecked: bool = False
    """True where the independent re-check agreed with every constraint."""

    @property
    def errors(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.severity == "error")

    @property
    def complete(self) -> bool:
        """True where no error stands and every run has its size."""
        return not self.errors and all(r.size is not None for r in self.runs.values())
