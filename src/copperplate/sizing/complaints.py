"""What is wrong with the size of a run, and what its reader should know of it."""

from __future__ import annotations

from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import Run, Size
from copperplate.sizing.laying import Gauge, minimum
from copperplate.sizing.rules import ALONE, Asked, Rules
from copperplate.sizing.settling import judged_v
from copperplate.sizing.ways import Passage
from copperplate.sizing.ways_out import ELECTRIC, WaysOut
from copperplate.standards import OutsideTable, conductors
from copperplate.text import Span
from copperplate.units import beside, number, show


def complaints(out: WaysOut) -> tuple[Finding, ...]:
    """The findings on every run's size, in declaration order, then those on budgets."""
    found: list[Finding] = []
    told: set[tuple[str, ...]] = set()
    advised: set[tuple[str, str]] = set()
    for run_id, r in out.rules.items():
        if r.run.size is not None:
            found += _stated(out, r)
        elif out.settled.gauges[run_id] is None:
            if out.members(run_id) not in told:
                found.append(_none_carries(out, r))
            told.add(out.members(run_id))
        else:
            found += _given_up(out, r)
        for one in _advised(out, r):
            # The two leads of a device are told of once.
            key = (one.code, out.members(run_id)[0])
            if key not in advised:
                found.append(one)
            advised.add(key)
    sized = out.settled.gauges
    for use in out.used.ways:
        if use.passage.alone:
            continue  # Judging tells of it, as built.
        if out.beyond(use) and all(sized.get(run) is not None for run, _ in use.passage.runs if run in out.rules):
            found.append(_overdrawn(out, use.passage, use.judged_v))
    return tuple(found)


def _stated(out: WaysOut, r: Rules) -> list[Finding]:
    """A stated size against the rules that a run judges alone; its protection is judged with its devices."""
    run = r.run
    assert run.size is not None
    g = r.of(run.size)
    fitting = next((o for o in r.gauges if r.allows(o, ALONE)), None)
    try_ = f"{fitting.size.label}, or leave the size out" if fitting else "leave the size out"
    span = run.size_span or run.span
    found: list[Finding] = []
    if g.below_minimum:
        least, rule = minimum(r.profile, r.series, r.laying)
        message = f"`{run.id}` is {g.size.label}, and the least size here is {least.label}"
        measure = Measure(g.area_mm2, rule.value, "mm²")
        found.append(finding("CP304", run.id, message, span, help=try_, measure=measure, rule=rule.source))
    if g.outside and not g.below_minimum:
        found.append(finding("CP306", run.id, f"`{run.id}`: {g.outside}", span, help=try_ if fitting else _cooler(r)))
    elif not g.outside and r.refuses("ampacity", g):
        carried = g.ampacity_a * run.parallel
        good = f"{_named(run, g.size)} is good for {number(carried)} A"
        message = f"`{run.id}` carries {number(r.need.carries_a)} A, and {good}"
        found.append(
            finding(
                "CP303", run.id, message, span,
                label=f"good for {number(carried)} A", notes=_factors(g), help=try_,
                measure=Measure(r.need.carries_a, carried, "A"), rule=g.table.source if g.table else "",
            )
        )  # fmt: skip
    if r.need.returning and r.need.bound_by and r.refuses("protection", g):
        found.append(_behind_too_much(out, r, g, try_))
    if r.refuses("terminal", g):
        found += _unfit(out, r, g)
    if r.refuses("stock", g):
        shelf = ", ".join(size.label for size in sorted(r.shelf, key=conductors.area_mm2))
        message = f"`{run.id}` is {g.size.label}, which is not on the shelf"
        found.append(finding("CP508", run.id, message, span, notes=(f"the shelf has {shelf}",), help=try_))
    return found


