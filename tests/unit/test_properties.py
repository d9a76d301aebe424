"""What holds for every plate: laws of nature, budgets, and how totals answer to changes.

The plates are random ones of `random_plates`, by seed; everything is recomputed from the finished design.
"""

from __future__ import annotations

import random
import re
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.append(str(Path(__file__).parents[1]))
from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model import parts
from copperplate.model.results import Design
from copperplate.text import Source
from random_plates import Kind, Load, Panel, Plate, Route, plate

SEEDS = range(40)
KINDS: tuple[Kind, ...] = ("radial", "looped")
STANDING = ("bus", "panel", "junction", "earth")


def compiled(text: str) -> tuple[Design | None, tuple[Finding, ...]]:
    return compile_plate(Source("random.plate", text), lambda name: None)


@cache
def drawn(kind: Kind, seed: int) -> tuple[Plate, Design]:
    """The plate of a seed and its design; its like is tried until one has no error."""
    for n in range(20):
        found = plate(1000 * n + seed, kind)
        design, _ = compiled(found.text())
        if design is not None and not design.errors:
            return found, design
    raise AssertionError(f"no sound plate for seed {seed}")


def copper(design: Design) -> float:
    return sum(run.copper_mm2_m for run in design.runs.values())


# --- laws of nature -----------------------------------------------------------------------------------------


def islands(design: Design) -> dict[str, str]:
    """By node, the first of the nodes that devices and ties make one point of with it."""
    above: dict[str, str] = {}

    def top(node: str) -> str:
        while node in above:
            node = above[node]
        return node

    links = [leg for device in design.system.devices.values() for leg in device.legs]
    for a, b in (*links, *design.system.ties):
        first, second = top(a), top(b)
        if first != second:
            above[second] = first
    return {node: top(node) for node in design.system.nodes}


def leaving(design: Design, case: str) -> dict[str, float]:
    """By island, the amperes that conductors carry away from it."""
    island = islands(design)
    found = dict.fromkeys(island.values(), 0.0)
    for conductor in design.system.conductors.values():
        if conductor.id in design.conductors:
            amperes = design.conductors[conductor.id].current_a[case]
            found[island[conductor.from_node]] += amperes
            found[island[conductor.to_node]] -= amperes
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_what_flows_into_a_point_flows_out(kind: Kind) -> None:
    """Kirchhoff's first law at every bar, splice and device, and through every two-pole part."""
    for seed in SEEDS:
        _, design = drawn(kind, seed)
        island = islands(design)
        own: dict[str, set[str]] = {}
        for node in design.system.nodes.values():
            part = design.system.parts.get(node.part)
            if part is not None and part.kind not in STANDING:
                own.setdefault(island[node.id], set()).add(part.id)
        for case in design.system.cases:
            amperes = leaving(design, case.id)
            scale = max((abs(a) for a in amperes.values()), default=0.0) + 1.0
            for point, a in amperes.items():
                if point not in own:
                    assert abs(a) < 1e-6 * scale, (seed, case.id, point, a)
            assert abs(sum(amperes.values())) < 1e-6 * scale


@pytest.mark.parametrize("kind", KINDS)
def test_conductors_lose_what_their_resistance_says(kind: Kind) -> None:
    for seed in SEEDS:
        _, design = drawn(kind, seed)
        for conductor in design.system.conductors.values():
            result = design.conductors.get(conductor.id)
            for case, amperes in (result.current_a if result else {}).items():
                assert result is not None
                lost = design.node_v[conductor.from_node][case] - design.node_v[conductor.to_node][case]
                wanted = amperes * result.resistance_ohm[case]
                assert lost == pytest.approx(wanted, rel=1e-6, abs=1e-9), (seed, conductor.id, case)


@pytest.mark.parametrize("kind", KINDS)
def test_loads_take_what_they_are(kind: Kind) -> None:
    """Constant current, constant power and resistance at the voltage between the terminals, in every load case."""
    for seed in SEEDS:
        _, design = drawn(kind, seed)
        at = {(n.part, n.pole): n.id for n in design.system.nodes.values()}
        island = islands(design)
        for case in design.system.cases:
            amperes = leaving(design, case.id)
            for load in design.system.of(parts.Load):
                pos, neg = at.get((load.id, "pos")), at.get((load.id, "neg"))
                tapped = pos is not None and sum(c.from_node == pos for c in design.system.conductors.values())
                if pos is None or neg is None or tapped or island[pos] != pos:
                    continue
                share = case.shares.get(load.id, 0.0)
                volts = design.node_v[pos][case.id] - design.node_v[neg][case.id]
                if load.power_w:
                    wanted = load.power_w * load.count * share / volts
                elif load.resistance_ohm:
                    wanted = volts / load.resistance_ohm * load.count * share
                else:
                    wanted = load.current_a * load.count * share
                assert -amperes[pos] == pytest.approx(wanted, rel=1e-5, abs=1e-6), (seed, case.id, load.id)


