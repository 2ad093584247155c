"""The forms of who looks over the whole record: several counts side by side, what is missing of a set, why a pattern stands
where it stands. Each rule's docstring is its grammar; a rule that does not fit gives None."""

from __future__ import annotations

from kg.language import nodes
from kg.language.nodes import Expr, Question
from kg.language.parse_pieces import PieceParser


class SurveyParser(PieceParser):
    """Rules that end in ``Counts``, ``Gaps`` or ``Filed``."""

    def counts(self) -> Question | None:
        """ "how many" description { ( [ "and" | "," ] "how many" | "against" ) description } [ "are there" ]"""
        if not self.take("kw.count", quiet=True):
            return None
        found: list[Expr] = []
        while True:
            start = self.at
            expr = self.description()
            if expr is None or not self._of_a_family(start):
                return None  # "how many scissors, and how many curved?": of which?
            found.append(expr)
            self.take("kw.exist", quiet=True)
            if self.ended():
                break
            if not self.take("kw.vs", quiet=True):
                self.separator()
                if not self.take("kw.count", quiet=True):
                    return None
            else:
                self.take("kw.count", quiet=True)
        return nodes.Counts(tuple(found)) if len(found) > 1 else None

    def _of_a_family(self, start: int) -> bool:
        """Whether a family is named since a place: a description without one speaks of what was named before."""
        families = {"category", "kind", "group", "kw.instrument", "pattern"}
        return any(not families.isdisjoint(self.kinds(at)) for at in range(start, self.at))

    def gaps(self) -> Question | None:
        """ "what is missing from" description"""
        if not self.take("kw.gaps", quiet=True):
            return None
        expr = self.description()
        if isinstance(expr, nodes.Named):
            return nodes.Describe(expr.pattern)
        return nodes.Gaps(expr) if expr is not None else None

    def filed(self) -> Question | None:
        """ "under which category" [ "is" | "does" ] subject "filed" [ "and why" ] | "the categories of" pattern"""
        if self.take("kw.filed_of", quiet=True):
            entry = self.subject("pattern")
            return nodes.Filed(entry.term) if entry else None
        if not self.take("kw.filed_where", quiet=True):
            return None
        self.take("kw.be", "kw.do", "kw.can", "kw.have", quiet=True)
        entry = self.subject(closed=False)
        if entry is None or not self.take("kw.filed", quiet=True):
            return None
        self.symbol(",")
        self.take("kw.grounds", quiet=True)
        return nodes.Filed(entry.term) if entry.kind == "pattern" else nodes.Define(entry.term)