def _behind_too_much(out: WaysOut, r: Rules, g: Gauge, try_: str) -> Finding:
    """A return conductor of a stated size that carries less than the devices of its positive let pass."""
    run, by = r.run, r.need.bound_by
    carried = g.ampacity_a * run.parallel
    device = out.system.devices[by[0]]
    lets = f"{_listed(by)} let{'s' if len(by) == 1 else ''} {number(r.need.protect_a)} A pass"
    return finding(
        "CP404", by[0], f"{lets}, and the return `{run.id}` ({_named(run, g.size)}) carries {number(carried)} A",
        run.size_span or run.span, label=f"carries {number(carried)} A",
        notes=("a fault current comes back through it, and no device of its own stands in it",), help=try_,
        related=(Related(device.span, f"{number(r.need.protect_a)} A"),),
        measure=Measure(r.need.protect_a, carried, "A"), rule=r.profile.clauses["device-rating"],
    )  # fmt: skip


def _named(run: Run, size: Size) -> str:
    return f"{run.parallel} x {size.label}" if run.parallel > 1 else size.label


def _factors(g: Gauge) -> tuple[str, ...]:
    """The ampacity told step by step, where a factor lowers it."""
    if g.table is None or not g.factors:
        return ()
    steps = " x ".join(f"{number(f.value)} ({f.quantity})" for f in g.factors)
    return (f"{number(g.table.value)} A in the table x {steps} = {number(g.ampacity_a)} A",)


def _cooler(r: Rules) -> str:
    air = f"air of {number(r.laying.ambient_c)} °C"
    return f"insulation of a higher temperature rating, or a cooler way than {air}"


def _none_carries(out: WaysOut, r: Rules) -> Finding:
    """No size of the ladder serves this run."""
    run = r.run
    largest = r.gauges[-1]
    if all(g.outside for g in r.gauges):
        return finding("CP306", run.id, f"`{run.id}`: {largest.outside}", run.span, help=_cooler(r))
    parallel = out.in_parallel(run.id, list(r.gauges))
    wanted = max(r.need.carries_a, r.need.protect_a)
    carried = largest.ampacity_a * run.parallel
    what = f"must carry {number(r.need.carries_a)} A"
    if r.need.protect_a > r.need.carries_a:
        by = _listed(r.need.bound_by) or "its source"
        what = f"must carry the {number(r.need.protect_a)} A of {by}"
    message = f"`{run.id}` {what}, and the largest size, {_named(run, largest.size)}, carries {number(carried)} A"
    ways = [parallel] if parallel else []
    ways.append("less load on it, or a higher system voltage")
    return finding(
        "CP305", run.id, message, run.span, notes=_factors(largest), help="; or ".join(ways),
        measure=Measure(wanted, carried, "A"), rule=largest.table.source if largest.table else "",
    )  # fmt: skip


def _listed(devices: tuple[str, ...]) -> str:
    """Devices by name, as many as a reader wants to see."""
    shown = [f"`{d}`" for d in devices[:3]]
    more = [f"{len(devices) - 3} more"] if len(devices) > 3 else []
    return " and ".join(shown + more)


def _given_up(out: WaysOut, r: Rules) -> list[Finding]:
    """Rules that had to give way for this run."""
    g = out.settled.gauges[r.run.id]
    assert g is not None
    given_up = out.settled.given_up.get(r.run.id, ())
    found: list[Finding] = []
    if "terminal" in given_up:
        found += _unfit(out, r, g)
    if "stock" in given_up:
        shelf = ", ".join(size.label for size in sorted(r.shelf, key=conductors.area_mm2))
        message = f"`{r.run.id}` needs {g.size.label}, and nothing on the shelf serves"
        notes = (f"the shelf has {shelf}",)
        found.append(finding("CP509", r.run.id, message, r.run.span, notes=notes, help=f"add {g.size.label}"))
    return found


