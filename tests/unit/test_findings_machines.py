"""Findings for other programs: JSON in the form of the design's own JSON, and SARIF 2.1.0."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from copperplate.findings import CODES, Finding, Measure, Related, as_json, sarif
from copperplate.text import Source, Span

TEXT = "load fan 5 A\nrun é fan\n"
SOURCE = Source("my plate.plate", TEXT)
CODE = next(iter(CODES), "CP101")
FINDING = Finding(
    CODE,
    "warning",
    "fan",
    "`fan` is `é`",
    Span(SOURCE, 17, 18),
    "this",
    ("a note",),
    "another name",
    (Related(Span(SOURCE, 5, 8), "its name"),),
    Measure(3.4, 3.0, "%"),
    "a rule",
    "agreed with the owner",
)


def test_json_has_the_agreed_keys_and_places() -> None:
    value = json.loads(as_json.document([as_json.finding_json(FINDING, "boats/")], ["boats/my plate.plate"]))
    (found,) = value["findings"]
    assert value["files"] == ["boats/my plate.plate"]
    assert {key: found[key] for key in ("code", "severity", "subject", "message", "notes", "help", "accepted")} == {
        "code": CODE,
        "severity": "warning",
        "subject": "fan",
        "message": "`fan` is `é`",
        "notes": ["a note"],
        "help": "another name",
        "accepted": "agreed with the owner",
    }
    assert found["span"] == {
        "file": "boats/my plate.plate",
        "line": 2,
        "column": 5,
        "end_line": 2,
        "end_column": 6,
    }
    assert found["related"] == [
        {
            "label": "its name",
            "span": {"file": "boats/my plate.plate", "line": 1, "column": 6, "end_line": 1, "end_column": 9},
        }
    ]
    assert found["measure"] == {"found": 3.4, "limit": 3.0, "unit": "%"}


def test_json_of_a_finding_without_a_place() -> None:
    found = as_json.finding_json(Finding(CODE, "error", "system", "so"))
    assert found["span"] is None and found["measure"] is None and found["related"] == []


def test_sarif_names_rule_level_place_and_suppression() -> None:
    edit = "`e` in place of `é`", Span(SOURCE, 17, 18), "e"
    log = json.loads(
        sarif.document([(FINDING, "boats/", [edit]), (Finding(CODE, "advice", "x", "so?"), "", ())], "0.1.0")
    )
    assert log["version"] == "2.1.0"
    (run,) = log["runs"]
    assert run["tool"]["driver"]["name"] == "copperplate"
    assert [rule["id"] for rule in run["tool"]["driver"]["rules"]] == [CODE]
    first, second = run["results"]
    assert first["ruleId"] == CODE and first["ruleIndex"] == 0 and first["level"] == "warning"
    assert first["message"]["text"] == "`fan` is `é`. a note. Try: another name."
    place = first["locations"][0]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == "boats/my%20plate.plate"
    assert place["region"] == {"startLine": 2, "startColumn": 5, "endLine": 2, "endColumn": 6}
    assert first["relatedLocations"][0]["message"]["text"] == "its name"
    assert first["suppressions"] == [{"kind": "inSource", "justification": "agreed with the owner"}]
    (mended,) = first["fixes"]
    (change,) = mended["artifactChanges"]
    assert mended["description"]["text"] == edit[0] and change["artifactLocation"] == place["artifactLocation"]
    assert change["replacements"] == [{"deletedRegion": place["region"], "insertedContent": {"text": "e"}}]
    assert "fixes" not in second
    assert second["level"] == "note" and second["message"]["text"] == "so?" and "locations" not in second


def test_sarif_keeps_to_the_published_schema() -> None:
    """SARIF 2.1.0 (OASIS standard), its JSON schema rtm.5 as published, kept beside the outside checks."""
    path = Path(__file__).parents[1] / "outside" / "sarif-2.1.0-rtm.5.schema.json"
    edit = "`e` in place of `é`", Span(SOURCE, 17, 18), "e"
    validator = jsonschema.Draft4Validator(json.loads(path.read_text(encoding="utf-8")))
    plain = Finding(CODE, "error", "x", "so")
    log = json.loads(sarif.document([(FINDING, "boats/", [edit]), (plain, "", ())], "0.1.0"))
    validator.validate(log)
    log["runs"][0]["results"][0]["level"] = "fatal"
    assert not validator.is_valid(log)
