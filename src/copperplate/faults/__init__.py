"""The one study of faults: how much comes to each device, and what each short opens. Floor 5.

`largest` is what a device must break, a side at a time; `smallest` is the least short that it must clear,
and what returns bear of any.
"""

from copperplate.faults.alternating import End, Fault, ends_ac, largest_ac
from copperplate.faults.banks import Bank, banks, fault_a_by_source
from copperplate.faults.heat import Heat
from copperplate.faults.largest import Sides, largest
from copperplate.faults.mains import Supply, supplies
from copperplate.faults.smallest import FarEnd, smallest
from copperplate.faults.wiring import conductor_ohm

__all__ = [
    "Bank", "End", "FarEnd", "Fault", "Heat", "Sides", "Supply", "banks", "conductor_ohm", "ends_ac",
    "fault_a_by_source", "largest", "largest_ac", "smallest", "supplies",
]  # fmt: skip
