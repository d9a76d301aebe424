"""Two hundred random systems are drawn without a fault; they cover what is to be drawn; every named topology is drawn
at least once."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import pytest
from built import design, printed_by_hash_seeds, svgs
from drawn_plates import random_plate
from svgcheck import Rect, places, set_faults

from copperplate.drawing import Sheet, sheets
from copperplate.model import Battery, Bus, Converter, Load, Panel, System

SEEDS = range(1, 201)
Places = dict[tuple[str, str, str], list[Rect]]


@dataclass(frozen=True)
class Judged:
    """The faults of the sheets of a random system, what the system holds, and where things lie."""

    faults: list[str]
    features: frozenset[str]
    places: Places


@cache
def judged(seed: int) -> Judged:
    found = design(random_plate(seed))
    drawn = sheets(found)
    where = placed(drawn)
    return Judged(set_faults([sheet.svg for sheet in drawn], found), frozenset(features(found.system)), where)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_random_system_is_drawn_without_a_fault(seed: int) -> None:
    assert judged(seed).faults == []


LEAST = {
    "24 V in series": 5, "48 V in series": 5, "three and more parallel": 20, "series and parallel": 5,
    "batteries linked one to the next": 10, "several batteries on the bar": 10,
    "no bus": 15, "three and more buses": 30, "a bus of another voltage": 5, "a converter of 24 to 12 V": 5,
    "a panel of another voltage": 5, "no panel": 15, "two panels": 15, "three and more panels": 15,
    "returns by the chassis": 25, "split phase": 20, "single phase": 40, "AWG": 60, "mm2": 90,
    "letter": 30, "a4": 60, "a3": 30, "one circuit": 3, "over a hundred circuits": 2, "over thirty circuits": 4,
    "a ring": 15, "a relay": 20, "a selector": 20, "shore and generator": 10, "shore": 30, "an inverter": 30,
    "a charger": 10, "solar": 50, "an alternator": 40, "a splice": 60, "a tap at a load": 60,
    "two poles in a device": 30, "a long name": 100, "a long title": 50,
    "CYRILLIC": 40, "GREEK": 40, "CJK": 40, "ARABIC": 40, "LATIN": 190,
}  # fmt: skip
"""In how many of the two hundred systems each thing must at least be found."""


def test_the_random_systems_hold_all_that_is_to_be_drawn() -> None:
    found = Counter(feature for seed in SEEDS for feature in judged(seed).features)
    assert {name: found[name] for name, least in LEAST.items() if found[name] < least} == {}


def features(system: System) -> set[str]:
    """What a system holds, read from its parts and wiring and not from how it was made."""
    of = system.of
    settings, batteries, runs = system.settings, of(Battery), system.runs.values()
    buses, panels = of(Bus), [part for part in of(Panel) if not part.ac]
    banks = [(part.series, part.parallel) for part in batteries]
    zones = {node.part: node.nominal_v for node in system.nodes.values()}
    loads = [part for part in of(Load) if not part.ac]
    meeting = Counter(end for run in runs for end in (run.from_end, run.to_end) if run.role == "run")
    ends = Counter(node for c in system.conductors.values() for node in (c.from_node, c.to_node) if c.pole == "pos")
    kinds = {part.kind for part in system.parts.values()}
    devices = system.devices.values()
    titles = [part.title for part in system.parts.values()]
    links = [run for run in runs if {_kind(system, run.from_end), _kind(system, run.to_end)} == {"battery"}]
    held = {
        f"{settings.nominal_v:g} V in series": any(series > 1 for series, _ in banks),
        "three and more parallel": any(parallel >= 3 for _, parallel in banks),
        "series and parallel": any(series > 1 and parallel > 1 for series, parallel in banks),
        "batteries linked one to the next": bool(links),
        "several batteries on the bar": len(batteries) > 1 and not links,
        "no bus": not buses,
        "three and more buses": len(buses) >= 3,
        "a bus of another voltage": any(zones.get(bus.id, 0) != settings.nominal_v for bus in buses if bus.id in zones),
        "a panel of another voltage": any(zones.get(part.id) != settings.nominal_v for part in panels),
        "a converter of 24 to 12 V": any((c.in_v, c.out_v) == (24, 12) for c in of(Converter)),
        "no panel": not panels,
        "two panels": len(panels) == 2,
        "three and more panels": len(panels) >= 3,
        "returns by the chassis": any(
            _kind(system, run.to_end) == "earth" and _kind(system, run.from_end) == "load" for run in runs
        ),
        "split phase": "/" in (settings.ac or ""),
        "single phase": bool(settings.ac) and "/" not in (settings.ac or ""),
        {"awg": "AWG", "mm2": "mm2"}[settings.conductors]: True,
        settings.paper: True,
        "one circuit": len(loads) == 1,
        "over thirty circuits": len(loads) > 30,
        "over a hundred circuits": len(loads) > 100,
        "a ring": any(re.match(r"ring\d", run.id) for run in runs) and max(meeting.values()) > 1,
        "a relay": any(device.kind == "relay" for device in devices),
        "a selector": any(device.kind == "selector" for device in devices),
        "shore": "shore" in kinds,
        "shore and generator": {"shore", "generator"} <= kinds,
        "an inverter": "inverter" in kinds,
        "a charger": "charger" in kinds,
        "solar": "solar" in kinds,
        "an alternator": "alternator" in kinds,
        "a splice": "junction" in kinds,
        "a tap at a load": any(_kind(system, node) == "load" and count > 1 for node, count in ends.items()),
        "two poles in a device": any(device.poles > 1 for device in devices),
        "a long name": any(len(part) > 30 for part in system.parts),
        "a long title": any(len(title) > 60 for title in titles),
    }
    scripts = {unicodedata.name(letter, "?").split(" ")[0] for title in titles for letter in title if letter.isalpha()}
    return {name for name, holds in held.items() if holds} | scripts


def _kind(system: System, end: str) -> str:
    part = system.nodes[end].part if end in system.nodes else end.split(".")[0]
    return system.parts[part].kind if part in system.parts else ""


def placed(drawn: Iterable[Sheet]) -> Places:
    """By sheet, kind and address: where each thing lies. The wiring diagram is fitted to its paper anew for every
    plate."""
    found: Places = {}
    for sheet in drawn:
        if not sheet.slug.startswith("wiring-diagram"):
            found |= {(sheet.slug, kind, address): where for (kind, address), where in places(sheet.svg).items()}
    return found


def moved(seed: int, after: str) -> list[tuple[str, str, str]]:
    """What is drawn of a random system and of an edit of it on the same sheet, and not in the same place."""
    one, two = judged(seed).places, placed(sheets(design(after)))
    return [key for key in one if key in two and one[key] != two[key]]


def shared(slug: str) -> bool:
    """Whether several panels share a sheet: a shorter one lets those below it rise."""
    return slug.removeprefix("dc-circuits-").count("panel") > 1


BRANCH = re.compile(r"(?m)^(panel\S*|plus|house\.pos) .*-- (\d+\.\d) (?:m|ft) -- ([a-z0-9-]+)(?:\.pos)?\n")


@pytest.mark.parametrize("seed", range(3, 93, 3))
def test_lengthening_the_last_circuit_of_a_random_system_moves_nothing(seed: int) -> None:
    text = random_plate(seed)
    *_, run = BRANCH.finditer(text)
    longer = f"{float(run[2]) * 1.5:.1f}"
    assert moved(seed, text[: run.start(2)] + longer + text[run.end(2) :]) == []


def without_the_last_circuit(text: str) -> str | None:
    """A plate without the last circuit of a panel and its load; None where no panel has a plain one at its end. A panel
    that holds one circuit says other things without it."""
    plain = re.compile(r"(?m)^(panel\S*) -//- \d+\.\d (?:m|ft) -- ([a-z0-9-]+)\n")
    for run in reversed(list(plain.finditer(text))):
        ways = len(re.findall(rf"(?m)^{re.escape(run[1])} -", text))
        if ways > 1 and not re.search(rf"(?m)^{re.escape(run[1])} ", text[run.end() :]):
            rest = text[: run.start()] + text[run.end() :]
            return re.sub(rf"(?m)^load {re.escape(run[2])} .*\n", "", rest)
    return None


REMOVED = {seed: rest for seed in range(1, 101) if (rest := without_the_last_circuit(random_plate(seed))) is not None}


@pytest.mark.parametrize("seed", REMOVED)
def test_removing_the_last_circuit_of_a_panel_moves_nothing(seed: int) -> None:
    """And so does adding it. Where panels share sheets a shorter one lets those below it rise."""
    if any(shared(slug) for slug, *_ in judged(seed).places):
        pytest.skip("its panels share a sheet")
    assert moved(seed, REMOVED[seed]) == []


def test_random_systems_are_the_same_bytes_under_any_hash_seed() -> None:
    script = (
        "from built import design, svgs\n"
        "from drawn_plates import random_plate\n"
        "drawn = [svg for seed in range(1, 25) for svg in svgs(design(random_plate(seed)))]\n"
        "print(hashlib.sha256(''.join(drawn).encode()).hexdigest())"
    )
    assert len(printed_by_hash_seeds(script)) == 1


HEAD = 'system "Test"\n  nominal 12 V\n  conductors mm2\n  units metric\n'
BANK = "battery house 12.8 V, 100 Ah, lifepo4, fault-current 3 kA\n"
BARS = "bus plus positive, 300 A\nbus minus negative, 300 A\n"
FED = "house.pos -- 0.3 m -- [main: fuse class-t] -- 0.5 m -- plus\nhouse.neg -- 0.5 m -- minus\n"
TOPOLOGIES = {
    "one load on a battery": HEAD + BANK + "load lamp 2 A\nhouse -//- [fuse] -- 3 m -- lamp\n",
    "a series bank": HEAD.replace("12 V", "48 V")
    + BANK.replace("lifepo4", "lifepo4, series 4, link 0.2 m")
    + BARS
    + FED
    + "load lamp 2 A\nplus -- [f: fuse] -- 3 m -- lamp.pos\nlamp.neg -- 3 m -- minus\n",
    "six parallel batteries in one bank": HEAD
    + BANK.replace("lifepo4", "lifepo4, parallel 6, link 0.2 m")
    + BARS
    + FED
    + "load lamp 2 A\nplus -- [f: fuse] -- 3 m -- lamp.pos\nlamp.neg -- 3 m -- minus\n",
    "a splice of the feeder": HEAD
    + BANK
    + BARS
    + "junction split\nload bilge 4 A\nload lamp 1 A\n"
    + "house.pos -- 0.3 m -- [main: fuse class-t] -- 0.4 m -- split\nsplit -- 1 m -- plus\n"
    + "split -- [bf: fuse 10 A] -- 2 m -- bilge.pos\nbilge.neg -- 2 m -- minus\nhouse.neg -- 0.5 m -- minus\n"
    + "plus -- [lf: fuse 5 A] -- 2 m -- lamp.pos\nlamp.neg -- 2 m -- minus\n",
    "a load mounted on the chassis": HEAD
    + BANK
    + BARS
    + FED
    + "earth chassis conducts, 2 mohm\nminus -- 0.5 m -- chassis\nload horn 4 A\n"
    + "plus -- [hf: fuse] -- 3 m -- horn.pos\nhorn.neg -- chassis\n",
    "a panel fed from a way of another": HEAD
    + BANK
    + BARS
    + FED
    + "panel first blade\npanel second blade\nload lamp 1 A\nload fan 1 A\n"
    + "plus -- [ff: fuse single-bolt] -- 1 m -- first.feed\nfirst.neg -- 1 m -- minus\n"
    + "first.1 -//- 2 m -- second\nfirst.2 -//- 3 m -- fan\nsecond.1 -//- 2 m -- lamp\n",
    "a ring of loads": HEAD
    + BANK
    + BARS
    + FED
    + "panel block blade, return minus\nload a 1 A\nload b 1 A\nload c 1 A\n"
    + "plus -- [ff: fuse single-bolt] -- 1 m -- block\n"
    + "block.1 -//- 2 m -- a -- 1 m -- b -- 1 m -- c\nring: a.pos -- 2 m -- c.pos\nback: a.neg -- 2 m -- c.neg\n",
    "shore and generator to one panel": HEAD.replace("units", "ac 230 V\n  units")
    + BANK
    + "shore dock 16 A, 230 V\ngenerator set 10 A, 230 V\npanel ac-panel ac, 16 A\nload boiler 500 W, ac\n"
    + "dock -///- 3 m -- [inlet: breaker 16 A, poles 2, residual 30 mA] -- 2 m -- ac-panel\n"
    + "from-set: set -///- 3 m -- [changeover: selector 16 A] -- 2 m -- ac-panel\n"
    + "ac-panel -///- [10 A] -- 3 m -- boiler\n",
    "forty circuits on an AC panel": HEAD.replace("units", "ac 230 V\n  units")
    + BANK
    + "shore dock 16 A, 230 V\npanel ac-panel ac, 16 A\ndock -///- 3 m -- [b: breaker 16 A] -- 1 m -- ac-panel\n"
    + "".join(f"load l{n} 50 W, ac\nac-panel -///- [10 A] -- 3 m -- l{n}\n" for n in range(40)),
    "bars of both poles": HEAD
    + BANK
    + "bus bar both, 100 A\nload lamp 2 A\nhouse -//- [fuse] -- 1 m -- bar\nbar -//- [lf: fuse] -- 3 m -- lamp\n",
    "twelve devices in one line": HEAD
    + BANK
    + BARS
    + "load lamp 1 A\nplus -- [lf: fuse] -- 1 m -- lamp.pos\nlamp.neg -- 1 m -- minus\nhouse.neg -- 1 m -- minus\n"
    + "house.pos -- 0.2 m -- [main: fuse class-t] -- "
    + "".join(f"0.5 m -- [s{n}: switch 300 A] -- " for n in range(11))
    + "0.5 m -- plus\n",
    "nothing but a battery": HEAD + BANK,
    "an inverter on the battery and nothing else": HEAD.replace("units", "ac 230 V\n  units")
    + BANK
    + "inverter inv 1000 W, 230 V\nload tool 500 W, ac\nhouse -//- [fuse class-t] -- 1 m -- inv\n"
    + "inv.ac-out -///- 2 m -- tool\n",
}


@pytest.mark.parametrize("name", TOPOLOGIES)
def test_a_topology_is_drawn_without_a_fault(name: str) -> None:
    found = design(TOPOLOGIES[name])
    drawn = svgs(found)
    assert set_faults(drawn, found) == []
