"""The elements of a bay: what stands for each of its edges, what joins them, and what its boxes say."""

from __future__ import annotations

from copperplate.drawing import captions
from copperplate.drawing.bay import Bay, Power
from copperplate.drawing.boxes import BankBlock, PartBox
from copperplate.drawing.captions import Task
from copperplate.drawing.cells import Cells
from copperplate.drawing.marks import EarthMark, Loose, Splice
from copperplate.drawing.stack import DeviceInLine, LabelledConductor, StackElement, Stub
from copperplate.drawing.wiring import WiringEdge, is_between_dc_and_ac, is_two_sided
from copperplate.model.parts import Panel


class Elements:
    """Makes the elements of the bays of one power wiring. `leaves`: by node that circuits of other sheets leave
    from, the words of its flag."""

    def __init__(self, task: Task, power: Power, leaves: dict[str, str]) -> None:
        self.task = task
        self.power = power
        self.leaves = leaves
        self.rails = set(power.rails)

    def of(self, bay: Bay, second: Bay | None = None) -> list[StackElement]:
        """The elements of `bay`, with what joins them; `second` hangs from a part in it."""
        task, wiring = self.task, self.task.wiring
        elements: list[StackElement] = []
        last = "rail" if bay.top or bay.hangs_from else "end"
        if last == "end" and bay.path[0].kind != "part":
            node = bay.nodes[0]
            elements.append(Loose(text=captions.end(task, node), up=True, ring=True))
        for place, (edge, node) in enumerate(zip(bay.path, bay.nodes, strict=False)):
            if node not in self.rails and place:
                if wiring.roles_at(node).is_splice:
                    elements.append(Splice(name=wiring.owner(node), flag=self.leaves.get(node, "")))
                    last = "splice"
                elif node in self.leaves:
                    elements.append(Splice(flag=self.leaves[node]))
                    last = "splice"
            if edge.kind != "conductor" and last in ("rail", "device", "part"):
                elements.append(self._stub(node))
            elements.append(self._element(edge, node, bay, place, second))
            last = edge.kind
        self._finish(bay, elements, last)
        return elements

    def _finish(self, bay: Bay, elements: list[StackElement], last: str) -> None:
        """What stands below the last edge of a bay."""
        node = bay.nodes[-1]
        wiring = self.task.wiring
        if bay.bottom:
            if last != "conductor":
                elements.append(self._stub(node))
            return
        part = wiring.part_at(node)
        if last == "part" or bay.loop:
            return
        if part is not None and part.roles.grounds:
            elements.append(EarthMark(task=self.task, name=part.id))
        else:
            elements.append(Loose(text=captions.end(self.task, node), ring=True))

    def _stub(self, node: str) -> Stub:
        """A short link at a node, in the stroke of its pole."""
        return Stub(style="c-neg" if self.task.wiring.is_low(node) else "c-pos")

    def _element(self, edge: WiringEdge, entered: str, bay: Bay, place: int, second: Bay | None) -> StackElement:
        task = self.task
        if edge.kind == "conductor":
            return LabelledConductor(task=task, name=edge.id, low=any(e.kind == "part" for e in bay.path[:place]))
        if edge.kind == "device":
            legs = task.design.system.devices[edge.id].legs
            number = next((n for n, leg in enumerate(legs) if set(leg) == {edge.a, edge.b}), 0)
            return DeviceInLine(task=task, name=edge.id, leg=str(number + 1) if len(legs) > 1 else "")
        if edge.side == "bank":
            return BankBlock(task=task, bank=self.power.banks[edge.id])
        if task.wiring.roles_at(edge.a).stores:
            return Cells(task=task, name=edge.id, remarks=self.remarks(edge))
        side = f"{edge.side} " if edge.side else ""
        hung = second if second is not None and second.hangs_from == edge.id else None
        tops = [(0.0, f"{side}+")] if task.wiring.at.get(entered) else []
        bottoms = [(0.0, f"{side}−")] if task.wiring.at.get(bay.nodes[place + 1]) else []
        rights: list[str] = []
        if hung is not None:
            rights = [f"{hung.side} +", f"{hung.side} −"] if hung.loop else [f"{hung.side} +"]
            if hung.tail or hung.tail_rail:
                bottoms = [(-7.0, bottoms[0][1]), (7.0, f"{hung.side} −")] if bottoms else [(0.0, f"{hung.side} −")]
        sides = [edge.side, hung.side] if hung is not None else [edge.side]
        return PartBox(
            task=task,
            name=edge.id,
            tops=tops,
            bottoms=bottoms,
            rights=rights,
            remarks=self.remarks(edge, hung),
            sides=sides,
        )

    def remarks(self, edge: WiringEdge, hung: Bay | None = None) -> list[str]:
        """What a box says beside its figures: volts at its terminals, and the sheets that go on with it."""
        task = self.task
        part = task.design.system.parts[edge.id]
        lines: list[str] = []
        result = task.design.loads.get(edge.id)
        if result is not None and any(side.name in part.roles.draws_at for side in task.wiring.sides[part.id]):
            lines.append(f"{captions.volts(result.voltage_v)} at load")
        if isinstance(part, Panel):
            lines.append(f"see {task.sheet_of(task.numbers.get(f'circuits:{part.id}', ())[:1])}")
            if part.return_bar:
                lines.append(f"returns to {part.return_bar}")
        if f"ac:{part.id}" in task.numbers or (not task.numbers and is_between_dc_and_ac(part)):
            lines.append(f"AC: {task.sheet(f'ac:{part.id}')}")
        if is_two_sided(part):
            for side in task.wiring.sides[part.id]:
                drawn_here = side.name == edge.side or (hung is not None and hung.side == side.name)
                keys = (f"side:{part.id}.{side.name}", f"circuits:{side.pos}")
                key = next((key for key in keys if key in task.numbers), keys[0])
                if not drawn_here and (key in task.numbers or not task.numbers):
                    lines.append(f"{side.name or 'battery side'}: {task.sheet(key)}")
        return lines
