"""What joins, holds and draws beside the conductors and devices: with them the whole circuit of each case."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from copperplate.model.results import Design, ElementDraw, Holding
from copperplate.schema.figures import by_case
from copperplate.text import fields


def circuit_json(design: Design) -> dict[str, Any]:
    return {
        "ties": [[a, b] for a, b in design.system.ties],
        "holds": [_hold(design, holding) for holding in design.holdings],
        "draws": [_draw(design, draw) for draw in design.draws],
    }


def _hold(design: Design, holding: Holding) -> dict[str, Any]:
    return {
        **fields(holding, "part", "from_node", "to_node", "inside_ohm"),
        "volts": by_case(design, holding.volts),
        "current_a": by_case(design, holding.current_a),
    }


def _draw(design: Design, draw: ElementDraw) -> dict[str, Any]:
    conversion, transfer = draw.conversion, draw.transfer
    return {
        **fields(draw, "part", "role", "from_node", "to_node", "amperes", "siemens", "watts"),
        "conversion": None if conversion is None else {**asdict(conversion), "outputs": list(conversion.outputs)},
        "transfer": None if transfer is None else fields(transfer, "outputs", "volts", "cases"),
        "share": by_case(design, draw.share),
        "current_a": by_case(design, draw.current_a),
    }
