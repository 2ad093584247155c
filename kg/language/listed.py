"""What a list that the grammar reads really asks: of the one instrument named first, of those named last, of what is in the
hand; and whether a list is one that only repeats what was typed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import TYPE_CHECKING

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joined import features_of
from kg.language.joining import conj, family_in
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parse, parser_for
from kg.records import replace
from kg.vocabulary import Vocabulary

if TYPE_CHECKING:
    from kg.language.talk import Talk

SHORTEST_MM = 20
"""No instrument is shorter than this: a smaller measure is a width or a diameter."""


def same_twice(question: Question) -> Question | None:
    """What an instrument is of which two names are set side by side ("Mixter and Lahey"), since it has both; else None."""
    subjects = question.subjects if isinstance(question, nodes.Compare) else ()
    return nodes.Define(subjects[0]) if len(subjects) > 1 and len(set(subjects)) == 1 else None


def without_itself(question: Question) -> Question:
    """Whether something is so of an instrument, without that it is itself ("the Kelly: is the Kelly curved?")."""
    if not isinstance(question, nodes.Holds) or not isinstance(question.expr, nodes.And):
        return question
    rest = tuple(i for i in question.expr.items if not (isinstance(i, nodes.Named) and i.pattern == question.pattern))
    return nodes.Holds(question.pattern, conj(list(rest))) if 0 < len(rest) < len(question.expr.items) else question


def one_of_both(question: Question) -> Question:
    """Whether something is so, where it is asked whether it is or is not ("Allis: teeth or no teeth?"): both together always
    hold."""
    if not isinstance(question, nodes.Holds | nodes.Quantified) or not isinstance(question.expr, nodes.Or):
        return question
    first = question.expr.items[0]
    if len(question.expr.items) != 2 or question.expr.items[1] != nodes.Not(first):
        return question
    return replace(question, expr=first)


def asked_of(text: str, question: Question, lexicon: Lexicon) -> Question | None:
    """ "Babcock, crushing or not?": whether it is so of the one instrument that begins the question; None for any other"""
    items = question.expr.items if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.And) else ()
    if not items or not isinstance(items[0], nodes.Named) or not (text.rstrip().endswith("?") or _or_not(text, lexicon)):
        return None
    rest = items[1:]
    if _says_of(text[: items[0].span[0]], lexicon) or not all(
        isinstance(i, nodes.Has | nodes.HasPart | nodes.Not | nodes.Or) for i in rest
    ):
        return None
    first = rest[0].items[0] if len(rest) == 1 and isinstance(rest[0], nodes.Or) else None
    if first is not None and set(rest[0].items) == {first, nodes.Not(first)}:
        rest = (first,)  # "an obturator or no obturator?"
    asked = nodes.Holds(items[0].pattern, conj(rest))
    if (features := parser_for(text, lexicon).choices_of(asked.expr)) and len(rest) == 1:
        return nodes.Value(items[0].pattern, features)
    return asked if read_back(asked, lexicon) else None


def each_by_itself(text: str, question: Question) -> Question:
    """What several marks ask, each by itself ("Satinsky: vascular? crushing?"): what is recorded of them, no one yes or no."""
    items = question.expr.items if isinstance(question, nodes.Holds) and isinstance(question.expr, nodes.And) else ()
    if not items or text.count("?") < len(items):
        return question
    each = [(names.HAS_PART,) if isinstance(i, nodes.HasPart) else tuple(sorted(features_of(i))) for i in items]
    return nodes.Value(question.pattern, tuple(dict.fromkeys(f for fs in each for f in fs))) if all(each) else question


def _says_of(lead: str, lexicon: Lexicon) -> bool:
    """Whether words in front of a name say anything of an instrument ("so, ", "quick - " do not)."""
    if not lead.strip(" ,;:-?!."):
        return False
    parser = parser_for(lead, lexicon)
    return any(parser.kinds(at) - {"filler"} for at in range(len(parser.tokens)))


def _or_not(text: str, lexicon: Lexicon) -> bool:
    """Whether a text ends as a choice does: "autoclavable or not" """
    parser = parser_for(text, lexicon)
    last = len(parser.tokens) - 1
    return last > 1 and "kw.or" in parser.kinds(last - 1) and "kw.not" in parser.kinds(last)


def which_of_those(text: str, question: Question, lexicon: Lexicon) -> Question | None:
    """ "Which has teeth, the Allis or the Babcock?", "which has cupped jaws, a rongeur or a bone cutter?": those named at the
    end of which it is true; else None"""
    items = question.expr.items if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.Or) else ()
    named = tuple(i for i in items if isinstance(i, nodes.Named))
    if not named and text.rstrip().endswith("?") and parser_for(text, lexicon).kinds(0) & {"kw.which", "kw.whose"}:
        named = tuple(i for i in items[-2:] if isinstance(i, nodes.IsA))
    said = items[: len(items) - len(named)]
    if len(named) < 2 or not said or items[len(said) :] != named or names_beside(nodes.And(said)):
        return None
    if len({i.span for i in said}) > 1 or set(",:").isdisjoint(
        text[said[0].span[1] : named[0].span[0]]
    ):  # one word of several values
        return None
    asked = said[0] if len(said) == 1 else nodes.Or(said, said[0].span)
    return nodes.Filter(conj([nodes.Or(named, (named[0].span[0], named[-1].span[1])), asked]))


def kind_of_what(text: str, question: Question, lexicon: Lexicon) -> Question | None:
    """ "What kind of forceps is a Kelly?": where the one named last is filed, not a list of it; "what kind of thing is a
    trocar?": what the family is; "what sorts of forceps do you know?": its kinds. None for any other"""
    if isinstance(question, nodes.Filter) and all(isinstance(i, nodes.IsA) for i in _alternatives(question.expr)):
        return _kinds_of(text, question.expr, lexicon)
    items = question.expr.items if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.And) else ()
    if len(items) != 2 or not family_in(items[0]) or not isinstance(items[1], nodes.Named):
        return None
    parser = parser_for(text, lexicon)
    asks = any(e.kind == "kw.classify" for _, entries in parser.phrases(0) for e in entries)
    return nodes.Filed(items[1].pattern) if asks else None


