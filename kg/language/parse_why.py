"""The forms that argue: why, why not, why this but not that, statements to be argued, and new categories. Each rule's
docstring is its grammar; a rule that does not fit gives None."""

from __future__ import annotations

from collections.abc import Iterator

from kg.language import nodes
from kg.language.cursor import Match
from kg.language.entries import Entry
from kg.language.nodes import Expr, Question
from kg.language.parse_pieces import PieceParser
from kg.language.tokens import OPEN, Token

MOST_TERMS = 4
"""So many words are explained where a reason is asked for that no definition gives."""


def _terms_of(expr: Expr) -> Iterator[str]:
    """The categories, values and parts that a description names."""
    match expr:
        case nodes.IsA(term) | nodes.Has(_, term) | nodes.HasPart(term):
            yield term
        case nodes.Not(inner):
            yield from _terms_of(inner)
        case nodes.And(items) | nodes.Or(items):
            for item in items:
                yield from _terms_of(item)


class WhyParser(PieceParser):
    """Rules that end in ``Why``, ``Contrast``, ``Holds`` or ``NewCategory``."""

    def why(self) -> Question | None:
        """ "why" ( "is" [ "not" ] subject predicate | subject "is" predicate ); the subject is a pattern, or one "but not"
        another, which may also come last ("but Y is not"); of a family what it has is defined"""
        if not self.take("kw.why"):
            return None
        self.take("kw.that", quiet=True)
        verb = self.verb()
        negated = bool(verb and self.take("kw.not"))
        start = self.at
        entry = self.subject("pattern", closed=False) or self._one_before()
        if entry is not None and (found := self._argued(entry, verb, negated)) is not None:
            return found
        self.at = start
        return self._why_a_family(verb, negated)

    def _why_a_family(self, verb: Match | None, negated: bool) -> Question | None:
        """( "do" | "is" ) [ "not" ] [ "some" ] family predicate: what the words mean, as a definition says what puts something
        there; of one part or value that a family has, what that is"""
        self.take("kw.all", "kw.any", quiet=True)
        family = self.take("category", "kind", "group", "kw.instrument", quiet=True) if verb is not None else None
        if verb is None or family is None:
            return None
        negated = bool(self.take("kw.not", quiet=True)) or negated
        expr = self.predicate(verb)
        if expr is None or not self.ended():
            return None
        if isinstance(expr, nodes.HasPart | nodes.Has) and not negated:
            return nodes.Define(expr.part if isinstance(expr, nodes.HasPart) else expr.value)
        terms = dict.fromkeys((*[e.term for e in family.entries if e.kind == "category"][:1], *_terms_of(expr)))
        return nodes.DefineAll(tuple(terms)) if 1 < len(terms) <= MOST_TERMS else None

    def _one_before(self) -> Entry | None:
        """ "why no ratchet?": of the one pattern of the question before"""
        found = self.said.subjects(self.lexicon) if self.said is not None else ()
        if len(found) != 1 or self.lexicon.vocabulary.terms[found[0]].role != "pattern" or self.ended():
            return None
        return Entry("pattern", found[0], self.lexicon.name(found[0]))

    def _argued(self, entry: Entry, verb: Match | None, negated: bool) -> Question | None:
        """What is said of the subject of a "why", or of a statement, that stands before it."""
        if (second := self._another()) is not None:
            return nodes.Compare((entry.term, second))
        other = self._but_not()
        tail = None if other else self._other_last()
        tokens = self.tokens
        if tail:
            other, end = tail
            self._cut(tokens[:end])
        try:
            start = self.at
            verb = verb or self.verb()
            negated = negated or self._denies_all()
            expr = self.after() if verb is None else self.predicate(verb)
            if expr is None or not self.ended():
                return None
        finally:
            if tail:
                self._cut(tokens)
        if tail:
            self.at = len(tokens)
        bracket = start < len(self.tokens) and self.tokens[start].key == OPEN
        if isinstance(expr, nodes.Not) and not bracket and not negated and other is None:
            return nodes.Why(entry.term, expr.expr, True)
        if other is not None:
            return nodes.Contrast(entry.term, other, nodes.Not(expr, expr.span) if negated else expr)
        return nodes.Why(entry.term, expr, negated)

    def _another(self) -> str | None:
        """[ "is" ] [ "not" ] pattern: "why is a Kelly not a Crile?" asks what tells them apart"""
        start = self.at
        self.take("kw.be", quiet=True)
        self.take("kw.not", quiet=True)
        entry = self.subject("pattern", closed=False) if self.look("pattern", quiet=True) else None
        if entry is not None and self.ended():
            return entry.term
        self.at = start
        return None

    def _but_not(self) -> str | None:
        """ "but not" pattern, right after the subject"""
        start = self.at
        self.symbol(",")
        if self.take("kw.not", quiet=True) and self.look("pattern", quiet=True):
            entry = self.subject("pattern", closed=False)
            self.symbol(",")
            if entry:
                return entry.term
        self.at = start
        return None

    def _other_last(self) -> tuple[str, int] | None:
        """(the other pattern, the token before which its part begins): [ "," ] ( "but not" pattern | "but" pattern "is not")
        at the end of the question"""
        start = self.at
        found: tuple[str, int] | None = None
        for at in range(start + 1, len(self.tokens)):
            self.at = at
            denied = bool(self.take("kw.not", quiet=True))
            if denied or self.take("kw.but", "kw.and", quiet=True):
                denied = denied or bool(self.take("kw.not", quiet=True))
                match = self.look("pattern", quiet=True)
                if match:
                    self.at = match.end
                    self.take("kw.instrument", quiet=True)
                    if not denied:
                        denied = bool(
                            self.take("kw.be", "kw.have", "kw.do", "kw.can", quiet=True) and self.take("kw.not", quiet=True)
                        )
                    if denied and self.ended():
                        best = self.lexicon.resolve(match.entries)
                        if len(best) > 1:
                            raise self.ambiguous(match, best)
                        end = at - 1 if self.tokens[at - 1].key == "," else at
                        found = (best[0].term, end)
                        break
        self.at = start
        return found

    def _cut(self, tokens: list[Token]) -> None:
        """Reads on as if only these tokens were there."""
        self.tokens = tokens
        self._found.clear()

    def _denies_all(self) -> bool:
        """ "not" before one plain description, taken; "not curved and not toothed" is read word by word"""
        start = self.at
        if self.take("kw.not", quiet=True):
            joined = ("kw.and", "kw.or", "kw.but", "kw.not", "kw.no", "kw.neither", "kw.without", "kw.except")
            if not any(kind in joined for kind in self._kinds_ahead()) and all(
                t.key not in (OPEN, ",") for t in self.tokens[self.at :]
            ):
                return True
        self.at = start
        return False

    def _kinds_ahead(self) -> set[str]:
        """Kinds of the longest phrases from here to the end; a word inside a name is not one ("non-crushing clamp")."""
        kinds: set[str] = set()
        at = self.at
        while at < len(self.tokens):
            found = self.phrases(at)
            if found:
                kinds.update(e.kind for e in found[0][1])
            at = found[0][0] if found else at + 1
        return kinds

    def hindered(self) -> Question | None:
        """ "what keeps" pattern "from being" predicate | "what is missing for" pattern "to be" predicate"""
        if not self.take("kw.hindered", quiet=True):
            return None
        entry = self.subject("pattern", closed=False)
        if entry is None or not self.take("kw.from_being"):
            return None
        expr = self.description(predicate=True)
        return nodes.Why(entry.term, expr, True) if expr is not None else None

    def statement(self) -> nodes.Holds | nodes.Why | nodes.Contrast | None:
        """pattern ( "is" predicate | "has" list | after ), or the same of one pattern "but not" another; a whole "why" too"""
        start = self.at
        if self.look("kw.why", quiet=True):
            found = self.why()
            return found if found is not None and self.ended() else None  # type: ignore[return-value]
        self.at = start
        self.take("kw.that", quiet=True)
        entry = self.subject("pattern", closed=False)
        if entry is None:
            return None
        mark = self.at
        if self._but_not() or self._other_last():
            self.at = mark
            return self._argued(entry, None, False)  # type: ignore[return-value]
        verb = self.verb()
        expr = self.predicate(verb) if verb else self.after()
        return nodes.Holds(entry.term, expr) if expr is not None and self.ended() else None

    def new_category(self) -> Question | None:
        """ "define" any words "as" description"""
        if not self.take("kw.define", quiet=True):
            return None
        start = self.at
        place = next((i for i in range(start + 1, len(self.tokens)) if self._as_at(i)), None)
        if place is None:
            return None
        first, last = self.tokens[start].start, self.tokens[place - 1].end
        words = self.text[first:last].strip(" \"'“”‘’").split()
        while len(words) > 1 and words[0].casefold() in self.lexicon.words.articles:
            words = words[1:]
        self.named = (start, place)
        self.at = place
        self.take("kw.as")
        expr = self.description()
        return nodes.NewCategory(" ".join(words), expr, (first, last)) if expr is not None and words else None

    def _as_at(self, at: int) -> bool:
        """Whether the word that ends the new name stands here; not as a piece of a longer phrase ("as well as")."""
        found = self.phrases(at)
        return bool(found) and any(e.kind == "kw.as" for e in found[0][1])
