"""A PDF as Typst writes it, packed: its small objects in compressed streams, as PDF 1.5 and later allow (ISO 32000-1,
7.5.7 object streams and 7.5.8 cross-reference streams).

The tags that let a screen reader follow a table are an object for each cell, and Typst writes them plainly: nine
tenths of the bytes of a long report. Nothing is left out here, and the same document gives the same bytes.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Mapping

EACH = 1000
"""Objects in one stream: enough to compress well, few enough for a reader who wants one of them."""
PLAIN, PACKED = 1, 2
"""Kinds of entry in the cross-reference stream."""


def packed(document: bytes) -> bytes:
    """The same document in fewer bytes; as it was, where it is not laid out as this module knows it."""
    objects, trailer = _objects(document), _trailer(document)
    if not objects or trailer is None:
        return document
    header = re.match(rb"%PDF-[^\n]*\n(?:%[^\n]*\n)?", document)
    made = bytearray(header[0] if header else b"%PDF-1.7\n")
    entries: dict[int, tuple[int, int, int]] = {}
    for number, body in objects.items():
        if body.endswith(b"endstream"):
            entries[number] = (PLAIN, len(made), 0)
            made += b"%d 0 obj\n%b\nendobj\n" % (number, body)
    small = [number for number in objects if number not in entries]
    following = max(objects) + 1
    for start in range(0, len(small), EACH):
        held = small[start : start + EACH]
        entries[following] = (PLAIN, len(made), 0)
        made += _object_stream(following, {number: objects[number] for number in held})
        entries |= {number: (PACKED, following, index) for index, number in enumerate(held)}
        following += 1
    entries[following] = (PLAIN, len(made), 0)
    at = len(made)
    made += _cross_references(following, entries, trailer)
    return bytes(made + b"startxref\n%d\n%%%%EOF\n" % at)


def _objects(document: bytes) -> dict[int, bytes]:
    """Objects by number, each as it stands between `obj` and `endobj`; none where the cross-reference table is not
    one plain section from object 0 on."""
    start = re.search(rb"startxref\s+(\d+)\s+%%EOF\s*\Z", document)
    table = re.compile(rb"xref\s+0 (\d+)\s+").match(document, int(start[1])) if start else None
    if table is None:
        return {}
    lines = document[table.end() :].splitlines()[: int(table[1])]
    places = {n: int(line[:10]) for n, line in enumerate(lines) if line[17:18] == b"n"}
    ordered = sorted(places.items(), key=lambda item: item[1])
    ends = [place for _, place in ordered[1:]] + [table.start()]
    objects = {}
    for (number, place), end in zip(ordered, ends, strict=True):
        written, opening, closing = document[place:end].strip(), b"%d 0 obj" % number, b"endobj"
        if not (written.startswith(opening) and written.endswith(closing)):
            return {}
        objects[number] = written[len(opening) : -len(closing)].strip()
    return objects


def _trailer(document: bytes) -> bytes | None:
    """The entries of the trailer but its size, which changes."""
    trailer = re.search(rb"trailer\s*<<(.*)>>\s*startxref\s+\d+\s+%%EOF\s*\Z", document, re.DOTALL)
    return re.sub(rb"/Size \d+\s*", b"", trailer[1]).strip() if trailer else None


def _object_stream(number: int, held: Mapping[int, bytes]) -> bytes:
    places, bodies = [], bytearray()
    for own, body in held.items():
        places.append(b"%d %d" % (own, len(bodies)))
        bodies += body + b"\n"
    head = b" ".join(places) + b"\n"
    return _stream(number, b"/Type/ObjStm/N %d/First %d" % (len(held), len(head)), head + bytes(bodies))


def _cross_references(number: int, entries: Mapping[int, tuple[int, int, int]], trailer: bytes) -> bytes:
    """Seven bytes an entry: its kind, where it is, and its place in an object stream; objects that are not there are
    free, as object 0 is."""
    rows = (entries.get(n, (0, 0, 0)) for n in range(number + 1))
    table = b"".join(bytes((kind,)) + at.to_bytes(4, "big") + index.to_bytes(2, "big") for kind, at, index in rows)
    return _stream(number, b"/Type/XRef/Size %d/W[1 4 2]%b" % (number + 1, trailer), table)


def _stream(number: int, entries: bytes, content: bytes) -> bytes:
    data = zlib.compress(content, 9)
    head = b"%d 0 obj\n<<%b/Length %d/Filter/FlateDecode>>\nstream\n" % (number, entries, len(data))
    return head + data + b"\nendstream\nendobj\n"
