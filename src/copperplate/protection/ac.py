"""AC: devices on board, bonds of neutral and earth, residual current, earths, AC apart from DC."""

from __future__ import annotations

from copperplate.findings import Finding, Measure, Related, finding
from copperplate.model import PROTECTIVE, Part, Run
from copperplate.model.graph import Graph
from copperplate.model.groups import Groups
from copperplate.protection.situation import Situation
from copperplate.units import exceeds, number

RESIDUAL_A = 0.030
"""Residual operating current that protects people: IEC 60364-4-41 415.1.1 (30 mA)."""
LINES = ("l", "l1", "l2")


def check_ac(situation: Situation, net: Graph) -> list[Finding]:
    """Everything about AC but its sizes and the capacity of its sources."""
    runs = [run for run in situation.system.runs.values() if run.current == "ac" and not run.earth]
    if not runs:
        return []
    consumers = _Consumers(situation, net)
    return [
        *_no_device(situation, consumers),
        *_bonds(situation, net),
        *_transfer(situation, net),
        *_earths(situation, runs),
        *_residual(situation, consumers),
        *_main_pole(situation),
        *_apart(situation, runs),
    ]


class _Consumers:
    """The AC consumers of a system, with what lands on their line terminals."""

    def __init__(self, situation: Situation, net: Graph) -> None:
        parts = situation.system.parts
        ends = {p: e for p, e in net.consumers.items() if e.current == "ac" and parts[p].kind in ("load", "charger")}
        self.parts: list[Part] = [parts[p] for p in ends]
        self.source = {p: parts.get(e.zone) for p, e in ends.items()}
        self.node = {p: e.pos for p, e in ends.items()}
        self.run: dict[str, Run] = {}
        self.devices: dict[str, tuple[str, ...]] = {}
        at = {e.pos: p for p, e in ends.items()}
        for conductor in situation.system.conductors.values():
            part = at.get(conductor.to_node) or at.get(conductor.from_node)
            if part is not None and conductor.id in situation.guards:
                self.run[part] = situation.system.runs[conductor.run]
                self.devices[part] = situation.guards[conductor.id].devices


def _no_device(situation: Situation, consumers: _Consumers) -> list[Finding]:
    """Consumers on a shore supply or generator without a device of the plate before them."""
    found: list[Finding] = []
    for part in consumers.parts:
        source = consumers.source[part.id]
        if source is None or source.kind not in ("shore", "generator") or consumers.devices.get(part.id):
            continue
        run = consumers.run.get(part.id)
        found.append(
            finding(
                "CP701",
                part.id,
                f"no breaker stands between `{source.id}` and `{part.id}`",
                run.span if run else part.span,
                label="no `[breaker]` on the way",
                help=f"`[breaker]` where the circuit leaves, and a main one near `{source.id}`",
                related=(Related(source.span, "its supply"),),
                rule=situation.profile.clauses["protection"],
            )
        )
    return found


def _sharing(situation: Situation, net: Graph, poles: tuple[str, ...]) -> list[list[Part]]:
    """AC sources by the neutral, or the line, that they share. A switch, relay or selector that opens it parts them."""
    system = situation.system
    joined = Groups()
    links = [(c.from_node, c.to_node) for c in system.conductors.values() if c.pole in poles]
    for device in system.devices.values():
        if device.kind in PROTECTIVE:
            links += [(a, b) for a, b in device.legs if system.nodes[a].pole in poles]
    for a, b in links:
        joined.join(a, b)
    groups: dict[str, list[Part]] = {}
    for part in system.of_kind("shore", "generator", "inverter"):
        if part.id in net.outputs and net.outputs[part.id].current == "ac":
            ends = net.outputs[part.id]
            groups.setdefault(joined.root(ends.neg if "n" in poles else ends.pos), []).append(part)
    return list(groups.values())


def _transfer(situation: Situation, net: Graph) -> list[Finding]:
    """Sources whose lines nothing parts: each would feed the other, and the one ashore those who work on it."""
    found: list[Finding] = []
    for sources in _sharing(situation, net, LINES):
        for other in sources[1:]:
            found.append(
                finding(
                    "CP712",
                    other.id,
                    f"nothing parts the lines of `{sources[0].id}` and `{other.id}`: both can supply at once",
                    other.span,
                    label="the second source",
                    notes=("one feeds into the other, out of step, and into whatever lies behind it",),
                    help="a transfer switch: `[selector 30 A, poles 2]`, say, in the run of each",
                    related=(Related(sources[0].span, "the first source"),),
                    measure=Measure(len(sources), 1, "sources"),
                    rule="common practice, no source: sources of alternating current supply one at a time",
                )
            )
    return found


