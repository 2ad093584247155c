"""``boxlock check``: everything that is wrong with the ontology and the evidence, each with file, line and remedy.

Checks run in the order in which they can be trusted: files parse; the logic uses admitted constructs only; the terms and
the evidence fit their shapes (SHACL, through pyshacl); statements are well formed and no source contradicts itself; then
the catalogue is adopted and reasoned over, and the closure compared with its inputs.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property
from pathlib import Path

from kg import closure, gates, load, names, paths, tables
from kg.build import Staged, adoption_rules, compare_types, contents, stage, verify
from kg.errors import BoxlockError, CatalogueError
from kg.evidence.adopt import compatible
from kg.evidence.statements import LENGTH, PREFIX_OF_MODE, Statement, parse_span, read_sources, read_statements
from kg.load import Ontology
from kg.model import Finding
from kg.reason.horn import ROOT
from kg.repairs import Stated, clashing, impossible, impossible_text
from kg.terms import read_vocabulary
from kg.valueclasses import value_classes
from kg.vocabulary import Condition, Vocabulary

Say = Callable[[str], None]
LONGEST_MM = 1000.0
"""No hand instrument is longer than a metre; a larger figure is a slip of the unit."""


def check(root: Path, *, hermit: bool = True, say: Say = lambda _: None) -> list[Finding]:
    """All findings on the ontology at ``root``, errors first, then by file and line; empty if all is well."""
    # rdflib logs a traceback for an ill-formed literal when it makes the term; the gate reports it in plain words.
    logging.getLogger("rdflib.term").setLevel(logging.CRITICAL)
    say("reading the files")
    try:
        ontology = load.load(root)
    except CatalogueError as e:
        return [_from_error(e)]
    words = read_vocabulary(ontology.triples("header", "terms", "axioms", "patterns"), {}, ())
    findings: list[Finding] = []
    for label, step in (
        ("checking the constructs of the logic", lambda: constructs(ontology, words)),
        ("checking the statements", lambda: statements(ontology, words)),
        ("checking the shapes", lambda: shapes(ontology)),
        ("checking the data files", lambda: data_files(ontology, words)),
    ):
        say(label)
        findings += step()
    if not any(f.severity == "error" for f in findings):
        say("adopting and reasoning")
        findings += _reasoned(root, hermit, say)
    return sorted(findings, key=lambda f: (f.severity != "error", f.file, f.line, f.code, f.text))


def consistent(findings: Iterable[Finding]) -> bool:
    """False if any finding says that the catalogue is inconsistent or could not be reasoned over."""
    return not any(f.severity == "error" for f in findings)


# --- constructs -----------------------------------------------------------------------------------------------------
def constructs(ontology: Ontology, words: Vocabulary) -> list[Finding]:
    """Constructs that the gate does not admit, in the terms, axioms and patterns."""
    from kg.reason.gate import check_constructs
    from kg.reason.profile import check_profile

    roles = ("header", "terms", "axioms", "patterns")
    triples = [*ontology.triples(*roles), *load.triples_of(value_classes(words))]
    graph = load.to_rdflib(triples)
    places = Locator(ontology, roles)

    def locate(node: object) -> tuple[str, int] | None:
        return places.place_of(str(node))

    return [
        Finding("error", p.file, p.line, "BL-C04", f"{p.subject}: {p.text}", p.fix)
        for p in (*check_constructs(graph, locate), *check_profile(graph, locate))
    ]


# --- data files ------------------------------------------------------------------------------------------------------
def data_files(ontology: Ontology, words: Vocabulary) -> list[Finding]:
    """Cycles and rules that name what does not exist, or that no answer could show."""
    sources = read_sources(f for f in ontology.files if f.role == "evidence")
    from kg.draw import table  # a table as well, of drawings

    try:
        return tables.faults(ontology.root, load.words(ontology.root), words, sources) + table.faults(ontology.root, words)
    except CatalogueError as e:
        return [_from_error(e)]


# --- statements -----------------------------------------------------------------------------------------------------
def statements(ontology: Ontology, words: Vocabulary) -> list[Finding]:
    """Evidence that cannot be used: unknown names, values of another feature, impossible lengths, self-contradiction."""
    out: list[Finding] = []
    sources = read_sources(f for f in ontology.files if f.role == "evidence")
    subjects = {t.name for t in words.terms.values() if t.role in ("pattern", "kind")}
    parts = {t.name for t in words.by_role("part")}
    for file in ontology.files:
        if file.role != "evidence":
            continue
        try:
            said = read_statements(file)
        except ValueError as e:
            out.append(Finding("error", file.path, 0, "BL-I03", str(e), "See ontology/README.md for the form."))
            continue
        lines = _Lines(ontology.root / file.path)
        for s in said:
            for text, fix in _faults(s, words, subjects, parts):
                out.append(Finding("error", file.path, lines.find(s), "BL-I03", text, fix))
        out += _contradictions(file.path, said, words, lines)
        if said and not sources[said[0].source].kind:
            out.append(Finding("error", file.path, 0, "BL-I03", "the source says no kind", "Add bl:sourceKind."))
    return out


def _faults(s: Statement, words: Vocabulary, subjects: set[str], parts: set[str]) -> Iterator[tuple[str, str]]:
    from difflib import get_close_matches

    def near(name: str, known: Iterable[str]) -> str:
        found = get_close_matches(name, sorted(known), 1)
        return f"Did you mean {found[0]}?" if found else "See ontology/terms for the names."

    if s.subject not in subjects:
        yield f"{s.subject} is no pattern or kind", near(s.subject, subjects)
    if s.feature == LENGTH:
        _, high = parse_span(s.value)
        if high > LONGEST_MM:
            yield f"a length of {high:g} mm is not plausible", "Lengths are in millimetres."
    elif s.feature in names.PARTS:
        if s.value not in parts:
            yield f"{s.value} is no part", near(s.value, parts)
    elif s.feature not in words.features:
        if s.feature == names.TYPE or (s.value in words.terms and words.terms[s.value].role == "category"):
            yield "a category is inferred, never stated", "State the features that define it."
        else:
            yield f"{s.feature} is no feature", near(s.feature, words.features)
    else:
        home = words.features[s.feature].denies or s.feature
        allowed = words.values_of(home) or tuple(t.name for t in words.by_role("pattern"))
        if s.value not in allowed:
            yield f"{s.value} is no value of {s.feature}", near(s.value, allowed)


def _contradictions(path: str, said: Iterable[Statement], words: Vocabulary, lines: _Lines) -> Iterator[Finding]:
    """One source that says two things which exclude each other of one subject."""
    by_slot: dict[tuple[str, str], list[Statement]] = {}
    for s in said:
        feature = words.features.get(s.feature)
        part = s.feature in names.PARTS
        if s.mode == "is" and (part or (feature and feature.single)):
            by_slot.setdefault((s.subject, s.value if part else s.feature), []).append(s)
    for (subject, slot), group in sorted(by_slot.items()):
        for i, a in enumerate(group):
            for b in group[i + 1 :]:
                left, right = (a.feature, b.feature) if a.value == b.value else (a.value, b.value)
                if not compatible(left, right, words):
                    text = f"one source says both {left} and {right} of {subject} ({slot})"
                    fix = "Keep one, or use the mode 'some' for both if the pattern is made both ways."
                    yield Finding("error", path, lines.find(b), "BL-I03", text, fix)


# --- shapes ---------------------------------------------------------------------------------------------------------
def shapes(ontology: Ontology) -> list[Finding]:
    """Terms and patterns against the SHACL shapes of the ontology, in plain words with the shape's name."""
    import pyshacl
    from rdflib import RDF, Graph, Namespace

    sh = Namespace("http://www.w3.org/ns/shacl#")
    roles = ("header", "terms", "axioms", "patterns", "evidence")
    data = load.to_rdflib(ontology.triples(*roles))
    shape_graph = load.to_rdflib(ontology.triples("shapes"))
    _, report, _ = pyshacl.validate(data, shacl_graph=shape_graph, advanced=True, inference="none")
    assert isinstance(report, Graph)
    places = Locator(ontology, roles)
    out = []
    for result in report.subjects(RDF.type, sh.ValidationResult):
        node = report.value(result, sh.focusNode)
        message = str(report.value(result, sh.resultMessage) or "does not fit its shape")
        shape = _short(report.value(result, sh.sourceShape))
        file, line = places.place_of(str(node)) or ("", 0)
        value = report.value(result, sh.value)
        text = f"{_short(node)}: {message}" + (f" (found: {_short(value)})" if value is not None else "")
        severity = "warning" if report.value(result, sh.resultSeverity) == sh.Warning else "error"
        out.append(Finding(severity, file, line, "BL-C04", text, f"Shape {shape}." if shape else ""))
    return out


