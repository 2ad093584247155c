"""Everything that is looked at before evidence may be added, in the order in which it can be trusted.

Files are read within limits; rows are checked one by one and against each other; SHACL looks at the triples; then the whole
catalogue is adopted with them, the gates are run, and HermiT realises the patterns that changed. All findings come at once.
"""

from __future__ import annotations

import gc
import logging
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import pyoxigraph as ox

from kg import build, closure, gates, names
from kg.errors import CatalogueError, ReasonerError
from kg.intake import contradictions
from kg.intake.read_csv import read_csv
from kg.intake.read_rdf import read_rdf
from kg.intake.read_xlsx import read_xlsx
from kg.intake.resolve import Staging, resolve
from kg.intake.rows import Place, Report, Row
from kg.intake.shapes import check_shapes
from kg.intake.tables import count
from kg.intake.text import decode, read_bytes
from kg.intake.turtle import source_files, with_staged
from kg.model import Finding
from kg.reason.groups import Stop

Say = Callable[[str], None]
EVIDENCE_FORMATS = (".csv", ".trig", ".ttl", ".xlsx")


@dataclass(frozen=True)
class Inspection:
    """What was found, and what the catalogue would be. ``after`` is None if the files could not be staged at all.

    ``files``: one's own catalogue with the new evidence (path -> Turtle); ``contents`` the closure's files; ``touched`` the
    patterns whose facts change; ``gained`` and ``lost`` pattern -> labels of categories; ``verified_by`` the engine that
    realised the touched patterns, empty if none did. ``new`` counts sources, patterns and statements not there before.
    """

    findings: tuple[Finding, ...]
    staging: Staging
    before: build.Staged
    after: build.Staged | None = None
    files: Mapping[str, str] = field(default_factory=dict)
    contents: Mapping[str, str] = field(default_factory=dict)
    touched: tuple[str, ...] = ()
    gained: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    lost: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    verified_by: str = ""

    @property
    def accepted(self) -> bool:
        return self.after is not None and not any(f.severity == "error" for f in self.findings)

    @property
    def new(self) -> dict[str, int]:
        said = set(self.before.statements)
        return {
            "sources": sum(n not in self.before.sources for n in self.staging.sources),
            "patterns": len(self.staging.patterns),
            "statements": sum(s not in said for s in self.staging.said),
        }


def inspect(
    paths: Iterable[Path | str],
    root: Path,
    own: Mapping[str, str],
    *,
    hermit: bool = True,
    everything: bool = False,
    before: build.Staged | None = None,
    say: Say = lambda _: None,
) -> Inspection:
    """Checks the files against the shipped ontology at ``root`` with one's own files ``own``. Nothing is written.

    ``everything``: HermiT realises all patterns, not only those that change. ``before``: the staging of ``root`` with
    ``own``, if it is there already. Raises CatalogueError if the catalogue itself
    cannot be staged.
    """
    gc.disable()  # millions of small objects are made and kept: looking for cycles among them costs a fifth of the time
    try:
        return _inspect(list(paths), root, own, hermit, everything, before, say)
    finally:
        gc.enable()


def _inspect(
    paths: Sequence[Path | str],
    root: Path,
    own: Mapping[str, str],
    hermit: bool,
    everything: bool,
    before: build.Staged | None,
    say: Say,
) -> Inspection:
    logging.getLogger("rdflib.term").setLevel(logging.CRITICAL)  # it logs a traceback for what SHACL says in words
    report = Report()
    say("reading the files")
    rows = [row for path in paths for row in read(Path(path), str(path), report)]
    say("staging the catalogue")
    before = before or build.stage(root, source_files(own))
    if not count(rows, report):
        rows = []
    kinds = sorted(build.adoption_rules(root, {})[0].weight_of_kind)
    staging = resolve(rows, before.vocabulary, before.sources, kinds, report)
    if staging.empty:
        return Inspection(tuple(report.findings()), staging, before)
    sizes = {"statement": staging.said, "pattern": staging.patterns, "source": staging.sources}
    say("checking " + ", ".join(f"{len(found)} {what}{'' if len(found) == 1 else 's'}" for what, found in sizes.items()))
    _silent(staging, before, report)
    contradictions.of_one_source(staging, before.statements, before.vocabulary, before.engine, report)
    files = with_staged(own, staging, before.sources)
    say("adopting and reasoning")
    try:
        after = build.stage(root, source_files(files), base=before)
    except (CatalogueError, ValueError) as e:
        report.error("BL-C04", Place(""), f"the catalogue could not be staged with it: {e}", "Mend the findings above first.")
        return Inspection(tuple(report.findings()), staging, before)
    changed = tuple(sorted(after.records if everything else touched(before, after)))
    # HermiT works in processes of its own, so the rest is looked at meanwhile; an interruption stops it.
    with ThreadPoolExecutor(1) as pool, Stop() as stop:
        ours = hermit and changed and not report.failed
        if ours:
            say(f"reasoning with HermiT on {len(changed)} {'pattern' if len(changed) == 1 else 'patterns'}")
        answer = pool.submit(build.verify, after, changed, stop=stop) if ours else None
        fresh = source_files({p: t for p, t in files.items() if own.get(p) != t})
        check_shapes(staging, (t for f in fresh for t in f.triples), before.ontology, before.vocabulary, report)
        contradictions.between_sources(staging, after.statements, after.sources, after.vocabulary, report)
        contradictions.replaced(staging, before.records, after.records, after.sources, after.vocabulary, after.engine, report)
        contents = build.contents(after)
        _gates(after, contents, staging, root, report)
        engine = _engine(answer, report) if answer else ""
    gained, lost = _categories(before, after, changed)
    return Inspection(tuple(report.findings()), staging, before, after, files, contents, changed, gained, lost, engine)


