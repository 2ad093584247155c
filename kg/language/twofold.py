"""Two questions about one family in one sentence, each for a list or a number: "how many clamps are curved and which are
straight?", "how many needle holders have a ratchet, and which have none?".

The second speaks of the family that the first names. Together they would ask for what is curved and straight at once.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.clauses import two
from kg.language.joining import conj, names_family
from kg.language.lexicon import Lexicon
from kg.language.listed import excluding
from kg.language.parse import parser_for
from kg.language.readings import Understood, read_strictly
from kg.language.say import say, say_expr

if TYPE_CHECKING:
    from kg.language.talk import Talk

_VERBS = frozenset({"kw.be", "kw.have", "kw.do", "connector"})
"""With these a second question goes on behind "which" ("... and which for the urethra?")."""
_NOUNS = frozenset(
    {"kw.instrument", "category", "kind", "group", "pattern", "kw.ones", "kw.that", "kw.of", "kw.longest", "kw.shortest"}
)


def twofold(text: str, lexicon: Lexicon, talk: Talk, *, of_those: bool = False) -> Understood | None:
    """The first of two such questions, with the other put for the same family; None if it is none, or not understood.
    ``of_those``: only where the second asks of those that the first finds."""
    for one, other in two(text):
        parser = parser_for(other, lexicon)
        verb = min((end for end, es in parser.phrases(0) for e in es if e.kind in ("kw.which", "kw.count")), default=0)
        asking = verb
        if pointing := "kw.of" in parser.kinds(verb) and "kw.them" in parser.kinds(verb + 1):
            verb += 2  # "and which of those are blunt?"
        if (of_those and not pointing) or not verb or verb >= len(parser.tokens):
            continue
        acts = parser.kinds(verb).isdisjoint(_VERBS)  # "which elevators lift periosteum, and which loosen teeth?"
        if acts and text.partition("?")[2].strip():
            continue  # another sentence says how it is to be told
        if acts and (pointing or not parser.kinds(verb).isdisjoint(_NOUNS)):
            continue
        if not pointing and _only_tells(one, lexicon):
            continue
        first = read_strictly(one, lexicon, talk)
        if not isinstance(first, nodes.Filter | nodes.Count):
            continue
        if isinstance(first.expr, nodes.And) and isinstance(first.expr.items[0], nodes.IsA):
            family, rest = first.expr.items[0], first.expr.items[1:]
            many = lexicon.name(family.category, many=True)
        elif (pointing or isinstance(first, nodes.Count)) and not isinstance(first.expr, nodes.And):
            family, rest, many = first.expr, (), say_expr(first.expr, lexicon)  # "how many saws are there, and which are bent?"
        elif acts and not names_family(first.expr):
            family, rest, many = first.expr, (), say_expr(nodes.Everything(), lexicon)
        elif pointing:
            family, rest, many = first.expr, (), say_expr(nodes.Everything(), lexicon)  # "which elevators are dental, and ...?"
        else:
            continue
        counts = any(e.kind == "kw.count" for _, es in parser.phrases(0) for e in es)
        if rest and not pointing and tuple(t.key for t in parser.tokens[verb:]) in talk.opposite:
            opposite = conj([family, nodes.Not(conj(list(rest)))])
            return Understood(
                first, other=say(nodes.Count(opposite) if counts else nodes.Filter(opposite), lexicon), apart=True
            )
        asked = (
            other[: parser.tokens[asking - 1].end],
            many,
            _with_its_noun(other[parser.tokens[verb].start :].rstrip(" ?.!"), one, lexicon),
        )
        second = read_strictly(" ".join(asked), lexicon, talk)
        if acts and second is not None and (counted := _counted(text, lexicon, talk)) is not None:
            return counted
        if pointing and isinstance(second, nodes.Filter | nodes.Count):
            second = type(second)(_of_the_first(first.expr, second.expr))
        if isinstance(first, nodes.Count) and isinstance(second, nodes.Count):
            return Understood(nodes.Counts((first.expr, second.expr)))
        if isinstance(second, nodes.Filter | nodes.Count) and not excluding(second, lexicon.vocabulary):
            return Understood(first, other=say(second, lexicon), apart=True)
    return None


def _counted(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """Both questions side by side, where a frame puts them so; else None."""
    from kg.errors import QuestionError
    from kg.language.otherwise import framed
    from kg.language.readings import read

    for same in framed(text, lexicon, talk):
        with suppress(QuestionError):
            if isinstance(found := read(same, lexicon), nodes.Tally):
                return Understood(found)
    return None


def _only_tells(one: str, lexicon: Lexicon) -> bool:
    """Whether the first clause asks nothing itself: "list every clamp whose jaws are grooved and which has no teeth"."""
    parser = parser_for(one, lexicon)
    kinds = [parser.kinds(at) for at in range(len(parser.tokens))]
    lists = "kw.listed" in kinds[0] or kinds[0].isdisjoint(("kw.which", "kw.count"))
    return lists and any(not k.isdisjoint(("kw.that", "kw.whose")) for k in kinds)


def _of_the_first(first: nodes.Expr, second: nodes.Expr) -> nodes.Expr:
    """What the second question describes, of those that the first one finds: "and which of those are blunt?" """
    one, two_ = ((expr.items if isinstance(expr, nodes.And) else (expr,)) for expr in (first, second))
    return conj([*one, *(item for item in two_ if item not in one)])


def _with_its_noun(asked: str, one: str, lexicon: Lexicon) -> str:
    """The end of the second question, the last word of the first for "ones": "... blunt prongs and which have sharp ones" """
    last, nouns = len(parser_for(asked, lexicon).tokens) - 1, parser_for(one, lexicon).tokens
    if last < 2 or "kw.ones" not in parser_for(asked, lexicon).kinds(last):
        return asked
    return f"{asked[: parser_for(asked, lexicon).tokens[last].start]}{one[nouns[-1].start : nouns[-1].end]}"
