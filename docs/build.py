"""Builds the pages that are made from the program itself: `python docs/build.py`.

docs/reference/ from the table of kinds, the units and the codes; docs/findings/README.md from the codes; docs/tables.md
from the tables of standards and the rule profiles; the picture in README.md from the plate there. A test proves that
what is committed is what this writes.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from copperplate import drawing, standards
from copperplate.design import compile_plate
from copperplate.findings import CODES, FAMILIES
from copperplate.model import Traced, kinds
from copperplate.model.kinds import Attribute, Kind
from copperplate.text import Source
from copperplate.units import UNITS, number
from copperplate.units import show as quantity

DOCS = Path(__file__).resolve().parent
MADE = "<!-- Made by docs/build.py. Edit the table that it is made from. -->\n"


def pages() -> dict[str, str]:
    """Every page by its path below docs/."""
    return {
        "reference/README.md": _index(),
        "reference/kinds.md": _kinds(),
        "reference/runs.md": _runs(),
        "reference/units.md": _units(),
        "findings/README.md": _findings(),
        "tables.md": _tables(),
        "pictures/day-boat.svg": _picture("day-boat", _plate_in_readme(), "dc-circuits"),
        "pictures/launch.svg": _picture("launch", _example("launch"), "wiring-diagram"),
    }


def _plate_in_readme() -> str:
    readme = (DOCS.parent / "README.md").read_text(encoding="utf-8")
    return readme.split("```plate\n", 1)[1].split("```", 1)[0]


def _example(name: str) -> str:
    return (DOCS.parent / "examples" / name / f"{name}.plate").read_text(encoding="utf-8")


def _picture(name: str, plate: str, slug: str) -> str:
    """The first sheet of a plate whose slug begins so. The plate must have no errors."""
    design, findings = compile_plate(Source(f"{name}.plate", plate), lambda name: None)
    errors = [finding.message for finding in findings if finding.severity == "error"]
    if design is None or errors:
        raise ValueError(f"{name} has errors: {errors}")
    return next(sheet.svg for sheet in drawing.sheets(design) if sheet.slug.startswith(slug))


def _index() -> str:
    rows = [f"| [`{kind.word}`](kinds.md#{kind.word}) | {kind.meaning} |" for kind in kinds.KINDS.values()]
    return "\n".join(
        (
            f"{MADE}\n# Reference\n",
            "The language is explained in [language.md](../language.md). These pages list everything that a plate "
            "may say.\n",
            "| kind | what it is |",
            "|---|---|",
            *rows,
            "",
            "- [Kinds](kinds.md): what each kind of statement says, with units and defaults",
            "- [Runs](runs.md): what stands between the strokes, and devices in brackets",
            "- [Units and choices](units.md): every unit, rule profile, family of devices and chemistry",
            "- [Findings](../findings/README.md): every code, with an example that draws it and one that does not",
            "",
        )
    )


def _kinds() -> str:
    lines = [f"{MADE}\n# Kinds of statements\n", _how_to_read()]
    lines += ["## What every component may say\n", *_table(kinds.COMMON)]
    for kind in kinds.KINDS.values():
        lines += [f"## {kind.word}\n", _about(kind)]
        if kind.attributes:
            lines += _table(kind.attributes)
    return "\n".join(lines)


def _how_to_read() -> str:
    return (
        "A statement is the kind, a name, a \"title\" and then what the kind says, separated by commas or line "
        "breaks. In the column *written*, capitals stand for a value of yours; words in (brackets) may be left "
        "out. Where *default* is empty the meaning says what happens when nothing is stated, or the compiler "
        "asks.\n"
    )


def _about(kind: Kind) -> str:
    said = [kind.meaning[0].upper() + kind.meaning[1:] + "."]
    ports = [f"`{port}`" for port in kind.ports if port]
    if ports:
        said.append(f"Ports: {', '.join(ports)}.")
    if kind.component:
        said.append("It may stand at an end of a run.")
    return " ".join(said) + "\n"


def _table(attributes: tuple[Attribute, ...]) -> list[str]:
    rows = [f"| {_written(a)} | {_default(a)} | {a.meaning} |" for a in attributes]
    return ["| written | default | meaning |", "|---|---|---|", *rows, ""]


def _written(attribute: Attribute) -> str:
    word, unit = attribute.word, attribute.unit
    lead = f"({word}) " if attribute.bare else f"{word} "
    forms = {
        "quantity": f"{lead}N {unit}",
        "quantity-or-word": f"{word} (N {unit})",
        "names": f"{word} NAME NAME ...",
        "numbers": f"{word} N N ...",
        "price": f"{word} N EUR",
        "window": f"{lead}LOW..HIGH {unit}",
        "budget": f"{lead}N % or N V",
        "budgets": f"{lead}(CLASS) N % or N V",
        "number": f"{lead}N",
        "count": f"{lead}N",
        "flag": word,
        "word": f"{lead}WORD",
        "reference": f"{lead}NAME",
        "text": f'{lead}"WORDS"',
        "size": f"{lead}SIZE",
        "share": f"{lead}N %",
        "terminal": "terminal (PORT) stud STUD, clamp SIZE..SIZE or lead SIZE",
        "advice": f"{word} (PORT) SIZE (to LENGTH)",
        "comparable": f'{word} SIZE "WORDS"',
        "voltage-pair": f"{lead}120 V, 230 V or 120/240 V split",
        "size-list": "SIZE, SIZE, ...",
        "address-list": f"{word} NAME, NAME, ..." if word != "share" else "share NAME N %",
    }
    if attribute.form == "choice":
        return f"{f'({word}) ' if attribute.bare else f'{word} '}" + " or ".join(f"`{c}`" for c in attribute.choices)
    return f"`{forms[attribute.form]}`"


def _default(attribute: Attribute) -> str:
    value = attribute.default
    if value is None or value == "" or value is False:
        return ""
    if attribute.form == "share":
        return f"{number(value * 100)} %"
    if attribute.form == "quantity":
        return quantity(value, attribute.unit)
    return str(number(value)) if isinstance(value, float) else str(value)


def _runs() -> str:
    lines = [
        f"{MADE}\n# Runs\n",
        "A run is drawn from the source towards the load: `end stroke (segment --) end ...`. The first stroke "
        "counts the conductors.\n",
        "| first stroke | conductors |",
        "|---|---|",
        "| `--` | one |",
        "| `-//-` | two: out and back, positive and negative; the length is one way |",
        "| `-///-` | three: line, neutral and protective earth in one sheath |",
        "| `-////-` | four: two lines, neutral and protective earth (split phase) |",
        "",
        "## A segment\n",
        *_table(kinds.SEGMENT),
        "## A device in brackets\n",
        f"`[(NAME:) KIND ...]` with one of the kinds {', '.join(f'`{k}`' for k in kinds.DEVICE_KINDS)}; "
        "`[10 A]` without a kind is the own device of a panel's way.\n",
        *_table(kinds.DEVICE),
    ]
    return "\n".join(lines)


def _units() -> str:
    dimensions: dict[str, list[str]] = {}
    for unit in UNITS.values():
        dimensions.setdefault(unit.dimension, []).append(f"`{unit.name}`")
    lines = [
        f"{MADE}\n# Units and choices\n",
        "Every physical number has a unit. Case counts: `mA` is a unit and `MA` is none.\n",
        "| dimension | units |",
        "|---|---|",
        *(f"| {dimension} | {', '.join(units)} |" for dimension, units in dimensions.items()),
        "",
        "Sizes of conductors are names and no quantities: `12 AWG`, `2/0 AWG`, `10 SAE`, `2.5 mm2`.\n",
        f"Rule profiles: {', '.join(f'`{p}`' for p in kinds.PROFILES)}.\n",
        f"Families of devices: {', '.join(f'`{f}`' for f in kinds.FAMILIES)}.\n",
        *_things(),
        f"Chemistries: {', '.join(f'`{c}`' for c in kinds.CHEMISTRIES)}.\n",
    ]
    return "\n".join(lines)


def _things() -> list[str]:
    """What a load may be."""
    rows = [f"| `{t.word}` | {t.meaning} | {f'`{t.budget}`' if t.budget else ''} |" for t in kinds.THINGS.values()]
    classes = ", ".join(f"`{name}`" for name in kinds.BUDGET_CLASSES)
    return [
        "## What a load is\n",
        "`load bilge pump, 5 A`: the word gives its symbol and the class of its voltage-drop budget. "
        f"Classes: {classes}.\n",
        "| word | what it is | class |",
        "|---|---|---|",
        *rows,
        "",
    ]


def _findings() -> str:
    lines = [
        f"{MADE}\n# Findings\n",
        "An error refuses the pack; a warning and an advice do not, and `accept` may silence a warning with its "
        "reason. Each page has a plate that draws the finding and one that does not. *Who* is the one whose answer or "
        "hand settles it, *by* until when.\n",
    ]
    for digit, family in FAMILIES.items():
        entries = [(code, entry) for code, entry in sorted(CODES.items()) if code[2] == digit]
        if entries:
            lines += [f"## {digit}xx {family}\n", "| code | severity | title | who | by |", "|---|---|---|---|---|"]
            lines += [
                f"| [{code}]({code}.md) | {entry.severity} | {entry.title} | {entry.who} | {entry.by} |"
                for code, entry in entries
            ]
            lines.append("")
    return "\n".join(lines)


def _tables() -> str:
    statuses = [f"| {status} | {meaning} |" for status, meaning in standards.STATUSES.items()]
    profiles = [line for name in kinds.PROFILES for line in _profile(standards.profile(name))]
    practice = {
        key: figure
        for rules in map(standards.profile, kinds.PROFILES)
        for key, figure in rules.figures.items()
        if key not in rules.constants()
    }
    tables = [f"| `{t.name}` | {t.title} | {t.edition} | {t.status} |" for t in standards.tables()]
    return "\n".join(
        (
            f"{MADE}\n# Published figures and rule profiles\n",
            "What the rules, tables and factors are that a plate is judged by, where they come from and how they were "
            "checked. `copperplate tables` prints any of the tables. Always follow the rules that hold where the "
            "system is built, and have licensed people do what the law leaves to them: a profile is a reading of "
            "published rules and no permission.\n",
            "## How a figure was checked\n",
            "| status | meaning |",
            "|---|---|",
            *statuses,
            "",
            "A status travels with every number into `why`, the report and `design.json`; a result of several figures "
            "carries the least well checked of them.\n",
            "## Profiles\n",
            "A profile is one word after `rules`. Nothing is taken from two rules for one thing at once.\n",
            *profiles,
            "### Common practice\n",
            "What every profile takes where its own file says nothing.\n",
            "| figure | value | source | status |",
            "|---|---|---|---|",
            *_figures(practice),
            "",
            "## Families of devices\n",
            f"A family that the plate does not name is the first of {_taken()} that has a rating for the current, "
            "whose DC voltage covers the highest of the circuit and that breaks the fault current where it is known. A "
            "part's own data, stated in the plate, go before these figures.\n",
            "| family | standard | breaks | volts DC | largest | status | ratings |",
            "|---|---|---|---|---|---|---|",
            *map(_family, standards.table("fuses/families").records),
            "",
            "Time-current gates are shipped for blades (types C, E and F) and in part for gG. For the other families "
            "the time that a device needs is not proven and never passed.\n",
            "## Tables\n",
            "| table | title | edition | how checked |",
            "|---|---|---|---|",
            *tables,
            "",
        )
    )


def _profile(rules: standards.Profile) -> list[str]:
    return [
        f"### {rules.id}: {rules.title}\n",
        f"{rules.edition}. {rules.counting}\n",
        *(f"- {reading}" for reading in rules.readings),
        "",
        "| figure | value | source | status |",
        "|---|---|---|---|",
        *_figures(rules.constants()),
        "",
    ]


def _figures(constants: Mapping[str, Traced]) -> list[str]:
    return [
        f"| {f.quantity} ({name}) | {f.value:g} {f.unit}".rstrip() + f" | {f.source} | {f.status} |"
        for name, f in constants.items()
    ]


def _taken() -> str:
    """The families that are taken where a plate names none, in their order under most profiles."""
    families = [standards.fuses.family(name) for name in standards.profile("cfr-183").fuse_order()]
    held = [[f"from {f.found_from_a:g} A"] * (f.found_from_a > 0) + [f"to {f.found_to_a:g} A"] * (f.found_to_a < 1e9)
            for f in families]  # fmt: skip
    return ", ".join(
        f"`{f.id}`" + (f" ({' '.join(limits)})" if limits else "") for f, limits in zip(families, held, strict=True)
    )


def _family(row: Mapping[str, str]) -> str:
    breaks = f"{float(row['interrupting_a']) / 1000:g} kA" if row["interrupting_a"] else "its maker's"
    volts = f"{row['voltage_v']} V" if row["voltage_v"] else "its maker's"
    largest = row["ratings_a"].split()[-1]
    checked = f"{row['status']} | {row['status_ratings']}"
    return f"| `{row['family']}` | {row['standard']} | {breaks} | {volts} | {largest} A | {checked} |"


def main() -> None:
    for name, text in pages().items():
        path = DOCS / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
        print(f"wrote docs/{name}")


if __name__ == "__main__":
    main()
