"""Properties of resolving: order and names change no number, no tree makes it raise, everything refers to something."""

from __future__ import annotations

import random
import re
import sys
from collections.abc import Callable
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from resolving import resolved, sound

from copperplate import resolve, syntax
from copperplate.model import System
from copperplate.model.kinds import DEVICE_KINDS, KINDS
from copperplate.resolve.words import table
from copperplate.syntax import tree
from copperplate.text import Source, Span
from copperplate.units import UNITS

HEAD = 'system "S"\n  nominal 12 V\n'
BLOCKS = [
    "battery house 12.8 V, 100 Ah, parallel 2\n  link 0.3 m",
    "bus plus positive, 100 A",
    "bus minus negative, 100 A",
    "panel fb blade, ways 8, return minus",
    "route trunk 2 m, ambient 40 degC",
    "load lamp 2 A, works 10..15 V",
    "load fan 3 x 0.5 A, drop 5 %",
    "load pump 60 W, intermittent",
    "junction knot",
    "house.pos -- 0.3 m -- [main: fuse class-t] -- 0.4 m -- plus",
    "house.neg -- 0.5 m -- minus",
    "plus -- [fuse] -- 1 m -- fb",
    "fb.1 -//- via trunk, 1 m -- lamp",
    "fb.4 -//- [5 A] -- 2 m, 2.5 mm2 -- fan",
    "fb.2 -//- 1 m -- knot",
    "knot -//- 1.5 m -- pump",
    "case day on lamp, fan",
    "case night on pump, share lamp 50 %",
]


def facts(system: System, name: Callable[[str], str] = str) -> dict[str, Any]:
    """What a system says, by address and without order; `name` maps the words of addresses."""
    return {
        "nodes": {name(n.id): (n.pole, name(n.zone), n.nominal_v) for n in system.nodes.values()},
        "conductors": {
            name(c.id): (c.pole, name(c.from_node), name(c.to_node), c.length_m, name(c.marker))
            for c in system.conductors.values()
        },
        "devices": {
            name(d.id): (d.kind, d.rating_a, tuple((name(a), name(b)) for a, b in d.legs))
            for d in system.devices.values()
        },
        "runs": {name(r.id): (r.length_m, r.circuit_length_m, r.ambient_c, r.size) for r in system.runs.values()},
        "cases": {name(c.id): {name(k): v for k, v in c.shares.items()} for c in system.cases},
        "values": {name(p.id): {k: v for k, v in p.values.items() if k != "return"} for p in system.parts.values()},
    }


@settings(max_examples=40, deadline=None)
@given(st.permutations(BLOCKS))
def test_the_order_of_statements_changes_nothing(blocks: list[str]) -> None:
    assert facts(sound(HEAD + "\n".join(blocks) + "\n")) == facts(sound(HEAD + "\n".join(BLOCKS) + "\n"))


def test_other_names_change_no_number() -> None:
    others = {"house": "alpha", "plus": "beta", "minus": "gamma", "fb": "delta", "trunk": "eps", "lamp": "zeta",
              "fan": "eta", "pump": "theta", "knot": "iota", "main": "kappa", "day": "mu", "night": "nu"}  # fmt: skip

    def renamed(text: str) -> str:
        return re.sub(r"[a-z]+", lambda m: others.get(m.group(), m.group()), text)

    text = "\n".join(BLOCKS) + "\n"
    assert facts(sound(HEAD + renamed(text))) == facts(sound(HEAD + text), renamed)


def test_comments_and_spaces_change_nothing() -> None:
    text = HEAD + "\n".join(BLOCKS) + "\n"
    spaced = "# first\n\n" + text.replace(", ", " ,   ").replace(" -- ", "   --   ") + "# last\n"
    assert facts(sound(spaced)) == facts(sound(text))


# --- any tree ---------------------------------------------------------------------------------------------

SOURCE = Source("any.plate", "system house lamp 12 V -- [fuse] \n" * 4)
SPAN = Span(SOURCE, 3, 9)
NAMES = ("house", "lamp", "fb", "plus", "trunk", "knot", "day", "main", "fb.1", "house.pos", "lamp.neg", "fb.feed",
         "step.in", "step.out.pos", "inv.ac-in", "x.y.z", "fb.99999999", "CP412", "on", "off", "share", "part", "to",
         "split", "stud", "clamp", "lead")  # fmt: skip
WORDS = sorted({w for kind in (*KINDS, *DEVICE_KINDS, "run") for w in table(kind).known} | set(NAMES) | set(KINDS))
UNIT_NAMES = [*sorted(UNITS), "mm2", "AWG", "furlong"]

