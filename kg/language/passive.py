"""Questions in the passive for what something is done with: "what is the eardrum incised with?", "with what are ribs cut?".

Only the frame is read here. What stands in it is put into the words that the grammar reads ("which instruments are used to
incise the eardrum"); if it does not read them, neither does this.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.islands import islands
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import SYMBOL

MOST = 14
"""A longer frame is a sentence of another kind."""
_Words = Sequence[str]


def done_with(text: str, lexicon: Lexicon, talk: Talk) -> Question | None:
    """The list of instruments that such a question asks for; None for any other question. Raises nothing."""
    parser = parser_for(text, lexicon)
    if len(parser.tokens) > MOST or not talk.means:
        return None
    general = {k for p in lexicon.words.keywords["instrument"] for k in lexicon.folder.phrase(p)}
    for family, thing, verb in _frames(parser, talk):
        family = [w for w in family if lexicon.folder.key(w.casefold()) not in general]
        for size in (1, 2):
            done, rest = verb[:size], verb[size:]
            if not done or not thing:
                continue
            active = talk.active.format(family=" ".join(family), verb=" ".join(done), thing=" ".join((*thing, *rest)))
            with suppress(QuestionError):
                found = parse(" ".join(active.split()), lexicon)
                if isinstance(found, nodes.Filter):
                    return found
            with suppress(QuestionError):
                read = islands(parser_for(active, lexicon), talk) if len(thing) < 4 else None
                if read is not None and not read[1] and isinstance(read[0], nodes.Filter):
                    return read[0]
    return None


def _frames(parser: FormParser, talk: Talk) -> Iterator[tuple[_Words, _Words, _Words]]:
    """(the family asked for, what is worked on, what is done), for every place where these can be parted."""
    tokens = [t for t in parser.tokens if t.kind != SYMBOL]
    keys = [t.key for t in tokens]
    words = [parser.text[t.start : t.end] for t in tokens]
    articles = parser.lexicon.words.articles

    def plain(some: _Words) -> list[str]:
        return [w for w in some if w.casefold() not in articles]

    middle: list[tuple[_Words, _Words]] = []
    be = next((i for i, k in enumerate(keys) if k in talk.being), 0)
    after = be + 1
    while after < len(keys) and keys[after] in talk.being:
        after += 1
    if not be or after >= len(keys):
        return
    if keys[0] in talk.asking and keys[-1] in talk.means:
        middle.append((words[1:be], words[after:-1]))  # "what is the eardrum incised with"
    elif keys[0] in talk.means and keys[1] in talk.asking:
        middle.append((words[2:be], words[after:]))  # "with what is the eardrum incised"
    elif keys[0] in talk.manner and be == 1:
        middle.append(((), words[after:]))  # "how is the eardrum incised"
    asked = next((i for i in range(len(keys) - 1, be, -1) if keys[i] in talk.asking), 0)
    if asked and keys[asked - 1] in talk.means and keys[0] not in talk.asking:
        yield words[asked + 1 :], plain(words[:be]), [w for w in words[after : asked - 1] if w.casefold() not in talk.being]
    for family, rest in middle:
        rest = [w for w in rest if w.casefold() not in talk.being]
        for at in range(1, len(rest)):
            yield family, plain(rest[:at]), rest[at:]
