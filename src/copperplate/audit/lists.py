"""Lists and figures that must follow from sizes, ratings and terminals: areas, fittings, cuts, materials."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from copperplate.audit.sizes import terminal_at
from copperplate.findings import Finding, make
from copperplate.model import Battery, Junction, Pole, Run, Size
from copperplate.model.results import Design
from copperplate.model.travellers import travellers
from copperplate.standards import colour, conductors, profile, terminals

NEAR = 1e-6


def check_lists(design: Design) -> Iterator[Finding]:
    """Each list against what it must hold, counted again."""
    yield from _copper(design)
    yield from _fits(design)
    yield from _pieces(design)
    yield from _bought(design)
    yield from _devices(design)


def _sized(design: Design) -> Iterator[tuple[Run, Size, int]]:
    for run in design.system.runs.values():
        result = design.runs.get(run.id)
        if result is not None and result.size is not None:
            yield run, result.size, result.parallel


def _copper(design: Design) -> Iterator[Finding]:
    """Area of the size; copper is area times every metre of conductor."""
    for run, size, parallel in _sized(design):
        result, area = design.runs[run.id], conductors.area_mm2(size)
        metres = sum(design.system.conductors[c].length_m for c in run.conductor_ids)
        copper = area * (run.length_m * run.count if run.role == "link" else metres) * parallel
        if abs(result.area_mm2 - area) > NEAR * area:
            yield make("CP599", run.id, size=size.label, area=area, stated=result.area_mm2)
        if abs(result.copper_mm2_m - copper) > NEAR * (1.0 + copper):
            yield make("CP599", run.id, copper=copper, stated=result.copper_mm2_m)
        if run.size is not None and run.size != size:
            yield make("CP599", run.id, size=size.label, of_plate=run.size.label)


def _fitting(design: Design, node: str, size: Size) -> str:
    """A stud takes a ring lug of its own hole, a clamp a ferrule, a fixed lead and a joint a splice; of others their
    makers tell."""
    terminal = terminal_at(design, node)
    if terminal is None:
        joint = isinstance(design.system.parts.get(design.system.nodes[node].part), Junction)
        return "splice" if joint else terminals.lug(size, "")
    if terminal.form == "stud":
        return terminals.lug(size, terminal.stud)
    return terminals.ferrule(size) if terminal.form == "clamp" else "splice"


def _fits(design: Design) -> Iterator[Finding]:
    """Two ends for each conductor, each with the fitting of its terminal."""
    listed = {(fit.conductor, fit.node): fit for fit in design.fits}
    for run, size, _ in _sized(design):
        for conductor in (design.system.conductors[c] for c in run.conductor_ids):
            for node in (conductor.from_node, conductor.to_node):
                fit, fitting = listed.get((conductor.id, node)), _fitting(design, node, size)
                if fit is None or fit.size != size.label:
                    yield make("CP599", conductor.id, node=node, size=size.label)
                elif fit.fitting != fitting and not (fitting == "splice" and fit.fitting.startswith("splice")):
                    yield make("CP599", conductor.id, node=node, fitting=fitting or "bare end", fitted=fit.fitting)
                elif fit.fits is False:
                    yield make("CP599", conductor.id, node=node)


def _pieces(design: Design) -> Iterator[Finding]:
    """One piece for each conductor, parallel ones and links of a bank by themselves, and for each stretch of an AC
    cable; none shorter than its way and slack; each in the size of its run, and in the colours of its poles."""
    settings, needed = design.system.settings, Counter[tuple[str, str, float]]()
    beside = travellers(design.system)
    for run, size, parallel in _sized(design):
        if run.role == "link":
            for pole, count in _links(design, run).items():
                tint = colour(settings.rules, settings.negative, pole, "dc", settings.ac)
                needed[(size.key, tint, round(run.length_m, 6))] += count * parallel
        cores = [design.system.conductors[c] for c in run.conductor_ids if run.role != "link"]
        poles = Counter(conductor.pole for conductor in cores)
        if run.current == "ac" and len(poles) > 1:
            tint = " ".join(colour(settings.rules, settings.negative, p, "ac", settings.ac) for p in poles)
            divided = next(pole for pole, count in poles.items() if count == max(poles.values()))
            cores = [conductor for conductor in cores if conductor.pole == divided]
        for conductor in cores:
            if len(poles) == 1 or run.current == "dc":
                tint = colour(settings.rules, settings.negative, conductor.pole, run.current, settings.ac)
            needed[(size.key, tint, round(conductor.length_m, 6))] += parallel + (conductor.id in beside)
    listed = Counter((cut.size, cut.colour, round(cut.length_m, 6)) for cut in design.cuts)
    for key in needed | listed:
        if listed[key] != needed[key]:
            key_size, tint, metres = key
            yield make("CP599", "system", pieces=needed[key], listed=listed[key], size=key_size, tint=tint, long=metres)
    slack, slack_m = (profile(design.profile).figures[name].value for name in ("slack", "slack-least"))
    for cut in design.cuts:
        if cut.cut_m < cut.length_m + max(slack * cut.length_m, slack_m) - NEAR:
            yield make("CP599", cut.conductor, cut=cut.cut_m, length=cut.length_m)


def _links(design: Design, run: Run) -> dict[Pole, int]:
    """Links of a bank by pole: s - 1 within each of p strings of s batteries, and p - 1 beside them at both ends."""
    bank = design.system.parts[run.from_end]
    assert isinstance(bank, Battery), "links lie inside a bank"
    counts: dict[Pole, int] = {
        "mid": bank.parallel * (bank.series - 1),
        "pos": bank.parallel - 1,
        "neg": bank.parallel - 1,
    }
    return {pole: count for pole, count in counts.items() if count}


def _bought(design: Design) -> Iterator[Finding]:
    """Metres by size and colour from the cuts; a fitting for each end; a spare of each fuse; each made-up lead."""
    metres, fittings = _metres(design), _fittings(design)
    leads = {lead.marker: lead.lead for lead in design.system.leads.values()}
    for material in design.materials:
        if material.group in ("conductor", "cable"):
            needed = metres.pop(material.item, 0.0)
        elif material.group in ("lug", "ferrule", "splice"):
            needed = fittings.pop(material.item, 0.0)
        elif material.group == "lead":
            needed = float(sum(leads.pop(marker, "") in material.item for marker in material.where))
        elif material.group == "holder":
            needed = float(sum(_holds(design, device, material.item) for device in material.where))
        else:
            spare = material.group == "fuse"
            needed = float(sum(_is(design, device, material.item) for device in material.where) + spare)
            if len(material.where) + spare != needed:
                yield make("CP599", material.item, others=True)
            contacts = [design.system.devices[name].of for name in material.where if name in design.system.devices]
            needed -= sum(n - 1 for of, n in Counter(contacts).items() if of)
        if abs(material.quantity - needed) > NEAR * (1 + needed):
            yield make("CP599", material.item, needed=needed, listed=material.quantity)
    for item, quantity in (*metres.items(), *fittings.items(), *((marker, 1.0) for marker in leads)):
        if quantity:
            yield make("CP599", item, missing=True)


def _metres(design: Design) -> dict[str, float]:
    """Metres to buy by item, as the cuts add up."""
    labels = {size.key: size.label for _, size, _ in _sized(design)}
    metres: dict[str, float] = {}
    for cut in design.cuts:
        cores = len(cut.colour.split())
        item = f"{f'{cores}-core ' if cores > 1 else ''}{labels.get(cut.size, cut.size)}, {cut.colour}"
        metres[item] = metres.get(item, 0.0) + cut.cut_m
    return metres


def _fittings(design: Design) -> dict[str, float]:
    """Fittings by item, those of parallel conductors counted."""
    pieces: dict[str, float] = {}
    beside = travellers(design.system)
    for fit in design.fits:
        conductor = design.system.conductors.get(fit.conductor)
        result = design.runs.get(conductor.run if conductor is not None else fit.conductor.rpartition("/")[0])
        if result is not None and fit.fitting:
            pieces[fit.fitting] = pieces.get(fit.fitting, 0.0) + result.parallel + (fit.conductor in beside)
    return pieces


def _devices(design: Design) -> Iterator[Finding]:
    """Every device listed once, every fuse in a holder but those of a panel."""
    listed = Counter(name for m in design.materials if m.group in ("fuse", "breaker", "device") for name in m.where)
    holders = {name for m in design.materials if m.group == "holder" for name in m.where}
    for name, device in design.system.devices.items():
        if name not in design.devices or design.devices[name].rating.rating_a is None:
            continue
        if device.roles.melts and not device.panel and name not in holders:
            yield make("CP599", name, loose=True)
        if listed[name] != 1:
            yield make("CP599", name, times=listed[name])


def _is(design: Design, name: str, item: str) -> bool:
    """Whether a line of the materials names this device's kind, family and rating."""
    device, result = design.system.devices.get(name), design.devices.get(name)
    if device is None or result is None or result.rating.rating_a is None:
        return False
    named, amperes = item.split(", ")[:2]
    family = result.rating.family if device.roles.protects else ""
    whole = design.system.parts.get(device.of)
    kind = whole.kind if whole is not None else device.kind
    kinds = {kind, f"{kind} {family}".strip()} if family != kind else {kind}
    return named in kinds and amperes == f"{result.rating.rating_a:g} A"


def _holds(design: Design, device: str, item: str) -> bool:
    """Whether a line of the materials is the holder of this fuse."""
    result = design.devices.get(device)
    rating = result.rating if result is not None else None
    return rating is not None and item == f"holder {rating.family}, for {rating.rating_a or 0.0:g} A"
