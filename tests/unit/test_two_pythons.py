"""The same plate gives the same bytes on every Python. `sum` of floats is compensated from 3.12 on
(https://docs.python.org/3/whatsnew/3.12.html, "Other language changes"), so the last digits inside differ."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest
from comparing import EXAMPLES

sys.path.append(str(Path(__file__).parents[1]))
import random_plates

LIBRARIES = ("lark", "markdown_it", "mdurl")
"""What making a plate needs, all of it plain Python: the other interpreter borrows it."""
SEEDS = range(90)
SCRIPT = """
import hashlib, json, sys
from copperplate.findings.as_json import document, finding_json
from copperplate.making import make
from copperplate.schema import to_text
made = {}
for name, texts in json.load(sys.stdin).items():
    plate = make({file: text.encode() for file, text in texts.items()}, name)
    files = plate.files() if len(texts) > 1 else {}
    files["findings"] = document(finding_json(f) for f in plate.findings).encode()
    files["design"] = to_text(plate.design).encode() if plate.design is not None else b""
    made[name] = {file: hashlib.sha256(content).hexdigest() for file, content in files.items()}
print(json.dumps({"compensated": sum([0.1] * 10) == 1.0, "made": made}))
"""


def candidates() -> list[str]:
    """Interpreters on the PATH, and those that pyenv keeps beside it."""
    names = [f"python3.{minor}" for minor in range(11, 16)]
    kept = sorted(Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")).glob("versions/3.1[1-9]*/bin/python"))
    return [*filter(None, map(shutil.which, names)), *map(str, kept)]


def other_python() -> str | None:
    """One whose `sum` is not that of this interpreter."""
    here = sum([0.1] * 10) == 1.0
    question = f"import sys; sys.exit((sum([0.1] * 10) == 1.0) == {here})"
    return next(
        (p for p in candidates() if subprocess.run([p, "-c", question], capture_output=True).returncode == 0), None
    )


def plates() -> dict[str, dict[str, str]]:
    """Texts by plate: the examples, whose packs are made too, and random ones."""
    texts = {f"random-{seed}.plate": {f"random-{seed}.plate": random_plates.plate(seed).text()} for seed in SEEDS}
    parts = (EXAMPLES / "camper" / "types.plate").read_text(encoding="utf-8")
    for example in ("launch", "camper", "cabin"):
        plate = EXAMPLES / example / f"{example}.plate"
        texts[plate.name] = {plate.name: plate.read_text(encoding="utf-8"), "types.plate": parts}
    return texts


def made_by(python: str, folder: Path) -> dict[str, object]:
    for name in LIBRARIES:
        spec = find_spec(name)
        assert spec is not None and spec.origin is not None
        if not (folder / name).exists():
            (folder / name).symlink_to(Path(spec.origin).parent)
    package = find_spec("copperplate")
    assert package is not None and package.origin is not None
    path = os.pathsep.join((str(Path(package.origin).parents[1]), str(folder)))
    environment = {**os.environ, "PYTHONPATH": path, "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(
        [python, "-c", SCRIPT], input=json.dumps(plates()), env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert isinstance(answer, dict)
    return answer


def test_two_pythons_make_the_same_bytes(tmp_path: Path) -> None:
    other = other_python()
    if other is None:
        pytest.skip("no second Python whose `sum` differs from this one's: 3.11 beside 3.12 or newer")
    here, there = made_by(sys.executable, tmp_path), made_by(other, tmp_path)
    assert here["compensated"] != there["compensated"]
    assert here["made"] == there["made"]
