"""Codes 7xx: AC. A row each; `findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.devices import BREAKS
from copperplate.findings.entry import Each, Entry, When, for_designer, for_electrician, for_installer, for_maker
from copperplate.findings.sources import LOADED

SHORTS = Each("shorts", "`{device}`: {current} A at `{end}`, {times:2} times its rating", most=8)
"""A short at the far end of each device."""

_TRANSFER = "Choose a transfer switch, so that one AC source supplies at a time."
_RESIDUAL = "Choose a residual-current device for these circuits."

CODES: dict[str, Entry] = {
    "CP701": for_designer(
        "error",
        "an AC circuit has no device on board",
        "no breaker stands between `{source}` and `{subject}`",
        label="no `[breaker]` on the way",
        help="`[breaker]` where the circuit leaves, and a main one near `{source}`",
        related={"source": "its supply"},
        rule="{rule}",
        question="Put a breaker where this AC circuit leaves, and a main one near its supply.",
    ),
    "CP702": for_designer(
        "error",
        "a fuse in an unpolarised AC system",
        "`{subject}` is a fuse in an AC system that is not polarised",
        label="a fuse opens one conductor only",
        help="a `[breaker, poles 2]`",
        rule="{rule}",
        question="Choose a breaker that opens both conductors in place of this fuse.",
    ),
    "CP703": for_electrician(
        "warning",
        "nothing joins neutral and earth while a source supplies",
        (
            "while `{subject}` supplies, only `{other}` joins neutral and earth, and it may be unplugged or off",
            "nothing joins neutral and earth while `{subject}` supplies",
        ),
        label="no `bonds-neutral`",
        notes=(
            "without the bond no fault to earth opens a breaker",
            When("other", "their neutrals are one: two bonds at once would be as wrong (CP704)"),
        ),
        help=(
            When(
                "other",
                "`bonds-neutral` on `{subject}` too, and a `[selector 30 A, poles 2]`, say, that parts their neutrals",
            ),
            When("shore", "`bonds-neutral` on `{subject}`, if they are joined where it comes from"),
            "`bonds-neutral` on `{subject}`, if it joins them while it supplies",
        ),
        related={"other": "the only bond"},
        measure=(0, 1, "bonds"),
        rule="{rule}",
        question="Find out which source joins neutral and earth while it supplies.",
    ),
    "CP704": for_designer(
        "error",
        "neutral and earth are joined twice",
        "`{first}` and `{subject}` both join neutral and earth on one system",
        label="the second bond",
        notes=("neutral current then flows in the earth, and residual-current devices open or go blind",),
        help="`[selector 30 A, poles 2]`, say, in the run of each: it parts their neutrals too",
        related={"first": "the first bond"},
        measure=("bonds", 1, "bonds"),
        rule="{rule}",
        question=_TRANSFER,
    ),
    "CP705": for_designer(
        "error",
        "an AC circuit has no protective earth",
        "`{subject}` has line and neutral and no protective earth",
        label="{conductors} conductors",
        help="`-///-`: line, neutral and protective earth in one sheath",
        measure=("conductors", 3, "conductors"),
        rule="{rule}",
        question="Choose a cable with a protective earth.",
    ),
    "CP706": for_designer(
        "warning",
        "no residual-current protection",
        "no residual-current device of {residual:mA} stands before {circuits:first 6}",
        label=(When("outlets", "socket outlets"), "an AC load"),
        help="`residual {residual:mA}` on the breaker before each, or on the main one of every source",
        measure=("count", 0, "circuits"),
        rule="{rule}",
        question=_RESIDUAL,
    ),
    "CP707": for_designer(
        "error",
        "unsheathed AC conductors share a route with DC",
        "unsheathed AC conductors of `{subject}` and the DC conductors of `{other}` share `{route}` without a sheath",
        label="AC",
        help="a cable in its own sheath (`-///-`), or another route than `{route}`",
        related={"other": "DC", "route": "the route"},
        rule="{rule}",
        question="Choose a cable in its own sheath, or another way than that of the DC conductors.",
    ),
    "CP708": for_designer(
        "error",
        "an AC source is asked for more than it gives",
        "{asked} {unit} is asked of `{subject}`, which gives {given} {unit}",
        label="{given} {unit}",
        notes=("in case `{case}`", Each("charging", "the charging of `{each}` is counted beside the loads")),
        help="{asked} {unit} or more, or a `case` of what really runs together"
        "<; or `shares-supply` on `{yielding}`, if its charging yields to the loads>",
        measure=("asked", "given", "{unit}"),
        question=LOADED,
    ),
    "CP709": for_designer(
        "warning",
        "a start asks more of an inverter than its surge",
        "the start of `{load}` asks {asked} W of `{subject}`, whose surge is {surge} W",
        label="{surge} W",
        notes=("with the rest of case `{case}`",),
        help="a surge of {asked} W or more",
        measure=("asked", "surge", "W"),
        question="Choose an inverter whose surge starts this load.",
    ),
    "CP710": for_designer(
        "warning",
        "the main AC device does not open the neutral",
        "`{subject}` is the main device of `{source}` and leaves the neutral closed",
        label="{poles} pole",
        help="`poles 2`",
        measure=("poles", 2, "poles"),
        rule="{rule}",
        question="Choose a main device that opens the neutral too.",
    ),
    "CP711": for_installer(
        "warning",
        "an AC cable shares a route with unsheathed DC conductors",
        "the AC cable of `{subject}` and the DC conductors of `{other}` share `{route}` without a sheath",
        label="AC",
        help="another route for one of them, or `sheath` on `{other}` or `{route}`",
        related={"other": "DC", "route": "the route"},
        rule="{rule}",
        question="Lay the AC cable apart from bare DC conductors, or sheathe those.",
    ),
    "CP712": for_designer(
        "error",
        "two AC sources can supply at once",
        "nothing parts the lines of `{first}` and `{subject}`: both can supply at once",
        label="the second source",
        notes=("one feeds into the other, out of step, and into whatever lies behind it",),
        help="a transfer switch: `[selector 30 A, poles 2]`, say, in the run of each",
        related={"first": "the first source"},
        measure=("sources", 1, "sources"),
        rule="{rule}",
        question=_TRANSFER,
    ),
    "CP713": for_electrician(
        "warning",
        "the fault current of an AC supply is not known",
        "the fault current of `{subject}` is not known, so no AC device is proven to break it",
        label="states no `fault-current`",
        notes=(
            "{taken:fault} is taken at its terminals for the largest, which is a guess",
            Each("weak", "`{each}` breaks less than a short at it would then be"),
            "what {silent:first 6} can break is not stated either",
            When("guessed", "nor is it told how soon a short or an earth fault far from it opens a breaker"),
        ),
        help="`fault-current 3 kA`, with the figure of whoever supplies it, and `breaks` on the devices behind it",
        rule="{rule}",
        by="before ordering",
        question="Find out the fault current of this supply.",
    ),
    "CP714": for_designer(
        "error",
        "an AC device cannot break its fault current",
        "a short at `{subject}` can reach {current:fault}; it breaks {breaks:fault}",
        label="breaks {breaks:fault}",
        notes=("`{source}` gives {most:fault} at its terminals: {how}",),
        help="a device that breaks {wanted:fault} or more, stated with `breaks`"
        "<, or `backed-by {upper}` if its maker states the combination>",
        measure=("breaks", "current", "A"),
        rule="{rule}",
        question=BREAKS,
    ),
    "CP715": for_maker(
        "warning",
        "what an AC device breaks is not stated",
        "{devices:who AC devices} {devices:states|state} no `breaks`, and a short of `{source}` can reach "
        "{current:fault}",
        label="no `breaks`",
        notes=(Each("shorts", "a short at `{device}`: {current:fault}", most=10),),
        help="`breaks {wanted:fault}`, if that or more is printed on the device",
        measure=("|not stated", "current", "A"),
        rule="{rule}",
        question="Ask the maker of each AC device which fault current it breaks.",
    ),
    "CP716": for_designer(
        "warning",
        "an earth fault opens nothing for sure",
        "supplied by `{source}`, an earth fault is not proven to open {devices:who devices} in time",
        label="no residual-current device on the way",
        notes=(
            Each(
                "faults",
                "`{device}`, {rating} A: an earth fault at `{end}` makes {current} A, and {allowed} s is allowed",
                most=8,
            ),
        ),
        help="`residual {residual:mA}` on it, or on the main device: it opens at a fraction of that current",
        measure=("current", "needed", "A"),
        rule="{rule}",
        question=_RESIDUAL,
    ),
    "CP717": for_designer(
        "warning",
        "a short circuit of an AC circuit is small for its breaker",
        "a short at `{end}` makes {current} A, {times:2} times the rating of `{subject}`",
        label="{rating} A",
        notes=(
            (
                "a breaker of type {curve} opens at once from {many} times its rating",
                "a breaker of the usual type C opens at once from {many} times its rating",
            ),
            SHORTS,
        ),
        help=(
            When(
                "unmeasured",
                "a larger conductor, a smaller rating, or a breaker of `curve b` ({earliest} times); `earth-loop`, if "
                "it is measured",
            ),
            "a larger conductor, a smaller rating, or a breaker of `curve b` ({earliest} times)",
        ),
        measure=("current", "needed", "A"),
        rule="{rule}",
        question="Choose a breaker that opens at once in a short, or a larger conductor.",
    ),
    "CP718": for_electrician(
        "advice",
        "a maker must tell how soon an AC device opens",
        (
            When(
                "lasting",
                "`{source}` gives {most} A for long in a short, which is not proven to open {devices:who devices}",
            ),
            When("unmeasured", "nothing proves how soon a short of `{source}` opens {devices:who devices}"),
            "no curve proves how soon a short of `{source}` opens {devices:who devices}",
        ),
        label=("{lasting} A for long", "not proven"),
        notes=(SHORTS,),
        help=(
            When("lasting", "what `{source}` does in a short, from its maker: it should shut down by itself"),
            When(
                "uncurved",
                "`earth-loop` on `{source}`, as an electrician measures it there: 0.4 ohm, say, and `curve c` (or b, "
                "d) on breakers",
            ),
            When("unmeasured", "`earth-loop` on `{source}`, as an electrician measures it there: 0.4 ohm, say"),
            When("fuses", "the maker's curve at these currents"),
            "`curve c` (or b, d), where the breaker is one by IEC 60898-1; else the maker's curve at these currents",
        ),
        rule="{rule}",
        question="Measure the earth loop, or get from the makers how soon these devices open in a short.",
    ),
    "CP719": for_designer(
        "error",
        "an inverter feeds its own inlet",
        "the output of `{subject}` comes back to its own inlet `{subject}.ac-in`",
        label="fed by its own output",
        notes=("it would charge the bank that it empties, and may feed itself out of step",),
        help=(
            "`{subject}.ac-in` on `{source}`, ahead of where its output joins; the panel on `{subject}.ac-out`",
            "`{subject}.ac-in` on the supply, ahead of where its output joins; the panel on `{subject}.ac-out`",
        ),
        related={"inverter": "the inverter"},
        rule="common practice, no source",
        question="Feed the inlet of the inverter ahead of where its output joins.",
    ),
}
