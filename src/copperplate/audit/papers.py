"""Lists and figures that must follow from sizes, ratings and terminals: areas, fittings, cuts, materials."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from copperplate.audit.saying import defect
from copperplate.findings import Finding
from copperplate.model import PROTECTIVE, Pole, Run, Size, Terminal
from copperplate.model.results import Design
from copperplate.standards import colour, conductors, profile, terminals

NEAR = 1e-6


def check_papers(design: Design) -> list[Finding]:
    """Each list against what it must hold, counted again."""
    return [*_copper(design), *_fits(design), *_cuts(design), *_bought(design)]


def _say(subject: str, message: str) -> Finding:
    return defect("CP599", subject, message)


def _sized(design: Design) -> Iterator[tuple[Run, Size, int]]:
    for run in design.system.runs.values():
        result = design.runs.get(run.id)
        if result is not None and result.size is not None:
            yield run, result.size, result.parallel


def _copper(design: Design) -> list[Finding]:
    """Area of the size; copper is area times every metre of conductor."""
    found: list[Finding] = []
    for run, size, parallel in _sized(design):
        result, area = design.runs[run.id], conductors.area_mm2(size)
        metres = sum(design.system.conductors[c].length_m for c in run.conductor_ids)
        metres = (run.length_m * run.count if run.role == "link" else metres) * parallel
        if abs(result.area_mm2 - area) > NEAR * area:
            found.append(_say(run.id, f"`{run.id}` is {size.label}, {area:.4g} mm², and {result.area_mm2:.4g} is said"))
        if abs(result.copper_mm2_m - area * metres) > NEAR * (1.0 + area * metres):
            found.append(_say(run.id, f"`{run.id}` takes {area * metres:.5g} mm²m, not {result.copper_mm2_m:.5g}"))
        if run.size is not None and run.size != size:
            found.append(_say(run.id, f"the plate states {run.size.label} for `{run.id}`, built in {size.label}"))
    return found


def _terminal(design: Design, node: str) -> Terminal | None:
    found = design.system.nodes[node]
    part = design.system.parts.get(found.part)
    if part is None:
        return None
    return part.terminals.get(found.port) or part.terminals.get(found.port.rpartition(".")[0]) or part.terminal("")


def _fitting(design: Design, node: str, size: Size) -> str:
    """A stud takes a ring lug of its own hole, a clamp a ferrule, a fixed lead and a joint a splice; of others their
    makers tell."""
    terminal = _terminal(design, node)
    part = design.system.parts.get(design.system.nodes[node].part)
    if terminal is None:
        return "splice" if part is not None and part.kind == "junction" else terminals.lug(size, "")
    if terminal.form == "stud":
        return terminals.lug(size, terminal.stud)
    return terminals.ferrule(size) if terminal.form == "clamp" else "splice"


def _fits(design: Design) -> list[Finding]:
    """Two ends for each conductor, each with the fitting of its terminal."""
    said = {(fit.conductor, fit.node): fit for fit in design.fits}
    found: list[Finding] = []
    for run, size, _ in _sized(design):
        for conductor in (design.system.conductors[c] for c in run.conductor_ids):
            for node in (conductor.from_node, conductor.to_node):
                fit, wanted = said.get((conductor.id, node)), _fitting(design, node, size)
                if fit is None or fit.size != size.label:
                    found.append(_say(conductor.id, f"the end of `{conductor.id}` at `{node}` is not {size.label}"))
                elif fit.fitting != wanted and not (wanted == "splice" and fit.fitting.startswith("splice")):
                    found.append(_say(conductor.id, f"`{node}` wants a {wanted or 'bare end'}, not a {fit.fitting}"))
                elif fit.fits is False:
                    found.append(_say(conductor.id, f"`{conductor.id}` does not fit `{node}`, untold"))
    return found


def _cuts(design: Design) -> list[Finding]:
    """One piece for each conductor, parallel ones and links of a bank by themselves, and for each stretch of an AC
    cable; none shorter than its way and slack; each in the size of its run, and in the colours of its poles."""
    settings, wanted = design.system.settings, Counter[tuple[str, str, float]]()
    for run, size, parallel in _sized(design):
        if run.role == "link":
            for pole, count in _links(design, run).items():
                tint = colour(settings.rules, settings.negative, pole, "dc", settings.ac)
                wanted[(size.key, tint, round(run.length_m, 6))] += count * parallel
        held = [design.system.conductors[c] for c in run.conductor_ids if run.role != "link"]
        poles = Counter(conductor.pole for conductor in held)
        if run.current == "ac" and len(poles) > 1:
            tint = " ".join(colour(settings.rules, settings.negative, p, "ac", settings.ac) for p in poles)
            divided = next(pole for pole, count in poles.items() if count == max(poles.values()))
            held = [conductor for conductor in held if conductor.pole == divided]
        for conductor in held:
            if len(poles) == 1 or run.current == "dc":
                tint = colour(settings.rules, settings.negative, conductor.pole, run.current, settings.ac)
            wanted[(size.key, tint, round(conductor.length_m, 6))] += parallel
    listed = Counter((cut.size, cut.colour, round(cut.length_m, 6)) for cut in design.cuts)
    found = [
        _say("system", f"{count} pieces of {size}, {tint}, {metres:.4g} m are needed, and {listed[key]} are listed")
        for key, count in (wanted | listed).items()
        for size, tint, metres in [key]
        if listed[key] != wanted[key]
    ]
    slack, slack_m = (profile(design.profile).figures[name].value for name in ("slack", "slack-least"))
    for cut in design.cuts:
        if cut.cut_m < cut.length_m + max(slack * cut.length_m, slack_m) - 1e-6:
            found.append(_say(cut.conductor, f"`{cut.conductor}` is cut to {cut.cut_m:.4g} m for {cut.length_m:.4g} m"))
    return found


def _links(design: Design, run: Run) -> dict[Pole, int]:
    """Links of a bank by pole: s - 1 within each of p strings of s batteries, and p - 1 beside them at both ends."""
    bank = design.system.parts[run.from_end]
    series, strings = bank.get("series", 1), bank.get("parallel", 1)
    counted: dict[Pole, int] = {"mid": strings * (series - 1), "pos": strings - 1, "neg": strings - 1}
    return {pole: count for pole, count in counted.items() if count}


def _bought(design: Design) -> list[Finding]:
    """Metres by size and colour from the cuts; a fitting for each end; every device once, a spare of each fuse."""
    metres, pieces = dict[str, float](), dict[str, float]()
    labels = {size.key: size.label for _, size, _ in _sized(design)}
    for cut in design.cuts:
        cores = len(cut.colour.split())
        item = f"{f'{cores}-core ' if cores > 1 else ''}{labels.get(cut.size, cut.size)}, {cut.colour}"
        metres[item] = metres.get(item, 0.0) + cut.cut_m
    for fit in design.fits:
        conductor = design.system.conductors.get(fit.conductor)
        result = design.runs.get(conductor.run if conductor is not None else fit.conductor.rpartition("/")[0])
        if result is not None and fit.fitting:
            pieces[fit.fitting] = pieces.get(fit.fitting, 0.0) + result.parallel
    found: list[Finding] = []
    for material in design.materials:
        if material.group in ("conductor", "cable"):
            wanted = metres.pop(material.item, 0.0)
        elif material.group in ("lug", "ferrule", "splice"):
            wanted = pieces.pop(material.item, 0.0)
        elif material.group == "holder":
            wanted = float(sum(_holds(design, name, material.item) for name in material.where))
        else:
            wanted = float(sum(_is(design, name, material.item) for name in material.where))
            wanted += material.group == "fuse"
            if len(material.where) + (material.group == "fuse") != wanted:
                found.append(_say(material.item, f"not all devices listed as `{material.item}` are that"))
        if abs(material.quantity - wanted) > 1e-6 * (1 + wanted):
            found.append(
                _say(material.item, f"{wanted:.5g} of `{material.item}` are needed, {material.quantity:.5g} listed")
            )
    listed = Counter(name for m in design.materials if m.group in ("fuse", "breaker", "device") for name in m.where)
    rated = [d for d in design.system.devices if d in design.devices and design.devices[d].rating.rating_a is not None]
    held = {name for m in design.materials if m.group == "holder" for name in m.where}
    loose = [d for d in rated if design.system.devices[d].kind == "fuse" and not design.system.devices[d].panel]
    found += [_say(name, f"`{name}` has no holder") for name in loose if name not in held]
    found += [_say(name, f"`{name}` is listed {listed[name]} times") for name in rated if listed[name] != 1]
    found += [_say(item, f"`{item}` is needed and not listed") for item, n in (*metres.items(), *pieces.items()) if n]
    return found


def _is(design: Design, device: str, item: str) -> bool:
    """Whether a line of the materials names this device's kind, family and rating."""
    one, result = design.system.devices.get(device), design.devices.get(device)
    if one is None or result is None or result.rating.rating_a is None:
        return False
    named, amperes = item.split(", ")[:2]
    family = result.rating.family if one.kind in PROTECTIVE else ""
    kinds = {one.kind, f"{one.kind} {family}".strip()} if family != one.kind else {one.kind}
    return named in kinds and amperes == f"{result.rating.rating_a:g} A"


def _holds(design: Design, device: str, item: str) -> bool:
    """Whether a line of the materials is the holder of this fuse."""
    result = design.devices.get(device)
    rating = result.rating if result is not None else None
    return rating is not None and item == f"holder {rating.family}, for {rating.rating_a or 0.0:g} A"
