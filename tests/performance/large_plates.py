"""Plates of any number of circuits, for measuring."""

from __future__ import annotations

WAYS = 20
SIZES = (100, 300, 600, 1_000, 2_000, 4_000, 10_000)


def plate(circuits: int) -> str:
    """A 48 V system with `circuits` circuits on panels of 20 ways; feeders and branches differ in length, so that
    several sizes and budgets occur."""
    panels = -(-circuits // WAYS)
    lines = ['system "Measured"', "  nominal 48 V", "  conductors mm2"]
    lines += _bank("51.2 V", "48..56.8 V", "5 kA", max(panels * 40, 100))
    lines += [f'panel p{p} "Panel {p}" breaker, ways {WAYS}, return minus' for p in range(panels)]
    lines += [f'load c{c} "Circuit {c}" {2 + c % 7 * 2} W' for c in range(circuits)]
    lines += [f"plus -- [fuse class-t] -- {1 + p % 9} m -- p{p}" for p in range(panels)]
    lines += [f"p{c // WAYS}.{c % WAYS + 1} -//- {2 + c % 11} m -- c{c}" for c in range(circuits)]
    return "\n".join(lines) + "\n"


def close(circuits: int) -> str:
    """A 24 V system of panels of ten ways. By its current alone the fuse of a panel comes out as large as the largest
    behind it, so that each asks for a rating clear of those; in every third panel no larger one is allowed."""
    panels = -(-circuits // 10)
    lines = ['system "Measured"', "  nominal 24 V", "  conductors mm2"]
    lines += _bank("25.6 V", "24..28.4 V", "900 A", max(panels * 10, 100), 16)
    most = {p: ", max-fuse 5 A" if p % 3 == 0 else "" for p in range(panels)}
    lines += [f'panel p{p} "Panel {p}" blade, ways 10, return minus{fuse}' for p, fuse in most.items()]
    lines += [f'load c{c} "Circuit {c}" {80 + c // 10 % 5 * 2 if c % 10 == 0 else 0.5} W' for c in range(circuits)]
    lines += [f"plus -- [fuse blade] -- {1 + p % 3 / 2} m -- p{p}" for p in range(panels)]
    lines += [f"p{c // 10}.{c % 10 + 1} -//- {2 + c % 3} m -- c{c}" for c in range(circuits)]
    return "\n".join(lines) + "\n"


def _bank(battery: str, ends: str, fault: str, bar_a: int, parallel: int = 8) -> list[str]:
    return [
        f'battery house "Bank" {battery}, 200 Ah, lifepo4',
        f"  range {ends}",
        f"  fault-current {fault}",
        f'bus plus "Positive bus" positive, {bar_a} A',
        f'bus minus "Negative bus" negative, {bar_a} A',
        f"house.pos -- 0.3 m, parallel {parallel} -- plus",
        f"house.neg -- 0.3 m, parallel {parallel} -- minus",
    ]
