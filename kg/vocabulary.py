"""The vocabulary as the asking side sees it: terms, features, value trees, definitions, rules.

Built by ``boxlock build`` from the ontology and stored as ``ontology/generated/vocabulary.json``; reading it needs no RDF
library. All names are short names. Every mapping is in a fixed order (sorted by short name).
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import compress
from typing import NamedTuple

from kg import names
from kg.records import Record, field, record

ROLES = ("pattern", "category", "feature", "value", "part", "kind", "source", "concept", "property")
SECTIONS = ("use", "handling", "pieces", "make", "reprocessing", "standards")


class Term(NamedTuple):  # thousands may be made before a question is answered, and a named tuple is the quickest to make
    """One term. ``role`` is one of ``ROLES``; a structure, procedure or finish is a ``value`` of its feature.

    ``plural`` is empty when the plural is regular or there is none; ``alt`` are synonyms people may be shown, ``hidden``
    misspellings and phonetic forms that are only recognised. ``broader`` is the broader value, kind, category or, for a
    pattern, the pattern it is a variant of; empty at a root. ``feature`` is set for values; ``order`` is a part's place in a
    spoken description; ``notes`` are further remarks, as (what it is about, text). ``sources`` are short names
    or free citations of the definition. ``spoken``: how a value or part stands in a sentence, with its article or in the
    plural, where the label does not do ("the bladder"). ``paired``: a part that comes in two where this other part is there.
    ``counts``: for a value that names a number of things on either side, the smaller and the larger number; one number alone
    means so many or more; empty if the value counts nothing.
    """

    name: str
    role: str
    label: str
    plural: str = ""
    alt: tuple[str, ...] = ()
    hidden: tuple[str, ...] = ()
    definition: str = ""
    sources: tuple[str, ...] = ()
    feature: str = ""
    broader: str = ""
    order: int = 0
    notes: tuple[tuple[str, str], ...] = ()
    spoken: str = ""
    paired: str = ""
    counts: tuple[int, ...] = ()


class Terms(Mapping[str, Term]):
    """The terms of a file, each made when it is first asked for; what stands in the columns can be had without making any.

    ``columns``: column -> its texts, in the order of the names. A line that is no term raises ValueError or TypeError.
    """

    def __init__(self, columns: Mapping[str, list[str]], lines: Iterable[bytes]) -> None:
        self.columns = columns
        self._lines = dict(zip(columns["name"], lines, strict=True))
        self._made: dict[str, Term] = {}

    def __getitem__(self, name: str) -> Term:
        made = self._made.get(name)
        if made is None:
            made = self._made[name] = _term(json.loads(self._lines[name]))
        return made

    def get(self, name: str, default=None):  # type: ignore[no-untyped-def]
        return self[name] if name in self._lines else default

    def label(self, name: str) -> str:
        """The label of a term, out of its line where it has not been made: a long list shows little else of most."""
        line = self._lines[name]
        start = line.find(_LABEL) + len(_LABEL)
        text = line[start : line.find(b'"', start)]
        return self[name].label if start < len(_LABEL) or name in self._made or b"\\" in text else text.decode()

    def __contains__(self, name: object) -> bool:
        return name in self._lines

    def __iter__(self) -> Iterator[str]:
        return iter(self._lines)

    def __len__(self) -> int:
        return len(self._lines)


_LABEL = b'"label": "'
COLUMNS = ("name", "role", "broader", "feature")
"""The fields of all terms that a file has in columns too. None of them has a blank in it."""


@record
class Feature(Record):
    """How a feature behaves. ``single``: at most one value fits a piece, siblings exclude each other.

    ``part`` is the part it describes (may be empty); ``applies`` the part a pattern must have for the feature to apply
    (empty: always applies); ``order`` its place in a spoken description. ``phrase`` says a fact as a clause, with
    ``{value}`` in it ("is used on {value}"); if empty the clause is made from the feature's label.
    ``denies``: each value of this feature is a denial of the same value of that one ("not used on" denies "used on").
    ``section``: where a description says it, one of ``SECTIONS``; empty: with the parts, as something that can be seen.
    """

    name: str
    single: bool = False
    part: str = ""
    applies: str = ""
    order: int = 0
    phrase: str = ""
    denies: str = ""
    section: str = ""


# A condition of a definition: ("rdf:type", category) | ("bl:hasPart", part) | ("bl:lacksPart", part) | (feature, value).
Condition = tuple[str, str]


def slot_of(literal: Condition) -> str:
    """The slot a literal decides: the part of a part literal, else the feature."""
    return literal[1] if literal[0] in names.PARTS else literal[0]


@record
class Rule(Record):
    """A Horn clause over one pattern: if all of ``body`` hold then ``head`` holds; ``head`` None means a clash.

    ``axiom`` names the OWL axiom it comes from; ``text`` says it as a sentence.
    """

    body: tuple[Condition, ...]
    head: Condition | None
    axiom: str
    text: str


@record
class Vocabulary(Record):
    """Everything the asking side knows of the ontology. ``definitions``: defined category -> its conditions (a conjunction)."""

    terms: Mapping[str, Term]
    features: Mapping[str, Feature]
    definitions: Mapping[str, tuple[Condition, ...]]
    make_rules: Callable[[], tuple[Rule, ...]] = field(default=tuple, repr=False, compare=False)

    def column(self, name: str) -> Sequence[str]:
        """One of ``COLUMNS`` for every term, in the order of ``terms``."""
        terms = self.terms
        return terms.columns[name] if isinstance(terms, Terms) else [getattr(t, name) for t in terms.values()]

    def open_all(self) -> None:
        """Makes every term now; those of a file are else made as they are needed."""
        if isinstance(self.terms, Terms):
            self.__dict__["terms"] = dict(self.terms)

    @cached_property
    def implied(self) -> frozenset[str]:
        """Properties whose values can follow from those of another property; all others are known only by being recorded."""
        return frozenset(r.head[0] for r in self.rules if r.head and any(prop != r.head[0] for prop, _ in r.body))

    @cached_property
    def rules(self) -> tuple[Rule, ...]:
        """The Horn rules; made on first use, since most questions need none."""
        return self.make_rules()

    def label(self, name: str) -> str:
        """The label of a term; its local name if the term is unknown (never raises). Remembered for terms."""
        known = self._labels.get(name)
        if known is None:
            terms = self.terms
            if name not in terms:
                return name.split(":", 1)[-1]
            known = self._labels[name] = terms.label(name) if isinstance(terms, Terms) else terms[name].label
        return known

    @cached_property
    def _labels(self) -> dict[str, str]:
        return {}

    @cached_property
    def children(self) -> dict[str, tuple[str, ...]]:
        """Direct narrower terms of each term, sorted; terms without any are missing."""
        out: dict[str, list[str]] = {}
        for name, broader in compress(self._broader.items(), self._broader.values()):
            out.setdefault(broader, []).append(name)
        return {parent: tuple(sorted(narrower)) for parent, narrower in out.items()}

    def broader_of(self, name: str) -> str:
        """The broader term of a term, without making either; empty at a root."""
        return self._broader.get(name, "")

    @cached_property
    def _broader(self) -> dict[str, str]:
        return dict(zip(self.terms, self.column("broader"), strict=True))

    def subtree(self, name: str) -> frozenset[str]:
        """The term itself and everything narrower; remembered, as every judgement asks for it."""
        known = self._subtrees.get(name)
        if known is None:
            known = self._subtree(name)
            if name in self.terms:
                self._subtrees[name] = known
        return known

    def exclude(self, feature: str, one: str, two: str) -> bool:
        """Whether no pattern can have both values: the feature has one value, and neither is narrower than the other."""
        record = self.features.get(feature)
        return record is not None and record.single and two not in self.subtree(one) and one not in self.subtree(two)

    def _subtree(self, name: str) -> frozenset[str]:
        found, todo = set(), [name]
        while todo:
            current = todo.pop()
            if current not in found:
                found.add(current)
                todo.extend(self.children.get(current, ()))
        return frozenset(found)

    def ancestors(self, name: str) -> tuple[str, ...]:
        """The broader terms, nearest first; empty at a root. Remembered."""
        known = self._lines.get(name)
        if known is None:
            known = self._line(name)
            if name in self.terms:
                self._lines[name] = known
        return known

    @cached_property
    def domains(self) -> dict[str, frozenset[str]]:
        """Slot -> all values that it can have, as ``kg.truth`` remembers them."""
        return {}

    @cached_property
    def insides(self) -> dict[frozenset[str], tuple[list[str], list[str]]]:
        """Set of values -> those that lie within it, as ``kg.sparql.filters`` remembers them."""
        return {}

    @cached_property
    def _subtrees(self) -> dict[str, frozenset[str]]:
        return {}

    @cached_property
    def _lines(self) -> dict[str, tuple[str, ...]]:
        return {}

    def _line(self, name: str) -> tuple[str, ...]:
        out: list[str] = []
        current = self._broader.get(name)
        while current and current not in out:
            out.append(current)
            current = self._broader.get(current)
        return tuple(out)

    def narrowest(self, held: Iterable[str]) -> str:
        """The narrowest of some values of one tree, the last by name of equals. Raises ValueError if there is none."""
        return max(held, key=lambda v: (len(self.ancestors(v)), v))

    def values_of(self, feature: str) -> tuple[str, ...]:
        """All values of a feature, sorted by short name."""
        return self._values.get(feature, ())

    @cached_property
    def _values(self) -> dict[str, tuple[str, ...]]:
        out: dict[str, list[str]] = {}
        features = self.column("feature")
        for name, feature in compress(zip(self.terms, features, strict=True), features):
            out.setdefault(feature, []).append(name)
        return {name: tuple(sorted(values)) for name, values in out.items()}

    def by_role(self, role: str) -> tuple[Term, ...]:
        """The terms with a role, sorted by short name."""
        return tuple([self.terms[name] for name in self.names_of(role)])

    def names_of(self, role: str) -> list[str]:
        """The names of the terms with a role, sorted."""
        return [name for name, found in zip(self.terms, self.column("role"), strict=True) if found == role]

    def bearers(self, name: str) -> tuple[str, ...]:
        """The patterns of which a label or synonym holds this name as whole words, sorted; accents and hyphens do not count."""
        wanted = _bare(name)
        if not wanted.strip():
            return ()
        return tuple(p for p, texts in self._called.items() if wanted in texts)

    def after_people(self, but: Iterable[str]) -> tuple[str, ...]:
        """The patterns of which the label holds a word with a capital that is none of ``but`` (places, colours, works)."""
        others = frozenset(but)
        return tuple(
            t.name
            for t in self.by_role("pattern")
            if any(word[:1].isupper() and _bare(word).strip() not in others for word in t.label.replace("-", " ").split())
        )

    def beginning(self, letters: str) -> tuple[str, ...]:
        """The patterns of which the label begins with these letters, sorted; accents do not count."""
        return tuple(t.name for t in self.by_role("pattern") if _bare(t.label).strip().startswith(_bare(letters).strip()))

    def written(self, name: str) -> str:
        """A name as the first label or synonym that holds it writes it; as given if none does."""
        size, wanted = len(_bare(name).split()), _bare(name)
        for term in self.by_role("pattern"):
            if wanted in self._called[term.name]:
                for text in (term.label, *term.alt):
                    words = text.replace("-", " ").split()
                    for at in range(len(words) - size + 1):
                        piece = " ".join(words[at : at + size])
                        if _bare(piece) == wanted:
                            return piece.removesuffix("'s")
        return name

    @cached_property
    def _called(self) -> dict[str, str]:
        return {t.name: "|".join(_bare(text) for text in (t.label, *t.alt)) for t in self.by_role("pattern")}

    # --- (de)serialisation ---------------------------------------------------------------------------------------
    def to_json(self) -> str:
        """Deterministic JSON text, one term a line, ending in a newline."""

        def row(item: object) -> str:
            return json.dumps(_lean(item), ensure_ascii=False, sort_keys=True)

        def rows(items: Iterable[object]) -> str:
            return "[\n  " + ",\n  ".join(map(row, items)) + "\n ]"

        order = sorted(self.terms)
        columns = {c: " ".join(getattr(self.terms[n], c) for n in order) for c in COLUMNS}
        parts = {
            "columns": "{\n  " + ",\n  ".join(f"{row(c)}: {row(columns[c])}" for c in COLUMNS) + "\n }",
            "implied": row(sorted(self.implied)),
            "features": rows(self.features[n].__dict__ for n in sorted(self.features)),
            "definitions": rows([n, self.definitions[n]] for n in sorted(self.definitions)),
            "terms": rows(self.terms[n]._asdict() for n in order),
            "rules": rows([r.body, r.head, r.axiom, r.text] for r in self.rules),
        }
        return "{\n" + ",\n".join(f' "{key}": {text}' for key, text in parts.items()) + "\n}\n"

    @classmethod
    def from_json(cls, text: str | bytes) -> Vocabulary:
        """Reads what ``to_json`` wrote, and JSON of the same content in another form. Terms and rules are read when they are
        asked for. Raises ValueError, KeyError or TypeError if the text has another form."""
        data = text.encode() if isinstance(text, str) else text
        cut = [data.find(b'\n "%s": ' % part) for part in (b"terms", b"rules")]
        lines = [line.rstrip(b",") for line in data[cut[0] : cut[1]].split(b"\n")[2:-1] if line.strip()]
        if min(cut) < 0 or cut[0] > cut[1] or not data.startswith(b'{\n "columns": '):
            return cls._of_lists(json.loads(data))
        raw = json.loads(data[: cut[0]].rstrip(b",") + b"}")
        columns = {name: column.split(" ") if lines else [] for name, column in raw["columns"].items()}
        if len(lines) != len(columns["name"]):
            raise ValueError("it has not one line for each term")
        rules = data[cut[1] + len(b'\n "rules": ') :].rstrip(b"}\n ")
        found = cls(
            terms=Terms(columns, lines),
            features={r["name"]: Feature(**r) for r in raw["features"]},
            definitions={name: _conditions(pairs) for name, pairs in raw["definitions"]},
            make_rules=lambda: _rules(json.loads(rules)),
        )
        found.__dict__["implied"] = frozenset(raw["implied"])
        return found

    @classmethod
    def _of_lists(cls, raw: dict) -> Vocabulary:
        return cls(
            terms={r["name"]: _term(r) for r in raw["terms"]},
            features={r["name"]: Feature(**r) for r in raw["features"]},
            definitions={name: _conditions(pairs) for name, pairs in raw["definitions"]},
            make_rules=lambda: _rules(raw["rules"]),
        )


def _term(record: dict) -> Term:
    return Term(**{k: _tuple(v) if isinstance(v, list) else v for k, v in record.items()})


def _conditions(pairs: Iterable) -> tuple[Condition, ...]:
    return tuple((a, b) for a, b in pairs)


def _rules(rows: Iterable) -> tuple[Rule, ...]:
    return tuple(Rule(_conditions(body), tuple(head) if head else None, axiom, words) for body, head, axiom, words in rows)


def _bare(text: str) -> str:
    """Words in lower case without accents, hyphens and possessive endings, with a blank on either side of each."""
    import unicodedata  # only questions about names need it

    folded = unicodedata.normalize("NFKD", text.replace("’", "'").replace("-", " ")).casefold()
    words = "".join(c for c in folded if not unicodedata.combining(c)).split()
    return " " + " ".join(w.removesuffix("'s") for w in words) + " "


def _tuple(value: object) -> object:
    return tuple(_tuple(v) for v in value) if isinstance(value, list) else value


def _lean(item: object) -> object:
    """Leaves out empty fields, so that the file stays small and its diffs readable."""
    if isinstance(item, dict):
        return {k: v for k, v in item.items() if v not in ("", (), None, [], 0)}
    return item
