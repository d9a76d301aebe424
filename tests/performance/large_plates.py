"""Plates of any number of circuits, for measuring."""

from __future__ import annotations

WAYS = 20


def plate(circuits: int) -> str:
    """A 48 V system with `circuits` circuits on panels of 20 ways; feeders and branches differ in length, so that
    several sizes and budgets occur."""
    panels = -(-circuits // WAYS)
    lines = [
        'system "Measured"',
        "  nominal 48 V",
        "  conductors mm2",
        'battery house "Bank" 51.2 V, 200 Ah, lifepo4',
        "  range 48..56.8 V",
        "  fault-current 5 kA",
        f'bus plus "Positive bus" positive, {max(panels * 40, 100)} A',
        f'bus minus "Negative bus" negative, {max(panels * 40, 100)} A',
    ]
    lines += [f'panel p{p} "Panel {p}" breaker, ways {WAYS}, return minus' for p in range(panels)]
    lines += [f'load c{c} "Circuit {c}" {2 + c % 7 * 2} W' for c in range(circuits)]
    lines += ["house.pos -- 0.3 m, parallel 8 -- plus", "house.neg -- 0.3 m, parallel 8 -- minus"]
    lines += [f"plus -- [fuse class-t] -- {1 + p % 9} m -- p{p}" for p in range(panels)]
    lines += [f"p{c // WAYS}.{c % WAYS + 1} -//- {2 + c % 11} m -- c{c}" for c in range(circuits)]
    return "\n".join(lines) + "\n"
