"""A feature that is asked for, where the grammar takes its word for a value and lists instruments ("which grip do you use for
scissors?", "how many different joints do clamps have?"): what is asked is the feature, so no list of them answers it. And
questions that no meaning of a word answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.amiss import amiss
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.readings import Understood, read
from kg.language.tokens import WORD

if TYPE_CHECKING:
    from kg.language.talk import Talk

_ASKING = frozenset({"kw.which", "kw.whatis", "kw.count"})
_WHETHER = frozenset({"kw.be", "kw.do", "kw.can"})
"""Words that ask for a yes or no, or which are more: "are more scissors curved or straight?" """
_VOWELS = frozenset("aeiouy")
_NO_LIST = "This asks for no list of instruments, and no part or feature of that name is recorded of them."
_ASK_BY_NAME = "Ask what a part is for by its name, or what is recorded of one instrument."
LEAST_ASKED = 4
"""A shorter question may be a list all the same."""
MOST_LIKELY_A_NOUN = 4
"""A shorter word behind a name may be a slip."""
_FAMILIES = frozenset({"category", "kind", "pattern"})
_FITTING = frozenset({"group"})
"""Words for a family beside a part ("which handle do you use with a no. 15 blade?")."""


def feature_asked(text: str, question: Question, lexicon: Lexicon, talk: Callable[[], Talk]) -> Question | None:
    """What a question asks that was read as a list of instruments, by a frame that stands for no such list; None if it asks for
    none. Raises QuestionError (BL-Q05) for a name of several."""
    if not lists_what_has(text, question, lexicon):
        return None
    from kg.language.otherwise import framed

    whether = bool(parser_for(text, lexicon).kinds(0) & _WHETHER)
    several: QuestionError | None = None
    for said in framed(text, lexicon, talk()):
        try:
            found = read(said, lexicon)
            if isinstance(found, nodes.Counts) or not (whether or isinstance(found, nodes.Filter | nodes.Count)):
                return found
        except QuestionError as error:
            several = several or (error if error.code == "BL-Q05" else None)
    if several is not None and not whether:
        raise several
    return None


def asks_otherwise(text: str, found: Understood, lexicon: Lexicon) -> bool:
    """Whether a meaning or a count was read that the question does not ask for, or an instrument that it does not name."""
    question = found.question
    if found.unread is not None:
        return bool(found.unread) and _names_another(parser_for(text, lexicon), found.unread)
    return (
        no_meaning(text, question, lexicon)
        or counts_in_passing(text, question, lexicon)
        or asks_no_list(text, question, lexicon)
        or amiss(text, question, lexicon)
    )


def _names_another(parser: FormParser, unread: tuple[str, ...]) -> bool:
    """Whether an unknown word, or the last word of other names, makes with the name before it that of an instrument that the
    catalogue does not hold ("what is a Castroviejo caliper?")."""
    tokens, articles = parser.tokens, parser.lexicon.words.articles
    if any("kw.do" in parser.kinds(at) for at in range(min(2, len(tokens)))):
        return False  # "what does the Kelly resemble?"
    for at in range(1, len(tokens)):
        token, before = tokens[at], tokens[at - 1]
        if token.kind != WORD or len(token.key) < MOST_LIKELY_A_NOUN or parser.quote(at) not in unread:
            continue
        if parser.text[before.end : token.start] != " " or not _ends_a_name(token.key, parser.lexicon):
            continue
        names = [i for i in range(1, at) for end, es in parser.phrases(i) if end == at and any(e.kind == "pattern" for e in es)]
        if any(parser.text[tokens[i].start].isupper() and tokens[i - 1].key in articles for i in names):
            return True
    return False


def _ends_a_name(word: str, lexicon: Lexicon) -> bool:
    """Whether a word is unknown, or known as the last word of names of instruments"""
    if not _VOWELS & set(word):
        return False  # a short form of a family: "an adson frcps"
    return not lexicon.is_known(word) or any(
        key[-1] == word and entry.kind in ("pattern", "category") for key, entry in lexicon.phrases()
    )


def lists_what_has(text: str, question: Question, lexicon: Lexicon) -> bool:
    """Whether a question for a feature was read as one for the instruments that have a value of it."""
    parser = parser_for(text, lexicon)
    if isinstance(question, nodes.Compare):
        return _half_a_name(parser)
    if not isinstance(question, nodes.Filter | nodes.Count):
        return False
    if parser.tokens and (parser.kinds(0) & _WHETHER or begins_no_list(text, lexicon)):
        return True
    for end, entries in parser.phrases(0) if parser.tokens else ():
        asking = {e.kind for e in entries} & _ASKING
        if "kw.whatis" in asking and (_use_asked(parser, end) or no_list_asked(text, lexicon)):
            return True
        if asking and _feature_asked(parser, end, frozenset() if "kw.count" in asking else _FITTING):
            return True
    return False


def no_list_asked(text: str, lexicon: Lexicon) -> bool:
    """Whether a question begins in words that ask for no list ("what would happen without a ratchet?"), or ends in such as ask
    for a name ("what is the ratchet also known as?")."""
    said, words = text.casefold().strip(" ?.!"), lexicon.words.sought
    return begins_no_list(text, lexicon) or any(said.endswith(f" {end}") for end in words.get("ends", ()))


def begins_no_list(text: str, lexicon: Lexicon) -> bool:
    """Whether a question begins in words that ask for no list."""
    said = text.casefold().lstrip()
    return any(said.startswith(f"{words} ") for words in lexicon.words.sought.get("no_list", ()))


def _half_a_name(parser: FormParser) -> bool:
    """Whether an adjective in front of "and" was taken for a family: "the difference between sharp and blunt retractors"."""
    for at in range(1, len(parser.tokens) - 1):
        kinds = {e.kind for end, es in parser.phrases(at) if end == at + 1 for e in es}
        if {"category", "wide"} <= kinds and "kw.and" in parser.kinds(at + 1):
            return True
    return False


def _feature_asked(parser: FormParser, at: int, but: frozenset[str]) -> bool:
    """Whether a feature stands at ``at`` and what follows asks it of something: "grip do you use for", "grip of". ``but``: what
    else its word must not stand for."""
    at = _past_articles(parser, at)
    for end, entries in parser.phrases(at) if at < len(parser.tokens) else ():
        kinds = {e.kind for e in entries}
        if kinds & (_FAMILIES | but) or end >= len(parser.tokens):
            return False
        if "feature" not in kinds:
            continue
        behind = parser.kinds(end)
        if behind & {"kw.do", "kw.of"}:
            return True
        return "kw.be" in behind and any(e.kind == "connector" for _, es in parser.phrases(end + 1) for e in es)
    return False


def _past_articles(parser: FormParser, at: int) -> int:
    while at < len(parser.tokens) and parser.tokens[at].key in parser.lexicon.words.articles:
        at += 1
    return at


def _use_asked(parser: FormParser, at: int) -> bool:
    """Whether a family stands at ``at``, and what it is used for is asked: "elevators used for in dental surgery"."""
    at = _past_articles(parser, at)
    families = (
        [end for end, es in parser.phrases(at) if any(e.kind == "category" for e in es)] if at < len(parser.tokens) else []
    )
    return any("kw.part_for" in parser.kinds(end) for end in families if end < len(parser.tokens))


def no_meaning(text: str, question: Question, lexicon: Lexicon) -> bool:
    """Whether a question that was read as one for a meaning begins as a yes or no of the thing itself ("can the ratchet be held
    with one hand?"), or asks which of some it has ("which of the two do scissors have?")."""
    if not isinstance(question, nodes.Define | nodes.DefineAll):
        return False
    parser = parser_for(text, lexicon)
    if not parser.tokens:
        return False
    first, words = parser.kinds(0), [i for i, t in enumerate(parser.tokens) if t.kind == WORD]
    if "kw.can" in first and not first & {"kw.whatis", "kw.define"}:
        at = next((i for i in words[1:] if parser.tokens[i].key not in lexicon.words.articles), 0)
        return any(e.kind in ("part", "value", "category") for _, es in parser.phrases(at) for e in es)
    last = parser.kinds(words[-1]) if words else frozenset()
    return "kw.which" in first and "kw.of" in parser.kinds(1) and "kw.have" in last


def asks_no_list(text: str, question: Question, lexicon: Lexicon) -> bool:
    """Raises QuestionError (BL-Q11) where a list was read and it is asked what a thing is for, or whether something is recorded
    ("is the weight of any instrument recorded?")."""
    parser = parser_for(text, lexicon)
    words = [i for i, t in enumerate(parser.tokens) if t.kind == WORD]
    if not isinstance(question, nodes.Filter) or len(words) < LEAST_ASKED:
        return False
    if begins_no_list(text, lexicon):
        return True
    first, last = parser.kinds(0), parser.kinds(words[-1])
    there = any(e.kind == "kw.exist" for _, es in parser.phrases(0) for e in es)
    there = there or parser.says("kw.not", "kw.no", "kw.without")
    if ("kw.whatis" in first and "kw.part_for" in last) or ("kw.be" in first and "kw.stated" in last and not there):
        raise QuestionError("BL-Q11", _NO_LIST, question=text, span=(0, len(text.rstrip())), hint=_ASK_BY_NAME)
    return False


def counts_in_passing(text: str, question: Question, lexicon: Lexicon) -> bool:
    """Whether a count was read from the description of one thing: "a saw made of wire with two handles"."""
    return isinstance(question, nodes.Tally) and text.split()[0].casefold() in lexicon.words.articles
