"""The sentence to say aloud, and what speaks for and against a name."""

from __future__ import annotations

from collections.abc import Sequence

from kg import names
from kg.identify.belief import Belief, inseparable_from
from kg.identify.fit import fits
from kg.identify.gain import separating
from kg.identify.observe import Observation
from kg.identify.table import LENGTH, UNRECORDED, Table
from kg.language import nodes
from kg.language.joining import disj
from kg.truth import evaluate, normalise
from kg.vocabulary import Vocabulary
from kg.wording import article, capital, clause, listing

BECAUSE = 3
"""At most so many reasons are said aloud."""
OTHERS = 2
TWIN = 0.2
"""An inseparable pattern with less than this share of the first one's probability is not said aloud."""
MOST_ALTERNATIVES = 3
"""Of more alternatives than these, the word that stands for them is said."""
FAINT = 0.34
"""Below this probability no single name is called likely."""


def said(expr: nodes.Expr, vocabulary: Vocabulary) -> str:
    """An observation as a clause without its subject: "has a box lock", "has no ratchet", "is about 14 cm long"."""
    match expr:
        case nodes.Has(feature, value):
            return clause((feature, value), vocabulary)
        case nodes.HasPart(part):
            return clause((names.HAS_PART, part), vocabulary)
        case nodes.IsA(category):
            return clause((names.TYPE, category), vocabulary)
        case nodes.Length(op, low, high):
            return _length(op, low, high)
        case nodes.Not(inner):
            return _negative(inner, vocabulary)
        case nodes.And(items):
            return listing(said(i, vocabulary) for i in items)
        case nodes.Or(items):
            return _alternatives([said(i, vocabulary) for i in items])
        case nodes.Solely(feature, values):
            return f"only {_alternatives([clause((feature, v), vocabulary) for v in values])}"
        case nodes.Untold(feature, value):
            return f"is not recorded as: {clause((feature, value), vocabulary)}"
        case nodes.Everything():
            return "is an instrument"
        case nodes.Named(pattern):
            return f"is {article(vocabulary.label(pattern))}"
    raise TypeError(f"not an expression: {expr!r}")


def _alternatives(clauses: list[str]) -> str:
    """ "is curved or straight": a verb that all share is said once."""
    verb = clauses[0].partition(" ")[0]
    if all(c.startswith(verb + " ") for c in clauses):
        clauses = [clauses[0], *(c.removeprefix(verb + " ") for c in clauses[1:])]
    return listing(clauses, "or")


def _negative(expr: nodes.Expr, vocabulary: Vocabulary) -> str:
    match expr:
        case nodes.HasPart(part):
            return clause((names.LACKS_PART, part), vocabulary)
        case nodes.Or(items):
            return listing(_negative(i, vocabulary) for i in items)
        case nodes.Not(inner):
            return said(inner, vocabulary)
    text = said(expr, vocabulary)
    verb, _, rest = text.partition(" ")
    if verb == "has":
        bare = rest.removeprefix("a ").removeprefix("an ") if rest.startswith(("a ", "an ")) else rest
        return f"has no {bare}" if not bare.startswith("the ") else f"has not {bare}"
    return f"is not {rest}" if verb == "is" else f"does not fit: {text}"


def _length(op: str, low: float, high: float | None) -> str:
    if high is not None:
        return f"is {_cm(low)} to {_cm(high)} cm long"
    words = {"<": "is shorter than", "<=": "is at most", ">": "is longer than", ">=": "is at least", "=": "is about"}
    return f"{words[op]} {_cm(low)} cm{'' if op in '<>' else ' long'}"


def _cm(millimetres: float) -> str:
    return f"{millimetres / 10:.1f}".removesuffix(".0")


# --- what speaks for and against -------------------------------------------------------------------------------------
def _verdict(table: Table, pattern: int, item: Observation) -> int:
    """1 if what was seen agrees with what is recorded of a pattern, -1 if not, 0 if nothing decisive is recorded."""
    if isinstance(item.expr, nodes.Length) and pattern in table.lengths:
        # A length is judged by eye, and one of the sizes made is in the hand: near one of them is near enough.
        return 1 if fits(item.form, table)[pattern] >= 0.5 else -1
    return evaluate(item.form, table.facts[pattern].known, table.vocabulary)


