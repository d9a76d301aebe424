"""The server: what an editor asks, answered from the open plates."""

from __future__ import annotations

import re

from lsprotocol import types

from copperplate.editor.completion import Sort, proposals
from copperplate.editor.hinting import hints
from copperplate.editor.hovering import hover
from copperplate.editor.names import occurrences
from copperplate.editor.open_plates import Inside
from copperplate.editor.plates import Plates
from copperplate.syntax import format
from copperplate.syntax.tree import Declaration, RunStatement, Text, Word
from copperplate.text import Span

NAME = re.compile(r"[^\W\d_A-Z]\w*(?:-\w+)*")
_SORT: dict[Sort, types.CompletionItemKind] = {
    "kind": types.CompletionItemKind.Keyword,
    "attribute": types.CompletionItemKind.Property,
    "choice": types.CompletionItemKind.EnumMember,
    "name": types.CompletionItemKind.Variable,
}


def server(inside: Inside) -> Plates:
    """A server with all that it answers."""
    plates = Plates(inside)
    _follow(plates)
    _names(plates)
    _words(plates)
    _offers(plates)
    return plates


def _follow(plates: Plates) -> None:
    """Open, change, close."""

    @plates.feature(types.TEXT_DOCUMENT_DID_OPEN)
    async def opened(params: types.DidOpenTextDocumentParams) -> None:
        await plates.open(params.text_document.uri)

    @plates.feature(types.TEXT_DOCUMENT_DID_CHANGE)
    async def changed(params: types.DidChangeTextDocumentParams) -> None:
        plates.soon(params.text_document.uri)

    @plates.feature(types.TEXT_DOCUMENT_DID_CLOSE)
    async def closed(params: types.DidCloseTextDocumentParams) -> None:
        await plates.forget(params.text_document.uri)


def _names(plates: Plates) -> None:
    """Definition, references, rename, outline."""

    def given(uri: str, position: types.Position) -> tuple[str, types.Location] | None:
        """The name at a position, and where it is given."""
        known = plates.known(uri)
        name = known.at(plates.offset(uri, position))
        place = known.given().get(name.name) if name is not None else None
        return (place.name, plates.location(place.span, uri)) if place is not None else None

    def everywhere(name: str, uris: list[str]) -> list[types.Location]:
        """Every place of a name in some open plates and in the files that they use, each once."""
        places: dict[tuple[str, int, int], types.Location] = {}
        for uri in uris:
            known = plates.known(uri)
            for occurrence in (o for tree in (known.tree, *known.used) for o in occurrences(tree) if o.name == name):
                place = plates.location(occurrence.span, uri)
                places[place.uri, place.range.start.line, place.range.start.character] = place
        return list(places.values())

    @plates.feature(types.TEXT_DOCUMENT_DEFINITION)
    def definition(params: types.DefinitionParams) -> types.Location | None:
        origin = given(params.text_document.uri, params.position)
        return origin[1] if origin is not None else None

    @plates.feature(types.TEXT_DOCUMENT_REFERENCES)
    def references(params: types.ReferenceParams) -> list[types.Location]:
        origin = given(params.text_document.uri, params.position)
        return everywhere(origin[0], plates.with_file(origin[1].uri)) if origin is not None else []

    @plates.feature(types.TEXT_DOCUMENT_RENAME)
    def rename(params: types.RenameParams) -> types.WorkspaceEdit | None:
        origin = given(params.text_document.uri, params.position)
        if origin is None or not NAME.fullmatch(params.new_name):
            return None
        uris = plates.with_file(origin[1].uri)
        if any(params.new_name in plates.known(uri).given() for uri in uris):
            return None
        changes: dict[str, list[types.TextEdit]] = {}
        for place in everywhere(origin[0], uris):
            changes.setdefault(place.uri, []).append(types.TextEdit(place.range, params.new_name))
        return types.WorkspaceEdit(changes=changes)

    @plates.feature(types.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def outline(params: types.DocumentSymbolParams) -> list[types.DocumentSymbol]:
        symbols: list[types.DocumentSymbol] = []
        for statement in plates.known(params.text_document.uri).tree.statements:
            word: Word | None = None
            detail, sort = "", types.SymbolKind.Object
            if isinstance(statement, Declaration):
                first = statement.head[0] if statement.head else None
                word = first if isinstance(first, Word) else statement.keyword
                title = next((atom.text for atom in statement.head if isinstance(atom, Text)), "")
                detail = f"{statement.keyword.text} {title}".strip()
            elif isinstance(statement, RunStatement):
                word, detail, sort = statement.name, "run", types.SymbolKind.Event
            if word is not None:
                whole, own = plates.range(statement.span), plates.range(word.span)
                symbols.append(types.DocumentSymbol(word.text, sort, whole, own, detail))
        return symbols


def _words(plates: Plates) -> None:
    """Hover, completion, the one style."""

    @plates.feature(types.TEXT_DOCUMENT_HOVER)
    def hovered(params: types.HoverParams) -> types.Hover | None:
        uri = params.text_document.uri
        meaning = hover(plates.known(uri), plates.offset(uri, params.position))
        if meaning is None:
            return None
        return types.Hover(types.MarkupContent(types.MarkupKind.Markdown, meaning[0]), plates.range(meaning[1]))

    @plates.feature(types.TEXT_DOCUMENT_COMPLETION, types.CompletionOptions(trigger_characters=["[", "."]))
    def completed(params: types.CompletionParams) -> list[types.CompletionItem]:
        uri = params.text_document.uri
        known = plates.known(uri)
        before = known.source.text[: plates.offset(uri, params.position)]
        return [
            types.CompletionItem(p.word, kind=_SORT[p.sort], detail=p.meaning) for p in proposals(before, known.kinds())
        ]

    @plates.feature(types.TEXT_DOCUMENT_FORMATTING)
    def formatted(params: types.DocumentFormattingParams) -> list[types.TextEdit]:
        source = plates.known(params.text_document.uri).source
        text, findings = format(source)
        if findings or text == source.text:
            return []
        return [types.TextEdit(plates.range(Span(source, 0, len(source.text))), text)]


def _offers(plates: Plates) -> None:
    """What mends a finding, and what was chosen, at the end of each line that leaves it out."""

    @plates.feature(types.TEXT_DOCUMENT_CODE_ACTION)
    def offered(params: types.CodeActionParams) -> list[types.CodeAction]:
        uri, (asked, end) = params.text_document.uri, (params.range.start, params.range.end)
        here = range(plates.offset(uri, asked), plates.offset(uri, end) + 1)
        actions: list[types.CodeAction] = []
        for finding, found in plates.fixes(uri, here):
            diagnostic = plates.diagnostic(finding, uri)
            for fix in found:
                place = plates.location(fix.span, uri)
                edit = types.WorkspaceEdit(changes={place.uri: [types.TextEdit(place.range, fix.text)]})
                kind = types.CodeActionKind.QuickFix
                title = f"{finding.code}: {fix.title}"
                actions.append(
                    types.CodeAction(title, kind, diagnostics=[diagnostic], is_preferred=fix.safe, edit=edit)
                )
        return actions

    @plates.feature(types.TEXT_DOCUMENT_INLAY_HINT)
    def hinted(params: types.InlayHintParams) -> list[types.InlayHint]:
        uri = params.text_document.uri
        first, last = params.range.start.line, params.range.end.line
        return [
            types.InlayHint(place.end, f"  {words}", padding_left=True)
            for span, words in hints(plates.known(uri))
            if first <= (place := plates.range(span)).end.line <= last
        ]
