"""What stands behind the lines of runs in an editor: the choices that they leave out, and what arrives."""

from __future__ import annotations

from collections.abc import Iterator

from copperplate.editor.open_plates import Known
from copperplate.model import Run
from copperplate.model.results import Design
from copperplate.text import Span
from copperplate.units import number, show


def hints(known: Known) -> Iterator[tuple[Span, str]]:
    """The span of each run of the plate that was sized, with its size and devices where they were chosen, and the volts
    and the drop at its load. Nothing for a text that is no longer that of the design."""
    design = known.design
    for run in design.system.runs.values() if design is not None else ():
        if design is not None and run.span.source == known.source and (words := _words(design, run)):
            yield run.span, words


def _words(design: Design, run: Run) -> str:
    result = design.runs.get(run.id)
    parts: list[str] = []
    if result is not None and result.size is not None and run.size is None:
        parts.append(result.size.label)
    for name in run.device_ids:
        device = design.devices.get(name)
        if device is not None and device.rating.rating_a and not device.rating.stated:
            parts.append(f"{name} {show(device.rating.rating_a, 'A')}")
    loads = (load for load in design.loads.values() if load.run == run.id)
    parts += [f"{load.load} {load.voltage_v:.1f} V, {number(load.drop_percent, 2)} %" for load in loads]
    return ", ".join(parts)
