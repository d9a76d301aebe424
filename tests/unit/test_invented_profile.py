"""Rules that nobody wrote, in a folder of this test: a profile is a file, and the product knows none by name.

The files below `invented/` state every figure. What is compared with the design is typed here again from them.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from command import GOOD

from copperplate import drawing, report
from copperplate.design import compile_plate
from copperplate.findings import Finding
from copperplate.model import folders
from copperplate.model.kinds import KINDS, PROFILES
from copperplate.model.results import Design
from copperplate.standards import IncompleteProfile, profile_from, register
from copperplate.standards.figures import FIGURES
from copperplate.text import Source

INVENTED = Path(__file__).parent / "invented"
SHEET = INVENTED / "profiles" / "harbour-7.toml"
TEXT = SHEET.read_text("utf-8")
CONSTANTS = TEXT[TEXT.index("[constants]") :]
LAUNCH = (Path(__file__).parents[2] / "examples" / "launch" / "launch.plate").read_text("utf-8")


@pytest.fixture
def _known(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(folders, "FOLDERS", [*folders.FOLDERS])
    register(INVENTED)


def under(rules: str) -> tuple[Design, tuple[Finding, ...]]:
    """The launch under other rules."""
    text = LAUNCH.replace("rules cfr-183", f"rules {rules}")
    assert text != LAUNCH
    design, findings = compile_plate(Source("launch.plate", text), lambda name: None)
    assert design is not None
    return design, findings


def test_a_folder_must_be_there() -> None:
    with pytest.raises(NotADirectoryError):
        register(INVENTED / "nowhere")


def test_rules_that_no_folder_has_are_no_choice() -> None:
    assert "harbour-7" not in PROFILES
    _, findings = under("harbour-7")
    assert [(f.code, f.message) for f in findings if f.subject == "system"] == [
        ("CP128", "`rules` cannot be `harbour-7`")
    ]


@pytest.mark.usefixtures("_known")
def test_the_choice_of_words_follows_the_folders() -> None:
    words = KINDS["system"].attribute("rules")
    assert words is not None and list(words.choices) == ["cfr-183", "iec-60364", "iso-13297", "nec", "harbour-7"]


@pytest.mark.usefixtures("_known")
def test_the_launch_is_designed_by_invented_rules() -> None:
    """HR 7-4.1 has 65 A for 6 mm² and 53 A for 4 mm² at 105 °C; 10 AWG has 5.26 mm² (ASTM B258) and reads 4 mm²."""
    design, findings = under("harbour-7")
    assert design.profile == "harbour-7" and design.profile_title == "Harbour rules 7"
    assert not [f for f in findings if f.severity == "error"]
    assert {f.rule for f in findings if f.rule} == {"HR 7-6.7", "HR 7-6.12", "HR 7-8.2"}
    assert design.rechecked, "the re-check reads the same file"
    (wire, *_) = (run.ampacity for run in design.runs.values() if run.size and run.size.label == "10 AWG")
    assert wire is not None and ("table", 53.0, "A") in wire.inputs
    assert design.constants["studs-lugs"].value == 5.0
    assert {c.colour for c in design.conductors.values()} >= {"OG", "VT"}


@pytest.mark.usefixtures("_known")
def test_the_report_cites_the_invented_clauses() -> None:
    design, _ = under("harbour-7")
    text = report.markdown(report.document(design, report.named(drawing.sheets(design), "launch")))
    assert "Harbour rules 7" in text and "Harbour rules, part 7: small craft" in text
    for clause in ("HR 7-4.1", "HR 7-4.5", "HR 7-5.1", "HR 7-6.2"):
        assert clause in text, clause
    assert "33 CFR" not in text


def test_no_line_of_the_product_knows_it() -> None:
    files = (path for path in Path(folders.__file__).parents[1].rglob("*") if path.suffix in (".py", ".toml", ".csv"))
    assert not [path for path in files if "harbour-7" in path.read_text("utf-8")]


def broken(tmp_path: Path, text: str) -> str:
    """What is said of the launch under a profile of this text, at the word that chooses it; it must be one finding."""
    (tmp_path / "profiles").mkdir()
    path = tmp_path / "profiles" / "mine.toml"
    path.write_text(text, "utf-8")
    register(tmp_path)
    with pytest.raises(IncompleteProfile):
        profile_from(path)
    design, findings = under("mine")
    (said,) = [f for f in findings if f.code == "CP128"]
    assert said.severity == "error" and said.span is not None and said.span.text == "rules mine"
    assert said.message.startswith(f"`rules` cannot be `mine`: {path} ")
    assert design.profile == "cfr-183"
    return said.message.removeprefix(f"`rules` cannot be `mine`: {path} ")


@pytest.mark.usefixtures("_known")
@pytest.mark.parametrize("name", [name for name in FIGURES if f"\n{name} = " in CONSTANTS])
def test_a_figure_that_is_missing_is_a_sentence(name: str, tmp_path: Path) -> None:
    stated = "\n".join(line for line in CONSTANTS.splitlines() if not line.startswith(f"{name} = "))
    text = TEXT.replace(CONSTANTS, stated)
    if FIGURES[name].optional:
        profile_from(write(tmp_path, text))
    else:
        assert broken(tmp_path, text) == f"has no figure `{name}`, {FIGURES[name].quantity}"


def write(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "whole.toml"
    path.write_text(text, "utf-8")
    return path


STATUSES = "verified, read once, part read, stated, computed, practice, from memory"
EXTRA = '[constants]\nextra = { value = 1, source = "HR", status = "practice" }\n'
CANNOT_BE = [
    ('protection = "HR 7-6.1"\n', "", "does not say `clauses.protection`, the rule that asks for a device"),
    ("[clauses]\n", "[rules]\n", "does not say `clauses.ac-apart`, the rule that parts AC from DC, and 9 more"),
    ("harbour/ampacity", "harbour/amps",
     "says `harbour/amps`, which is no table of any folder, for `ampacity.table`, the table of ampacities"),
    ('rule = "area"', 'rule = "guess"',
     "says none of circular mil, area, table for `judged.rule`, by what formula voltage drop is judged"),
    ('table = "harbour/times"', 'table = "harbour/ampacity"',
     "says `harbour/ampacity`, without `volts_max`, for `disconnection.table`, the table of disconnection times of "
     "final circuits"),
    ('"1 mm2", outside_m = 0.5', '"1 mm2", outside_m = "far"',
     "says no size with its source and status for `minimum.sheath`, the least size of a conductor in a sheath"),
    ("base_c = 25.0", 'base_c = "warm"',
     "says no number for `ambient.base_c`, the air that the ampacity table is for"),
    ('size = "1 mm2"', 'size = "1"',
     "says no size with its source and status for `minimum.sheath`, the least size of a conductor in a sheath"),
    ("value = 5.0, source", 'value = "five", source', "gives no number for the figure `studs-lugs`"),
    (', source = "HR 7-7.1"', "", "gives no source for the figure `studs-lugs`"),
    ('"HR 7-7.1", status = "practice"', '"HR 7-7.1"', f"gives no status ({STATUSES}) for the figure `studs-lugs`"),
    ("[constants]\n", EXTRA, "does not say in `quantity` what the figure `extra` is"),
]  # fmt: skip


@pytest.mark.usefixtures("_known")
@pytest.mark.parametrize(("was", "becomes", "said"), CANNOT_BE)
def test_what_cannot_be_is_a_sentence(was: str, becomes: str, said: str, tmp_path: Path) -> None:
    assert TEXT.count(was) == 1
    assert broken(tmp_path, TEXT.replace(was, becomes)) == said


@pytest.mark.usefixtures("_known")
@pytest.mark.parametrize("text", ["title = ", "[clauses\n", "\x00"])
def test_a_file_that_is_no_toml_is_a_sentence(text: str, tmp_path: Path) -> None:
    assert broken(tmp_path, text).startswith("cannot be read: ")


@pytest.mark.usefixtures("_known")
def test_whatever_line_is_lost_nothing_is_raised(tmp_path: Path) -> None:
    """Each line of the file is left out once: what it said is missed in a sentence, or nobody needs it."""
    (tmp_path / "profiles").mkdir()
    register(tmp_path)
    lines, missed = TEXT.splitlines(), 0
    for n, line in enumerate(lines):
        if line:
            (tmp_path / "profiles" / f"lost-{n}.toml").write_text("\n".join(lines[:n] + lines[n + 1 :]), "utf-8")
            text = GOOD.replace("nominal 12 V\n", f"nominal 12 V\n  rules lost-{n}\n")
            design, findings = compile_plate(Source("a.plate", text), lambda name: None)
            messages = [f.message for f in findings if f.code == "CP128"]
            assert design is not None and all(str(tmp_path) in message for message in messages)
            missed += len(messages)
    assert missed > len(FIGURES) / 2
