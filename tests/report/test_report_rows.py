"""Tables of a report are read quickly; here against the reference parser of CommonMark with GFM tables."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from invented_design import design
from invented_sheets import sheets
from markdown_it import MarkdownIt

from copperplate.report import markdown
from copperplate.report.reading import Grid, read
from copperplate.report.tables import Column, Table, write
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


def by_us(source: str) -> list[list[list[tuple[str, str]]]]:
    grids = [block for block in read(source) if isinstance(block, Grid)]
    return [
        [[[(t.type, t.content) for t in cell.words] for cell in row] for row in (grid.head, *grid.rows)]
        for grid in grids
    ]


def test_the_tables_of_a_report_are_those_of_the_reference_parser() -> None:
    made = design()
    source = markdown(made, sheets(made), detail=True)
    assert len(by_us(source)) > 60
    assert by_us(source) == by_reference(source)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(WORDS | HARD, WORDS | HARD), min_size=1, max_size=3))
def test_any_text_in_a_cell_is_read_as_the_reference_parser_reads_it(rows: list[tuple[str, str]]) -> None:
    table = Table("Any.", (Column("One", 6), Column("Two", 6, decimals=1)), tuple((text(a), code(b)) for a, b in rows))
    source = write([table])
    assert by_us(source) == by_reference(source)
