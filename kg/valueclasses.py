"""The value classes: one named class for every value of a feature, written as Turtle text by rule.

For a feature ``f`` and a value ``v`` the class ``bl:With-f-v`` is equivalent to "f has the value v", is a subclass of the
class of the broader value, and, if the feature has one value a piece, is disjoint from its siblings. A feature that
describes a part implies that the part is there. Text is built here so that it is the same byte for byte in every build.
"""

from __future__ import annotations

import json
from itertools import combinations

from kg import names
from kg.vocabulary import Vocabulary

_PREFIXES = names.turtle_head("bl", "kind", "owl", "rdfs", "skos", "dcterms", "src")


def class_of(feature: str, value: str) -> str:
    """The short name of the value class: ``("bl:handle", "bl:RingHandle")`` -> ``"bl:With-handle-RingHandle"``."""
    return f"bl:With-{feature.split(':')[1]}-{value.split(':')[1]}"


def value_classes(vocabulary: Vocabulary) -> str:
    """The Turtle text of all value classes, sorted. Features whose values are patterns have none."""
    out = [_PREFIXES]
    for name in sorted(vocabulary.features):
        feature = vocabulary.features[name]
        roots: list[str] = []
        siblings: dict[str, list[str]] = {}
        for value in vocabulary.values_of(name):
            term = vocabulary.terms[value]
            label, what = vocabulary.label(value), vocabulary.label(name)
            own = class_of(name, value)
            lines = [
                f"{own} a owl:Class",
                f"    rdfs:label {_text(f'with {what}: {label}')}",
                f"    skos:definition {_text(f'A pattern whose {what} is: {label}.')}",
                "    dcterms:source src:boxlock",
                f"    owl:equivalentClass [ a owl:Restriction ; owl:onProperty {name} ; owl:hasValue {value} ]",
            ]
            if term.broader:
                lines.append(f"    rdfs:subClassOf {class_of(name, term.broader)}")
            else:
                roots.append(value)
                if feature.applies:
                    lines.append(
                        "    rdfs:subClassOf [ a owl:Restriction ; owl:onProperty bl:hasPart ; "
                        f"owl:hasValue {feature.applies} ]"
                    )
            siblings.setdefault(term.broader, []).append(value)
            out.append(" ;\n".join(lines) + " .\n")
        if feature.single:
            for group in siblings.values():
                out.extend(f"{class_of(name, a)} owl:disjointWith {class_of(name, b)} .\n" for a, b in combinations(group, 2))
    return "\n".join(out)


def _text(words: str) -> str:
    return json.dumps(words, ensure_ascii=False) + "@en"
