"""Codes 5xx: rules and terminals. A row each; `findings/entry.py` says how to read it."""

from __future__ import annotations

from copperplate.findings.conductors import LARGER
from copperplate.findings.entry import Entry, When, for_designer, for_installer, for_maker

_ADVISED = "Ask the maker of the equipment which conductor is right for this length and current."
_SHELF = "Decide which sizes of conductor to buy."

CODES: dict[str, Entry] = {
    "CP501": for_designer(
        "error",
        "the conductor does not fit its terminal",
        "`{subject}` is {size}< ({area} mm²)>, and `{part}` takes it in a {terminal}",
        label="does not fit",
        notes=(
            (
                "{fitting}, the largest that fits, is refused by {refused}",
                "with {fitting}, the largest that fits, the drop to {loads} exceeds its budget",
            ),
        ),
        help=(
            "{remedies:or}",
            "{smaller}, or leave the size out",
            "{larger}",
            "a terminal that takes it",
        ),
        measure=("size", "terminal", ""),
        related={"terminal": "{terminal}"},
        question="Choose a conductor and a terminal that fit each other.",
    ),
    "CP502": for_maker(
        "warning",
        "the maker advises a smaller conductor than is needed",
        "the maker of `{part}` advises {advised}, and `{subject}` is {laid}",
        notes=(
            (
                When("outside", "{advised} is refused here: it is outside the tables"),
                When("minimum", "{advised} is refused here: it is below the least size"),
                "{advised} is refused here: it is good for {good} A of {carries} A",
                "{advised} is refused here: it is good for {good} A, and its device is {protect} A",
                When("terminal", "{advised} is refused here: it does not fit its terminals"),
                When("stock", "{advised} is refused here: it is not on the shelf"),
                "{advised} is refused here: with it `{load}` loses {lost} % on its way, and {allowed} % is its budget",
                "{advised} is refused here: with it `{load}` falls below its window as it starts",
                "{advised} is refused here: it would cost more copper elsewhere",
            ),
        ),
        help="its documents and the physics disagree: ask the maker before laying it; the larger is taken",
        related={"maker": "says so"},
        question=_ADVISED,
    ),
    "CP503": for_designer(
        "warning",
        "a stated conductor is smaller than the maker advises",
        "the maker of `{part}` advises {advised}, and `{subject}` is {laid}",
        help=("{fitting}, or leave the size out", "{advised}"),
        related={"maker": "says so"},
        question="Choose at least the conductor that the maker of the equipment advises.",
    ),
    "CP504": for_maker(
        "warning",
        "the maker's advice ends at a shorter length",
        "the maker of `{part}` advises {advised} to {reach}, and `{subject}` is {length}",
        help="ask the maker for the size at this length; the larger of both is taken until then",
        related={"maker": "says so"},
        question=_ADVISED,
    ),
    "CP505": for_designer(
        "error",
        "the size of an earth conductor is not known",
        (
            "the size of the earth conductor `{subject}` is not known: {outside}",
            "the size of the earth conductor `{subject}` is not known: the rules {profile} have no table of earth "
            "conductors for it",
        ),
        notes=("`{device}` is the largest device to clear, {amperes} A",),
        help="state it; common practice, no source: not more than one size under the largest current-carrying "
        "conductor<, so {size} here ({largest} in `{run}`)>",
        question="State the size of this earth conductor, for the rules do not give it.",
    ),
    "CP506": for_designer(
        "error",
        "a stated earth conductor is too small",
        "`{subject}` is {size}, and its earth conductor must be {needed}",
        notes=("{formula}",),
        help="{needed}, or leave the size out",
        rule="{rule}",
        question=LARGER,
    ),
    "CP507": for_designer(
        "warning",
        "a stated conductor is smaller than a comparable device asks for",
        "a comparable device asks for {advised}, and `{subject}` at `{part}` is {laid}",
        notes=("read from: {read_from}",),
        help=("{fitting}, or leave the size out", "{advised}"),
        related={"maker": "says so"},
        question="Choose at least the conductor that a comparable device asks for.",
    ),
    "CP508": for_designer(
        "warning",
        "a stated size is not on the shelf",
        "`{subject}` is {size}, which is not on the shelf",
        notes=("the shelf has {shelf}",),
        help="<{fitting}, or >leave the size out",
        question=_SHELF,
    ),
    "CP509": for_designer(
        "error",
        "nothing on the shelf serves a run",
        "`{subject}` needs {size}, and nothing on the shelf serves",
        notes=("the shelf has {shelf}",),
        help="add {size}",
        question=_SHELF,
    ),
    "CP510": for_designer(
        "advice",
        "a name is longer than a sheet has room for",
        tuple(
            f"{what}, {{length:9}} characters, is cut on {where}: there is no room for all of it"
            for what in ("the `{setting}` of the system", "the title of `{titled}`", "the name `{named}`", "a text")
            for where in ("sheets {first} to {last}", "sheet {first}")
        ),
        notes=("it begins: {beginning}", "the report has it in full"),
        help="say it shorter",
        question="Choose shorter words for what a sheet has no room for.",
    ),
    "CP511": for_designer(
        "warning",
        "no shelf of so few sizes serves the plate",
        "no shelf of {count:size|sizes} serves the plate: stated sizes and terminals ask for more",
        help="`copperplate stock` shows what each number costs; leave out a stated size, or allow more sizes",
        question=_SHELF,
    ),
    "CP550": for_installer(
        "advice",
        "well-loaded conductors lie together",
        "{count} well-loaded conductors lie together in `{subject}`",
        notes=("no factor is asked for below 50 V; from {limit} on they heat each other noticeably",),
        help="part them, or lay them loosely; `free-air` on the route if they are",
        rule="{rule}",
        question="Part these conductors or lay them loosely, for they heat each other.",
    ),
}
