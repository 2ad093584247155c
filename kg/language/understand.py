"""From what was typed to a question: the grammar first, then shorthand, what went before, an instrument in the hand, and
plain talk; else a refusal that says which of these it is.

Nothing is guessed: each further reading must explain every word, and every answer begins with how the question was read.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import NUMBER, SYMBOL, WORD


class Understood(NamedTuple):
    """A question, and the words that were passed over as saying nothing of instruments (worth telling)."""

    question: Question
    passed: tuple[str, ...] = ()


def understand(text: str, lexicon: Lexicon, talk: Callable[[], Talk]) -> Understood:
    """The question that ``text`` asks. ``talk`` gives the words of plain talk; called only if the grammar does not do.

    Raises QuestionError as ``parse`` does, and BL-Q11 to BL-Q13 for what is understood but has no answer here.
    """
    try:
        return Understood(parse(text, lexicon))
    except QuestionError as error:
        if error.code not in ("BL-Q02", "BL-Q03", "BL-Q05"):
            raise
        first = error
    if (longer := spelt_out(text, lexicon)) is not None:
        return Understood(longer)
    words = talk()
    ambiguous: QuestionError | None = first if first.code == "BL-Q05" else None
    if (seen := in_the_hand(text, lexicon, words)) is not None:
        return Understood(nodes.Identify(seen))
    from kg.language.loose import loose

    try:
        found = loose(parser_for(text, lexicon), words)
    except QuestionError as error:
        ambiguous = ambiguous or error
    else:
        if found is not None:
            return Understood(*found)
    raise topic(text, lexicon, words, first) or ambiguous or first


def spelt_out(text: str, lexicon: Lexicon) -> Question | None:
    """The question with figures read as words ("4" for "for", "2" for "to"), where they count and measure nothing."""
    parser = parser_for(text, lexicon)
    for table in (lexicon.words.figures,):
        changed = list(parser.tokens)
        for i, token in enumerate(parser.tokens):
            if token.kind == NUMBER and token.key in table and not _counts(parser, i):
                changed[i] = token._replace(key=lexicon.folder.key(table[token.key]), kind=WORD)
        if changed != parser.tokens:
            again = FormParser(text, changed, lexicon)
            try:
                found = again.question()
            except QuestionError:
                continue
            if found is not None:
                return found
    return None


def _counts(parser: FormParser, at: int) -> bool:
    """Whether a number has a unit after it, or stands inside a name or beside another number."""
    around = parser.tokens[max(0, at - 1) : at] + parser.tokens[at + 1 : at + 2]
    if any(t.kind == NUMBER or (t.kind == SYMBOL and t.key != ",") for t in around):
        return True
    units = any(e.kind in ("unit", "degree") for _, es in parser.phrases(at + 1) for e in es) if at + 1 < len(parser.tokens) else False
    return units


def in_the_hand(text: str, lexicon: Lexicon, talk: Talk) -> str | None:
    """What is said of an instrument that is to be named, without the words that ask for its name; None if none is asked for."""
    tokens = lexicon.keyed(parser_for(text, lexicon).tokens)
    keys = tuple(t.key for t in tokens)
    asked = sorted((k for k, names in talk.cues.items() if names == {"identify"}), key=len, reverse=True)
    for key in asked:
        if len(key) < 2 and keys[:1] != key and keys[-1:] != key:
            continue
        for at in (0, len(keys) - len(key)):
            if at >= 0 and keys[at : at + len(key)] == key:
                start, end = tokens[at].start, tokens[at + len(key) - 1].end
                rest = text[end:] if at == 0 else text[:start]
                rest = " ".join(rest.strip(" ,;:.?!-–—").split())
                if len(rest.split()) > 2:
                    return rest
    return None


def topic(text: str, lexicon: Lexicon, talk: Talk, error: QuestionError) -> QuestionError | None:
    """The refusal of a question that is understood well enough to say why it has no answer here; None if it is not."""
    tokens = parser_for(text, lexicon).tokens
    keys = tuple(t.key for t in tokens)
    for entry in talk.topics:
        if entry.last and error.code == "BL-Q02":
            continue
        for size in sorted({len(k) for k in entry.phrases}, reverse=True):
            for at in range(len(keys) - size + 1):
                if keys[at : at + size] in entry.phrases:
                    span = (tokens[at].start, tokens[at + size - 1].end)
                    return QuestionError(entry.code, entry.message, question=text, span=span, hint=entry.hint)
    return None