# --- rules --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_the_re_check_never_disagrees(kind: Kind) -> None:
    """Whatever a plate says, right or wrong, the two ways of computing it agree."""
    for seed in range(300, 340):
        _, findings = compiled(plate(seed, kind).text())
        told = [f"{f.code} {f.message}" for f in findings if f.code.startswith("CP59")]
        assert not told, (seed, told)


@pytest.mark.parametrize("kind", KINDS)
def test_every_budget_window_and_rating_holds_without_an_error(kind: Kind) -> None:
    for seed in SEEDS:
        _, design = drawn(kind, seed)
        for load in design.loads.values():
            assert load.drop_v <= load.budget_v * (1 + 1e-6), (seed, load.load)
            assert load.works_low_v is None or load.voltage_v >= load.works_low_v - 1e-9, (seed, load.load)
            assert load.works_high_v is None or (load.highest_v or 0.0) <= load.works_high_v + 1e-9, (seed, load.load)
        for run in design.runs.values():
            most = max(
                (abs(a) for c in design.system.runs[run.run].conductor_ids if c in design.conductors
                 for a in design.conductors[c].current_a.values()), default=0.0,
            )  # fmt: skip
            if run.ampacity is not None:
                assert most <= run.ampacity.value * (1 + 1e-6), (seed, run.run)
                assert most <= run.design_current.value * (1 + 1e-3) + 1e-6, (seed, run.run)
        for device in design.devices.values():
            rating = device.rating.rating_a
            if (
                rating is not None
                and device.smallest_ampacity_a is not None
                and design.system.devices[device.device].kind in ("fuse", "breaker")
            ):
                assert rating <= device.smallest_ampacity_a * (1 + 1e-6), (seed, device.device)


def harder(found: Plate, rng: random.Random) -> Iterator[tuple[str, Plate]]:
    """The plate with one thing made harder: a longer run, more load, more heat, more company."""
    load = rng.choice(found.loads)
    yield "longer", found.with_load(load.name, metres=round(load.metres * rng.choice((1.02, 1.3, 2.0)), 3))
    chosen = rng.choice(found.panels)
    yield "feeder", replace(found, panels=tuple(_longer(p) if p is chosen else p for p in found.panels))
    times = rng.choice((1.05, 1.5, 3.0))
    more = load.amount / times if load.unit == "ohm" else load.amount * times
    yield "bigger", found.with_load(load.name, amount=round(more, 6))
    yield "hotter", replace(found, ambient_c=found.ambient_c + rng.choice((5, 15)))
    if found.routes:
        place = rng.choice(found.routes)
        hot = replace(place, ambient_c=(place.ambient_c or found.ambient_c) + 10)
        yield "hotter place", replace(found, routes=tuple(hot if r is place else r for r in found.routes))
        if _may_move(load, place):
            moved = {"routes": (*load.routes, place.name), "metres": round(load.metres - place.metres, 3)}
            yield "bundled", found.with_load(load.name, **moved)


def _longer(panel: Panel) -> Panel:
    return replace(panel, metres=round(panel.metres * 1.5, 3))


def _may_move(load: Load, place: Route) -> bool:
    """Whether a run can go through a place without being longer."""
    own_run = load.way is not None or load.at == "plus"
    return own_run and place.name not in load.routes and load.metres > place.metres + 0.1


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_harder_takes_less_copper(kind: Kind) -> None:
    for seed in SEEDS[::2]:
        found, design = drawn(kind, seed)
        for what, changed in harder(found, random.Random(seed)):
            after, _ = compiled(changed.text())
            assert after is not None
            # A main device that no size protects for a fully loaded inverter is smaller, and that is warned of (CP446).
            if not after.errors and _part_loaded(after) <= _part_loaded(design):
                assert copper(after) >= copper(design) * (1 - 1e-9), (seed, what)


def _part_loaded(design: Design) -> set[str]:
    return {f.subject for f in design.findings if f.code == "CP446"}


