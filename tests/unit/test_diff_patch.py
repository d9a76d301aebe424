"""The raw part of a comparison: applied to the old design it gives the new one."""

from __future__ import annotations

import json

import pytest
from comparing import BOAT, PLATES, document, edited
from hypothesis import given
from hypothesis import strategies as st

from copperplate import diff

JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-9, 9)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=3),
    lambda inner: (
        st.lists(inner, max_size=5)
        | st.dictionaries(st.text(max_size=3), inner, max_size=5)
        | st.lists(st.fixed_dictionaries({"id": st.sampled_from("abcde"), "value": inner}), max_size=5)
    ),
    max_leaves=20,
)


@given(JSON, JSON)
def test_any_two_values(old: object, new: object) -> None:
    before = json.dumps(old)
    assert json.dumps(diff.apply(diff.patch(old, new), old)) == json.dumps(new)
    assert json.dumps(old) == before, "the old value is left as it was"
    assert diff.patch(old, old) == []


@pytest.mark.parametrize("name", PLATES)
def test_a_comparison_makes_the_new_design_of_the_old_one(name: str) -> None:
    """Through the JSON text that `diff --format json` prints, down to the last byte of `NAME.design.json`."""
    old = document(PLATES[name])
    runs = [line for line in PLATES[name].splitlines() if "-//-" in line and " -- " in line]
    gone = (
        PLATES[name]
        .replace(runs[-1] + "\n", "")
        .replace(runs[0], runs[0].replace(" m,", "1 m,").replace(" ft,", "1 ft,"))
    )
    new = document(gone)
    assert old != new
    printed = json.loads(json.dumps(diff.compare(old, new)))
    assert json.dumps(diff.apply(printed["patch"], old)) == json.dumps(new)


def test_a_circuit_more_touches_no_other_run() -> None:
    old = document(BOAT)
    new = document(
        edited(BOAT, ("cabin.1 -//-", 'load fan "Fan" 1 A, drop 10 %\ncabin.3 -//- 2 m -- fan\ncabin.1 -//-'))
    )
    found = [o for o in diff.compare(old, new)["patch"] if o["path"].startswith("/runs/") and o["path"].count("/") == 2]
    assert [(o["op"], o["value"]["id"]) for o in found] == [("add", "fan.run")]


PUBLISHED = [
    ({"foo": "bar"}, [{"op": "add", "path": "/baz", "value": "qux"}], {"foo": "bar", "baz": "qux"}),
    ({"foo": ["bar", "baz"]}, [{"op": "add", "path": "/foo/1", "value": "qux"}], {"foo": ["bar", "qux", "baz"]}),
    ({"baz": "qux", "foo": "bar"}, [{"op": "remove", "path": "/baz"}], {"foo": "bar"}),
    ({"foo": ["bar", "qux", "baz"]}, [{"op": "remove", "path": "/foo/1"}], {"foo": ["bar", "baz"]}),
    ({"baz": "qux", "foo": "bar"}, [{"op": "replace", "path": "/baz", "value": "boo"}], {"baz": "boo", "foo": "bar"}),
    ({"foo": "bar"}, [{"op": "add", "path": "/child", "value": {"deep": {}}}], {"foo": "bar", "child": {"deep": {}}}),
    ({"/": 9, "~1": 10}, [{"op": "replace", "path": "/~01", "value": 11}], {"/": 9, "~1": 11}),
    ({"foo": ["bar"]}, [{"op": "add", "path": "/foo/-", "value": ["abc", "def"]}], {"foo": ["bar", ["abc", "def"]]}),
]  # fmt: skip
"""Examples of RFC 6902, appendix A.1 to A.5, A.10 and A.16, and the pointer of A.14 (from memory)."""


@pytest.mark.parametrize(("before", "operations", "after"), PUBLISHED)
def test_published_examples(before: object, operations: list[dict[str, object]], after: object) -> None:
    assert diff.apply(operations, before) == after


def test_what_does_not_fit_is_refused() -> None:
    for operations in (
        [{"op": "add", "path": "/baz/bat", "value": "qux"}],  # RFC 6902 A.12 (from memory)
        [{"op": "remove", "path": "/no"}],
        [{"op": "move", "path": "/foo", "from": "/foo"}],
    ):
        with pytest.raises((KeyError, IndexError, ValueError)):
            diff.apply(operations, {"foo": "bar"})
