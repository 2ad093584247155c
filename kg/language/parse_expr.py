"""Descriptions of sets of patterns: the part of the grammar below the question forms.

    description = noun-phrase { "or" noun-phrase }
    noun-phrase = { modifier } [ head ] { after }          (head: a category, "instruments", one instrument)
    modifier    = [ "not" ] ( value | part | "(" description ")" | length )
    after       = "with" list | "without" list | "that" clause | "used on" list | length | value
                | "except" noun-phrase | ...

"Not" binds closest, then "and" (a comma, or nothing at all, means the same), then "or"; but alternatives of one feature
belong together ("crushing curved or straight clamps"), and the head of a noun phrase holds for all that is said of it.
Each function's docstring is its rule.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import HEADS
from kg.language.joining import AND, COMMA, NOTHING, OR, combine, conj, disj, names_family
from kg.language.nodes import Expr
from kg.language.parse_said import SaidParser
from kg.language.tokens import CLOSE, OPEN, SYMBOL, too_deep

MAX_RECURSION = 80  # of one rule inside another; about ten Python frames each would come near the interpreter's limit


class ExprParser(SaidParser):
    """The description part of the parser."""

    depth, modal = 0, False  # ``modal``: whether a "can" was read: what can be held, is held with something

    # --- description -----------------------------------------------------------------------------------------------
    def description(self, *, clause: bool = False, predicate: bool = False) -> Expr | None:
        """noun-phrase { ("or" | "and" | ",") noun-phrase }

        ``predicate``: what follows "is", where "and" means both at once; ``clause``: a predicate inside "that is ...", which
        gives way to a noun phrase of the sentence around it.
        """
        self.depth += 1
        if self.depth > MAX_RECURSION:
            raise too_deep(self.text, self.span(self.at))
        try:
            return self._description(clause, predicate)
        finally:
            self.depth -= 1

    def _description(self, clause: bool, predicate: bool) -> Expr | None:
        start = self.at
        first, headed = self.noun_phrase(predicate)
        if first is None:
            self.at = start
            return None
        items, seps, places = [first], [], []
        while True:
            before = self.at
            sep = self.separator()
            place = (before, self.at)
            ahead = self.head_ahead()
            if sep == NOTHING or (clause and ahead and not headed) or (sep != OR and not ahead):
                self.at = before
                break
            item, headed = self.noun_phrase(predicate)
            if item is None:
                self.at = before
                break
            if self._all_but(first.span[0], *place) and not seps:
                first = items[0] = conj([first, self._taken_away(item, *place)])
                continue
            items.append(item)
            seps.append(sep)
            places.append(place)
        if not seps or (set(seps) == {COMMA} and sum(map(names_family, items)) < 2 and not self.says("kw.ones")):
            return conj(items)  # "fenestrated jaws, forceps": all is said of the one family
        if not predicate and (AND in seps or OR not in seps):
            if (either := self._all_ones(items, places)) is not None:
                return either
            raise self._and_of_heads(seps, places)
        return self._of_all(items) if set(seps) <= {OR, COMMA} and self._said_of_all(items) else combine(items, seps)

    def _and_of_heads(self, seps: Sequence[str], places: Sequence[tuple[int, int]]) -> QuestionError:
        """ "clamps and scissors": both kinds, or things that are both? The person has to say."""
        at = next(i for i, sep in enumerate(seps) if sep != OR)
        start, end = places[at]
        word = self.lexicon.word
        both = f"{word('that')} {self._plural_be()}"
        less = any("kw.but" in self.kinds(i) for i in range(start, end))
        either = self.replaced_all(places, f" {word('except')} " if less and len(places) == 1 else f" {word('or')} ")
        return QuestionError(
            "BL-Q05",
            f'"{self.quote(start, end)}" between two kinds of instrument can mean either of them, or both at once.',
            question=self.text,
            span=self.span(start, end),
            readings=(either, self.replaced(start, end, f" {both} ")) if len(places) == 1 else (either,),
        )

    def _plural_be(self) -> str:
        phrases = self.lexicon.words.keywords["be"]
        return phrases[1] if len(phrases) > 1 else phrases[0]

    def separator(self) -> str:
        """ "or" | "and" | "but" | "," [ "or" | "and" ] | nothing"""
        if self._by_ahead():
            return NOTHING
        if self.take("kw.or"):
            return OR
        if self.take("kw.and", "kw.but"):
            return AND
        if self.symbol(","):
            if self.take("kw.or"):
                return OR
            return AND if self.take("kw.and", "kw.but") else COMMA
        return NOTHING

    def _only_there(self) -> bool:
        """ "retractors you hold": a phrase that says that there are some, at the end or before what is said of them"""
        match = self.look("kw.exist", quiet=True)
        if match is None or match.end < match.start + 2:
            return False
        rest = match.end >= len(self.tokens) or self.tokens[match.end].kind == SYMBOL
        more = (e.kind for end, es in self.phrases(match.end) if end == len(self.tokens) for e in es)
        rest = rest or "kw.exist" in more  # "do you hold altogether"
        return rest or any(e.kind == "kw.that" for _, es in self.phrases(match.end) for e in es)

    def _by_ahead(self) -> bool:
        """Whether words follow that ask for the list by a feature ("clamps and their lengths"), with a comma before or not"""
        start = self.at
        self.symbol(",")
        by = self.look("kw.by", quiet=True)
        found = by is not None and by.start == self.at and by.end > by.start + 1
        self.at = start
        return found

    # --- noun phrase -----------------------------------------------------------------------------------------------
    def noun_phrase(self, predicate: bool = False) -> tuple[Expr | None, bool]:
        """{ modifier } [ head ] { after }; also tells whether there was a head. Nothing at all gives None."""
        if predicate and (negative := self._negative_phrase()):
            return negative
        before: list[Expr] = []
        seps: list[str] = []
        self._units(self.modifier, before, seps)
        head = self.head()
        if head is None:
            # Without a head all that is said stands on one level: "crushing or with a ratchet".
            self._units(self.after, before, seps)
            return (combine(before, seps), False) if before else (None, False)
        after: list[Expr] = []
        after_seps: list[str] = []
        start = self.at
        self.separator_before_after()
        self.of_all = isinstance(head, nodes.Everything)
        self._units(self.after, after, after_seps)
        if not after:
            self.at = start
        parts = [head]
        if before:
            parts.append(combine(before, seps))
        if after:
            parts.append(combine(after, after_seps))
        return conj(parts), True

    def separator_before_after(self) -> None:
        """A comma, "and", "but" or "or" between a head and what is said of it ("clamps, but not curved")."""
        before = self.at
        sep = self.separator()
        if sep == OR or self.head_ahead():
            self.at = before

    def _negative_phrase(self) -> tuple[Expr, bool] | None:
        """ "not" { modifier } head: after "is" the "not" holds for the whole ("is not a crushing clamp")"""
        start = self.at
        if self.take("kw.not") and self.head_ahead():
            before: list[Expr] = []
            seps: list[str] = []
            self._units(self.modifier, before, seps)
            head = self.head()
            if head is not None:
                inner = conj([head, combine(before, seps)]) if before else head
                after: list[Expr] = []
                after_seps: list[str] = []
                self._units(self.after, after, after_seps)
                negative = nodes.Not(inner, self.span(start, self.at))
                return (conj([negative, combine(after, after_seps)]) if after else negative), True
        self.at = start
        return None

    def _units(self, unit: Callable[[], Expr | None], items: list[Expr], seps: list[str]) -> None:
        """unit { ( "and" | "or" | "," | "but" | nothing ) unit }, appended to ``items`` and ``seps``; stops before a
        new noun phrase."""
        while True:
            start = self.at
            sep = NOTHING
            if items:
                sep = self.separator()
                if sep != NOTHING and unit == self.after and self.head_ahead():
                    self.at = start
                    return
            mark = self.at
            item = unit()
            if item is None and sep != NOTHING and unit == self.modifier:
                item = self._cut_modifier()
            if item is None:
                self.at = start
                return
            if items:
                self._check_both(items[-1], item, sep, start, mark)
                seps.append(sep)
            items.append(item)
            self._tightly(items, seps)

    def _cut_modifier(self) -> Expr | None:
        """The adjective of a family's name: "curved or crushing clamps" speaks of clamps, not of all that is curved"""
        start = self.at
        self.cutting = True
        match = self.look(
            "value", quiet=True, accept=lambda e: self.lexicon.feature(self.feature_of(e)).form in ("adjective", "with")
        ) or self.look("wide", quiet=True)
        self.cutting = False
        if match:
            self.at = match.end
            if self.head_ahead() and match.entry.kind == "wide":
                return self._wide(match)
            if self.head_ahead():
                best = self.lexicon.resolve(match.entries)
                if len(best) == 1:
                    return nodes.Has(self.feature_of(best[0]), best[0].term, self.span(match.start, match.end))
        self.at = start
        return None

    def head(self) -> Expr | None:
        """category | everyday word | "instruments" | pattern [ "pattern" ] | "those" """
        if self.said is not None and self.look("kw.them", quiet=True) and (meant := self.said.expr(self.lexicon)) is not None:
            self.take("kw.them", quiet=True)
            return meant
        if self.said is None and self._those_that():
            return nodes.Everything(self.span(self.at - 1, self.at))
        match, apart = self.look(*HEADS), self.look("kw.except", quiet=True)
        if match is None or self.only_lacks(match) or (match.entry.kind == "kw.instrument" and apart and apart.end > match.end):
            return None  # "everything but the clamps"
        if (theirs := self.of_one_name(match)) is not None:
            return theirs
        self.at = match.end
        entry = self.pick(match, self._family_first(match.entries))
        span = self.span(match.start, match.end)
        if entry.kind in ("category", "group"):
            said = self.quote(match.start, match.end)
            self.families = tuple(dict.fromkeys((said, said.split()[-1])))
        if entry.kind == "category":
            return self._of_family(nodes.IsA(entry.term, span), match)
        if entry.kind == "kind":
            return nodes.Has(names.OF_KIND, entry.term, span)
        if entry.kind == "group":
            role = self.lexicon.vocabulary.terms
            each = [nodes.IsA(t, span) if role[t].role == "category" else nodes.Named(t, span) for t in entry.terms]
            return self._of_family(disj(each), match)
        if entry.kind == "kw.instrument":
            return self._ones(match) or nodes.Everything(span)
        self.absorb_name(entry)
        self.no_family_after(match, entry)
        return nodes.Named(entry.term, span)

    def _those_that(self) -> bool:
        """ "those" before what is said of them ("list those used on bowel"), where nothing went before"""
        start = self.at
        if self.take("kw.them", quiet=True):
            if self.look("kw.with", "kw.without", "kw.that", "connector", quiet=True):
                return True
            self.at = start
        return False

    # --- modifiers and what follows the head -----------------------------------------------------------------------
    def modifier(self) -> Expr | None:
        """[ "not" ] ( value | part | feature value | "(" description ")" | length ) | "neither" ... "nor" ..."""
        start = self.at
        self.take("kw.not_only", quiet=True)
        if self.take("kw.not"):
            if (rest := self._rest_of_family(start)) is not None:
                return rest
            inner = self._deeper(self.modifier) or self._cut_modifier()
            if inner is None:
                self.at = start
                return None
            return nodes.Not(self.each_denied(inner), self.span(start, self.at))
        if self.take("kw.neither"):
            return self._neither(start, before=True)
        return (
            self.bracket()
            or self.feature_value()
            or self._family_of_a_place()
            or self.value()
            or self.part_before()
            or self.plain_length()
        )

    def _family_of_a_place(self) -> Expr | None:
        """ "are vaginal", "not vascular" behind a family that with this word has a name: that family"""
        before = self.phrases(self.at - 1) if self.at else []
        if not self.families or self.head_ahead() or not any(e.kind in ("kw.be", "kw.not") for _, es in before for e in es):
            return None
        places = self.lexicon.words.set_features | self.lexicon.words.set_places
        value = self.look("value", "wide", quiet=True)
        terms = [t for e in value.entries for t in (e.terms or (e.term,))] if value else []
        if not any(self.lexicon.vocabulary.terms[t].feature in places for t in terms):
            return None
        return self._family_left_out()

    def after(self) -> Expr | None:
        """One thing said after the head; see the alternatives below."""
        start = self.at
        self.take("kw.not_only", quiet=True)
        if self._by_ahead():
            return None
        # First what may begin with a word that means something else alone ("no longer than", "that fits").
        if found := self.length() or self.untold() or self.connected() or self.begins():
            return found
        if (apart := self.look("kw.except", quiet=True)) and apart.end > apart.start + 1 and self.take("kw.except"):
            return self._need(self._apart_from(start), start)  # "with the exception of"
        if not self.look("kw.after_person", quiet=True) and self.take("kw.with", "kw.have"):
            return self.list_of(self.thing, start)
        if absent := self.take("kw.without", "kw.no"):
            return (self._no_family(start) if absent.entry.kind == "kw.no" else None) or self._without(start)
        if self.take("kw.that"):
            return self._clause(start)
        if self._only_there():
            return None
        if self.take("kw.be"):
            return self._need(self.description(clause=True, predicate=True), start)
        if match := self.take("kw.do", "kw.can"):
            self.modal = self.modal or match.entry.kind == "kw.can"
            if match.entry.kind == "kw.do" and self._denies_a_name():
                return self._need(None, start)
            if match.entry.kind == "kw.can" and match.end > match.start + 1 and "kw.be" in self.kinds(match.end - 1):
                return self._need(self.description(clause=True, predicate=True), start)  # "that may be blunt or sharp"
            return self._need(self._deeper(self.after), start)
        if self.take("kw.whose"):
            return self._need(self._whose(), start)
        if found := self.named_after():
            return found
        if self.take("kw.except"):
            return self._need(self._apart_from(start), start)
        if self.take("kw.neither"):
            return self._neither(start)
        if self.take("kw.not"):
            inner = self._deeper(self.after) or self.head()
            inner = inner and self._denied(inner)
            return self._need(inner and self.denied_of(inner, start), start)
        if found := self._in_a_set(start):
            return found
        if self.take("kw.of", quiet=True):
            return self._need(self.length() or self.plain_length() or self.of_a_place(), start)
        return self.modifier() or self._family_left_out()

    def _no_family(self, start: int) -> Expr | None:
        """family, after "no", where it is nothing that an instrument has: "bone instruments but no saws" """
        family = self.look("category", "kind", "group", quiet=True)
        if family is None or any(e.kind in ("value", "part", "feature") for _, es in self.phrases(family.start) for e in es):
            return None
        inner = self.head()
        return nodes.Not(inner, self.span(start, self.at)) if inner is not None else None

    def _denies_a_name(self) -> bool:
        """ "not" before a name in small letters: after "do" a verb stands there ("that do not pierce")"""
        start = self.at
        denied = self.take("kw.not", quiet=True)
        match = self.look("pattern", quiet=True) if denied else None
        self.at = start
        return match is not None and match.start == match.end - 1 and not self.text[self.tokens[match.start].start].isupper()

    def _deeper(self, rule: Callable[[], Expr | None]) -> Expr | None:
        self.depth += 1
        if self.depth > MAX_RECURSION:
            raise too_deep(self.text, self.span(self.at))
        try:
            return rule()
        finally:
            self.depth -= 1

    def _clause(self, start: int) -> Expr | None:
        """ "that" ( "is" description | "has" list | "lacks" list | "does not" after | "fits" list | ... )"""
        return self._need(self._deeper(self.after), start)

    def _neither(self, start: int, *, before: bool = False) -> Expr | None:
        """ "neither" thing { ("nor" | "or") thing }; ``before``: a head comes, of whose name the adjective alone is denied"""
        items: list[Expr] = []
        while True:
            if not items or "kw.nor" in self.kinds(self.at - 1):
                self.take("kw.with", "kw.have", quiet=True)
            at = self.at
            item = self.thing() or self.length() or self.connected() or self.value() or self.head()
            if before and item is not None and not self.look("kw.nor", "kw.or", quiet=True) and not self.head_ahead():
                end, self.at = self.at, at
                cut = self._cut_modifier()
                item, self.at = (cut, self.at) if cut is not None else (item, end)
            if item is None:
                return self._need(None, start) if items else None
            items.append(item)
            if not self.take("kw.nor", "kw.or") and not self.symbol(","):
                break
        return self._need(nodes.Not(disj(items), self.span(start, self.at)) if items else None, start)

    def bracket(self) -> Expr | None:
        """ "(" description ")" """
        if not self.symbol(OPEN):
            return None
        inner = self.description()
        if inner is None or not self.symbol(CLOSE):
            if inner is not None:
                # What is left inside the bracket is the fault, not what follows it.
                self.ended()
            raise self.failure()
        return inner

    # --- lists -------------------------------------------------------------------------------------------------------
    def list_of(self, thing: Callable[[], Expr | None], start: int) -> Expr | None:
        """thing { ( "and" | "or" | "," ) thing }"""
        items: list[Expr] = []
        seps: list[str] = []
        absent = False
        while True:
            before = self.at
            sep = self.separator() if items else NOTHING
            if items and (sep == NOTHING or (self.head_ahead() and not self._part_ahead(items[-1], sep))):
                self.at = before
                break
            mark = self.at
            item = thing()
            if item is None:
                self.at = before
                break
            if items:
                if absent and sep == AND and not isinstance(item, nodes.Not) and not self._article_at(item):
                    # "no teeth and rings": without both, or with rings? Only an article ("and a ring") decides.
                    raise self._and_after_absence(before, mark)
                self._check_both(items[-1], item, sep, before, mark)
                seps.append(sep)
            items.append(item)
            absent = self._said_no
        if not items:
            self.at = start
            return None
        return combine(items, seps)

    def _article_at(self, item: Expr) -> bool:
        return self.article_before(next((i for i, t in enumerate(self.tokens) if t.start == item.span[0]), 0))

    def _and_after_absence(self, start: int, end: int) -> QuestionError:
        word = self.lexicon.word
        return QuestionError(
            "BL-Q05",
            f'"{self.quote(start, end)}" after a word of absence can mean that both are missing, or that the second is there.',
            question=self.text,
            span=self.span(start, end),
            readings=(
                self.replaced(start, end, f" {word('and')} {word('without')} "),
                self.replaced(start, end, f" {word('and')} {word('with')} "),
            ),
        )

    _said_no = False

    def thing(self) -> Expr | None:
        """[ "no" | "not" | "neither" ] ( value | part | feature value | "(" description ")" ): an item of a "with"
        list"""
        start = self.at
        self._said_no = False
        self.take("kw.not_only", quiet=True)
        if self.take("kw.no", "kw.without"):
            found = self._without(start)
            self._said_no = found is not None
            return found
        if self.take("kw.neither"):
            return self._neither(start)
        if self.take("kw.not"):
            inner = self._deeper(self.thing)
            return self._need(inner and nodes.Not(inner, self.span(start, self.at)), start)
        return (
            self.bracket()
            or self.feature_value()
            or self.of_one_noun()
            or self._owned_value()
            or self._part_described()
            or self._with_length()
            or self.recorded_feature()
        )

    def _without(self, start: int) -> Expr | None:
        """ "without" thing { ( "or" | "nor" | "," ) thing }: none of them. "And" would leave open which is meant."""
        items: list[Expr] = []
        while True:
            before = self.at
            if items:
                sep = OR if self.take("kw.nor") else self.separator()
                if "kw.but" in self.kinds(self.at - 1):
                    sep = NOTHING  # "without a ratchet but curved": what is there again
                family = self.head_ahead() and not self._part_ahead(items[-1], sep)
                if sep == NOTHING or family or (sep == COMMA and not self._alternatives_ahead()):
                    self.at = before
                    break
                mark = self.at
                item = self._plain_thing()
                if item is not None and sep == AND:
                    if self._article_at(item) and self.tokens[start].key == self.lexicon.word("no"):
                        self.at = before
                        break
                    raise self._and_after_absence(before, mark)
            else:
                item = self._plain_thing()
            if item is None:
                self.at = before
                break
            items.append(item)
        if not items:
            self.at = start
            return None
        return nodes.Not(disj(items), self.span(start, self.at))

    def _alternatives_ahead(self) -> bool:
        """Whether things follow that end in "or": in "no ratchet, ring handles" the comma ends what is absent"""
        saved = self.at
        try:
            while self._plain_thing() is not None:
                if self.take("kw.nor", "kw.or", quiet=True):
                    return True
                if not self.symbol(","):
                    return False
                if self.take("kw.nor", "kw.or", quiet=True):
                    return True
            return False
        finally:
            self.at = saved

    def _plain_thing(self) -> Expr | None:
        return self.bracket() or self.feature_value() or self._owned_value() or self.part() or self.recorded_feature()

    # --- atoms -------------------------------------------------------------------------------------------------------

    def connected(self) -> Expr | None:
        """connector value { ( "and" | "or" | "," ) value }, the values of the connector's features"""
        start = self.at
        only = self.take("kw.only", quiet=True) is not None
        match = self.take("connector")
        if match is None:
            self.at = start
            return None
        only = only or any(self._is_only(at) for at in range(match.start, match.end))
        features = tuple(dict.fromkeys(f for e in match.entries for f in self.lexicon.connector(e).features))
        wider = tuple(f for f in self._wider(features) if not self.lexicon.feature(f).patterns)

        def thing() -> Expr | None:
            at = self.at
            if at > match.end and self.look("kw.with", quiet=True):
                return None  # "used on bowel and with teeth"
            if self.take("kw.instrument", quiet=True) and self.take("kw.except", quiet=True):
                inner = self.value_of(features)  # "made of something other than steel"
                return self._need(inner and nodes.Not(inner, self.span(at, self.at)), at)
            self.at = at
            if (several := self.at_least_of(lambda: self.value_of(features))) is not None:
                return several
            if self.take("kw.not"):
                self.take("kw.place", "kw.link", quiet=True)
                inner = self.value_of(features) or self.value_of(wider, quiet=True)
                return self._need(inner and self.denied_of(inner, at), at)
            if self.symbol(OPEN):
                inner = self.list_of(thing, at)
                return inner if inner and self.symbol(CLOSE) else self._need(None, at)
            if self.take("kw.neither", quiet=True):
                return self._neither_of(thing, at)
            if found := self.object_of(start, features):
                return found
            # "used on bowel and on vessels"
            if found := self._need(self.take("kw.place", "kw.link", quiet=True) and self.value_of(features), at):
                return found
            found = self.object_of(start, wider, quiet=True) if wider != features else None  # "made for bone"
            if found is not None and not self.ended() and "kw.category_word" in self.kinds(self.at):
                self.at, found = at, None  # "in the airway category" names a family
            return found

        found = self.list_of(thing, start)
        self.one_place(found, features)
        if found is not None and not only and self.look("kw.only", quiet=True):
            only, after = True, self.at
            self.take("kw.only", quiet=True)
            if not self.ended() and self.separator() == NOTHING:  # "in eye surgery only", "only" at the end of what it bounds
                only = False
            self.at = after + 1 if only else after
        return self._only(found, start) if only and found is not None else found

    def _wider(self, features: tuple[str, ...]) -> tuple[str, ...]:
        """The features of the connector that says the same of more things ("for" of "made for"); ``features`` if none does."""
        fit = (
            c.features
            for c in self.lexicon.words.connectors
            if c.features[0] == features[0] and set(features) < set(c.features)
        )
        return max(fit, key=len, default=features) if features else features

    def _is_only(self, at: int) -> bool:
        return any(e.kind == "kw.only" and end == at + 1 for end, es in self.phrases(at) for e in es)
