"""A language server with the plates that are open in its editor. Positions are translated here and only here."""

from __future__ import annotations

import asyncio
import os
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from threading import RLock
from typing import Any

from lsprotocol import types
from pygls.exceptions import JsonRpcException
from pygls.lsp.server import LanguageServer
from pygls.protocol import LanguageServerProtocol
from pygls.uris import from_fs_path, to_fs_path

from copperplate import __version__
from copperplate.editor.open_plates import Inside, Known, know
from copperplate.findings import Finding, Severity
from copperplate.fixing import Fix, fixes
from copperplate.text import Span

PAUSE_S = 0.15
"""So long must nothing be typed before a plate is compiled."""
_SEVERITY: dict[Severity, types.DiagnosticSeverity] = {
    "error": types.DiagnosticSeverity.Error,
    "warning": types.DiagnosticSeverity.Warning,
    "advice": types.DiagnosticSeverity.Information,
}


class _Answering(LanguageServerProtocol):
    """The protocol, which answers a request that cannot be read too."""

    def structure_message(self, data: dict[str, Any]) -> Any:
        try:
            return super().structure_message(data)
        except JsonRpcException as problem:
            if "id" in data and "method" in data:
                self._send_response(data["id"], error=problem.to_response_error())
            raise


class Plates(LanguageServer):
    """A language server with its open plates."""

    def __init__(self, inside: Inside) -> None:
        super().__init__("copperplate", __version__, protocol_cls=_Answering)
        self._inside = inside
        self._one_at_a_time: defaultdict[str, RLock] = defaultdict(RLock)
        self._known: dict[str, tuple[list[str], Known]] = {}
        """By URI, with the texts that it was made from: the plate's, and those of open files that it uses."""
        self._waiting: dict[str, asyncio.Task[None]] = {}
        self._open: dict[str, str] = {}
        """The URI, as the editor spells it, of each file that is open, by its place on the disk."""

    def feature(self, feature_name: str, options: Any | None = None) -> Callable[..., Any]:
        """What is asked is answered in a thread, so that what concerns a small plate does not wait for a large one."""
        register = super().feature(feature_name, options)
        asked = feature_name.startswith("textDocument/") and not feature_name.startswith("textDocument/did")
        return (lambda handler: register(self.thread()(handler))) if asked else register

    def known(self, uri: str) -> Known:
        """What is known of a plate, compiled now where its text, or that of an open file that it uses, has changed."""
        with self._one_at_a_time[uri]:
            before = self._known.get(uri)
            if before is None or before[0] != self._texts(uri, before[1]):
                path = Path(to_fs_path(uri) or "untitled.plate")  # One that is on no disk lies in no folder.
                text = self._text(uri)  # What is written while it compiles is compiled after that.
                known = know(path, _Texts(self, path, text), before[1] if before else None)
                self._known[uri] = before = ([text, *self._texts(uri, known)[1:]], known)
            return before[1]

    def files(self, uri: str) -> list[str]:
        """The URIs of a plate and of the files that it uses."""
        known = self.known(uri)
        return [uri, *(self._uri(known.path, tree.source.name) for tree in known.used)]

    def with_file(self, file: str) -> list[str]:
        """The open plates that are `file` or use it."""
        return [uri for uri in list(self._open.values()) if file in self.files(uri)]

    def _text(self, uri: str) -> str:
        """The text of a plate in the editor or on the disk; "" where there is none to read (or none has a path), and
        for what is no file: a device would give its bytes for ever."""
        if uri not in self.workspace.text_documents and not os.path.isfile(to_fs_path(uri) or ""):
            return ""
        try:
            return self.workspace.get_text_document(uri).source
        except (OSError, TypeError, ValueError):
            return ""

    def _texts(self, uri: str, known: Known) -> list[str]:
        used = (self._uri(known.path, tree.source.name) for tree in known.used)
        return [self._text(uri), *(self._text(other) for other in used if other in list(self._open.values()))]

    def _uri(self, path: Path, name: str) -> str:
        """The URI of a file that a plate at `path` uses, spelled as the editor does where it is open there."""
        place = os.path.normpath(path.parent / name)
        return self._open.get(place) or from_fs_path(place) or ""

    def bytes_of(self, folder: Path, name: str) -> bytes | None:
        """A file that a plate in `folder` uses: as it is in the editor where it is open, else from the disk."""
        data = self._inside(folder, name)
        opened = self._open.get(os.path.normpath(folder / name))
        return data if data is None or opened is None else _encoded(self._text(opened))

    async def open(self, uri: str) -> None:
        """Take a plate up, and publish its findings."""
        self._open[to_fs_path(uri) or uri] = uri
        await self._publish(uri)

    def soon(self, uri: str) -> None:
        """Compile a plate and publish its findings, once nothing has been typed for a moment."""
        if (waiting := self._waiting.pop(uri, None)) is not None:
            waiting.cancel()

        async def later() -> None:
            await asyncio.sleep(PAUSE_S)
            self._waiting.pop(uri, None)
            await self._publish(uri)

        self._waiting[uri] = asyncio.get_running_loop().create_task(later())

    async def _publish(self, file: str) -> None:
        """Send the findings of the open plates that are `file` or use it."""
        for made in await asyncio.to_thread(lambda: [self._findings(uri) for uri in self.with_file(file)]):
            if made.uri in self._open.values():
                self.text_document_publish_diagnostics(made)

    def _findings(self, uri: str) -> types.PublishDiagnosticsParams:
        """The findings of a plate; those about a file that it uses stand at the top of it."""
        version = self.workspace.get_text_document(uri).version
        diagnostics = [self.diagnostic(f, uri) for f in self.known(uri).findings if f.accepted is None]
        return types.PublishDiagnosticsParams(uri=uri, diagnostics=diagnostics, version=version)

    async def forget(self, uri: str) -> None:
        """Drop a plate that was closed, and its findings in the editor."""
        if (waiting := self._waiting.pop(uri, None)) is not None:
            waiting.cancel()
        self._open.pop(to_fs_path(uri) or uri, None)
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri=uri, diagnostics=[]))
        await self._publish(uri)
        self._known.pop(uri, None)

    def fixes(self, uri: str, here: range) -> list[tuple[Finding, tuple[Fix, ...]]]:
        """What mends the findings of a plate that stand where the range of characters is."""
        known = self.known(uri)
        placed = ((f, f.span) for f in known.findings if f.edits and f.span is not None)
        own = ((f, span) for f, span in placed if span.source.name == known.source.name)
        standing = [f for f, span in own if span.start < here.stop and here.start <= span.end]
        return list(fixes(known.made, _Texts(self, known.path, self._text(uri)), standing)) if standing else []

    def diagnostic(self, finding: Finding, uri: str) -> types.Diagnostic:
        """A finding as an editor shows it."""
        known = self.known(uri)
        here = finding.span is not None and finding.span.source.name == known.source.name
        start = types.Position(0, 0)
        place = self.range(finding.span) if here and finding.span is not None else types.Range(start, start)
        where = "" if here or finding.span is None else f"{finding.span.source.name}:{finding.span.line}: "
        lines = [where + finding.message, *(f"= {note}" for note in finding.notes)]
        lines += [f"try {finding.help}"] if finding.help else []
        related = [
            types.DiagnosticRelatedInformation(self.location(r.span, uri), r.label or "see here")
            for r in finding.related
        ]
        return types.Diagnostic(
            place, "\n".join(lines), _SEVERITY[finding.severity], finding.code, source="copperplate",
            related_information=related,
        )  # fmt: skip

    def range(self, span: Span) -> types.Range:
        """A span in the units that the editor counts in."""
        codec = self.workspace.position_codec
        lines = span.source.text.split("\n")
        ends = ((span.line, span.column), (span.end_line, span.end_column))
        start, end = (codec.position_to_client_units(lines, types.Position(line - 1, at - 1)) for line, at in ends)
        return types.Range(start, end)

    def location(self, span: Span, uri: str) -> types.Location:
        """A span of the plate at `uri`, or of a file that it uses, with the file that it lies in."""
        known = self.known(uri)
        own = span.source.name == known.source.name
        return types.Location(uri if own else self._uri(known.path, span.source.name), self.range(span))

    def offset(self, uri: str, position: types.Position) -> int:
        """The character of the text at a position of the editor."""
        source = self.known(uri).source
        if position.line >= len(source.line_starts):
            return len(source.text)
        place = self.workspace.position_codec.position_from_client_units(source.text.split("\n"), position)
        return source.line_starts[place.line] + place.character


@dataclass(frozen=True)
class _Texts:
    """A plate with its text in the editor, and the files that it uses."""

    plates: Plates
    path: Path
    text: str

    def get(self, name: str, /) -> bytes | None:
        return _encoded(self.text) if name == self.path.name else self.plates.bytes_of(self.path.parent, name)


def _encoded(text: str) -> bytes:
    """A text as a file; what is no character stays, and is told as no text."""
    return text.encode("utf-8", "surrogatepass")
