"""Marking a written answer fact by fact: full credit for what is said, half for what is said less exactly.

A mention that entails a fact by the ontology's rules earns the mark ("a box lock" says that there is a joint); one that the
fact entails, on the same feature, earns half ("serrated" for "transverse serration"). What contradicts the record earns
nothing and is named. The words need not be those of the catalogue: a synonym, another form of the word and a slip of the pen
are read as what they mean, and the slip is shown.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from kg import names
from kg.answer.context import Context
from kg.answer.describe import the
from kg.answer.visible import table
from kg.errors import InputError
from kg.facts import PatternFacts
from kg.language import nodes
from kg.rehearse.ear import Ear
from kg.rehearse.heard import Heard, Mention, Unit
from kg.rehearse.records import THE_POINT, Fact, Item, Mark, Marked
from kg.rehearse.sentence import hear
from kg.rehearse.settings import Settings
from kg.truth import evaluate, normalise
from kg.vocabulary import Condition

LESS = "~"
"""Begins a phrase that says a fact in part, or less exactly."""
HALF = 0.6
"""So large a share of a phrase's words earns half."""
FEW = 30
"""A category of at most so many patterns says something of the name."""
LENGTH_FULL, LENGTH_HALF = 0.15, 0.3
"""A length given by eye may be off by these shares."""


