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
from copperplate.syntax.problems import Problem, shown

_MOST_PROBLEMS = 8
"""Past so many a statement is noise; the first ones say enough."""

_EXPECTED: dict[str, str] = {
    "STROKE": "a stroke",
    "WORD": "a name",
    "OPEN": "a device in brackets",
    "VALUE": "a value",
    "_COMMA": "a comma",
    "CLOSE": "a `]`",
    "$END": "the end of the statement",
}
"""What the parser accepts, in the reader's words. A colon is never all that is expected, so it is not named."""


@dataclass(slots=True)
class Mended:
    """The tree of the mended statement (None: past mending), what was wrong, and where the statement should be
    cut because a line of it reads as a statement of its own. Offsets from the statement's first character.

    `unsure`: the tree shows what else is wrong, but it is a guess that nothing may be built on."""

    tree: Tree[Token] | None = None
    problems: list[Problem] = field(default_factory=list)
    cut: int | None = None
    unsure: bool = False


def tokens_of(piece: str) -> list[Token]:
    """The tokens of a statement, whatever their order."""
    return list(parser().lex(piece))


def is_run(tokens: Iterable[Token]) -> bool:
    """Whether a statement draws a line."""
    return any(token.type == "STROKE" for token in tokens)


def mend(piece: str) -> Mended:
    """Reads a statement that the grammar refuses."""
    mender = _Mender(piece, tokens_of(piece))
    mender.open()
    if mender.tokens:
        mender.drop_commas()
        mender.feed()
    return mender.mended


def _start(token: Token) -> int:
    """Where a token's own characters start, blanks before them aside."""
    blanks = len(token) - len(token.lstrip()) if token.strip() else 0
    return (token.start_pos or 0) + blanks


def _end(token: Token) -> int:
    return _start(token) + len(token.strip())


def _shown(token: Token) -> str:
    """A token in a sentence."""
    return shown(token.strip()) if token.strip() else "a line break"


def _made(kind: str, text: str, at: int) -> Token:
    """A token that the reader forgot: it has a place and no width."""
    return Token(kind, text, at, end_pos=at)


def _is_break(token: Token) -> bool:
    return token.type == "_COMMA" and "\n" in token


def _types(tokens: list[Token]) -> list[str]:
    return [token.type for token in tokens]


def _expected(accepted: set[str]) -> list[str]:
    return [word for kind, word in _EXPECTED.items() if kind in accepted] or ["nothing more"]


