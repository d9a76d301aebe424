"""Codes 20x, 21x, 24x and 25x: names, facts, cases and what is accepted. A row each; `findings/entry.py` says how to
read it.

`likely` is the name that was probably meant, `first` what stands there already, `kind` the word of a statement.
"""

from __future__ import annotations

from copperplate.findings.entry import Entry, When, for_designer

_KEEP = "keep one of them"
_ON_OFF = "loads, sources, switches and relays"
"""What a case turns on and off."""

_MEANT = "Correct this line of the plate, which does not fit what is said elsewhere."
_ACCEPTED = "Correct or delete the line that accepts this: there is nothing that it may accept."

CODES: dict[str, Entry] = {
    "CP201": for_designer(
        "error",
        "a name twice",
        (
            When("system", "a plate has one `system` statement, and this is another"),
            When("implied", "`{subject}` is a case that every plate has"),
            "two things are called `{subject}`: {was:an} and {kind:an}",
            "two {kinds} are called `{subject}`",
        ),
        label=When("other", "again"),
        help=(
            When("system", "put all of it into the first"),
            When("implied", "`{subject}-2`, or a name that says more"),
            "call one of them `{other}`, or better",
        ),
        related={"first": (When("system", "first"), "the first")},
        question=_MEANT,
    ),
    "CP202": for_designer(
        "error",
        "an unknown name",
        (
            "`{name}` is a {other} and no route",
            "no route is called `{route}`",
            "no device is called `{device}`",
            "no part is called `{part}`",
            "nothing has the address `{address}`",
            "nothing is called `{name}`",
        ),
        notes=("{runs} runs end at `{name}`",),
        help=(
            When("other", "declare a route: `route {name}-way 2 m`"),
            "`{keyword} {likely}`",
            "`{likely}`",
            "declare it: `route {route} 2 m`",
            When("behind", "name the device that stands before it"),
            "name the device that stands before it: `[{device}: fuse]`",
            "declare it: `part {part} {kind}, ...`",
            When("address", "a finding names its subject: a run, a device or a part"),
            When("case", f"a case names {_ON_OFF}"),
            When("keyword", "declare it: `bus {name} negative, 100 A`"),
            "declare it, as in `load {name} 60 W`, or `junction {name}`",
        ),
        related={"others": "nor here"},
        question=_MEANT,
    ),
    "CP203": for_designer(
        "error",
        "an unknown kind of statement",
        ("a part cannot be {kind:an}", "no statement begins with `{subject}`"),
        help=(
            When("kind", "`part {subject} {likely}`"),
            When("kind", "a part is a component or a device: `part roof-fan load`"),
            "a {subject} stands in the line of a run: `-- [{inside} ...] --`",
            "indenting this line, if it goes on with the {above} above",
            "`{likely}`",
            "a plate declares what there is, `load fridge 60 W`, and draws its runs",
        ),
        question=_MEANT,
    ),
    "CP204": for_designer(
        "error",
        "an unknown word in a statement",
        (
            When("text", "`{subject}` has no place for this text"),
            "`{title_of}` and its title stand in the statement of `{subject}`",
            When("part", "`{subject}` is a part, and takes nothing from another"),
            "no device is called `{device}`",
            "{kind:an} has no `{word}`",
        ),
        help=(
            When("text", "delete it"),
            "begin a statement in the first column with its kind: `load {title_of} ...`",
            When("part", "say its facts here"),
            "`{instead}`",
            When("bracket", "a device stands in brackets: `[{word}]`"),
            "`{word}` is said of {owners}",
            When("others", "{kind:an} says {knows:names} among others"),
            "{kind:an} says {knows:names}",
        ),
        question=_MEANT,
    ),
    "CP205": for_designer(
        "error",
        "an attribute twice",
        (
            "`{subject}` says its {word} twice: `{first}` and `{second}`",
            When("device", "`{subject}` has its device already, and this says it again"),
            "this stretch goes through `{route}` twice",
            "{code} of `{subject}` is accepted twice",
            "`at-most` is said twice",
        ),
        label=(When("first", "again"), When("route", "again")),
        help=(When("device", "say it once"), When("route", "leave one of them out"), _KEEP),
        related={"first": (When("device", "the first circuit"), When("code", "the first"), "first")},
        question=_MEANT,
    ),
    "CP206": for_designer(
        "error",
        "a statement without its name",
        (
            When("spelled", "`{subject}` is no name: a name has no dot, which stands for a terminal or a way"),
            When("part", "a `part` says its name and its kind"),
            When("component", "this {subject} has no name, so no run can reach it"),
            "this {subject} has no name",
        ),
        help=("`{spelled}`, say", When("part", "`part roof-fan load, 4 A`"), "`{instead}`"),
        question=_MEANT,
    ),
    "CP207": for_designer(
        "error",
        "two runs or devices with one address",
        (When("inside", "two devices would be called `{subject}`"), "two runs would be called `{subject}`"),
        label=When("opening", "the second"),
        help=(
            "name them, as in `[{own}: {inside}]`",
            "two sources take turns: a name and a selector in the run of each, as in `{opening} ... "
            "-- [selector {rating}, poles 2] -- 1 m -- {far}`",
            "draw it from the panel: `{panel} {stroke} ... -- {near}`",
            "name one of them, as in `{opening} ...`",
        ),
        related={"first": "the first"},
        question=_MEANT,
    ),
    "CP208": for_designer(
        "error",
        "no system statement",
        "the plate has no `system` statement",
        help='begin with `system "Title"` and, indented below it, `nominal 12 V`',
        question=_MEANT,
    ),
    "CP209": for_designer(
        "error",
        "a fact is missing",
        ("`{subject}` does not say {what}", "the system does not say its nominal voltage"),
        help=("add {how}", "`nominal 12 V`: every percentage of the plate is of it"),
        question=_MEANT,
    ),
    "CP210": for_designer(
        "error",
        "two facts that contradict each other",
        (
            When("earth", "`{subject}` has a resistance and is not said to conduct"),
            "`{written}` does not fit a battery of {volts:V}",
            "`{subject}` says `{first}` and `{second}`, and one of them follows from the other",
            "the system is of {nominal:V}, and `{subject}` gives {given:V}",
            "`{subject}` cannot stand behind itself",
        ),
        help=(
            When("earth", "add `conducts` where it is the return of circuits, else delete the resistance"),
            When("written", "the figure of one battery; `series` and `parallel` count for the bank"),
            When("first", "keep the figure that its maker states"),
            "<`series {series}` on `{subject}`, or >`nominal {class_v:V}`",
            "`backed-by` with the device before it, as its maker states the combination",
        ),
        related={"voltage": "its voltage", "first": "and this", "system": "the system"},
        question=_MEANT,
    ),
    "CP211": for_designer(
        "error",
        "a used file cannot be found",
        "there is no file `{path}` beside `{main}`",
        help="a path counted from the file that says `use`",
        question=_MEANT,
    ),
    "CP212": for_designer(
        "error",
        "a used file outside the folder of the plate",
        '`use "{path}"` leads outside the folder of the plate',
        help="put the file into that folder or below it, and write its path from there with `/`",
        question=_MEANT,
    ),
    "CP213": for_designer(
        "error",
        "files that use each other in a circle",
        "these files use each other in a circle: {circle}",
        help="take one of these `use` lines out",
        question=_MEANT,
    ),
    "CP214": for_designer(
        "error",
        "a used file holds more than parts",
        "`{subject}` is used for its parts, and {kind:an} stands in it",
        help="move it to `{main}`",
        question=_MEANT,
    ),
    "CP215": for_designer(
        "error",
        "a type of another kind",
        (
            "`{subject}` is {kind:an}, and the part `{part}` is {other:an}",
            "the part `{part}` is a {other}, and a {other} does not stand in the line of a run",
        ),
        help=("declare a part of kind `{kind}`", "name it at the end of a run"),
        related={"part": "{other:an}"},
        question=_MEANT,
    ),
    "CP240": for_designer(
        "warning",
        "a load that no case turns on",
        "no case turns `{subject}` on, so no feeder counts it",
        help="name it in the case where it runs, or in one of its own: `case {subject}-on on {subject}`",
        question="Say in which case this load is on.",
    ),
    "CP241": for_designer(
        "warning",
        "a load that is on while what feeds it is off",
        (
            "`{case}` opens {devices:names} and leaves `{subject}`, fed through it, on",
            "`{case}` turns `{source}` off and leaves `{subject}`, which it feeds, on",
        ),
        help=(
            "take `{subject}` out of `on`, or leave {devices:any} closed",
            "turn `{subject}` off too, or leave `{source}` on",
        ),
        related={"on": "on"},
        question="Say whether this load is on while what feeds it is off.",
    ),
    "CP242": for_designer(
        "error",
        "a case that says two things",
        ("the case turns `{name}` on and off", "the case lists what is on, so the rest is off already"),
        label=When("name", "off"),
        help=(
            When("name", _KEEP),
            "take this `off` out; only switches and relays may be listed beside `on`",
        ),
        related={"on": "on"},
        question=_MEANT,
    ),
    "CP243": for_designer(
        "error",
        "a case names something that cannot be on or off",
        f"`{{name}}` is {{kind:an}}, and a case turns on and off {_ON_OFF}",
        help=(When("in_line", "put a `switch` in the line and name it here"), "name the loads on it"),
        question=_MEANT,
    ),
    "CP245": for_designer(
        "advice",
        "declared and never used",
        (
            When("route", "the route `{subject}` is declared and no run goes through it"),
            When("kind", "the part `{subject}` is declared and nothing is one"),
            "`{subject}` is declared and no run reaches it",
        ),
        help=(
            When("route", "`via {subject}`, or delete it"),
            "`part {subject}` on a {kind}, or delete it",
            "draw its run, or delete it",
        ),
        question="Draw what is declared and never used, or delete it.",
    ),
    "CP246": for_designer(
        "advice",
        "links of a bank of unknown length",
        "`{subject}` has {batteries} batteries and does not say how long the links between them are",
        help="`link {sample}`, say; {length:m} is assumed",
        question="Measure the links between the batteries, and state how long they are.",
    ),
    "CP247": for_designer(
        "warning",
        "two circuits on one way",
        "two circuits leave by way {way} of `{panel}`, behind one device",
        label="the second",
        help="`{panel}` for the next free way, unless both are meant to share the device",
        related={"first": "the first"},
        question="Say whether these two circuits are meant to share one way and its device.",
    ),
    "CP250": for_designer(
        "error",
        "an accept that names no finding",
        ("there is no finding `{code}`", "an `accept` names a finding, its subject and the reason"),
        help=(
            When("code", "the code that stands at the head of the finding, as `CP412`"),
            '`accept CP412 galley.run "existing cable, to be replaced at refit"`',
        ),
        question=_ACCEPTED,
    ),
    "CP251": for_designer(
        "error",
        "an error cannot be accepted",
        "{accepted} of `{subject}` is an error and cannot be accepted",
        help="mend what the error says",
        question=_ACCEPTED,
    ),
    "CP252": for_designer(
        "warning",
        "an accept that silences nothing",
        "{accepted} of `{subject}` is accepted here and does not occur",
        help="delete this line",
        question=_ACCEPTED,
    ),
}