# --- reasoning and freshness ------------------------------------------------------------------------------------------
def _reasoned(root: Path, hermit: bool, say: Say) -> list[Finding]:
    try:
        staged = stage(root)
    except CatalogueError as e:
        return [_from_error(e)]
    out = list(clashes(staged))
    say("running the gates")
    places = Locator(staged.ontology, ("header", "terms", "axioms", "patterns", "evidence"))
    store = gates.dataset(staged.ontology, contents(staged)[closure.QUADS])
    out += gates.findings(gates.read_gates(root / "checks"), store, places.place_of)
    say("comparing the rule engines")
    out += agreement(staged)
    if hermit:
        say("reasoning with HermiT")
        try:
            verify(staged)
        except BoxlockError as e:
            severity = "warning" if e.code == "BL-R01" else "error"
            out.append(Finding(severity, "", 0, e.code, e.message, e.hint))
    try:
        stamp = closure.read_stamp(paths.generated_dir(root))
        if stamp.inputs != load.input_hash(root):
            out.append(Finding("error", "generated", 0, "BL-C03", "the closure is older than its inputs", "Run: boxlock build"))
        for name in stamp.files:
            closure.read(paths.generated_dir(root), name, stamp)
    except CatalogueError as e:
        out.append(_from_error(e))
    return out


