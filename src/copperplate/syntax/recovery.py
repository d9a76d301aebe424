"""What to make of a statement that the grammar refuses: name the mistakes, mend what can be mended.

The statement's tokens are fed to the parser one by one. Where one does not fit, a token is put in or left out, with
a problem that says so, and reading goes on: one mistake hides no other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from lark import Token, Tree
from lark.exceptions import UnexpectedToken

from copperplate.syntax.grammar import parser
from copperplate.syntax.problems import Problem

_MOST_PROBLEMS = 8
"""Past so many a statement is noise; the first ones say enough."""

_EXPECTED: dict[str, str] = {
    "STROKE": "a stroke",
    "WORD": "a name",
    "OPEN": "a device in brackets",
    "VALUE": "a value",
    "_COMMA": "a comma",
    "CLOSE": "a `]`",
    "COLON": "a colon",
    "$END": "the end of the statement",
}


@dataclass(slots=True)
class Mended:
    """The tree of the mended statement (None: past mending), what was wrong, and where the statement should be
    cut because a line of it reads as a statement of its own. Offsets from the statement's first character."""

    tree: Tree[Token] | None = None
    problems: list[Problem] = field(default_factory=list)
    cut: int | None = None


def tokens_of(piece: str) -> list[Token]:
    """The tokens of a statement, whatever their order."""
    return list(parser().lex(piece))


def is_run(tokens: Iterable[Token]) -> bool:
    """Whether a statement draws a line."""
    return any(token.type == "STROKE" for token in tokens)


def _problem(code: str, message: str, token: Token, **words: Any) -> Problem:
    mark = token.strip() or str(token)
    start = (token.start_pos or 0) + token.index(mark)
    return Problem(code, message, start, start + len(mark), **words)


def _is_break(token: Token) -> bool:
    return token.type == "_COMMA" and "\n" in token


def _types(tokens: list[Token]) -> list[str]:
    return [token.type for token in tokens]


def _own_statement(token: Token) -> Problem:
    message = "this line is indented, so it goes on with the one above, and it reads as a statement of its own"
    return _problem("CP115", message, token, help="begin it in the first column")


def _opening(tokens: list[Token], mended: Mended) -> list[Token]:
    """Looks at what stands before the first stroke: a run begins with one end, after its name if it has one."""
    while len(tokens) > 1 and tokens[0].type == "STRAY":
        mended.problems.append(_problem("CP110", f"`{tokens[0]}` means nothing here", tokens[0], help="without it"))
        tokens = tokens[1:]
    types = _types(tokens)
    if types[0] != "WORD":
        message = f"a statement begins with its kind, or with the end of a run, not with `{tokens[0].strip()}`"
        mended.problems.append(_problem("CP114", message, tokens[0], help='load fridge "Fridge" 5 A, for example'))
        return []
    stroke = types.index("STROKE") if "STROKE" in types else 0
    front = 2 if types[1:2] == ["COLON"] else 0
    if stroke <= front + 1:
        return tokens
    breaks = [at for at in range(stroke) if _is_break(tokens[at])]
    if breaks and types[breaks[-1] + 1 : stroke] in (["WORD"], ["WORD", "COLON", "WORD"]):
        first = tokens[breaks[-1] + 1]
        mended.problems.append(_own_statement(first))
        mended.cut = first.start_pos
        return []
    second = tokens[front + 1]
    if types[front + 1] == "WORD" and stroke == front + 2:
        message = f"a run begins at one end; here stand two words, `{tokens[front]}` and `{second}`"
        words = f"`{second} {tokens[stroke].strip()}` without `{tokens[front]}`"
        mended.problems.append(_problem("CP106", message, tokens[front], help=words))
        return [*tokens[:front], *tokens[front + 1 :]]
    if types[front + 1] not in ("WORD", "_COMMA", "TEXT", "LOOSE_TEXT", "CLOSE", "COLON"):
        mended.problems.append(_missing_stroke(tokens[front], second))
        return [*tokens[: front + 1], _made("STROKE", "--", second), *tokens[front + 1 :]]
    return tokens


def _made(kind: str, text: str, before: Token) -> Token:
    """A token that the reader forgot, of no width, right before another one."""
    return Token(kind, text, before.start_pos, before.line, before.column, before.line, before.column, before.start_pos)


def _missing_stroke(left: Token, right: Token) -> Problem:
    message = f"a stroke is missing between `{left.strip()}` and `{right.strip()}`"
    return _problem("CP105", message, right, help=f"{left.strip()} -- {right.strip()}")


def _commas(tokens: list[Token], mended: Mended) -> list[Token]:
    """Leaves out commas with nothing before or behind them."""
    kept: list[Token] = []
    for token, following in zip(tokens, (*_types(tokens[1:]), "$END"), strict=True):
        before = kept[-1].type if kept else ""
        spare = before in ("_COMMA", "STROKE", "OPEN", "COLON") or following in ("STROKE", "CLOSE", "$END")
        if token.type == "_COMMA" and spare:
            mended.problems.append(_problem("CP117", "nothing stands on one side of this comma", token, help="without it"))
        else:
            kept.append(token)
    return kept


