"""The ontology's triples -> the ``Vocabulary`` that the asking side uses."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

import pyoxigraph as ox

from kg import names
from kg.vocabulary import Condition, Feature, Rule, Term, Vocabulary

_ROLE_OF_CLASS = {
    "bl:Pattern": "pattern",
    "bl:FeatureValue": "value",
    "bl:PartKind": "part",
    "bl:Kind": "kind",
    "bl:Concept": "concept",
    "bl:Source": "source",
}


def describe(triples: Iterable[ox.Triple]) -> dict[str, dict[str, list[str]]]:
    """subject -> predicate -> objects, for our own subjects, short names where possible, duplicates kept out."""
    out: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for t in triples:
        if not isinstance(t.subject, ox.NamedNode):
            continue
        subject, predicate = names.shown(t.subject.value), names.shown(t.predicate.value)
        value = names.shown(t.object.value) if isinstance(t.object, ox.NamedNode) else t.object.value
        if value not in out[subject][predicate]:
            out[subject][predicate].append(value)
    return out


def read_vocabulary(
    triples: Iterable[ox.Triple],
    definitions: Mapping[str, tuple[Condition, ...]],
    rules: tuple[Rule, ...],
) -> Vocabulary:
    """All terms with their words. ``definitions`` and ``rules`` come from ``kg.reason``; a defined class is a category."""
    terms: dict[str, Term] = {}
    features: dict[str, Feature] = {}
    described = describe(triples)
    notes = {name: _one(f, "rdfs:label") for name, f in described.items() if "note" in f.get("bl:termRole", ())}
    for name, facts in sorted(described.items()):
        role = _role(name, facts, definitions)
        if not role:
            continue
        order = int(float(_one(facts, "bl:spokenOrder") or 0))
        terms[name] = Term(
            name=name,
            role=role,
            label=_one(facts, "rdfs:label") or _one(facts, "dcterms:title") or name.split(":")[1],
            plural=_one(facts, "bl:plural"),
            alt=tuple(sorted(facts.get("skos:altLabel", ()))),
            hidden=tuple(sorted(facts.get("skos:hiddenLabel", ()))),
            definition=_one(facts, "skos:definition"),
            sources=tuple(sorted(facts.get("dcterms:source", ()))),
            feature=_one(facts, "bl:valueOf"),
            broader=_one(facts, names.VARIANT_OF) if role == "pattern" else _one(facts, "skos:broader"),
            order=order,
            notes=tuple((notes[p], text) for p in sorted(notes) for text in sorted(facts.get(p, ()))),
            spoken=_one(facts, "bl:spoken"),
            paired=_one(facts, "bl:pairedBy"),
            counts=tuple(int(n) for p in ("bl:fewerOnASide", "bl:moreOnASide") for n in facts.get(p, ())),
        )
        if role == "feature":
            features[name] = Feature(
                name=name,
                single=_one(facts, "bl:choice") == "bl:Single",
                part=_one(facts, "bl:describesPart"),
                applies=_one(facts, "bl:appliesTo"),
                order=order,
                phrase=_one(facts, "bl:phrase"),
                denies=_one(facts, "bl:denies"),
                section=_one(facts, "bl:spokenUnder"),
            )
    return Vocabulary(terms, features, _categories(definitions), lambda: rules)


def replacements(triples: Iterable[ox.Triple]) -> dict[str, str]:
    """Deprecated term -> the term that replaces it (``dcterms:isReplacedBy``), chains followed to their end."""
    direct = {
        name: _one(facts, "dcterms:isReplacedBy")
        for name, facts in describe(triples).items()
        if facts.get("dcterms:isReplacedBy")
    }
    out = {}
    for name, to in direct.items():
        seen = {name}
        while to in direct and to not in seen:
            seen.add(to)
            to = direct[to]
        out[name] = to
    return dict(sorted(out.items()))


def is_value_class(name: str) -> bool:
    """True for the classes that stand for one value: people name the value, not its class."""
    return name.startswith("bl:With")


def _categories(definitions: Mapping[str, tuple[Condition, ...]]) -> dict[str, tuple[Condition, ...]]:
    """Definitions of the categories alone, value classes in them replaced by the condition they stand for."""

    def plain(condition: Condition) -> tuple[Condition, ...]:
        prop, name = condition
        if prop == names.TYPE and is_value_class(name) and name in definitions:
            return tuple(c for inner in definitions[name] for c in plain(inner))
        return (condition,)

    return {
        name: tuple(c for condition in conditions for c in plain(condition))
        for name, conditions in definitions.items()
        if not is_value_class(name)
    }


def _role(name: str, facts: Mapping[str, list[str]], definitions: Mapping[str, object]) -> str:
    if name in definitions:
        return "" if is_value_class(name) else "category"
    if "feature" in facts.get("bl:termRole", ()):
        return "feature"
    if name in (names.HAS_PART, names.LACKS_PART, names.LENGTH):
        return "property"
    for kind in facts.get(names.TYPE, ()):
        if kind == "bl:Kind":
            return "kind"
    for kind in facts.get(names.TYPE, ()):
        if kind in _ROLE_OF_CLASS:
            return _ROLE_OF_CLASS[kind]
    return ""


def _one(facts: Mapping[str, list[str]], predicate: str) -> str:
    found = facts.get(predicate)
    return min(found) if found else ""
