"""Codes 1xx: reading the text of a plate. A row each; `findings/entry.py` says how to read it.

`instead` is what a plate would write, `sample` how it writes an attribute, `word` the attribute's word, `written`
what stands there.
"""

from __future__ import annotations

from copperplate.findings.entry import Entry, When, for_designer

_SAMPLE = "write it as `{sample}`"
_SHEET = "write the figure of the data sheet"
_BARE = (When("load", "{bare:any}; the voltage of {kind:an} is that of what feeds it"), "{kind:an} says {bare:any}")
"""What a statement of the kind may say without a word."""
_LEFT_OUT = "leaving it out"
_PARALLEL = "`{each}, parallel {count}` for {count} in parallel in each pole; `{each}`"

_MEANT = "Correct this line of the plate, which cannot be read as it is written."

CODES: dict[str, Entry] = {
    "CP100": for_designer(
        "error",
        "the file is no text that can be read",
        (
            When("utf16", "this is text in UTF-16, and a plate is text in UTF-8"),
            When("zero", "a zero byte: this is no text"),
            "a byte that is no UTF-8: {byte}",
        ),
        help=(When("zero", "another file"), "saving the file as UTF-8"),
        question=_MEANT,
    ),
    "CP101": for_designer(
        "error",
        "a number with a comma in it",
        "a number with a comma in it: {written}",
        help=(
            "{whole} or {point}, whichever was meant",
            "{point}, or `{apart}` if these are two things",
            "{apart}",
        ),
        question=_MEANT,
    ),
    "CP102": for_designer(
        "error",
        "an unknown unit",
        "`{unit}` is no unit here",
        help=(
            "{instead}< {remark}>",
            When("next", "`{number}, {unit}` if `{unit}` begins what comes next, or a unit behind {number}"),
            "{number} and a unit such as V, A, W, m, ft, mm2, AWG",
        ),
        question=_MEANT,
    ),
    "CP103": for_designer(
        "error",
        "a text without proper quotes",
        (When("open", "a text without its closing quote"), "a text stands in straight double quotes"),
        label=When("open", "begins here"),
        help=("{quoted}", 'a `"` where it ends'),
        question=_MEANT,
    ),
    "CP104": for_designer(
        "error",
        "a number without a unit",
        ("a range without a unit: {range}", "a number without a unit: {written}"),
        help=(
            "{volts} V, if these are volts",
            "{fraction} V, or {fraction} in",
            "{written} {unit} (this plate counts in {counts})",
            "both ends and their unit, as in `{sample}`",
            "`{word} {written} {unit}`, if that is what it counts",
            "{options:any}",
            "{instead}",
        ),
        question=_MEANT,
    ),
    "CP105": for_designer(
        "error",
        "a stroke is missing",
        "a stroke is missing before {before}",
        help=("{instead}", "-- for one conductor, -//- for two"),
        question=_MEANT,
    ),
    "CP106": for_designer(
        "error",
        "a run does not begin or end at a component",
        (
            "a run begins at one end; here stand two words, `{first}` and `{second}`",
            "the run ends in a device, {device}, and not at a component",
            "`{end}` ends the run, and this stands behind it",
            "the run ends in a stretch of conductor, and not at a component",
        ),
        help=(
            "`{second} {stroke}` without `{first}`",
            When("end", "moving it before the stroke, into the stretch that it speaks of"),
            "{instead}",
            "a stroke and the component behind it",
        ),
        question=_MEANT,
    ),
    "CP107": for_designer(
        "error",
        "a run ends in a stroke",
        "the run ends in a stroke",
        help="the component where the run ends, behind it",
        question=_MEANT,
    ),
    "CP108": for_designer(
        "error",
        "a bracket without its other half",
        (When("closing", "a `]` without its `[`"), "a bracket without its `]`"),
        help=(
            When("closing", "a `[` before the device, or neither"),
            When("declared", f"{_LEFT_OUT}: devices stand in runs"),
            "{instead}",
            "a device and a `]` behind it",
        ),
        question=_MEANT,
    ),
    "CP109": for_designer(
        "error",
        "a word that is not written as names are",
        (
            "`{stud}` is a stud, and a name is wanted here",
            "`{digit_first}`: a name begins with a letter",
            "`{doubled}`: a name has single hyphens",
            "`{written}`: names and words are lower-case, joined by single hyphens",
        ),
        notes=(("also in lines {lines}", "also in line {line}"),),
        help=(
            "a letter in front, as in n{digit_first}",
            "`{name}`",
            "{instead}",
            "letters a to z, digits, single hyphens",
        ),
        question=_MEANT,
    ),
    "CP110": for_designer(
        "error",
        "a character that has no meaning here",
        (
            When("comment", "`//` means nothing here: a comment begins with `#`"),
            When("gauge", "`#` begins a comment"),
            When("colon", "`:` means nothing here"),
            "a character that cannot be printed: U+{code_point}",
            "{written} means nothing here",
        ),
        help=(
            "#{comment}",
            When("gauge", f"{_LEFT_OUT}: a gauge is written `14 AWG`"),
            When("colon", f"{_LEFT_OUT}: it stands behind the name of a run, or of a device in brackets"),
            When("equals", f"{_LEFT_OUT}: `nominal 12 V` has no equals sign"),
            When("semicolon", "a comma, or a line break where a statement ends"),
            When("round", f"{_LEFT_OUT}, or square brackets for a device in a run"),
            When("degrees", "degC or degF behind a number"),
            When("other", f"{_LEFT_OUT}, or a text in double quotes"),
            _LEFT_OUT,
        ),
        question=_MEANT,
    ),
    "CP111": for_designer(
        "error",
        "a line whose indent does not fit",
        (
            When("goes_on", "no statement begins like this, and a line that goes on is indented"),
            "an indented line with no statement above it",
        ),
        help=(
            When("goes_on", "indenting this line, if it goes on with the one above"),
            "beginning it in the first column, where statements begin",
        ),
        question=_MEANT,
    ),
    "CP112": for_designer(
        "error",
        "two strokes in a row",
        "two strokes in a row",
        help="one of them, or a length between them",
        question=_MEANT,
    ),
    "CP113": for_designer(
        "error",
        "a stroke of the wrong form",
        (
            "`{counting}` where a plain stroke is due: the first one counts the conductors",
            "`{written}` is no stroke",
        ),
        help=(
            When("first", "-- here, and {counting} at the beginning"),
            When("counting", "--"),
            "{instead}",
            "-- for one conductor, -//- for two",
        ),
        question=_MEANT,
    ),
    "CP114": for_designer(
        "error",
        "something else is expected here",
        (
            "a statement begins with its kind or with the end of a run, not with {first}",
            When("bracket", "a device in brackets stands in a run"),
            "{expected:either} is missing behind `{last}`",
            "{expected:either} is expected here, not {written}",
        ),
        help=(
            When("first", 'load fridge "Fridge" 5 A, for example'),
            When("bracket", "moving it into the line of a run"),
            When("last", "a whole run: name, first end, stroke, length, stroke, last end"),
        ),
        question=_MEANT,
    ),
    "CP115": for_designer(
        "error",
        "an indented line that reads as a statement of its own",
        "this line is indented, so it goes on with the one above, and it reads as a statement of its own",
        help="beginning it in the first column",
        question=_MEANT,
    ),
    "CP116": for_designer(
        "error",
        "a value that cannot be read",
        (
            "a size has its number in front: {turned}",
            "a range is written with two dots: {dashed}",
            "a range has two dots: {range}",
            "the two ends of a range are in different units: {ends}",
            "a count says how many of what: {counted}",
            "a number of {characters} characters",
            "a fraction is for inches and for split voltages: {fraction}",
            "`{numeral}` is no number",
            "`{size}` is no conductor size",
            "`{length}` is no length",
            "a date is a text, and a text has quotes: {date}",
            "`{written}` cannot be read as a value",
        ),
        help=(
            "{instead}",
            When("ends", "both in one unit, written once: 10.5..15 V"),
            "{count} x 0.25 A, for example",
            When("characters", "a shorter one"),
            When("numeral", "digits with one point, as in 12.5"),
            When("size", "a size such as 12 AWG, 2/0 AWG or 4 mm2"),
            When("length", "a length such as 5 ft 6 in"),
            '"{date}"',
            "a number and its unit",
        ),
        question=_MEANT,
    ),
    "CP117": for_designer(
        "error",
        "a comma too many or too few",
        (
            "a comma is missing: {both}",
            When("empty", "nothing in the brackets"),
            "nothing stands on one side of this comma",
        ),
        help=(
            "{whole} if it is one number, `{apart}` if these are two things",
            "{apart}",
            When("empty", "[fuse], or [10 A] for a way's own device"),
            _LEFT_OUT,
        ),
        question=_MEANT,
    ),
    "CP118": for_designer(
        "error",
        "the formatter would change what the plate says",
        "formatting would change what this plate says, so it is left as it is",
        help="reporting this as a defect, with the plate",
        question="Report this defect of the program, with the plate.",
    ),
    "CP119": for_designer(
        "error",
        "the plate is empty",
        "the plate is empty",
        help='a first statement: system "Heron" nominal 12 V',
        question=_MEANT,
    ),
    "CP120": for_designer(
        "error",
        "a value of the wrong dimension",
        (
            "`{written}` is {what}, and `{word}` of {kind:an} wants {wants}",
            "`{written}` is {what}, and `{word}` wants a voltage",
            "`{written}` is {what}, and {kind:an} has none",
        ),
        help=(
            _SAMPLE,
            "`{charge} Ah`, at its {volts} V",
            When("energy", "its charge: the energy divided by the voltage, as in 2400 Wh / 12 V = `200 Ah`"),
            *_BARE,
        ),
        question=_MEANT,
    ),
    "CP121": for_designer(
        "error",
        "a value that could mean several things",
        (
            "`{length}` is a length, and looks like a size",
            "`{written}` is {what}, and {kind:an} has more than one: which is it?",
            "`{written}` needs the word that says what it is",
        ),
        help=("`{area} mm2`, if the size is meant", "{options:any}", *_BARE),
        question=_MEANT,
    ),
    "CP122": for_designer(
        "error",
        "a value that must be above zero",
        ("`{counted}` counts none", "`{word}` is {written}, and it must be above zero"),
        help=(
            "`{instead}`",
            "the length one way, as in `{length}`",
            f"{_SAMPLE}, or leave it out",
            When("bare", _SHEET),
            When("keyed", f"{_SHEET}, or leave it out if unknown"),
        ),
        question=_MEANT,
    ),
    "CP123": for_designer(
        "error",
        "a count that can be read in two ways",
        (
            When(
                "cores",
                "`{written}` can be read in two ways: {count} conductors in parallel, or a cable of {count} cores",
            ),
            "`{written}` does not say how the {count} are connected",
        ),
        help=(
            When("pair", f"{_PARALLEL} behind a stroke `-//-` for a cable of two cores"),
            When("cores", f"{_PARALLEL} for one core of it"),
            When("series", "`{each}, parallel {count}` or `{each}, series {count}`"),
            "only a load counts; declare {count} of {kind:an}",
        ),
        question=_MEANT,
    ),
    "CP124": for_designer(
        "error",
        "a word without its value",
        (
            "`share {name}` does not say which share",
            When("stock", "`stock` says neither sizes nor `at-most`"),
            When("note", "a `note` wants its words, in quotes"),
            When("use", "`use` wants the path of a file, in quotes"),
            When("quotes", "`{word}` is text and stands in quotes"),
            "`{word}` wants two ends, and only `{end}` is here",
            When("length", "`{word}` wants a length after `to`"),
            When("size", "`{word}` wants a size"),
            When("label", "`{word}` wants the text that says what it was read from"),
            "`{word}` cannot be `{written}`",
            "`{word}` wants its value",
        ),
        help=(
            "`share {name} 50 %`",
            When("stock", "`stock 16 AWG, 14 AWG, 10 AWG` or `stock at-most 4`"),
            When("note", '`note "..."`'),
            When("use", '`use "parts.plate"`'),
            When("quotes", '`{word} "{written}"`'),
            "write it as `{word} LOW..HIGH {unit}`",
            '`{word} {label} "what it was read from"`',
            _SAMPLE,
        ),
        question=_MEANT,
    ),
    "CP125": for_designer(
        "error",
        "a range that does not run upwards",
        "`{word} {written}` does not run from low to high",
        help=("write `{word} {swapped}`", _SAMPLE),
        question=_MEANT,
    ),
    "CP126": for_designer(
        "error",
        "a count that is no whole number",
        (
            "`{word}` counts, and `{quantity}` has a unit",
            "`{word}` counts, and {written} is no whole number from 1 up",
        ),
        help=(
            When("quantity", "write it as `{word} {whole}`"),
            "a whole number, as in `{word} {whole}`",
        ),
        question=_MEANT,
    ),
    "CP127": for_designer(
        "error",
        "a value beyond what can be",
        (
            "`{subject}` would put out {volts:V} AC",
            "`{counted}` counts more than any circuit carries",
            "a drop of {drop} leaves no voltage at all",
            "a power factor of {factor} cannot be: 1 is the most",
            When("day", "`{word}` is {written}, and a day has 24 h"),
            When("share", "`{word}` is {written}, and it cannot be more than 100 %"),
            When("number", "`{word}` is {written}, which it cannot be"),
            "`{word}` is {written}, which nothing of this kind can be",
        ),
        help=(
            When(
                "inverter",
                "`120 V` or `230 V`, its output; the DC voltage of an inverter is that of what feeds it",
            ),
            When("volts", "`120 V` or `230 V`"),
            "`{instead}`",
            _SAMPLE,
            When("day", "`{word} 24 h` at most"),
            When("number", ""),
            _SHEET,
        ),
        question=_MEANT,
    ),
    "CP128": for_designer(
        "error",
        "an unknown choice",
        (
            When("supply", "`{written}` is no supply that this version knows"),
            "`{word}` cannot be `{written}`<: {lack}>",
        ),
        help=(
            "mend that file; until then {default} stands in",
            When("supply", "`ac 120 V`, `ac 230 V` or `ac 120/240 V split`"),
            "`{word} {likely}`",
            "{choices:any}",
        ),
        question=_MEANT,
    ),
    "CP129": for_designer(
        "error",
        "no such size or terminal",
        (
            "there is no conductor of {size}",
            "there is no stud {stud}",
            When("terminal", "`{word}` wants a stud, a clamp or a lead"),
            "`{written}` is no conductor size",
        ),
        help=(
            "`{instead}`",
            When("size", "`2/0 AWG`, `10 AWG` or `35 mm2`, say"),
            When("terminal", "`terminal stud M8`, `terminal clamp 1.5..35 mm2` or `terminal lead 14 AWG`"),
            "write it as `{word} 10 AWG` or `{word} 6 mm2`",
        ),
        question=_MEANT,
    ),
}
