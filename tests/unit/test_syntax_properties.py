"""Whatever is read: findings and never a traceback, places inside the text, time in proportion to its length."""

from __future__ import annotations

import gc
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from copperplate import syntax
from copperplate.findings import CODES
from copperplate.syntax.tree import Declaration, RunStatement
from copperplate.text import Source

FRAGMENTS = st.sampled_from(
    [
        "load", "a", "b.pos", "plus", '"x"', '"y', "12 V", "3 m", "4,5 m", "--", "-//-", "---", "-", "—", "[", "]",
        "[fuse]", "[m: fuse 3 A]", ":", ",", "\n", "\n  ", "\n\n", "# c", "#", "10 AWG", "10..15 V", "8 x 0.25 A",
        "8 x", "5 ft 6 in", "House", "M8", "\x00", "\r", "\t", "\u00a0", "°", "é", "“q”", "'z'", "/", ".", "..",
        "2/0 AWG", "1/0 in", "−3", "\ufeff", "\ud800", "\u2028", "5 ft 1/0 in", "-0.27 %/K", "no-10", "\\",
        '"\\"', "a--b", "a-",
        "a+", "2026-01-02", "１ m", "٣", "{", "a.run-/1", "120/240 V", "=", ";", "(", "5'6\"",
    ]
)  # fmt: skip
JUMBLES = st.lists(st.tuples(FRAGMENTS, st.sampled_from(["", " "])), max_size=30).map(
    lambda parts: "".join(fragment + blank for fragment, blank in parts)
)


def check_findings(text: str) -> None:
    plate, findings = syntax.parse(Source("a.plate", text))
    size = len(plate.source.text)
    for found in findings:
        assert found.code in CODES and found.message.isprintable()
        assert found.span is not None and 0 <= found.span.start <= found.span.end <= size
        assert found.span.line >= 1 and found.span.column >= 1
    starts = [f.span.start for f in findings if f.span]
    assert starts == sorted(starts)
    ends = [0] + [s.span.end for s in plate.statements]
    assert all(end <= s.span.start for end, s in zip(ends, plate.statements, strict=False))


@settings(max_examples=300, deadline=None)
@given(st.text() | JUMBLES)
def test_any_text_gives_findings_and_never_a_traceback(text: str) -> None:
    check_findings(text)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200) | JUMBLES.map(lambda text: text.encode("utf-8", "surrogatepass")))
def test_any_bytes_give_findings_and_never_a_traceback(data: bytes) -> None:
    source, findings = syntax.read(data, "a.plate")
    if source is None:
        assert [f.code for f in findings] == ["CP100"]
    else:
        assert findings == () and "\r" not in source.text
        check_findings(source.text)


@settings(max_examples=100, deadline=None)
@given(JUMBLES)
def test_a_good_statement_is_read_whatever_stands_around_it(jumble: str) -> None:
    text = f"{jumble}\nload certain 5 A\nplus -//- 2 m -- certain\n"
    plate, findings = syntax.parse(Source("a.plate", text))
    load, run = plate.statements[-2:]
    assert isinstance(load, Declaration) and load.span.text == "load certain 5 A"
    assert isinstance(run, RunStatement) and run.span.text == "plus -//- 2 m -- certain"
    assert all(f.span is None or f.span.start <= len(jumble) for f in findings)


GROWING: dict[str, Callable[[int], str]] = {
    "declarations": lambda n: 'load a "A" 5 A, works 10..15 V  # one\n  daily 2 h\n' * n,
    "runs": lambda n: "plus -//- [fuse 5 A] -- 2 m, via x, 10 AWG -- a\n" * n,
    "one long declaration": lambda n: "load a" + ", 5 A" * 4 * n,
    "one long run": lambda n: "a" + " -- 5 m -- b" * 2 * n,
    "mistakes": lambda n: "Load A 5 amps, 4,5 V\nplus [fuse --- 3 m Inv\n" * n,
    "indented statements": lambda n: "a\n" + " load b 5 A\n b -- 3 m -- c\n" * n,
    "hyphens": lambda n: "load a" + "--b" * 20 * n,
    "unclosed brackets": lambda n: "a -- " + "[" * 20 * n,
    "unclosed quotes": lambda n: "load a\n" + '  "b\n' * 4 * n,
    "blanks": lambda n: "a" + "\n " * 200 * n + "b",
    "digits": lambda n: "load a " + "5," * 200 * n,
    "comments": lambda n: "load a 5 A\n" + "  # b\n" * 10 * n,
}