def read(path: Path, shown: str, report: Report) -> list[Row]:
    """The rows of one file, by the ending of its name. Findings for everything that cannot be read, and if nothing is there."""
    found = len(report.errors)
    rows = _read(path, shown, report)
    if not rows and len(report.errors) == found:
        report.error("BL-I03", Place(shown), "nothing in it is evidence", "Fill in the template: boxlock export --template")
    return rows


def _read(path: Path, shown: str, report: Report) -> list[Row]:
    suffix = path.suffix.lower()
    if suffix not in EVIDENCE_FORMATS:
        what = f"files that end in {suffix or 'nothing'} are not read"
        report.error("BL-I03", Place(shown), what, f"Known: {', '.join(EVIDENCE_FORMATS)}.")
        return []
    data = read_bytes(path, shown, report)
    if data is None:
        return []
    if suffix == ".xlsx":
        return read_xlsx(data, shown, report)
    if data.startswith((b"PK\3\4", b"\xd0\xcf\x11\xe0")):
        report.error("BL-I03", Place(shown), "this is a workbook under another name", "Name it .xlsx, or save it as CSV.")
        return []
    text = decode(data, shown, report)
    if text is None:
        return []
    if suffix == ".csv":
        return read_csv(text, shown, report)
    return read_rdf(text, shown, report, named_graphs=suffix == ".trig")


def _gates(after: build.Staged, contents: Mapping[str, str], staging: Staging, root: Path, report: Report) -> None:
    store = _around(after, contents[closure.QUADS], staging)
    faulty = {f.text.split(":", 2)[1] for f in report.findings() if f.severity == "error" and f.text.startswith("bl:")}
    for gate, term, detail in gates.run(gates.read_gates(root / "checks"), store):
        other = next((n for d in detail.split(" and ") if (n := names.shown(d)) in staging.patterns), "")
        mine = term if term in staging.places else other
        if not mine or mine.removeprefix("bl:") in faulty:
            continue
        text = f"{term}: {gate.problem}" + (f" ({names.shown(detail)[:80]})" if detail else "") + f" {_capital(gate.why)}"
        place = staging.places[mine]
        shown = f"{place.cell}: {text}" if place.cell else text
        report.add(Finding(gate.severity, place.file, place.line, "BL-C04", shown, _capital(gate.fix)))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _silent(staging: Staging, before: build.Staged, report: Report) -> None:
    """A warning for every new source that says nothing and that no definition cites, unless its words were not understood."""
    if report.failed:
        return
    used = {s.source for s in staging.said} | {c for p in staging.patterns.values() for c in p.sources}
    for name in staging.sources:
        if name not in used and name not in before.sources:
            what = f"the source {name} says nothing, and no definition cites it"
            report.warning("BL-I03", staging.places[name], what, "Add what it says, or leave it out.")


def _around(after: build.Staged, quads: str, staging: Staging) -> ox.Store:
    """What the gates have to see of the catalogue to judge what is staged: its terms, their parents, sources, namesakes.

    The whole catalogue has passed the gates before; running them on all of it would take most of the time of a check.
    """
    vocabulary = after.vocabulary
    terms = {*staging.places, *staging.patterns}
    terms |= {a for t in terms for a in vocabulary.ancestors(t)}
    wanted = {f"<{names.expand(t)}>" for t in terms}
    source = f"<{names.PREFIXES['src']}"
    kept = [line for line in quads.split("\n") if line.startswith(source) or line.partition(" ")[0] in wanted]
    store = ox.Store()
    store.bulk_load(input="\n".join(kept).encode(), format=ox.RdfFormat.N_QUADS)
    graph = ox.NamedNode(names.expand("graph:ontology"))
    label = names.expand("rdfs:label")
    labels = {p.label.lower() for p in staging.patterns.values()}
    for t in after.ontology.triples("header", "terms", "axioms", "patterns"):
        here = f"<{getattr(t.subject, 'value', '')}>" in wanted
        if here or (t.predicate.value == label and t.object.value.lower() in labels):
            store.add(ox.Quad(t.subject, t.predicate, t.object, graph))
    return store


def touched(before: build.Staged, after: build.Staged) -> list[str]:
    """The patterns whose adopted facts differ, sorted."""
    old = before.records
    return [p for p, r in after.records.items() if p not in old or set(r.facts) != set(old[p].facts)]


def _engine(answer: Future[str], report: Report) -> str:
    """The engine that verified; empty, with a finding, if none did."""
    try:
        return answer.result()
    except ReasonerError as e:
        if e.code == "BL-R01":
            report.warning(e.code, Place(""), f"{e.message}; the catalogue will say that HermiT has not verified it", e.hint)
        else:
            report.error(e.code, Place(""), e.message, e.hint or "Nothing was added.")
        return ""


def _categories(before: build.Staged, after: build.Staged, touched: Iterable[str]) -> tuple[dict, dict]:
    old, new = before.types(), after.types()
    gained, lost = {}, {}
    for pattern in touched:
        a, b = old.get(pattern, frozenset()), new[pattern]
        if b - a:
            gained[pattern] = tuple(sorted(map(after.vocabulary.label, b - a)))
        if a - b:
            lost[pattern] = tuple(sorted(map(after.vocabulary.label, a - b)))
    return gained, lost