words = st.sampled_from(WORDS).map(lambda text: tree.Word(text, SPAN))
names = st.sampled_from(NAMES).map(lambda text: tree.Word(text, SPAN))
values = st.one_of(
    st.sampled_from([0.0, 1.0, 2.0, -3.0, 0.5, 12.0, 1e12, float("inf"), float("nan")]), st.floats(-10, 1e4)
)
quantities = st.builds(lambda v, u: tree.Quantity(v, u, f"{v} {u}", SPAN), values, st.sampled_from(UNIT_NAMES))
numbers = st.builds(lambda v: tree.Number(v, str(v), SPAN), values)
sizes = st.builds(
    lambda n, s: tree.SizeAtom(n, s, SPAN),
    st.sampled_from(["12", "2/0", "0", "2.5", "99/0", "x"]),
    st.sampled_from(["AWG", "SAE", "mm2", "?"]),
)
ends = st.sampled_from(["10", "15", "1.5", "35", "2/0", "", "x"])
ranges = st.builds(lambda a, b, u: tree.Range(a, b, u, SPAN), ends, ends, st.sampled_from(UNIT_NAMES))
pairs = st.builds(lambda a, b, u: tree.Pair(a, b, u, SPAN), ends, ends, st.sampled_from(UNIT_NAMES))
counts = st.builds(lambda n, each: tree.Count(n, each, SPAN), st.integers(-1, 9), st.one_of(quantities, sizes))
texts = st.sampled_from(["", "Lamp", "../x.plate", "any.plate", "other.plate"]).map(lambda t: tree.Text(t, SPAN))
atoms = st.one_of(
    words, quantities, numbers, sizes, ranges, pairs, counts, texts,
    st.just(tree.StudAtom("M8", SPAN)), st.just(tree.Bad("?", SPAN)),
)  # fmt: skip
items = st.lists(atoms, max_size=4).map(lambda found: tree.Item(tuple(found), SPAN))
brackets = st.builds(
    lambda name, found: tree.Bracket(name, tuple(found), SPAN), st.one_of(st.none(), names), st.lists(items, max_size=3)
)
elements = st.one_of(
    names.map(tree.End),
    st.integers(0, 6).map(lambda n: tree.Stroke(n, SPAN)),
    st.lists(items, max_size=3).map(lambda found: tree.Segment(tuple(found), SPAN)),
    brackets,
)
declarations = st.builds(
    lambda keyword, head, found: tree.Declaration(tree.Word(keyword, SPAN), tuple(head), tuple(found), SPAN),
    st.sampled_from([*KINDS, *KINDS, "laod", "fuse", "fb.1"]),
    st.lists(atoms, max_size=4),
    st.lists(items, max_size=4),
)
runs = st.builds(
    lambda name, found: tree.RunStatement(name, tuple(found), SPAN),
    st.one_of(st.none(), names),
    st.lists(elements, max_size=9),
)
bad = st.builds(
    lambda k, n: tree.BadStatement(k, n, SPAN), st.sampled_from(["load", "", "case"]), st.sampled_from(NAMES)
)
plates = st.lists(st.one_of(declarations, runs, runs, bad), max_size=12)
SYSTEM = tree.Declaration(
    tree.Word("system", SPAN), (tree.Word("nominal", SPAN), tree.Quantity(12.0, "V", "12 V", SPAN)), (), SPAN
)


@settings(max_examples=300, deadline=None)
@given(plates)
def test_no_tree_makes_it_raise(statements: list[tree.Statement]) -> None:
    plate = tree.Plate(SOURCE, (SYSTEM, *statements), ())
    system, findings = resolve.resolve(plate, lambda name: Source(name, 'use "any.plate"\npart p load, 1 A\n'))
    assert all(f.span is not None and f.message for f in findings)
    if system is not None:
        assert_consistent(system)


def assert_consistent(system: System) -> None:
    """Whatever refers to something refers to something that is there."""
    for conductor in system.conductors.values():
        assert {conductor.from_node, conductor.to_node} <= set(system.nodes)
        assert conductor.id in system.runs[conductor.run].conductor_ids
        assert conductor.from_node != conductor.to_node
    for run in system.runs.values():
        assert set(run.conductor_ids) <= set(system.conductors) and set(run.device_ids) <= set(system.devices)
        assert set(run.routes) <= set(system.routes) and set(system.end_parts(run)) <= set(system.parts)
    for device in system.devices.values():
        assert device.run in system.runs and device.legs
        assert all({start, end} <= set(system.nodes) for start, end in device.legs)
    for node in system.nodes.values():
        assert node.zone in system.parts or node.zone == ""
        assert node.part in system.parts or node.part == ""
    for case in system.cases:
        assert set(case.shares) <= set(system.parts) and set(case.open_devices) <= set(system.devices)
    assert all({one, other} <= set(system.nodes) for one, other in system.ties)


def test_plates_with_mistakes_anywhere_are_read_to_the_end() -> None:
    """A sound plate with a word, a stroke or a bracket broken at random: findings, never an exception."""
    chance = random.Random(20)
    text = HEAD + "\n".join(BLOCKS) + "\n"
    for _ in range(400):
        at = chance.randrange(len(text))
        broken = (
            text[:at]
            + chance.choice(["", "x", "-", "[", " ", "\n", '"', "9", ","])
            + text[at + chance.choice([0, 1, 1, 4]) :]
        )
        system, _ = resolved(broken)
        if system is not None:
            assert_consistent(system)


def test_ten_thousand_mistakes_are_read_in_linear_time() -> None:
    """Each of them is a finding, and no finding costs a walk through the whole plate. Work is counted in calls of
    the interpreter, which the speed of a machine does not change."""

    def work(circuits: int) -> int:
        text = HEAD + "battery house 12.8 V\nbus plus positive\nbus minus negative\nhouse.pos -- 1 m -- plus\n"
        text += "house.neg -- 1 m -- minus\n"
        text += "".join(
            f"load l{i} 1 A\nplus -- 2 m -- l{i}.pos\nl{i}.neg -- 2 m -- nowhere-at-all-{i}\n" for i in range(circuits)
        )
        plate, _ = syntax.parse(Source("large.plate", text))
        calls = 0

        def count(frame: object, event: str, argument: object) -> None:
            nonlocal calls
            calls += event in ("call", "c_call")

        sys.setprofile(count)
        try:
            _, findings = resolve.resolve(plate, lambda name: None)
        finally:
            sys.setprofile(None)
        assert len(findings) >= circuits
        return calls

    assert work(1500) < 12 * work(150)
