"""What flows in a run: what adds up in its design current, and what may flow in it for ever."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from copperplate.model import Conductor, Run
from copperplate.model.results import Design, Lasting, Limit, Stretch
from copperplate.network import Governing
from copperplate.units import number
from copperplate.units import show as quantity

MOST = 6
"""What adds up is told of so many by name, and of the rest together."""


def governed(state: Governing) -> str:
    """The governing state with what adds up in it, and the next."""
    adds = [f"`{part}` {number(amperes)} A" for part, amperes in state.adds[:MOST]]
    rest = state.adds[MOST:]
    if rest:
        adds.append(f"{len(rest)} more {number(sum(amperes for _, amperes in rest))} A")
    words = f"largest in `{state.state}`: {' + '.join(adds)}"
    return words + (f"; next `{state.next_state}`, {number(state.next_a)} A" if state.next_state else "")


def lasting(design: Design, run: Run) -> Iterator[tuple[str, str]]:
    """What flows for ever in a run, by pole and direction: of its conductors that in which most does."""
    worst: dict[tuple[str, int], tuple[Conductor, Lasting]] = {}
    for conductor in (design.system.conductors[c] for c in run.conductor_ids):
        for end, each in enumerate(design.lasting.get(conductor.id, ())):
            before = worst.get((conductor.pole, end))
            if each.limit.amperes > 0.0 and (before is None or each.limit.amperes > before[1].limit.amperes):
                worst[conductor.pole, end] = conductor, each
    result = design.runs.get(run.id)
    carries = result.ampacity.value if result is not None and result.ampacity is not None else None
    for (pole, end), (conductor, each) in worst.items():
        node = (conductor.from_node, conductor.to_node)[end]
        returning = pole == "neg" and design.system.settings.negative == "earthed"
        amperes = f"{number(each.limit.amperes)} A" if each.limit.amperes < inf else "no limit"
        words = [f"from `{design.system.nodes[node].part or node}`: {_cut(each.limit)}"]
        words += [_stretch(design, stretch) for stretch in each.stretches]
        if each.passed_a is not None:
            words.append(f"what stands ahead lets {number(each.passed_a)} A pass")
        if carries is not None:
            words.append(f"it carries {number(carries)} A")
        yield "return, for ever" if returning else "for ever", f"{amperes}   {'; '.join(words)}"


def _cut(limit: Limit) -> str:
    """The minimum cut: `f2 100 A + mppt 30 A = 130 A`."""
    if limit.free:
        return f"{' and '.join(f'`{name}`' for name in limit.free)} without a device between"
    parts = [f"`{name}` {number(amperes)} A" for name, amperes in (*limit.devices, *limit.sources)]
    return " + ".join(parts) + (f" = {number(limit.amperes)} A" if len(parts) > 1 else "")


def _stretch(design: Design, stretch: Stretch) -> str:
    unit = design.system.settings.length_unit
    ends = " and ".join(f"`{device}` at {quantity(metres, unit)}" for device, metres in stretch.devices)
    to = f" to {ends}" if ends else ""
    allowed = f", {quantity(stretch.limit_m, unit)} are allowed ({stretch.rule})" if stretch.rule else ""
    return f"{quantity(stretch.length_m, unit)} from `{stretch.start}`{to}{allowed}"
