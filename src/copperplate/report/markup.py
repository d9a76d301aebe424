"""HTML elements, escaped once and here, and the report's inline Markdown as HTML."""

from __future__ import annotations

from html import escape

from markdown_it.token import Token

from copperplate.report.blocks import inline

_TAGS = {
    "strong_open": "<strong>",
    "strong_close": "</strong>",
    "em_open": "<em>",
    "em_close": "</em>",
    "link_close": "</a>",
}


def tag(name: str, *inside: str, **attributes: str | int | None) -> str:
    """An element around HTML. Attributes that are None or "" are left out; `data_at` is `data-at`, `id_` and
    `class_` lose their mark."""
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(str(value), quote=True)}"'
        for key, value in attributes.items()
        if value is not None and value != ""
    )
    return f"<{name}{written}>" if name == "input" else f"<{name}{written}>{''.join(inside)}</{name}>"


def scrolled(inside: str, label: str, style: str = "wrap plain") -> str:
    """A box that scrolls by itself, by keyboard too, so that the page never does."""
    return tag("div", inside, class_=style, role="region", tabindex=0, aria_label=label)


def words(markdown: str) -> str:
    """Inline Markdown as HTML: text, emphasis, code spans and links within it; nothing else exists in a report."""
    return "".join(map(_word, inline(markdown)))


def _word(token: Token) -> str:
    if token.type == "code_inline":
        return tag("code", escape(token.content))
    if token.type in ("softbreak", "hardbreak"):
        return " "
    if token.type == "link_open":
        return f'<a href="{escape(str(token.attrs["href"]), quote=True)}">'
    return _TAGS.get(token.type) or escape(token.content)
