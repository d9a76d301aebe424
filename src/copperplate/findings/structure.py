"""Codes 22x and 23x: runs, terminals and what hangs together. A row each; `findings/entry.py` says how to read it.

`part` is the component at the end of a run, `address` that end as written, `stroke` the stroke of the run, `near` and
`far` its ends.
"""

from __future__ import annotations

from copperplate.findings.entry import Entry, When, for_designer

_THE_KIND = {"part": "the {kind}"}


def _consumers(text: str, one: str, several: str) -> tuple[str | When, ...]:
    """A sentence on consumers, with their number where they are a crowd and else their names, and the verb's form."""
    return (
        text.replace("<>", f"{{crowd}} consumers {several}"),
        When("several", text.replace("<>", f"{{consumers:names}} {several}")),
        text.replace("<>", f"{{consumers:names}} {one}"),
    )


_ENDS = "Correct this conductor as it is drawn: it does not fit its ends or what is drawn in it."

CODES: dict[str, Entry] = {
    "CP220": for_designer(
        "error",
        "a run without its length",
        (
            "no length between `{near}` and `{far}`",
            "the route `{route}` says no length, so this run has none",
            "this stretch of the run has no length",
        ),
        help=(
            "`{near} {stroke} {sample} -- {far}`, say: the length one way",
            "`route {route} {sample}`, say",
            "`{sample}, {written}`, say: one way, the compiler counts the way back",
        ),
        related={"route": "the route"},
        question="Measure this conductor, and state its length one way.",
    ),
    "CP221": for_designer(
        "error",
        "a run ends at something that is no component",
        (
            "the negatives of `{subject}` cannot return to `{bar}`, {what}",
            "a run ends at a component, and `{name}` is {kind:an}",
        ),
        help=(
            "`return {other}`",
            When("bar", "declare a negative bar: `bus minus negative, 100 A`"),
            When("route", "`via {name}` between two strokes where the run goes through it"),
            When("run", "put a `junction` where one run leaves another"),
            "end at a component, or put a `junction` there",
        ),
        related={"bar": "{what}"},
        question=_ENDS,
    ),
    "CP222": for_designer(
        "error",
        "no such terminal",
        (
            "`{part}` has no negative bar of its own: its circuits return to `{bar}`",
            When("point", "{kind:an} has one point and no terminals"),
            "{kind:an} has no terminal `{terminal}`",
        ),
        help=(
            "end at `{bar}`, or take `return {bar}` out",
            "`{point}`",
            "`{likely}`",
            "{options:any}",
            "it has {has:names}",
        ),
        related=_THE_KIND,
        question=_ENDS,
    ),
    "CP223": for_designer(
        "error",
        "which terminal is meant",
        (
            "`{part}` has an input and an output, and a run that goes on behind it must say which it means",
            "`{subject}` has more than one terminal, and a single conductor lands on one",
        ),
        label=When("options", "which one?"),
        help=(
            "end this run at `{first}` and begin another at `{last}`",
            When("ac", "{options:any}; a cable `-///-` lands on all"),
            "{options:any}; a pair `-//-` lands on both",
        ),
        related=_THE_KIND,
        question=_ENDS,
    ),
    "CP224": for_designer(
        "error",
        "a pair lands on a single pole",
        (
            "`{stroke}` is {cable}, and `{subject}` is one terminal",
            "`{part}` is a {polarity} bar: {cable} cannot land on it",
            "`{part}` is a {kind} of one pole: {cable} cannot land on it",
        ),
        help=(
            "`{part}` takes {taken}; `--` is one conductor",
            "two single runs: `{out}` and `{back}`",
            "`--`, for `{other}` is one pole too",
            "end at a component with as many poles",
        ),
        related=_THE_KIND,
        question=_ENDS,
    ),
    "CP225": for_designer(
        "error",
        "no such way, or none left",
        (
            When("lost_one", "`{subject}` has {ways} ways, all taken: one circuit finds none"),
            "`{subject}` has {ways} ways, all taken: {lost} circuits find none",
            "there is no way {way}: `{panel}` has {ways} ways",
            "there is no way {way}: ways are counted from 1",
        ),
        label=When("lost", "no way left for this"),
        help=(
            "`ways {wanted}`, or a second panel",
            "`{panel}.1` to `{panel}.{ways}`, or `{panel}` for the next free one",
            "`{panel}.1`",
        ),
        related={"ways": "its ways", "others": "nor for this"},
        question="Choose a panel with enough ways, or a second one.",
    ),
    "CP226": for_designer(
        "error",
        "a bracket that does not say its device",
        (
            "`{word}` is no kind of device",
            When("name", "the device of a way is called by its way, `{subject}`, and takes no name of its own"),
            "`{written}` does not say what it is<; only right beside the panel is it the device of way {way}>",
        ),
        help=(
            When("word", "{devices:any}; a name has a colon behind it, `[{named}]`"),
            "`[{inside}]`, or `[{name}: fuse ...]` for one more device in the line",
            "<`[fuse {inside}]`, or another of >{devices:any}",
        ),
        question=_ENDS,
    ),
    "CP227": for_designer(
        "error",
        "two devices of one kind in a run",
        "two {kinds} of this run would be called `{subject}`",
        help="name them, as in `[{own}: {inside}]`",
        related={"first": "the first"},
        question=_ENDS,
    ),
    "CP228": for_designer(
        "error",
        "a run says two things of itself",
        "this run says `{first}` and `{second}`: all of it is one conductor",
        label="and this",
        help="keep one of them, or put a `junction` where the conductor changes",
        related={"first": "this"},
        question=_ENDS,
    ),
    "CP229": for_designer(
        "error",
        "conductors that do not fit the ends",
        (
            "`{part}` is fed by one line, and `{taker}` takes two",
            When("supply", "`{other}` takes AC, and `{subject}` has DC terminals only"),
            "`{stroke}` carries {want} here, and `{subject}` has {has} terminals only",
        ),
        help=(
            When("cable", "feed `{part}` by `-////-`, or leave the way by `-///-`"),
            When("taker", "feed `{part}` by `-////-`, or give the load its voltage"),
            When("supply", "feed it from an AC panel, a shore supply or an inverter's `ac-out`"),
            When("may_be_ac", "add `ac` to `{part}` if it is an AC {kind}; else `-//-`, a pair"),
            "`{part}` has {groups:names}",
            "end it at a component of its kind",
        ),
        related=_THE_KIND,
        question=_ENDS,
    ),
    "CP230": for_designer(
        "error",
        "two poles joined",
        (
            When("units", "this run joins `{near}`, {near_pole}, to `{far}`, {far_pole}"),
            "this run joins {near_pole} and {far_pole}: `{near}` and `{far}`",
        ),
        help=(
            When("unlike", "{units} units in series are alike and one `{units}` here: `series {series}` on it"),
            "`series {series}`< and `link {length:m}`> on `{first}` instead of {others:and}: "
            "units in series are one `{units}` here",
            "`{terminal}`",
            "earth the negative: `{negative}`",
            When("earth", "earth a negative bar"),
            "end it at `{bar}`, a {polarity} bar",
            "end it at a terminal of the same pole",
        ),
        related={
            "near_run": "makes `{near}` {near_pole}",
            "far_run": "makes `{far}` {far_pole}",
            "near_part": "{near_pole}",
            "far_part": "{far_pole}",
        },
        question="Join only terminals of one pole.",
    ),
    "CP231": for_designer(
        "error",
        "a bar fed at two voltages",
        (
            "`{place}` is fed at two voltages: {first:V} by `{source}` and {second:V} by `{other}`",
            "two voltages are joined: {first:V} of `{source}` and {second:V} of `{other}`",
        ),
        label="brings {second:V}",
        help=(
            When("array", "an array charges through a `controller`"),
            When("mains", "correct one of them, or feed a panel of its own"),
            "give each voltage a bar of its own; a `converter` joins them",
        ),
        related={"first_run": "brings {first:V}", "second": "{second:V}", "first": "{first:V}"},
        question="Give each voltage a bar of its own, or join them by a converter.",
    ),
    "CP232": for_designer(
        "error",
        "no way back",
        (
            "no run reaches `{pair}`<, and others reach `{part}`>",
            When("positive", "no run reaches `{subject}`, and one reaches `{other}`"),
            When("other", "`{subject}` has no way back: no run reaches it"),
            *_consumers("`{panel}.neg` has no way back to a source, and <> to it", "returns", "return"),
            *_consumers("`{earth}` is not said to conduct, and <> to it", "returns", "return"),
            "`{alone}` has no way back to what feeds it",
            *_consumers("`{subject}` has no way back to a source, and <> to it", "returns", "return"),
        ),
        help=(
            "draw its run: a pair `-//-` between `{pair}` and its bar or panel",
            When("positive", "`{bar} -- {length} -- {subject}`"),
            "`{subject} -- {length} -- {bar}`",
            "a run from it to a {polarity} bar, {length} long",
            "<`return {negative}` on the panel, or >feed `{panel}` by a pair `-//-`",
            "`earth {earth} conducts` if it carries return current, else a run to a negative bar",
            When("alone", "end its negative where the negative of its source is"),
            "join `{subject}` to the negative of the source",
        ),
        related={"run": "the run of `{other}`", "consumers": "hangs on it"},
        question="Draw how the current returns to its source.",
    ),
    "CP233": for_designer(
        "error",
        "nothing feeds it",
        (
            When("inlet", "nothing feeds `{subject}`: no run reaches `{inlet}`"),
            "nothing feeds `{alone}`: no source is on its circuit",
            *_consumers("nothing feeds `{subject}`, and <> on it", "hangs", "hang"),
            "no run reaches `{subject}`",
        ),
        help=(
            "draw its supply: `... -///- LENGTH -- {inlet}`",
            When("alone", "run it from a way of a panel, or from a bar that a battery feeds"),
            "draw the run that feeds it: `{bar} -- [fuse] -- LENGTH -- {subject}`",
            "draw its run, `... -//- LENGTH -- {subject}`, or delete it",
        ),
        related={"consumers": "hangs on it"},
        question="Draw what feeds this part.",
    ),
    "CP234": for_designer(
        "error",
        "a bar of unknown polarity",
        "`{subject}` does not say which pole it carries, and nothing that lands on it tells",
        help="`bus {subject} positive`, `negative` or `both`",
        question="Say which pole this bar carries.",
    ),
    "CP235": for_designer(
        "error",
        "a run from a place to itself",
        (
            "the return of this pair begins and ends at `{bar}`",
            "this run begins and ends at `{near}`",
        ),
        help=(
            "`--`, a single conductor: `{part}` returns to `{bar}` by itself",
            "end it at another component",
        ),
        question=_ENDS,
    ),
    "CP236": for_designer(
        "error",
        "more poles than conductors",
        "`{subject}` opens {poles} poles, and its run has {conductors} to open",
        help=("`poles {most}`", "leave `poles` out, or draw a pair `-//-`"),
        question=_ENDS,
    ),
    "CP237": for_designer(
        "error",
        "a device fed at another voltage than it says",
        "`{subject}` takes {wants:V} and is fed with {given:V} by `{feeder}`",
        help=(
            When("load", "feed it from {wants:V}, or correct its voltage"),
            "feed it from {wants:V}, or correct `in`",
        ),
        related={"feeder": "feeds {given:V}"},
        question="Feed this device at the voltage that it takes.",
    ),
}
