"""`copperplate-diff/1` keeps to its published schema, and the schema is strict."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from copperplate import diff
from copperplate.design import compile_plate
from copperplate.text import Source

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads((ROOT / "docs" / "diff.schema.json").read_text(encoding="utf-8"))
LAUNCH = (ROOT / "examples" / "launch" / "launch.plate").read_text(encoding="utf-8")

EDITS = {
    "none": [],
    "longer and stated": [("5 ft -- wiper", "19 ft -- wiper"), ("max-discharge 200 A", "max-discharge 150 A")],
    "other rules": [("rules cfr-183", "rules iec-60364")],
    "other titles": [('revision "A, first issue"', 'revision "B"'), ('"Horn"', '"Fog horn"')],
    "renamed": [("blower", "heater-fan")],
    "a finding": [("nominal 12 V", "nominal 12 V\n  drop 1 %")],
    "unreadable": [("nominal 12 V", "nominal twelve")],
}


def sides(text: str) -> Any:
    design, findings = compile_plate(Source("launch.plate", text), lambda _: None)
    return diff.as_json(design, findings)


def document(name: str) -> Any:
    text = LAUNCH
    for old, new in EDITS[name]:
        assert old in text
        text = text.replace(old, new)
    return json.loads(json.dumps(diff.compare(sides(LAUNCH), sides(text), "old", "new"), allow_nan=False))


@pytest.mark.parametrize("name", EDITS)
def test_documents_follow_the_published_schema(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    made = document(name)
    jsonschema.Draft202012Validator(SCHEMA).validate(made)
    assert made["differs"] == bool(EDITS[name])


def keys(value: Any, path: str = "") -> list[str]:
    """Every place of a document at which the schema may list keys."""
    if isinstance(value, dict):
        return [
            path,
            *(place for key, inner in value.items() if key != "patch" for place in keys(inner, f"{path}/{key}")),
        ]
    return (
        [place for n, inner in enumerate(value[:1]) for place in keys(inner, f"{path}/{n}")]
        if isinstance(value, list)
        else []
    )


def test_a_key_more_or_less_is_refused_anywhere() -> None:
    made = document("longer and stated")
    validator = jsonschema.Draft202012Validator(SCHEMA)
    for place in keys(made):
        changed = copy.deepcopy(made)
        target: Any = changed
        for step in place.split("/")[1:]:
            target = target[int(step)] if isinstance(target, list) else target[step]
        if "/old/" in place or ("/new/" in place and "/causes" in place):
            continue
        target["surplus"] = 1
        assert not validator.is_valid(changed), place
        del target["surplus"]
        if target:
            del target[next(iter(target))]
            assert not validator.is_valid(changed), place


def test_two_rule_profiles_are_told_apart_in_words() -> None:
    """Other rules come first, for they change what every figure is judged by."""
    made = document("other rules")
    assert made["changes"][0]["weight"] == "safety"
    from copperplate.diff import sentences

    lines = [" ".join(line) for line in sentences.lines(made)]
    assert "cfr-183" in lines[0] and "iec-60364" in lines[0]
