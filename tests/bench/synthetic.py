"""Catalogues of any size, for measuring growth: patterns that do not exist, drawn from the shipped catalogue.

``Synthetic(staged, seed)`` draws one pattern after the other. A draw takes all that is adopted of one real pattern, and what
each source says of it, and then puts in place of some features what another pattern of the same kind has there, which may be
nothing. So features hang together as in the catalogue, and each keeps the shares that it has within a kind. A draw that
contradicts itself is dropped. A variant belongs to the last draw of what its model is a variant of. The same seed gives the
same patterns, whatever the number.

``facts`` gives adopted facts (what the rules are given), ``write_closure`` the closure's files with every graph that the
shipped closure has, in chunks, and ``open_synthetic`` a ``kg.Catalogue`` over them.
"""

from __future__ import annotations

import hashlib
import json
import random
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import IO

from kg import closure, load, names
from kg.basis import bases
from kg.build import Staged, release
from kg.catalogue import Catalogue
from kg.evidence.catalogue import OWN, VARIANT, Fact, Record
from kg.evidence.statements import LENGTH, PREFIX_OF_MODE, Statement, parse_span
from kg.quads import pattern_lines, quads, term_lines
from kg.reason.horn import ROOT
from kg.store import Store
from kg.terms import is_value_class
from kg.vocabulary import Condition, Term, Vocabulary, slot_of

SEED = 20
CHUNK = 1000
LEAST_POOL = 4
"""A kind with fewer patterns borrows from those of its broader kind."""
TRIES = 50
CHANGES = (2, 6)
"""So many features of a draw are drawn anew; about half of them come out as they were."""
_DIGITS = "abcdefghij"
_DECIMAL = names.PREFIXES["xsd"] + "decimal"


@dataclass(frozen=True)
class Drawn:
    """One synthetic pattern: its term, what is adopted of it, what sources say of it, and the real pattern it began as."""

    term: Term
    record: Record
    statements: tuple[Statement, ...]
    model: str


@dataclass(frozen=True)
class _Slot:
    """All that one pattern's record and the sources say on one slot."""

    facts: tuple[Fact, ...] = ()
    varies: tuple[tuple[str, tuple[str, ...]], ...] = ()
    denied: tuple[tuple[str, tuple[str, ...]], ...] = ()
    disputes: tuple[tuple[str, object], ...] = ()
    contested: tuple[Condition, ...] = ()
    length: tuple[float, float] | None = None
    length_level: str = ""
    statements: tuple[Statement, ...] = ()


