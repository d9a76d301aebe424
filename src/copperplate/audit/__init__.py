"""The independent re-check: every constraint of the finished design, derived again by other means. Floor 6.

It shares the model, the tables and the findings with the rest of the house, and no computing room: Kirchhoff's laws
are held against the solved network by their residues, faults come from taking one node after the other away, budgets
from sums along paths, protection from walks outward from each source.
"""

from copperplate.audit.charging import check_charging
from copperplate.audit.circuits import check_circuits
from copperplate.audit.demands import check_demands
from copperplate.audit.devices import check_devices
from copperplate.audit.ends import check_ends
from copperplate.audit.energy import check_energy
from copperplate.audit.faults import check_faults
from copperplate.audit.laws import check_laws
from copperplate.audit.lists import check_lists
from copperplate.audit.loops import check_loops
from copperplate.audit.overload import check_overload
from copperplate.audit.passive import check_passive
from copperplate.audit.ratings import check_ratings
from copperplate.audit.sizes import check_sizes
from copperplate.audit.supply import check_supply
from copperplate.audit.voltage import check_voltage
from copperplate.findings import Finding
from copperplate.model.results import Design

__all__ = ["recheck"]


def recheck(design: Design) -> tuple[Finding, ...]:
    """Every disagreement with a finished design; () where none is found. A design that another finding refuses need
    not be given here."""
    return (
        *check_sizes(design),
        *check_passive(design),
        *check_laws(design),
        *check_voltage(design),
        *check_devices(design),
        *check_demands(design),
        *check_overload(design),
        *check_ratings(design),
        *check_circuits(design),
        *check_faults(design),
        *check_ends(design),
        *check_loops(design),
        *check_supply(design),
        *check_charging(design),
        *check_energy(design),
        *check_lists(design),
    )