def _unfit(out: WaysOut, r: Rules, g: Gauge) -> list[Finding]:
    """The terminals that do not take the size, one finding each."""
    found: list[Finding] = []
    seen: set[tuple[str, str]] = set()
    for node, words, low, high in r.ends:
        part = out.system.parts[out.system.nodes[node].part]
        if low <= g.area_mm2 <= high or (part.id, words) in seen:
            continue
        seen.add((part.id, words))
        size = "" if g.size.system == "mm2" else f" ({number(g.area_mm2)} mm²)"
        message = f"`{r.run.id}` is {g.size.label}{size}, and `{part.id}` takes it in a {words}"
        if g.area_mm2 < low:
            ways: tuple[str, ...] = _larger(r)
        else:
            ways = out.for_terminal(r.run.id) if r.run.size is None else _smaller(r, g)
        where = part.spans.get("terminal", part.span)
        found.append(
            finding(
                "CP501", r.run.id, message, r.run.size_span or r.run.span,
                label="does not fit", notes=_because(out, r, g), help="; or ".join(ways),
                related=(Related(where, words),), measure=Measure(g.size.label, words, ""),
            )
        )  # fmt: skip
    return found


def _because(out: WaysOut, r: Rules, g: Gauge) -> tuple[str, ...]:
    """Why a size that does not fit is needed: the rules that refuse the largest that would."""
    if r.run.size is not None:
        return ()
    fitting = [o for o in r.gauges if r.allows(o, ("minimum", "terminal", "stock")) and o.area_mm2 < g.area_mm2]
    if not fitting:
        return ()
    refused = r.refused_by(fitting[-1], ELECTRIC)
    if refused:
        return (f"{fitting[-1].size.label}, the largest that fits, is refused by {' and '.join(refused)}",)
    over = [p for p in out.passing(r.run.id) if not out.holds([p], out.swap(r.run.id, fitting[-1]))]
    loads = ", ".join(f"`{p.load}`" for p in over)
    text = f"with {fitting[-1].size.label}, the largest that fits, the drop to {loads} exceeds its budget"
    return (text,) if over else ()


def _larger(r: Rules) -> tuple[str, ...]:
    fitting = next((o for o in r.gauges if r.allows(o, ALONE)), None)
    return (fitting.size.label,) if fitting else ("a terminal that takes it",)


def _smaller(r: Rules, g: Gauge) -> tuple[str, ...]:
    fitting = [o for o in r.gauges if r.allows(o, ALONE) and o.area_mm2 < g.area_mm2]
    return (f"{fitting[-1].size.label}, or leave the size out",) if fitting else ("a terminal that takes it",)


def _advised(out: WaysOut, r: Rules) -> list[Finding]:
    """What makers advise against what is laid."""
    g = out.settled.gauges[r.run.id]
    if g is None:
        return []
    area = g.area_mm2 * r.run.parallel
    found: list[Finding] = []
    for asked in r.asked:
        span, related = _said(r, asked)
        name = f"`{asked.part.id}`"
        laid = _named(r.run, g.size)
        if asked.advice is not None and not asked.applies and asked.advice.to_length_m is not None:
            reach = show(asked.advice.to_length_m, _unit(out))
            length = show(r.run.length_m, _unit(out))
            message = f"the maker of {name} advises {asked.size.label} to {reach}, and `{r.run.id}` is {length}"
            help_ = "ask the maker for the size at this length; the larger of both is taken until then"
            found.append(finding("CP504", r.run.id, message, span, related=related, help=help_))
        elif asked.advice is not None and asked.area_mm2 * 1.0001 < area and (why := _refusal(out, r, asked)):
            message = f"the maker of {name} advises {asked.size.label}, and `{r.run.id}` is {laid}"
            notes = (f"{asked.size.label} is refused here: {why}",)
            help_ = "its documents and the physics disagree: ask the maker before laying it; the larger is taken"
            found.append(finding("CP502", r.run.id, message, span, notes=notes, related=related, help=help_))
        elif asked.advice is not None and r.run.size is not None and area < asked.area_mm2 * 0.9999:
            message = f"the maker of {name} advises {asked.size.label}, and `{r.run.id}` is {laid}"
            found.append(finding("CP503", r.run.id, message, span, related=related, help=_advised_size(r, asked)))
        elif asked.advice is None and r.run.size is not None and area < asked.area_mm2 * 0.9999:
            message = f"a comparable device asks for {asked.size.label}, and `{r.run.id}` at {name} is {laid}"
            read = (f"read from: {asked.said_of}",) if asked.said_of else ()
            help_ = _advised_size(r, asked)
            found.append(finding("CP507", r.run.id, message, span, notes=read, related=related, help=help_))
    return found


