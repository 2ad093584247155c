"""Once an answer is there: whether a list that nothing can be was meant, and a second question in the same text."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from itertools import chain
from typing import TYPE_CHECKING

from kg import names
from kg.errors import QuestionError
from kg.language import nodes, parse
from kg.language.joining import atoms_of
from kg.language.listed import one_behind
from kg.language.namesake import family_with_value
from kg.language.several import is_so_of_several
from kg.language.solely import only_so, says_only
from kg.language.tokens import scan
from kg.records import replace
from kg.wording import listing, some_of

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer


OPERATIONS = 6
"""So many operations are named in a note."""
WHOEVER = "Nothing is recorded with the speciality as well, which is recorded of few: it is left out here."
LOCAL = "No trays are recorded: these are the instruments that sources name for it. What lies on a tray is decided locally."

LEAST_SAID, MOST_OTHERS = 2, 6
"""Of a family of which nothing fits: so many conditions are said besides, and so many others are named that fit them."""


def as_typed(catalogue: Catalogue, text: str, answer: Answer) -> bool:
    """Whether the grammar reads the words of a question as they stand, and not as a list of what a verb is said to be done to
    ("what holds a No. 22 blade"); or what is missing is asked for, of which "none" is a good answer."""
    if isinstance(answer.tree, nodes.Filter) and _of_what_is_missing(answer.tree.expr):
        return True
    if isinstance(answer.tree, nodes.Filter) and is_so_of_several(answer.tree, text, catalogue.lexicon, catalogue.talk):
        return True
    with suppress(QuestionError):
        found = family_with_value(text, parse(text, catalogue.lexicon), catalogue.lexicon)
        return bool(found == answer.tree) and not (isinstance(found, nodes.Filter) and one_behind(found.expr))
    return False


def decided_of_several(catalogue: Catalogue, text: str, answer: Answer) -> bool:
    """Whether a yes or no is told of instruments by name, of which an empty list is the answer ("is it true that neither the
    Kelly nor the Crile has teeth?")."""
    from kg import yesno

    items = getattr(getattr(answer.tree, "expr", None), "items", ())
    several = any(isinstance(i, nodes.Or) and all(isinstance(n, nodes.Named) for n in i.items) for i in items)
    return several and bool(yesno.told(catalogue, answer, text))


def _of_what_is_missing(expr: nodes.Expr) -> bool:
    """Whether a list is of those of which something is not recorded."""
    items = expr.items if isinstance(expr, nodes.And) else (expr,)
    return any(isinstance(i, nodes.Not) and isinstance(i.expr, nodes.Recorded) for i in items)


def instead_of_nothing(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """The description of an instrument, where a question about it was understood only in part and nothing is recorded of what
    was; else None."""
    tree = out.tree
    if not isinstance(tree, nodes.Value) or any(v.status != "not recorded" for v in out.values or ()):
        return None
    one = catalogue.vocabulary.terms[tree.subject].role == "pattern"
    return catalogue.answer(nodes.Describe(tree.subject), text, limit=limit) if one else None


def besides(
    catalogue: Catalogue, empty: Answer, text: str, limit: int, *, whole: bool = True, narrows: Sequence[nodes.Expr] = ()
) -> Answer | None:
    """The answer for what a family is used for besides, where nothing of it can be made for what is asked, or for either of
    two things where nothing is recorded with both, or for what people do not tell from what was asked; None if none of these
    finds anything. ``whole``: every word of the question was read. ``narrows``: the conditions of a list before that it
    narrows, which stay; either of two things is not asked for then."""
    from kg.answer.filters import answer_filter
    from kg.language.atodds import eased, either, whoever
    from kg.language.kin import akin, bare_family, namesakes

    def recorded(expr: nodes.Expr, feature: str) -> set[str]:
        members = [m.name for m in answer_filter(catalogue.context, expr, limit=0).matches]
        facts = catalogue.context.reader.facts(members, [feature])
        return {v for f in facts.values() for slot, v in f.known.holds if slot == feature}

    def matching(expr: nodes.Expr) -> list[str]:
        return [m.name for m in answer_filter(catalogue.context, expr, limit=0).matches]

    tree, lexicon = empty.tree, catalogue.lexicon
    wider, word = tuple(akin(tree, lexicon, narrows)), bare_family(text, tree, lexicon) if whole else ""
    named = (namesakes(one, word, lexicon, matching) for one in (tree, *wider))
    together = not lexicon.words.together.isdisjoint(t.key for t in lexicon.keyed(scan(text)))
    any_of_them = None if together or narrows else either(tree, lexicon)
    for other in chain((eased(tree, lexicon, recorded), next(named)), wider, named, (any_of_them,)):
        if other is not None:
            found = catalogue.answer(other, text, limit=limit)
            if found.matches or found.match_count:
                return found
    if whole and (other := whoever(tree, text, lexicon)) is not None:
        found = catalogue.answer(other, text, limit=limit)
        if found.matches or found.match_count:
            return replace(found, notes=(WHOEVER, *found.notes))
    return None


def its_parts(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """The parts of an instrument, where nothing is recorded to fit it ("what goes with a Balfour?"); else None."""
    expr, vocabulary = getattr(out.tree, "expr", None), catalogue.vocabulary
    if not isinstance(out.tree, nodes.Filter) or not isinstance(expr, nodes.Has):
        return None
    if vocabulary.terms[expr.value].role != "pattern":
        return None
    found = catalogue.answer(nodes.Value(expr.value, (names.HAS_PART,)), text, limit=limit)
    if all(v.status == "not recorded" for v in found.values or ()):
        return None
    fits = vocabulary.features[expr.feature].phrase.replace("{value}", vocabulary.label(expr.value))
    return replace(found, notes=(f"No other instrument is recorded that {fits}; these are its own parts.", *found.notes))


def used_too(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """The answer for what an instrument does besides, or for the thing that it is used on, where it is not made for what is
    asked and the question is not what it is made for ("can the Olsen-Hegar cut sutures?"); None if that is not so either."""
    from kg.language.atodds import done_besides, done_to, is_own_task

    if out.kind != "holds" or out.argument is None or not isinstance(out.tree, nodes.Holds):
        return None
    lexicon = catalogue.lexicon
    if out.argument.holds not in (False, "not recorded") or _made_for_it(catalogue, text):
        return None  # "is it made for cutting?" is asked in so many words
    if out.argument.holds == "not recorded":
        done = (catalogue.answer(other, text, limit=limit) for other in done_to(out.tree, lexicon))
        return next((d for d in done if d.argument is not None and d.argument.holds is True), None)
    if (closed_on := _closes_on(catalogue, out.tree, text, limit)) is not None:
        return closed_on
    facts = catalogue.context.reader.facts([out.tree.pattern], list(lexicon.words.besides.values()))
    recorded = {v for f in facts.values() for _, v in f.known.holds}
    for other in done_besides(out.tree, lexicon, recorded):
        found = catalogue.answer(other, text, limit=limit)
        if found.argument is not None and found.argument.holds is True:
            return found
    if not is_own_task(out.tree.expr, lexicon):
        return None
    task = catalogue.vocabulary.label(out.tree.expr.value)
    further = catalogue.vocabulary.label(lexicon.words.besides[out.tree.expr.feature])
    open_ = replace(out.argument, holds="not recorded", justifications=(), missing=(f"{further}: {task} (not recorded)",))
    made = catalogue.context.reader.facts([out.tree.pattern], [out.tree.expr.feature])
    known = {v for f in made.values() for _, v in f.known.holds}
    narrow = sorted(catalogue.vocabulary.label(v) for v in known if known.isdisjoint(catalogue.vocabulary.children.get(v, ())))
    note = f"It is made for {listing(narrow)}; further uses are recorded apart, and this is not among them."
    return replace(out, argument=open_, notes=(*out.notes, note))


def _closes_on(catalogue: Catalogue, tree: nodes.Holds, text: str, limit: int) -> Answer | None:
    """Whether a clamp is used on what it is to hold: to hold a vessel it closes on it, and need not be made for grasping."""
    words = catalogue.lexicon.words
    items = tree.expr.items if isinstance(tree.expr, nodes.And) else ()
    rest = [i for i in items if not (isinstance(i, nodes.Has) and i.value in words.put_there)]
    if len(rest) == len(items) or not any(isinstance(i, nodes.Has) and i.feature in words.set_places for i in rest):
        return None
    kinds = (catalogue.answer(nodes.Holds(tree.pattern, nodes.IsA(c)), text, limit=limit) for c in words.holding)
    if not any(kind.argument is not None and kind.argument.holds is True for kind in kinds):
        return None
    return catalogue.answer(replace(tree, expr=rest[0] if len(rest) == 1 else nodes.And(tuple(rest))), text, limit=limit)


def _made_for_it(catalogue: Catalogue, text: str) -> bool:
    """Whether it is asked in so many words what something is made for, and not what it is used for."""
    from kg.language.parse import parser_for

    lexicon, parser = catalogue.lexicon, parser_for(text, catalogue.lexicon)
    linked = (e for at in range(len(parser.tokens)) for _, es in parser.phrases(at) for e in es if e.kind == "connector")
    alone = {lexicon.connector(e).features for e in linked}
    return any((feature,) in alone for feature in lexicon.words.besides)


def used_as_well(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """The list with what is used for a task besides among what is made for it, where that adds to it; else None."""
    from kg.language.atodds import as_well

    other = as_well(out.tree, catalogue.lexicon) if out.tree is not None else None
    if other is None or _made_for_it(catalogue, text):
        return None
    found = catalogue.answer(other, text, limit=limit)
    many, before = (found.match_count or len(found.matches)), (out.match_count or len(out.matches))
    return found if many > before else None


def the_part_itself(catalogue: Catalogue, out: Answer, text: str) -> Answer:
    """An answer with what the part is beside it, where it is asked what a part of something is ("what is the shank of a
    haemostat?") and none of what might be told of it is recorded."""
    tree, features = out.tree, catalogue.vocabulary.features
    if not isinstance(tree, nodes.Value) or out.also is not None:
        return out
    from kg.grounds import recorded  # only of values: it loads the talk
    from kg.language.parse import parser_for

    if recorded(out):
        return out
    parts = {features[f].part if f in features else "" for f in tree.features}
    parser = parser_for(text, catalogue.lexicon)
    first = range(1, min(4, len(parser.tokens)))  # behind "what is the"
    named = {e.term for at in first for _, es in parser.phrases(at)[:1] for e in es if e.kind == "part"}  # no "tip shape"
    if len(parts) != 1 or not parts <= named or "kw.whatis" not in parser.kinds(0):
        return out
    return replace(out, also=catalogue.answer(nodes.Define(parts.pop()), text))


def with_or_without(catalogue: Catalogue, out: Answer, text: str) -> Answer:
    """The answer with what is made with and without what is asked for among what fits, where it is asked with what something
    can be had ("which needle holders are available with tungsten carbide inserts?")."""
    words = {t.key for t in catalogue.lexicon.keyed(scan(text))}
    if not isinstance(out.tree, nodes.Filter) or words.isdisjoint(catalogue.lexicon.words.offered):
        return out
    from kg.model import VARIES, Match

    some = [p for p in out.possible if p.only_as(VARIES)]
    if not some:
        return out
    broader = catalogue.vocabulary.broader_of
    names = {m.name for m in out.matches}.union(p.name for p in some)
    more = tuple(Match(p.name, p.label, variant_of=b if (b := broader(p.name)) in names else "") for p in some)
    left = tuple(p for p in out.possible if p not in some)
    note = "Also listed are those that are made with it and without it: " + listing([p.label for p in some]) + "."
    return replace(
        out,
        pattern_count=None,
        matches=tuple(sorted((*out.matches, *more), key=lambda m: m.label.casefold())),
        possible=left,
        possible_count=out.possible_count - len(some),
        notes=(note, *out.notes),
    )


def named_feature(catalogue: Catalogue, out: Answer, text: str) -> str:
    """What a feature of several words is, where it is asked of a family by its name ("what is the pelvic curve of obstetric
    forceps?"): the values alone would not say it. Empty for any other question."""
    tree, terms = out.tree, catalogue.vocabulary.terms
    if not isinstance(tree, nodes.Value) or len(tree.features) != 1 or terms[tree.subject].role != "category":
        return ""
    feature = terms.get(tree.features[0])
    if feature is None or " " not in feature.label or not feature.definition or feature.label not in text.casefold():
        return ""
    return f"{feature.label.capitalize()}: {feature.definition[0].lower()}{feature.definition[1:]}"


def not_only(catalogue: Catalogue, out: Answer, text: str) -> str:
    """A note where a list is asked for of what does one thing only: what else an instrument is used for is recorded apart."""
    if not isinstance(out.tree, nodes.Filter | nodes.Count) or not says_only(text, catalogue.lexicon):
        return ""
    said, words = tuple(atoms_of(out.tree.expr)), catalogue.lexicon.words
    told = {*words.besides, *words.besides.values(), *words.set_places, *words.set_features}
    if any(isinstance(a, nodes.Solely) for a in said) or not any(getattr(a, "feature", "") in told for a in said):
        return ""
    return 'Listed is what is made or used for it; "only" is left out, since further uses are recorded apart.'


def in_one_form(catalogue: Catalogue, out: Answer, text: str) -> Answer:
    """The answer without the forms of what is also made otherwise, where "only" is said ("which scissors only come curved?":
    not the curved Mayo scissors, which come straight too)."""
    if not isinstance(out.tree, nodes.Filter) or not out.matches or not only_so(text, out.tree, catalogue.lexicon):
        return out
    broader, fit = catalogue.vocabulary.broader_of, {m.name for m in out.matches}
    gone = [m for m in out.matches if (parent := broader(m.name)) and parent not in fit]
    if not gone or len(gone) == len(out.matches):
        note = '"Only" is left out: each form of a pattern is listed by itself, and other forms may be made.'
        return replace(out, notes=(note, *out.notes))
    left = tuple(m for m in out.matches if m not in gone)
    note = "Left out, as made in other forms too: " + listing([m.label for m in gone]) + "."
    return replace(out, matches=left, pattern_count=None, notes=(note, *out.notes))


def of_other_families(catalogue: Catalogue, out: Answer, text: str) -> str:
    """A note where no member of a family fits: of which few instruments of other families all the rest is recorded. The trade
    says "clamp" of much that is made for something else ("clamps with a right-angled end to pass a tie")."""
    tree = out.tree
    if not isinstance(tree, nodes.Filter) or out.matches or out.unread is not None or not isinstance(tree.expr, nodes.And):
        return ""
    family = [i for i in tree.expr.items if isinstance(i, nodes.IsA)]
    rest = [i for i in tree.expr.items if not isinstance(i, nodes.IsA)]
    if len(family) != 1 or len(rest) < LEAST_SAID or any(isinstance(i, nodes.Not | nodes.Named | nodes.Or) for i in rest):
        return ""
    found = catalogue.answer(nodes.Filter(nodes.And(tuple(rest))), text, limit=1)
    labels = [m.label for m in found.matches]
    if not labels or len(labels) > MOST_OTHERS:
        return ""
    name = catalogue.vocabulary.label(family[0].category)
    return f"Not counted as {name} here, but all else that is asked for is recorded of: {listing(labels)}."


def decided_locally(catalogue: Catalogue, out: Answer, text: str) -> str:
    """A note where a tray is asked for and what is used in an operation is told; empty for any other question."""
    words = catalogue.lexicon.words
    typed = {t.key for t in catalogue.lexicon.keyed(scan(text))}
    if not isinstance(out.tree, nodes.Filter) or typed.isdisjoint(words.trays):
        return ""
    expr = out.tree.expr
    items = expr.items if isinstance(expr, nodes.And | nodes.Or) else (expr,)
    used = any(isinstance(i, nodes.Has) and i.feature in words.set_features for i in items)
    return LOCAL if used else ""


def made_or_used(catalogue: Catalogue, out: Answer, text: str) -> str:
    """A note where a place of the body and a family name two lists: what is used there ("clamps for the bowel"), and a family
    that is made for it ("bowel clamps"); empty for any other question."""
    tree, lexicon = out.tree, catalogue.lexicon
    if not isinstance(tree, nodes.Filter):
        return ""
    items = tree.expr.items if isinstance(tree.expr, nodes.And) else (tree.expr,)
    family = next((i.category for i in items if isinstance(i, nodes.IsA)), "")
    if not family:
        return ""
    several = lexicon.name(family, many=True)

    def made_for(place: str, word: str) -> str:
        found = [e for e in lexicon.entries(f"{place} {word}") if e.kind == "category" and not e.composed]
        return found[0].term if len({e.term for e in found}) == 1 else ""

    for item in items:
        each = item.items if isinstance(item, nodes.Or) else (item,)
        used = [i.value for i in each if isinstance(i, nodes.Has) and i.feature in lexicon.words.set_places]
        narrower = made_for(catalogue.vocabulary.label(used[0]), several) if used else ""
        if narrower and narrower != family:
            return f'Listed by where they are used; "{lexicon.name(narrower, many=True)}" lists those that are made for it.'
    typed = {t.key for t in lexicon.keyed(scan(text))}
    last = several.split()[-1]
    for place in lexicon.words.places if len(typed) > 1 else ():
        if place in typed and made_for(place, last) == family:
            wider = f"{last} {lexicon.words.for_place} {place}"
            return f'Listed by what they are made for; "{wider}" lists all that are used there.'
    return ""


def _narrowest(catalogue: Catalogue, pattern: str, feature: str) -> list[str]:
    """The values of a feature that are on record of an instrument, without those that a narrower one says already; in words,
    sorted."""
    vocabulary = catalogue.vocabulary
    facts = catalogue.context.reader.facts([pattern], [feature]).get(pattern)
    known = {v for slot, v in facts.known.holds if slot == feature} if facts else set()
    return sorted(vocabulary.label(v) for v in known if known.isdisjoint(vocabulary.children.get(v, ())))


def used_where_too(catalogue: Catalogue, out: Answer, text: str) -> str:
    """A note on the operations of one instrument, where it is asked what it is for and no more than its purpose would be told
    ("what is a Wrigley for?"); empty for any other question."""
    tree, words, vocabulary = out.tree, catalogue.lexicon.words, catalogue.vocabulary
    if not isinstance(tree, nodes.Value) or not words.told_too or vocabulary.terms[tree.subject].role != "pattern":
        return ""
    if words.besides.keys().isdisjoint(tree.features) or words.told_too in tree.features:
        return ""
    said = _narrowest(catalogue, tree.subject, words.told_too)
    told = vocabulary.features[words.told_too].phrase.replace("{value}", some_of(said, OPERATIONS))
    return f"It {told}." if said else ""


def on_record_instead(catalogue: Catalogue, out: Answer, text: str) -> str:
    """A note on what is on record of one instrument under the feature that is asked about, where the record does not decide
    and other values are on it ("does a number 22 blade fit a number 3 handle?"); empty for any other question."""
    tree, vocabulary = out.tree, catalogue.vocabulary
    if not isinstance(tree, nodes.Holds) or not isinstance(tree.expr, nodes.Has) or out.argument is None:
        return ""
    feature = vocabulary.features[tree.expr.feature]
    if feature.single or not feature.phrase or out.argument.holds != "not recorded":
        return ""
    said = _narrowest(catalogue, tree.pattern, feature.name)
    return f"On record is that it {feature.phrase.replace('{value}', some_of(said, OPERATIONS))}." if said else ""


def in_other_words(catalogue: Catalogue, text: str, limit: int) -> Answer | None:
    """The list that a frame without places stands for, so that no word of the question is lost, where pieces of it gave what
    nothing can be ("what can you both hold a needle and cut the stitch with?"); None if there is none."""
    from kg.language.otherwise import filled

    talk = catalogue.talk
    said = next((new for new, places in filled(talk.frames, text, catalogue.lexicon) if not places), None)
    with suppress(QuestionError):
        found = catalogue.ask(said, limit=limit) if said is not None else None
        if found is not None and found.kind == "filter" and found.matches and found.unread is None:
            return replace(found, question=text)
    return None


def doubt(text: str, empty: Answer) -> QuestionError:
    """The refusal of a list that nothing is known to fit and that the grammar did not read as it stands: pieces were put
    together that may not belong together, and "none" would be no answer."""
    why = "which nothing is recorded to be" if empty.possible_count else "which nothing can be"
    return QuestionError(
        "BL-Q03",
        f'Put together piece by piece, this asks for "{empty.reading}", {why}; hardly what is meant.',
        question=text,
        span=(0, len(text)),
        hint="Ask for fewer things at once, or in the words of the sentence above.",
    )


def with_other(catalogue: Catalogue, first: Answer, other: str, limit: int, *, apart: bool = False) -> Answer:
    """An answer with that to a second question of the same text; with a note where that one is not read, or might speak of
    a list that only people can tell from what the first gave. ``apart``: it says all that it asks."""
    if apart:
        return replace(first, also=catalogue.ask(other, limit=limit))
    if (disputes := _its_disputes(catalogue, first, other, limit)) is not None:
        return replace(first, also=disputes)
    tree = first.tree
    listed = nodes.Filter | nodes.Count | nodes.Group
    narrowed = isinstance(tree, listed) and not isinstance(tree.expr, nodes.IsA | nodes.Everything)
    with suppress(QuestionError):
        more = catalogue.ask(other, limit=limit, after=None if narrowed else first)
        if more.tree == tree:
            return first  # asked twice in other words
        leans = narrowed or more.tree != _read_alone(catalogue, other)
        if (leans or not _points_back(catalogue, other)) and not (narrowed and isinstance(more.tree, listed)):
            return replace(first, also=more)
    return replace(first, notes=(*first.notes, f'Only one of two questions was read. Ask the other by itself: "{other}"'))


def _its_disputes(catalogue: Catalogue, first: Answer, other: str, limit: int) -> Answer | None:
    """The disputes on what the first question asks of one instrument, where the other only asks whether there are any ("and do
    the sources agree?"); else None."""
    from kg import yesno
    from kg.language.parse import parser_for

    parser, tree = parser_for(other, catalogue.lexicon), first.tree
    said = {"pattern", "category", "kind", "group", "value", "part", "feature"}
    if not parser.says("kw.disputes", "kw.disputed") or any(said & parser.kinds(at) for at in range(len(parser.tokens))):
        return None
    if isinstance(tree, nodes.Holds):
        subject, features = tree.pattern, parser.features_of(tree.expr)
    elif isinstance(tree, nodes.Value) and catalogue.vocabulary.terms[tree.subject].role == "pattern":
        subject, features = tree.subject, tree.features
    elif isinstance(tree, nodes.Quantified):
        found = catalogue.answer(nodes.Disputes(tree.scope, parser.features_of(tree.expr)), other, limit=limit)
        return replace(found, verdict=yesno.told(catalogue, found, other))
    else:
        return None
    found = catalogue.answer(nodes.Disputes(nodes.Named(subject), features), other, limit=limit)
    return replace(found, verdict=yesno.told(catalogue, found, other))


def _read_alone(catalogue: Catalogue, text: str) -> nodes.Question | None:
    with suppress(QuestionError):
        return catalogue.understand(text).question
    return None


def _points_back(catalogue: Catalogue, text: str) -> bool:
    """Whether a question has a word that points back to something said before it ("its", "those")."""
    return any(t.key in catalogue.talk.back for t in catalogue.lexicon.keyed(scan(text)))