def _what_holds(table: Table, pattern: int, expr: nodes.Expr) -> nodes.Expr:
    """Of alternatives that were seen, those that are recorded of a pattern; all of them if none is by itself."""
    if not isinstance(expr, nodes.Or):
        return expr
    known = table.facts[pattern].known
    held = [e for e in expr.items if evaluate(normalise(e, table.vocabulary), known, table.vocabulary) == 1]
    return disj(held) if held else expr


def _in_short(item: Observation, expr: nodes.Expr, vocabulary: Vocabulary) -> str:
    """What was seen, or the part of it that is worth saying; a word that stands for many values as it was typed."""
    if isinstance(expr, nodes.Or) and len(expr.items) > MOST_ALTERNATIVES:
        return f'fits "{item.text}"'
    return said(expr, vocabulary)


def verdicts(
    table: Table, pattern: int, observations: Sequence[Observation]
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """(agrees, disagrees, not recorded) as clauses, for one pattern."""
    agrees, disagrees, open_ = [], [], []
    for item in observations:
        truth = _verdict(table, pattern, item)
        if truth == 1:
            agrees.append(_in_short(item, _what_holds(table, pattern, item.expr), table.vocabulary))
            continue
        text = _in_short(item, item.expr, table.vocabulary)
        if truth == -1:
            disagrees.append(text)
        else:
            open_.append(text)
    return tuple(agrees), tuple(disagrees), tuple(open_)


def recorded(table: Table, pattern: int, slot: str) -> str:
    """What is recorded of a pattern on one slot, as a clause; empty if nothing is."""
    vocabulary, known = table.vocabulary, table.facts[pattern].known
    if slot == LENGTH:
        if known.length is None:
            return ""
        low, high = known.length
        return f"is {_cm(low)} cm long" if low == high else f"is {_cm(low)} to {_cm(high)} cm long"
    if slot not in vocabulary.features:
        for prop in names.PARTS:
            if (prop, slot) in known.holds:
                return clause((prop, slot), vocabulary)
        return ""
    if slot in known.inapplicable:
        feature = vocabulary.features[slot]
        return clause((names.LACKS_PART, feature.applies), vocabulary) if feature.applies else ""
    varying = known.varies.get(slot, ())
    if len(varying) > 1:
        return listing((clause((slot, v), vocabulary) for v in varying), "or")
    held = [v for f, v in known.holds if f == slot]
    if not held:
        return ""
    deepest = max(len(vocabulary.ancestors(v)) for v in held) if vocabulary.features[slot].single else None
    shown = sorted(v for v in held if deepest is None or len(vocabulary.ancestors(v)) == deepest)
    return listing(clause((slot, v), vocabulary) for v in shown[:3])


def against(table: Table, pattern: int, observations: Sequence[Observation]) -> tuple[str, ...]:
    """What was seen that the recorded facts contradict, each with what is recorded instead."""
    out = []
    for item in observations:
        if _verdict(table, pattern, item) != -1:
            continue
        text = said(item.expr, table.vocabulary)
        instead = [recorded(table, pattern, slot) for slot in item.slots]
        instead = [t for t in instead if t]
        out.append(f"{text}; recorded: {listing(instead)}" if instead else text)
    return tuple(out)


# --- the sentence ------------------------------------------------------------------------------------------------------
def sentence(table: Table, belief: Belief, observations: Sequence[Observation], rows: Sequence[Sequence[float]]) -> str:
    """ "Most likely a ..., also called ..., because ...; it could be ... if ...". Hedged as far as the facts demand."""
    vocabulary = table.vocabulary
    first, probability = belief.ranked[0]
    if not observations:
        return "Nothing has been observed yet."
    leading = belief.leading(most=6)
    if probability < FAINT:
        some = listing((article(vocabulary.label(table.patterns[i])) for i in leading[:3]), "or")
        return f"Too little has been seen to name it; it may be {some}, among others."
    label = vocabulary.label(table.patterns[first])
    text = ("Most likely " if probability >= 0.5 else "Perhaps ") + article(label)
    others = [a for a in vocabulary.terms[table.patterns[first]].alt if a.casefold() not in label.casefold()][:OTHERS]
    if others:
        text += f", also called {listing((article(o) for o in others), 'or')},"
    reasons = _reasons(table, belief, first, observations, rows)
    if reasons:
        text += f" because it {listing(reasons)}"
    twins = inseparable_from(table, first, leading)[1:]
    weights = belief.weights
    likely = [i for i in twins if weights[i] >= TWIN * probability]
    if likely:
        named = listing((article(vocabulary.label(table.patterns[i])) for i in likely[:OTHERS]), "or")
        text += f"; it could as well be {named}: no recorded feature tells them apart"
    rival = next((i for i, p in belief.ranked[1:4] if i not in twins and p >= 0.01), None)
    if rival is not None:
        text += _rival(table, first, rival, observations)
    missing = verdicts(table, first, observations)[1]
    if missing:
        text += f"; against it speaks that it {listing(missing[:OTHERS])}"
    return f"{capital(text)}.".replace(",;", ";")


def _reasons(
    table: Table, belief: Belief, first: int, observations: Sequence[Observation], rows: Sequence[Sequence[float]]
) -> list[str]:
    """The observations that speak most for the first candidate against all others; those that agree only."""
    everyone = [i for i, _ in belief.ranked]
    scored = []
    for place, (item, row) in enumerate(zip(observations, rows, strict=True)):
        if _verdict(table, first, item) == 1:
            mean = sum(row[i] for i in everyone) / len(everyone)
            scored.append((row[first] / mean, place))
    best = sorted(sorted(scored, key=lambda pair: (-pair[0], pair[1]))[:BECAUSE], key=lambda pair: pair[1])
    reasons = [observations[place] for _, place in best]
    return [_in_short(item, _what_holds(table, first, item.expr), table.vocabulary) for item in reasons]


def _rival(table: Table, first: int, rival: int, observations: Sequence[Observation]) -> str:
    """ "; it could be X if it ...": the first thing that tells the two apart and was not seen yet, else one that was."""
    label = article(table.vocabulary.label(table.patterns[rival]))
    asked = {slot for item in observations for slot in item.slots}
    telling = separating(table, first, rival)
    for slot in [*(s for s in telling if s not in asked), *(s for s in telling if s in asked)]:
        text = recorded(table, rival, slot)
        if slot == names.OF_KIND:
            kinds = [v for f, v in table.facts[rival].known.holds if f == slot]
            text = f"is classed with {_family(table.vocabulary.label(table.vocabulary.narrowest(kinds)))}"
        if text:
            return f"; it could be {label} if it {text}"
    return f"; it could be {label}"


def examples(table: Table, slot: str, leading: Sequence[int], most: int = 4) -> tuple[str, ...]:
    """Values of a slot among the leading candidates, as labels, the most probable candidate's first."""
    vocabulary = table.vocabulary
    found: list[str] = []
    for i in leading:
        if slot == LENGTH:
            if i in table.lengths:
                found.append(recorded(table, i, slot).removeprefix("is ").removesuffix(" long"))
            continue
        k = table.slot_class(slot, i)
        if k == UNRECORDED:
            continue
        if slot not in vocabulary.features:
            found.append("there" if names.HAS_PART in table.slots[slot].classes[k] else "absent")
            continue
        known = table.facts[i].known
        varying = known.varies.get(slot, ())
        held = [v for f, v in known.holds if f == slot]
        if len(varying) > 1:
            found += [vocabulary.label(v) for v in varying]
        elif held:
            label = vocabulary.label(vocabulary.narrowest(held))
            found.append(_family(label) if slot == names.OF_KIND else label)
    return tuple(dict.fromkeys(found))[:most]


def _family(label: str) -> str:
    """A kind's label without the remark that it speaks of the kind in general."""
    return label.removesuffix(" in general")
