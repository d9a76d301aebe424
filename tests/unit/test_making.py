"""The one way in: pure, and the same as what the commands write and say."""

from __future__ import annotations

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from command import GOOD, run, write
from comparing import EXAMPLES

from copperplate.making import make

IMPURE = ("click", "rich", "pint", "subprocess", "watchfiles", "pygls", "threading")
SCRIPT = """
import json, sys
events = []
sys.addaudithook(lambda event, arguments: events.append([event, str(arguments[:2])]))
import lark  # which loads the standard library's logging, and that loads threading
library = set(sys.modules)
from copperplate.making import make
texts = {"launch.plate": sys.stdin.buffer.read()}
made = make(texts, "launch.plate")
files = made.files()
print(json.dumps({
    "closing": made.closing,
    "files": {name: len(content) for name, content in files.items()},
    "loaded": sorted(set(sys.modules) - library),
    "threads": sys.modules["threading"].active_count(),
    "events": events,
}))
"""


@pytest.fixture(scope="module")
def report() -> dict[str, object]:
    """What a fresh interpreter tells that makes the launch."""
    plate = (EXAMPLES / "launch" / "launch.plate").read_bytes()
    done = subprocess.run([sys.executable, "-c", SCRIPT], input=plate, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    told = json.loads(done.stdout)
    assert isinstance(told, dict)
    return told


@pytest.fixture(scope="module")
def packs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, bytes]]:
    """The packs that `build` writes, by example, without the manifest, which is of the folder. That the committed
    ones are these, byte for byte, the goldens hold."""
    written: dict[str, dict[str, bytes]] = {}
    for name in ("launch", "camper"):
        folder = tmp_path_factory.mktemp(name)
        assert run("build", f"{name}/{name}.plate", "-o", str(folder), cwd=EXAMPLES).returncode == 0
        written[name] = {path.name: path.read_bytes() for path in folder.iterdir()}
        del written[name][f"{name}.pack.json"]
    return written


def test_a_fresh_interpreter_makes_the_pack_that_build_writes(
    report: dict[str, object], packs: dict[str, dict[str, bytes]]
) -> None:
    assert report["files"] == {name: len(content) for name, content in packs["launch"].items()}
    assert run("check", "launch.plate", cwd=EXAMPLES / "launch").stdout.endswith(f"{report['closing']}\n")


@pytest.mark.parametrize("module", IMPURE)
def test_making_loads_nothing_of_the_entrances(module: str, report: dict[str, object]) -> None:
    assert module not in report["loaded"]


def test_making_starts_nothing_and_writes_nothing(report: dict[str, object]) -> None:
    """By the audit events of the interpreter, https://docs.python.org/3/library/audit_events.html."""
    events = [(name, arguments) for name, arguments in report["events"]]
    assert report["threads"] == 1
    names = {name for name, _ in events}
    assert "open" in names and "import" in names
    started = ("subprocess", "os.system", "os.exec", "os.fork", "os.posix_spawn", "os.spawn", "socket", "_thread")
    assert not [name for name in names if name.startswith((*started, "os.mkdir", "os.remove", "os.rename"))]
    opened = [arguments for name, arguments in events if name == "open" and ".pyc" not in arguments]
    assert not [arguments for arguments in opened if not arguments.endswith(("'r')", "'rb')", "None)"))]


def test_a_plate_makes_what_build_writes_and_check_says(packs: dict[str, dict[str, bytes]]) -> None:
    texts = {name: (EXAMPLES / "camper" / name).read_bytes() for name in ("camper.plate", "types.plate")}
    made = make(texts, "camper.plate")
    assert made.files() == packs["camper"]
    assert list(made.sources) == ["camper.plate", "types.plate"]
    assert run("check", "camper/camper.plate", cwd=EXAMPLES).stdout.endswith(
        make(texts, "camper.plate", folder="camper/").closing + "\n"
    )


def test_it_makes_the_same_from_an_archive(tmp_path: Path, packs: dict[str, dict[str, bytes]]) -> None:
    """Grammar, tables and styles are read as resources of the package, wherever it lies; no file of it is opened."""
    root = EXAMPLES.parent
    with zipfile.ZipFile(tmp_path / "package.zip", "w") as archive:
        for folder, inside in (
            (root / "src" / "copperplate", "copperplate"),
            (root / "grammar", "copperplate/grammar"),
        ):
            for path in folder.rglob("*"):
                if path.is_file() and path.suffix != ".pyc":
                    archive.write(path, f"{inside}/{path.relative_to(folder)}")
    script = SCRIPT + "import copperplate\nassert copperplate.__file__.startswith(sys.path[0]), copperplate.__file__\n"
    path = str(tmp_path / "package.zip")
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path.insert(0, {path!r})\n{script}"],
        input=(EXAMPLES / "launch" / "launch.plate").read_bytes(), capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr.decode()
    assert json.loads(done.stdout)["files"] == {name: len(content) for name, content in packs["launch"].items()}


def test_a_plate_with_errors_makes_findings_and_a_draft(tmp_path: Path) -> None:
    text = GOOD.replace("3.5 m -- fridge", "35 m, 1.5 mm2 -- fridge")
    made = make({"a.plate": text.encode()}, "a.plate")
    assert made.design is not None and made.sound is None
    assert all(name.startswith("a.draft.") for name in made.files()) and made.drawn().sheets
    assert run("check", write(tmp_path, text).name, cwd=tmp_path).stdout.endswith(made.closing + "\n")


def test_a_file_that_is_no_text_is_told_and_not_missed() -> None:
    texts = {"a.plate": b'use "b.plate"\n' + GOOD.encode(), "b.plate": b"\x00"}
    made = make(texts, "a.plate")
    assert [f.code for f in made.findings if f.code in ("CP100", "CP211")] == ["CP100"]
    assert made.sources["b.plate"] is None
    gone = make({"a.plate": texts["a.plate"]}, "a.plate")
    assert [f.code for f in gone.findings if f.code in ("CP100", "CP211")] == ["CP211"]
    assert list(gone.sources) == ["a.plate"]


def test_a_plate_that_is_not_among_the_texts_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(KeyError, match=r"b\.plate"):
        make({"a.plate": GOOD.encode()}, "b.plate")
