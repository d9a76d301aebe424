"""Codes 4xx that speak of devices by themselves: what they carry, break, stand and let through. A row each;
`findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.entry import Each, Entry, When, for_designer, for_maker, for_owner

FEEDING = "{batteries:and}{batteries:| in parallel}, {mohm} mohm of cable to here"
"""Where the largest fault current comes from: each battery and the cable to here."""
DRIVEN = (
    "{giver} {most} A and no more, whatever the fault",
    "{volts} V through {mohm} mohm: battery and hot copper, out and back",
)
"""How the current at a far end comes about."""

BREAKS = "Choose devices that break the fault current that can reach them."
GUARDS = "Choose a smaller device or a larger conductor, so that the one protects the other."
_ALLOWED = "Choose a device no larger than the equipment or the panel allows."
_OPENS = "Ask the maker of each device whether it opens in time at a short at its far end."

CODES: dict[str, Entry] = {
    "CP405": for_designer(
        "error",
        "the device is rated below the current that it must carry",
        "`{subject}` is {rating} A and must carry {needs} A",
        label="{rating} A",
        notes=("{story}",),
        help=("{next} A", "less load on `{subject}`"),
        measure=("rating", "needs", "A"),
        rule="{rule}",
        question="Choose a device that is rated for the current that it must carry.",
    ),
    "CP406": for_designer(
        "error",
        "no device of the family is large enough",
        "`{subject}` must carry {needs} A, and the largest {family} is {largest} A",
        label="needs {needs} A",
        notes=("{story}",),
        help=(
            "a {larger} of {next} A: `fuse {word}`",
            "divide its circuits over several devices of {largest} A or less",
        ),
        measure=("needs", "largest", "A"),
        rule="{rule}",
        question="Divide these circuits over several devices, or choose a family with larger ones.",
    ),
    "CP407": for_designer(
        "error",
        "the device is larger than the maker of the equipment allows",
        "`{subject}` is {rating} A and the maker of `{part}` allows {limit} A",
        label=(When("stated", "{rating} A is stated"), "{rating} A is the next rating"),
        notes=("{story}",),
        help=(
            "{next} A",
            When("fits", "a device of {needs} to {limit} A, stated, where one is made"),
            "at most {limit} A after factors on this circuit, or a device of its own at a bar",
        ),
        related={"part": "{limit} A at most"},
        measure=("rating", "limit", "A"),
        question=_ALLOWED,
    ),
    "CP408": for_designer(
        "error",
        "the device is larger than the way of its panel takes",
        "`{subject}` is {rating} A and a way of `{part}` takes {limit} A",
        label=(When("stated", "{rating} A is stated"), "{rating} A is the next rating"),
        notes=("{story}",),
        help=(
            "{next} A",
            When("fits", "a device of {needs} to {limit} A, stated, where one is made"),
            "at most {limit} A after factors on this circuit, or a device of its own at a bar",
        ),
        related={"part": "{limit} A at most"},
        measure=("rating", "limit", "A"),
        question=_ALLOWED,
    ),
    "CP409": for_maker(
        "warning",
        "the maker advises a smaller device than the current needs",
        "the maker of `{part}` advises a fuse of {advised} A, and `{subject}` must carry {needs} A",
        label="needs {needs} A",
        notes=("{story}",),
        help="ask the maker of `{part}` which is right; the larger is kept until then",
        related={"part": "the maker's advice"},
        measure=("advised", "needs", "A"),
        question="Ask the maker of the equipment which fuse is right, for the current needs a larger one.",
    ),
    "CP410": for_designer(
        "warning",
        "the device may open while the motor starts",
        (
            "`{subject}` may open after {after} s at a start of {start} A",
            "`{subject}` may open at once at a start of {start} A",
        ),
        label="{family}, {rating} A",
        notes=("a start is taken to last {lasts} s ({lasting}), and all else behind it to run",),
        help=(
            When("fits", "{next} A lets it start"),
            "a slower family: the {next} A that lets it start is above {limit} A",
            "a slower family, or a breaker made for motors",
        ),
        measure=("gate", "lasts", "s"),
        rule="{rule}",
        question="Choose a device that stays closed while the motor starts.",
    ),
    "CP411": for_designer(
        "error",
        "the device nearest to a battery cannot break its fault current",
        (
            "a short at `{subject}` can reach {current:fault}; this {family} breaks {breaks:fault}",
            "a short at `{subject}` can reach {current:fault}; this {family} states no `breaks`",
        ),
        label=(
            "first device from the battery, breaks {breaks:fault}",
            "first device from the battery, states no `breaks`",
        ),
        notes=(FEEDING,),
        help=(
            "`fuse {word}`, which breaks {serves:fault}",
            "a device that breaks {wanted:fault} or more, stated with `breaks`",
        ),
        measure=("breaks|not stated", "current", "A"),
        rule="{rule}",
        question=BREAKS,
    ),
    "CP412": for_designer(
        "warning",
        "a fault at the far end may not open the device in time",
        (
            "a short at `{end}` makes {current} A, {times:2} times its rating, and may take {seconds} s",
            "a short at `{end}` makes {current} A, {times:2} times its rating, and need not open it",
        ),
        label="{family}, {rating} A",
        notes=(DRIVEN, "{allowed} s is allowed: {rule}"),
        help=(
            "{next} A, which opens in time",
            When("borne", "accept it: its conductors carry {current} A for ever, which is all that can come"),
            When("giver", "conductors that carry {current:enough A} for ever, which is all that can come"),
            "a larger conductor: more current at its end",
        ),
        related={"end": "the far end is `{end}`"},
        measure=("seconds|never", "allowed", "s"),
        rule="{rule}",
        question="Choose a device or a conductor with which a short at the far end opens it in time.",
    ),
    "CP413": for_designer(
        "error",
        "the device is for a lower voltage",
        (
            "the {several} ways of `{subject}` ({family}) are for {limit} V; their circuits reach {highest} V",
            "the {family} `{device}` is for {limit} V; its circuit reaches {highest} V",
        ),
        label="for {limit} V",
        notes=("{highest} V: {what}",),
        help=(
            When(
                "panel",
                "a panel whose devices are for {highest} V or more, or their own voltage stated on each way",
            ),
            "`fuse {word}`, for {serves} V",
            "a device for {highest} V or more, its voltage stated",
        ),
        measure=("limit", "highest", "V"),
        rule="{rule}",
        question="Choose a device that is made for the highest voltage of its circuit.",
    ),
    "CP414": for_designer(
        "error",
        "the conductor overheats before the device opens",
        "a short at `{end}` lets {passes} A²s pass before `{subject}` opens, and `{run}` stands {stands} A²s",
        label="{current} A at the far end",
        notes=(DRIVEN,),
        help=("{larger} stands it, or a smaller rating", "a smaller rating, or conductors in parallel"),
        related={"end": "the far end is `{end}`"},
        measure=("passes", "stands", "A²s"),
        rule="{rule}",
        question=GUARDS,
    ),
    "CP415": for_designer(
        "warning",
        "a branch device cannot break the fault current that can reach it",
        (
            "a short at `{subject}` can reach {current:fault}; its {several} ways ({family}) break {breaks:fault}",
            "a short at `{subject}` can reach {current:fault}; its {several} ways ({family}) state no `breaks`",
            "a short at `{subject}` can reach {current:fault}; its way `{way}` ({family}) breaks {breaks:fault}",
            "a short at `{subject}` can reach {current:fault}; its way `{way}` ({family}) states no `breaks`",
            "a short at `{subject}` can reach {current:fault}; this {family} breaks {breaks:fault}",
            "a short at `{subject}` can reach {current:fault}; this {family} states no `breaks`",
        ),
        label=(When("way", "{family}"), "{family}, breaks {breaks:fault}", "{family}, states no `breaks`"),
        notes=(FEEDING,),
        help=(
            When(
                "way",
                "devices that break {wanted:fault} or more<, or `backed-by {upper}` on its ways if the maker states "
                "the combination>",
            ),
            "`fuse {word}`, which breaks {serves:fault}<, or `backed-by {upper}` if its maker states the combination>",
            "a device that breaks {wanted:fault} or more, stated with `breaks`<, or `backed-by {upper}` if its maker "
            "states the combination>",
        ),
        related={"way": "for example this circuit"},
        measure=("breaks|not stated", "current", "A"),
        rule="{rule}",
        question=BREAKS,
    ),
    "CP416": for_maker(
        "error",
        "the fault current of a battery is not known",
        "the fault current of `{subject}` is not known, so no device can be proven to break it",
        label="states neither `fault-current` nor `internal-resistance`",
        notes=("usual: {usual}",),
        help="`fault-current` of one battery, asked of its maker",
        rule="{rule}",
        question="Ask the maker of the battery for its fault current.",
    ),
    "CP417": for_maker(
        "warning",
        "a small far-end fault on a device without a published curve",
        "a short at `{end}` makes {current} A, {times:2} times its rating; no curve of a {family} proves that it opens",
        label="{family}, {rating} A",
        notes=(DRIVEN,),
        help="read the maker's curve at {current} A: {allowed} s or less",
        related={"end": "the far end is `{end}`"},
        measure=("current", "many", "A"),
        rule="{rule}",
        question=_OPENS,
    ),
    "CP418": for_maker(
        "advice",
        "opening at the far end is not proven",
        "no published curve proves how soon {devices:who devices} {devices:opens|open} at a short at the far end, "
        "which is {times:2} times {devices:its rating|their ratings} or more",
        label="{families}",
        notes=(Each("shorts", "`{device}`: {current} A, {times:2} times its rating"),),
        help="read the makers' curves: {allowed} s or less at these currents",
        rule="{rule}",
        question=_OPENS,
    ),
    "CP419": for_owner(
        "warning",
        "a branch fault may open the device above it",
        "a fault behind `{first}` ({largest} A)< (and {more} more)> may open `{subject}` ({rating} A) and every "
        "circuit with it",
        label=(
            When("equal", "as large as `{first}`"),
            When("smaller", "smaller than `{first}`"),
            "{ratio} times `{first}`",
        ),
        notes=("{clear} times is taken as clearly larger ({rule})",),
        help="<{wanted} A and conductors that carry it, or >accept it where `{first}` and the rest may go dark "
        "together",
        related={"below": "{own} A"},
        measure=("ratio", "clear", ""),
        rule="{rule}",
        question="Decide whether a fault in one circuit may put out all circuits behind the device above it.",
    ),
    "CP428": for_designer(
        "error",
        "the device is too large for a source that does not limit itself",
        "`{subject}` is {rating} A; `{source}` of {output} A allows {limit} A",
        label="{rating} A",
        notes=("{percent} % of the rated output, for it does not limit itself",),
        help=("{next} A", "`self-limiting`, where its maker states that it is"),
        related={"source": "{output} A"},
        measure=("rating", "limit", "A"),
        rule="{rule}",
        question="Choose a smaller device, unless the maker states that the source limits itself.",
    ),
    "CP431": for_maker(
        "warning",
        "the DC voltage of a device is not stated",
        (
            "the {several} ways of `{subject}` ({family}) state no DC voltage; their circuits reach {highest} V",
            "the {family} `{device}` states no DC voltage; its circuit reaches {highest} V",
        ),
        label="no voltage stated",
        notes=("{highest} V: {what}",),
        help="state it from the maker's data: {highest} V or more",
        measure=("|not stated", "highest", "V"),
        rule="{rule}",
        question="Ask the maker of the device for its highest DC voltage.",
    ),
}
