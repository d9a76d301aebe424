"""A compiled plate, and what holds of the whole of it: each check lists what does not, by the oracles beside this file.

Only `compiled` asks the compiler; the checks read its document and its findings.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import inf, isclose
from typing import Any

from design_network import Network, network
from exposed_lines import Exposed, exposed, thin_returns
from fault_sides import sides
from smallest_shorts import Shorts

from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source

LASTING = {"CP305", "CP401", "CP402", "CP403", "CP404", "CP432", "CP433", "CP435", "CP436", "CP437", "CP438"}
"""Findings on what flows for ever in a conductor."""
FOR_EVER = {"CP401", "CP403", "CP404", "CP432"}
"""Those of them that no other rule draws."""
CLOSE = 0.005


@dataclass(frozen=True)
class Compiled:
    """A design by its document, and its findings: severity by code and subject."""

    document: dict[str, Any]
    severities: dict[tuple[str, str], str]

    @cached_property
    def net(self) -> Network:
        return network(self.document)

    @cached_property
    def shorts(self) -> Shorts:
        return Shorts(self.net, [case["open_devices"] for case in self.document["cases"]])

    @cached_property
    def exposed(self) -> list[Exposed]:
        return exposed(self.net, {name: row["value"] for name, row in self.document["rules"].items()})

    @cached_property
    def thin_returns(self) -> list[Exposed]:
        return thin_returns(self.net)

    def row(self, table: str, name: str) -> dict[str, Any]:
        """A row of a table of the document; empty where there is none."""
        return next((row for row in self.document[table] if row["id"] == name), {})

    def named(self, codes: set[str], severity: str = "") -> dict[tuple[str, str], set[str]]:
        """By finding of some codes, and of a severity: the runs that its subject and its message name, by themselves or
        by a device or conductor of theirs; by the device of a way the feeder of its panel too."""
        run_of = {row["id"]: row["run"] for table in ("devices", "conductors") for row in self.document[table]}
        panel_of = {d["id"]: d["panel"] for d in self.document["devices"] if d["panel"]}
        feeder_of = {run["to"].split(".")[0]: run["id"] for run in self.document["runs"]}
        runs: dict[tuple[str, str], set[str]] = {}
        for found in self.document["findings"]:
            if found["code"] in codes and severity in ("", found["severity"]):
                words = {found["subject"], *re.findall(r"`([^`]+)`", found["message"])}
                told = runs.setdefault((found["code"], found["subject"]), set())
                told |= {run_of.get(word, word) for word in words}
                told |= {feeder_of[panel_of[word]] for word in words if panel_of.get(word) in feeder_of}
        return runs


def compiled(text: str, name: str = "a.plate") -> Compiled | None:
    """The plate of a text; None where it cannot be resolved."""
    design, findings = compile_plate(Source(name, text), lambda file: None)
    if design is None:
        return None
    severities = {(found.code, found.subject): found.severity for found in findings}
    return Compiled(json.loads(schema.to_text(design)), severities)


def every_side(plate: Compiled) -> list[str]:
    """The devices of which the compiler tells another fault of a side than the dense solve, or a larger than theirs."""
    wrong = []
    for device in plate.document["devices"]:
        told = device["fault_sides_a"]
        legs = [b for b in plate.net.lines("pos") if b.name == device["id"] and b.what != "conductor"]
        if told is None or len(legs) != 1:
            continue
        right = sides(plate.net, legs[0])
        if not all(isclose(a, b, rel_tol=CLOSE, abs_tol=1e-3) for a, b in zip(told, right, strict=True)):
            wrong.append(f"{device['id']}: {told} A, and {right} A is right")
        elif not isclose(device["prospective_fault_a"], max(told), abs_tol=1e-6):
            wrong.append(f"{device['id']}: {device['prospective_fault_a']} A of {told} A")
    return wrong


def every_short(plate: Compiled) -> list[str]:
    """The devices of which the compiler tells another smallest short than the dense solves, or for a bank alone other
    ohms out and back than go with it; where no bank drives any through a device, it is left to its converter."""
    banks = {bank.name: bank for bank in plate.shorts.banks}
    wrong = []
    for device in plate.document["devices"]:
        cleared, clearing = plate.shorts.smallest.get(device["id"]), device["clearing"]
        if device["pole"] != "pos" or device["kind"] not in ("fuse", "breaker") or cleared is None:
            continue
        amperes = device["end_fault_a"]
        if amperes is None or clearing is None or not isclose(amperes, cleared.amperes, rel_tol=CLOSE):
            at = f"{cleared.short.node} to {cleared.short.to}"
            wrong.append(f"{device['id']}: {amperes} A, and {cleared.amperes:.5g} A is right ({at})")
        elif cleared.turn == 1 and clearing["out_ohm"] is not None and isclose(amperes, cleared.of_a, rel_tol=CLOSE):
            bank = banks[clearing["sources"][0]]
            volts = amperes * (bank.ohm + clearing["out_ohm"] + clearing["back_ohm"])
            if not isclose(volts, bank.low_v, rel_tol=CLOSE):
                wrong.append(f"{device['id']}: {volts:.5g} V lost on the way of {bank.low_v:.5g} V")
    return wrong


def exposed_conductors(plate: Compiled) -> list[str]:
    """Ungrounded conductors that carry less than flows in them for ever, are on no short tap and in no finding."""
    return _unnamed(plate, plate.exposed)


def exposed_returns(plate: Compiled) -> list[str]:
    """Returns that carry less than flows in them for ever, and are in no finding."""
    return _unnamed(plate, plate.thin_returns)


def _unnamed(plate: Compiled, rows: list[Exposed]) -> list[str]:
    """Those that no finding names; a device for which no rating was left limits nothing and is told of itself."""
    named = set().union(*plate.named(LASTING).values())
    limits = all(row["rating_a"] for row in plate.document["devices"] if row["kind"] in ("fuse", "breaker"))
    return [f"{e.conductor} carries {e.carries_a:g} A, {e.into_a:g} A come from {e.end}" for e in rows
            if e.run not in named and (limits or e.into_a < inf)]  # fmt: skip


def undue_errors(plate: Compiled) -> list[str]:
    """Errors on what flows for ever in a conductor that name no run where anything is exposed."""
    runs = {e.run for e in [*plate.exposed, *plate.thin_returns]}
    return [f"{code} {subject}" for (code, subject), named in plate.named(FOR_EVER, "error").items()
            if not runs & named]  # fmt: skip


def overrun_designs(plate: Compiled) -> list[str]:
    """Conductors in which a case or a state drives more than their design current, devices that it asks to carry more
    than they were rated by. Starts are none of both."""
    runs = {run["id"]: run["design_current_a"] or 0.0 for run in plate.document["runs"]}
    limits = {row["id"]: runs[row["run"]] for row in plate.document["conductors"] if row["pole"] != "pe"}
    limits |= {row["id"]: row["needs_a"] for row in plate.document["devices"] if row["needs_a"]}
    flows = [
        (row["id"], case, amperes)
        for table in ("conductors", "devices")
        for row in plate.document[table]
        for case, amperes in row["current_a"].items()
    ]
    flows += [
        (name, state["id"], amperes)
        for state in plate.document["states"]
        for name, amperes in (*state["conductors"].items(), *state["devices"].items())
    ]
    return [
        f"{name}: {amperes:.5g} A in {where}, and {limits[name]:.5g} A are reckoned with"
        for name, where, amperes in flows
        if name in limits and abs(amperes) > limits[name] * 1.0001 + 1e-6
    ]


def disagreements(plate: Compiled) -> list[str]:
    """What the compiler's own re-check says against the design."""
    return sorted(f"{code} {subject}" for code, subject in plate.severities if code.startswith("CP59"))


CHECKS: dict[str, Callable[[Compiled], list[str]]] = {
    "recheck": disagreements,
    "currents": overrun_designs,
    "exposed": exposed_conductors,
    "returns": exposed_returns,
    "undue": undue_errors,
    "sides": every_side,
    "shorts": every_short,
}
