"""What is asked of instruments that a clause before the question only lays out: "We have a Kelly and a Kocher on the tray.
Which has teeth?"

The clause names instruments and says nothing else of them; then the question is read as one that follows on these, and it must
come out as one about them. So nothing that bounds the question is left out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import Before
from kg.language.clauses import asks
from kg.language.entries import Entry
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.loose import SUBJECTS, cue_at, named, of_another_family, term_at
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import NUMBER, SYMBOL

if TYPE_CHECKING:
    from kg.language.readings import Understood

_CUT = re.compile(r"[;:!?]+\s+|\.+\s+(?!\d)|,\s+(?:so\s+|and\s+|but\s+)?|\s[-\u2013\u2014]+\s")
_NEVER = frozenset(
    f"kw.{k}"
    for k in (
        *("not", "no", "without", "except", "only", "it", "them", "why", "than", "neither", "nor"),
        *("which", "whatis", "how", "count", "compare", "differ", "define", "describe", "sources", "disputes"),
    )
)
_ASKED = frozenset(("compare", "lookalikes", "sources", "disputes", "reprocess"))
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


def of_a_scene(text: str, lexicon: Lexicon, talk: Talk, ask: Callable[[str, Before], Understood]) -> Understood | None:
    """What is asked of instruments that a clause before the question lays out; None if that is not understood whole. ``ask``
    reads a question that follows on them. Raises QuestionError (BL-Q05) for a name of several that is usually meant for one."""
    from kg.language.company import read_with_the_usual

    try:
        for scene in scenes(text, lexicon, talk):
            with suppress(QuestionError):
                found = ask(scene.asked, scene.before)
                if found.doubtful is None and not found.untold and scene.is_about(found.question):
                    return found._replace(passed=tuple(dict.fromkeys((*scene.passed, *found.passed))))
    except QuestionError as error:
        if error.code == "BL-Q05" and read_with_the_usual(error, lexicon):
            raise
    return None


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
    if not asks(asked, lexicon):
        return False
    parser = parser_for(asked, lexicon)
    if parser.kinds(0) & {"kw.which", "kw.ones", "kw.whatis", "kw.which_is"}:
        return True
    return any(parser.kinds(at) & {"kw.it", "kw.them", "kw.ones", "kw.which"} for at in range(len(parser.tokens)))


def _laid_out(parser: FormParser, talk: Talk) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    """The instruments and families that a clause names, and its words worth telling; None if it says anything else of them."""
    places: list[tuple[int, int]] = []
    passed: list[str] = []
    at = 0
    if any(cue_at(parser.tokens, i, talk)[1] & _ASKED and t.key not in talk.laying for i, t in enumerate(parser.tokens)):
        return None
    while at < len(parser.tokens):
        token, phrase = parser.tokens[at], term_at(parser, at)
        if phrase is not None and {e.kind for e in phrase[1]} & set(SUBJECTS):
            if of_another_family(parser, at, phrase[0], talk):
                return None  # no Kelly is a retractor
            places.append((at, phrase[0]))
            at = phrase[0]
            continue
        told = token.key in talk.passed or token.key in talk.beside
        counted = token.kind == NUMBER or token.key in parser.lexicon.words.numbers
        if token.key in talk.strong or token.key in talk.apart or (parser.kinds(at) & _NEVER and not counted):
            return None
        says_nothing = told or counted or talk.says_nothing(token.key) or token.key in talk.laying
        if token.kind != SYMBOL and not (says_nothing or token.key in parser.lexicon.words.articles):
            return None
        passed += [parser.quote(at)] if told else []
        at += 1
    families = frozenset(
        parser.tokens[end - 1].key
        for at, end in places
        if any(stop == end and e.kind == "category" for stop, es in parser.phrases(at) for e in es)
    )
    subjects = tuple(dict.fromkeys(named(parser, places, families))) if places else ()
    each = tuple(s for s in subjects if parser.lexicon.vocabulary.terms[s].role == "pattern")
    subjects = each if len(each) > 1 else subjects  # "two retractors, a Deaver and a Balfour"
    return (subjects, tuple(dict.fromkeys(passed))) if 0 < len(subjects) <= MOST else None


def field_of(clause: str, question: Question, lexicon: Lexicon) -> Question | None:
    """The list that a question asks for, bounded by the one branch or place that the clause before speaks of ("we are setting
    up an eye list, so which scissors"); None if it speaks of none or of several, or if the question does itself."""
    wanted = lexicon.words.set_features | lexicon.words.set_places
    if not isinstance(question, nodes.Filter) or any(repr(feature) in repr(question) for feature in wanted):
        return None
    parser = parser_for(clause, lexicon)

    def is_field(entry: Entry) -> bool:
        return entry.kind == "wide" or (entry.kind == "value" and parser.feature_of(entry) in wanted)

    found: list[str] = []
    at = 0
    while at < len(parser.tokens):
        end = next((e for e, es in parser.phrases(at) for x in es if is_field(x)), 0)
        found += [parser.quote(at, end)] if end else []
        at = end or at + 1
    if len(found) != 1:
        return None
    with suppress(QuestionError):
        place = parse(f"{lexicon.word('instrument')}s for {found[0]}", lexicon)
        if isinstance(place, nodes.Filter):
            return nodes.Filter(conj([question.expr, place.expr]))
    return None


def without_occasion(text: str, lexicon: Lexicon, talk: Talk, ask: Callable[[str], Understood]) -> Understood | None:
    """What is asked without what it is asked for ("for our syllabus"), asked by ``ask``; None if it is not understood."""
    from kg.language.clauses import occasion
    from kg.language.listed import only_names

    for found in occasion(text, lexicon, talk):
        with suppress(QuestionError):
            inner = ask(found.text)
            if inner.doubtful is None and not only_names(inner.question):
                if found.left and (bounded := field_of(found.left[0], inner.question, lexicon)) is not None:
                    return inner._replace(question=bounded)
                return inner._replace(passed=tuple(dict.fromkeys((*found.left, *inner.passed))))
    return None


__all__ = ["field_of", "of_a_scene", "without_occasion"]
