"""Codes 3xx: conductors and voltage. A row each; `findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.entry import Entry, When, for_designer

_LEFT_OUT = "<{fitting}, or >leave the size out"
_FACTORS = ("{table} A in the table x {factors} = {ampacity} A",)
_SHARING = "one of the batteries beside `{sharing}` is taken to be out"
_ALONE = "the other sources are taken to be out, and `{source}` to carry all"

LARGER = "Choose a larger conductor, or leave its size open."
VOLTAGE = "Choose larger or shorter conductors, so that enough voltage reaches this load."

CODES: dict[str, Entry] = {
    "CP301": for_designer(
        "error",
        "the wiring cannot bring the power that the load asks for",
        "`{subject}` asks for {asked:W}, and its wiring breaks down at {bearable:W}",
        notes=("in the case {case}: below that the voltage falls as fast as the current rises",),
        help="a larger conductor, a shorter run or a higher system voltage; with the sizes left out they are chosen",
        question="Choose a larger conductor, a shorter way or a higher system voltage for this load.",
    ),
    "CP303": for_designer(
        "error",
        "a stated conductor carries less than its current",
        "`{subject}` carries {carries} A, and {laid} is good for {good} A",
        label="good for {good} A",
        notes=_FACTORS,
        help=_LEFT_OUT,
        measure=("carries", "good", "A"),
        rule="{rule}",
        question=LARGER,
    ),
    "CP304": for_designer(
        "error",
        "a stated conductor is below the least size of the rules",
        "`{subject}` is {size}, and the least size here is {least}",
        help=_LEFT_OUT,
        measure=("area", "least_area", "mm²"),
        rule="{rule}",
        question=LARGER,
    ),
    "CP305": for_designer(
        "error",
        "no size carries the current of a run",
        (
            "`{subject}` must carry the {protect} A of {devices}, and the largest size, {laid}, carries {good} A",
            "`{subject}` must carry the {protect} A of its source, and the largest size, {laid}, carries {good} A",
            "`{subject}` must carry {carries} A, and the largest size, {laid}, carries {good} A",
        ),
        notes=_FACTORS,
        help="<{parallel}; or >less load on it, or a higher system voltage",
        measure=("wanted", "good", "A"),
        rule="{rule}",
        question="Lay several conductors in parallel, or let less current flow.",
    ),
    "CP306": for_designer(
        "error",
        "the tables of the rules do not reach",
        "`{subject}`: {outside}",
        help=(
            "{fitting}, or leave the size out",
            "insulation of a higher temperature rating, or a cooler way than air of {ambient} °C",
        ),
        question="Choose a size, an insulation or surroundings that the tables of the rules cover.",
    ),
    "CP310": for_designer(
        "error",
        "the voltage drop exceeds the budget of a load",
        (
            "`{subject}` loses {lost} % on its way from `{sharing}` with a battery beside it out, and its budget is "
            "{allowed} %",
            "`{subject}` loses {lost} % on its way from `{source}` alone, and its budget is {allowed} %",
            "`{subject}` loses {lost:beside allowed} % on its way, and its budget is {allowed} %",
        ),
        label="this run loses {run_v} V of the {budget_v} V",
        notes=((_SHARING, _ALONE, "of the {budget_v} V: {shares}"),),
        help="{remedies:or}",
        measure=("lost", "allowed", "%"),
        rule="{rule}",
        related={"drop": "its budget"},
        question=VOLTAGE,
    ),
    "CP311": for_designer(
        "error",
        "the device gets less voltage than it works at",
        (
            "`{subject}` gets {volts:4} V from `{sharing}` with a battery beside it out and works from {low:4} V",
            "`{subject}` gets {volts:4} V from `{source}` alone and works from {low:4} V",
            "`{subject}` gets {volts:4} V and works from {low:4} V",
        ),
        label=("this run drops {run_v} V of the {lost} V", "its window"),
        notes=((_SHARING + ", in warm copper", _ALONE + ", in warm copper", "{breakdown}"),),
        help=("{leads:and} larger or shorter, or their sizes left out", "{remedies:or}"),
        measure=("volts", "low", "V"),
        related={"window": "its window", "lead": "a lead of `{source}`"},
        question=VOLTAGE,
    ),
    "CP312": for_designer(
        "error",
        "the device gets more voltage than it works at",
        "`{subject}` gets {volts:4} V and works to {high:4} V",
        label="its window",
        notes=(
            "`{source}` is held so high while it charges, and the load is on its bars even when off<; that is taken "
            "for {chemistry}, for the plate states neither `full` nor `range`>",
        ),
        help=(
            When(
                "chemistry",
                "a device that works to {wanted} V, or a converter that feeds it; or `full` on `{source}`, as its "
                "charger holds it",
            ),
            "a device that works to {wanted} V, or a converter that feeds it",
        ),
        measure=("volts", "high", "V"),
        related={"held": "{volts:4} V"},
        question="Choose a device for the highest voltage of its source, or a converter that feeds it.",
    ),
    "CP313": for_designer(
        "warning",
        "the voltage drop in warm copper exceeds the budget",
        "`{subject}` loses {lost:beside allowed} % in warm copper, and its budget is {allowed} %",
        notes=("{judged} % by the figure that the rules judge with", "{breakdown}"),
        help=(
            When("chosen", "{larger}, if the budget is to hold warm and `pin --sizes` keeps the other sizes"),
            "{larger}, if the budget is to hold warm",
            "a larger conductor, if it is to hold warm",
        ),
        measure=("lost", "allowed", "%"),
        rule="{rule}",
        question="Decide whether this load may lose more than its budget once its conductors are warm.",
    ),
    "CP314": for_designer(
        "error",
        "the source alone leaves the voltage window of a device",
        "`{subject}` works from {low:4} V, and `{source}` falls to {held:4} V by itself",
        label="its window",
        notes=("the wiring takes another {lost} V",),
        help="a device that works from {reached} V, a converter for it, or stop using `{source}` earlier and say so in "
        "its range",
        measure=("held", "low", "V"),
        related={"held": "{held:4} V"},
        question="Choose a device that works at the lowest voltage of its source, or a converter that feeds it.",
    ),
}