class Synthetic:
    """Patterns drawn one after the other from a staged catalogue. ``staged`` is the real one (``kg.build.stage``)."""

    def __init__(self, staged: Staged, seed: int = SEED) -> None:
        self.staged = staged
        self.seed = seed
        vocabulary = staged.vocabulary
        self._patterns = frozenset(t.name for t in vocabulary.by_role("pattern"))
        said: dict[str, dict[str, list[Statement]]] = defaultdict(lambda: defaultdict(list))
        for s in staged.statements:
            said[s.subject][self._group(s.value if s.feature in names.PARTS else s.feature)].append(s)
        self._models = {p: self._slots(p, r, said) for p, r in staged.records.items()}
        self._pools = self._borrowing()

    def _group(self, slot: str) -> str:
        """Slots that go together: a size with its length, "not used on" with "used on"."""
        if slot in (names.SIZE_CLASS, LENGTH, names.LENGTH_MIN, names.LENGTH_MAX):
            return LENGTH
        feature = self.staged.vocabulary.features.get(slot)
        return feature.denies if feature is not None and feature.denies else slot

    def _slots(self, pattern: str, record: Record, said: Mapping[str, Mapping[str, list[Statement]]]) -> dict[str, _Slot]:
        group = self._group
        found: dict[str, dict[str, list]] = defaultdict(lambda: defaultdict(list))
        for literal, fact in record.facts.items():
            found[group(slot_of(literal))]["facts"].append(fact)
        for part, table in (("varies", record.varies), ("denied", record.denied), ("disputes", record.disputes)):
            for slot, what in table.items():
                found[group(slot)][part].append((slot, what))
        for literal in sorted(record.contested):
            found[group(slot_of(literal))]["contested"].append(literal)
        for line in (pattern, *self.staged.vocabulary.ancestors(pattern)):
            for slot, statements in said.get(line, {}).items():
                if line == pattern or any(f.origin == line for f in found[slot]["facts"]):
                    found[slot]["statements"] += statements
        out = {slot: _Slot(**{part: tuple(rows) for part, rows in parts.items()}) for slot, parts in found.items()}
        if record.length:
            out[LENGTH] = replace(out.get(LENGTH, _Slot()), length=record.length, length_level=record.length_level)
        return out

    def _kind(self, pattern: str) -> str:
        return next((v for f, v in sorted(self.staged.records[pattern].facts) if f == names.OF_KIND), "")

    def _borrowing(self) -> dict[str, tuple[str, ...]]:
        """pattern -> the patterns whose features it may take: those of its kind, or of the nearest broader one with enough."""
        vocabulary = self.staged.vocabulary
        members: dict[str, list[str]] = defaultdict(list)
        for pattern in self._models:
            kind = self._kind(pattern)
            for wider in (kind, *vocabulary.ancestors(kind)):
                members[wider].append(pattern)
        everybody = tuple(self._models)
        out = {}
        for pattern in self._models:
            kind = self._kind(pattern)
            line = (members[k] for k in (kind, *vocabulary.ancestors(kind)) if k)
            out[pattern] = next((tuple(m) for m in line if len(m) >= LEAST_POOL), everybody)
        return out

    # --- drawing ---------------------------------------------------------------------------------------------------
    def draw(self, count: int) -> Iterator[Drawn]:
        """The first ``count`` patterns, always from the beginning."""
        chance = random.Random(self.seed)
        everybody = tuple(self._models)
        last: dict[str, str] = {}  # real pattern -> the last draw that began as it
        broader: dict[str, str] = {}
        for number in range(1, count + 1):
            for _ in range(TRIES):
                model = chance.choice(everybody)
                slots = self._mutated(model, chance)
                drawn = self._made(number, model, slots, last)
                if self._consistent(drawn.record):
                    break
            else:
                raise RuntimeError(f"no pattern without contradiction in {TRIES} draws")
            last[model] = drawn.term.name
            broader[drawn.term.name] = drawn.term.broader
            yield drawn

    def _mutated(self, model: str, chance: random.Random) -> dict[str, _Slot]:
        slots = dict(self._models[model])
        pool = self._pools[model]
        for _ in range(chance.randint(*CHANGES)):
            # A feature that some pattern of the kind has; then what any pattern of the kind has there, or has not.
            feature = chance.choice(sorted(self._models[chance.choice(pool)]))
            donor = self._models[chance.choice(pool)].get(feature)
            if feature == names.OF_KIND:
                continue
            if donor is None:
                slots.pop(feature, None)
            else:
                slots[feature] = donor
        return slots

    def _made(self, number: int, model: str, slots: Mapping[str, _Slot], last: Mapping[str, str]) -> Drawn:
        name = f"bl:Synthetic{number:06d}"
        real_parent = self.staged.vocabulary.terms[model].broader
        parent = last.get(real_parent, "")
        record = Record(name)
        statements: set[Statement] = set()

        def renamed(value: str) -> str:
            """The last draw that stands for a real pattern; empty if there is none yet."""
            return last.get(value, "") if value in self._patterns else value

        def level(was: str) -> tuple[str, str]:
            if was == VARIANT:
                return (VARIANT, parent) if parent else (OWN, name)
            return was, name

        for slot in sorted(slots):
            what = slots[slot]
            for fact in what.facts:
                literal = (renamed(fact.literal[0]), renamed(fact.literal[1]))
                if not all(literal):
                    continue
                new_level, origin = level(fact.level)
                origin = fact.origin if fact.origin.startswith("kind:") else origin
                record.facts[literal] = Fact(literal, new_level, origin, fact.weight, fact.depth)
            record.varies.update(what.varies)
            record.denied.update(what.denied)
            record.disputes.update(what.disputes)
            record.contested |= set(what.contested)
            if what.length:
                record.length, record.length_level = what.length, level(what.length_level)[0]
            for s in what.statements:
                value = renamed(s.value)
                if value and (s.subject == model or not parent or s.subject != real_parent):
                    statements.add(replace(s, subject=name, value=value))
        kind = next((v for f, v in sorted(record.facts) if f == names.OF_KIND), "")
        noun = self.staged.vocabulary.label(kind).removesuffix(" in general") if kind else "instrument"
        term = Term(name, "pattern", f"{called(number)} {noun}", broader=parent)
        return Drawn(term, record, tuple(sorted(statements)), model)

    def _consistent(self, record: Record) -> bool:
        return self.staged.engine.consistent([ROOT, *record.facts])

    # --- a catalogue of them -----------------------------------------------------------------------------------------
    def facts(self, count: int) -> Iterator[tuple[str, tuple[Condition, ...]]]:
        """(pattern, its adopted facts), as the rules are given them."""
        for drawn in self.draw(count):
            yield drawn.term.name, tuple(drawn.record.facts)

    def vocabulary(self, terms: Iterable[Term]) -> Vocabulary:
        """The real vocabulary with these patterns in place of its own."""
        real = self.staged.vocabulary
        every = {n: t for n, t in real.terms.items() if t.role != "pattern"} | {t.name: t for t in terms}
        return Vocabulary(dict(sorted(every.items())), real.features, real.definitions, real.make_rules)

    def surroundings(self) -> str:
        """The closure's lines that are of no pattern: terms, sources, and what they say of kinds."""
        staged = self.staged
        text = quads(staged.ontology, self.vocabulary(()), {}, {}, staged.sources, {})
        own = {f"<{names.expand(p)}>" for p in self._patterns}
        return "".join(f"{line}\n" for line in text.splitlines() if line.split(" ", 1)[0] not in own)

    def lines(self, drawn: Iterable[Drawn]) -> Iterator[str]:
        """The closure's lines of these patterns, sorted: records, reasons, words, and what each source says of them."""
        some = tuple(drawn)
        staged = self.staged
        vocabulary = self.vocabulary(d.term for d in some)
        records = {d.term.name: d.record for d in some}
        on_kinds = [s for s in staged.statements if s.subject.startswith("kind:")]
        said = [s for d in some for s in d.statements]
        basis = bases(records, [*on_kinds, *said], staged.sources, vocabulary, staged.engine)
        out: set[str] = set()
        for name, record in records.items():
            held = frozenset(h for h in staged.engine.types_only([ROOT, *record.facts]) if not _of_value_class(h))
            kept = {literal: b for literal, b in basis[name].items() if not _of_value_class(literal)}
            out |= pattern_lines(name, record, held, vocabulary, kept)
        out |= term_lines(d.term for d in some)
        for s in said:
            out.update(_statement_lines(s))
        return iter(sorted(out))

    def write_closure(self, folder: Path, count: int) -> closure.Stamp:
        """Writes the closure of ``count`` patterns into ``folder``, the quads chunk by chunk. Returns its stamp."""
        folder.mkdir(parents=True, exist_ok=True)
        terms: list[Term] = []
        source = iter(self.draw(count))
        with (folder / closure.QUADS).open("w", encoding="utf-8") as out:
            out.write(self.surroundings())
            while chunk := tuple(islice(source, CHUNK)):
                terms += (d.term for d in chunk)
                _write_lines(out, self.lines(chunk))
        texts = {
            closure.VOCABULARY: self.vocabulary(terms).to_json(),
            closure.WORDS: json.dumps(load.words(self.staged.ontology.root), ensure_ascii=False, sort_keys=True) + "\n",
            closure.VALUE_CLASSES: self.staged.value_class_text,
        }
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="utf-8")
        files = {name: _digest(folder / name) for name in (closure.QUADS, *texts)}
        sizes = {name: (folder / name).stat().st_size for name in files}
        stamp = closure.Stamp(f"synthetic-{self.seed}-{count}", files, sizes, "", release())
        (folder / closure.STAMP).write_text(stamp.to_json(), encoding="utf-8")
        return stamp


