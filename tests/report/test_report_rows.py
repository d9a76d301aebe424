"""What HTML and PDF show of a table is what the reference parser of CommonMark with GFM tables reads in Markdown."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given, settings
from hypothesis import strategies as st
from invented_design import design
from invented_sheets import sheets
from markdown_it import MarkdownIt

from copperplate.report import document, markdown
from copperplate.report.blocks import Block, Column, Table, inline
from copperplate.report.words import code, text

WORDS = st.text(st.characters(exclude_categories=("Cs",)), max_size=24)
HARD = st.text(st.sampled_from(list("|\\`*_[]<>!&;~# -+:.0a")), max_size=12)


def by_reference(source: str) -> list[list[list[tuple[str, str]]]]:
    """Every table as rows of cells of (type, content) of what is inside."""
    tables: list[list[list[tuple[str, str]]]] = []
    tokens = MarkdownIt("commonmark", {"html": False}).enable("table").parse(source)
    for token, inside in zip(tokens, [*tokens[1:], None], strict=True):
        if token.type == "table_open":
            tables.append([])
        elif token.type == "tr_open":
            tables[-1].append([])
        elif token.type in ("td_open", "th_open") and inside is not None:
            tables[-1][-1].append([(t.type, t.content) for t in inside.children or () if t.type != "text" or t.content])
    return tables


def by_us(blocks: Sequence[Block]) -> list[list[list[tuple[str, str]]]]:
    found = []
    for table in (block for block in blocks if isinstance(block, Table)):
        rows = [
            [[(t.type, t.content) for t in inline(cell.words)] for cell in row] for row in (table.head, *table.cells)
        ]
        for before, words in reversed(table.groups):
            at = 0 if table.columns[0].head else 1
            heading = [(t.type, t.content) for t in inline(f"**{words}**")]
            rows.insert(before + 1, [heading if n == at else [] for n in range(len(table.columns))])
        found.append(rows)
    return found


def test_the_tables_of_a_report_are_those_of_the_reference_parser() -> None:
    made = design()
    blocks = document(made, sheets(made), detail=True)
    assert len(by_us(blocks)) > 60
    assert by_us(blocks) == by_reference(markdown(blocks))


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(WORDS | HARD, WORDS | HARD), min_size=1, max_size=3))
def test_any_text_in_a_cell_is_read_as_the_reference_parser_reads_it(rows: list[tuple[str, str]]) -> None:
    table = Table("Any.", (Column("One", 6), Column("Two", 6, decimals=1)), tuple((text(a), code(b)) for a, b in rows))
    assert by_us([table]) == by_reference(markdown([table]))
