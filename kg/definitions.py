"""New categories in the words of a question: description -> OWL definition, and its place among the categories.

The logic admits a conjunction of categories, values, parts had and parts lacked (``kg.reason.gate``). A description that says
more (alternatives, negations that are no absence of a part, lengths, names of patterns) is refused with the reason.

    define     conditions -> Definition (with its Turtle)
    place      Horn closure of the conditions against that of each category, in both directions
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.vocabulary import Condition, Vocabulary
from kg.wording import listing

if TYPE_CHECKING:
    from kg.reason.horn import Engine

_WORD = re.compile(r"[^\W\d_][\w'’-]*|[0-9]+[a-z]?", re.UNICODE)
MAX_NAME = 60
_PREFIXES = ("bl", "owl", "rdfs")


@dataclass(frozen=True)
class Definition:
    """A category that is not (yet) in the ontology.

    ``name`` is its short name, ``label`` what people call it, ``conditions`` a conjunction, sorted, none of which follows
    from the others by being the same; ``turtle`` the OWL class as a Turtle document.
    """

    name: str
    label: str
    conditions: tuple[Condition, ...]
    turtle: str


@dataclass(frozen=True)
class Place:
    """Categories (short names, sorted) by how they stand to a definition.

    ``equivalent``: the same by definition; ``broader`` and ``narrower``: the nearest only; ``disjoint``: the broadest of those
    that exclude it. ``clash``: two literals that exclude each other, if nothing can meet the definition; the rest is then
    empty.
    """

    equivalent: tuple[str, ...] = ()
    broader: tuple[str, ...] = ()
    narrower: tuple[str, ...] = ()
    disjoint: tuple[str, ...] = ()
    clash: tuple[Condition, Condition] | None = None


# --- compiling ------------------------------------------------------------------------------------------------------
def compile_definition(
    name: str, expr: nodes.Expr, vocabulary: Vocabulary, *, question: str = "", span: nodes.Span = (0, 0)
) -> Definition:
    """The OWL definition of a new category. ``name`` is what it is to be called ("gentle clamp").

    Raises QuestionError: BL-Q10 if the name is no plain words, too long, or taken; BL-Q09 if the description says what the
    logic does not admit, with the span of that part. ``question`` and ``span`` (of the name) are for the error alone.
    """
    label = " ".join(name.split())
    short = _short_name(label, vocabulary, question, span)
    conditions = tuple(sorted(dict.fromkeys(_conditions(expr, vocabulary, question))))
    if not conditions:
        raise _refused(
            "it sets no condition, so every pattern would be in it", expr, question, "Say what its members have or are."
        )
    return Definition(short, label, conditions, turtle(short, label, conditions))


def _short_name(label: str, vocabulary: Vocabulary, question: str, span: nodes.Span) -> str:
    def bad(message: str, hint: str) -> QuestionError:
        return QuestionError("BL-Q10", message, question=question, span=span, hint=hint)

    words = _WORD.findall(label)
    if not words or len(label) > MAX_NAME or re.sub(r"[\s'’-]", "", "".join(words)) != re.sub(r"[\s'’-]", "", label):
        raise bad(f'"{label[:MAX_NAME]}" cannot be the name of a category.', f"Use plain words, at most {MAX_NAME} characters.")
    folded = label.casefold().replace("-", " ")
    for term in vocabulary.terms.values():
        taken = (term.label, term.plural, *term.alt)
        if any(folded == t.casefold().replace("-", " ") for t in taken if t) and term.role != "source":
            raise bad(f'"{label}" is taken: it is a {term.role} of the catalogue ({term.label}).', "Choose another name.")
    parts = [p for w in words for p in re.split(r"['’-]", w) if p]
    local = "".join(p[:1].upper() + p[1:] for p in parts)
    local = re.sub(r"[^A-Za-z0-9]", "", _ascii(local)) or "Category"
    short = f"bl:{local}"
    if short in vocabulary.terms or short == names.PATTERN:
        raise bad(f'"{label}" is taken: the ontology has {short}.', "Choose another name.")
    return short


def _ascii(text: str) -> str:
    import unicodedata

    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))


def _conditions(expr: nodes.Expr, vocabulary: Vocabulary, question: str) -> Iterable[Condition]:
    """The conditions of a description that is a conjunction. Raises QuestionError BL-Q09."""
    match expr:
        case nodes.Everything():
            return
        case nodes.IsA(category):
            yield names.TYPE, category
        case nodes.Has(feature, value):
            yield feature, value
        case nodes.HasPart(part):
            yield names.HAS_PART, part
        case nodes.And(items):
            for item in items:
                yield from _conditions(item, vocabulary, question)
        case nodes.Not(inner):
            yield from _absences(inner, vocabulary, question)
        case nodes.Or():
            raise _refused(
                "it offers alternatives (or), and a category of alternatives loses members in rule engines",
                expr, question, "Define one category for each alternative, or use the broader value that covers them.",
            )  # fmt: skip
        case nodes.Length():
            why = "it sets a length, and the logic knows values, not measures"
            raise _refused(why, expr, question, "Use a size class instead, such as a value of the size of the instrument.")
        case nodes.Named() | nodes.CalledAfter() | nodes.Begins():
            why = "it names one pattern, and a category is defined by what its members are"
            raise _refused(why, expr, question, "Say what the members have, are or are made for.")
        case nodes.Recorded() | nodes.Solely() | nodes.Untold():
            why = "it speaks of the record, and a category is defined by what its members are"
            raise _refused(why, expr, question, "Say what the members have, are or are made for.")
        case _:
            raise TypeError(f"not an expression: {expr!r}")


def _absences(inner: nodes.Expr, vocabulary: Vocabulary, question: str) -> Iterable[Condition]:
    """The conditions of "not ...": only the absence of a part is one, since what is not recorded is not false."""
    match inner:
        case nodes.HasPart(part):
            yield names.LACKS_PART, part
        case nodes.Not(twice):
            yield from _conditions(twice, vocabulary, question)
        case nodes.Or(items):
            for item in items:
                yield from _absences(item, vocabulary, question)
        case nodes.IsA(category) if len(vocabulary.definitions.get(category, ())) == 1:
            yield from _denied(vocabulary.definitions[category][0], inner, vocabulary, question)
        case nodes.Has(feature, value):
            yield from _denied((feature, value), inner, vocabulary, question)
        case _:
            why = "it denies a whole description, and what is not recorded is not false"
            raise _refused(why, inner, question, "Deny parts one by one (without a ratchet), or name the value that is meant.")


def _denied(condition: Condition, inner: nodes.Expr, vocabulary: Vocabulary, question: str) -> Iterable[Condition]:
    prop, value = condition
    opposite = {names.HAS_PART: names.LACKS_PART, names.LACKS_PART: names.HAS_PART}.get(prop)
    if opposite:
        yield opposite, value
        return
    feature = vocabulary.features.get(prop)
    hint = "Name the value that is meant."
    if feature and feature.single:
        broader = vocabulary.terms[value].broader
        others = [v for v in vocabulary.values_of(prop) if v != value and vocabulary.terms[v].broader == broader]
        if others:
            shown = [f'"{vocabulary.label(v)}"' for v in others[:4]]
            hint = f"Name the value that is meant: {listing(shown, 'or')}."
    what = vocabulary.label(value)
    raise _refused(f'it denies "{what}", and what is not recorded is not false', inner, question, hint)


def _refused(why: str, expr: nodes.Expr, question: str, hint: str) -> QuestionError:
    return QuestionError(
        "BL-Q09", f"This cannot define a category: {why}.", question=question, span=expr.span if question else (0, 0), hint=hint
    )


def turtle(name: str, label: str, conditions: Iterable[Condition]) -> str:
    """The class as a Turtle document, in the form of ``ontology/axioms/categories.ttl``."""
    members = [names.PATTERN]
    members += [value for prop, value in conditions if prop == names.TYPE]
    restrictions = [
        f"[ a owl:Restriction ; owl:onProperty {prop} ; owl:hasValue {value} ]"
        for prop, value in conditions
        if prop != names.TYPE
    ]
    used = sorted({*_PREFIXES, *(n.split(":")[0] for c in conditions for n in c if n != names.TYPE)})
    head = names.turtle_head(*used)
    inside = "\n".join(f"        {line}" for line in (" ".join(members), *restrictions))
    text = label.replace("\\", "\\\\").replace('"', '\\"')
    return (
        f"{head}\n{name} a owl:Class ;\n"
        f'    rdfs:label "{text}"@en ;\n'
        f"    rdfs:subClassOf {names.PATTERN} ;\n"
        f"    owl:equivalentClass [ a owl:Class ; owl:intersectionOf (\n{inside} ) ] .\n"
    )


# --- placing --------------------------------------------------------------------------------------------------------
@dataclass(frozen=True)
class Relations:
    """All categories above a definition, below it, and apart from it (nothing can be in both), by the rules.

    ``clash``: two literals that exclude each other, if nothing can meet the definition; the sets are then empty.
    """

    above: frozenset[str] = frozenset()
    below: frozenset[str] = frozenset()
    apart: frozenset[str] = frozenset()
    clash: tuple[Condition, Condition] | None = None


def relations(conditions: Iterable[Condition], vocabulary: Vocabulary, engine: Engine) -> Relations:
    """How every defined category stands to a conjunction of conditions. Categories that nothing can meet are below nothing."""
    return _relations(frozenset(conditions), vocabulary, engine, _closures(vocabulary, engine))


def _closures(vocabulary: Vocabulary, engine: Engine) -> dict[str, frozenset[Condition]]:
    return {c: engine.types_only([(names.TYPE, c)]) for c in vocabulary.definitions}


def _relations(
    conditions: frozenset[Condition], vocabulary: Vocabulary, engine: Engine, closures: dict[str, frozenset[Condition]]
) -> Relations:
    closed = engine.types_only(conditions)
    clash = contradiction(closed, vocabulary)
    if clash:
        return Relations(clash=clash)
    above = frozenset(c for c in closures if (names.TYPE, c) in closed)
    below = frozenset(c for c, held in closures.items() if conditions <= held and not contradiction(held, vocabulary))
    apart = frozenset(
        c
        for c, held in closures.items()
        if c not in above | below and contradiction(engine.types_only(conditions | held), vocabulary)
    )
    return Relations(above, below, apart)


def place(conditions: Iterable[Condition], vocabulary: Vocabulary, engine: Engine) -> Place:
    """Where a definition with these conditions stands among the defined categories, by the rules in both directions."""
    closures = _closures(vocabulary, engine)
    found = _relations(frozenset(conditions), vocabulary, engine, closures)
    if found.clash:
        return Place(clash=found.clash)

    def under(a: str, b: str) -> bool:
        """a lies within b, and they are not the same."""
        return (names.TYPE, b) in closures[a] and (names.TYPE, a) not in closures[b]

    same = found.above & found.below
    above, below, apart = found.above - same, found.below - same, found.apart
    return Place(
        equivalent=tuple(sorted(same)),
        broader=tuple(sorted(c for c in above if not any(under(other, c) for other in above))),
        narrower=tuple(sorted(c for c in below if not any(under(c, other) for other in below))),
        disjoint=tuple(sorted(c for c in apart if not any(under(c, other) for other in apart))),
    )


def contradiction(literals: Iterable[Condition], vocabulary: Vocabulary) -> tuple[Condition, Condition] | None:
    """Two literals of a closed set that exclude each other, the first in order; None if there are none.

    These are the exclusions of the framework: two values of a feature with one value of which neither is the broader, and a
    part both there and absent. (The other disjoint classes of the ontology are no classes of patterns.)
    """
    held = set(literals)
    by_feature: dict[str, list[str]] = {}
    for prop, value in sorted(held):
        feature = vocabulary.features.get(prop)
        if feature is not None and feature.single:
            by_feature.setdefault(prop, []).append(value)
        elif prop == names.HAS_PART and (names.LACKS_PART, value) in held:
            return (prop, value), (names.LACKS_PART, value)
    for prop, values in by_feature.items():
        for i, a in enumerate(values):
            for b in values[i + 1 :]:
                if a not in vocabulary.ancestors(b) and b not in vocabulary.ancestors(a):
                    return (prop, a), (prop, b)
    return None
