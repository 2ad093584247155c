"""Replies that point at a word of the question before: the kind that another instrument has ("which one does the Kelly have?"
after the kinds of serration), the thing by its noun alone ("what is that lock for?"), another thing done to the same ("and
which cut it?" after "which forceps hold bone?"), the groups of a list ("which group is the largest?").
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.described import FAMILIES
from kg.language.joined import called, features_of
from kg.language.joining import conj, family_in
from kg.language.lexicon import LENGTH
from kg.language.nodes import Expr, Question
from kg.language.parse import parser_for
from kg.language.say import say_expr
from kg.language.that_one import PLACE, why_so
from kg.language.told_of import named, so_many
from kg.records import replace

if TYPE_CHECKING:
    from kg.language.readings import Understood
    from kg.language.replies import Reply

_NOT_THE_SAME = "What else is done to the same is not understood here: ask the whole question."


def kind_of(said: str, reply: Reply) -> Question | None:
    """ "Which kind does the Kelly have?" after what a feature is, in groups by it or of another instrument: the same of that"""
    feature = _feature_asked(reply)
    if not feature or not said.strip():
        return None
    found = reply.alone(f"{reply.lexicon.word('whatis')} {said}").question
    terms = reply.lexicon.vocabulary.terms
    if isinstance(found, nodes.Filter) and isinstance(found.expr, nodes.Named):
        return nodes.Value(found.expr.pattern, (feature,))
    if not isinstance(found, nodes.Define) or terms[found.term].role not in ("pattern", "category"):
        return None
    if terms[found.term].role == "category":
        return nodes.Group(nodes.IsA(found.term), feature)
    return nodes.Value(found.term, (feature,))


def _feature_asked(reply: Reply) -> str:
    """The one feature that the question before was about; empty if there was none, or several."""
    question, features = reply.before.question, reply.lexicon.vocabulary.features
    if isinstance(question, nodes.Define):
        return question.term if question.term in features else ""
    if isinstance(question, nodes.Value):
        return question.features[0] if len(question.features) == 1 and question.features[0] in features else ""
    if isinstance(question, nodes.Group):
        return question.feature if question.feature in features else ""
    return question.by if isinstance(question, nodes.Tally) and question.by in features else ""


def that_thing(said: str, reply: Reply) -> Question | None:
    """ "What is that lock for?" after "which forceps have a sliding lock?": what the sliding lock is for in the one that was
    told, or what it is; with "meaning" what it is alone."""
    how, _, noun = said.partition(" ")
    lexicon, before = reply.lexicon, reply.before
    vocabulary = lexicon.vocabulary
    wanted = lexicon.keys(noun)
    if len(wanted) != 1:
        return None
    found: dict[str, None] = {}
    also: dict[str, None] = {}
    for item in _each(before.question):
        term = getattr(item, "value", "") or getattr(item, "part", "")
        if not term or term not in vocabulary.terms:
            continue
        feature = vocabulary.features.get(vocabulary.terms[term].feature or "")
        names = [lexicon.name(term), *((vocabulary.label(feature.part),) if feature is not None and feature.part else ())]
        if any(wanted[0] in lexicon.keys(name) for name in names):
            found[term] = None
        also[term] = None
    if not found:  # "that lock" of a ratchet
        called_so = {e.term for e in lexicon.entries(noun)}
        found = {term: None for term in also if term in called_so}
    if len(found) != 1:
        return None
    term, subjects = next(iter(found)), before.subjects(lexicon)
    one = len(subjects) == 1 and vocabulary.terms[subjects[0]].role == "pattern"
    return nodes.PartOf(term, subjects[0]) if one and how != "meaning" else nodes.Define(term)


def _each(question: Question | None) -> Iterator[Expr]:
    """All conditions of a question, those inside others too."""
    waiting = [getattr(question, name, None) for name in ("expr", "scope")]
    while waiting:
        item = waiting.pop()
        if isinstance(item, nodes.And | nodes.Or):
            waiting.extend(item.items)
        elif isinstance(item, nodes.Not):
            waiting.append(item.expr)
        elif item is not None:
            yield item


def done_to_it(said: str, reply: Reply) -> Question | None:
    """ "And which cut it?" after "which forceps hold bone?": those of the same family that do this to the same. Raises
    QuestionError (BL-Q02) where that is not understood, since "it" is the tissue and nothing else."""
    question, lexicon = reply.before.question, reply.lexicon
    if not isinstance(question, nodes.Filter | nodes.Count) or not reply.before.text:
        return None
    said_parser = parser_for(said, lexicon)
    if said_parser.says("kw.them", "kw.it"):
        return None  # "and which of those crush it?"
    kept = [i for i in (question.expr.items if isinstance(question.expr, nodes.And) else ()) if _says_where(i, reply)]
    it, family = _object_of(reply.before.text, reply)
    it = it or _object_of(say_expr(question.expr, lexicon), reply)[0]
    if not it or not said_parser.tokens:
        return None
    own = any(e.kind in FAMILIES for _, es in said_parser.phrases(0) for e in es)  # "and which clamps crush it?"
    before_it = "" if own else f"{family or lexicon.word('instrument') + 's'} "
    try:
        found = reply.alone(f"{lexicon.word('which')} {before_it}{said.replace(PLACE, it)}")
    except QuestionError:
        found = None
    if found is None or found.unread is not None or not isinstance(found.question, nodes.Filter):
        raise QuestionError("BL-Q02", _NOT_THE_SAME, question=reply.text, span=(0, len(reply.text.rstrip())))
    return replace(found.question, expr=conj([found.question.expr, *kept]))


def _object_of(text: str, reply: Reply) -> tuple[str, str]:
    """What it is done to, and the family of the list, in the words of a text; empty where it names none."""
    parser, terms = parser_for(text, reply.lexicon), reply.lexicon.vocabulary.terms
    used = parser._uses()[-1:]
    it, at, family = "", 0, ""
    while at < len(parser.tokens):
        step = 1
        for end, entries in parser.phrases(at):
            if not family and any(e.kind in FAMILIES for e in entries):
                family, step = parser.quote(at, end), max(step, end - at)
            if any(e.kind == "value" and terms[e.term].feature in used and not e.composed for e in entries):
                it, step = parser.quote(at, end), max(step, end - at)
                break
        at += step
    return it, family


def _says_where(item: Expr, reply: Reply) -> bool:
    """Whether a condition says in which speciality or operation, which stays where another thing is asked for."""
    features = features_of(item)
    return bool(features) and features <= reply.lexicon.words.set_features


def being_so(said: str, reply: Reply) -> Question | None:
    """ "Which clamps are?" after what "atraumatic" means: those of the family that are so"""
    question, terms = reply.before.question, reply.lexicon.vocabulary.terms
    if not isinstance(question, nodes.Define) or terms[question.term].role != "value":
        return None
    parser = parser_for(said, reply.lexicon)
    scope = parser.description()
    if scope is None or not parser.ended() or not family_in(scope):
        return None
    return nodes.Filter(conj([scope, nodes.Has(terms[question.term].feature or "", question.term)]))


def groups(said: str, reply: Reply) -> Question | None:
    """ "Which groups have at least two?", "how many groups are there?" after a list in groups: the groups by their size"""
    question = reply.before.question
    if isinstance(question, nodes.Group) and not said:
        return question
    if isinstance(question, nodes.Group) and question.feature != LENGTH:
        question = nodes.Tally(question.feature, "", question.expr)
    if not isinstance(question, nodes.Tally):
        return None
    if said in ("most", "fewest", ""):
        return replace(question, pick=said, number=0)
    found = so_many(said, reply.lexicon)
    return replace(question, pick=found[0], number=found[1]) if found is not None else None


def family_beside(said: str, reply: Reply) -> Question | None:
    """ "How would I tell it from an artery forceps?" of an instrument in the hand: the family by whose noun the likeliest are
    called beside that one, or these"""
    from kg.language.replies import meant, of_all_named
    from kg.language.set_beside import CANDIDATES, MOST_BESIDE

    lexicon, before = reply.lexicon, reply.before
    if not (family := named(said, reply, "category")):
        return None
    each = before.subjects(lexicon)
    if isinstance(before.question, nodes.Identify):
        each = before.names[:CANDIDATES] if before.alike != 1 else before.names[:1]
    elif not each:
        each = meant(of_all_named(before, lexicon), lexicon)
    if not 0 < len(each) <= MOST_BESIDE:
        return None
    families = {f.category for n in each for f in called(nodes.Named(n), lexicon)} if len(each) > 1 else set()
    one = (families.pop(),) if len(families) == 1 else each[: MOST_BESIDE - 1]
    return nodes.Compare((*one, family)) if family not in one else None


def why_have(said: str, reply: Reply) -> Understood | None:
    """ "Why do they have teeth?" after a list of a family: why this family has them"""
    question = reply.before.question
    if not isinstance(question, nodes.Filter | nodes.Count | nodes.Group):
        return None
    items = question.expr.items if isinstance(question.expr, nodes.And) else (question.expr,)
    family = next((i for i in items if isinstance(i, nodes.IsA) and family_in(i)), None)
    if family is None:
        return None
    name = reply.lexicon.name(family.category, many=True)
    found = reply.alone(said.replace(PLACE, name))
    return found if isinstance(found.question, nodes.ReasonNotes | nodes.Define) else None


def why_value(_: str, reply: Reply) -> Question | None:
    """ "Why?" after the one value that an instrument was told to have, or after a yes or no: why it is so"""
    question, terms = reply.before.question, reply.lexicon.vocabulary.terms
    if isinstance(question, nodes.Holds):
        return why_so(question.pattern, question.expr)
    if not isinstance(question, nodes.Value) or len(question.features) != 1 or len(reply.before.values) != 1:
        return None
    if terms[question.subject].role != "pattern":
        return None
    found = [
        e.term
        for e in reply.lexicon.entries(reply.before.values[0])
        if e.kind == "value" and terms[e.term].feature == question.features[0]
    ]
    return nodes.Why(question.subject, nodes.Has(question.features[0], found[0])) if len(found) == 1 else None


def care_of(said: str, reply: Reply) -> Question | None:
    """ "Does that go for the tungsten carbide ones too?" after care of an instrument: how these are reprocessed"""
    question, lexicon = reply.before.question, reply.lexicon
    one = reply.before.subjects(lexicon)
    if not isinstance(question, nodes.Reprocessing | nodes.CareNotes) or len(one) != 1:
        return None
    if lexicon.vocabulary.terms[one[0]].role == "category":
        family = one[0]
    else:
        family = next((f.category for f in called(nodes.Named(one[0]), lexicon)), "")
    parser = parser_for(said, lexicon)
    if ones := [t for at, t in enumerate(parser.tokens) if "kw.ones" in parser.kinds(at)]:
        if not family:
            return None
        said = f"{said[: ones[-1].start]}{lexicon.name(family, many=True)}{said[ones[-1].end :]}"
    found = reply.alone(said)
    whole = found.unread is None and found.doubtful is None
    return found.question if whole and isinstance(found.question, nodes.Reprocessing | nodes.CareNotes) else None


def side_by_side(_: str, reply: Reply) -> Question | None:
    """ "And how would I tell it from those?" of an instrument in the hand: the likeliest side by side; after the
    look-alikes of one: what tells it from them"""
    from kg.language.set_beside import CANDIDATES

    if isinstance(reply.before.question, nodes.LookAlikes):
        return nodes.Telling(reply.before.question.pattern)
    each = reply.before.names[:CANDIDATES]
    return nodes.Compare(each) if isinstance(reply.before.question, nodes.Identify) and len(each) > 1 else None


__all__ = [
    "being_so",
    "care_of",
    "done_to_it",
    "family_beside",
    "groups",
    "kind_of",
    "side_by_side",
    "that_thing",
    "why_have",
    "why_value",
]