def _bonds(situation: Situation, net: Graph) -> list[Finding]:
    """Exactly one bond for each source while it supplies. An inverter's transfer parts what lies before it from what
    lies behind: its own bond holds while it supplies itself."""
    found: list[Finding] = []
    for sources in _sharing(situation, net, ("n",)):
        bonded = [part for part in sources if part.get("bonds_neutral", False)]
        if len(bonded) > 1:
            found.append(
                finding(
                    "CP704",
                    bonded[1].id,
                    f"`{bonded[0].id}` and `{bonded[1].id}` both join neutral and earth on one system",
                    bonded[1].spans.get("bonds_neutral", bonded[1].span),
                    label="the second bond",
                    notes=("neutral current then flows in the earth, and residual-current devices open or go blind",),
                    help="`[selector 30 A, poles 2]`, say, in the run of each: it parts their neutrals too",
                    related=(Related(bonded[0].spans.get("bonds_neutral", bonded[0].span), "the first bond"),),
                    measure=Measure(len(bonded), 1, "bonds"),
                    rule="common practice: one bond, at the source in use",
                )
            )
        bare = [part for part in sources if not part.get("bonds_neutral", False)]
        # Sources without any bond on one neutral make one finding; beside one that bonds, each makes its own.
        found += [_no_bond(part, bonded) for part in (bare if bonded else bare[:1])]
    return found


def _no_bond(part: Part, bonded: list[Part]) -> Finding:
    """A source that supplies without a bond of its own. That of another source on the same neutral does not count: it
    is there while that one is plugged in or runs."""
    where = "if they are joined where it comes from" if part.kind == "shore" else "if it joins them while it supplies"
    help_ = f"`bonds-neutral` on `{part.id}`, {where}"
    notes: tuple[str, ...] = ("without the bond no fault to earth opens a breaker",)
    related: tuple[Related, ...] = ()
    message = f"nothing joins neutral and earth while `{part.id}` supplies"
    if bonded:
        other = bonded[0]
        message = (
            f"while `{part.id}` supplies, only `{other.id}` joins neutral and earth, and it may be unplugged or off"
        )
        notes = (*notes, "their neutrals are one: two bonds at once would be as wrong (CP704)")
        help_ = f"`bonds-neutral` on `{part.id}` too, and a `[selector 30 A, poles 2]`, say, that parts their neutrals"
        related = (Related(other.spans.get("bonds_neutral", other.span), "the only bond"),)
    return finding(
        "CP703",
        part.id,
        message,
        part.span,
        label="no `bonds-neutral`",
        notes=notes,
        help=help_,
        related=related,
        measure=Measure(0, 1, "bonds"),
        rule="common practice: one bond, at the source in use",
    )


def _earths(situation: Situation, runs: list[Run]) -> list[Finding]:
    found: list[Finding] = []
    for run in runs:
        poles = [situation.system.conductors[c].pole for c in run.conductor_ids]
        if "pe" in poles or not any(pole in LINES for pole in poles):
            continue
        found.append(
            finding(
                "CP705",
                run.id,
                f"`{run.id}` has line and neutral and no protective earth",
                run.span,
                label=f"{run.conductors} conductors",
                help="`-///-`: line, neutral and protective earth in one sheath",
                measure=Measure(run.conductors, 3, "conductors"),
                rule=situation.profile.clauses.get("earth", ""),
            )
        )
    return found