def _alternatives(expr: nodes.Expr) -> tuple[nodes.Expr, ...]:
    return tuple(expr.items) if isinstance(expr, nodes.Or) else (expr,)


def _kinds_of(text: str, family: nodes.Expr, lexicon: Lexicon) -> Question | None:
    parser = parser_for(text, lexicon)
    end = max((end for end, es in parser.phrases(0) for e in es if e.kind in ("kw.which", "kw.whatis")), default=0)
    behind = max((stop for stop, es in parser.phrases(end) for e in es if e.kind == "kw.classify"), default=0)
    if not end or not behind or behind >= len(parser.tokens):
        return None
    if "kw.instrument" in parser.kinds(behind) and "kw.be" in parser.kinds(behind + 1):
        return nodes.Define(family.category) if isinstance(family, nodes.IsA) else None
    return nodes.Classify(family.category) if isinstance(family, nodes.IsA) else nodes.Group(family, names.OF_KIND)


def the_members(text: str, question: Question, lexicon: Lexicon) -> Question | None:
    """ "What are the bowel clamps?", "what is a needle holder with scissors called?": those of the family; None for what asks
    for a meaning ("what are bowel clamps?")"""
    term = lexicon.vocabulary.terms.get(question.term) if isinstance(question, nodes.Define) else None
    if term is None or term.role != "category":
        return None
    keys = lexicon.keys(text)
    asked = any(keys[: len(k)] == k for k in map(lexicon.keys, lexicon.words.members)) or _called(text, lexicon)
    return nodes.Filter(nodes.IsA(term.name)) if asked else None


def _called(text: str, lexicon: Lexicon) -> bool:
    """Whether the name of what has something is asked for at the end, and not that of a family by its own name."""
    parser, ends = parser_for(text.rstrip(" ?.!"), lexicon), map(lexicon.keys, lexicon.words.sought.get("ends", ()))
    keys = tuple(t.key for t in parser.tokens)
    having = any("kw.with" in parser.kinds(at) for at in range(1, len(keys)))
    return having and any(len(keys) > len(end) and keys[-len(end) :] == end for end in ends)


def of_its_part(text: str, question: Question, lexicon: Lexicon) -> Question:
    """ "Are Mayo blades curved?": the blades are those of the instrument, and not the family of that name"""
    items = question.expr.items if isinstance(question, nodes.Holds) and isinstance(question.expr, nodes.And) else ()
    first = items[0] if items else None
    if not isinstance(question, nodes.Holds) or not isinstance(first, nodes.IsA) or first.span == (0, 0):
        return question
    said = lexicon.entries(text[slice(*first.span)])
    if not any(e.kind == "part" for e in said) or question.pattern in lexicon.bearing(text[: first.span[1]]):
        return question
    return nodes.Holds(question.pattern, conj(list(items[1:])))


