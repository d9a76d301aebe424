"""The server: what an editor asks, answered from the open plates. Positions are translated here and only here."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path

from lsprotocol import types
from pygls.lsp.server import LanguageServer
from pygls.uris import from_fs_path, to_fs_path
from pygls.workspace import TextDocument

from copperplate import __version__
from copperplate.editor.completion import Sort, proposals
from copperplate.editor.hovering import hover
from copperplate.editor.names import occurrences
from copperplate.editor.open_plates import Compile, Fetch, Inside, Known, know
from copperplate.findings import Finding, Severity
from copperplate.syntax import format
from copperplate.syntax.tree import Declaration, RunStatement, Text, Word
from copperplate.text import Span

PAUSE_S = 0.15
"""So long must nothing be typed before a plate is compiled."""
NAME = re.compile(r"[^\W\d_A-Z]\w*(?:-\w+)*")
_SEVERITY: dict[Severity, types.DiagnosticSeverity] = {
    "error": types.DiagnosticSeverity.Error,
    "warning": types.DiagnosticSeverity.Warning,
    "advice": types.DiagnosticSeverity.Information,
}
_SORT: dict[Sort, types.CompletionItemKind] = {
    "kind": types.CompletionItemKind.Keyword,
    "attribute": types.CompletionItemKind.Property,
    "choice": types.CompletionItemKind.EnumMember,
    "name": types.CompletionItemKind.Variable,
}


class Plates(LanguageServer):
    """A language server with its open plates."""

    def __init__(self, compile_path: Compile, inside: Inside) -> None:
        super().__init__("copperplate", __version__)
        self._compile = compile_path
        self._inside = inside
        self._known: dict[str, tuple[str, Known]] = {}
        self._waiting: dict[str, asyncio.Task[None]] = {}

    def known(self, uri: str) -> Known:
        """What is known of a plate, compiled now where its text has changed since."""
        text = self.workspace.get_text_document(uri).source
        before = self._known.get(uri)
        if before is None or before[0] != text:
            path = Path(to_fs_path(uri) or "untitled.plate")
            made = know(path, text, self._compile, self._fetch(path), before[1] if before else None)
            self._known[uri] = before = (text, made)
        return before[1]

    def _fetch(self, path: Path) -> Fetch:
        """Files that a plate uses: as they are in the editor where they are open, else from the disk."""

        def fetch(name: str) -> bytes | None:
            found = self._inside(path.parent, name)
            uri = from_fs_path(str(path.parent / name)) or ""
            if found is not None and uri in self.workspace.text_documents:
                return self.workspace.get_text_document(uri).source.encode("utf-8", "surrogatepass")
            return found

        return fetch

    def soon(self, uri: str) -> None:
        """Compile a plate and publish its findings, once nothing has been typed for a moment."""
        if (waiting := self._waiting.pop(uri, None)) is not None:
            waiting.cancel()

        async def later() -> None:
            await asyncio.sleep(PAUSE_S)
            self.publish(uri)

        self._waiting[uri] = asyncio.get_running_loop().create_task(later())

    def publish(self, uri: str) -> None:
        """Send the findings of a plate; those about a file that it uses stand at the top of it."""
        document = self.workspace.get_text_document(uri)
        known = self.known(uri)
        diagnostics = [self._diagnostic(f, known, document) for f in known.findings if f.accepted is None]
        self.text_document_publish_diagnostics(
            types.PublishDiagnosticsParams(uri=uri, diagnostics=diagnostics, version=document.version)
        )

    def forget(self, uri: str) -> None:
        """Drop a plate that was closed, and its findings in the editor."""
        self._known.pop(uri, None)
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri=uri, diagnostics=[]))

    def _diagnostic(self, finding: Finding, known: Known, document: TextDocument) -> types.Diagnostic:
        here = finding.span is not None and finding.span.source.name == known.source.name
        start = types.Position(0, 0)
        place = self.range(finding.span, document) if here and finding.span is not None else types.Range(start, start)
        where = "" if here or finding.span is None else f"{finding.span.source.name}:{finding.span.line}: "
        lines = [where + finding.message, *(f"= {note}" for note in finding.notes)]
        lines += [f"try {finding.help}"] if finding.help else []
        related = [
            types.DiagnosticRelatedInformation(self.location(r.span, known), r.label or "see here")
            for r in finding.related
        ]
        return types.Diagnostic(
            place, "\n".join(lines), _SEVERITY[finding.severity], finding.code, source="copperplate",
            related_information=related,
        )  # fmt: skip

    def range(self, span: Span, document: TextDocument | None = None) -> types.Range:
        """A span in the units that the editor counts in."""
        codec = self.workspace.position_codec
        lines = document.lines if document is not None else span.source.text.splitlines(keepends=True)
        ends = ((span.line, span.column), (span.end_line, span.end_column))
        start, end = (codec.position_to_client_units(lines, types.Position(line - 1, at - 1)) for line, at in ends)
        return types.Range(start, end)

    def location(self, span: Span, known: Known) -> types.Location:
        """A span with the file that it lies in."""
        uri = from_fs_path(str(known.path.parent / span.source.name)) or ""
        return types.Location(uri, self.range(span))

    def offset(self, uri: str, position: types.Position) -> int:
        """The character of the text at a position of the editor."""
        document = self.workspace.get_text_document(uri)
        place = document.position_from_client_units(position)
        starts = self.known(uri).source.line_starts
        return starts[min(place.line, len(starts) - 1)] + place.character


def server(compile_path: Compile, inside: Inside) -> Plates:
    """A server with all that it answers."""
    plates = Plates(compile_path, inside)
    _follow(plates)
    _names(plates)
    _words(plates)
    return plates


def _follow(plates: Plates) -> None:
    """Open, change, close."""

    @plates.feature(types.TEXT_DOCUMENT_DID_OPEN)
    def opened(params: types.DidOpenTextDocumentParams) -> None:
        plates.publish(params.text_document.uri)

    @plates.feature(types.TEXT_DOCUMENT_DID_CHANGE)
    async def changed(params: types.DidChangeTextDocumentParams) -> None:
        plates.soon(params.text_document.uri)

    @plates.feature(types.TEXT_DOCUMENT_DID_CLOSE)
    def closed(params: types.DidCloseTextDocumentParams) -> None:
        plates.forget(params.text_document.uri)


def _names(plates: Plates) -> None:
    """Definition, references, rename, outline."""

    def everywhere(uri: str, position: types.Position) -> tuple[Known, str, list[types.Location]] | None:
        known = plates.known(uri)
        name = known.at(plates.offset(uri, position))
        if name is None or name.name not in known.given():
            return None
        found = (o for tree in (known.tree, *known.used) for o in occurrences(tree) if o.name == name.name)
        return known, name.name, [plates.location(o.span, known) for o in found]

    @plates.feature(types.TEXT_DOCUMENT_DEFINITION)
    def definition(params: types.DefinitionParams) -> types.Location | None:
        known = plates.known(params.text_document.uri)
        name = known.at(plates.offset(params.text_document.uri, params.position))
        given = known.given().get(name.name) if name is not None else None
        return plates.location(given.span, known) if given is not None else None

    @plates.feature(types.TEXT_DOCUMENT_REFERENCES)
    def references(params: types.ReferenceParams) -> list[types.Location]:
        found = everywhere(params.text_document.uri, params.position)
        return found[2] if found is not None else []

    @plates.feature(types.TEXT_DOCUMENT_RENAME)
    def rename(params: types.RenameParams) -> types.WorkspaceEdit | None:
        found = everywhere(params.text_document.uri, params.position)
        if found is None or not NAME.fullmatch(params.new_name) or params.new_name in found[0].given():
            return None
        changes: dict[str, list[types.TextEdit]] = {}
        for place in found[2]:
            changes.setdefault(place.uri, []).append(types.TextEdit(place.range, params.new_name))
        return types.WorkspaceEdit(changes=changes)

    @plates.feature(types.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def outline(params: types.DocumentSymbolParams) -> list[types.DocumentSymbol]:
        found: list[types.DocumentSymbol] = []
        for statement in plates.known(params.text_document.uri).tree.statements:
            word: Word | None = None
            said, sort = "", types.SymbolKind.Object
            if isinstance(statement, Declaration):
                first = statement.head[0] if statement.head else None
                word = first if isinstance(first, Word) else statement.keyword
                title = next((atom.text for atom in statement.head if isinstance(atom, Text)), "")
                said = f"{statement.keyword.text} {title}".strip()
            elif isinstance(statement, RunStatement):
                word, said, sort = statement.name, "run", types.SymbolKind.Event
            if word is not None:
                whole, own = plates.range(statement.span), plates.range(word.span)
                found.append(types.DocumentSymbol(word.text, sort, whole, own, said))
        return found


def _words(plates: Plates) -> None:
    """Hover, completion, the one style."""

    @plates.feature(types.TEXT_DOCUMENT_HOVER)
    def hovered(params: types.HoverParams) -> types.Hover | None:
        uri = params.text_document.uri
        found = hover(plates.known(uri), plates.offset(uri, params.position))
        if found is None:
            return None
        return types.Hover(types.MarkupContent(types.MarkupKind.Markdown, found[0]), plates.range(found[1]))

    @plates.feature(types.TEXT_DOCUMENT_COMPLETION, types.CompletionOptions(trigger_characters=["[", "."]))
    def completed(params: types.CompletionParams) -> list[types.CompletionItem]:
        uri = params.text_document.uri
        known = plates.known(uri)
        before = known.source.text[: plates.offset(uri, params.position)]
        return [
            types.CompletionItem(p.word, kind=_SORT[p.sort], detail=p.meaning) for p in proposals(before, _named(known))
        ]

    @plates.feature(types.TEXT_DOCUMENT_FORMATTING)
    def formatted(params: types.DocumentFormattingParams) -> list[types.TextEdit]:
        source = plates.known(params.text_document.uri).source
        text, findings = format(source)
        if findings or text == source.text:
            return []
        return [types.TextEdit(plates.range(Span(source, 0, len(source.text))), text)]


def _named(known: Known) -> dict[str, str]:
    """Every name that is given, with the word of its kind."""
    kinds: dict[str, str] = {}
    for tree in (known.tree, *known.used):
        for statement in tree.statements:
            if isinstance(statement, Declaration) and statement.head and isinstance(statement.head[0], Word):
                kinds[statement.head[0].text] = statement.keyword.text
    return {name: kinds.get(name, "device") for name in known.given()}
