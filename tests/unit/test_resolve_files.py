"""`use`: other files' parts, and paths that stay inside the folder of the plate."""

from __future__ import annotations

import pytest
from resolving import resolved, sound

from copperplate import resolve, syntax
from copperplate.text import Source

SMALL = 'system "S"\n  nominal 12 V\nbattery house 12.8 V, 100 Ah\nload a part lamp\nhouse -//- 1 m -- a\n'


def codes(text: str, files: dict[str, str]) -> list[str]:
    return [f.code for f in resolved(text, files)[1] if f.severity == "error"]


def test_parts_of_a_used_file_and_of_those_that_it_uses() -> None:
    files = {"lib/lamps.plate": 'use "more/base.plate"\n', "lib/more/base.plate": "part lamp load, 2 A\n"}
    system = sound('use "lib/lamps.plate"\n' + SMALL, files)
    assert system.parts["a"].values["current_a"] == 2.0
    assert system.files == ("test.plate", "lib/lamps.plate", "lib/more/base.plate")


def test_a_path_is_counted_from_the_file_that_uses_it() -> None:
    files = {"lib/lamps.plate": 'use "../base.plate"\n', "base.plate": "part lamp load, 2 A\n"}
    assert sound('use "lib/lamps.plate"\n' + SMALL, files).files[-1] == "base.plate"


def test_a_file_used_twice_is_read_once() -> None:
    files = {"a.plate": 'use "c.plate"\n', "b.plate": 'use "c.plate"\n', "c.plate": "part lamp load, 2 A\n"}
    system = sound('use "a.plate"\nuse "b.plate"\n' + SMALL, files)
    assert system.files == ("test.plate", "a.plate", "c.plate", "b.plate")


@pytest.mark.parametrize(
    "path",
    [
        "../parts.plate",
        "/etc/parts.plate",
        "lib/../../parts.plate",
        "..",
        ".",
        "",
        "C:/parts.plate",
        "..\\\\parts.plate",
    ],
)
def test_nothing_outside_the_folder_is_ever_asked_for(path: str) -> None:
    asked: list[str] = []

    def read(name: str) -> Source | None:
        asked.append(name)
        return None

    tree, _ = syntax.parse(Source("test.plate", f'use "{path}"\n' + SMALL))
    _, findings = resolve.resolve(tree, read)
    assert "CP212" in {f.code for f in findings} and asked == []


def test_a_circle_is_shown_as_a_path() -> None:
    files = {"a.plate": 'use "b.plate"\n', "b.plate": 'use "a.plate"\npart lamp load, 2 A\n'}
    _, findings = resolved('use "a.plate"\n' + SMALL, files)
    circle = next(f for f in findings if f.code == "CP213")
    assert "a.plate -> b.plate -> a.plate" in circle.message
    assert circle.span is not None and circle.span.source.name == "b.plate"


def test_a_plate_that_uses_itself() -> None:
    assert codes('use "test.plate"\npart lamp load, 2 A\n' + SMALL, {"test.plate": ""}) == ["CP213"]


def test_a_missing_file_is_told_once_and_its_parts_are_not_missed() -> None:
    assert codes('use "lamps.plate"\n' + SMALL, {}) == ["CP211"]


def test_a_mistake_in_a_used_file_is_told_in_its_place() -> None:
    _, findings = resolved('use "lamps.plate"\n' + SMALL, {"lamps.plate": "part lamp load, 2 A, wroks 10..15 V\n"})
    (error,) = (f for f in findings if f.severity == "error")
    assert error.span is not None and (error.code, error.span.source.name) == ("CP204", "lamps.plate")


def test_only_parts_stand_in_a_used_file() -> None:
    assert codes('use "x.plate"\n' + SMALL, {"x.plate": "part lamp load, 2 A\nbattery b 12 V\nb -//- 1 m -- a\n"}) == [
        "CP214", "CP214",
    ]  # fmt: skip


def test_parts_of_a_library_need_not_be_used() -> None:
    system, findings = resolved('use "x.plate"\n' + SMALL, {"x.plate": "part lamp load, 2 A\npart fan load, 3 A\n"})
    assert system is not None and not findings


def test_a_file_of_parts_is_sound_by_itself_and_no_system() -> None:
    assert resolved("part lamp load, 2 A\n") == (None, ())
    assert codes("part lamp load, 2 A, wroks 10..15 V\n", {}) == ["CP204"]
    assert codes("part lamp load, 2 A\nload a part lamp\n", {}) == ["CP208", "CP233"]
