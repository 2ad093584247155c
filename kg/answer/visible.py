"""The catalogue as a table of what can be seen: for every pattern and visible slot the values that are still possible.

A *slot* is a part or a single-valued feature that a description says with the parts, or the length. Sets of patterns are
whole numbers used as bit sets (bit i is the i-th pattern by name), so that five hundred patterns are compared at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from kg import names
from kg.answer.context import Context
from kg.records import Record, field, record
from kg.sparql.terms import prologue, values
from kg.truth import INAPPLICABLE, Known, domain, possible

_GRAPHS = ("graph:holds", "graph:varies", "graph:denied")
_EMPTY = ((), (), ())
_LENGTHS = (names.LENGTH_MIN, names.LENGTH_MAX)


@record
class Column(Record):
    """One slot.

    ``classes``: the distinct sets of possible values; ``members``: the patterns of each; ``of``: each pattern's class;
    ``apart``: the patterns that share no possible value with a class; ``recorded``: the patterns of which something is known
    on the slot and to which it applies; ``there``: those of them that are not recorded as without the part. For the length a
    class is the span (shortest, longest) in millimetres.
    """

    slot: str
    classes: tuple[frozenset[str] | tuple[float, float], ...]
    members: tuple[int, ...]
    apart: tuple[int, ...]
    recorded: int
    of: tuple[int, ...]
    there: int


@record
class Table(Record):
    """``patterns`` sorted by short name; ``columns`` in the order of a spoken description; ``family``: each pattern's root
        with all its variants; ``holds``: (property, value) -> the patterns of which it holds; ``others``: the columns of
    single-valued features that cannot be seen; ``denied``: (feature, value) -> the patterns of which it is denied.
    """

    patterns: tuple[str, ...]
    index: dict[str, int]
    columns: tuple[Column, ...]
    family: tuple[int, ...]
    roots: int
    holds: dict[tuple[str, str], int]
    others: tuple[Column, ...]
    denied: dict[tuple[str, str], int]
    known: list[int] = field(default_factory=list)

    def bits(self, found: Iterable[str]) -> int:
        """A set of patterns as bits; names that are no patterns are passed over."""
        return bits(self.index[p] for p in found if p in self.index)

    def names(self, bits: int) -> Iterator[str]:
        """The patterns of a bit set, by name."""
        while bits:
            low = bits & -bits
            yield self.patterns[low.bit_length() - 1]
            bits ^= low


def table(ctx: Context) -> Table:
    """The table of the open catalogue; made on first use and remembered."""
    if ctx.visible is None:
        ctx.visible = _make(ctx)
    return ctx.visible


def bits(places: Iterable[int]) -> int:
    """Numbers of patterns as a bit set."""
    return sum(1 << i for i in set(places))


def _make(ctx: Context) -> Table:
    patterns = tuple(ctx.vocabulary.names_of("pattern"))
    index = {p: i for i, p in enumerate(patterns)}
    rows = list(_rows(ctx))
    holds: dict[tuple[str, str], int] = {}
    denied: dict[tuple[str, str], int] = {}
    found: list[dict[str, dict[str, set[str]]]] = [{} for _ in patterns]
    inapplicable: list[set[str]] = [set() for _ in patterns]
    lengths: list[dict[str, float]] = [{} for _ in patterns]
    for graph, prop, value, members in rows:
        places = [index[p] for p in members if p in index]
        if prop in _LENGTHS:
            for i in places:
                lengths[i][prop] = float(value)
            continue
        if prop == names.INAPPLICABLE:
            for i in places:
                inapplicable[i].add(value)
            continue
        if graph == "graph:holds":
            holds[prop, value] = bits(places)
        elif graph == "graph:denied":
            denied[prop, value] = bits(places)
        slot, content = (value, prop) if prop in names.PARTS else (prop, value)
        for i in places:
            found[i].setdefault(slot, {}).setdefault(graph, set()).add(content)
    slots = {s for f in found for s in f}
    columns = [_column(ctx, slot, found, inapplicable) for slot in _slots(ctx, slots)] + _length(lengths)
    hidden = [_column(ctx, slot, found, inapplicable) for slot in _slots(ctx, slots, seen=False)]
    lines = [(p, *ctx.vocabulary.ancestors(p)) for p in patterns]
    family: dict[str, int] = {}
    for i, line in enumerate(lines):
        family[line[-1]] = family.get(line[-1], 0) | 1 << i
    roots = sum(1 << i for i, line in enumerate(lines) if len(line) == 1)
    return Table(
        patterns,
        index,
        tuple(c for c in columns if c.recorded),
        tuple(family[line[-1]] for line in lines),
        roots,
        holds,
        tuple(hidden),
        denied,
    )


def _rows(ctx: Context) -> Iterator[tuple[str, str, str, list[str]]]:
    """(graph, property, value, patterns): one row for each fact, whoever it is true of, so that few rows are read."""
    if ctx.columns is not None:
        for (graph, prop, value), places in ctx.columns.within(*_GRAPHS):
            yield graph, prop, value, ctx.columns.named(places)
        return
    graphs = values("g", list(_GRAPHS))
    body = (
        f'SELECT ?g ?f ?v (GROUP_CONCAT(STR(?p); SEPARATOR=" ") AS ?all) WHERE {{\n  {graphs}\n'
        "  GRAPH ?g { ?p ?f ?v }\n}\nGROUP BY ?g ?f ?v\nORDER BY ?g ?f ?v\n"
    )
    base = names.PREFIXES["bl"]
    for row in ctx.store.select(prologue(body) + body):
        value = row["v"].short if row["v"].kind == "iri" else row["v"].value
        found = [f"bl:{iri[len(base) :]}" for iri in row["all"].value.split(" ") if iri.startswith(base)]
        yield row["g"].short, row["f"].short, value, found


def _slots(ctx: Context, found: set[str], *, seen: bool = True) -> list[str]:
    """The parts and single-valued features that can be seen (or, with ``seen`` False, those that cannot), in order."""
    features = ctx.vocabulary.features
    hidden = {names.OF_KIND, names.SIZE_CLASS}

    def visible(slot: str) -> bool:
        if slot in features:
            can_be_seen = not features[slot].section and slot not in hidden
            return features[slot].single and can_be_seen is seen
        return seen and slot in ctx.vocabulary.terms and ctx.vocabulary.terms[slot].role == "part"

    return sorted((s for s in found if visible(s)), key=lambda s: (ctx.vocabulary.terms[s].order, s))


def _column(ctx: Context, slot: str, found: list[dict[str, dict[str, set[str]]]], inapplicable: list[set[str]]) -> Column:
    memory: dict[tuple, frozenset[str]] = {}
    classes: dict[frozenset[str], int] = {}
    of = []
    for known, without in zip(found, inapplicable, strict=True):
        said = known.get(slot)  # most patterns have nothing on most slots
        texts = tuple(tuple(sorted(said[g])) if g in said else () for g in _GRAPHS) if said else _EMPTY
        key = (slot in without, *texts)
        if key not in memory:
            memory[key] = _possible(ctx, slot, *key)
        of.append(classes.setdefault(memory[key], len(classes)))
    everything = domain(slot, ctx.vocabulary)
    members = [0] * len(classes)
    for i, c in enumerate(of):
        members[c] |= 1 << i
    sets = list(classes)
    unknown = [s == everything or s == frozenset({INAPPLICABLE}) for s in sets]
    apart = tuple(sum(members[j] for j, b in enumerate(sets) if not a & b) for a in sets)
    recorded = sum(m for m, u in zip(members, unknown, strict=True) if not u)
    without = sum(m for m, s in zip(members, sets, strict=True) if s == frozenset({names.LACKS_PART}))
    return Column(slot, tuple(sets), tuple(members), apart, recorded, tuple(of), recorded & ~without)


def _possible(
    ctx: Context, slot: str, without: bool, held: tuple[str, ...], varies: tuple[str, ...], denied: tuple[str, ...]
) -> frozenset[str]:
    part = slot not in ctx.vocabulary.features
    known = Known(
        line=(),
        holds=frozenset((v, slot) if part else (slot, v) for v in held),
        varies={slot: varies} if varies else {},
        denied={slot: denied} if denied else {},
        inapplicable=frozenset({slot} if without else ()),
    )
    return possible(slot, known, ctx.vocabulary)


def _length(lengths: list[dict[str, float]]) -> list[Column]:
    spans = [tuple(found[p] for p in _LENGTHS) if len(found) == 2 else (0.0, float("inf")) for found in lengths]
    classes = {s: i for i, s in enumerate(dict.fromkeys(spans))}
    of = tuple(classes[s] for s in spans)
    members = [0] * len(classes)
    for i, c in enumerate(of):
        members[c] |= 1 << i
    apart = tuple(sum(m for m, (low, high) in zip(members, classes, strict=True) if high < a or low > b) for a, b in classes)
    recorded = sum(m for m, s in zip(members, classes, strict=True) if s[1] != float("inf"))
    return [Column(names.LENGTH, tuple(classes), tuple(members), apart, recorded, of, recorded)]


def value_text(ctx: Context, column: Column, pattern: int) -> str:
    """What is recorded of a pattern in a column, for people: "curved", "absent", "straight or curved", "120 to 150 mm"."""
    content = column.classes[column.of[pattern]]
    if isinstance(content, tuple):
        low, high = content
        return "not recorded" if high == float("inf") else f"{low:g} mm" if low == high else f"{low:g} to {high:g} mm"
    if content == frozenset({INAPPLICABLE}):
        return "does not apply"
    if content == domain(column.slot, ctx.vocabulary):
        return "not recorded"
    if column.slot not in ctx.vocabulary.features:
        return "there" if names.HAS_PART in content else "absent"
    named = [v for v in content if v in ctx.vocabulary.terms]
    top = [v for v in named if not any(a in content for a in ctx.vocabulary.ancestors(v))]
    if len(top) > 3:
        denied = [v for v in ctx.vocabulary.values_of(column.slot) if v not in content]
        widest = [v for v in denied if ctx.vocabulary.broader_of(v) not in denied]
        return "not " + ", not ".join(sorted(ctx.label(v) for v in widest))
    return " or ".join(sorted(ctx.label(v) for v in top)) or "none of the named ones"
