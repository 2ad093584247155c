"""``boxlock build``: ontology and evidence -> closure. One function a stage; ``build`` runs them in order."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING

from kg import closure, load, names
from kg.basis import bases
from kg.columns import MOST, columns_texts
from kg.errors import CatalogueError, ReasonerError
from kg.evidence.adopt import RULING, Weighing
from kg.evidence.catalogue import Record, SizeRule, assemble, decide_all, lengths, vary_by_variants
from kg.evidence.statements import LENGTH, Source, Statement, migrate, read_sources, read_statements
from kg.language import Lexicon
from kg.quads import quads
from kg.reason.compile import compile_graph
from kg.reason.horn import ROOT, Engine
from kg.terms import is_value_class, read_vocabulary, replacements
from kg.valueclasses import value_classes
from kg.vocabulary import Condition, Rule, Vocabulary

if TYPE_CHECKING:
    import rdflib

    from kg.reason.groups import Stop

Say = Callable[[str], None]
HERMIT_SECONDS = 600
GROUP = 60
"""Patterns in one run of HermiT: its start is dear with few, its work with many (measured: 40 to 80 are about equal)."""
OWN = "own/"
"""How the paths of files begin that are not shipped but the user's own."""


@dataclass(frozen=True)
class Staged:
    """Everything between the files and the closure, for ``build`` and ``check`` alike."""

    ontology: load.Ontology
    vocabulary: Vocabulary
    value_class_text: str
    sources: Mapping[str, Source]
    statements: tuple[Statement, ...]
    records: Mapping[str, Record]
    engine: Engine
    logic: rdflib.Graph
    """The axioms without any pattern's facts."""
    definitions: Mapping[str, tuple[Condition, ...]]
    """Every defined class, those of the values too -> its conditions."""

    @cached_property
    def inferred(self) -> dict[str, frozenset[Condition]]:
        """pattern -> everything that holds of it (value classes left out: their values say the same)."""
        return {
            pattern: frozenset(
                lit
                for lit in self.engine.types_only([ROOT, *record.facts])
                if not (lit[0] == names.TYPE and is_value_class(lit[1]))
            )
            for pattern, record in self.records.items()
        }

    def types(self) -> dict[str, frozenset[str]]:
        """pattern -> the categories it belongs to, by the in-process rules."""
        return {
            p: frozenset(v for prop, v in held if prop == names.TYPE and v in self.vocabulary.definitions)
            for p, held in self.inferred.items()
        }

    def with_facts(self, patterns: Iterable[str] | None = None) -> rdflib.Graph:
        """Axioms and the adopted facts of some patterns (None: all): what the other reasoners are given."""
        import rdflib

        graph = rdflib.Graph()
        for triple in self.logic:
            graph.add(triple)
        for pattern in self.records if patterns is None else patterns:
            record = self.records[pattern]
            subject = rdflib.URIRef(names.expand(pattern))
            graph.add((subject, rdflib.RDF.type, rdflib.URIRef(names.expand(names.PATTERN))))
            for prop, value in record.facts:
                graph.add((subject, rdflib.URIRef(names.expand(prop)), rdflib.URIRef(names.expand(value))))
        return graph


def stage(root: Path, own: Iterable[load.SourceFile] = (), *, base: Staged | None = None, alone: bool = False) -> Staged:
    """Reads, adopts and reasons in process; nothing is written. Raises CatalogueError (BL-C04).

    ``own``: files of the roles patterns and evidence that are read beside the shipped ones. ``base``: an earlier staging of
    the same folder; its shipped files, axioms and rules, which own files cannot change, are taken over. ``alone``: the
    shipped patterns and evidence are left out, so that the own files are a catalogue by themselves.
    """
    shipped = load.load(root).files if base is None else [f for f in base.ontology.files if not f.path.startswith(OWN)]
    if alone:
        shipped = [f for f in shipped if f.role not in ("patterns", "evidence")]
    ontology = load.Ontology(root, (*shipped, *own))
    triples = list(ontology.triples("header", "terms", "axioms", "patterns"))
    if base is None:
        # First the words, so that the value classes can be written; then the axioms with them.
        words = read_vocabulary(triples, {}, ())
        text = value_classes(words)
        triples += load.triples_of(text)
        logic = load.to_rdflib(triples)
        rules, definitions = compile_graph(logic)
        engine = Engine(rules)
    else:
        text, logic, definitions, engine = base.value_class_text, base.logic, base.definitions, base.engine
        rules = engine.rules
    vocabulary = read_vocabulary([*triples, *ontology.triples("evidence")], definitions, asking_rules(rules))
    try:
        sources = read_sources(f for f in ontology.files if f.role == "evidence")
        replaced = replacements(triples)
        read = (s for f in ontology.files if f.role == "evidence" for s in read_statements(f))
        statements = tuple(migrate(s, replaced) for s in read)
    except ValueError as e:
        raise CatalogueError("BL-C04", str(e), hint="Run: boxlock check") from e
    for statement in statements:
        unknown = _unknown_name(statement, vocabulary)
        if unknown:
            text = f"{statement.source} uses an unknown name: {unknown}"
            raise CatalogueError("BL-C04", text, hint="Run: boxlock check")
    weighing, sizes = adoption_rules(root, sources)

    def clashes(facts: Iterable[Condition]) -> list[frozenset[Condition]]:
        given = [ROOT, *facts]
        return [] if engine.consistent(given) else [c.premises for c in engine.close(given).clashes]

    records = assemble(
        vocabulary,
        vary_by_variants(vocabulary, decide_all(statements, vocabulary, weighing)),
        lengths(statements, weighing),
        sizes,
        clashes,
    )
    return Staged(ontology, vocabulary, text, sources, statements, records, engine, logic, definitions)


