"""A reply that puts another word into the name that went before: "for a lower molar?", "and an upper one?"; "what are gold
handles?", "and black ones?"
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import Before
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser

if TYPE_CHECKING:
    from kg.language.lexicon import Lexicon
    from kg.language.readings import Understood
    from kg.language.talk import Talk

_LEADS = frozenset(("kw.and", "kw.and_what_of", "kw.on", "kw.in", "kw.for", "kw.place", "connector", "filler"))
_NAMES = ("value", "concept", "part")
_ASKED = (nodes.Filter, nodes.Count, nodes.Define)
LONGEST = 6
"""A longer reply says more than another word."""


def reworded(
    text: str, lexicon: Lexicon, talk: Talk, before: Before, ask: Callable[[str, None], Understood]
) -> Understood | None:
    """The question before as it was typed, with another first word in the name of one value; None if that is not what the
    reply says, or if there is no such name."""
    parser = parser_for(text, lexicon)
    word = _word(parser, talk)
    if not word or not before.text or not isinstance(before.question, _ASKED):
        return None
    typed = parser_for(before.text, lexicon)
    found = [
        (start, end)
        for start, end in _names(typed, lexicon)
        if _is_a_name(f"{word} {_rest(typed, start, end)}", typed.quote(start, end), lexicon)
    ]
    if len(found) != 1:
        return None
    start, end = found[0]
    said = (
        f"{before.text[: typed.tokens[start].start]}{word} {_rest(typed, start, end)}{before.text[typed.tokens[end - 1].end :]}"
    )
    with suppress(QuestionError):
        same, new = ask(before.text, None), ask(said, None)
        if same.question == before.question and new.whole and isinstance(new.question, type(before.question)):
            return new
    return None


def of_another_word(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> bool:
    """Whether a reply puts another word into the name of a part, a value or a word of the trade that was explained ("and a
    round one?"): it asks for no list."""
    term = before.question.term if isinstance(before.question, nodes.Define) else ""
    return bool(term and lexicon.vocabulary.terms[term].role in _NAMES and _word(parser_for(text, lexicon), talk))


def _word(parser: FormParser, talk: Talk) -> str:
    """The one word between what leads a reply in and "one": "and the {upper} ones"; empty if it is another reply."""
    tokens = [
        i for i, t in enumerate(parser.tokens) if t.key not in parser.lexicon.words.articles and t.key not in talk.definite
    ]
    while tokens and parser.tokens[tokens[-1]].key in ("?", ".", "!"):
        tokens.pop()
    led = next((n for n, i in enumerate(tokens) if not parser.kinds(i) & _LEADS), len(tokens))
    if not led or len(parser.tokens) > LONGEST or len(tokens) - led != 2:
        return ""
    last = parser.tokens[tokens[-1]].key
    ones = last in talk.one or "kw.ones" in parser.kinds(tokens[-1]) or last in parser.lexicon.keys("ones")
    return parser.quote(tokens[led], tokens[led] + 1) if ones else ""


def _names(parser: FormParser, lexicon: Lexicon) -> list[tuple[int, int]]:
    """Where names of several words stand, the longest at each place."""
    found: list[tuple[int, int]] = []
    for at in range(len(parser.tokens)):
        ends = [end for end, es in parser.phrases(at) if end > at + 1 and any(e.kind in _NAMES for e in es)]
        if ends and not (found and found[-1][1] > at):
            found.append((at, max(ends)))
    return found


def _rest(parser: FormParser, start: int, end: int) -> str:
    return parser.quote(start + 1, end)


def _is_a_name(new: str, old: str, lexicon: Lexicon) -> bool:
    """Whether a name with another first word is that of another value of the same feature, or of another word of the trade."""
    terms = lexicon.vocabulary.terms

    def named(text: str) -> dict[str, str]:
        return {e.term: terms[e.term].feature or e.kind for e in lexicon.entries(text) if e.kind in _NAMES}

    was, now = named(old), named(new)
    return bool(now) and not set(now) & set(was) and bool(set(now.values()) & set(was.values()))


__all__ = ["of_another_word", "reworded"]
