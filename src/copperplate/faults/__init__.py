"""The one study of direct-current faults: how much comes to each device, and what each short opens. Floor 5.

`largest` is what a device must break, a side at a time; `smallest` is the least short that it must clear,
and what returns bear of any.
"""

from copperplate.faults.banks import Bank, banks, fault_a_by_source
from copperplate.faults.heat import Heat
from copperplate.faults.largest import Sides, largest
from copperplate.faults.smallest import FarEnd, smallest
from copperplate.faults.wiring import conductor_ohm

__all__ = ["Bank", "FarEnd", "Heat", "Sides", "banks", "conductor_ohm", "fault_a_by_source", "largest", "smallest"]
