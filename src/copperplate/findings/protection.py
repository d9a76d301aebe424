"""Codes 4xx that speak of where devices stand and of the conductors, bars and banks that they protect. A row each;
`findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.conductors import VOLTAGE
from copperplate.findings.devices import GUARDS
from copperplate.findings.entry import Entry, When, for_designer, for_installer, for_maker

IN_LAW = (
    When(
        "within",
        "{percent} % of it, {legal} A, is the limit of {law}: {rating} A is within that, and 100 % is kept to here",
    ),
    "{percent} % of it, {legal} A, is the limit of {law}: {rating} A is above that, and 100 % is kept to here",
)
"""What the rule itself would allow, where that is more than is kept to here."""
PASSED = "`{subject}` is rated {rating} A, and {devices:and} before it {devices:lets|let} {passed} A pass"
PASSES_LESS = "one rated {passed:enough A} or more, or a smaller device before it"

_BEGINS = "Put a device where this conductor begins, or choose a larger conductor."
_CARRIES = "Choose a part that is rated for the current that it carries."
_BEFORE = "Choose a part with a higher rating, or a smaller device before it."

CODES: dict[str, Entry] = {
    "CP401": for_designer(
        "error",
        "an ungrounded conductor has no device against a source that can feed a fault",
        "nothing protects `{subject}`: {length} of conductor from `{source}` to `{end}` without a device",
        label="no fuse and no breaker on the way",
        help="a `[fuse]` within {limit} of `{start}`",
        related={"source": "it can feed a fault"},
        measure=("|none", 1, "device"),
        rule="{rule}",
        question="Put a fuse or breaker near the source of this conductor.",
    ),
    "CP402": for_designer(
        "error",
        "the device stands too far from the source",
        "`{subject}` stands {length} from `{start}`, and {limit} is allowed",
        label="{length} of conductor before it",
        notes=("{reading}: {rule}",),
        help=(
            When(
                "mounted",
                "mount `{subject}` at `{start}`<, or conductors that carry the {passed:4} A that the device before "
                "`{start}` lets pass>",
            ),
            "move `{subject}` to {limit} or nearer<, or conductors that carry the {passed:4} A that the device before "
            "`{start}` lets pass>",
        ),
        related={"conductor": "this conductor is not protected"},
        measure=("length_m", "limit_m", "m"),
        rule="{rule}",
        question="Mount this device nearer to the source.",
    ),
    "CP403": for_designer(
        "error",
        "a conductor gets smaller and has no device of its own",
        "`{subject}` ({size}) carries {carries} A, and {devices:and} before it {devices:lets|let} {rating} A pass",
        label="it gets smaller here without a device of its own",
        notes=(IN_LAW,),
        help="a `[fuse]` of {carries} A or less where it leaves `{start}`<, or {larger}>",
        related={"device": "{own} A"},
        measure=("rating", "carries", "A"),
        rule="{rule}",
        question=_BEGINS,
    ),
    "CP404": for_designer(
        "error",
        "the device is rated above what its conductor carries",
        (
            When("single", "{devices} lets {rating} A pass, and the return `{returns}` ({laid}) carries {carries} A"),
            "{devices} let {rating} A pass, and the return `{returns}` ({laid}) carries {carries} A",
            "`{subject}` is {rating} A and `{run}` ({size}) carries {carries} A",
        ),
        label=(When("returns", "carries {carries} A"), "{rating} A"),
        notes=(When("returns", "a fault current comes back through it, and no device of its own stands in it"), IN_LAW),
        help=(
            "{fitting}, or leave the size out",
            When("returns", "leave the size out"),
            "{next} A or {larger}",
            "{next} A",
            "{larger}",
            "less load on this circuit",
        ),
        related={"devices": "{rating} A", "run": "carries {carries} A after its factors"},
        measure=("rating", "carries", "A"),
        rule="{rule}",
        question=GUARDS,
    ),
    "CP420": for_designer(
        "error",
        "a bar or panel carries more than its rating",
        "`{subject}` carries {current} A and is rated {rating} A",
        label="{rating} A",
        notes=("largest in case `{case}`",),
        help="a {kind} of {needed:enough A} or more",
        measure=("current", "rating", "A"),
        question=_CARRIES,
    ),
    "CP421": for_designer(
        "warning",
        "a bar or panel is protected above its rating",
        PASSED,
        label="{rating} A",
        help=PASSES_LESS,
        related={"device": "{own} A"},
        measure=("passed", "rating", "A"),
        question=_BEFORE,
    ),
    "CP422": for_designer(
        "error",
        "a switch, relay, selector or shunt carries more than its rating",
        "the {kind} `{subject}` carries {current} A and is rated {rating} A",
        label="{rating} A",
        help="a {kind} of {needed:enough A} or more",
        measure=("current", "rating", "A"),
        question=_CARRIES,
    ),
    "CP423": for_designer(
        "warning",
        "a switch, relay, selector or shunt is protected above its rating",
        PASSED,
        label="{rating} A",
        help=PASSES_LESS,
        related={"device": "{own} A"},
        measure=("passed", "rating", "A"),
        question=_BEFORE,
    ),
    "CP424": for_installer(
        "warning",
        "more conductors than a stud takes",
        (
            "{lugs} ring terminals land on `{node}`, whose {several} studs {stud} take {limit}",
            "{lugs} ring terminals land on `{node}`, whose 1 stud {stud} takes {limit}",
        ),
        label="{stud}: {each} a stud at most",
        help=("{wanted} studs", "a bar beside it"),
        measure=("lugs", "limit", "lugs"),
        rule="{rule}",
        by="before ordering",
        question="Spread the ring terminals over more studs, or fit a bar beside them.",
    ),
    "CP425": for_designer(
        "error",
        "a floating negative needs a device in both poles",
        "the negative floats, and {count:device opens|devices open} one pole only: {devices:first 4}",
        label="one pole",
        help="`poles 2` on each, or `negative earthed` where it is",
        related={"device": "one pole"},
        measure=("count", 0, "devices"),
        rule="{rule}",
        question="Choose devices that open both poles, or earth the negative.",
    ),
    "CP426": for_designer(
        "warning",
        "three or more strings in parallel without a fuse each",
        "`{subject}` has {strings} strings in parallel, and no fuse in each is drawn",
        label="{others} strings can feed one",
        notes=(
            (
                When("array", "a module that fails is fed by the others, before the main device"),
                "a battery that fails is fed by the others, before the main device",
            ),
        ),
        help=(
            When("array", "a fuse in each string, of the module's largest series fuse, in its combiner"),
            "a `battery` statement for each string, each with its fuse to the bar; or accept this where the bank has "
            "them inside",
        ),
        measure=("strings", "limit", "strings"),
        rule="{rule}",
        question="Put a fuse in each string, or say that the bank has them inside.",
    ),
    "CP427": for_designer(
        "error",
        "the voltage falls too far while a motor starts",
        "`{subject}` gets {volts} V while it starts at {amperes} A and works from {low} V",
        label="{amperes} A for a start",
        notes=("{ohm:mohm} out and back, in case `{case}`",),
        help=(
            "{size} for {leads:and}",
            When("unsized", "shorter or larger conductors"),
            "{leads:and} shorter, or the feeders before larger",
            "the runs before it shorter, or the feeders before larger",
        ),
        measure=("volts", "low", "V"),
        related={"run": "this run loses the most"},
        question=VOLTAGE,
    ),
    "CP429": for_designer(
        "error",
        "a device breaks a conductor that must stay whole",
        "the {kind} `{subject}` stands in {conductor}: when it opens, the rest stays live",
        label="in a conductor that must stay whole",
        help=(When("earth", "delete `{subject}`"), "`{subject}` in the other conductor"),
        rule="{rule}",
        question="Take this device out of the conductor that must stay whole.",
    ),
    "CP430": for_maker(
        "advice",
        "a switch, relay, selector or shunt without a rating",
        "the {kind} `{subject}` states no rating; it carries {current} A",
        label="no rating",
        help="state its rating, {needed:enough A} or more",
        measure=("|not stated", "current", "A"),
        question="Ask the maker of this part for its rating.",
    ),
    "CP432": for_designer(
        "error",
        "a conductor without a device carries less than its source gives",
        "`{subject}` ({size}) carries {carries} A, and its source gives {rating} A",
        label="no device before it",
        help="a `[fuse]` of {carries} A or less where it begins<, or {larger}>",
        measure=("rating", "carries", "A"),
        rule="{rule}",
        question=_BEGINS,
    ),
    "CP433": for_designer(
        "error",
        "the device is larger than a small conductor may have",
        "`{subject}` is {rating} A, and {size} of `{run}` may have {limit} A before it",
        label="{rating} A",
        help="<{larger}, or >{limit} A",
        related={"run": "{size}"},
        measure=("rating", "limit", "A"),
        rule="{rule}",
        question=GUARDS,
    ),
    "CP434": for_designer(
        "warning",
        "two devices in parallel",
        "`{subject}` stands in parallel with `{first}`: neither opens the circuit alone",
        label="beside the other",
        notes=("they need not share the current, and together they let the sum of their ratings pass",),
        help="one device and one conductor (or `parallel 2` behind one device)",
        related={"first": "the other"},
        measure=("devices", 1, "devices"),
        rule="{rule}",
        question="Put one device and one conductor in the place of two devices in parallel.",
    ),
    "CP435": for_designer(
        "warning",
        "a short to the body can drive more through its bond than the bond carries",
        "a short to the body drives up to {passed} A through `{subject}` ({size}), which carries {carries} A",
        label="every short to the body comes back here",
        notes=("{devices:names} {devices:lets|let} {passed} A pass for ever",),
        help=("{larger}, or a smaller main device", "a smaller main device, or conductors in parallel"),
        related={"device": "before the body"},
        measure=("passed", "carries", "A"),
        rule="{rule}",
        question=GUARDS,
    ),
}