def sets_against(question: Question) -> bool:
    """Whether something is so of an instrument, or another thing: "are Mayo tips sharp or blunt?" wants no yes"""
    if not isinstance(question, nodes.Holds) or not isinstance(question.expr, nodes.And | nodes.Or):
        return False
    items = (question.expr,) if isinstance(question.expr, nodes.Or) else question.expr.items
    against = [i for i in items if isinstance(i, nodes.Or)]
    return any(len({getattr(i, "span", None) for i in one.items}) > 1 for one in against)


def either_of(question: Question) -> Question:
    """ "Retractors: Gosset, Balfour" lists both: nothing is two instruments at once"""
    items = question.expr.items if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.And) else ()
    named = tuple(i for i in items if isinstance(i, nodes.Named))
    if len(named) < 2:
        return question
    each = nodes.Or(named, (named[0].span[0], named[-1].span[1]))
    return nodes.Filter(conj([i for i in items if i not in named] + [each]))


def any_named(expr: nodes.Or) -> bool:
    return any(isinstance(i, nodes.Named) for i in expr.items)


def mixes_names(question: Question) -> bool:
    """Whether it lists instruments by name or others: "Hegar: dilator or needle holder?" asks for no list"""
    return isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.Or) and any_named(question.expr)


def named_or_so(question: Question) -> bool:
    """Whether it lists what is named and, beside it, all that is so: "it is toothed, is it a Kelly or a Kocher?" means no such
    list."""
    items = question.expr.items if mixes_names(question) else ()  # type: ignore[union-attr]
    return any(isinstance(i, nodes.Named) for i in items) and any(isinstance(i, nodes.Has | nodes.HasPart) for i in items)


def speaks_of_one(expr: nodes.Expr) -> bool:
    """Whether a list is of one instrument by name under conditions, which answers no question about it."""
    return isinstance(expr, nodes.And) and any(isinstance(i, nodes.Named) for i in expr.items)


def lists_named(text: str, question: Question, lexicon: Lexicon) -> bool:
    """Whether the question only lists what is named in it, alone or under conditions, or tells of a part of it or of all of it
    where something else may be asked."""
    match question:
        case nodes.Filter():
            return isinstance(question.expr, nodes.Named) or names_beside(question.expr)
        case nodes.Group():
            return isinstance(question.expr, nodes.Named)
        case nodes.Holds():
            return isinstance(question.expr, nodes.Everything)
        case nodes.PartOf():
            return "kw.be" in (parser := parser_for(text, lexicon)).kinds(0) or bool(parser.kinds(0) & {"kw.can", "part"})
        case nodes.Describe():
            return not parser_for(text, lexicon).says("kw.describe")
        case nodes.Value():
            parser = parser_for(text, lexicon)  # "Babcock ratchet"
            return question.features == (names.HAS_PART,) and any("part" in parser.kinds(i) for i in range(len(parser.tokens)))
    return False


def one_behind(expr: nodes.Expr) -> bool:
    """Whether the one instrument of a list is named behind what is said of it: "flush the Veress needle?" asks for no list."""
    items = expr.items if isinstance(expr, nodes.And) else ()
    named = [i.span[0] for i in items if isinstance(i, nodes.Named)]
    return bool(named) and min(named) > min(i.span[0] for i in items)


def names_beside(expr: nodes.Expr) -> bool:
    """Whether an instrument is named in a description beside other things."""
    return isinstance(expr, nodes.And | nodes.Or) and any(isinstance(i, nodes.Named) or names_beside(i) for i in expr.items)


def half_named(expr: nodes.Expr) -> bool:
    """Whether one alternative speaks of an instrument and the other of anything ("the Mayo for sutures, or the curved one")."""
    if not isinstance(expr, nodes.Or) or all(isinstance(i, nodes.Named | nodes.IsA) for i in expr.items):
        return False
    said = [names_beside(i) for i in expr.items if isinstance(i, nodes.And)]
    bare = [i for i in expr.items if isinstance(i, nodes.Has | nodes.HasPart | nodes.Length)]
    alone = any(isinstance(i, nodes.Named) for i in expr.items)  # "Kilner: needle holder, or scissors with hooks?"
    return (any(said) and bool(bare)) or (alone and not all(said) and bool(said))


def but_itself(expr: nodes.Expr) -> bool:
    """Whether a list is of one instrument by name and else only of what it is not ("a Gigli saw apart from bone saws")."""
    items = expr.items if isinstance(expr, nodes.And) else ()
    return any(isinstance(i, nodes.Named) for i in items) and all(isinstance(i, nodes.Named | nodes.Not) for i in items)


