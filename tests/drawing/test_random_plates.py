"""Sixty random systems are drawn without a fault; and every named topology at least once."""

from __future__ import annotations

import pytest
from built import design, svgs
from drawn_plates import random_plate
from svgcheck import set_faults


@pytest.mark.parametrize("seed", range(1, 61))
def test_a_random_system_is_drawn_without_a_fault(seed: int) -> None:
    found = design(random_plate(seed))
    assert set_faults(svgs(found), found) == []


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
