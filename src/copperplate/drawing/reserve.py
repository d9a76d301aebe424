"""How much room lettering is given: the widest figures that it may come to hold.

A size, a length, a rating or a voltage changes with every edit of a plate. If labels took the room of their figures,
a circuit made longer would move the columns beside it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from copperplate.drawing import lettering
from copperplate.drawing.captions import Line
from copperplate.drawing.pen import measure

FIGURES = re.compile(
    r"(?P<size>[\d./]+(?= (?:mm²|AWG)\b))|(?P<length>[\d.]+(?= (?:m|ft|in)\b))|(?P<rating>[\d.]+(?= A\b))"
    r"|(?P<volts>[\d.]+(?= V at load))|(?P<sheet>(?<=sheet )\d+)"
)
WIDEST = {
    "size": "000",
    "length": "00.0",
    "rating": "000",
    "volts": "00.00",
    "sheet": "00",
}
"""What is kept free for each kind of figures, where they are no wider."""


def given(lines: Iterable[Line], size: float = lettering.SMALL) -> float:
    """Width in mm that `lines` are given."""
    return max((measure([(reserved(text), bold) for text, bold in line], size) for line in lines), default=0.0)


def reserved(text: str) -> str:
    """`text` with the widest figures that it may come to hold."""
    return FIGURES.sub(lambda figures: max(figures[0], WIDEST[figures.lastgroup or "sheet"], key=lettering.width), text)