@pytest.mark.parametrize("name", GROWING)
def test_time_grows_in_proportion(name: str) -> None:
    """Eight times the text takes about eight times as long; a quadratic step would take sixty-four times."""
    make = GROWING[name]

    def least(n: int, tries: int) -> float:
        source = Source("a.plate", make(n))
        best = float("inf")
        for _ in range(tries):
            start = time.process_time()
            syntax.parse(source)
            best = min(best, time.process_time() - start)
        return best

    syntax.parse(Source("a.plate", make(10)))
    assert least(800, 2) < 20 * least(100, 5) + 0.05


def test_a_message_stays_readable_however_long_the_mistake_is() -> None:
    for text in ("load a " + "5," * 10_000, "load " + "É" * 10_000, "a [" + "b " * 5_000 + "] -- c"):
        _, findings = syntax.parse(Source("a.plate", text))
        assert findings and all(len(f.message) <= 300 and len(f.help) <= 300 for f in findings)


def test_collecting_garbage_is_as_it_was() -> None:
    assert gc.isenabled()
    syntax.parse(Source("a.plate", "load a 5 amps"))
    assert gc.isenabled()
    gc.disable()
    try:
        syntax.parse(Source("a.plate", "load a 5 A"))
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_two_threads_may_read_at_once() -> None:
    texts = [f'load x{n} "X" {n} A\nplus -//- {n} m -- x{n}\n' * 200 for n in range(1, 5)]
    results: dict[int, set[str]] = {}

    def work(n: int) -> None:
        plate, findings = syntax.parse(Source("a.plate", texts[n]))
        assert findings == ()
        results[n] = {syntax.subject(statement) for statement in plate.statements}

    threads = [threading.Thread(target=work, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert results == {n: {f"x{n + 1}"} for n in range(4)}


def test_reading_does_not_wait_for_pint(tmp_path: Path) -> None:
    """The parser builds from its own text and writes nothing anywhere."""
    script = (
        "import sys; from copperplate import syntax; from copperplate.text import Source\n"
        "plate, findings = syntax.parse(Source('a', 'load a 5 A'))\n"
        "assert plate.statements and not findings and 'pint' not in sys.modules"
    )
    command, environment = [sys.executable, "-B", "-c", script], {"TMPDIR": str(tmp_path)}
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, env=environment)
    assert done.returncode == 0, done.stderr
    assert list(tmp_path.iterdir()) == []


def test_the_grammar_comes_from_the_package_where_it_is_built_in(tmp_path: Path) -> None:
    """As from a wheel: a copy of the package with the grammar inside, and no checkout around it."""
    root = Path(__file__).resolve().parents[2]
    for room in ("text", "units", "findings", "syntax"):
        shutil.copytree(root / "src" / "copperplate" / room, tmp_path / "copperplate" / room)
    (tmp_path / "copperplate" / "__init__.py").write_text("")
    (tmp_path / "copperplate" / "grammar").mkdir()
    grammar = (root / "grammar" / "plate.lark").read_text(encoding="utf-8")
    (tmp_path / "copperplate" / "grammar" / "plate.lark").write_text(f"// shipped\n{grammar}", encoding="utf-8")
    script = (
        "from copperplate import syntax; from copperplate.text import Source; from copperplate.syntax import grammar\n"
        "assert grammar.grammar_text().startswith('// shipped')\n"
        "plate, findings = syntax.parse(Source('a', 'load a 5 A'))\n"
        "assert plate.statements and not findings"
    )
    environment = {"PYTHONPATH": str(tmp_path), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, env=environment
    )
    assert done.returncode == 0, done.stderr
