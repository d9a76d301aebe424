"""Codes 590 to 599: what the independent re-check of the finished design finds. They are defects of the program and
not of a plate, and refuse the pack. A row each; `findings/entry.py` says how to read it.

A check names its sentence by the figures that it gives: of the alternatives of a row the first that has all of its
figures is taken, so the more particular one stands first."""

from __future__ import annotations

from copperplate.findings.entry import Entry, Text, When, for_designer


def _row(title: str, *message: str | When) -> Entry:
    words: Text = message
    return for_designer(
        "error",
        title,
        words,
        help="a defect of this program, not of the plate: please report it",
        question="Report this defect of the program, and build nothing from this design.",
    )


CODES: dict[str, Entry] = {
    "CP590": _row(
        "the re-check disagrees with the solved network",
        "`{subject}` is {warm} °C warm, and {taken} °C was taken",
        "`{subject}` has {ohm:6} mohm in case `{case}`, and {stated_ohm:6} mohm is stated",
        "`{subject}` loses {lost:6} V in case `{case}`, and {across:6} V stands across it",
        "{entering:6} A enter `{subject}` in case `{case}` and do not leave it",
        "{passing:6} A pass `{subject}` in case `{case}`, and {stated:6} A is stated",
        "`{subject}` takes {takes:6} A in case `{case}`, and {reaching:6} A reach it",
    ),
    "CP591": _row("the re-check finds a run without a size", "`{subject}` has no size"),
    "CP592": _row(
        "the re-check finds a conductor above its ampacity",
        "`{subject}` carries {carries:4} A, and {taken:4} A was taken",
        "`{subject}` carries {carries:4} A, and {flows:4} A flow in it",
        "{whole:4} A flow in `{subject}`, sized for {sized_for:4} A",
        "`{subject}` must carry {made_for:4} A where `{alone}` stands alone, and carries {carries:4} A",
        "`{subject}` must carry {made_for:4} A of `{consumer}`, and carries {carries:4} A",
        "`{subject}` must carry {made_for:4} A with its factors, and carries {carries:4} A",
    ),
    "CP593": _row(
        "the re-check finds a conductor below what rules, makers or stock ask",
        "`{subject}` is {size}, below {smallest}: {rule}",
        "`{subject}` is {size}, and the maker advises {advised}",
        "`{subject}` is {size}, which is not in stock",
        "`{subject}` is below {comparable}, taken from a comparable device",
        "{sizes} sizes are used, and {at_most} are wanted",
        "`{subject}` has {own:4} mm², and the lead `{lead}` {area:4} mm²",
        "`{subject}` has {own:4} mm², and the earth for {device:4} A {earth}",
        "`{subject}` has {own:4} mm², and {least:4} mm² is asked beside {line:4} mm²",
    ),
    "CP594": _row(
        "the re-check finds a voltage budget or window exceeded",
        "`{through}` loses {lost:4} V on the way to `{subject}`, judged by the rule",
        "the path of `{subject}` loses {path:4} V, and {judged:4} V was judged",
        "the steps to `{subject}` lose {steps:4} V, and {judged:4} V was judged",
        "the path of `{subject}` loses {path:4} V of {budget:4} V",
        "`{subject}` gets {volts:4} V in case `{case}` and works from {low:4} to {high:4} V",
        "`{subject}` starts at {starting:4} V and works from {low:4} V",
    ),
    "CP595": _row(
        "the re-check finds a conductor or device badly protected",
        # What devices let pass.
        "`{subject}` carries {carries:4} A, and {before:names} before it let {passed:4} A pass",
        "`{subject}` carries {carries:4} A, and the devices that serve it let {come_back:4} A come back",
        "nothing protects `{conductor}` from `{source}`",
        # Ratings of devices.
        When("no_rating", "`{subject}` has no rating"),
        "`{subject}` must carry {needed:4} A, and {needs_taken:4} A was taken",
        "`{subject}` is {rating:4} A and must carry {needed:4} A",
        "`{subject}` is {rating:4} A, and its way takes {way_takes:4} A",
        "`{subject}` is {rating:4} A, and the maker of `{maker}` allows {limit:4} A",
        "{size} of `{run}` may have {cap:4} A before it, not {rating:4} A",
        "`{subject}` is not clearly larger than `{level_below}`, unreported",
        "`{subject}` is for {for_v:4} V in a circuit of {volts:4} V",
        "`{subject}` states no voltage at {volts:4} V, unreported",
        # Bars, switches, studs.
        "{passing:4} A pass `{node}` in case `{case}`, rated {rated:4} A",
        "`{subject}` carries {unrated:4} A without a rating, unreported",
        "the {switch} `{subject}` is rated {rated:4} A and carries {flows:4} A",
        "{lugs} ring terminals land on `{node}`, unreported",
        # Poles.
        When("parts_whole", "`{subject}` stands in a conductor that must stay whole"),
        When("one_pole", "`{subject}` opens one pole, and the negative floats"),
        # Alternating current.
        When("no_earth", "`{subject}` has no protective earth"),
        "{bonds:names} both join neutral and earth",
        When("unbonded", "nothing joins neutral and earth on `{subject}`, unreported"),
        "nothing parts the lines of {one_line:names}",
        "no breaker stands between `{without_breaker}` and `{subject}`",
        When("no_residual", "no residual-current device stands before `{subject}`, unreported"),
        "AC of `{subject}` lies bare beside DC in `{bare_in}`",
        "AC of `{subject}` lies beside DC in `{beside_dc_in}`, unreported",
        When("fuse_in_line", "`{subject}` is a fuse in an AC line"),
        When("own_inlet", "the output of `{subject}` comes back to its own inlet"),
    ),
    "CP596": _row(
        "the re-check finds a fault current that a device cannot break",
        "a short at `{short_at}` drives {amperes:5} A through `{subject}`, and {taken:5} A was taken",
        "`{driven_by}` drives {amperes:5} A into a short at `{subject}`, and {taken:5} A was taken",
        "the least {least} behind `{subject}` is {amperes:5} A, and {taken:5} A was taken",
        "{reaching:5} A can reach `{subject}`, and {taken:5} A was taken",
        "`{subject}` breaks {breaks:5} A, and {reaching:5} A can reach it, unreported",
        "`{subject}` breaks an unknown current, and {reaching:5} A can reach it, unreported",
        "`{subject}` is stated to open at {opens_at:4} A, and its curve does not",
        "`{subject}` does not open at {stays_closed_at:4} A, unreported",
        "{passes:4} A²s pass `{subject}`, and `{run}` stands {stands:4} A²s",
        "of the least {least} behind `{subject}` is stated: {verdict}; it is: {derived}",
        "of the least {least} behind `{subject}` it is unreported: {derived}",
        When("unknown", "the fault current of `{subject}` is unknown, unreported"),
    ),
    "CP597": _row(
        "the re-check finds a terminal that does not fit",
        "`{subject}` is {size}, and `{node}` takes {smallest} to {largest}",
    ),
    "CP598": _row(
        "the re-check finds a source, bank or supply beyond its limits",
        "`{subject}` holds {held:6} V in case `{case}`, and {taken:6} V was taken",
        "{leaving:4} A leave `{subject}` in case `{case}`, and it gives {rated:4} A",
        "`{subject}` gives {given:5} W in case `{case}` and takes {power:5} W",
        "`{subject}` takes {limit:4} A, and {flows:4} A flow in case `{case}`",
        "`{subject}` reaches {cold:4} V in the cold, and `{controller}` takes {limit:4} V",
        "`{subject}` charges to {volts:4} V, and `{weakest}` takes {most:4} V at most",
        "`{subject}` charges to {volts:4} V, above {full:4} V, unreported",
        "`{subject}` gives {volts:4} V, below {rest:4} V, unreported",
        "`{subject}` has {strings} strings in parallel, unreported",
        # The energy of a day.
        "a day takes {daily:5} Wh of `{subject}`, and {counted:5} Wh was counted",
        "the lines of `{subject}` make {lines:5} Wh, not {stated:5} Wh",
        "`{subject}` holds {usable:5} Wh, and {stated:5} Wh was taken",
        "`{subject}` lasts {days:4} days, and {stated:4} are stated",
        "`{subject}` lasts {days:4} days, unreported",
        "`{subject}` fills `{bank}` in {hours:4} h, not {stated:4} h",
    ),
    "CP599": _row(
        "the re-check finds a list or figure that does not follow from the design",
        "`{subject}` is {size}, {area:4} mm², and {stated:4} mm² is stated",
        "`{subject}` takes {copper:5} mm²m, not {stated:5} mm²m",
        "the plate states {of_plate} for `{subject}`, built in {size}",
        "`{node}` wants a {fitting}, not a {fitted}",
        "the end of `{subject}` at `{node}` is not {size}",
        "`{subject}` does not fit `{node}`, unreported",
        "{pieces} pieces of {size}, {tint}, {long:4} m are needed, and {listed} are listed",
        "`{subject}` is cut to {cut:4} m for {length:4} m",
        When("others", "not all devices listed as `{subject}` are that"),
        "{needed:5} of `{subject}` are needed, {listed:5} listed",
        When("missing", "`{subject}` is needed and not listed"),
        When("loose", "`{subject}` has no holder"),
        "`{subject}` is listed {times} times",
        "`{not_protecting}` is stated to protect `{subject}` and does not",
        "`{protecting}` protects `{subject}`, and no device is stated to",
    ),
}
