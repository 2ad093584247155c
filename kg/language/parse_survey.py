"""The forms of who looks over the whole record: several counts side by side, what is missing of a set, what differs within
one, why a pattern stands where it stands. Each rule's docstring is its grammar; a rule that does not fit gives None."""

from __future__ import annotations

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joining import names_family
from kg.language.nodes import Expr, Question
from kg.language.parse_pieces import PieceParser


class SurveyParser(PieceParser):
    """Rules that end in ``Counts``, ``Gaps``, ``Differences`` or ``Filed``."""

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
        return nodes.Gaps(expr) if expr is not None else None

    def paired(self) -> Question | None:
        """ "pairs of look-alikes" [ "among" description ] [ "that differ in" ( "only" (feature | part) | number "features" ) ]
        | "pairs of look-alikes" "of which one is among" description
        | "which features tell look-alikes apart" [ "among" description ]
        | "table of" description "with" features
        | "what share of the facts" [ "about" description ] "rests on what kind of source" """
        match = self.take("kw.pair_word", "kw.signs_apart", "kw.share_facts", "kw.table_of", quiet=True)
        if match is None:
            return None
        scope: Expr | None = nodes.Everything()
        kinds = {e.kind for e in match.entries}
        if "kw.table_of" in kinds:
            scope = self.description()
            features = self.columns() if scope is not None and self.take("kw.table_with", quiet=True) else None
            return nodes.Tally(nodes.ROWS + ",".join(features), "", scope) if features and scope is not None else None
        if "kw.share_facts" in kinds:
            if self.take("kw.about", "kw.of", quiet=True):
                scope = self.description()
            at_end = self.take("kw.each_basis", quiet=True)
            return nodes.Tally("basis", "", scope) if at_end and scope is not None else None
        outward = self.take("kw.one_of", quiet=True)
        if outward or self.take("kw.among", "kw.of", quiet=True):
            scope = self.description()
        if scope is None or isinstance(scope, nodes.Named):
            return None  # the look-alikes of one pattern
        if outward:  # of "what looks like a duck's bill" that is seen, and no family
            return nodes.Tally(nodes.PAIR_OF, "", scope) if names_family(scope) else None
        if "kw.signs_apart" in kinds:
            return nodes.Tally("sign", "", scope)
        match = self.take("kw.apart_in", "kw.apart_only", quiet=True)
        if match is None:
            return nodes.Tally(nodes.PAIR, "", scope)
        only = any(e.kind == "kw.apart_only" for e in match.entries) or self.take("kw.only", quiet=True)
        number = 0 if self.take("kw.no_feature", quiet=True) else self._count()
        if number is not None:
            return (
                nodes.Tally(nodes.PAIR, "=", scope, number) if self.take("kw.feature_word", quiet=True) or not number else None
            )
        self._past_fillers()
        found = self.take("feature", "part", quiet=True) if only else None
        slot = self.pick(found, found.entries).term if found else self._of_a_widest_value() if only else ""
        return nodes.Tally(f"{nodes.PAIR}:{slot}", "", scope) if slot else None

    def differences(self) -> Question | None:
        """( "compare" | "what tells" ) description [ "compared" | "apart" | "with each other" ]
        | "how do" description "differ" """
        self._opening("kw.compare")
        listing = max((end for end, es in self.phrases(self.at) if any(e.kind == "kw.which" for e in es)), default=0)
        first = self.take("kw.compare", "kw.tells", "kw.how", quiet=True)
        if first is None or self.ended():
            return None
        listing = listing > self.at
        start, how = self.at, any(e.kind == "kw.how" for e in first.entries)
        try:
            expr = self.description()
        except QuestionError as error:
            if error.code == "BL-Q05" and not {"kw.and", "kw.or"}.isdisjoint(
                k for at in range(start, len(self.tokens)) for k in self.kinds(at)
            ):
                return None
            raise
        if expr is None or not self._whole_set(start, expr):
            return None
        end = self.take(*(("kw.differ",) if how else ("kw.compared", "kw.mutually", "kw.apart", "kw.differ")), quiet=True)
        tells = any(e.kind == "kw.tells" for e in first.entries)
        if end is None and (how or (tells and self._of_a_family(start))):
            return None  # "what distinguishes artery forceps": from others
        if end is None and listing:
            return None  # "tell me one that cuts bone" asks for a list
        if isinstance(expr, nodes.Named) and not (end and any(e.kind == "kw.mutually" for e in end.entries)):
            return None  # "compare Kelly forceps": with which?
        return nodes.Differences(expr)

    def _whole_set(self, start: int, expr: Expr) -> bool:
        """Whether a description is of one set: "curved and straight clamps" are two sides, but for brackets."""
        said = {"kw.them", "kw.ones"}
        pointing = expr != nodes.Everything() and any(said & self.kinds(at) for at in range(start, self.at))
        if not pointing and not self._of_a_family(start):
            return False  # "differences between joints"
        if self.tokens[start].key == "(":
            return True
        items = expr.items if isinstance(expr, nodes.And) else (expr,)
        if len(items) > 1 and any(isinstance(i, nodes.Named) for i in items):
            return False  # "Gigli apart from Hey"
        groups = {tuple(v) for v in self.lexicon.words.groups.values()}
        either = [i for i in items if isinstance(i, nodes.Or) and _terms(i) not in groups]
        denied = {i.expr for i in items if isinstance(i, nodes.Not)}
        features = self.lexicon.vocabulary.features
        single = [i.feature for i in items if isinstance(i, nodes.Has) and features[i.feature].single]
        return not either and denied.isdisjoint(items) and len(single) == len(set(single))

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


def _terms(either: nodes.Or) -> tuple[str, ...]:
    return tuple(getattr(i, "category", "") or getattr(i, "pattern", "") for i in either.items)
