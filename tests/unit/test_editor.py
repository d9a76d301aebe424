"""The language server as an editor meets it: a real process, spoken to by a general client of the protocol."""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("pygls")
from lsprotocol import types
from pygls.lsp.client import LanguageClient

PLATE = """\
system "Ωmega 😀"
  nominal 12 V
use "types.plate"
battery house "House 😀" 12.8 V, 100 Ah, lifepo4
  fault-current 3 kA
panel block "Fuse block" blade, 100 A, ways 4
load lamp "Lamp" 2 A
load fan "Fan" part roof-fan
house -//- 1 m -- [main: fuse class-t] -- 1 m -- block
block.1 -//- 3 m -- lamp
block.2 -//- 2 m -- fan
"""
TYPES = "part roof-fan load, 4 A, works 11..15 V\n"

Talk = Callable[["Editor"], Awaitable[None]]


class Editor:
    """One editor with one open plate."""

    def __init__(self, client: LanguageClient, uri: str) -> None:
        self.client = client
        self.uri = uri
        self.published: asyncio.Queue[types.PublishDiagnosticsParams] = asyncio.Queue()
        self.version = 1

        @client.feature(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
        def published(params: types.PublishDiagnosticsParams) -> None:
            self.published.put_nowait(params)

    async def findings(self) -> list[types.Diagnostic]:
        return list((await asyncio.wait_for(self.published.get(), 30)).diagnostics)

    def write(self, text: str) -> None:
        self.version += 1
        document = types.VersionedTextDocumentIdentifier(self.version, self.uri)
        change = types.TextDocumentContentChangeWholeDocument(text)
        self.client.text_document_did_change(types.DidChangeTextDocumentParams(document, [change]))

    def at(self, line: int, character: int) -> dict[str, Any]:
        return {
            "text_document": types.TextDocumentIdentifier(self.uri),
            "position": types.Position(line - 1, character),
        }


def edit(folder: Path, talk: Talk, text: str = PLATE) -> None:
    """Open `text` in an editor, hold `talk` with the server, and close both."""
    path = folder / "boat.plate"
    path.write_text(text, encoding="utf-8")
    (folder / "types.plate").write_text(TYPES)

    async def session() -> None:
        client = LanguageClient("test", "1")
        await client.start_io(sys.executable, "-m", "copperplate", "language-server")
        editor = Editor(client, path.as_uri())
        capabilities = types.ClientCapabilities(general=types.GeneralClientCapabilities(position_encodings=["utf-16"]))
        await client.initialize_async(types.InitializeParams(capabilities=capabilities, root_uri=folder.as_uri()))
        client.initialized(types.InitializedParams())
        document = types.TextDocumentItem(editor.uri, "plate", editor.version, text)
        client.text_document_did_open(types.DidOpenTextDocumentParams(document))
        try:
            await talk(editor)
        finally:
            await client.shutdown_async(None)
            client.exit(None)
            await client.stop()

    asyncio.run(asyncio.wait_for(session(), 60))


def test_mistakes_come_as_they_are_typed_and_go(tmp_path: Path) -> None:
    async def talk(editor: Editor) -> None:
        assert not [f for f in await editor.findings() if f.severity == types.DiagnosticSeverity.Error]
        editor.write(PLATE.replace('"House 😀" 12.8 V', '"House 😀" 12.8'))
        [wrong] = [f for f in await editor.findings() if f.severity == types.DiagnosticSeverity.Error]
        assert wrong.code == "CP104" and "try" in wrong.message and wrong.source == "copperplate"
        # The mark stands in units of UTF-16, behind a character that takes two of them.
        assert (wrong.range.start.line, wrong.range.start.character) == (3, 25)
        editor.write(PLATE)
        assert not [f for f in await editor.findings() if f.severity == types.DiagnosticSeverity.Error]

    edit(tmp_path, talk)


def test_a_name_is_found_where_it_is_given_and_used(tmp_path: Path) -> None:
    async def talk(editor: Editor) -> None:
        found = await editor.client.text_document_definition_async(types.DefinitionParams(**editor.at(10, 22)))
        assert isinstance(found, types.Location)
        assert (found.uri, found.range.start.line, found.range.start.character) == (editor.uri, 6, 5)
        other = await editor.client.text_document_definition_async(types.DefinitionParams(**editor.at(8, 24)))
        assert isinstance(other, types.Location)
        assert other.uri.endswith("types.plate") and other.range.start.character == 5
        context = types.ReferenceContext(include_declaration=True)
        uses = await editor.client.text_document_references_async(
            types.ReferenceParams(context=context, **editor.at(10, 2))
        )
        assert uses and [u.range.start.line for u in uses] == [5, 8, 9, 10]

    edit(tmp_path, talk)


def test_renaming_changes_every_place_and_nothing_else(tmp_path: Path) -> None:
    async def talk(editor: Editor) -> None:
        renamed = await editor.client.text_document_rename_async(
            types.RenameParams(new_name="fuses", **editor.at(10, 2))
        )
        assert renamed is not None and renamed.changes is not None
        lines = PLATE.split("\n")
        for change in sorted(renamed.changes[editor.uri], key=lambda c: -c.range.start.character):
            row, start, end = change.range.start.line, change.range.start.character, change.range.end.character
            lines[row] = lines[row][:start] + change.new_text + lines[row][end:]
        assert "\n".join(lines) == PLATE.replace("panel block", "panel fuses").replace("-- block", "-- fuses").replace(
            "block.", "fuses."
        )
        for refused in ("lamp", "two words", "9lives", "a.b"):
            params = types.RenameParams(new_name=refused, **editor.at(10, 2))
            assert await editor.client.text_document_rename_async(params) is None

    edit(tmp_path, talk)


def test_hover_gives_meaning_and_the_ladder(tmp_path: Path) -> None:
    async def talk(editor: Editor) -> None:
        async def over(line: int, character: int) -> str:
            found = await editor.client.text_document_hover_async(types.HoverParams(**editor.at(line, character)))
            assert found is not None and isinstance(found.contents, types.MarkupContent)
            return found.contents.value

        assert "a source with energy" in await over(4, 2)
        assert "short-circuit current of one battery; in kA" in await over(5, 4)
        ladder = await over(10, 21)
        assert "V at the load" in ladder and "lamp.run" in ladder and "design current" in ladder
        assert "lamp.run" in await over(10, 9)  # the strokes of the run
        editor.write(PLATE.replace("2 A", "2"))
        assert "lamp.run" in await over(10, 21), "the last design stays while the plate has errors"

    edit(tmp_path, talk)


@pytest.mark.parametrize(
    ("typed", "offered", "not_offered"),
    [
        ("", ["load", "battery", "block", "house.pos"], ["daily"]),
        ("load pump 4 A, ", ["works", "intermittent", "max-fuse"], ["fault-current", "house"]),
        ("battery b 12 V, ", ["lifepo4", "fault-current"], ["works"]),
        ("load pump part ", ["roof-fan"], ["lamp", "works"]),
        ("block.3 -//- ", ["via", "sheath", "lamp"], ["works", "fault-current"]),
        ("house.pos -- [x: ", ["fuse", "class-t", "breaks"], ["lamp", "works"]),
        ('load pump "in a titl', [], ["works", "load"]),
        ("# in a comm", [], ["works", "load"]),
    ],
)
def test_completion_knows_the_statement(tmp_path: Path, typed: str, offered: list[str], not_offered: list[str]) -> None:
    async def talk(editor: Editor) -> None:
        text = PLATE + typed
        editor.write(text)
        params = types.CompletionParams(**editor.at(text.count("\n") + 1, len(typed)))
        found = await editor.client.text_document_completion_async(params)
        assert isinstance(found, list | None)
        words = {item.label for item in found or []}
        assert set(offered) <= words and not set(not_offered) & words

    edit(tmp_path, talk)


def test_the_one_style_and_the_outline(tmp_path: Path) -> None:
    async def talk(editor: Editor) -> None:
        options = types.FormattingOptions(tab_size=2, insert_spaces=True)
        document = types.TextDocumentIdentifier(editor.uri)
        editor.write(PLATE.replace("load lamp ", "load   lamp   "))
        edits = await editor.client.text_document_formatting_async(types.DocumentFormattingParams(document, options))
        assert edits and 'load lamp "Lamp" 2 A' in edits[0].new_text
        symbols = await editor.client.text_document_document_symbol_async(types.DocumentSymbolParams(document))
        assert [s.name for s in symbols or []] == ["system", "use", "house", "block", "lamp", "fan"]

    edit(tmp_path, talk)


@pytest.mark.parametrize(
    "text", ["", "\x00", "load", "\ud800", "load a -- [", "a" * 5000, "\r\n\t😀 -- \n  [", "use 'x"]
)
def test_no_text_brings_it_down(tmp_path: Path, text: str) -> None:
    async def talk(editor: Editor) -> None:
        await editor.findings()
        editor.write(text.encode("utf-8", "replace").decode())
        await editor.findings()
        for line in range(1, text.count("\n") + 2):
            await editor.client.text_document_hover_async(types.HoverParams(**editor.at(line, 1)))
            await editor.client.text_document_completion_async(types.CompletionParams(**editor.at(line, 1)))
            await editor.client.text_document_definition_async(types.DefinitionParams(**editor.at(line, 1)))

    edit(tmp_path, talk)


def test_a_file_that_is_used_counts_as_it_stands_in_the_editor(tmp_path: Path) -> None:
    """Written and not saved, in a folder whose name must be escaped: the plate that uses it is read again, and a name
    is changed in both wherever one asks."""
    folder = tmp_path / "my plates #1"
    folder.mkdir()

    async def talk(editor: Editor) -> None:
        assert "CP202" not in {f.code for f in await editor.findings()}
        types_uri = (folder / "types.plate").as_uri()
        document = types.TextDocumentItem(types_uri, "plate", 1, TYPES)
        editor.client.text_document_did_open(types.DidOpenTextDocumentParams(document))
        place = types.RenameParams(types.TextDocumentIdentifier(types_uri), types.Position(0, 6), "hood-fan")
        edit_of_both = await editor.client.text_document_rename_async(place)
        assert edit_of_both is not None and edit_of_both.changes is not None
        assert {uri: len(edits) for uri, edits in edit_of_both.changes.items()} == {types_uri: 1, editor.uri: 1}
        changed = types.TextDocumentContentChangeWholeDocument(TYPES.replace("roof-fan", "hood-fan"))
        version = types.VersionedTextDocumentIdentifier(2, types_uri)
        editor.client.text_document_did_change(types.DidChangeTextDocumentParams(version, [changed]))
        missing: list[types.Diagnostic] = []
        while not missing:
            missing = [f for f in await editor.findings() if f.code == "CP202"]
        assert [f.range.start.line for f in missing] == [7]

    edit(folder, talk)


@pytest.mark.parametrize(
    "uri", ["untitled:Untitled-1", "archive:/boats/day.plate?at=1", "file://server/boats/day.plate"]
)
def test_a_plate_that_is_on_no_disk_is_its_own_file(tmp_path: Path, uri: str) -> None:
    async def talk(editor: Editor) -> None:
        text = PLATE.replace('use "types.plate"\n', "").replace("part roof-fan", "4 A")
        editor.client.text_document_did_open(
            types.DidOpenTextDocumentParams(types.TextDocumentItem(uri, "plate", 1, text))
        )
        line = text.splitlines().index("block.2 -//- 2 m -- fan")
        place = types.DefinitionParams(types.TextDocumentIdentifier(uri), types.Position(line, 21))
        found = await editor.client.text_document_definition_async(place)
        assert isinstance(found, types.Location) and found.uri == uri

    edit(tmp_path, talk)


def test_of_a_file_that_is_not_there_nothing_is_known(tmp_path: Path) -> None:
    async def talk(editor: Editor) -> None:
        gone = types.TextDocumentIdentifier((tmp_path / "gone.plate").as_uri())
        assert await editor.client.text_document_hover_async(types.HoverParams(gone, types.Position(9, 9))) is None
        assert not await editor.client.text_document_document_symbol_async(types.DocumentSymbolParams(gone))

    edit(tmp_path, talk)


def test_what_mends_a_finding_is_offered_as_an_action(tmp_path: Path) -> None:
    text = PLATE.replace("-- lamp", "-- lmap")
    line = text.splitlines().index("block.1 -//- 3 m -- lmap")

    async def talk(editor: Editor) -> None:
        assert "CP202" in {f.code for f in await editor.findings()}
        place = types.Range(types.Position(line, 20), types.Position(line, 20))
        document = types.TextDocumentIdentifier(editor.uri)
        asked = types.CodeActionParams(document, place, types.CodeActionContext(diagnostics=[]))
        (action,) = await editor.client.text_document_code_action_async(asked) or []
        assert isinstance(action, types.CodeAction) and action.is_preferred and action.edit and action.edit.changes
        (change,) = action.edit.changes[editor.uri]
        assert change.new_text == "lamp" and change.range == types.Range(
            types.Position(line, 20), types.Position(line, 24)
        )
        elsewhere = types.Range(types.Position(0, 0), types.Position(0, 0))
        asked = types.CodeActionParams(document, elsewhere, types.CodeActionContext(diagnostics=[]))
        assert not await editor.client.text_document_code_action_async(asked)

    edit(tmp_path, talk, text)


def test_what_was_chosen_stands_behind_the_lines_of_runs(tmp_path: Path) -> None:
    """The figures are those of `show`, which has its own tests."""

    async def talk(editor: Editor) -> None:
        await editor.findings()
        whole = types.Range(types.Position(0, 0), types.Position(99, 0))
        asked = types.InlayHintParams(types.TextDocumentIdentifier(editor.uri), whole)
        shown = await editor.client.text_document_inlay_hint_async(asked) or []
        lines = PLATE.splitlines()
        hints = {lines[hint.position.line]: hint for hint in shown}
        hint = hints["block.1 -//- 3 m -- lamp"]
        assert hint.position.character == len("block.1 -//- 3 m -- lamp")
        tree = subprocess.run(
            [sys.executable, "-m", "copperplate", "show", "boat.plate"], cwd=tmp_path, capture_output=True, text=True
        ).stdout
        row = next(row for row in tree.splitlines() if " lamp " in row).split()
        size, volts = " ".join(row[row.index("m") + 1 : row.index("m") + 3]), row[row.index("V") - 1]
        assert str(hint.label).strip().startswith(size) and f"lamp {volts} V" in str(hint.label)

    edit(tmp_path, talk)


def large(circuits: int) -> str:
    """A plate that takes seconds to compile."""
    lines = ['system "Large"', "  nominal 12 V", "battery house 12.8 V, 100 Ah, lifepo4", "  fault-current 3 kA"]
    lines += ["bus plus positive, 600 A", "bus minus negative, 600 A", "house.neg -- 1 m -- minus"]
    lines += ["house.pos -- 1 m -- [fuse class-t] -- 1 m -- plus", *(f"load c{n} 0.1 A" for n in range(circuits))]
    lines += [f"plus -- [fuse blade] -- 2 m -- c{n}.pos\nc{n}.neg -- 2 m -- minus" for n in range(circuits)]
    return "\n".join(lines) + "\n"


def test_a_small_plate_is_answered_while_a_large_one_compiles(tmp_path: Path) -> None:
    async def talk(editor: Editor) -> None:
        await editor.findings()
        uri = (tmp_path / "large.plate").as_uri()
        document = types.TextDocumentItem(uri, "plate", 1, large(1500))
        editor.client.text_document_did_open(types.DidOpenTextDocumentParams(document))
        meaning = await editor.client.text_document_hover_async(types.HoverParams(**editor.at(7, 6)))
        assert meaning is not None and editor.published.empty()
        made = await asyncio.wait_for(editor.published.get(), 50)
        assert made.uri == uri and not [d for d in made.diagnostics if str(d.code).startswith("CP1")]

    edit(tmp_path, talk)


@pytest.mark.skipif(sys.platform == "win32", reason="devices have other names")
@pytest.mark.parametrize("uri", ("file:///dev/zero", "file:///dev/stdin"))
def test_a_device_is_not_read(tmp_path: Path, uri: str) -> None:
    async def talk(editor: Editor) -> None:
        await editor.findings()
        where = {**editor.at(1, 0), "text_document": types.TextDocumentIdentifier(uri)}
        assert await asyncio.wait_for(editor.client.text_document_hover_async(types.HoverParams(**where)), 10) is None

    edit(tmp_path, talk)


def spoken(*messages: dict[str, Any]) -> tuple[list[dict[str, Any]], int]:
    """What the server answers to these messages and nothing more, and how it ends."""
    bodies = [json.dumps({"jsonrpc": "2.0", **message}).encode() for message in messages]
    sent = b"".join(b"Content-Length: %d\r\n\r\n" % len(body) + body for body in bodies)
    command = [sys.executable, "-m", "copperplate", "language-server"]
    done = subprocess.run(command, input=sent, capture_output=True, timeout=60)
    answers, rest = [], done.stdout
    while rest:
        head, _, rest = rest.partition(b"\r\n\r\n")
        length = int(head.split(b"Content-Length: ")[1].split(b"\r\n")[0])
        answers.append(json.loads(rest[:length]))
        rest = rest[length:]
    return answers, done.returncode


START = {"id": 1, "method": "initialize", "params": {"capabilities": {}, "rootUri": None, "processId": None}}


@pytest.mark.parametrize(("ending", "code"), [([{"id": 9, "method": "shutdown"}], 0), ([], 1)])
def test_exit_tells_whether_the_editor_took_its_leave(ending: list[dict[str, Any]], code: int) -> None:
    assert spoken(START, *ending, {"method": "exit"})[1] == code


@pytest.mark.parametrize(
    "bad",
    (
        {"id": 5, "method": "textDocument/hover", "params": {"textDocument": 7}},
        {"id": 5, "method": "textDocument/hover", "params": []},
        {"id": 5, "method": "no/suchMethod", "params": {}},
        {"id": 5, "method": "textDocument/rename", "params": {"newName": None}},
    ),
)
def test_a_bad_request_is_answered_and_what_follows_too(bad: dict[str, Any]) -> None:
    answers, code = spoken(START, bad, {"id": 6, "method": "shutdown"}, {"method": "exit"})
    by_id = {answer.get("id"): answer for answer in answers}
    assert "error" in by_id[5] and by_id[5]["error"]["message"]
    assert "error" not in by_id[6] and code == 0
