"""Compiles the axioms of a graph into Horn rules over one pattern, and into the conditions that define each
category.

    C == hasValue(p, v)      {(p, v)} -> C   and   C -> (p, v)
    C == A and hasValue(..)  {A, (p, v)} -> C   and   C -> each member
    C below D                C -> D          (either side may be a hasValue condition)
    C disjoint with D        {C, D} -> clash
    p below q                {(p, v)} -> (q, v), for every value v spoken of
    p disjoint with q        {(p, v), (q, v)} -> clash, for every value v spoken of
    domain of p is D         {(p, v)} -> D, for every value v spoken of

The class of a value (``kg.valueclasses``) is replaced by the value itself wherever it stands in an axiom, so
that a derivation goes from value to value; only its own two rules name it.

The root class of patterns is true of everything a rule is read over, so it stands in no body and no head,
unless a body would be empty without it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from kg.errors import CatalogueError
from kg.names import PATTERN, TYPE, expand, shrink
from kg.reason.axioms import Expression, rdf_list, read_expression, short
from kg.reason.wording import Wording
from kg.valueclasses import class_of
from kg.vocabulary import Condition, Rule

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node

ROOT: Condition = (TYPE, PATTERN)


def compile_rules(graph: Graph, facts: Iterable[Condition] = ()) -> tuple[Rule, ...]:
    """All rules of the admitted axioms of ``graph``, sorted by body and head, each once.

    Rules over "every value spoken of" cover the values in the axioms, the facts and the value trees of
    ``graph`` and those in ``facts``; pass the catalogue's facts if they are kept elsewhere. Labels come from
    ``skos:prefLabel`` or ``rdfs:label``. An empty tuple means that the graph holds no axioms. Raises
    CatalogueError BL-C04 if an axiom is not among the admitted ones (``kg.reason.gate`` says which and why).
    """
    return _rules(_Compiler(graph, facts))


def compile_definitions(graph: Graph) -> dict[str, tuple[Condition, ...]]:
    """Defined class -> its conditions, sorted; classes sorted; the root class is left out of the conditions.

    The classes of values are left out: they are no categories. Classes without a definition (such as a union
    written by branches) are missing. Raises CatalogueError BL-C04 like ``compile_rules``.
    """
    return _Compiler(graph, ()).definitions()


def compile_graph(graph: Graph) -> tuple[tuple[Rule, ...], dict[str, tuple[Condition, ...]]]:
    """The rules and the definitions, from one reading of the axioms; see ``compile_rules`` and ``compile_definitions``."""
    compiler = _Compiler(graph, ())
    return _rules(compiler), compiler.definitions()


def _rules(compiler: _Compiler) -> tuple[Rule, ...]:
    """Each rule once, with the axiom that comes first."""
    best: dict[tuple[tuple[Condition, ...], Condition | None], Rule] = {}
    for rule in compiler.rules():
        key = (rule.body, rule.head)
        if rule.head in rule.body or rule.head == ROOT:
            continue
        if key not in best or (rule.axiom, rule.text) < (best[key].axiom, best[key].text):
            best[key] = rule
    return tuple(sorted(best.values(), key=lambda r: (r.body, r.head or ("", ""), r.axiom)))


class _Compiler:
    def __init__(self, graph: Graph, facts: Iterable[Condition]) -> None:
        self.graph = graph
        self.words = Wording(read_labels(graph), _read_phrases(graph))
        self.facts = list(facts)
        self.value_classes: dict[str, Condition] = {}
        self.equivalent = list(self._equivalent())
        for name, conditions, _ in self.equivalent:
            if len(conditions) == 1 and conditions[0][0] != TYPE and name == class_of(*conditions[0]):
                self.value_classes[name] = conditions[0]

    def definitions(self) -> dict[str, tuple[Condition, ...]]:
        """Sorted by name."""
        return {n: self._plain(conditions) for n, conditions, _ in sorted(self.equivalent) if n not in self.value_classes}

    def rules(self) -> Iterator[Rule]:
        yield from self._equivalences()
        yield from self._subclasses()
        yield from self._disjoint_classes()
        yield from self._properties()

    def _expression(self, node: Node) -> Expression:
        expression = read_expression(self.graph, node)
        if expression is None:
            raise CatalogueError(
                "BL-C04",
                "an axiom uses a class expression that is not among the admitted ones",
                hint="Run the check of the ontology: it names the construct, the term and the remedy.",
            )
        return expression

    def _plain(self, conditions: Iterable[Condition]) -> tuple[Condition, ...]:
        """The conditions with the value itself in place of its class: one step less to explain, and better
        words."""
        return _body(self.value_classes.get(c[1], c) if c[0] == TYPE else c for c in conditions)

    # --- classes ------------------------------------------------------------------------------------------
    def _equivalent(self) -> Iterator[tuple[str, tuple[Condition, ...], str]]:
        """(class, conditions as written, the axiom in words of OWL) for each definition."""
        from rdflib import OWL

        for s, o in self.graph.subject_objects(OWL.equivalentClass):
            name, conditions = short(s), self._expression(o).conditions
            yield name, conditions, f"EquivalentClasses({name} {_functional(conditions)})"

    def _equivalences(self) -> Iterator[Rule]:
        for name, written, axiom in self.equivalent:
            itself, conditions = (TYPE, name), self._plain(written)
            if name in self.value_classes:
                # The class stands for the value; "it is with f: v because its f is v" needs no further words.
                text = self.words.stands_for(conditions[0])
                yield Rule(conditions, itself, axiom, text)
                yield Rule((itself,), conditions[0], axiom, text)
                continue
            definition = self.words.definition(name, conditions)
            yield Rule(conditions, itself, axiom, definition)
            for condition in conditions:
                # With one condition the definition itself says it; of several only the one used is said.
                text = definition if len(conditions) == 1 else self.words.implication((itself,), condition)
                yield Rule((itself,), condition, axiom, text)

    def _subclasses(self) -> Iterator[Rule]:
        from rdflib import OWL, RDFS

        for s, o in self.graph.subject_objects(RDFS.subClassOf):
            if OWL.Thing in (s, o):
                continue
            left, right = self._expression(s).conditions, self._expression(o).conditions
            axiom = f"SubClassOf({_functional(left)} {_functional(right)})"
            body = self._plain(left)
            for head in self._plain(right):
                yield Rule(body, head, axiom, self.words.implication(body, head))

    def _disjoint_classes(self) -> Iterator[Rule]:
        from rdflib import OWL, RDF

        pairs: set[tuple[str, str]] = set()
        for s, o in self.graph.subject_objects(OWL.disjointWith):
            pairs.add(_pair(short(s), short(o)))
        for node in self.graph.subjects(RDF.type, OWL.AllDisjointClasses):
            members = self.graph.value(node, OWL.members)
            names = sorted({short(m) for m in rdf_list(self.graph, members)}) if members is not None else []
            pairs.update(combinations(names, 2))
        for left, right in pairs:
            body = tuple(sorted({*self._plain([(TYPE, left)]), *self._plain([(TYPE, right)])}))
            yield Rule(body, None, f"DisjointClasses({left} {right})", self.words.exclusion(body))

    # --- properties ---------------------------------------------------------------------------------------
    def _properties(self) -> Iterator[Rule]:
        from rdflib import OWL, RDF, RDFS

        values = self._values()
        objects = {short(p) for p in self.graph.subjects(RDF.type, OWL.ObjectProperty)}
        below = sorted(
            (short(s), short(o))
            for s, o in self.graph.subject_objects(RDFS.subPropertyOf)
            if (s, RDF.type, OWL.ObjectProperty) in self.graph
        )
        # What is spoken of with a property can be said with a narrower or broader one as well, through any
        # number of steps.
        for _ in below:
            for narrow, broad in below:
                values[broad] |= values[narrow]
                values[narrow] |= values[broad]
        for narrow, broad in below:
            for value in sorted(self._siblings(values[narrow])):
                text = self.words.implication(((narrow, value),), (broad, value))
                yield Rule(((narrow, value),), (broad, value), f"SubObjectPropertyOf({narrow} {broad})", text)
        for s, o in self.graph.subject_objects(OWL.propertyDisjointWith):
            left, right = _pair(short(s), short(o))
            for value in sorted(self._siblings(values[left] | values[right])):
                body = ((left, value), (right, value))
                axiom = f"DisjointObjectProperties({left} {right})"
                yield Rule(body, None, axiom, self.words.either(left, right, value))
        for s, o in self.graph.subject_objects(RDFS.domain):
            prop, domain = short(s), (TYPE, short(o))
            if domain == ROOT or prop not in objects or o == OWL.Thing:
                continue
            for value in sorted(self._siblings(values[prop])):
                body = ((prop, value),)
                axiom = f"ObjectPropertyDomain({prop} {domain[1]})"
                yield Rule(body, domain, axiom, self.words.implication(body, domain))

    def _values(self) -> defaultdict[str, set[str]]:
        """Property -> the named values spoken of with it, in conditions, in facts of the graph and in the
        given facts."""
        from rdflib import OWL, RDF, URIRef

        out: defaultdict[str, set[str]] = defaultdict(set)
        for node, prop in self.graph.subject_objects(OWL.onProperty):
            value = self.graph.value(node, OWL.hasValue)
            if isinstance(prop, URIRef) and isinstance(value, URIRef):
                out[short(prop)].add(short(value))
        for prop in self.graph.subjects(RDF.type, OWL.ObjectProperty):
            for value in self.graph.objects(None, prop):
                if isinstance(value, URIRef):
                    out[short(prop)].add(short(value))
        for name, value in self.facts:
            out[name].add(value)
        return out

    def _siblings(self, values: set[str]) -> set[str]:
        """The values, with all things of the same class of ours and all that stand in the same value tree.

        Without them a part kind that is in no definition could be both there and absent without a clash.
        """
        from rdflib import RDF, SKOS, URIRef

        graph = self.graph
        by_name = {_try_short(s): s for s in set(graph.subjects()) | set(graph.objects()) if isinstance(s, URIRef)}
        nodes = {by_name[v] for v in values if v in by_name}
        classes = {o for n in nodes for o in graph.objects(n, RDF.type) if _try_short(o).startswith("bl:")}
        found = {s for c in classes if _try_short(c) != PATTERN for s in graph.subjects(RDF.type, c)}
        todo, seen = list(found | nodes), set()
        while todo:
            node = todo.pop()
            if node not in seen and isinstance(node, URIRef):
                seen.add(node)
                todo.extend(graph.subjects(SKOS.broader, node))
                todo.extend(graph.objects(node, SKOS.broader))
        return values | {name for name in map(_try_short, seen) if name}


def read_labels(graph: Graph) -> dict[str, str]:
    """Short name -> preferred label: English before others, ``skos:prefLabel`` before ``rdfs:label``; names
    without are missing."""
    from rdflib import RDFS, SKOS, Literal

    ranked: dict[str, tuple[int, int, str]] = {}
    for rank, predicate in enumerate((SKOS.prefLabel, RDFS.label)):
        for s, o in graph.subject_objects(predicate):
            name = _try_short(s)
            if name and isinstance(o, Literal) and str(o).strip():
                foreign = 0 if o.language in (None, "en", "en-gb", "en-GB") else 1
                entry = (foreign, rank, " ".join(str(o).split()))
                ranked[name] = min(ranked.get(name, entry), entry)
    return {name: entry[2] for name, entry in sorted(ranked.items())}


def _read_phrases(graph: Graph) -> dict[str, str]:
    """Feature -> its ``bl:phrase``."""
    from rdflib import URIRef

    found = {_try_short(s): str(o) for s, o in graph.subject_objects(URIRef(expand("bl:phrase")))}
    return {name: text for name, text in sorted(found.items()) if name}


def _body(conditions: Iterable[Condition]) -> tuple[Condition, ...]:
    """Sorted, without the root class unless nothing else is left."""
    kept = tuple(sorted(set(conditions)))
    return tuple(c for c in kept if c != ROOT) or kept


def _pair(left: str, right: str) -> tuple[str, str]:
    return (left, right) if left <= right else (right, left)


def _functional(conditions: Iterable[Condition]) -> str:
    """A conjunction in OWL functional syntax, with short names."""
    parts = [v if p == TYPE else f"ObjectHasValue({p} {v})" for p, v in conditions]
    return parts[0] if len(parts) == 1 else f"ObjectIntersectionOf({' '.join(parts)})"


def _try_short(node: Node) -> str:
    try:
        return shrink(str(node))
    except ValueError:
        return ""
