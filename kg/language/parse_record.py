"""What is said of the record: what is on record of an instrument and what is not, and what an "except" takes away by it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from kg.language import nodes
from kg.language.contrasted import features_of, untold
from kg.language.entries import Entry
from kg.language.joining import NOTHING, conj, disj, family_in
from kg.language.lexicon import LENGTH
from kg.language.nodes import Expr
from kg.language.parse_nouns import NounParser

# What may stand between a denial and what is denied.
_BETWEEN = frozenset({"filler", "connector", "kw.them", "kw.with", "kw.be", "kw.have", "kw.that", "kw.do"})


class RecordParser(NounParser):
    """Clauses about what is recorded."""

    def less(self, taken: Expr, start: int) -> Expr:
        """All but what is taken away. Of what an instrument can have many of, such as uses, it is left out where it is on
        record: that it is not so is hardly ever recorded ("all clamps except those used on vessels")."""
        span = self.span(start, self.at)
        taken = self.each_denied(taken)
        each = taken.items if isinstance(taken, nodes.Or) else (taken,)
        return untold(each, span, self.lexicon) or nodes.Not(taken, span)

    def denied_of(self, denied: Expr, start: int) -> Expr:
        """What is not so; behind a "but" it is taken away ("used on bowel but not on vessels")."""
        if start and "kw.but" in self.kinds(start - 1):
            return self.less(denied, start)
        return nodes.Not(self.each_denied(denied), self.span(start, self.at))

    def each_denied(self, denied: Expr) -> Expr:
        """Uses or places of one sort with "and" between them, each of which is denied by itself ("except those for dressings
        and stitches", "not for sutures and bandages", "not for bone and not for teeth"); any other description as it is."""
        items = denied.items if isinstance(denied, nodes.And) else ()
        heads = [i for i in items if family_in(i) or isinstance(i, nodes.Everything)]
        said = sorted((i for i in items if i not in heads), key=lambda i: i.span)
        again = [i.expr if isinstance(i, nodes.Not) else i for i in said]
        joined = all(self._and_between(a.span[1], b.span[0]) for a, b in pairwise(said)) and not self._bracketed(said)
        if len(said) < 2 or not joined or isinstance(said[0], nodes.Not):
            return denied
        nots = [isinstance(i, nodes.Not) for i in said[1:]]
        if all(nots) or (not any(nots) and self._of_one_sort(said)):
            return conj([*heads, disj(again)])
        return denied

    def _bracketed(self, said: Sequence[Expr]) -> bool:
        """Whether brackets stand among descriptions: they then mean what they say."""
        first, last = (said[0].span[0], said[-1].span[1]) if said else (0, 0)
        return any(t.key == "(" and first <= t.end and t.start < last for t in self.tokens)

    def _and_between(self, start: int, end: int) -> bool:
        """Whether "and", and no "but", stands between two places of the text."""
        between = [k for at, t in enumerate(self.tokens) if start <= t.start < end for k in self.kinds(at)]
        listed = "," in {t.key for t in self.tokens if start <= t.start < end}
        return ("kw.and" in between or listed) and "kw.but" not in between

    def all_of_those(self) -> Expr | None:
        """What is said of "those" that are taken away, with what "and" adds to it ("used on bowel and made for crushing")"""
        found = self.after()
        while found is not None:
            mark = self.at
            more = None
            if self.take("kw.and", quiet=True) and not self.head_ahead() and not self.look("kw.not", "kw.only", quiet=True):
                more = self.after()
            if more is None:
                self.at = mark
                break
            found = conj([found, more])
        return found

    def and_the(self, start: int, end: int) -> bool:
        """Whether "and the" stands between two places of the text: one group beside another."""
        between = [at for at, t in enumerate(self.tokens) if start <= t.start < end]
        article = between and self.tokens[between[-1]].key in self.lexicon.words.articles
        return bool(article) and "kw.and" in {k for at in between for k in self.kinds(at)}

    def behind_denial(self, start: int) -> bool:
        """Whether what stands at a place of the text is what a "not" or an "except" before it denies."""
        at = max((i for i, t in enumerate(self.tokens) if t.end <= start), default=-1)
        while at >= 0:
            before = range(max(0, at - 2), at + 1)
            kinds = {e.kind for first in before for end, es in self.phrases(first) if end > at for e in es}
            if kinds & {"kw.not", "kw.except"}:
                return True
            if self.tokens[at].key not in self.lexicon.words.articles and kinds.isdisjoint(_BETWEEN):
                return False
            at -= 1
        return False

    def _of_one_sort(self, items: Sequence[Expr]) -> bool:
        """Whether all are places, operations and branches of surgery, or all say what something is made for, or none can be
        where another is."""
        words, vocabulary = self.lexicon.words, self.lexicon.vocabulary
        said = [features_of(i) for i in items]
        places = words.set_features | words.set_places
        if not all(said) or all(fs & places for fs in said):
            return all(said)
        if all(fs & said[0] & {*words.besides, *words.besides.values()} for fs in said):
            return True
        values = [i for i in items if isinstance(i, nodes.Has)]
        return len(values) == len(items) and all(
            a.feature == b.feature and vocabulary.exclude(a.feature, a.value, b.value) for a, b in pairwise(values)
        )

    def untold(self) -> Expr | None:
        """ "not recorded as" [ connector ] value { "or" [ connector ] value }"""
        start = self.at
        if not self.take("kw.untold", quiet=True):
            return None
        each: list[Expr] = []
        mark = self.at
        while (found := self.connected()) is not None:
            each += found.items if isinstance(found, nodes.Or) else (found,)
            mark = self.at
            if not (self.take("kw.or", quiet=True) and self.look("connector", quiet=True)):
                break
        found = untold(each, self.span(start, mark), self.lexicon)
        self.at = start if found is None else mark
        return found

    def _whose_record(self) -> Expr | None:
        """feature { "and" feature } "is" ( "recorded" | "not recorded" )"""
        start = self.at
        found: list[str] = []
        while True:
            mark = self.at
            if found and self.separator() == NOTHING:
                break
            match = self.take("feature", quiet=bool(found))
            if match is None:
                self.at = mark
                break
            found.append(self.pick(match, [e for e in match.entries if e.kind == "feature"]).term)
        if not found or not self.take("kw.be", quiet=True):
            return None
        if self.take("kw.unstated", quiet=True):
            return conj([nodes.Not(nodes.Recorded(f), self.span(start, self.at)) for f in found])
        if self.take("kw.stated", quiet=True):
            return conj([nodes.Recorded(f, self.span(start, self.at)) for f in found])
        return None

    def recorded_feature(self) -> Expr | None:
        """[ "recorded" ] feature: something is recorded of it; alone only where a piece could not lack the thing itself"""
        start = self.at
        said = self.take("kw.stated", quiet=True)

        def fits(entry: Entry) -> bool:
            feature = self.lexicon.vocabulary.features.get(entry.term)
            return bool(said) or entry.term == LENGTH or (feature is not None and feature.section == "make")

        match = self.take("feature", accept=fits, quiet=True)
        if match is None:
            self.at = start
            return None
        feature = self.pick(match, [e for e in match.entries if e.kind == "feature" and fits(e)]).term
        self.take("kw.stated", quiet=True)
        return nodes.Recorded(feature, self.span(start, self.at))
