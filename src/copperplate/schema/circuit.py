"""What joins, holds and draws beside the conductors and devices: with them the whole circuit of each case."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from copperplate.model.results import Design, ElementDraw, Holding
from copperplate.schema.figures import by_case


def circuit_json(design: Design) -> dict[str, Any]:
    return {
        "ties": [[a, b] for a, b in design.system.ties],
        "holds": [_hold(design, holding) for holding in design.holdings],
        "draws": [_draw(design, draw) for draw in design.draws],
    }


def _hold(design: Design, holding: Holding) -> dict[str, Any]:
    return {
        "part": holding.part,
        "from_node": holding.from_node,
        "to_node": holding.to_node,
        "inside_ohm": holding.inside_ohm,
        "volts": by_case(design, holding.volts),
        "current_a": by_case(design, holding.current_a),
    }


def _draw(design: Design, draw: ElementDraw) -> dict[str, Any]:
    conversion, transfer = draw.conversion, draw.transfer
    return {
        "part": draw.part,
        "role": draw.role,
        "from_node": draw.from_node,
        "to_node": draw.to_node,
        "amperes": draw.amperes,
        "siemens": draw.siemens,
        "watts": draw.watts,
        "conversion": None if conversion is None else {**asdict(conversion), "outputs": list(conversion.outputs)},
        "transfer": None
        if transfer is None
        else {"outputs": list(transfer.outputs), "volts": transfer.volts, "cases": list(transfer.cases)},
        "share": by_case(design, draw.share),
        "current_a": by_case(design, draw.current_a),
    }
