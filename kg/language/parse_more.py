"""More forms: the longest and shortest, all and any, what a part is for, what is weakly supported, counts by category or
source. Each rule's docstring is its grammar; a rule that does not fit gives None."""

from __future__ import annotations

from kg import names
from kg.language import nodes
from kg.language.entries import Entry
from kg.language.joining import combine, conj, disj
from kg.language.nodes import Expr, Question
from kg.language.parse_pieces import SUBJECTS, PieceParser

SCOPES = ("category", "kind", "group", "kw.instrument")
WEAK_BASES = ("one", "several", "maker", "veterinary", "textbook", "journal", "standard", "museum")
"""What facts may rest on at best, besides memory, as ``nodes.Weak`` calls it."""
COUNTED = ("category", "source", "eponym")
"""What a tally counts by that is no feature."""
LISTED = 5
"""So many of a ranking are listed anyway."""


PLACES = ("second", "third", "fourth", "fifth")
"""Places behind the longest and the shortest that are asked for by a word."""


class MoreParser(PieceParser):
    """Rules that end in ``Extreme``, ``Quantified``, ``PartOf``, ``DefineAll``, ``Weak`` or ``Tally``."""

    # --- the longest and the shortest ------------------------------------------------------------------------------
    def extreme(self) -> Question | None:
        """[ "which is the" ] [ "second" | ... ] ( "longest" | "shortest" ) description | "which" description "is the longest"
        | "which" description "has the greatest range of lengths" """
        start = self.at
        if (found := self._longer_of()) is not None:
            return found
        self.at = start
        self._opening("kw.longest", "kw.shortest")
        self.take("kw.be", quiet=True)
        number = self._listed_number()
        if (placed := self._in_its_place()) is not None:
            most, place = placed
            self.take("kw.of", quiet=True)
            expr = self.description()
            self._tail()
            return nodes.Extreme(expr, most, "length", 0, place) if expr is not None else None
        most = self._superlative()
        if most is not None:
            by = "ends" if self._other_end(most) else "length"
            self.take("kw.of", quiet=True)
            expr = self.description()
            self._tail()
            return nodes.Extreme(expr, most or by == "ends", by, number) if expr is not None else None
        expr = self.description()
        if expr is None:
            return None
        be = self.take("kw.be", quiet=True)
        if be and (placed := self._in_its_place()) is not None:
            self._tail()
            return nodes.Extreme(expr, placed[0], "length", 0, placed[1])
        if be and (most := self._superlative()) is not None:
            self._tail()
            return nodes.Extreme(expr, most)
        if self.take("kw.have", "kw.with", quiet=True) and (most := self._superlative(quiet=True)) is not None:
            return nodes.Extreme(expr, most, "range") if self.take("kw.range") else None
        return None

    def _longer_of(self) -> Question | None:
        """ "which is longer" [ "," ] pattern "or" pattern | pattern "or" pattern [ "," ] "which is longer"
        | "is" pattern "longer than" pattern"""
        said = (e.kind for i in range(len(self.tokens)) for _, entries in self.phrases(i) for e in entries)
        if not {"kw.longer", "kw.shorter"} & set(said):
            return None
        start = self.at
        if (
            self.take("kw.be", quiet=True)
            and (one := self.subject("pattern"))
            and (size := self.take("op.>", "op.<", quiet=True))
        ):
            two = self.subject("pattern")
            return (
                nodes.Extreme(disj([nodes.Named(one.term), nodes.Named(two.term)]), size.entry.kind == "op.>") if two else None
            )
        self.at = start
        first = self.take("kw.which_is", quiet=True) and self.take("kw.longer", "kw.shorter", quiet=True)
        if first:
            self.symbol(",")
        named = self.subjects()
        if len(named) < 2 or any(self.lexicon.vocabulary.terms[s].role != "pattern" for s in named):
            return None
        self.symbol(",")
        if not first:
            self.take("kw.which_is", quiet=True)
            first = self.take("kw.longer", "kw.shorter", quiet=True)
        if not first:
            return None
        return nodes.Extreme(disj([nodes.Named(s) for s in named]), first.entry.kind == "kw.longer")

    def _listed_number(self) -> int:
        """A number before "longest", where more are wanted than are listed anyway; else 0"""
        start = self.at
        number = self._count(digits=2) or 0
        if not self.look("kw.longest", "kw.shortest", quiet=True):
            self.at, number = start, 0
        return number if number > LISTED else 0

    def _in_its_place(self) -> tuple[bool, int] | None:
        """ "second longest", "third shortest": whether from the longest, and which, from 1 for the second"""
        for at, place in enumerate(PLACES, 1):
            start = self.at
            if match := self.take(f"kw.{place}_longest", f"kw.{place}_shortest", quiet=True):
                if self.names_a_part(self.at):
                    self.at = start
                    return None
                return match.entry.kind.endswith("longest"), at
        return None

    def _other_end(self, most: bool) -> bool:
        """ "longest" "and" "shortest": both ends are asked for"""
        start = self.at
        if self.take("kw.and", "kw.or", quiet=True) and self.take("kw.shortest" if most else "kw.longest", quiet=True):
            return True
        self.at = start
        return False

    def _superlative(self, *, quiet: bool = False) -> bool | None:
        start = self.at
        if self._whole_number() is not None and not self.look("kw.longest", "kw.shortest", quiet=True):
            self.at = start  # not "the three shortest"
        match = self.take("kw.longest", "kw.shortest", quiet=quiet)
        if match is not None and self.names_a_part(self.at):
            self.at, match = start, None  # of "the longest jaws" no length is recorded
        return None if match is None else match.entry.kind == "kw.longest"

    def names_a_part(self, at: int) -> bool:
        """Whether the word at a token names a part, and no kind of instrument with it ("the longest scalpel blade")."""
        kinds = self.kinds(at) if at < len(self.tokens) else frozenset()
        return "part" in kinds and kinds.isdisjoint(("category", "kind", "pattern", "group"))

    def _tail(self) -> None:
        """[ "that" ] "you have", "there is": says only where to look"""
        start = self.at
        self.take("kw.that", quiet=True)
        if not self.take("kw.exist", quiet=True):
            self.at = start

    # --- all and any -----------------------------------------------------------------------------------------------
    def quantified(self) -> Question | None:
        """( "is" | "do" | ... ) [ "all" | "any" ] family { "that" ... } [ "ever" ] predicate"""
        if self.take("kw.true_of", quiet=True):
            return self._true_of()
        if self.take("kw.count", quiet=True):
            return self._counted_twice()
        if self.look("kw.which", "kw.exist", "kw.longest", quiet=True):
            return None
        verb = self.verb()
        if verb is None or self.look("kw.not", quiet=True):
            return None
        quantifier = self.quantifier()
        part = self.part_asked_of()
        quantifier = quantifier or self.quantifier()
        scope = self.scope()
        if scope is None:
            return None
        if self.take("kw.ever", quiet=True):
            quantifier = quantifier or "any"
        start, behind = self.at, self.look("kw.without", "kw.with", "connector", "kw.place", quiet=True)
        if self.take("kw.be", quiet=True):
            expr = self.description(predicate=True)
        else:
            expr = self.predicate(verb)
        if behind and isinstance(expr, nodes.And) and not any("kw.and" in self.kinds(i) for i in range(start, self.at)):
            scope = conj([scope, expr.items[0]])  # "are forceps without teeth atraumatic?"
            expr = conj(list(expr.items[1:]))
        elif behind and expr is not None and self.look(*SCOPES, quiet=True):
            scope, expr = conj([scope, expr]), self.description(predicate=True)  # "are all forceps with a ratchet clamps?"
        if expr is not None and part:
            expr = self.said_of_part(expr, part)
        if expr is None or (expr == nodes.Everything() and isinstance(scope, nodes.HasPart)):
            return None  # "is the ratchet the thing that clicks?"
        if not quantifier and (feature := self.choice_of(expr)) and (category := self.category_of(scope)):
            return nodes.Value(category, (feature,))
        return nodes.Quantified(scope, expr, quantifier)

    def category_of(self, scope: Expr) -> str:
        """The category that a scope names, or that is all of one kind; empty if there is none"""
        if isinstance(scope, nodes.IsA):
            return scope.category
        if not isinstance(scope, nodes.Has):
            return ""
        condition = ((scope.feature, scope.value),)
        return next((c for c, conditions in self.lexicon.vocabulary.definitions.items() if conditions == condition), "")

    def _counted_twice(self) -> Question | None:
        """ "how many" family [ "are there" ] "and how many are" description: how many of them are, and are not"""
        scope = self.scope()
        if scope is None:
            return None
        self.take("kw.be", "kw.exist", quiet=True)
        self.take("kw.exist", quiet=True)
        self.separator()
        if not self.take("kw.count", quiet=True):
            return None
        self.take("kw.them", quiet=True)
        if not self.take("kw.be", "kw.have", quiet=True):
            return None
        expr = self.description(predicate=True)
        return nodes.Quantified(scope, expr) if expr is not None else None

    def _true_of(self) -> Question | None:
        """ "is it true of" [ "all" | "any" ] "(" description ")" "that they are" "(" description ")" """
        quantifier = self.quantifier()
        scope = self.bracket()
        expr = self.bracket() if scope is not None and self.take("kw.true_that") else None
        return nodes.Quantified(scope, expr, quantifier) if scope is not None and expr is not None else None

    def quantifier(self) -> str:
        if self.take("kw.all", quiet=True):
            return "all"
        return "any" if self.take("kw.any", quiet=True) or self.look("kw.indefinite", quiet=True) else ""

    def scope(self) -> Expr | None:
        """{ modifier } family { "that" after | "with" list }: what is said to be so of all or any of it comes later"""
        start = self.at
        before: list[Expr] = []
        seps: list[str] = []
        self._units(self.modifier, before, seps)
        if not self.look(*SCOPES, *(("kw.them",) if self.said is not None else ()), quiet=True):
            self.at = start
            return None
        head = self.head()
        if head is None or isinstance(head, nodes.Named):
            self.at = start
            return None
        parts = [head, *([combine(before, seps)] if before else [])]
        while self.look("kw.that", quiet=True) and (more := self.after()) is not None:
            parts.append(more)
        return conj(parts)

    # --- parts -----------------------------------------------------------------------------------------------------
    def part_of(self) -> Question | None:
        """[ "what is" ] ( "role of" part [ "of" subject ] | part "of" subject "for" | part "for" [ "of" subject ] )
        | "what does" part [ "of" subject ] "do"; what it is like ("serrations") may stand for it where it is for something"""
        start = self.at
        if self.take("kw.why", quiet=True):  # "why rings on the handle?"
            match = self.take("part", quiet=True)
            if match and (self.ended() or self.look("kw.part_place", quiet=True)):
                owner = self._part_owner()
                if owner is None and self.take("kw.part_place", quiet=True):
                    self.take("part", quiet=True)
                return self._part_question(self.pick(match, match.entries).term, owner)
            self.at = start
        if self.take("kw.role_of"):
            if part := self._explained_part():
                subject = self._part_owner()
                return self._part_question(part, subject)
            if value := self._explained_value():
                owner = self._part_owner()
                if self.ended():
                    return self._part_question(value, owner)
            self.at = start
            self.take("kw.role_of")
            entry = self.subject()
            return nodes.Value(entry.term, self._uses()) if entry else None
        asked = self.take("kw.whatis", "kw.which", quiet=True)
        does = self.take("kw.do", quiet=True) if asked else None
        named = bool(self.look("feature", quiet=True))  # "the lock of X" asks for a feature rather than for a part
        part = self._explained_part()
        if not part:
            if asked and (value := self._explained_value()):
                owner = self._part_owner()
                if self.take("kw.part_for"):
                    owner = owner or self._part_owner()
                    if self.ended():
                        return self._part_question(value, owner)  # "what are the serrations of artery forceps for?"
            self.at = start
            return None
        subject = self._part_owner()
        if not self.take("kw.part_for"):
            if subject is None and (does or not asked):
                return None
            if subject is None or does or named or not self.ended() or self._described(part):
                return None
        elif asked and subject is None:
            subject = self._part_owner()  # "what is the ratchet for on a Kelly?"
        return self._part_question(part, subject)

    def _explained_part(self) -> str:
        """A part, or a word of the trade that stands for one; empty if there is none."""
        match = self.take("part", "concept")
        return self.pick(match, match.entries).term if match else ""

    def _explained_value(self) -> str:
        """What a part is like ("serrations"), or in what ("curvature"); empty if no such word stands here, or if it is one of
        several."""
        match = self.look("value", "feature", quiet=True)
        fit = [e for e in match.entries if e.kind in ("value", "feature") and self._of_a_part(e)] if match else []
        best = self.lexicon.resolve(tuple([e for e in fit if e.kind == "value"] or fit))
        if len(best) != 1 or best[0].negated:
            return ""
        self.at = match.end
        return best[0].term

    def _described(self, part: str) -> bool:
        """Whether features describe the part: then "the joint of X" asks for these."""
        return any(f.part == part for f in self.lexicon.vocabulary.features.values())

    def _part_owner(self) -> str | None:
        """( "of" | "on" | "in" ) subject"""
        start = self.at
        if self.take("kw.part_place", quiet=True):
            found = self.subject(closed=False)
            if found is None and self.take("group", quiet=True):
                return None  # "of a dermatome", of which there are several: what the part is, anywhere
            if found is None and self.take("value", accept=self._adjective, quiet=True):
                found = self.subject("category", closed=False)  # of "a long haemostat": of haemostats
            if found:
                return found.term
        self.at = start
        return None

    def _of_a_part(self, entry: Entry) -> bool:
        """A value that a part has, such as a kind of joint."""
        name = entry.term if entry.kind == "feature" else self.feature_of(entry)
        feature = self.lexicon.vocabulary.features.get(name)
        return feature is not None and bool(feature.part)

    def _adjective(self, entry: Entry) -> bool:
        """A word of size or build, which changes nothing about what a part is for."""
        feature = self.lexicon.vocabulary.features.get(self.feature_of(entry))
        return feature is not None and feature.section == "make"

    def _part_question(self, part: str, subject: str | None) -> Question:
        """What a part is for, of a subject if one is named; "is there a ratchet on clamps?" asks whether they have it."""
        there = subject and any(e.kind == "kw.exist" for _, es in self.phrases(0) for e in es)
        if there and self.lexicon.vocabulary.terms[subject].role == "category":
            return nodes.Quantified(nodes.IsA(subject), nodes.HasPart(part))
        return nodes.PartOf(part, subject) if subject else nodes.Define(part)

    def parts_shared(self) -> Question | None:
        """ "which parts do" subject "share" """
        if not self.take("kw.which", "kw.whatis", quiet=True):
            return None
        if not self.take("feature", accept=lambda e: e.term == names.HAS_PART, quiet=True):
            return None
        self.take("kw.do", quiet=True)
        entry = self.subject(closed=False)
        return nodes.Value(entry.term, (names.HAS_PART,)) if entry and self.take("kw.share") else None

    # --- uses and sameness ------------------------------------------------------------------------------------------
    def may_use(self) -> Question | None:
        """ "can I use" pattern ( "on" | "for" ) value: what is recorded of its uses, and of where it is not used"""
        if not self.take("kw.may_use"):
            return None
        entry = self.subject("pattern", closed=False)
        if entry is None or not self.take("kw.place", "connector", quiet=True):
            return None
        denials = {f.denies: f.name for f in self.lexicon.vocabulary.features.values() if f.denies}
        found = self.value_of(tuple(denials))
        if found is None:
            return None
        return nodes.Value(entry.term, tuple(f for pair in denials.items() for f in pair))

    def same_as(self) -> Question | None:
        """( "is" subject "the same as" | "does" subject "have the same" feature "as" ) subject"""
        if not self.verb():
            return None
        if (told := self._two_values()) is not None:
            return told
        found = self.subjects()
        if len(found) > 1 and self.take("kw.share", quiet=True):
            return nodes.Compare(tuple(found)) if self.features() or self.ended() else None
        self.take("kw.have", quiet=True)
        if not found or not self.take("kw.same", quiet=True):
            return None
        features = self.features()
        self.take("kw.as", quiet=True)
        found += self.subjects()
        found = list(dict.fromkeys(found))
        if features and len(found) == 1:
            return None  # "do all Allis forceps have the same number of teeth?"
        return nodes.Compare(tuple(found)) if len(found) > 1 else nodes.Define(found[0])

    def _two_values(self) -> Question | None:
        """value "a" value of the same feature: "is a box lock a pivot joint?" is told by what the two mean"""
        start = self.at
        one = self._explained_value()
        two = self._explained_value() if one else ""
        known = self.lexicon.vocabulary.terms
        if two and self.ended() and known[one].feature and known[one].feature == known[two].feature:
            return nodes.Define(one) if one == two else nodes.DefineAll((one, two))
        self.at = start
        return None

    def what_makes(self) -> Question | None:
        """ "what makes something" (category | word of the trade) | "what makes" family adjective: the definition of the
        category that this is, or of the word"""
        if not self.take("kw.what_makes"):
            return None
        start = self.at
        self.take("kw.instrument", quiet=True)
        match = self.take("category", "concept", quiet=True)
        if match and self.ended():
            return nodes.Define(self.pick(match, match.entries).term)
        self.at = start
        expr = self.description()
        category = self._defined_so(expr) if expr is not None else ""
        return nodes.Define(category) if category else None

    def _defined_so(self, expr: Expr) -> str:
        """The category with just this definition; empty if there is none."""
        if isinstance(expr, nodes.IsA):
            return expr.category
        wanted: set[tuple[str, str]] = set()
        for item in expr.items if isinstance(expr, nodes.And) else (expr,):
            match item:
                case nodes.IsA(category):
                    wanted.add((names.TYPE, category))
                case nodes.Has(feature, value):
                    wanted.add((feature, value))
                case nodes.HasPart(part):
                    wanted.add((names.HAS_PART, part))
                case nodes.Not(nodes.HasPart(part)):
                    wanted.add((names.LACKS_PART, part))
                case nodes.Everything():
                    pass
                case _:
                    return ""
        return next((c for c, conditions in self.lexicon.vocabulary.definitions.items() if set(conditions) == wanted), "")

    # --- several terms ---------------------------------------------------------------------------------------------
    def define_all(self) -> Question | None:
        """( "define" | "what is" | "difference between" ) term { ( "and" | "," | "against" ) term }"""
        start = self.at
        self._opening("kw.compare")
        compared = self.take("kw.compare", quiet=True)
        if not compared:
            self.at = start
            if not self.take("kw.define", "kw.whatis"):
                return None
        found: list[str] = []
        while True:
            start = self.at
            if found:
                comma = self.symbol(",")
                if not self.take("kw.and", "kw.or", "kw.vs", quiet=True) and not comma:
                    break
            term = self.term()
            if term is None:
                self.at = start
                break
            found.append(term)
        self.take("kw.mean", quiet=True)
        if compared and any(self.lexicon.vocabulary.terms[t].role in SUBJECTS for t in found):
            return None  # instruments are set side by side instead
        return nodes.DefineAll(tuple(dict.fromkeys(found))) if len(set(found)) > 1 else None

    # --- what the record rests on ----------------------------------------------------------------------------------
    def weak(self) -> Question | None:
        """( "which" | "how many" ) "facts" [ "about" description ] "rest on memory" """
        self.take("kw.count", "kw.which", "kw.whatis", quiet=True)
        start = self.at
        if self.take("kw.instrument", quiet=True):
            self.take("kw.be", quiet=True)
            if self.take("kw.weak", quiet=True):
                return nodes.Weak(nodes.Everything())
        self.at = start
        if not self.take("kw.fact"):
            return None
        expr: Expr | None = nodes.Everything()
        if self.take("kw.about", quiet=True):
            expr = self._described_set()
        self.take("kw.be", quiet=True)
        if (basis := self._rests_on()) is None:
            return None
        if self.take("kw.about", "kw.exist", quiet=True) and not self.ended():
            expr = self._described_set()
        if basis == "one" and expr == nodes.Everything():
            return None  # "which entries have only one source" asks for instruments
        return nodes.Weak(expr, basis) if expr is not None else None

    def _rests_on(self) -> str | None:
        """ "rest on memory" | "rest on one source" | "rest on a maker's page" | "rest on veterinary sources" """
        match = self.take("kw.weak", *(f"kw.weak_{basis}" for basis in WEAK_BASES))
        if match is None:
            return None
        return next((b for b in WEAK_BASES if any(e.kind == f"kw.weak_{b}" for e in match.entries)), "")

    def _described_set(self) -> Expr | None:
        entry = self._single_pattern()
        return nodes.Named(entry) if entry else self.description()

    def _single_pattern(self) -> str:
        start = self.at
        match = self.look(*SUBJECTS, quiet=True)
        if match and all(e.kind == "pattern" for e in self._family_first(match.entries)):
            entry = self.subject("pattern", closed=False)
            if entry:
                return entry.term
        self.at = start
        return ""

    def tally(self) -> Question | None:
        """ "which sources are there"
        | "which" ( "category" | "source" | feature ) ( "has" | "is used" )
          ( ( "most" | "fewest" ) [ description ] | ( "at least" | "fewer than" | ... ) number description )"""
        start = self.at
        counted = self.take("kw.count", quiet=True)
        if counted and (by := self._tallied()) in COUNTED:
            self.take("kw.exist", quiet=True)
            return nodes.Tally(by)
        self.at = start
        self.take("kw.count", quiet=True)
        if self.take("kw.instrument", quiet=True):
            self.take("kw.be", "kw.exist", "kw.tally_verb", quiet=True)
            by = self._tallied() if self.take("kw.in_each", quiet=True) else ""
            if by not in ("", *COUNTED):
                return nodes.Group(nodes.Everything(), by)
            if by:
                return nodes.Tally(by)
        self.at = start
        if counted and (found := self._in_each()) is not None:
            return found
        self.at = start
        self.take("kw.which", "kw.whatis", quiet=True)
        by = self._tallied()
        if not by:
            return None
        if by in COUNTED:
            at = self.at
            self.take("kw.may_use", "kw.exist", "kw.can", quiet=True)
            if self.ended() and self.at > at:
                return nodes.Tally(by)  # "which sources do you use?"
            self.at = at
        self.take("kw.be", "kw.tally_verb", quiet=True)
        self.take("kw.tally_verb", quiet=True)
        if by != "source" and (counted := self._so_many()) is not None:
            pick, number = counted
        else:
            match = self.take("kw.most_of", "kw.fewest_of")
            if match is None:
                return None
            pick, number = ("most" if match.entry.kind == "kw.most_of" else "fewest"), 0
        start = self.at
        self.take("kw.instrument", "kw.fact", quiet=True)
        self.take("kw.tally_verb", quiet=True)
        if self.ended():
            return nodes.Tally(by, pick, number=number)
        self.at = start
        scope = self.description()
        self.take("kw.exist", quiet=True)
        return nodes.Tally(by, pick, scope, number) if scope is not None else None

    def _in_each(self) -> Question | None:
        """ "how many" description "in each" ( "category" | "source" | feature )"""
        self.take("kw.count", quiet=True)
        scope = self.description()
        self.take("kw.be", "kw.exist", "kw.tally_verb", quiet=True)
        by = self._tallied() if scope is not None and self.take("kw.in_each", quiet=True) else ""
        if scope is None or not by:
            return None
        return nodes.Tally(by, "", scope) if by in COUNTED else nodes.Group(scope, by)

    def _tallied(self) -> str:
        if self.take("kw.category_word"):
            return "category"
        if self.take("kw.source_word"):
            return "source"
        if self.take("kw.eponym_word"):
            return "eponym"
        match = self.take("feature", accept=lambda e: e.term in self.lexicon.vocabulary.features)
        return self.pick(match, match.entries).term if match else ""
