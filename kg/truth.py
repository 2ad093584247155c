"""Three-valued truth of a description, and its normal form: the one place that says what a question means.

An *atom* on a slot is a set of allowed values. What is known of a pattern on a slot is the set of values that are still
possible: one adopted value leaves itself and everything narrower, nothing recorded leaves all. The atom is true (+1) if all
possible values are allowed, false (-1) if none is, else unknown (0). Atoms on one slot within one "and" are merged into the
intersection of their sets, within one "or" into the union, before they are judged; the rest is strong Kleene logic (and =
min, or = max, not = minus; Kleene, Introduction to Metamathematics, 1952, section 64). Features with many values, names and
memberships are not merged: such a feature lacks a value only if a source denies it.

``normalise`` turns an expression into this form; ``evaluate`` judges it for one pattern's facts; ``kg.sparql`` writes the
same form as SPARQL.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from kg import names
from kg.language import nodes
from kg.records import Record, field, record
from kg.vocabulary import Condition, Vocabulary

INAPPLICABLE = "inapplicable"
"""The pseudo-value of a feature that does not apply to a pattern (a scalpel has no jaw surface)."""
_PARTS = frozenset({names.HAS_PART, names.LACKS_PART})
Interval = tuple[float, bool, float, bool]  # low, low included, high, high included
INFINITY = float("inf")


@record
class OneOf(Record):
    """A single-valued feature, or a part, has one of ``allowed`` (closed under narrower values)."""

    slot: str
    allowed: frozenset[str]


@record
class Includes(Record):
    """A feature with many values includes ``value`` (or a narrower one); ``positive`` False for its negation."""

    feature: str
    value: str
    positive: bool = True


@record
class Member(Record):
    """Membership of a defined category; ``conditions`` is its definition in this same form."""

    category: str
    conditions: Form


@record
class Is(Record):
    """The pattern itself or a variant of it. Always known."""

    pattern: str
    positive: bool = True


@record
class Stated(Record):
    """Something is recorded of the slot (a feature, a part, or ``bl:length``), or it does not apply. Always known."""

    slot: str
    positive: bool = True


@record
class Elsewhere(Record):
    """A value of the feature is recorded that is none of ``values``, nor narrower or broader than one. Always known."""

    slot: str
    values: tuple[str, ...]
    positive: bool = True


@record
class Told(Record):
    """It is on record that the feature has the value or a narrower one, of all pieces or of some. Always known."""

    slot: str
    value: str
    positive: bool = True


@record
class Lengths(Record):
    """All sizes lie within the union of ``intervals`` (sorted, disjoint)."""

    intervals: tuple[Interval, ...]


@record
class Constant(Record):
    """True (1) or false (-1) of everything."""

    value: int


@record
class All(Record):
    items: tuple[Form, ...]


@record
class AnyOf(Record):
    items: tuple[Form, ...]


Atom = OneOf | Includes | Member | Is | Stated | Elsewhere | Told | Lengths | Constant
Form = Atom | All | AnyOf


# --- normal form ----------------------------------------------------------------------------------------------------
def domain(slot: str, vocabulary: Vocabulary) -> frozenset[str]:
    """All values that a slot can have, with ``INAPPLICABLE`` for features that may not apply."""
    found = vocabulary.domains.get(slot)
    if found is None:
        found = vocabulary.domains[slot] = _domain(slot, vocabulary) if slot in vocabulary.features else _PARTS
    return found


def _domain(slot: str, vocabulary: Vocabulary) -> frozenset[str]:
    values = set(vocabulary.values_of(slot))
    # A piece may have a value that the ontology does not name; keep "something else" possible, so that excluding all
    # named values is not taken for a contradiction.
    values.add(f"{slot}/other")
    if vocabulary.features[slot].applies:
        values.add(INAPPLICABLE)
    return frozenset(values)


def elsewhere(feature: str, values: tuple[str, ...], vocabulary: Vocabulary) -> frozenset[str]:
    """The values of a feature that are none of these, nor narrower or broader than one of them."""
    near = {n for v in values for n in (*vocabulary.subtree(v), *vocabulary.ancestors(v))}
    return frozenset(vocabulary.values_of(vocabulary.terms[values[0]].feature)) - near


def normalise(expr: nodes.Expr, vocabulary: Vocabulary) -> Form:
    """An expression in normal form: negation pushed to the atoms, atoms on one slot merged."""
    return _merge(_form(expr, vocabulary, True))


def _form(expr: nodes.Expr, vocabulary: Vocabulary, positive: bool) -> Form:
    match expr:
        case nodes.Everything():
            return Constant(1 if positive else -1)
        case nodes.Not(inner):
            return _form(inner, vocabulary, not positive)
        case nodes.And(items) | nodes.Or(items):
            forms = tuple(_form(i, vocabulary, positive) for i in items)
            return All(forms) if isinstance(expr, nodes.And) is positive else AnyOf(forms)
        case nodes.Named(pattern):
            return Is(pattern, positive)
        case nodes.CalledAfter() | nodes.Begins():
            if isinstance(expr, nodes.Begins):
                called = vocabulary.beginning(expr.letters)
            else:
                called = vocabulary.after_people(expr.but) if expr.but else vocabulary.bearers(expr.name)
            bearers = tuple(Is(p, positive) for p in called)
            if not bearers:
                return Constant(-1 if positive else 1)
            return AnyOf(bearers) if positive else All(bearers)
        case nodes.Recorded(feature):
            return Stated(feature, positive)
        case nodes.Solely(feature, values):
            held = [_condition((feature, v), vocabulary, positive) for v in values]
            others = Elsewhere(feature, values, not positive)
            return All((AnyOf(tuple(held)), others)) if positive else AnyOf((All(tuple(held)), others))
        case nodes.Untold(feature, value):
            return Told(feature, value, not positive)
        case nodes.Length():
            return _lengths(_intervals(expr) if positive else _outside(_intervals(expr)))
        case nodes.HasPart(part):
            return OneOf(part, frozenset({names.HAS_PART if positive else names.LACKS_PART}))
        case nodes.Has(feature, value):
            return _condition((feature, value), vocabulary, positive)
        case nodes.IsA(category):
            return _condition((names.TYPE, category), vocabulary, positive)
    raise TypeError(f"not an expression: {expr!r}")


def _condition(condition: Condition, vocabulary: Vocabulary, positive: bool) -> Form:
    prop, value = condition
    if prop == names.TYPE:
        if value == names.PATTERN:
            return Constant(1 if positive else -1)
        parts = tuple(_condition(c, vocabulary, positive) for c in vocabulary.definitions[value])
        return Member(value, _merge(All(parts))) if positive else AnyOf(parts)
    if prop in _PARTS:
        return OneOf(value, frozenset({prop}) if positive else _PARTS - {prop})
    if vocabulary.features[prop].single:
        allowed = vocabulary.subtree(value)
        return OneOf(prop, allowed if positive else domain(prop, vocabulary) - allowed)
    return Includes(prop, value, positive)


def _merge(form: Form) -> Form:
    if not isinstance(form, All | AnyOf):
        return form
    together = isinstance(form, All)
    flat: list[Form] = []
    for item in (_merge(i) for i in form.items):
        flat.extend(item.items if isinstance(item, type(form)) else (item,))
    out = _joined(flat, together)
    dull, final = (1, -1) if together else (-1, 1)
    if any(isinstance(i, Constant) and i.value == final for i in out):
        return Constant(final)
    out = [i for i in out if not isinstance(i, Constant)]
    if not out:
        return Constant(dull)
    return out[0] if len(out) == 1 else type(form)(tuple(out))


def _joined(items: Iterable[Form], together: bool) -> list[Form]:
    """The items, each once, those on one slot and those on lengths merged into the first of them."""
    out: list[Form] = []
    place: dict[object, int] = {}
    for item in items:
        key = (OneOf, item.slot) if isinstance(item, OneOf) else Lengths if isinstance(item, Lengths) else item
        at = place.get(key)
        if at is None:
            place[key] = len(out)
            out.append(item)
            continue
        other = out[at]
        if isinstance(item, OneOf) and isinstance(other, OneOf):
            out[at] = OneOf(item.slot, item.allowed & other.allowed if together else item.allowed | other.allowed)
        elif isinstance(item, Lengths) and isinstance(other, Lengths):
            both = _common(item.intervals, other.intervals) if together else _union(item.intervals, other.intervals)
            out[at] = _lengths(both)
            if not isinstance(out[at], Lengths):
                del place[key]  # no length is left that another could be merged with
    return out


# --- lengths --------------------------------------------------------------------------------------------------------
def _intervals(length: nodes.Length) -> tuple[Interval, ...]:
    low = length.low
    match length.op:
        case "<":
            return ((0.0, False, low, False),)
        case "<=":
            return ((0.0, False, low, True),)
        case ">":
            return ((low, False, INFINITY, False),)
        case ">=":
            return ((low, True, INFINITY, False),)
        case "=":
            return ((low, True, low, True),)
        case "between":
            assert length.high is not None
            return ((low, True, length.high, True),)
    raise ValueError(f"not a comparison: {length.op!r}")


def _outside(intervals: tuple[Interval, ...]) -> tuple[Interval, ...]:
    """The complement within (0, infinity)."""
    out: list[Interval] = []
    low, included = 0.0, False
    for a, a_in, b, b_in in intervals:
        out.append((low, included, a, not a_in))
        low, included = b, not b_in
    if low < INFINITY:
        out.append((low, included, INFINITY, False))
    return tuple(i for i in out if _not_empty(i))


def _not_empty(interval: Interval) -> bool:
    low, low_in, high, high_in = interval
    return low < high or (low == high and low_in and high_in)


def _lengths(intervals: tuple[Interval, ...]) -> Lengths | Constant:
    """Intervals as an atom. All lengths, or none, are so of every pattern, whether its length is recorded or not."""
    if not intervals:
        return Constant(-1)
    return Constant(1) if not _outside(intervals) else Lengths(intervals)


def _common(left: tuple[Interval, ...], right: tuple[Interval, ...]) -> tuple[Interval, ...]:
    out = []
    for a, a_in, b, b_in in left:
        for c, c_in, d, d_in in right:
            low = (a, a_in) if (a, not a_in) > (c, not c_in) else (c, c_in)
            high = (b, b_in) if (b, b_in) < (d, d_in) else (d, d_in)
            if _not_empty((*low, *high)):
                out.append((*low, *high))
    return tuple(sorted(out))


def _union(left: tuple[Interval, ...], right: tuple[Interval, ...]) -> tuple[Interval, ...]:
    return _outside(_common(_outside(left), _outside(right)))


# --- judging one pattern --------------------------------------------------------------------------------------------
@record
class Known(Record):
    """What is known of one pattern, closed under reasoning (broader values and categories included).

    ``holds``: literals; ``varies``: slot -> values true of some pieces; ``denied``: feature -> values; ``inapplicable``:
    features that do not apply; ``length`` in millimetres; ``line``: the pattern and the patterns it is a variant of.
    """

    line: tuple[str, ...]
    holds: frozenset[Condition]
    varies: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    denied: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    inapplicable: frozenset[str] = frozenset()
    length: tuple[float, float] | None = None
    open_slots: frozenset[str] = frozenset()


def possible(slot: str, known: Known, vocabulary: Vocabulary) -> frozenset[str]:
    """The values of a single-valued slot that are still possible for the pattern; remembered with what is known of it."""
    memory = known.__dict__.setdefault("possible", {})
    found = memory.get(slot)
    if found is None:
        found = memory[slot] = _possible(slot, known, vocabulary)
    return found


def _by_slot(known: Known) -> dict[str, list[str]]:
    """The values that hold, by slot; remembered with what is known of the pattern, since every slot is asked for."""
    found = known.__dict__.get("by_slot")
    if found is None:
        found = known.__dict__["by_slot"] = {}
        for slot, value in sorted(known.holds):
            found.setdefault(slot, []).append(value)
    return found


def _possible(slot: str, known: Known, vocabulary: Vocabulary) -> frozenset[str]:
    if slot not in vocabulary.features:
        has, lacks = (names.HAS_PART, slot) in known.holds, (names.LACKS_PART, slot) in known.holds
        return frozenset({names.HAS_PART} if has else {names.LACKS_PART} if lacks else _PARTS)
    if slot in known.inapplicable:
        return frozenset({INAPPLICABLE})
    varying = known.varies.get(slot, ())
    if len(varying) > 1:
        return frozenset().union(*(vocabulary.subtree(v) for v in varying))
    held = _by_slot(known).get(slot)
    if held:
        return vocabulary.subtree(vocabulary.narrowest(held))
    out = domain(slot, vocabulary)
    for value in known.denied.get(slot, ()):
        out -= vocabulary.subtree(value)
    return out


def judge(atom: Atom, known: Known, vocabulary: Vocabulary) -> int:
    """+1 true, 0 unknown, -1 false."""
    match atom:
        case Constant(value):
            return value
        case Is(pattern, positive):
            return 1 if (pattern in known.line) is positive else -1
        case Stated(slot, positive):
            return 1 if _stated(slot, known) is positive else -1
        case Elsewhere(slot, values, positive):
            others = elsewhere(slot, values, vocabulary)
            found = any(f == slot and v in others for f, v in known.holds) or not others.isdisjoint(known.varies.get(slot, ()))
            return 1 if found is positive else -1
        case Told(slot, value, positive):
            some = vocabulary.subtree(value)
            found = (slot, value) in known.holds or not some.isdisjoint(known.varies.get(slot, ()))
            return 1 if found is positive else -1
        case OneOf(slot, allowed):
            left = possible(slot, known, vocabulary)
            return 1 if left <= allowed else -1 if not left & allowed else 0
        case Includes(feature, value, positive):
            return _includes(feature, value, known, vocabulary) * (1 if positive else -1)
        case Member(category, conditions):
            return 1 if (names.TYPE, category) in known.holds else evaluate(conditions, known, vocabulary)
        case Lengths(intervals):
            if known.length is None:
                return 0 if intervals else -1
            span = (known.length[0], True, known.length[1], True)
            inside = _common((span,), intervals)
            return 1 if inside == (span,) else 0 if inside else -1
    raise TypeError(f"not an atom: {atom!r}")


def _stated(slot: str, known: Known) -> bool:
    if slot == names.LENGTH:
        return known.length is not None
    if slot in known.inapplicable or slot in known.open_slots or known.varies.get(slot) or known.denied.get(slot):
        return True
    return any(slot in ((lit[1],) if lit[0] in names.PARTS else (lit[0],)) for lit in known.holds)


def _includes(feature: str, value: str, known: Known, vocabulary: Vocabulary) -> int:
    if (feature, value) in known.holds:
        return 1
    if feature in known.inapplicable:
        return -1
    denied = known.denied.get(feature, ())
    return -1 if any(value in vocabulary.subtree(d) for d in denied) else 0


def evaluate(form: Form, known: Known, vocabulary: Vocabulary) -> int:
    """Strong Kleene value of a normal form for one pattern."""
    if _is(1, form, known, vocabulary):
        return 1
    return -1 if _is(-1, opened(form), known, vocabulary) else 0


def _is(value: int, form: Form, known: Known, vocabulary: Vocabulary) -> bool:
    match form:
        case All(items) | AnyOf(items):
            every = isinstance(form, All) is (value == 1)
            return (all if every else any)(_is(value, i, known, vocabulary) for i in items)
    return judge(form, known, vocabulary) == value


def opened(form: Form) -> Form:
    """The form with every definition written out and merged with its neighbours.

    Falsity is judged on this form: "crushing non-crushing clamps" is then impossible, not merely unknown. It is remembered
    with the form, which never changes: one form is judged for many patterns.
    """
    known = form.__dict__.get("opened")
    if known is None:
        known = form.__dict__["opened"] = _opened(form)
    return known


def _opened(form: Form) -> Form:
    match form:
        case Member(_, conditions):
            return opened(conditions)
        case All(items) | AnyOf(items):
            return _merge(type(form)(tuple(opened(i) for i in items)))
    return form


def undecided(form: Form, known: Known, vocabulary: Vocabulary) -> tuple[Atom, ...]:
    """The atoms that keep an unknown answer from being decided, in order; definitions are opened up."""
    return open_atoms(form, known, vocabulary) if evaluate(form, known, vocabulary) == 0 else ()


def open_atoms(form: Form, known: Known, vocabulary: Vocabulary) -> tuple[Atom, ...]:
    """``undecided`` of a form that is known to be so."""
    match form:
        case All(items) | AnyOf(items):
            found = [a for i in items for a in undecided(i, known, vocabulary)]
            return tuple(dict.fromkeys(found))
        case Member(_, conditions):
            return undecided(conditions, known, vocabulary)
    return (form,)


def slots_of(form: Form) -> frozenset[str]:
    """The features and parts that the atoms of a form ask about; lengths, categories and the like have none."""
    found = (a.slot if isinstance(a, OneOf) else a.feature for a in atoms(form) if isinstance(a, OneOf | Includes))
    return frozenset(found)


def atoms(form: Form) -> tuple[Atom, ...]:
    """All atoms, definitions opened up, in order."""
    match form:
        case All(items) | AnyOf(items):
            return tuple(dict.fromkeys(a for i in items for a in atoms(i)))
        case Member(_, conditions):
            return (form, *atoms(conditions))
    return (form,)
