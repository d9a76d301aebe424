"""Widths and line breaking of the pen's lettering."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from copperplate.drawing import lettering

FONTS = Path("/usr/share/fonts/truetype/liberation")


def advances(path: Path) -> dict[int, int]:
    """Advance widths in thousandths by code point, read from a TrueType file (ISO/IEC 14496-22: head, hhea, hmtx,
    cmap format 4)."""
    data = path.read_bytes()
    tables = {}
    for n in range(struct.unpack(">H", data[4:6])[0]):
        tag, _, offset, _ = struct.unpack(">4sIII", data[12 + 16 * n : 28 + 16 * n])
        tables[tag.decode()] = offset
    per_em = struct.unpack(">H", data[tables["head"] + 18 : tables["head"] + 20])[0]
    count = struct.unpack(">H", data[tables["hhea"] + 34 : tables["hhea"] + 36])[0]
    wide = [struct.unpack(">H", data[tables["hmtx"] + 4 * n : tables["hmtx"] + 4 * n + 2])[0] for n in range(count)]
    found: dict[int, int] = {}
    start = tables["cmap"]
    for n in range(struct.unpack(">H", data[start + 2 : start + 4])[0]):
        platform, encoding, offset = struct.unpack(">HHI", data[start + 4 + 8 * n : start + 12 + 8 * n])
        base = start + offset
        if (platform, encoding) != (3, 1) or struct.unpack(">H", data[base : base + 2])[0] != 4:
            continue
        half = struct.unpack(">H", data[base + 6 : base + 8])[0]
        segments = half // 2
        ends = struct.unpack(f">{segments}H", data[base + 14 : base + 14 + half])
        starts = struct.unpack(f">{segments}H", data[base + 16 + half : base + 16 + 2 * half])
        deltas = struct.unpack(f">{segments}H", data[base + 16 + 2 * half : base + 16 + 3 * half])
        ranges = base + 16 + 3 * half
        for s in range(segments):
            shift = struct.unpack(">H", data[ranges + 2 * s : ranges + 2 * s + 2])[0]
            for code in range(starts[s], min(ends[s], 0xFFFE) + 1):
                glyph = code + deltas[s]
                if shift:
                    at = ranges + 2 * s + shift + 2 * (code - starts[s])
                    glyph = struct.unpack(">H", data[at : at + 2])[0]
                    glyph += deltas[s] if glyph else 0
                if glyph & 0xFFFF:
                    found[code] = round(wide[min(glyph & 0xFFFF, count - 1)] * 1000 / per_em)
    return found


@pytest.mark.skipif(not FONTS.is_dir(), reason="needs the font files that the table was made from")
@pytest.mark.parametrize("bold", [False, True])
def test_the_frozen_table_is_that_of_the_font(bold: bool) -> None:
    font = advances(FONTS / f"LiberationSans-{'Bold' if bold else 'Regular'}.ttf")
    for code in [*range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x391, 0x3CA), *range(0x410, 0x450), 0x2212, 0xB2]:
        if code in font:
            assert lettering.width(chr(code), 1000, bold) == pytest.approx(font[code]), hex(code)


def test_widths_of_a_word_by_hand() -> None:
    # A 667, W 944, G 778 thousandths: the metrics of the common sans of this class (from memory)
    assert lettering.width("AWG", 10) == pytest.approx(23.89)


def test_other_scripts_get_room_for_any_font() -> None:
    assert lettering.width("船", 10) >= 10
    assert lettering.width("ا", 10) >= 5
    assert lettering.width("e\u0301", 10) == lettering.width("e", 10)


@given(st.text(max_size=60), st.floats(5, 60))
def test_lines_are_no_wider_than_their_room_and_lose_nothing(text: str, room: float) -> None:
    words = lettering.clean(text)
    lines = lettering.wrap(words, room)
    assert "".join(lines).replace(" ", "") == words.replace(" ", "")
    assert all(lettering.width(line) <= room or len(line) == 1 for line in lines)


@given(st.text(max_size=60), st.floats(5, 60))
def test_a_shortened_text_fits(text: str, room: float) -> None:
    assert lettering.width(lettering.shorten(lettering.clean(text), room)) <= room


@given(st.text())
def test_clean_text_is_one_line_without_controls(text: str) -> None:
    cleaned = lettering.clean(text)
    assert "\n" not in cleaned and "\x00" not in cleaned and "\u202e" not in cleaned
    cleaned.encode()


def test_long_words_break_after_their_hyphens() -> None:
    assert lettering.wrap("fresh-water-pump-of-the-galley", 20) == ("fresh-water-", "pump-of-the-", "galley")


def test_a_text_of_too_many_lines_ends_in_an_ellipsis() -> None:
    lines = lettering.wrap_to("one two three four five six seven", 10, 3)
    assert len(lines) == 3 and lines[-1].endswith("…")