class Marker:
    """Marks answers for one catalogue. ``means``: short ways of speaking, as for identification."""

    def __init__(self, ctx: Context, settings: Settings, means: Mapping[str, str] | None = None) -> None:
        self.ctx = ctx
        self.settings = settings
        self.ear = Ear(ctx.lexicon, settings, means or {})
        self._entailed: dict[Condition, frozenset[Condition]] = {}

    def mark(self, item: Item, text: str) -> Marked:
        """The answer to one question, marked. An empty answer earns nothing.

        Raises InputError (BL-I04) above ``longest_answer`` characters.
        """
        if len(text) > self.settings.longest_answer:
            limit = self.settings.longest_answer
            raise InputError(
                "BL-I04", f"The answer has {len(text):,} characters; at most {limit:,} are marked.", hint="Say it shorter."
            )
        heard = hear(self.ear, text, item.subjects)
        marks = tuple(self._mark(fact, heard, item) for fact in item.facts)
        return Marked(item, text, marks, self._wrong(item, heard, marks), tuple(dict.fromkeys(heard.read_as)))

    # --- credit ---------------------------------------------------------------------------------------------------------
    def _mark(self, fact: Fact, heard: Heard, item: Item) -> Mark:
        found: list[tuple[float, str]] = []
        if fact.names:
            found += self._named(fact, heard)
        if fact.span:
            found += self._length(fact, heard, item)
        if fact.literals:
            credits = [
                max((self._said(lit, m, fact, item) for m in heard.mentions), default=(0.0, "")) for lit in fact.literals
            ]
            if fact.every:
                mean = sum(c for c, _ in credits) / len(credits)
                found.append((1.0 if mean == 1 else 0.5 if mean > 0 else 0.0, next((t for c, t in credits if c), "")))
            else:
                found += credits
        if not fact.every and not fact.names:
            found += self._worded(fact, heard, item)
        credit, words = max(found, key=lambda f: f[0], default=(0.0, ""))
        return Mark(fact, credit, words if credit else "")

    def _named(self, fact: Fact, heard: Heard) -> list[tuple[float, str]]:
        """A name earns the mark; two different ones, of which one is right, earn half: the examiner wants one.

        So do a parent or a variant, most words of the name, and a small category that it belongs to.
        """
        said = [m for m in heard.mentions if m.names and m.positive]
        right = [m for m in said if m.names & set(fact.names)]
        other = [m for m in said if not m.names & {*fact.names, *fact.near}]
        if right:
            return [(0.5 if other else 1.0, right[0].text)]
        if other:
            return []
        near = [m.text for m in said if m.names & set(fact.near)]
        if near:
            return [(0.5, near[0])]
        classes = [m.text for m in heard.mentions if m.positive and any(self._small_class(r, fact) for r in m.readings)]
        out = [(0.5, text) for text in classes[:1]]
        for label in fact.phrases:
            wanted = self.ear.name_stems(label)
            share = max((len(wanted & s.said) / len(wanted) for s in heard.sentences), default=0.0)
            out.append((1.0 if share == 1 else 0.5 if share >= 0.5 else 0.0, label))
        return out

    def _small_class(self, reading: nodes.Expr, fact: Fact) -> bool:
        """True if a reading is a category or kind of few patterns, this one among them."""
        match reading:
            case nodes.IsA(category):
                literal = (names.TYPE, category)
            case nodes.Has(names.OF_KIND, kind):
                literal = (names.OF_KIND, kind)
            case _:
                return False
        seen = table(self.ctx)
        bits = seen.holds.get(literal, 0)
        return bits.bit_count() <= FEW and any(bits >> seen.index[n] & 1 for n in fact.names)

    def _length(self, fact: Fact, heard: Heard, item: Item) -> list[tuple[float, str]]:
        assert fact.span is not None
        low, high = fact.span
        out = []
        for a, b, of, text in heard.lengths:
            if not self._is_of(of, fact, item):
                continue
            off = max(low - b, a - high, 0) / max(low, 1)
            out.append((1.0 if off <= LENGTH_FULL else 0.5 if off <= LENGTH_HALF else 0.0, text))
        if len(item.subjects) == 2:
            other = next(f for f in item.facts if f.span and f.subject != fact.subject)
            assert other.span is not None
            sign = 1 if low > other.span[1] else -1
            for said, of, text in heard.than:
                right = sign if of == {fact.subject} else -sign if of == {other.subject} else 0
                out.append((0.5 if right == said else 0.0, text))  # how much longer was not said
        return out

    def _is_of(self, of: frozenset[str], fact: Fact, item: Item) -> bool:
        return not of or len(item.subjects) < 2 or fact.subject in of

    def _said(self, literal: Condition, mention: Mention, fact: Fact, item: Item) -> tuple[float, str]:
        if not self._is_of(mention.of, fact, item):
            return 0.0, ""
        best = max((self._entails(reading, mention.positive, literal) for reading in mention.readings), default=0.0)
        if len(item.subjects) > 1 and not mention.of:
            best = min(best, 0.5)  # true of one of the two, but of which was not said
        return best, mention.text

    def _entails(self, expr: nodes.Expr, positive: bool, literal: Condition) -> float:
        """1 if a reading says a fact, 0.5 if it says less, 0 if it does not say it."""
        if isinstance(expr, nodes.And) and positive:
            return max(self._entails(item, True, literal) for item in expr.items)
        if isinstance(expr, nodes.Or):
            return 0.5 if max(self._entails(item, positive, literal) for item in expr.items) else 0.0
        if isinstance(expr, nodes.Not):
            return self._entails(expr.expr, not positive, literal)
        said = self._literal(expr, positive)
        wanted = self._shared(literal)
        if said is None:
            return self._denial(expr, wanted)
        if wanted in self._closure(said):
            return 1.0
        if said[0] == wanted[0] and said[0] not in names.PARTS and said in self._closure(wanted):
            return 0.5
        return 1.0 if self._sole_sign(said, wanted) else 0.0

    def _literal(self, expr: nodes.Expr, positive: bool) -> Condition | None:
        match expr:
            case nodes.HasPart(part):
                return (names.HAS_PART if positive else names.LACKS_PART, part)
            case nodes.Has(feature, value) if positive:
                return (feature, value)
            case nodes.IsA(category) if positive:
                return (names.TYPE, category)
        return None

    def _denial(self, expr: nodes.Expr, wanted: Condition) -> float:
        """A denied value says what is recorded as a denial of it ("not used on"), and the only value that it leaves."""
        denies = self.ctx.vocabulary.features.get(wanted[0])
        if isinstance(expr, nodes.Has) and denies and denies.denies:
            return 1.0 if expr.value in self.ctx.vocabulary.subtree(wanted[1]) else 0.0
        if isinstance(expr, nodes.Has) and expr.feature == wanted[0] and denies and denies.single:
            left = set(self.ctx.vocabulary.values_of(expr.feature)) - self.ctx.vocabulary.subtree(expr.value)
            return 1.0 if left and left <= self.ctx.vocabulary.subtree(wanted[1]) else 0.0
        return 0.0

    def _shared(self, literal: Condition) -> Condition:
        """The literal under the feature that its value is listed under: two features may share their values."""
        prop, value = literal
        term = self.ctx.vocabulary.terms.get(value)
        return (term.feature, value) if prop not in names.PARTS and term is not None and term.feature else literal

    def _closure(self, literal: Condition) -> frozenset[Condition]:
        found = self._entailed.get(literal)
        if found is None:
            found = self._entailed[literal] = self.ctx.engine.types_only([literal])
        return found

    def _sole_sign(self, said: Condition, wanted: Condition) -> bool:
        """A part that only this value of the feature brings with it says the value: finger rings say "ring handle"."""
        feature = self.ctx.vocabulary.features.get(wanted[0])
        if said[0] != names.HAS_PART or feature is None or not feature.single or said not in self._closure(wanted):
            return False
        if feature.part == said[1] or feature.applies == said[1]:
            return False  # that there is a joint does not say which
        own = {wanted[1], *self.ctx.vocabulary.subtree(wanted[1]), *self.ctx.vocabulary.ancestors(wanted[1])}
        others = (v for v in self.ctx.vocabulary.values_of(wanted[0]) if v not in own)
        return not any(said in self._closure((wanted[0], v)) for v in others)

    # --- other words ----------------------------------------------------------------------------------------------------
    def _worded(self, fact: Fact, heard: Heard, item: Item) -> list[tuple[float, str]]:
        """Phrases, found by the stems of their words: of what can be seen in one clause, of the rest in one sentence."""
        units = heard.clauses if self._visible(fact) else heard.sentences
        units = [u for u in units if len(item.subjects) < 2 or u.of == {fact.subject}]
        agreeing = [u for u in units if not self._otherwise(fact, u)]
        if fact.parts:
            there = [max((self._phrase(p, fact, units) for p in part), default=0.0) for part in fact.parts]
            mean = sum(there) / len(there)
            out = [(1.0 if mean == 1 else 0.5 if mean else 0.0, fact.text)]
            return out if fact.about != THE_POINT else out + [(self._phrase(p, fact, units), p) for p in fact.phrases]
        # What says a fact in part only may well be another value: "disposable" of what is made both ways.
        said = ((p, units if p.startswith(LESS) else agreeing) for p in fact.phrases)
        return [(self._phrase(phrase, fact, found), phrase.removeprefix(LESS)) for phrase, found in said]

    def _visible(self, fact: Fact) -> bool:
        """True of a fact on what can be seen, and of one that is only a name or a line."""
        features = [self.ctx.vocabulary.features[p] for p, _ in fact.literals if p in self.ctx.vocabulary.features]
        return bool(fact.literals) and not any(f.section for f in features)

    def _phrase(self, phrase: str, fact: Fact, units: Sequence[Unit]) -> float:
        """How far a phrase is said in one of the units; one that begins with ``LESS`` says the fact in part only."""
        full = 0.5 if phrase.startswith(LESS) else 1.0
        phrase = phrase.removeprefix(LESS)
        if self.ear.denies(phrase):  # what is denied in the phrase has to be denied in the answer, or stand there as it is
            keys, denied = self.ear.bare_keys(phrase), self.ear.denied_stems(phrase)
            return full if any(_within(keys, u.keys) or (denied and denied <= u.denied) for u in units) else 0.0
        wanted = self.ear.phrase_stems(phrase)
        best = 0.0
        for unit in units:
            share = len(wanted & self._stems_for(fact, unit)) / len(wanted) if wanted else 0.0
            if share == 1:
                return full
            if share >= HALF and fact.literals and full == 1:
                best = 0.5
        return best

    def _stems_for(self, fact: Fact, unit: Unit) -> frozenset[str]:
        """The stems that count: those not denied; of an absence those denied; of a denied use and of "with or without" all."""
        props = {prop for prop, _ in fact.literals}
        if props == {names.LACKS_PART}:
            return unit.denied
        if props == set(names.PARTS) or any((f := self.ctx.vocabulary.features.get(p)) and f.denies for p in props):
            return unit.stems
        return unit.said

    def _otherwise(self, fact: Fact, unit: Unit) -> bool:
        """True if a unit mentions another value of the same single-valued feature, and not this one: "semicritical"."""
        if not fact.literals or fact.every:
            return False
        verdicts = [
            max(self._entails(r, m.positive, lit) for lit in fact.literals)
            for m in unit.mentions
            for r in m.readings
            if isinstance(r, nodes.Has) and m.positive and any(self._same_feature(r.feature, lit[0]) for lit in fact.literals)
        ]
        return bool(verdicts) and not any(verdicts)

    def _same_feature(self, said: str, wanted: str) -> bool:
        feature = self.ctx.vocabulary.features.get(wanted)
        return said == wanted and feature is not None and feature.single and wanted not in self.settings.hearing["never_wrong"]

    # --- what is wrong --------------------------------------------------------------------------------------------------
    def _wrong(self, item: Item, heard: Heard, marks: Sequence[Mark]) -> tuple[str, ...]:
        """What was said against the record, each once. A phrase that earned a mark is never wrong."""
        out: list[str] = []
        earned = {m.heard for m in marks if m.credit}
        if item.task in ("name", "name from use"):
            right = {n for f in item.facts for n in (*f.names, *f.near)}
            for m in heard.mentions:
                if m.names and m.positive and not m.names & right:
                    out.append(f'"{m.text}" is another instrument.')
            return tuple(dict.fromkeys(out))
        if item.task in ("disputed", "left out", "reprocess"):
            return ()
        said = frozenset().union(*(self.ear.phrase_stems(m.heard) for m in marks if m.credit and m.heard))
        sizes = self.ctx.lexicon.words.keywords["long"] if heard.lengths else ()  # "14 cm long" calls nothing long
        for mention in heard.mentions:
            if mention.text in earned or not mention.readings or mention.text.casefold() in sizes:
                continue
            if self.ear.phrase_stems(mention.text) <= said:
                continue
            of = mention.of or (frozenset(item.subjects) if len(item.subjects) == 1 else frozenset())
            for subject in sorted(of & set(item.subjects)):
                text = self._against(mention, subject, several=len(item.subjects) > 1)
                if text:
                    out.append(text)
        return tuple(dict.fromkeys(out))

    def _against(self, mention: Mention, subject: str, *, several: bool) -> str:
        facts = self.ctx.reader.facts([subject])[subject]
        disputed = {v for _, v in facts.disputed}
        for reading in (r for found in mention.readings for r in self._on_every_feature(found)):
            if not isinstance(reading, nodes.Has | nodes.HasPart | nodes.Not) or _values(reading) & disputed:
                return ""
            if isinstance(reading, nodes.Has) and self._may_be_elsewhere(reading, facts):
                return ""
            form = normalise(reading if mention.positive else nodes.Not(reading), self.ctx.vocabulary)
            if evaluate(form, facts.known, self.ctx.vocabulary) != -1:
                return ""
        if not any(self._on_every_feature(r) for r in mention.readings):
            return ""
        said = f'"{mention.text}"' if mention.positive else f'no "{mention.text}"'
        where = f" of {the(self.ctx.label(subject))}" if several else ""
        return f"You said {said}{where}; {self._recorded(mention.readings[0], facts)}."

    def _may_be_elsewhere(self, reading: nodes.Has, facts: PatternFacts) -> bool:
        """Whether it is said of a part that the instrument lacks, and people say it of other things too ("teeth" that are
        worked on, or that are prongs)."""
        part = self.ctx.vocabulary.features[reading.feature].applies
        return reading.value in self.ctx.lexicon.words.elsewhere and (names.LACKS_PART, part) in facts.known.holds

    def _on_every_feature(self, reading: nodes.Expr) -> list[nodes.Expr]:
        """A value under each feature that shares it: what it is made for may also be what it is used for besides."""
        if not isinstance(reading, nodes.Has):
            return [reading]
        if reading.feature in (names.OF_KIND, *self.settings.hearing["never_wrong"]):
            return []
        lexicon, features = self.ctx.lexicon, self.ctx.vocabulary.features
        sharing = [f for f in features if lexicon.values_feature(f) == reading.feature and not features[f].denies]
        return [nodes.Has(f, reading.value) for f in dict.fromkeys((reading.feature, *sharing))]

    def _recorded(self, reading: nodes.Expr, facts: PatternFacts) -> str:
        slot = _slot(reading)
        held = [v for f, v in facts.known.holds if f == slot]
        if held:
            return f"recorded: {self.ctx.clause((slot, self.ctx.vocabulary.narrowest(held)))}"
        for prop in names.PARTS:
            if (prop, slot) in facts.known.holds:
                return f"recorded: {self.ctx.clause((prop, slot))}"
        return "the record says otherwise"


def _within(short: Sequence[str], long: Sequence[str]) -> bool:
    """True if one sequence stands in the other, in order and without gaps."""
    return any(tuple(long[i : i + len(short)]) == tuple(short) for i in range(len(long) - len(short) + 1)) and bool(short)


def _values(expr: nodes.Expr) -> set[str]:
    match expr:
        case nodes.Has(_, value):
            return {value}
        case nodes.HasPart(part):
            return {part}
        case nodes.Not(inner):
            return _values(inner)
        case nodes.And(items) | nodes.Or(items):
            return {v for i in items for v in _values(i)}
    return set()


def _slot(expr: nodes.Expr) -> str:
    match expr:
        case nodes.Has(feature, _):
            return feature
        case nodes.HasPart(part):
            return part
        case nodes.Not(inner):
            return _slot(inner)
    return ""
