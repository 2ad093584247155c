"""What is asked of instruments that a clause before the question only lays out: "We have a Kelly and a Kocher on the tray. Which
has teeth?"

The clause names instruments and says nothing else of them; then the question is read as one that follows on these, and it must
come out as one about them. So nothing that bounds the question is left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from kg.language import nodes
from kg.language.follow import Before
from kg.language.lexicon import Lexicon
from kg.language.loose import SUBJECTS, named, term_at
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import NUMBER, SYMBOL

_CUT = re.compile(r"[.;:!?]+\s+|,\s+(?:so\s+|and\s+|but\s+)?|\s[-\u2013\u2014]+\s")
_NEVER = frozenset(f"kw.{k}" for k in ("not", "no", "without", "except", "only", "it", "them", "why", "than", "neither", "nor"))
MOST = 6
"""So many instruments at most are laid out."""


class Scene(NamedTuple):
    """``before``: the instruments laid out, as if they had been asked about; ``asked``: the question; ``passed``: words of the
    clause that say something to people."""

    before: Before
    asked: str
    passed: tuple[str, ...]

    def is_about(self, question: Question) -> bool:
        """Whether a question speaks of all that was laid out, or of one by itself."""
        said = repr(question)
        return all(repr(name) in said for name in self.before.names)


def scenes(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[Scene]:
    """The ways to part a text into what is laid out and what is asked of it. Raises QuestionError (BL-Q05) for a name that
    several instruments have."""
    for cut in _CUT.finditer(text):
        clause, asked = text[: cut.start()], text[cut.end() :]
        if not clause.strip(" .,;:") or not asked.strip(" ?.!") or not _leans(asked, lexicon):
            continue
        laid = _laid_out(parser_for(clause, lexicon), talk)
        if laid is None:
            continue
        subjects, passed = laid
        question = nodes.Compare(subjects) if len(subjects) > 1 else nodes.Define(subjects[0])
        yield Scene(Before(question, subjects, shown=subjects), asked, passed)


def _leans(asked: str, lexicon: Lexicon) -> bool:
    """Whether a question points back, or asks which of several."""
    parser = parser_for(asked, lexicon)
    if parser.kinds(0) & {"kw.which", "kw.ones", "kw.whatis", "kw.which_is"}:
        return True
    return any(parser.kinds(at) & {"kw.it", "kw.them", "kw.ones", "kw.which"} for at in range(len(parser.tokens)))


def _laid_out(parser: FormParser, talk: Talk) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    """The instruments and families that a clause names, and its words worth telling; None if it says anything else of them."""
    places: list[tuple[int, int]] = []
    passed: list[str] = []
    at = 0
    while at < len(parser.tokens):
        token, phrase = parser.tokens[at], term_at(parser, at)
        if phrase is not None and {e.kind for e in phrase[1]} & set(SUBJECTS):
            places.append((at, phrase[0]))
            at = phrase[0]
            continue
        told = token.key in talk.passed or token.key in talk.beside
        if token.key in talk.strong or token.key in talk.apart or parser.kinds(at) & _NEVER:
            return None
        counted = token.kind == NUMBER or token.key in parser.lexicon.words.numbers
        if token.kind != SYMBOL and not (told or counted or talk.says_nothing(token.key) or token.key in talk.laying or token.key in parser.lexicon.words.articles):
            return None
        passed += [parser.quote(at)] if told else []
        at += 1
    subjects = tuple(dict.fromkeys(named(parser, places))) if places else ()
    each = tuple(s for s in subjects if parser.lexicon.vocabulary.terms[s].role == "pattern")
    subjects = each if len(each) > 1 else subjects  # "two retractors, a Deaver and a Balfour"
    return (subjects, tuple(dict.fromkeys(passed))) if 0 < len(subjects) <= MOST else None


__all__ = ["Scene", "scenes"]
