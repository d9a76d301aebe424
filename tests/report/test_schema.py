"""`NAME.design.json`: the published schema holds, nothing is left out, the text is stable."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from invented_design import design, partial

from copperplate import schema
from copperplate.design import compile_plate
from copperplate.text import Source

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "design.schema.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("made", [design(), partial()], ids=["whole", "with errors"])
def test_the_text_is_valid_by_the_published_schema(made: Any) -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$id"] == "urn:" + schema.FORMAT.replace("/", ":")
    jsonschema.Draft202012Validator(SCHEMA).validate(json.loads(schema.to_text(made)))


def described(value: Any, rule: dict[str, Any], path: str) -> None:
    """Every key of `value` has a description or a type in the schema, and every required key is there."""
    while "$ref" in rule:
        rule = SCHEMA["$defs"][rule["$ref"].split("/")[-1]]
    if isinstance(value, list):
        for item in value:
            described(item, rule.get("items", {}), path + "[]")
    elif isinstance(value, dict) and "properties" in rule:
        assert list(value) == rule["required"], path
        for key, item in value.items():
            described(item, rule["properties"][key], f"{path}.{key}")
    elif isinstance(value, dict):
        for key, item in value.items():
            described(item, rule.get("additionalProperties", {}), f"{path}.{key}")


def test_every_key_is_in_the_schema_in_the_same_order() -> None:
    described(schema.to_json(design()), SCHEMA, "design")


def test_numbers_keep_twelve_significant_digits() -> None:
    made = design({"fridge": 1 / 3})
    fridge = next(run for run in json.loads(schema.to_text(made))["runs"] if run["id"] == "fridge.run")
    assert fridge["length_m"] == 0.333333333333


def test_what_json_cannot_hold_is_null() -> None:
    made = design()
    load = replace(made.loads["fridge"], voltage_v=float("nan"), highest_v=float("inf"))
    text = schema.to_text(replace(made, loads={"fridge": load}))
    fridge = json.loads(text)["loads"][0]
    assert (fridge["voltage_v"], fridge["highest_v"]) == (None, None)
    assert "NaN" not in text and "Infinity" not in text


def test_the_text_says_what_the_values_say_with_one_changed_length_on_few_lines() -> None:
    before, after = schema.to_text(design()), schema.to_text(design({"fridge": 4.3}))
    assert same(json.loads(before), json.loads(json.dumps(schema.to_json(design()))))
    assert before == schema.to_text(design()) and before.endswith("}\n") and "\r" not in before
    changed = set(before.splitlines()) ^ set(after.splitlines())
    assert 0 < len(changed) <= 50


def same(written: Any, value: Any) -> bool:
    """The same keys, words and items, and numbers that agree in twelve digits."""
    if isinstance(value, dict):
        return list(written) == list(value) and all(same(written[key], value[key]) for key in value)
    if isinstance(value, list):
        return len(written) == len(value) and all(map(same, written, value))
    return written == value or (isinstance(value, float) and math.isclose(written, value, rel_tol=5e-12))


def objects(value: Any) -> list[dict[str, Any]]:
    """Every object of a document, outermost first; the attributes of a part (`values`) are free."""
    if isinstance(value, list):
        return [found for one in value for found in objects(one)]
    if not isinstance(value, dict):
        return []
    return [value, *(found for key, one in value.items() if key != "values" for found in objects(one))]


def test_the_schema_is_strict() -> None:
    """An object of fixed keys takes no other, and misses none; maps by name, by case and of attributes are free.
    Tried on the first items of every list."""
    whole = json.loads(schema.to_text(design()))
    document = {key: value[:5] if isinstance(value, list) else value for key, value in whole.items()}
    validator = jsonschema.Draft202012Validator(SCHEMA)
    fixed = [set(rule["required"]) for rule in objects(SCHEMA) if isinstance(rule.get("properties"), dict)]
    tried = 0
    for found in objects(document):
        if set(found) not in fixed:
            continue
        tried += 1
        found["surplus"] = None
        assert not validator.is_valid(document), list(found)
        del found["surplus"]
        if tried % 5 == 0:
            key, value = found.popitem()
            assert not validator.is_valid(document), key
            found[key] = value
    assert tried > 100 and validator.is_valid(document)


@pytest.mark.parametrize("name", ["launch", "camper", "cabin"])
def test_the_examples_are_valid_by_the_published_schema(name: str) -> None:
    folder = Path(__file__).parents[2] / "examples" / name
    source = Source(f"{name}.plate", (folder / f"{name}.plate").read_text(encoding="utf-8"))
    made, _ = compile_plate(source, lambda used: Source(used, (folder / used).read_text(encoding="utf-8")))
    assert made is not None
    jsonschema.Draft202012Validator(SCHEMA).validate(json.loads(schema.to_text(made)))