def clashes(staged: Staged) -> Iterator[Finding]:
    """Adopted facts that contradict each other (adoption should leave none), and categories that can have no member."""
    witnesses = _Witnesses(staged)
    for pattern, record in staged.records.items():
        found = staged.engine.close([ROOT, *record.facts]).clashes
        if not found:
            continue
        # Only what takes part in a clash is looked up in the files.
        facts = sorted({fact for clash in found for fact in clash.premises})
        told = clashing(pattern, _stated(witnesses, pattern, facts), staged.engine, staged.vocabulary)
        for trouble in told.troubles if told else ():
            first = next((s for s in trouble.stated if s.file), None)
            file, line = (first.file, first.line) if first else ("", 0)
            ways = " Or: ".join(r.text for r in told.repairs)  # type: ignore[union-attr]
            yield Finding("error", file, line, "BL-R04", f"{pattern}: {trouble.text()}", ways)
    places: Locator | None = None
    for category, _, rules in impossible(staged.engine, staged.vocabulary):
        places = places or Locator(staged.ontology, ("axioms", "terms"))
        text = impossible_text(category, rules, staged.vocabulary)
        file, line = places.place_of(names.expand(category)) or ("", 0)
        yield Finding("error", file, line, "BL-R04", text, "Change the definition: two of its conditions exclude each other.")