def open_synthetic(root: Path, folder: Path, store: Store | None = None) -> Catalogue:
    """The catalogue over the files that ``write_closure`` wrote; ``root`` is the folder of the real ontology."""
    return Catalogue(root, folder, closure.read_stamp(folder), store)


def called(number: int) -> str:
    """A name that nothing has, as a word of its own: 12 -> "Qaaaabc"."""
    return "Q" + "".join(_DIGITS[int(d)] for d in f"{number:06d}")


def _of_value_class(literal: Condition) -> bool:
    return literal[0] == names.TYPE and is_value_class(literal[1])


def _statement_lines(s: Statement) -> Iterator[str]:
    subject, graph = f"<{names.expand(s.subject)}>", f"<{names.expand(s.source)}>"
    if s.feature == LENGTH:
        for prop, mm in zip((names.LENGTH_MIN, names.LENGTH_MAX), parse_span(s.value), strict=True):
            yield f'{subject} <{names.expand(prop)}> "{mm:g}"^^<{_DECIMAL}> {graph} .'
        return
    predicate = names.expand(f"{PREFIX_OF_MODE[s.mode]}:{s.feature.split(':', 1)[1]}")
    yield f"{subject} <{predicate}> <{names.expand(s.value)}> {graph} ."


def _write_lines(out: IO[str], lines: Iterable[str]) -> None:
    out.writelines(f"{line}\n" for line in lines)


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
