"""What the forms of questions are made of: subjects, features, terms to explain, predicates, and the refusal of
advice."""

from __future__ import annotations

from collections.abc import Iterable

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.cursor import Match
from kg.language.entries import Entry
from kg.language.joining import NOTHING, disj
from kg.language.lexicon import LENGTH
from kg.language.nodes import Expr, Question
from kg.language.parse_expr import ExprParser
from kg.language.tokens import OPEN

SUBJECTS = ("pattern", "category")
# Where a word to be explained names several things, the plainest comes first.
TERMS = ("category", "part", "value", "concept", "feature", "pattern", "kind")


class PieceParser(ExprParser):
    """Rules shared by the forms."""

    def refuse_advice(self) -> None:
        """Raises BL-Q06 if the question asks for what no catalogue can say."""
        at = 0
        while at < len(self.tokens):
            found = self.phrases(at)
            if not found:
                at += 1
                continue
            end, entries = found[0]
            for entry in entries:
                if entry.kind == "advice":
                    advice = self.lexicon.advice(entry)
                    raise QuestionError("BL-Q06", advice.message, question=self.text, span=self.span(at, end), hint=advice.hint)
            at = end

    def with_kinds(self) -> str:
        """A feature, or a part or what it is like, whose kinds are asked for ("types of ratchet"); empty if there is none, or
        if the word stands for instruments too."""
        match = self.look("feature", "part", "value", quiet=True)
        if match is None or self.kinds(self.at) & {"category", "kind", "group", "pattern"}:
            return ""
        if self.tokens[match.end - 1].key in self.lexicon.heads():
            return ""  # "hooks", which instruments are called too
        known = self.lexicon.vocabulary.features
        fit = [e for e in match.entries if e.kind == "feature"]
        fit = fit or [e for e in match.entries if e.kind == "part"]
        fit = fit or [e for e in match.entries if e.kind == "value" and not e.negated and known[self.feature_of(e)].part]
        best = self.lexicon.resolve(fit) if fit else ()
        if len(best) != 1:
            return ""
        self.at = match.end
        return best[0].term

    def subject(self, *kinds: str, closed: bool = True) -> Entry | None:
        """pattern | category, with "pattern" or "instrument" after it passed over; ``closed``: no family may follow"""
        if (meant := self._meant(kinds or SUBJECTS)) is not None:
            return meant
        match = self.take(*(kinds or SUBJECTS))
        if match is None:
            return None
        entry = self.pick(match, match.entries)
        if entry.kind == "pattern":
            self.absorb_name(entry)
            if closed:
                self.no_family_after(match, entry)
        return entry

    def _meant(self, kinds: Iterable[str]) -> Entry | None:
        """ "it": the one subject of the question before"""
        if self.said is None or not self.look("kw.it", quiet=True):
            return None
        found = self.said.subjects(self.lexicon)
        role = self.lexicon.vocabulary.terms[found[0]].role if len(found) == 1 else ""
        if role not in kinds:
            return None
        self.take("kw.it", quiet=True)
        return Entry(role, found[0], self.lexicon.name(found[0]))

    def subjects(self) -> list[str]:
        """subject { ( "and" | "with" | "," | ... ) subject }"""
        found: list[str] = []
        while True:
            start = self.at
            if found:
                comma = self.symbol(",")
                if not self.take("kw.versus") and not comma:
                    break
            entry = self.subject()
            if entry is None:
                self.at = start
                break
            found.append(entry.term)
        return found

    def features(self) -> tuple[str, ...]:
        """feature { ( "and" | "," ) feature }; a part stands for the features that describe it"""
        found: list[str] = []
        self.parts_said: list[str] = []
        while True:
            start = self.at
            if found and self.separator() == NOTHING:
                break
            match = self.take("feature", "part")
            if match is None:
                self.at = start
                break
            found.extend(self._features_named(match))
        return tuple(dict.fromkeys(found))

    def told(self, entry: Entry, features: tuple[str, ...]) -> Question:
        """What is recorded of a subject under features; where only parts were said that several features describe, how these
        parts of the pattern look."""
        parts = tuple(dict.fromkeys(self.parts_said))
        described = {f.name for f in self.lexicon.vocabulary.features.values() if f.part in parts}
        if parts and entry.kind == "pattern" and described == set(features):
            return nodes.Describe(entry.term, parts)
        return nodes.Value(entry.term, features)

    def _features_named(self, match: Match) -> Iterable[str]:
        named = [e for e in match.entries if e.kind == "feature"]
        if named:
            term, word = self.pick(match, named).term, self.quote(match.start, match.end)
            uses = self._uses()
            if term in uses and " " not in word and word.casefold() != self.lexicon.vocabulary.label(term):
                return uses  # "the use of", "the function of": whatever it is for
            return (term,)
        part = self.pick(match, match.entries).term
        described = [f for f in self.lexicon.vocabulary.features.values() if f.part == part]
        if not described:
            return (names.HAS_PART,)
        self.parts_said += [part] if len(described) > 1 else []
        return [f.name for f in sorted(described, key=lambda f: (f.order, f.name))]

    def _uses(self) -> tuple[str, ...]:
        """The features that say what an instrument is for, as the word file lists them for "what is X for"."""
        asked = max((c.ask for c in self.lexicon.words.connectors), key=len)
        return tuple(f for f in asked if self.lexicon.exists(f))

    def term(self) -> str | None:
        """[ "the part" | "the feature" | ... ] any term"""
        start = self.at
        roles = [role for role in TERMS if self.look(f"role.{role}", quiet=True)]
        for role in roles:
            self.take(f"role.{role}")
            match = self.take(role, negated=True)
            if match:
                return self.pick(match, match.entries).term
            self.at = start
        match = self.take(*TERMS, negated=True)
        if match is None:
            return None
        best = self.lexicon.resolve(match.entries)
        first = min(TERMS.index(e.kind) for e in best)
        return self.pick(match, [e for e in best if e.kind == TERMS[first]]).term

    def predicate(self, verb: Match) -> Expr | None:
        """What follows the verb and the name: a description after "is", a list after "has", else a clause without
        its "that" """
        before, self.of_one = self.of_one, True
        try:
            return self._predicate(verb)
        finally:
            self.of_one = before

    def _predicate(self, verb: Match) -> Expr | None:
        kinds = {e.kind for e in verb.entries}
        if "kw.have" in kinds:
            start = self.at
            if self.take("kw.not"):
                inner = self.list_of(self.thing, self.at)
                return nodes.Not(inner, self.span(start, self.at)) if inner else self._need(None, start)
            return self.list_of(self.thing, self.at)
        if "kw.be" in kinds:
            self.take("kw.classify", quiet=True)  # "is it a kind of clamp?"
            return self.description(predicate=True)
        return self.after()

    def part_asked_of(self) -> str:
        """part "of": "is the tip of the Kelly toothed?" asks it of the instrument"""
        start = self.at
        match = self.take("part", quiet=True)
        if match and self.take("kw.part_place", quiet=True):
            return self.pick(match, [e for e in match.entries if e.kind == "part"]).term
        self.at = start
        return ""

    def part_owned(self) -> str:
        """part behind a name that owns it: "are the Balfour's blades curved?", "are Babcock tips smooth?" ask it of the
        instrument, not of what is a blade"""
        match = self.look("part", quiet=True)
        if match is None or match.end >= len(self.tokens) or match.end < max(end for end, _ in self.phrases(self.at)):
            return ""
        if not ("kw.be" in self.kinds(0) or ("kw.do" in self.kinds(0) and "kw.have" in self.kinds(match.end))):
            return ""
        self.at = match.end
        return self.pick(match, [e for e in match.entries if e.kind == "part"]).term

    def family_of_it(self, named: int) -> str:
        """Goes back to the family that ends a name behind which nothing is said, since it is what is asked: "are Kellys artery
        forceps?" (not "are Mayo scissors?"), "is the DeBakey thumb forceps or artery forceps?" """
        ended = self.ended()
        if "kw.be" in self.kinds(0) and (ended or self.look("kw.or", quiet=True)):
            inside = (at for at in range(named + 1, self.at) if not ended or self._plural(at - 1))
            families = (at for at in inside for end, es in self.phrases(at) if end == self.at and _family(es))
            self.at = next(families, self.at)
        return ""

    def _plural(self, at: int) -> bool:
        """Whether the word here is one of several of a name ("Kellys")."""
        said = self.quote(at)
        return said[:1].isupper() and said.endswith("s") and said.casefold() != self.tokens[at].key

    def said_of_part(self, expr: Expr, part: str) -> Expr | None:
        """What a description says of one part: of a word of several features ("sharp") only those of this part; None if it says
        anything of another part, or sets something else against it ("fine or blunt")."""
        features, term = self.lexicon.vocabulary.features, self.lexicon.vocabulary.terms[part]
        words = {self.lexicon.folder.key(text) for text in (term.label, *term.alt) if " " not in text}

        def speaks(feature: str) -> bool:  # "points of the prongs" speaks of a tip too
            record = features.get(feature)
            return record is not None and (record.part == part or not words.isdisjoint(self._words_of(feature)))

        match expr:
            case nodes.Or(items) | nodes.And(items) if all(isinstance(i, nodes.Has) for i in items):
                fit = [i for i in items if isinstance(i, nodes.Has) and speaks(i.feature)]
                if isinstance(expr, nodes.And):
                    return expr if len(fit) == len(items) else None
                return disj(fit) if {i.span for i in fit} == {i.span for i in items} else None
            case nodes.Has(feature, _):
                return expr if speaks(feature) else None
            case nodes.Not(inner):
                found = self.said_of_part(inner, part)
                return None if found is None else nodes.Not(found, expr.span)
        return None

    def _words_of(self, term: str) -> tuple[str, ...]:
        return self.lexicon.folder.phrase(self.lexicon.vocabulary.label(term))

    def choice_of(self, expr: Expr) -> str:
        """The feature of which all alternatives are values ("critical, semicritical or noncritical"): the question asks which;
        empty for any other description, and where brackets or "instruments" spell the description out."""
        features = {i.feature for i in expr.items if isinstance(i, nodes.Has)} if self._alternatives(expr) else set()
        record = self.lexicon.vocabulary.features.get(next(iter(features), ""))
        return record.name if len(features) == 1 and record is not None and record.single else ""

    def choices_of(self, expr: Expr) -> tuple[str, ...]:
        """``choice_of`` for one instrument: all features of which alternatives set against each other are values, "sharp or
        blunt" of several; none for any other description."""
        if (one := self.choice_of(expr)) or not self._alternatives(expr) or not isinstance(expr, nodes.Or):
            return (one,) if one else ()
        if len({i.span for i in expr.items}) < 2:
            return ()  # one word of several features
        features = self.lexicon.vocabulary.features
        named = [i.feature for i in expr.items if isinstance(i, nodes.Has) and i.feature in features]
        return tuple(dict.fromkeys(named)) if len(named) == len(expr.items) else ()

    def _alternatives(self, expr: Expr) -> bool:
        """Whether it names nothing but values set against each other, and no instruments with them."""
        if not isinstance(expr, nodes.Or) or not all(isinstance(i, nodes.Has) for i in expr.items):
            return False
        if (span := expr.items[0].span) != (0, 0) and {i.span for i in expr.items} == {span}:
            return False  # one bound on a number, which several values meet ("at least four teeth")
        return not any(t.key == OPEN for t in self.tokens) and not self.says("kw.instrument")

    def _opening(self, *kinds: str) -> None:
        """[ "what is" | "which" | "show" ] before a phrase that could open the question by itself"""
        if not self.look(*kinds, quiet=True):
            self.take("kw.whatis", "kw.which", quiet=True)

    def verb(self) -> Match | None:
        return self.take("kw.be", "kw.have", "kw.do", "kw.can")

    def _feature_shared(self, *between: str) -> str:
        """value ( one of ``between`` ) value: the one feature that both are values of; empty if there is none"""
        one = self.take("value", negated=True, quiet=True)
        two = self.take("value", negated=True, quiet=True) if one and self.take(*between, quiet=True) else None
        shared = {self.feature_of(e) for e in one.entries} & {self.feature_of(e) for e in two.entries} if one and two else set()
        return shared.pop() if len(shared) == 1 else ""

    def by(self) -> str | None:
        """ "by" feature [ "in" unit ] | "by whether" [ "they are" ] value "or" value
        | "by whether they have" ( part | value ) | "with and without" part"""
        start = self.at
        if (
            self.take("kw.with", quiet=True)
            and self.take("kw.and", "kw.or", quiet=True)
            and self.take("kw.without", quiet=True)
        ):
            match = self.take("part")
            if match:
                return self.pick(match, match.entries).term
        self.at = start
        self.symbol(",")
        if self.take("kw.by"):
            match = self.take("feature", accept=lambda e: e.term == names.LENGTH or e.term in self.lexicon.vocabulary.features)
            if match:
                feature = self.pick(match, match.entries).term
                self.take("kw.sorts", quiet=True)
                at = self.at
                if not (feature == names.LENGTH and self.take("kw.place", quiet=True) and self.take("unit", quiet=True)):
                    self.at = at  # "by length in mm"
                return feature
            if part := self.take("part", quiet=True):
                return self.pick(part, part.entries).term
            if widest := self._of_a_widest_value():
                return widest
            if self.take("kw.whether", quiet=True):
                self.take("kw.them", "kw.it", quiet=True)
                has = self.take("kw.be", "kw.have", quiet=True)
                at = self.at
                if shared := self._feature_shared("kw.or", "kw.and"):
                    return shared
                self.at = at
                if has and (part := self.take("part", quiet=True)):
                    return self.pick(part, part.entries).term
                if has and (value := self.take("value", quiet=True)):
                    return self.feature_of(self.pick(value, value.entries))  # "by whether they have teeth"
        self.at = start
        return None

    def _of_a_widest_value(self) -> str:
        """The feature of what something has, of which a word is the widest value ("by their teeth"); empty without one."""
        start = self.at
        broader = self.lexicon.vocabulary.broader_of
        match = self.take("value", quiet=True, accept=lambda e: not broader(e.term) and not e.negated)
        found = self.feature_of(self.pick(match, match.entries)) if match else ""
        if found in self.lexicon.vocabulary.features and self.lexicon.feature(found).form == "with":
            return found
        self.at = start  # "by what they cut"
        return ""

    def columns(self) -> tuple[str, ...]:
        """feature { ( "and" | "," ) feature }, where a word for the widest value of one stands for it ("teeth and use")"""
        found: list[str] = []
        while True:
            start = self.at
            if found:
                self.separator()
            new = self.features() or ((one,) if (one := self._of_a_widest_value()) else ())
            if not new:
                self.at = start
                return tuple(dict.fromkeys(found))
            found.extend(new)

    def in_order(self) -> bool | None:
        """ "from shortest to longest" (no) | "from longest to shortest" (yes): whether downwards; None if neither"""
        match = self.take("kw.upwards", "kw.downwards", quiet=True)
        return None if match is None else match.entry.kind == "kw.downwards"

    def downwards(self, feature: str) -> bool:
        """Whether the order that may be said behind a grouping by length has the longest first."""
        start = self.at
        self.symbol(",")
        if (down := self.in_order() if feature == LENGTH else None) is None:
            self.at = start
        return bool(down)

    def features_of(self, expr: Expr) -> tuple[str, ...]:
        """The features that a description speaks of; of a category those of its definition."""
        found: list[str] = []

        def visit_category(category: str, seen: frozenset[str]) -> None:
            for prop, value in self.lexicon.vocabulary.definitions.get(category, ()):
                if prop == names.TYPE:
                    if value not in seen:
                        visit_category(value, seen | {value})
                elif prop == names.LACKS_PART:
                    found.append(names.HAS_PART)
                else:
                    found.append(prop)

        def visit(node: Expr) -> None:
            match node:
                case nodes.Has(feature, _):
                    found.append(feature)
                case nodes.HasPart():
                    found.append(names.HAS_PART)
                case nodes.Length():
                    found.append(LENGTH)
                case nodes.IsA(category):
                    visit_category(category, frozenset({category}))
                case nodes.Not(inner):
                    visit(inner)
                case nodes.And(items) | nodes.Or(items):
                    for item in items:
                        visit(item)

        visit(expr)
        return tuple(dict.fromkeys(found))


def _family(entries: Iterable[Entry]) -> bool:
    return any(e.kind == "category" for e in entries)
