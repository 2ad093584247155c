"""One instrument set against another by degree ("lighter than a Kelly", "which is gentler?"): decided by the recorded values of
both, which are told; where they are not recorded or are the same, that is told and nothing is decided."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.degrees import Said, Scale, said
from kg.language.joining import conj, disj
from kg.language.parse import parser_for
from kg.records import replace
from kg.relative import known_of, length_told

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer


def against(catalogue: Catalogue, text: str, limit: int, before: str = "") -> Answer | None:
    """The answer to a question that sets something against an instrument behind "than": whether one is so beside it, or which
    of a family are; None for any other. ``before``: the instrument that "it" means. Raises QuestionError where nothing is
    recorded by which it could be told."""
    found = said(text, catalogue.lexicon, catalogue.talk)
    if found is None or not found.than:
        return None
    other = _named(catalogue, found.than)
    parser = parser_for(found.before, catalogue.lexicon) if other and found.before else None
    if parser is None or not parser.tokens:
        return None
    verb = next((i for i in range(len(parser.tokens)) if not parser.kinds(i) & {"filler", "kw.and"}), 0)
    if before and len(parser.tokens) == verb + 2 and "kw.be" in parser.kinds(verb) and "kw.it" in parser.kinds(verb + 1):
        return _whether(catalogue, found, before, other, text, limit) if before != other else None
    if parser.kinds(0) & {"kw.be", "kw.do", "kw.can"} and len(parser.tokens) > 1:
        one = _named(catalogue, found.before[parser.tokens[1].start :])
        return _whether(catalogue, found, one, other, text, limit) if one and one != other else None
    return _listed(catalogue, found, _without_verb(found.before, catalogue), other, text, limit)


def meant_before(after: Answer | QuestionError | None) -> str:
    """The one instrument that a question was about; empty if there is none."""
    tree = None if after is None or isinstance(after, QuestionError) else after.tree
    expr = getattr(tree, "expr", None)
    if isinstance(expr, nodes.Named):
        return expr.pattern
    found = getattr(tree, "pattern", "") or getattr(tree, "subject", "")
    return found if isinstance(found, str) else ""


def between(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """The answer to a question which of two is more or less of something, that was read as their comparison; None for any
    other."""
    tree = out.tree
    if not isinstance(tree, nodes.Compare) or len(tree.subjects) != 2:
        return None
    if any(catalogue.vocabulary.terms[s].role != "pattern" for s in tree.subjects):
        return None
    found = said(text, catalogue.lexicon, catalogue.talk)
    if found is None:
        return None
    if found.than:
        return against(catalogue, text, limit)
    one, other = tree.subjects
    if found.degree.length:
        return catalogue.answer(nodes.Extreme(disj([nodes.Named(one), nodes.Named(other)]), found.more), text, limit=limit)
    scale, ranks = _told(catalogue, found, one, other)
    if scale is None:
        return replace(out, verdict=_undecided(catalogue, found, (one, other)))
    best = max(ranks) if found.more else min(ranks)
    values = [nodes.Has(scale.feature, v) for v in scale.order[best]]
    asked = nodes.Filter(conj([disj([nodes.Named(one), nodes.Named(other)]), disj(values)]))
    found_one = catalogue.answer(asked, text, limit=limit)
    return replace(found_one, notes=(_recorded(catalogue, scale, (one, other)), *found_one.notes))


def _named(catalogue: Catalogue, text: str) -> str:
    """The one instrument that a text names and says nothing more of; empty if there is none."""
    with suppress(QuestionError):
        tree = catalogue.ask(f"{catalogue.lexicon.words.keywords['describe'][0]} {text.strip(' ?.!,')}", limit=1).tree
        if isinstance(tree, nodes.Describe) and catalogue.vocabulary.terms[tree.pattern].role == "pattern":
            return tree.pattern
    return ""


def _without_verb(text: str, catalogue: Catalogue) -> str:
    """ "which clamps are" -> "which clamps" """
    parser = parser_for(text, catalogue.lexicon)
    last = len(parser.tokens)
    while last > 1 and parser.kinds(last - 1) & {"kw.be", "kw.that", "filler"}:
        last -= 1
    return text[: parser.tokens[last - 1].end]


def _whether(catalogue: Catalogue, found: Said, one: str, other: str, text: str, limit: int) -> Answer:
    if found.degree.length:
        return catalogue.answer(nodes.Extreme(disj([nodes.Named(one), nodes.Named(other)]), found.more), text, limit=limit)
    scale, ranks = _told(catalogue, found, one, other)
    if scale is None:
        out = catalogue.answer(nodes.Compare((one, other)), text, limit=limit)
        return replace(out, verdict=_undecided(catalogue, found, (one, other)))
    beyond = scale.order[ranks[1] + 1 :] if found.more else scale.order[: ranks[1]]
    wanted = [v for rank in beyond for v in rank] or [v for rank in scale.order for v in rank if v not in scale.order[ranks[0]]]
    asked = nodes.Holds(one, disj([nodes.Has(scale.feature, v) for v in wanted]))
    out = catalogue.answer(asked, text, limit=limit)
    return replace(out, others=(other,), notes=(_recorded(catalogue, scale, (one, other)), *out.notes))


def _listed(catalogue: Catalogue, found: Said, family: str, other: str, text: str, limit: int) -> Answer | None:
    asked = _list_of(catalogue, family)
    if asked is None:
        return None
    if found.degree.length and (made := known_of(catalogue, other, names.LENGTH_MIN).length) is not None:
        size = nodes.Length(">", made[1]) if found.more else nodes.Length("<", made[0])
        out = catalogue.answer(nodes.Filter(conj([asked, size])), text, limit=limit)
        return replace(out, notes=(length_told(catalogue.lexicon, other, made), *out.notes))
    for scale in found.degree.scales:
        rank = _rank(catalogue, scale, other)
        beyond = () if rank is None else scale.order[rank + 1 :] if found.more else scale.order[:rank]
        values = [nodes.Has(scale.feature, v) for step in beyond for v in step]
        if values:
            out = catalogue.answer(nodes.Filter(conj([asked, disj(values)])), text, limit=limit)
            return replace(out, notes=(_recorded(catalogue, scale, (other,)), *out.notes))
    raise QuestionError(
        "BL-Q11",
        f'Nothing is recorded by which anything could be told to be "{found.words}" than {catalogue.vocabulary.label(other)}. '
        + _undecided(catalogue, found, (other,)),
        question=text,
        hint="Ask for a recorded word instead (clamps of heavy build, atraumatic forceps), or compare two instruments.",
    )


def _list_of(catalogue: Catalogue, family: str) -> nodes.Expr | None:
    """What a text lists, if every word of it is read; else None."""
    which = catalogue.lexicon.word("which")
    for text in (family, f"{which} {family}"):
        with suppress(QuestionError):
            asked = catalogue.understand(text, whole=True, hand=False)
            whole = asked.unread is None and not asked.passed and asked.doubtful is None
            if isinstance(asked.question, nodes.Filter) and whole:
                return asked.question.expr
    return None


def _rank(catalogue: Catalogue, scale: Scale, pattern: str) -> int | None:
    """The place of a pattern on a scale; None if it is not recorded, or with values of several ranks."""
    held = {v for slot, v in known_of(catalogue, pattern, scale.feature).holds if slot == scale.feature}
    ranks = {i for i, values in enumerate(scale.order) if held & set(values)}
    return min(ranks) if len(ranks) == 1 else None


def _told(catalogue: Catalogue, found: Said, one: str, other: str) -> tuple[Scale | None, tuple[int, int]]:
    """The first scale on which both stand in different places, and these."""
    for scale in found.degree.scales:
        ranks = _rank(catalogue, scale, one), _rank(catalogue, scale, other)
        if ranks[0] is not None and ranks[1] is not None and ranks[0] != ranks[1]:
            return scale, (ranks[0], ranks[1])
    return None, (0, 0)


def _recorded(catalogue: Catalogue, scale: Scale, patterns: tuple[str, ...]) -> str:
    return f"Judged by the {_values(catalogue, scale, patterns)}."


def _values(catalogue: Catalogue, scale: Scale, patterns: tuple[str, ...]) -> str:
    label = catalogue.vocabulary.label
    told = []
    for pattern in patterns:
        rank = _rank(catalogue, scale, pattern)
        facts = known_of(catalogue, pattern, scale.feature).holds
        held = sorted(label(v) for slot, v in facts if slot == scale.feature and rank is not None and v in scale.order[rank])
        told.append(f"{label(pattern)}: {', '.join(held) or 'not recorded, or both'}")
    return f"{label(scale.feature)} ({'; '.join(told)})"


def _undecided(catalogue: Catalogue, found: Said, patterns: tuple[str, ...]) -> str:
    if found.degree.length:
        return f"Of {catalogue.vocabulary.label(patterns[0])} no length is recorded."
    each = "; ".join(_values(catalogue, scale, patterns) for scale in found.degree.scales)
    return f"What is recorded does not decide it: {each}."


__all__ = ["against", "between"]
