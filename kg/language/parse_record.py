"""What is said of the record: what is on record of an instrument and what is not, and what an "except" takes away by it."""

from __future__ import annotations

from kg.language import nodes
from kg.language.contrasted import untold
from kg.language.entries import Entry
from kg.language.joining import NOTHING, conj
from kg.language.lexicon import LENGTH
from kg.language.nodes import Expr
from kg.language.parse_nouns import NounParser


class RecordParser(NounParser):
    """Clauses about what is recorded."""

    def less(self, taken: Expr, start: int) -> Expr:
        """All but what is taken away. Of what an instrument can have many of, such as uses, it is left out where it is on
        record: that it is not so is hardly ever recorded ("all clamps except those used on vessels")."""
        span = self.span(start, self.at)
        each = taken.items if isinstance(taken, nodes.Or) else (taken,)
        return untold(each, span, self.lexicon) or nodes.Not(taken, span)

    def denied_of(self, denied: Expr, start: int) -> Expr:
        """What is not so; behind a "but" it is taken away ("used on bowel but not on vessels")."""
        if start and "kw.but" in self.kinds(start - 1):
            return self.less(denied, start)
        return nodes.Not(denied, self.span(start, self.at))

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