def all_but(text: str, expr: nodes.Expr, lexicon: Lexicon) -> bool:
    """Whether a list is of all but a part of one family, where nothing speaks of all ("except haemostats with teeth")."""
    inner = expr.expr if isinstance(expr, nodes.Not) else None
    family = isinstance(inner, nodes.And) and any(family_in(i) for i in inner.items)
    return family and not parser_for(text, lexicon).says("kw.instrument", "kw.which")


def nothing_at_all(question: Question) -> bool:
    """Whether a question speaks of what is no instrument ("leave out anything with two bevels")."""
    return any(denies_all(getattr(question, name, None)) for name in ("expr", "scope"))


def denies_all(expr: nodes.Expr | None) -> bool:
    """Whether a description denies that something is an instrument at all ("those that have not")."""
    match expr:
        case nodes.Not(inner):
            return isinstance(inner, nodes.Everything) or denies_all(inner)
        case nodes.And(items) | nodes.Or(items):
            return any(denies_all(i) for i in items)
    return False


def held(text: str, question: Question, lexicon: Lexicon) -> Question:
    """A list of what is seen, with commas and without a family, speaks of the instrument in the hand."""
    items = question.expr.items if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.And) else ()
    if len(items) < 3 or any(
        isinstance(i, nodes.IsA | nodes.Everything | nodes.Named | nodes.CalledAfter | nodes.Begins | nodes.Recorded)
        for i in items
    ):
        return question
    tokens = parser_for(text, lexicon).tokens
    said: set[str] = set()
    at = 0
    while at < len(tokens):
        end, entries = next(iter(lexicon.matches(tokens, at)), (at + 1, ()))
        said.update(e.kind for e in entries)
        at = end
    if sum(t.key == "," for t in tokens) < 2 or said & {"kw.which", "kw.instrument", "category"}:
        return question
    return nodes.Identify(nodes.seen_text(text))


def only_names(question: Question) -> bool:
    """Whether a list holds nothing but instruments by name, which is no answer to what is asked of them."""
    expr = question.expr if isinstance(question, nodes.Filter) else None
    return isinstance(expr, nodes.Named) or (isinstance(expr, nodes.Or) and all(isinstance(i, nodes.Named) for i in expr.items))


def read_back(question: Question, lexicon: Lexicon) -> bool:
    """Whether the words that a question would be read back with are understood as the same question."""
    from kg.language.say import say

    with suppress(QuestionError):
        return parse(say(question, lexicon), lexicon) == question
    return False


def no_reason(text: str, question: Question, lexicon: Lexicon, talk: Callable[[], Talk]) -> str:
    """Why no reason is told, where one is asked for and the answer is what a part or a sign is; that two names mean the same,
    where it is asked and the answer is what they mean; else empty."""
    if not isinstance(question, nodes.Define | nodes.DefineAll):
        return ""
    parser = parser_for(text, lexicon)
    if parser.says("kw.why"):
        return next((t.message for t in talk().topics if t.partly), "")
    return talk().one_thing if parser.says("kw.same") and parser.kinds(0) & {"kw.be", "kw.do"} else ""


def excluding(question: nodes.Question, vocabulary: Vocabulary) -> bool:
    """Whether a list or a count is of what has two values of a feature that has one, neither part of the other."""
    expr = question.expr if isinstance(question, nodes.Filter | nodes.Count) else None
    held = [i for i in expr.items if isinstance(i, nodes.Has)] if isinstance(expr, nodes.And) else []
    return any(
        a.feature == b.feature and vocabulary.exclude(a.feature, a.value, b.value)
        for n, a in enumerate(held)
        for b in held[n + 1 :]
    )


def refuse_width(question: Question, text: str, lexicon: Lexicon, talk: Callable[[], Talk]) -> None:
    """Raises QuestionError (BL-Q11) for a measure that can be no length of an instrument, where none is spoken of ("10 mm
    trocars")."""
    short = any((i.high or i.low) < SHORTEST_MM for i in _lengths(getattr(question, "expr", None)) if i.op in ("=", "between"))
    if short and not parser_for(text, lexicon).says("kw.long", "kw.longest", "kw.shortest", "feature"):
        from kg.language.topics import no_length

        raise no_length(text, talk())


def _lengths(expr: Expr | None) -> Iterator[nodes.Length]:
    if isinstance(expr, nodes.Length):
        yield expr
    elif isinstance(expr, nodes.And | nodes.Or):
        for item in expr.items:
            yield from _lengths(item)