def _expected(accepted: set[str]) -> str:
    words = [word for kind, word in _EXPECTED.items() if kind in accepted]
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " or " + words[-1] if words else "nothing more"


@dataclass(slots=True)
class _Feeder:
    """Feeds tokens to the parser and decides about each that does not fit."""

    tokens: list[Token]
    mended: Mended
    run: bool
    machine: Any
    at: int = 0
    before: Token | None = None
    opening: Token | None = None

    def _note(self, problem: Problem) -> None:
        self.mended.problems.append(problem)

    def _put(self, token: Token) -> None:
        self.machine.feed_token(token)
        self.before = token
        self.opening = token if token.type == "OPEN" else None if token.type == "CLOSE" else self.opening

    def feed(self) -> None:
        """Feeds all tokens; the tree is left in `mended` where the statement could be mended."""
        while self.at < len(self.tokens) and len(self.mended.problems) <= _MOST_PROBLEMS:
            token = self.tokens[self.at]
            try:
                self._put(token)
                self.at += 1
            except UnexpectedToken:
                self._repair(token)
                if self.mended.cut is not None:
                    return
        if self.at >= len(self.tokens):
            self._finish()

    def _finish(self) -> None:
        last = self.before
        assert last is not None
        if self.opening is not None:
            self._close(_made("CLOSE", "]", last))
        try:
            self.mended.tree = self.machine.feed_eof(last)
        except UnexpectedToken:
            if last.type == "STROKE":
                words = "the component where the run ends, behind it"
                self._note(_problem("CP107", "the run ends in a stroke", last, help=words))
            else:
                message = f"{_expected(self.machine.accepts())} is missing behind `{last.strip()}`"
                self._note(_problem("CP114", message, last, help="the rest of the statement, or a line without this"))

    def _close(self, closing: Token) -> None:
        assert self.opening is not None
        content = [t for t in self.tokens[: self.at] if (t.start_pos or 0) > (self.opening.start_pos or 0)]
        words = "a `]` behind the device"
        if content:
            words = f"a `]` behind `{content[-1].strip()}`"
        self._note(_problem("CP108", "a bracket without its `]`", self.opening, help=words))
        if self.before is not None and self.before.type in ("COLON", "_COMMA"):
            self._put(_made("WORD", "fuse", closing))
        self._put(closing)

    def _repair(self, token: Token) -> None:
        """Puts one token in, or leaves `token` out."""
        before, accepted = self.before, self.machine.accepts()
        if self.opening is not None and token.type in ("STROKE", "OPEN"):
            self._close(_made("CLOSE", "]", token))
        elif token.type == "STROKE" and before is not None and before.type == "STROKE":
            self._note(_problem("CP112", "two strokes in a row", token, help="one of them, or a length between them"))
            self.at += 1
        elif token.type == "CLOSE":
            self._note(_problem("CP108", "a `]` without its `[`", token, help="a `[` before the device, or none"))
            self.at += 1
        elif token.type == "COLON":
            self._colon(token)
        elif self.run and "STROKE" in accepted and token.type == "_COMMA":
            self.at += 1
        elif self.run and "STROKE" in accepted and before is not None:
            self._note(_missing_stroke(before, token))
            self._put(_made("STROKE", "--", token))
        elif token.type == "OPEN" and not self.run:
            self._note(_problem("CP114", "a device in brackets stands in a run", token, help="it in the line of a run"))
            self._skip_bracket()
        else:
            self._note(_problem("CP114", f"`{token.strip()}` where {_expected(accepted)} is expected", token))
            self.at += 1

    def _colon(self, token: Token) -> None:
        """A colon where none fits: perhaps this line is a run of its own."""
        if self.at >= 2 and _is_break(self.tokens[self.at - 2]) and self.tokens[self.at - 1].type == "WORD":
            first = self.tokens[self.at - 1]
            self._note(_own_statement(first))
            self.mended.cut = first.start_pos
            return
        words = "it only behind the name of a run, or of a device in brackets"
        self._note(_problem("CP110", "`:` means nothing here", token, help=words))
        self.at += 1

    def _skip_bracket(self) -> None:
        while self.at < len(self.tokens) and self.tokens[self.at].type != "CLOSE":
            self.at += 1
        self.at += 1


def mend(piece: str) -> Mended:
    """Reads a statement that the grammar refuses."""
    mended = Mended()
    tokens = _opening(tokens_of(piece), mended)
    if tokens:
        tokens = _commas(tokens, mended)
        _Feeder(tokens, mended, is_run(tokens), parser().parse_interactive("")).feed()
    return mended
