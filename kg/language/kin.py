"""Values and families that the catalogue tells apart and people do not: "angled" of a retractor is said of its blade, "taking
out teeth" of an elevator is its loosening them.

Looked at only where nothing is recorded with what was said: then a value is taken for itself or any of its kin, which the word
file lists. What is denied stays as it was said, since of a denial the kin would leave more, not less.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator

from kg.language import nodes
from kg.language.joining import conj, disj, family_in
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parser_for
from kg.records import replace

MOST_NAMESAKES = 12
"""A list of more instruments of one last name is no list of a few that the family left out."""


def akin(question: Question, lexicon: Lexicon, kept: Collection[Expr] = ()) -> Iterator[Question]:
    """The same list or count with one of the values that are said taken for any of its kin, one after the other, and then with
    all of them; none if no value has kin. ``kept``: conditions of a list before, which stay as they were."""
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return
    items = question.expr.items
    denying = any(isinstance(item, nodes.Not) for item in items)
    kept = [i for i in kept if _of_a_part(i, lexicon)]  # of uses more stay a use
    wider = [item if item in kept or (denying and family_in(item)) else _with_kin(item, lexicon) for item in items]
    changed = [at for at, item in enumerate(items) if wider[at] != item]
    for at in changed:
        yield replace(question, expr=replace(question.expr, items=(*items[:at], wider[at], *items[at + 1 :])))
    if len(changed) > 1:
        yield replace(question, expr=replace(question.expr, items=tuple(wider)))


def _of_a_part(expr: Expr, lexicon: Lexicon) -> bool:
    feature = lexicon.vocabulary.features.get(expr.feature) if isinstance(expr, nodes.Has) else None
    return feature is not None and bool(feature.part)


def _with_kin(expr: Expr, lexicon: Lexicon) -> Expr:
    items = expr.items if isinstance(expr, nodes.Or) else (expr,)
    said = [
        i.value if isinstance(i, nodes.Has) else i.part if isinstance(i, nodes.HasPart) else i.category
        for i in items
        if isinstance(i, nodes.Has | nodes.HasPart | nodes.IsA)
    ]
    if len(said) < len(items):
        return expr
    named = [name for one in said for name in lexicon.words.kin.get(one, ())]
    more = [_meaning(name, expr.span, lexicon) for name in dict.fromkeys(named) if name not in said]
    return disj([*items, *(e for e in more if e is not None)]) if more else expr


def _meaning(name: str, span: tuple[int, int], lexicon: Lexicon) -> Expr | None:
    term = lexicon.vocabulary.terms.get(name)
    if term is None:
        return None
    if term.role == "category":
        return nodes.IsA(name, span)
    return nodes.HasPart(name, span) if term.role == "part" else nodes.Has(term.feature, name, span)


def bare_family(text: str, question: Question, lexicon: Lexicon) -> str:
    """The one word by which a list names its family ("needles"), where many instruments bear it as their last name; else
    empty, as for a family of a longer name ("artery forceps")."""
    items = question.expr.items if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.And) else ()
    if sum(map(family_in, items)) != 1 or any(isinstance(i, nodes.Named) for i in items):
        return ""
    parser, at, found = parser_for(text, lexicon), 0, []
    while at < len(parser.tokens):
        end, entries = next(iter(parser.phrases(at)), (at + 1, ()))
        if {e.kind for e in entries} & {"category", "group", "kind", "pattern"}:
            found.append((at, end))
        at = end
    if len(found) != 1 or found[0][1] - found[0][0] != 1:
        return ""
    return parser.tokens[found[0][0]].key


def namesakes(question: Question, word: str, lexicon: Lexicon, matching: Callable[[Expr], Iterable[str]]) -> Question | None:
    """The same list of the instruments whose last name is ``word``, though the family of that name is a narrower one: "needles
    that carry a ligature". ``matching``: the instruments that fit a description."""
    expr = getattr(question, "expr", None)
    rest = [i for i in expr.items if not family_in(i)] if isinstance(expr, nodes.And) else []
    if not word or not rest or any(isinstance(i, nodes.Not) for i in rest):
        return None  # of what is denied the family itself is told
    label, last = lexicon.vocabulary.label, lexicon.folder.phrase
    fit = [n for n in matching(conj(rest)) if last(label(n))[-1] == word]
    if not 0 < len(fit) <= MOST_NAMESAKES:
        return None
    return replace(question, expr=conj([disj([nodes.Named(n) for n in sorted(fit)]), *rest]))
