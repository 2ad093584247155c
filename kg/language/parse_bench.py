"""The forms of the examination bench: describe, what tells apart, telling signs, look-alikes. Each rule's docstring is its
grammar; a rule that does not fit gives None."""

from __future__ import annotations

from contextlib import suppress

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joining import NOTHING, conj
from kg.language.nodes import Question
from kg.language.parse_pieces import PieceParser

EACH_WORDS = (
    "kw.alike_word",
    "kw.name_word",
    "kw.eponym_word",
    "kw.source_word",
    "kw.dispute_word",
    "kw.category_word",
    "kw.shared_word",
)
"""What can be counted of every pattern by itself, beside the values of a feature."""


class BenchParser(PieceParser):
    """Rules that end in ``Describe``, ``Compare``, ``Telling``, ``LookAlikes`` or ``Alike``, or in what two words mean."""

    def describe(self) -> Question | None:
        """ "describe" [ part { ( "and" | "," ) part } "of" ] pattern | "what does" pattern "look like" """
        start = self.at
        if self.take("kw.which", "kw.whatis", quiet=True) and self.take("kw.do", quiet=True):
            entry = self.subject("pattern", closed=False)
            return nodes.Describe(entry.term) if entry and self.take("kw.look_like", quiet=True) else None
        self.at = start
        if not self.take("kw.describe"):
            return None
        start = self.at
        parts = self.parts_listed()
        if not parts or not self.take("kw.of", "kw.part_place", quiet=True):
            self.at, parts = start, ()
        entry = self.subject("pattern")
        return nodes.Describe(entry.term, parts) if entry else None

    def parts_listed(self) -> tuple[str, ...]:
        """part { ( "and" | "," ) part }, where an end of an instrument is a part too; empty if no such thing stands here"""
        found: list[str] = []
        while not found or self.separator() != NOTHING:
            match = self.take("part", "concept", quiet=True)
            terms = self.lexicon.vocabulary.terms
            named = [e for e in match.entries if e.kind == "part" or terms[e.term].order] if match else []
            if match is None or not named:
                return ()
            found.append(self.pick(match, named).term)
        return tuple(dict.fromkeys(found))

    def tells_apart(self) -> Question | None:
        """ "what tells" subject ( "and" | "from" ) subject [ "apart" ]"""
        if not self.take("kw.tells"):
            return None
        found = self.subjects()
        self.take("kw.apart", quiet=True)
        return nodes.Compare(tuple(found), True) if len(found) > 1 else None

    def telling(self) -> Question | None:
        """ "telling signs of" ( pattern [ "among" description ] | category )"""
        self._opening("kw.telling")
        if not self.take("kw.telling"):
            return None
        entry = self.subject(closed=False)
        if entry is None:
            return None
        if entry.kind != "pattern" or not self.take("kw.among"):
            return nodes.Telling(entry.term)
        expr = self.description()
        return nodes.Telling(entry.term, expr) if expr is not None else None

    def look_alikes(self) -> Question | None:
        """ "look-alikes of" pattern"""
        self._opening("kw.lookalikes")
        if not self.take("kw.lookalikes"):
            return None
        entry = self.subject("pattern")
        return nodes.LookAlikes(entry.term) if entry else None

    def alike_counted(self) -> Question | None:
        """[ "which" ] description ( "have" | connector ) ( "no" | "most" | "fewest" | [ "at least" ] number )
        ( "look-alikes" | "other names" | "sources" | "disputes" | feature | "features in common with" pattern )"""
        if not self.says(*EACH_WORDS, "feature"):
            return None
        self.take("kw.which", "kw.whatis", quiet=True)
        scope = self.description()
        denied = scope is not None and self.take("kw.do", quiet=True) and self.take("kw.not", quiet=True)
        if scope is not None:
            self.take("kw.that", quiet=True)
            self.take("kw.be", quiet=True)
        owns = self.take("kw.have", "kw.with", "kw.without", "connector", quiet=True) if scope is not None else None
        if scope is None or owns is None:
            return None
        pick, number = ("=", 0) if any(e.kind == "kw.without" for e in owns.entries) else (">=", 1)
        bound = None
        denied = denied or self.take("kw.no", "kw.not", quiet=True)
        self.take("kw.any", quiet=True)
        most = None if denied else self.take("kw.most_of", "kw.fewest_of", quiet=True)
        if most:
            pick, number = ("most" if most.entry.kind == "kw.most_of" else "fewest"), 0
        elif denied:
            pick, number = "=", 0
        else:
            only = self.take("kw.only", quiet=True)
            if (bound := self._so_many()) is not None:
                pick, number = bound
            elif (exact := self._count()) is not None:
                pick, number = "=", exact
            elif only:
                return None
        counted = bound is not None or (pick, number) != (">=", 1)
        at = self.at
        by = self._counted_of_each(counted, (pick, number) == ("=", 0))
        if by.removeprefix(nodes.EACH) in self.lexicon.words.besides.values() and self._counts_the_first(at):
            if pick == "=":
                return None
            number -= bound is not None  # of two uses one is what it is made for
        elif by and number > (pick == ">=") and pick not in ("most", "fewest") and self._counts_the_label(at):
            number -= 1  # of two names one is its own
        pick, number = (">=", 1) if (pick, number) == (">", 0) else (pick, number)
        return nodes.Tally(by, pick, scope, number) if by else None

    def _counts_the_first(self, at: int) -> bool:
        """Whether the word at a place is for what an instrument is made for, or for all that it is used for: "two uses" """
        start, self.at = self.at, at
        match = self.look("feature", quiet=True)
        self.at = start
        return match is not None and any(e.term in self.lexicon.words.besides for e in match.entries)

    def _counts_the_label(self, at: int) -> bool:
        """Whether the word at a place is for all names, not for other names: "two names" """
        return any(e.kind == "kw.any_name" for _, es in self.phrases(at) for e in es)

    def _counted_of_each(self, bounded: bool, none: bool) -> str:
        """ "look-alikes" | "other names" | "eponyms" | "sources" | feature, behind a number or "the most"; ``none``:
        behind "no", where a feature is not counted; empty if none of them"""
        if self.take("kw.alike_word", quiet=True):
            return "alike"
        if not bounded:
            return ""
        if self.take("kw.name_word", quiet=True):
            return nodes.EACH + "name"
        if self.take("kw.eponym_word", quiet=True):
            return nodes.EACH + "eponym"
        if self.take("kw.source_word", quiet=True):
            return nodes.EACH + "source"
        if self.take("kw.dispute_word", quiet=True):
            return nodes.EACH + "dispute"
        if self.take("kw.category_word", quiet=True):
            return nodes.EACH + "category"
        if self.take("kw.shared_word", quiet=True):
            entry = self.subject("pattern", closed=False)
            return f"{nodes.EACH}{nodes.SHARED}{entry.term}" if entry else ""
        if none:
            return ""  # "without an insert" says what it has not
        features, besides = self.lexicon.vocabulary.features, self.lexicon.words.besides
        match = self.take("feature", quiet=True, accept=lambda e: e.term in features)
        if match is None:
            return ""
        found = self.pick(match, match.entries).term
        return nodes.EACH + besides.get(found, found)

    def alike(self) -> Question | None:
        """[ "which" ] [ description ] "like" pattern [ [ "but" ] ( "longer" | "shorter" | description ) ]"""
        if not self.says("kw.like"):
            return None
        self.take("kw.which", "kw.whatis", quiet=True)
        scope = None if self.look("kw.like", quiet=True) else self.description()
        if isinstance(scope, nodes.Named):
            return None  # "is a Kelly the same as a Crile?"
        self.take("kw.that", quiet=True)
        self.take("kw.be", quiet=True)
        part = self.at > 0 and "part" in self.kinds(self.at - 1)
        if not self.take("kw.like") or part:
            return None  # "beaks like a cow's horns" are like them, and not the instrument
        entry = self.subject("pattern")
        if entry is None:
            return None
        if self.ended():
            return nodes.Alike(entry.term, scope) if scope and scope != nodes.Everything() else nodes.LookAlikes(entry.term)
        self.symbol(",")
        self.take("kw.but", "kw.except", "kw.only", quiet=True)
        self.take("kw.it", quiet=True)
        start = self.at
        self.take("kw.be", quiet=True)
        size = self.take("kw.longer", "kw.shorter", quiet=True)
        if size and self.ended():
            return nodes.Alike(entry.term, scope, size.entry.kind.removeprefix("kw."))
        self.at = start
        expr = self.description(predicate=True)
        both = [i for i in (scope, expr) if i is not None and i != nodes.Everything()]
        return nodes.Alike(entry.term, conj(both)) if expr is not None and both else None

    def words_compared(self) -> Question | None:
        """term "and" term, one of them an everyday word for several families ("forceps"): what both mean"""
        one = self.term()
        two = self.term() if one and self.take("kw.and", quiet=True) else None
        roles = {self.lexicon.vocabulary.terms[t].role for t in (one, two) if t in self.lexicon.vocabulary.terms}
        explained = one != two and "concept" in roles and "pattern" not in roles
        return nodes.DefineAll((one, two)) if one and two and explained else None

    def terms_differ(self) -> Question | None:
        """term "differ from" term | term "and" term "differ": what both mean"""
        one = self.term()
        both = one is not None and self.take("kw.and", quiet=True)
        if one is None or not (both or self.take("kw.differ_from", quiet=True)):
            return None
        two = self.term()
        if both and (not self.take("kw.differ", quiet=True) or self._of_two_roles(one, two)):
            return None
        return nodes.DefineAll((one, two)) if two and two != one else None

    def _of_two_roles(self, one: str, two: str | None) -> bool:
        """Whether a value and an instrument are named: "how do toothed and plain Adsons differ?" """
        terms = self.lexicon.vocabulary.terms
        roles = {terms[t].role for t in (one, two) if t in terms}
        return bool(two) and roles in ({"value", "pattern"}, {"value", "category"})

    def in_what(self) -> None:
        """( features | value ) "of": in what two are compared; all is told of them, and that first"""
        start = self.at
        with suppress(QuestionError):
            said = self.says("kw.of") and (self.features() or self.take("value", quiet=True))
            if said and self.take("kw.of", quiet=True):
                return
        self.at = start
