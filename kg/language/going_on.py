"""A question that goes on from what went before: leaning on it as it stands, in other words for the same, with the name of what
went before in the place of "it", or as one that narrows its list.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from itertools import islice
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import Before, the_whole
from kg.language.joining import disj, family_in, names_family
from kg.language.lexicon import Lexicon
from kg.language.listed import speaks_of_one
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.readings import Understood, leans_on, of_care
from kg.language.tokens import SYMBOL
from kg.records import replace

if TYPE_CHECKING:
    from kg.language.talk import Talk

_BOTH = tuple(f"kw.{k}" for k in ("them", "ones", "longer", "shorter", "longest", "shortest", "compare", "differ"))
_GROUPS = ("group", "kind", "concept")
_ASKING = frozenset(("kw.be", "kw.do", "kw.have", "kw.can"))
_SHORT = frozenset(("kw.be", "kw.do", "kw.have", "kw.can", "kw.not"))
MOST_NAMED = 4
"""So many wordings are looked at with the name of what went before in the place of "it"."""


def taken_up(text: str, lexicon: Lexicon, before: Before) -> Before:
    """What went before, as one goes on from it: a family with its kinds is a list too; and "the two" after the same was asked
    of one instrument and of another are both."""
    if isinstance(before.question, nodes.Classify):
        return before.of(nodes.Filter(nodes.IsA(before.question.category)))
    parser = parser_for(text, lexicon)
    if isinstance(before.question, nodes.ReasonNotes) and before.wider and parser.says("kw.them", "kw.ones", "kw.any"):
        before = replace(before.of(before.wider[-1]), names=before.listed, shown=before.listed, listed=())
    if isinstance(before.question, nodes.Why) and not parser.says("kw.why"):  # "why?", "is the Babcock too?"
        before = replace(before, question=nodes.Holds(before.question.pattern, before.question.expr))
    if isinstance(before.question, nodes.Group) and parser.tokens and "kw.be" in parser.kinds(0) and parser.says("kw.them"):
        before = before.of(nodes.Filter(before.question.expr))  # "forceps by kind", "is a haemostat one of them?"
    if isinstance(before.question, nodes.Extreme) and len(before.shown) == 1 and _asks_of_the_one(parser):
        before = before.of(nodes.Define(before.shown[0]))  # "which are the longest retractors?", "are they self-retaining?"
    if isinstance(before.question, nodes.Group | nodes.Extreme) and _goes_on_to_others(parser):
        before = before.of(nodes.Filter(before.question.expr))  # "how long are they?", "and which ones measure the womb?"
    if isinstance(before.question, nodes.Filter) and len(before.shown) == 1 and parser.says("kw.them"):
        return the_whole(before, lexicon)  # "which of the two has rings?", "have they the same jaws?"
    asked = before.question.term if isinstance(before.question, nodes.Define) else ""
    if asked and lexicon.vocabulary.terms[asked].role in _GROUPS and parser.says("kw.ones", "kw.them", "kw.count"):
        with suppress(QuestionError):  # "what is a curette?", "which ones are there?"
            listed = parse(f"{lexicon.word('which')} {lexicon.name(asked)}s", lexicon)
            return before.of(listed) if isinstance(listed, nodes.Filter) and family_in(listed.expr) else before
    if isinstance(before.question, nodes.DefineAll) and parser.says(*_BOTH):  # "the last two", "how do they differ?"
        terms = before.question.terms
        named = all(lexicon.vocabulary.terms[t].role == "pattern" for t in terms)
        return replace(before.of(nodes.Compare(terms)), names=terms, shown=terms) if named else before
    if isinstance(before.question, nodes.Holds) and isinstance(before.question.expr, nodes.Named) and parser.says(*_BOTH):
        return before.of(nodes.Compare((before.question.pattern, before.question.expr.pattern)))
    one = before.subjects(lexicon) if before.others and not parser.says("kw.why") else ()
    both = parser.says(*_BOTH) or (_asks_which(parser) and not parser.says("kw.it"))  # "what is it for?" asks of the last
    if len(one) != 1 or not both or parser.says("pattern"):
        return before
    each = tuple(dict.fromkeys((*before.others, *one)))
    last = parser.kinds(max(i for i, t in enumerate(parser.tokens) if t.kind != SYMBOL))
    if isinstance(before.question, nodes.Holds) and last & _SHORT:  # "which one is?", "which doesn't?"
        return before.of(nodes.Quantified(disj([nodes.Named(n) for n in each]), before.question.expr))
    return before.of(nodes.Compare(each))


def going_on(
    text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before, *, whole: bool
) -> tuple[str, Understood | None]:
    """The text, with names for the places of a list that it speaks of, and what it asks if it leans on what went before; None
    if it is to be read by itself. Raises QuestionError."""
    from kg.language.placed import one_meant
    from kg.language.turned import other_number
    from kg.language.understand import alone

    parser = parser_for(text, lexicon)
    led = parser.tokens and parser.kinds(0) & {"kw.and", "kw.and_what_of"}
    if led and (turned := other_number(parser, before.question)) is not None:
        return text, Understood(turned)  # "and a number 3?" after one of handle 4, not the third of a list
    text, by_itself = one_meant(text, lexicon, talk(), before)
    with suppress(QuestionError):
        if by_itself:
            return text, _beside_the_first(_listed(parser, alone(text, lexicon, talk)), before, lexicon)
    try:
        leaning = leans_on(text, lexicon, before)
    except QuestionError as error:
        if (notes := of_care(text, lexicon, talk(), before, whole=whole, refused=error)) is None:
            raise
        return text, notes
    return text, Understood(leaning) if leaning is not None else _otherwise(text, lexicon, talk, before)


def _asks_of_the_one(parser: FormParser) -> bool:
    """Whether a text asks something of "them", and neither which of them nor how they differ."""
    first = {e.kind for at in (0, 1) if at < len(parser.tokens) for _, es in parser.phrases(at) for e in es}
    others = ("kw.compare", "kw.differ", "kw.of", "kw.among", "kw.longest", "kw.shortest", "kw.longer", "kw.shorter", "kw.any")
    return parser.says("kw.them") and "kw.ones" not in first and not parser.says(*others)


def _goes_on_to_others(parser: FormParser) -> bool:
    """Whether a text goes on with "and which (ones)" and a word that says what they do."""
    at = next((end for end, es in parser.phrases(0) if any(e.kind == "kw.and" for e in es)), 0) if parser.tokens else 0
    if not at or at >= len(parser.tokens) or "kw.which" not in parser.kinds(at):
        return False
    return not parser.says("kw.them", "longer", "kw.longest", "kw.shortest", "kw.longer", "kw.shorter")


def _beside_the_first(found: Understood, before: Before, lexicon: Lexicon) -> Understood:
    """ "How do I tell the first one apart?" after look-alikes, and then "and the second?": it beside what it looks like"""
    asked, question = before.question, found.question
    one = question.expr if isinstance(question, nodes.Differences) else None
    if isinstance(asked, nodes.LookAlikes) and isinstance(one, nodes.Named):
        return found._replace(question=nodes.Compare((asked.pattern, one.pattern)))
    first = asked.subjects[:1] if isinstance(asked, nodes.Compare) and before.listed else ()
    if first and isinstance(question, nodes.Define) and question.term in before.listed:
        return found._replace(question=nodes.Compare((*first, question.term)))
    return found


def _listed(parser: FormParser, found: Understood) -> Understood:
    """ "List the first five": those by name, and not what tells them apart"""
    if (
        "kw.which" not in parser.kinds(0)
        or parser.says("kw.compare", "kw.differ")
        or not isinstance(found.question, nodes.Compare)
    ):
        return found
    return found._replace(question=nodes.Filter(disj([nodes.Named(s) for s in found.question.subjects])))


def _otherwise(text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before) -> Understood | None:
    """What a text asks in other words, if it leans on what went before then."""
    from kg.language.figures import in_words
    from kg.language.follow import with_its_name
    from kg.language.gist import of_those
    from kg.language.lighter import lighter
    from kg.language.narrowed import narrowed
    from kg.language.otherwise import framed, said_otherwise
    from kg.language.placed import all_of_them
    from kg.language.understand import alone, understand

    for said in of_those(text, lexicon, talk()):
        with suppress(QuestionError):
            if (leaning := leans_on(said, lexicon, before)) is not None:
                return Understood(leaning)
    changed = said_otherwise(text, lexicon, talk())
    own = _names_a_family(text, lexicon)
    frames = () if own else framed(text, lexicon, talk())
    same = [*filter(None, (changed,)), *frames]
    same += framed(changed, lexicon, talk()) if changed and not own else ()
    for said in dict.fromkeys(same):
        several = all_of_them(said, lexicon, before)
        with suppress(QuestionError):
            if several is not None:
                return alone(several, lexicon, talk)
            if (leaning := leans_on(said, lexicon, before)) is not None:
                return Understood(leaning)
    # "what is its groove for?" asks for no list
    owned = any(t.key in talk().possessive for t in parser_for(text, lexicon).tokens)
    names_given = (with_its_name(said, lexicon, talk(), before) for said in dict.fromkeys((text, *same)))
    for named in islice(dict.fromkeys(filter(None, names_given)), MOST_NAMED):
        with suppress(QuestionError):
            found = alone(named, lexicon, talk)
            listed = isinstance(found.question, nodes.Filter)
            if found.doubtful is None and not (listed and (owned or speaks_of_one(found.question.expr))):
                return found
    for said, left in lighter(in_words(changed or text, lexicon), talk()):
        with suppress(QuestionError):
            if (leaning := leans_on(said, lexicon, before)) is not None:
                return Understood(leaning, left)
    return narrowed(text, lexicon, before, lambda asked: understand(asked, lexicon, talk, whole=True))


def _asks_which(parser: FormParser) -> bool:
    """Whether a text begins with "which" and a verb: "which would you use on fascia?" """
    return len(parser.tokens) > 2 and "kw.which" in parser.kinds(0) and bool(parser.kinds(1) & _ASKING)


def _names_a_family(text: str, lexicon: Lexicon) -> bool:
    """Whether the grammar reads a list or a number of a family of its own ("how many scissors are there?")."""
    with suppress(QuestionError):
        question = parse(text, lexicon)
        if isinstance(question, nodes.Filter | nodes.Count):
            return names_family(question.expr)
    return False


__all__ = ["going_on", "taken_up"]