def _unknown_name(statement: Statement, vocabulary: Vocabulary) -> str:
    """The first name in a statement that the ontology does not declare; empty if there is none."""
    if statement.subject not in vocabulary.terms:
        return statement.subject
    if statement.feature == LENGTH:
        return ""
    if statement.feature not in (*vocabulary.features, *names.PARTS):
        return statement.feature
    return "" if statement.value in vocabulary.terms else statement.value


def asking_rules(rules: tuple[Rule, ...]) -> tuple[Rule, ...]:
    """The rules that the asking side needs: no clashes (adoption left none), no value classes (their values say the same)."""

    def of_value_class(condition: Condition) -> bool:
        return condition[0] == names.TYPE and is_value_class(condition[1])

    return tuple(r for r in rules if r.head and not of_value_class(r.head) and not any(map(of_value_class, r.body)))


def adoption_rules(root: Path, sources: Mapping[str, Source]) -> tuple[Weighing, tuple[SizeRule, ...]]:
    """Weights and size classes from ``adoption.toml``.

    Raises CatalogueError (BL-C04) if the file has another form or a source's kind has no weight.
    """
    try:
        raw = tomllib.loads((root / "adoption.toml").read_text(encoding="utf-8"))
        weights = {str(k): float(v) for k, v in raw["weight"].items()} | {RULING: 1000.0}
        sizes = tuple(SizeRule(s["value"], float(s["over"]), float(s["to"])) for s in raw["size"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as e:
        raise CatalogueError("BL-C04", f"adoption.toml: the weights cannot be used: {e}") from e
    for source in sources.values():
        if source.kind not in weights:
            raise CatalogueError("BL-C04", f"{source.name}: no weight is set for sources of the kind {source.kind!r}")
    return Weighing(weights, sources), sizes


def verify(
    staged: Staged,
    patterns: Iterable[str] | None = None,
    *,
    timeout_s: float = HERMIT_SECONDS,
    processes: int = 2,
    stop: Stop | None = None,
) -> str:
    """Has HermiT realise the patterns (None: the whole catalogue); returns the engine's name and version.

    The facts of one pattern touch no other pattern's, so patterns are taken in groups, alike ones together, ``processes``
    groups at the same time, each with the axioms that it can reach (``kg.reason.neighbourhood``); the catalogue is consistent
    if each group is. For the whole catalogue one more run has all axioms and no pattern: it finds impossible categories.
    ``stop`` ends it from another thread; an interruption in this one does so by itself.
    Raises ReasonerError: BL-R01 no Java, BL-R02 crashed, BL-R03 out of time, BL-R04 inconsistent or an impossible category,
    or types that differ from the in-process rules (BL-R04, naming the first differences).
    """
    from concurrent.futures import ThreadPoolExecutor

    from kg.reason.groups import Stop
    from kg.reason.hermit import realise
    from kg.reason.neighbourhood import neighbourhoods

    stop = stop or Stop()

    chosen = list(staged.records) if patterns is None else list(patterns)
    parts = _groups(staged, chosen, processes)
    graphs = neighbourhoods(staged.with_facts(chosen), parts)
    if patterns is None:
        parts, graphs = [[], *parts], [staged.with_facts(()), *graphs]
    with ThreadPoolExecutor(processes) as pool, stop:  # the pool waits for what runs: so it has to be stopped first
        outcomes = list(pool.map(lambda graph: realise(graph, timeout_s=timeout_s, stop=stop), graphs))
    codes = {"no-java": "BL-R01", "crashed": "BL-R02", "timed-out": "BL-R03", "inconsistent": "BL-R04"}
    for outcome in outcomes:
        if outcome.status in codes:
            raise ReasonerError(codes[outcome.status], f"HermiT: {outcome.status}: {outcome.detail}")
        if outcome.unsatisfiable:
            raise ReasonerError("BL-R04", f"categories that can have no member: {', '.join(outcome.unsatisfiable)}")
    # A group also mentions patterns of other groups ("fits"), of which it knows nothing.
    types = {p: o.types.get(p, ()) for part, o in zip(parts, outcomes, strict=True) for p in part}
    differences = compare_types(staged, types, chosen)
    if differences:
        raise ReasonerError("BL-R04", "HermiT and the in-process rules disagree: " + "; ".join(differences[:5]))
    return outcomes[0].engine


def _groups(staged: Staged, patterns: list[str], processes: int) -> list[list[str]]:
    """At least one group a process, none over GROUP patterns; patterns with alike facts are in the same group."""
    alike = sorted(patterns, key=lambda p: (sorted(staged.records[p].facts), p))
    count = max(processes, -(-len(alike) // GROUP))
    size = max(1, -(-len(alike) // count))
    return [alike[i : i + size] for i in range(0, len(alike), size)] or [[]]


def compare_types(staged: Staged, types: Mapping[str, Iterable[str]], patterns: Iterable[str] | None = None) -> list[str]:
    """Differences between another engine's types of ``patterns`` (None: all) and ours, a sentence each, sorted."""
    out = []
    all_ours = staged.types()
    for pattern in sorted(all_ours if patterns is None else patterns):
        ours = all_ours[pattern]
        theirs = {t for t in types.get(pattern, ()) if t in staged.vocabulary.definitions}
        out += [f"{pattern} is {t} only by the other engine" for t in sorted(theirs - ours)]
        out += [f"{pattern} is {t} only by the in-process rules" for t in sorted(ours - theirs)]
    return out


def contents(staged: Staged) -> dict[str, str]:
    """File name -> text of the closure's files."""
    found = bases(staged.records, staged.statements, staged.sources, staged.vocabulary, staged.engine)
    kept = {
        p: {lit: b for lit, b in by.items() if not (lit[0] == names.TYPE and is_value_class(lit[1]))} for p, by in found.items()
    }
    words = load.words(staged.ontology.root)
    text = quads(staged.ontology, staged.vocabulary, staged.records, staged.inferred, staged.sources, kept)
    small = len(staged.records) <= MOST
    facts = zip((closure.FACTS, closure.PATTERNS), columns_texts(text, staged.records), strict=True) if small else ()
    return dict(facts) | {
        closure.QUADS: text,
        closure.VOCABULARY: staged.vocabulary.to_json(),
        closure.WORDS: json.dumps(words, ensure_ascii=False, sort_keys=True) + "\n",
        closure.PHRASES: Lexicon.build(staged.vocabulary, words).phrases_text(),
        closure.VALUE_CLASSES: staged.value_class_text,
    }


def build(root: Path, folder: Path, *, hermit: bool = True, say: Say = lambda _: None) -> closure.Stamp:
    """Builds the closure of the ontology at ``root`` into ``folder``. Returns its stamp.

    Without HermiT (``hermit`` False, or no Java) the stamp says that HermiT has not verified it. Raises CatalogueError,
    ReasonerError (except for a missing Java) or OSError.
    """
    say("reading the ontology and the evidence")
    inputs = load.input_hash(root)
    staged = stage(root)
    say(f"{len(staged.records)} patterns, {len(staged.statements)} statements, {len(staged.sources)} sources adopted")
    verified_by = ""
    if hermit:
        say("reasoning with HermiT")
        try:
            verified_by = verify(staged)
        except ReasonerError as e:
            if e.code != "BL-R01":
                raise
            say(f"{e}: the closure will say that HermiT has not verified it")
    texts = contents(staged)
    stamp = closure.stamp_of(texts, inputs, verified_by, release())
    closure.write(folder, texts, stamp)
    say(f"written to {folder}" + (f", verified by {verified_by}" if verified_by else ", not verified by HermiT"))
    return stamp


def release() -> str:
    """The version of the installed package, or "unknown" when run from a folder that is not installed."""
    try:
        return metadata.version("boxlock")
    except metadata.PackageNotFoundError:
        return "unknown"