def one_circuit(metres: float, watts: float, ambient_c: float, beside: int) -> str:
    """A battery and one load on one pair, its route shared with `beside` other pairs."""
    others = "".join(
        f"load other-{n} 1 A\nplus -- [other-{n}-fuse: fuse class-t] -- via trunk, 0.5 m -- other-{n}.pos\n"
        f"other-{n}.neg -- via trunk, 0.5 m -- minus\n"
        for n in range(beside)
    )
    return (
        f'system "One"\n  nominal 48 V\n  rules cfr-183\n  ambient {ambient_c} degC\n'
        "battery bank 51.2 V, 100 Ah, lifepo4\n  range 48..57.6 V\n  fault-current 3 kA\n"
        "bus plus positive, 400 A\nbus minus negative, 400 A\nroute trunk 1 m, bundle\n"
        "bank.pos -- 0.1 m, 4/0 AWG -- [main: fuse class-t, 200 A] -- 0.1 m, 4/0 AWG -- plus\n"
        f"bank.neg -- 0.2 m, 4/0 AWG -- minus\nload one {watts} W\n"
        f"plus -- [one-fuse: fuse class-t] -- via trunk, {metres} m -- one.pos\n"
        f"one.neg -- via trunk, {metres} m -- minus\n" + others
    )


@settings(max_examples=40, deadline=None)
@given(
    st.integers(1, 60), st.integers(20, 4000), st.integers(20, 60), st.integers(0, 6),
    st.sampled_from(("longer", "bigger", "hotter", "bundled")), st.integers(1, 30),
)  # fmt: skip
def test_one_circuit_never_gets_thinner(m: int, w: int, t: int, beside: int, what: str, more: int) -> None:
    """A single circuit on its own bars: longer, larger, hotter or in more company, its size never falls."""
    before, _ = compiled(one_circuit(m, w, t, beside))
    harder_one = {
        "longer": (m + more, w, t, beside), "bigger": (m, w + 50 * more, t, beside),
        "hotter": (m, w, t + more, beside), "bundled": (m, w, t, beside + more % 6),
    }  # fmt: skip
    after, _ = compiled(one_circuit(*harder_one[what]))
    assert before is not None and after is not None
    if not before.errors and not after.errors:
        assert after.runs["one.pos.run"].area_mm2 >= before.runs["one.pos.run"].area_mm2


# --- words change nothing -----------------------------------------------------------------------------------


def figures(design: Design) -> dict[str, tuple[float, ...]]:
    """The numbers of a design by address."""
    return {
        **{run.run: (run.area_mm2, round(run.design_current.value, 9)) for run in design.runs.values()},
        **{load.load: (round(load.voltage_v, 7), round(load.drop_v, 9)) for load in design.loads.values()},
        **{
            d.device: (d.rating.rating_a or 0.0, round(d.end_fault.value if d.end_fault else 0.0, 4))
            for d in design.devices.values()
        },
    }  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_other_names_change_no_number(kind: Kind) -> None:
    for seed in SEEDS[::3]:
        found, design = drawn(kind, seed)
        names = {name for name in (*design.system.parts, *design.system.routes)}
        renamed = {name: f"x{n}-{name[::-1].strip('-0123456789') or 'q'}" for n, name in enumerate(sorted(names))}
        longest = sorted(renamed, key=len, reverse=True)
        swap = re.compile(rf"(?<![\w-])({'|'.join(map(re.escape, longest))})(?![\w])(?!-\d)")
        text = "\n".join(
            line if line.startswith("system") else _swapped(swap, renamed, line) for line in found.text().split("\n")
        )
        after, findings = compiled(text)
        assert after is not None and not after.errors, (seed, [f.message for f in findings][:3], text)
        assert sorted(figures(after).values()) == sorted(figures(design).values()), seed


def _swapped(swap: re.Pattern[str], renamed: dict[str, str], line: str) -> str:
    """A line with names exchanged; the word that says the kind stays."""
    kind, gap, rest = line.partition(" ")
    if kind in ("load", "panel", "battery", "bus", "route", "converter", "inverter", "junction", "earth", "case"):
        return kind + gap + swap.sub(lambda m: renamed[m.group()], rest)
    return swap.sub(lambda m: renamed[m.group()], line)