@dataclass(slots=True)
class _Mender:
    """Works through the tokens of one statement; `at` is the next one, `before` the last that was fed (None: none
    yet, or the statement is past mending)."""

    piece: str
    tokens: list[Token]
    mended: Mended = field(default_factory=Mended)
    at: int = 0
    before: Token | None = None
    opening: Token | None = None
    machine: Any = None

    def _note(self, code: str, token: Token, end: int | None = None, **figures: Any) -> None:
        self.mended.problems.append(Problem(code, _start(token), _end(token) if end is None else end, figures))

    def _own_statement(self, first: Token) -> None:
        """The line that begins with `first` should have begun in the first column."""
        self._note("CP115", first)
        self.mended.cut = first.start_pos
        self.tokens = []

    # --- before the parser is fed -------------------------------------------------------------------------

    def open(self) -> None:
        """Looks at what stands before the first stroke: a run begins with one end, after its name if it has one.

        No tokens are left where the statement is to be cut or is past mending."""
        if self.tokens[0] == "//":
            self._note("CP110", self.tokens[0], comment=self.piece[2:].partition("\n")[0])
            self.tokens = []
            return
        while len(self.tokens) > 1 and self.tokens[0].type == "STRAY":
            self._note("CP110", self.tokens[0], written=_shown(self.tokens[0]))
            self.tokens = self.tokens[1:]
        if self.tokens[0].type != "WORD":
            self._note("CP114", self.tokens[0], first=_shown(self.tokens[0]))
            self.tokens = []
            return
        self._join_hyphens()
        types = _types(self.tokens)
        stroke = types.index("STROKE") if "STROKE" in types else 0
        front = 2 if types[1:2] == ["COLON"] else 0
        if stroke > front + 1:
            self._front_of_run(types, stroke, front)

    def _join_hyphens(self) -> None:
        """`load port--locker 3 m`: in a declaration, words with a stroke between and no blanks are one name."""
        joined: list[Token] = []
        noted, at = len(self.mended.problems), 0
        while at < len(self.tokens):
            words = self.tokens[at : at + 1]
            while joined and words[0].type == "WORD" and self.tokens[at + 1 : at + 2] == ["--"]:
                if _types(self.tokens[at + 2 : at + 3]) != ["WORD"]:
                    break
                words.append(self.tokens[at + 2])
                at += 2
            if len(words) > 1:
                first, end, name = words[0], words[-1].end_pos, "-".join(words)
                self._note("CP109", first, end, doubled="--".join(words), instead=name)
                words = [Token("WORD", name, first.start_pos, end_pos=end)]
            joined += words
            at += 1
        if is_run(joined):
            del self.mended.problems[noted:]
        else:
            self.tokens = joined

    def _front_of_run(self, types: list[str], stroke: int, front: int) -> None:
        """More than one end stands before the first stroke."""
        breaks = [at for at in range(stroke) if _is_break(self.tokens[at])]
        if breaks and types[breaks[-1] + 1 : stroke] in (["WORD"], ["WORD", "COLON", "WORD"]):
            self._own_statement(self.tokens[breaks[-1] + 1])
            return
        first, second = self.tokens[front], self.tokens[front + 1]
        if second.type == "WORD" and stroke == front + 2:
            mark = self.tokens[stroke].strip()
            self._note("CP106", first, first=str(first), second=str(second), stroke=mark)
            del self.tokens[front]
        elif second.type in ("VALUE", "FEET_INCHES", "MIXED_INCHES", "OPEN"):
            # Nobody can tell how many conductors the forgotten stroke counted.
            self._missing_stroke(front + 1, counted=False)
            self.mended.unsure = True
            self.tokens.insert(front + 1, _made("STROKE", "--", _start(second)))

    def drop_commas(self) -> None:
        """Leaves out commas with nothing before or behind them."""
        kept: list[Token] = []
        for token, following in zip(self.tokens, (*_types(self.tokens[1:]), "$END"), strict=True):
            before = kept[-1].type if kept else ""
            spare = before in ("_COMMA", "STROKE", "OPEN", "COLON") or following in ("STROKE", "CLOSE", "$END")
            if token.type == "_COMMA" and spare:
                self._note("CP117", token)
            else:
                kept.append(token)
        self.tokens = kept

    # --- feeding --------------------------------------------------------------------------------------------

    def feed(self) -> None:
        """Feeds all tokens; the tree is left in `mended` where the statement could be mended."""
        self.machine = parser().parse_interactive("")
        while self.at < len(self.tokens) and len(self.mended.problems) <= _MOST_PROBLEMS:
            try:
                self._put(self.tokens[self.at])
                self.at += 1
            except UnexpectedToken:
                self._repair(self.tokens[self.at])
        if self.at >= len(self.tokens) and self.before is not None and self.mended.cut is None:
            self._finish(self.before)

    def _put(self, token: Token) -> None:
        self.machine.feed_token(token)
        self.before = token
        self.opening = token if token.type == "OPEN" else None if token.type == "CLOSE" else self.opening

    def _repair(self, token: Token) -> None:
        """Puts one token in, or leaves `token` out."""
        before, accepted, run = self.before, self.machine.accepts(), is_run(self.tokens)
        if self.opening is not None and before is not None and token.type in ("STROKE", "OPEN"):
            self._close(self.opening, before)
        elif run and "STROKE" in accepted and before is not None and token.type not in ("COLON", "CLOSE"):
            if token.type != "_COMMA":
                self._missing_stroke(self.at)
                self._put(_made("STROKE", "--", _start(token)))
            else:
                self.at += 1
        elif token.type == "OPEN" and not run:
            self._leave_out_bracket(token)
        elif token.type == "COLON" and self.at >= 2 and self._begins_line(self.at - 1):
            self._own_statement(self.tokens[self.at - 1])
        else:
            self._leave_out(token, accepted)
            self.at += 1

    def _leave_out_bracket(self, opening: Token) -> None:
        """A bracket in a declaration."""
        types = _types(self.tokens[self.at :])
        if "CLOSE" in types:
            self._note("CP114", opening, bracket=True)
            self.at += types.index("CLOSE")
        else:
            self._note("CP108", opening, declared=True)
        self.at += 1

    def _begins_line(self, at: int) -> bool:
        """Whether token `at` is a word that begins an indented line."""
        return self.tokens[at].type == "WORD" and _is_break(self.tokens[at - 1])

    def _leave_out(self, token: Token, accepted: set[str]) -> None:
        if token.type == "STROKE" and self.before is not None and self.before.type == "STROKE":
            self._note("CP112", token)
        elif token.type == "CLOSE":
            self._note("CP108", token, closing=True)
        elif token.type == "COLON":
            self._note("CP110", token, colon=True)
        else:
            self._note("CP114", token, expected=_expected(accepted), written=_shown(token))

    def _missing_stroke(self, at: int, counted: bool = True) -> None:
        """A stroke is missing before token `at`."""
        types, token = _types(self.tokens), self.tokens[at]
        end = _end(token)
        if token.type == "OPEN" and "CLOSE" in types[at:]:
            end = _end(self.tokens[types.index("CLOSE", at)])
        text = " ".join(self.piece[_start(token) : end].split())
        self._note("CP105", token, end, before=shown(text), instead=f"-- {text}" if counted else None)

    def _close(self, opening: Token, last: Token) -> None:
        """Puts in the bracket that should have closed behind `last`."""
        device = None
        if last.type not in ("OPEN", "COLON"):
            device = " ".join(self.piece[_start(opening) : _end(last)].split()) + "]"
        self._note("CP108", opening, _end(last), instead=device)
        if "CLOSE" in self.machine.accepts():
            self._put(_made("CLOSE", "]", _end(last)))
        else:
            self.before, self.at = None, len(self.tokens)

    def _finish(self, last: Token) -> None:
        if self.opening is not None:
            self._close(self.opening, last)
            if self.before is None:
                return
            last = self.before
        try:
            self.mended.tree = self.machine.feed_eof(last)
        except UnexpectedToken:
            if last.type == "STROKE":
                self._note("CP107", last)
                return
            self._note("CP114", last, expected=_expected(self.machine.accepts()), last=last.strip())