class _Witnesses:
    """Where statements stand and what they weigh. Files are read when first asked for, and once: few checks need any."""

    def __init__(self, staged: Staged) -> None:
        self.staged = staged
        self._lines: dict[str, _Lines] = {}

    @cached_property
    def _weights(self) -> Mapping[str, float]:
        return adoption_rules(self.staged.ontology.root, self.staged.sources)[0].weight_of_kind

    @cached_property
    def _files(self) -> dict[str, str]:
        """source -> the first evidence file that declares it."""
        out: dict[str, str] = {}
        for file in self.staged.ontology.files:
            for source in read_sources([file]) if file.role == "evidence" else ():
                out.setdefault(source, file.path)
        return out

    def placed(self, said: Statement, fact: Condition) -> Stated:
        source, file = self.staged.sources[said.source], self._files.get(said.source, "")
        if file and file not in self._lines:
            self._lines[file] = _Lines(self.staged.ontology.root / file)
        line = self._lines[file].find(said) if file else 0
        return Stated(fact, source.cite(), file, line, self._weights[source.kind])


def _stated(witnesses: _Witnesses, pattern: str, facts: Iterable[Condition]) -> list[Stated]:
    """Adopted facts with those who say them: of the pattern, its parents or its kinds, a narrower value for a broader one.

    A fact that nobody says as it is (a size class) stands alone.
    """
    staged = witnesses.staged
    vocabulary = staged.vocabulary
    facts = list(facts)
    kinds = [v for f, v in facts if f == names.OF_KIND]
    subjects = [pattern, *vocabulary.ancestors(pattern), *kinds, *(a for k in kinds for a in vocabulary.ancestors(k))]
    out: list[Stated] = []
    for fact in facts:
        for subject in subjects:
            said = [s for s in staged.statements if s.subject == subject and s.mode != "not" and (s.feature, s.value) == fact]
            if said:
                out += [witnesses.placed(s, fact) for s in said]
                break
        else:
            out.append(Stated(fact))
    return out


def agreement(staged: Staged) -> Iterator[Finding]:
    """Differences from the types of an independent OWL 2 RL engine; none if that optional engine is not installed."""
    from kg.reason import rl

    outcome = rl.realise(staged.with_facts())
    if outcome.status == "not-installed":
        return
    for text in compare_types(staged, outcome.types)[:20]:
        yield Finding("error", "", 0, "BL-R04", f"{outcome.engine} and the in-process rules disagree: {text}", "")


# --- places ---------------------------------------------------------------------------------------------------------
class Locator:
    """Where terms are declared: IRI -> (file, line), found in the text of the files."""

    def __init__(self, ontology: Ontology, roles: tuple[str, ...]) -> None:
        self._places: dict[str, tuple[str, int]] = {}
        for file in ontology.files:
            if file.role in roles and file.path.endswith(".ttl"):
                text = (ontology.root / file.path).read_text(encoding="utf-8")
                for number, line in enumerate(text.split("\n"), 1):
                    match = re.match(r"([a-z]+:[A-Za-z0-9_-]+)\s", line + " ")
                    if match and names.is_short(match.group(1)):
                        self._places.setdefault(names.expand(match.group(1)), (file.path, number))

    def place_of(self, iri: str) -> tuple[str, int] | None:
        """(file, line) of the first block about the term, or None."""
        return self._places.get(iri)


class _Lines:
    """The lines of one evidence file, to find a statement again."""

    def __init__(self, path: Path) -> None:
        self._lines = path.read_text(encoding="utf-8").split("\n")

    def find(self, s: Statement) -> int:
        """1-based line of the statement; the line of its subject if the value is not found; 0 if neither is."""
        subject_line = 0
        prefix = PREFIX_OF_MODE[s.mode]
        for number, line in enumerate(self._lines, 1):
            if re.match(rf"{re.escape(s.subject)}\b", line):
                subject_line = number
            if subject_line and f"{prefix}:{s.feature.split(':')[1]} " in line and s.value in line:
                return number
        return subject_line


def _from_error(error: BoxlockError) -> Finding:
    match = re.match(r"(\S+\.(?:ttl|toml))(?:, line (\d+))?: ", error.message)
    file, line = (match.group(1), int(match.group(2) or 0)) if match else ("", 0)
    return Finding("error", file, line, error.code, error.message, error.hint)


def _short(node: object) -> str:
    return names.shown(str(node) if node is not None else "").replace("https://boxlock.example/shape/", "")