@pytest.mark.parametrize("kind", KINDS)
def test_the_order_of_statements_changes_no_number(kind: Kind) -> None:
    same = 0
    for seed in SEEDS[::2]:
        found, design = drawn(kind, seed)
        head, *rest = found.blocks()
        random.Random(seed).shuffle(rest)
        after, _ = compiled("\n".join((head, *rest)) + "\n")
        assert after is not None
        assert copper(after) == pytest.approx(copper(design), rel=1e-12), seed
        # Of two choices of equal copper the first run declared has the smaller size; nothing else may change.
        if {r.run: r.size for r in after.runs.values()} == {r.run: r.size for r in design.runs.values()}:
            assert figures(after) == figures(design), seed
            same += 1
    assert same > len(SEEDS[::2]) * 0.8


def test_a_junction_in_a_run_changes_no_voltage() -> None:
    """A run of a stated size, parted at a splice, loses what it lost whole."""
    tried = 0
    for seed in SEEDS:
        found, _ = drawn("radial", seed)
        tapped = {load.at for load in found.loads}
        for load in found.loads:
            if load.way is None or load.name in tapped or load.routes:
                continue
            size = "10 AWG" if found.series == "awg" else "6 mm2"
            fixed = replace(
                found,
                loads=tuple(
                    replace(other, run_words=(size,)) if other.name == load.name else other for other in found.loads
                ),
            )
            whole, _ = compiled(_all_stated(fixed).text())
            parted, _ = compiled(_all_stated(fixed).with_load(load.name, junction_at=0.4).text())
            assert whole is not None and parted is not None
            for other, result in whole.loads.items():
                assert parted.loads[other].voltage_v == pytest.approx(result.voltage_v, rel=1e-7), (seed, other)
                assert parted.loads[other].drop_v == pytest.approx(result.drop_v, rel=1e-9), (seed, other)
            tried += 1
            break
    assert tried > len(SEEDS) // 2


def _all_stated(found: Plate) -> Plate:
    """Every size stated, so that nothing is chosen anew."""
    small, large = ("10 AWG", "2 AWG") if found.series == "awg" else ("6 mm2", "35 mm2")
    return replace(
        found,
        batteries=tuple(replace(b, lead_words=(large,)) for b in found.batteries),
        panels=tuple(replace(p, run_words=(large,)) for p in found.panels),
        loads=tuple(replace(load, run_words=(small,)) for load in found.loads),
        converters=(),
        ring=(),
        inverter_w=0.0,
        ac_loads=(),
        cases=(),
    )


# --- anything at all ----------------------------------------------------------------------------------------

ODD = ("0 V", "1e9 A", "-5 m", "0 m", "999 AWG", "parallel 9", "series 7", "12 V", "0.000001 ohm", "150 degC", "size",
       "works 9..10 V", "drop 0 %", "drop 200 %", "[fuse]", "--", "-//-", "-///-", "plus", "minus", "via route-0",
       "poles 2", "[switch 5 A]", "max-fuse 1 A", "inrush 900 A", "terminal clamp 1.5..2.5 mm2", "4/0 AWG", "ac",
       "advised-wire 4/0 AWG", "sheath", "[b: breaker 1 A, breaks 1 A]", "resistance 5 ohm")  # fmt: skip


def spoilt(text: str, rng: random.Random) -> str:
    """A plate with some words lost, doubled, exchanged or put in from elsewhere."""
    lines = text.split("\n")
    for _ in range(rng.randint(1, 6)):
        n = rng.randrange(len(lines))
        words = lines[n].split(" ")
        at = rng.randrange(len(words))
        what = rng.randrange(6)
        if what == 0:
            del lines[n]
        elif what == 1:
            lines.insert(rng.randrange(len(lines)), lines[n])
        elif what == 2:
            words[at] = rng.choice(ODD)
        elif what == 3:
            words.insert(at, rng.choice(ODD) + rng.choice(("", ",")))
        elif what == 4:
            words[at] = rng.choice(" ".join(lines).split())
        else:
            words[at] = re.sub(r"\d+", lambda m: str(rng.choice((0, 1, 7, 10**6))), words[at])
        if what > 1:
            lines[n] = " ".join(words)
        if not lines:
            return ""
    return "\n".join(lines) + "\n"


def test_no_plate_however_spoilt_raises_and_no_re_check_disagrees() -> None:
    for seed in range(120):
        rng = random.Random(seed)
        text = spoilt(plate(seed, "any", 1, 6).text(), rng)
        _, findings = compiled(text)
        assert not [f for f in findings if f.code.startswith("CP59")], (seed, text)
