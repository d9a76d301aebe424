"""The pages of a preview, given on the loopback address, with word of every new one (server-sent events)."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import BoundedSemaphore, Condition, Thread
from typing import Any

ADDRESS = "127.0.0.1"
ALIVE_S = 10.0
"""A silent connection is tried so often, so that closed ones end; a request that is sent in part is waited for so
long."""
CONNECTIONS = 32
"""So many are served at once; others are closed."""


class Shown:
    """The latest page and its number, for many readers. Numbers begin at 1."""

    def __init__(self) -> None:
        self._changed = Condition()
        self._ended = False
        self.number = 0
        self.page = b""

    def show(self, page: str) -> None:
        """Make `page` the latest and wake all who wait."""
        with self._changed:
            self.page = page.encode()
            self.number += 1
            self._changed.notify_all()

    def end(self) -> None:
        """Let all who wait go."""
        with self._changed:
            self._ended = True
            self._changed.notify_all()

    def later(self, seen: int) -> int | None:
        """The number of a page later than `seen`, after at most ALIVE_S seconds `seen` again; None at the end."""
        with self._changed:
            self._changed.wait_for(lambda: self._ended or self.number != seen, timeout=ALIVE_S)
            return None if self._ended else self.number


@contextmanager
def serving(shown: Shown, port: int) -> Iterator[str]:
    """Serve while the body runs; gives the address. `port` 0 takes a free one. OSError where it is taken."""

    class Handler(_Handler):
        latest = shown

    with _Server((ADDRESS, port), Handler) as server:
        server.daemon_threads = True
        Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield f"http://{ADDRESS}:{server.server_port}/"
        finally:
            shown.end()
            server.shutdown()


class _Server(ThreadingHTTPServer):
    """A server with a most of connections, for which a reader that hangs up is nothing to tell."""

    def __init__(self, *arguments: Any) -> None:
        self._free = BoundedSemaphore(CONNECTIONS)
        super().__init__(*arguments)

    def process_request(self, request: Any, client_address: Any) -> None:
        if self._free.acquire(blocking=False):
            super().process_request(request, client_address)
        else:
            self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._free.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Nothing: the reader went away."""


class _Handler(BaseHTTPRequestHandler):
    """`/` is the page, `/changes` the events. A request that names another host is refused: it would come from a
    page elsewhere that made a name of its own point here."""

    latest: Shown
    protocol_version = "HTTP/1.1"
    timeout = ALIVE_S

    def do_GET(self) -> None:
        assert isinstance(self.server, ThreadingHTTPServer)
        port = self.server.server_port
        if self.headers.get("Host") not in (f"{ADDRESS}:{port}", f"localhost:{port}"):
            self.send_error(403)
        elif self.path == "/":
            self._give_page()
        elif self.path == "/changes":
            self._give_changes()
        else:
            self.send_error(404)

    def _give_page(self) -> None:
        page = self.latest.page
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(page)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.end_headers()
        self.wfile.write(page)

    def _give_changes(self) -> None:
        self.close_connection = True
        self.send_response(200)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        seen: int | None = self.latest.number
        try:
            while seen is not None:
                self.wfile.write(f"data: {seen}\n\n".encode())
                seen = self.latest.later(seen)
        except OSError:
            return  # the reader went away

    def log_message(self, format: str, *args: object) -> None:
        """Nothing: the terminal shows findings."""