def _said(r: Rules, asked: Asked) -> tuple[Span, tuple[Related, ...]]:
    key = "advised" if asked.advice is not None else "comparable"
    where = asked.part.spans.get(key) or asked.part.span
    return r.run.size_span or r.run.span, (Related(where, "says so"),)


def _advised_size(r: Rules, asked: Asked) -> str:
    fitting = [o for o in r.gauges if o.area_mm2 * r.run.parallel >= asked.area_mm2 * 0.9999]
    return f"{fitting[0].size.label}, or leave the size out" if fitting else f"{asked.size.label}"


def _refusal(out: WaysOut, r: Rules, asked: Asked) -> str:
    """Why the advised size is not taken; "" where a stated run could as well have it."""
    try:
        size = out.profile.at_least(asked.area_mm2, r.series)
    except OutsideTable:
        return "it is outside the tables"
    g = r.of(size)
    refused = [rule for rule in r.refused_by(g) if rule not in ("advice", "comparable")]
    if refused:
        words = {
            "minimum": "it is below the least size", "terminal": "it does not fit its terminals",
            "stock": "it is not on the shelf",
            "ampacity": f"it is good for {number(g.ampacity_a * r.run.parallel)} A of {number(r.need.carries_a)} A",
            "protection": f"it is good for {number(g.ampacity_a * r.run.parallel)} A, and its device is "
            f"{number(r.need.protect_a)} A",
        }  # fmt: skip
        return words[refused[0]]
    swap = out.swap(r.run.id, g)
    over = [p for p in out.passing(r.run.id) if not out.holds([p], swap)]
    for p in over:
        lost = 100 * judged_v(out.rules, out.settled.gauges, p, swap) / p.ends.nominal_v
        allowed = 100 * out.settled.budget_v[p.load] / p.ends.nominal_v
        if lost > allowed * (1 + 2e-9):
            return f"with it `{p.load}` loses {number(lost)} % on its way, and {number(allowed)} % is its budget"
        return f"with it `{p.load}` falls below its window as it starts"
    if r.run.size is not None:
        return ""
    return "it would cost more copper elsewhere"


def _unit(out: WaysOut) -> str:
    return "ft" if out.system.settings.units == "us" else "m"


def _overdrawn(out: WaysOut, passage: Passage, lost_v: float) -> Finding:
    """A load whose budget the sizes on its way do not hold."""
    budget = out.settled.budget_v[passage.load]
    part = out.system.parts[passage.load]
    nominal = passage.ends.nominal_v
    lost, allowed = beside(100 * lost_v / nominal, 100 * budget / nominal), number(100 * budget / nominal)
    message = f"`{passage.load}` loses {lost} % on its way, and its budget is {allowed} %"
    shares = [(am * g.judged.value, run) for run, am in passage.runs if (g := out.settled.gauges.get(run)) is not None]
    worst_v, worst = max(shares, default=(0.0, ""))
    run = out.system.runs.get(worst)
    parts = ", ".join(f"`{name}` {number(volts)} V" for volts, name in shares)
    notes = (f"of the {number(budget)} V: {parts}",)
    related = (Related(part.spans.get("drop", part.span), "its budget"),) if "drop" in part.stated else ()
    return finding(
        "CP310", passage.load, message, (run.size_span or run.span) if run else part.span,
        label=f"this run loses {number(worst_v)} V of the {number(budget)} V", notes=notes,
        help="; or ".join(out.for_budget(passage)), related=related,
        measure=Measure(100 * lost_v / nominal, 100 * budget / nominal, "%"), rule=out.profile.clauses.get("drop", ""),
    )  # fmt: skip