def _residual(situation: Situation, consumers: _Consumers) -> list[Finding]:
    """Consumers without a residual-current device between them and every source that can supply them."""
    fed_bare = {node for node, *_ in situation.circuit.limited}
    number_of = {name: index for index, name in enumerate(situation.circuit.names)}
    region_of = {node: region for region in situation.regions for node in region.nodes}
    seen: dict[str, bool] = {}

    def covered(device: str) -> bool:
        if device not in seen:
            seen[device] = False
            seen[device] = _covers(device)
        return seen[device]

    def _covers(device: str) -> bool:
        one = situation.system.devices[device]
        if one.residual_a is not None and not exceeds(one.residual_a, RESIDUAL_A):
            return True
        above = situation.upstream.get(device, ())
        return bool(above) and not bare(one.legs[0][0]) and all(covered(upper) for upper in above)

    def bare(node: str) -> bool:
        """Whether a supply reaches a node without any device between."""
        region = region_of.get(number_of.get(node, -1))
        return region is not None and any(inside in fed_bare for inside in region.nodes)

    open_to: list[Part] = []
    for part in consumers.parts:
        devices = consumers.devices.get(part.id, ())
        if not devices or bare(consumers.node[part.id]) or not all(covered(device) for device in devices):
            open_to.append(part)
    if not open_to:
        return []
    first = next((part for part in open_to if part.get("outlets")), open_to[0])
    names = ", ".join(f"`{part.id}`" for part in open_to[:6]) + (", ..." if len(open_to) > 6 else "")
    return [
        finding(
            "CP706",
            first.id,
            f"no residual-current device of 30 mA stands before {names}",
            first.span,
            label="socket outlets" if first.get("outlets") else "an AC load",
            help="`residual 30 mA` on the breaker before each, or on the main one of every source",
            measure=Measure(len(open_to), 0, "circuits"),
            rule=situation.profile.clauses.get("residual", "IEC 60364-4-41 411.3.3"),
        )
    ]


def _main_pole(situation: Situation) -> list[Finding]:
    """Where the profile asks it: the first device of a supply opens the neutral too, and is no fuse."""
    clause = situation.profile.clauses.get("double-pole")
    if clause is None:
        return []
    found: list[Finding] = []
    for device in situation.system.devices.values():
        node = situation.system.nodes[device.legs[0][0]]
        if device.kind not in PROTECTIVE or node.pole not in LINES:
            continue
        if device.kind == "fuse":
            found.append(
                finding(
                    "CP702",
                    device.id,
                    f"`{device.id}` is a fuse in an AC system that is not polarised",
                    device.span,
                    label="a fuse opens one conductor only",
                    help="a `[breaker, poles 2]`",
                    rule="ISO 13297:2020 13.1.2",
                )
            )
        opened = {situation.system.nodes[b].pole for _, b in device.legs}
        source = situation.system.parts.get(node.zone)
        main = not situation.upstream.get(device.id) and source is not None and source.kind in ("shore", "generator")
        if device.kind == "breaker" and main and "n" not in opened:
            found.append(
                finding(
                    "CP710",
                    device.id,
                    f"`{device.id}` is the main device of `{node.zone}` and leaves the neutral closed",
                    device.span,
                    label=f"{number(device.poles)} pole",
                    help="`poles 2`",
                    measure=Measure(device.poles, 2, "poles"),
                    rule=clause,
                )
            )
    return found


def _apart(situation: Situation, runs: list[Run]) -> list[Finding]:
    """AC and DC in one route. A run of three or four conductors is a cable in its own sheath."""
    system = situation.system
    rule = situation.profile.clauses.get("ac-apart", "")
    found: list[Finding] = []
    for route in system.routes.values():
        if route.sheath:
            continue
        members = [system.runs[name] for name in route.runs if name in system.runs]
        ac = [run for run in members if run in runs]
        dc = [run for run in members if run.current == "dc" and not run.sheath]
        if not ac or not dc:
            continue
        loose = [run for run in ac if run.conductors < 3 and not run.sheath]
        first, code = (loose[0], "CP707") if loose else (ac[0], "CP711")
        what = "unsheathed AC conductors" if loose else "the AC cable"
        found.append(
            finding(
                code,
                first.id,
                f"{what} of `{first.id}` and the DC conductors of `{dc[0].id}` share `{route.id}` without a sheath",
                first.span,
                label="AC",
                help=f"another route for one of them, or `sheath` on `{dc[0].id}` or `{route.id}`"
                if not loose
                else f"a cable in its own sheath (`-///-`), or another route than `{route.id}`",
                related=(Related(dc[0].span, "DC"), Related(route.span, "the route")),
                rule=rule,
            )
        )
    return found
