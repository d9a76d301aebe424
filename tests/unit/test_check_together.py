"""Many plates in one call: the same findings in the same order, however many processes found them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from command import run, write
from comparing import BOAT, EXAMPLES

from copperplate.cli import together

MISTAKEN = BOAT.replace("3 m -- fridge", "30 m, 16 AWG -- fridge")


@pytest.fixture
def plates(tmp_path: Path) -> list[str]:
    """Enough text that it pays to share it out: a dozen good plates with two bad ones among them."""
    names = []
    for number in range(40):
        text = MISTAKEN if number in (4, 17) else "system\n[[[" if number == 9 else BOAT + f"# plate {number}\n"
        names.append(write(tmp_path, text, f"p{number:02}.plate").name)
    assert sum((tmp_path / name).stat().st_size for name in names) > together.PAYS_FROM_BYTES
    return names


def test_order_summary_and_exit_code(plates: list[str], tmp_path: Path) -> None:
    done = run("check", *plates, cwd=tmp_path)
    alone = [run("check", name, cwd=tmp_path) for name in plates[3:6]]
    assert done.returncode == 1 and done.stdout.splitlines()[-1].startswith("40 plates: ")
    assert "".join(one.stdout for one in alone) in done.stdout


def test_one_process_and_many_say_the_same(plates: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    contents = [(name, (tmp_path / name).read_bytes()) for name in plates]

    def told() -> list[object]:
        return [
            (c.name, list(c.sources), c.closing, [(f.code, f.subject, f.message) for f in c.findings])
            for c in together.check_all(contents)
        ]

    monkeypatch.setattr(together.os, "sched_getaffinity", lambda _: {0, 1, 2})
    many = told()
    monkeypatch.setattr(together.os, "sched_getaffinity", lambda _: {0})
    assert told() == many


def test_json_names_every_file_read(plates: list[str], tmp_path: Path) -> None:
    write(tmp_path, (EXAMPLES / "camper" / "camper.plate").read_bytes(), "camper.plate")
    write(tmp_path, (EXAMPLES / "camper" / "types.plate").read_bytes(), "types.plate")
    found = json.loads(run("check", *plates, "camper.plate", "--format", "json", cwd=tmp_path).stdout)
    assert found["files"] == [*plates, "camper.plate", "types.plate"]
    assert {f["span"]["file"] for f in found["findings"] if f["code"] == "CP301"} == {"p04.plate", "p17.plate"}
