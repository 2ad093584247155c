"""Conditions that need words of their own: "whose ...", what the record holds, names shared, "at least two of", exceptions,
and families of which only the adjective is said."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from itertools import pairwise

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.cursor import Match
from kg.language.joining import AND, NOTHING, OR, combine, conj, disj, family_in
from kg.language.lexicon import LENGTH
from kg.language.nodes import Expr
from kg.language.parse_nouns import MOST_BEFORE_NAME
from kg.language.parse_record import RecordParser
from kg.language.tokens import OPEN, SYMBOL, WORD, Token

MOST_BESIDE = 4
"""Words of the longest phrase that leaves something aside."""
MOST_OF = 6
""" "At least two of" so many things; more would make a question of hundreds of conditions."""
MOST_LETTERS = 3
"""So many letters with which a name begins are read as such."""


class SaidParser(RecordParser):
    """Rules of a description that go beyond values, parts and lists; the list rules themselves are in ``parse_expr``."""

    of_all = False  # whether what is said now is said of all instruments

    families: tuple[str, ...] = ()
    """The family that was named last, and its last word."""

    family: tuple[Expr, int] | None = None
    """The family that was read last, and the token behind it."""
    parted: tuple[Expr, ...] = ()
    """The family as it was named, and what its name says of the wider one."""
    ones: tuple[int, ...] = ()
    """Where "ones" stands that speaks of it."""

    head: Callable[[], Expr | None]
    after: Callable[[], Expr | None]
    modifier: Callable[[], Expr | None]
    separator: Callable[[], str]
    _plural_be: Callable[[], str]
    list_of: Callable[[Callable[[], Expr | None], int], Expr | None]
    said_of_part: Callable[[Expr, str], Expr | None]
    _units: Callable[[Callable[[], Expr | None], list[Expr], list[str]], None]

    def _of_family(self, expr: Expr, match: Match) -> Expr:
        """Keeps a family for "ones"; of one whose name begins with what is said of it ("curved haemostats") the wider one."""
        self.family, self.parted = (expr, match.end), (expr,)
        for at in range(match.start + 1, match.end):
            wider = [e for end, es in self.phrases(at) if end == match.end for e in es if e.kind == "category"]
            said = [e for end, es in self.phrases(match.start) if end == at for e in es if e.kind == "value" and not e.negated]
            if wider and len(said) == 1:
                bare = nodes.IsA(wider[0].term, self.span(at, match.end))
                has = nodes.Has(self.feature_of(said[0]), said[0].term, self.span(match.start, at))
                self.family, self.parted = (bare, match.end), (expr, has)
        return expr

    def _ones(self, match: Match) -> Expr | None:
        """The family before, for "ones" behind what is said of them ("curved clamps and the straight ones")"""
        at = match.start - 1
        said = self.quote(match.start, match.end).casefold() in self.lexicon.words.ones
        if self.family is None or self.family[1] > at or not said or "value" not in self.kinds(at):
            return None
        while at > 0 and ("value" in self.kinds(at) or self.tokens[at].key in self.lexicon.words.articles):
            at -= 1
        counted = at > 0 and "kw.count" in self.kinds(at - 1)  # "how many straight ones"
        if self.tokens[at].key != "," and not counted and not self.kinds(at) & {"kw.and", "kw.or", "kw.count"}:
            return None
        self.ones = (*self.ones, match.start)
        return self.family[0]

    def _all_ones(self, items: Sequence[Expr], places: Sequence[tuple[int, int]]) -> Expr | None:
        """The family with either of what is said of it, where each noun phrase behind a separator is of "ones" of it; with
        both behind one comma, where something can be both ("stone-grasping forceps, gall bladder ones")"""
        ends = [*(start for start, _ in places[1:]), self.at]
        if self.family is None or not all(
            any(start <= at < end for at in self.ones) for (_, start), end in zip(places, ends, strict=True)
        ):
            return None
        family, said = self.family[0], []
        for item in items:
            each = item.items if isinstance(item, nodes.And) else (item,)
            each = tuple(i for e in each for i in ((family, *self.parted[1:]) if e == self.parted[0] else (e,)))
            if family not in each:
                return disj(items)
            said += [conj(rest)] if (rest := [i for i in each if i != family]) else []
        narrowed = len(places) == 1 and places[0][1] - places[0][0] == 1 and self.tokens[places[0][0]].key == ","
        joined = conj(said) if narrowed and not self._exclude(said) else disj(said)
        return conj([family, joined])

    def _exclude(self, said: Sequence[Expr]) -> bool:
        """Whether nothing can be all that is said: two values of which a piece has one"""
        has = [i for e in said for i in (e.items if isinstance(e, nodes.And) else (e,)) if isinstance(i, nodes.Has)]
        exclude = self.lexicon.vocabulary.exclude
        return any(a.feature == b.feature and exclude(a.feature, a.value, b.value) for a in has for b in has if a is not b)

    def _check_both(self, one: Expr, two: Expr, sep: str, start: int, end: int) -> None:
        """ "curved and straight": no instrument is both, so "and" may well mean "or"; "that do not pierce the drape or the
        skin": the skin may well belong to what is denied."""
        self._check_denied(one, two, sep, end)
        spelt_out = end < len(self.tokens) and (
            self.tokens[end].key == OPEN or any(e.kind == "kw.that" for _, es in self.phrases(end) for e in es)
        )
        if (
            spelt_out
            or sep != AND
            or not (isinstance(one, nodes.Has) and isinstance(two, nodes.Has))
            or one.feature != two.feature
        ):
            return
        vocabulary = self.lexicon.vocabulary
        if vocabulary.exclude(one.feature, one.value, two.value) and not self.behind_denial(one.span[0]):
            raise QuestionError(
                "BL-Q05",
                f'Nothing is both "{vocabulary.label(one.value)}" and "{vocabulary.label(two.value)}"; '
                f'"{self.quote(start, end)}" may mean something else.',
                question=self.text,
                span=self.span(start, end),
                readings=(self._either_of(one, start, end),),
            )

    def _said_of_all(self, items: Sequence[Expr]) -> bool:
        """Whether what is said after the last of several names or families holds for all of them: "Babcock or Allis for the
        appendix", "clamps or forceps used on bowel"; not what stands before it ("scissors or curved forceps")."""
        last = items[-1]
        if not isinstance(last, nodes.And) or not all(family_in(i) for i in (*items[:-1], last.items[0])):
            return False
        head = last.items[0].span[0]
        before = [t for t in self.tokens if t.end <= head]
        if before and before[-1].key == OPEN:
            return False  # "artery forceps or (clamps with a ratchet)"
        return isinstance(last.items[0], nodes.Named) or all(i.span[0] > head for i in last.items[1:])

    @staticmethod
    def _of_all(items: Sequence[Expr]) -> Expr:
        head, *said = items[-1].items  # type: ignore[union-attr]
        return conj([disj([*items[:-1], head]), *said])

    def _check_denied(self, one: Expr, two: Expr, sep: str, at: int) -> None:
        """Raises BL-Q03 for a bare place of the body behind "or" after a denial."""
        place = isinstance(two, nodes.Has) and two.feature in self.lexicon.words.set_places
        if sep != OR or not place or not isinstance(one, nodes.Not) or isinstance(one.expr, nodes.HasPart):
            return
        before = {k for i in range(at, len(self.tokens)) if self.tokens[i].start < two.span[0] for k in self.kinds(i)}
        if before.isdisjoint({"connector", "kw.that", "kw.place"}):
            span = self.span(at, self.at)
            raise QuestionError(
                "BL-Q03",
                f'"{self.text[slice(*span)]}" behind a denial may be denied too, or asked for.',
                question=self.text,
                span=span,
                hint='Say for each what is meant, such as "not used on skin and not used on bowel".',
            )

    def _denied(self, inner: Expr) -> Expr:
        """What a "not" denies: a deed with all that it is done to ("do not hold skin or fascia")"""
        words = self.lexicon.words
        deed = isinstance(inner, nodes.Has) and inner.feature in {*words.besides, *words.besides.values()}
        if not deed and not isinstance(inner, nodes.IsA):  # "clamps that do not clamp vessels"
            return inner
        done_to: list[Expr] = []
        while True:
            mark = self.at
            apart = not done_to or self.separator() != NOTHING
            found = self.value_of(sorted(words.set_places), quiet=True) if apart else None
            if found is None:
                self.at = mark
                break
            done_to.append(found)
        return conj([inner, disj(done_to)]) if done_to else inner

    def _either_of(self, one: Expr, start: int, end: int) -> str:
        """The question with "or" between two values, less a "both" before the first."""
        said = self.replaced(start, end, f" {self.lexicon.word('or')} ")
        before = [i for i, t in enumerate(self.tokens) if t.end <= getattr(one, "span", (0, 0))[0]]
        at = before[-1] if before else 0
        if before and "filler" in self.kinds(at) and self.tokens[at].key not in self.lexicon.words.articles:
            said = " ".join((self.text[: self.tokens[at].start] + said[self.tokens[at].end :]).split())
        return said

    def _excepted(self) -> Expr | None:
        """What an "except" takes away: a noun phrase up to the next comma or verb; "dissecting" alone names a family"""
        if not self.head_ahead() and (found := self._family_left_out()):
            return found
        if self.said is None and self.take("kw.them"):  # "all clamps except those with teeth"
            if not self.look("kw.with", "kw.without", "kw.that", "kw.have", "connector", quiet=True):
                raise self.failure()
            return self.all_of_those()
        before_it = (p for i in range(max(0, self.at - MOST_BESIDE), self.at) for p in self.phrases(i))
        beside = self.of_all and any(end == self.at and e.kind == "kw.beside" for end, es in before_it for e in es)
        before: list[Expr] = []
        seps: list[str] = []
        self._units(self.modifier, before, seps)
        if any(self.and_the(a.span[1], b.span[0]) for a, b in pairwise(before)):
            before, seps = [disj(before)], []  # "except the toothed and the curved ones"
        head = self.head()
        after: list[Expr] = []
        said = ("kw.with", "kw.without", "connector") + (() if beside else ("kw.that",))  # "other than saws that cut bone"
        named = isinstance(head, nodes.Named)  # "scissors other than Mayo that cut sutures" all cut them
        while head is not None and not named and self.look(*said, quiet=True):
            more = self.after()
            if more is None:
                break
            after.append(more)
        parts = [*([head] if head is not None else []), *([combine(before, seps)] if before else []), *after]
        if len(parts) == 1 and head is None and (named := self._of_one_last_name(parts[0])) is not None:
            return named
        return conj(parts) if parts else None

    def _of_one_last_name(self, item: Expr) -> Expr | None:
        """The instruments that a word names, where alone it stands for a part or a sign ("all but the snares")"""
        if not isinstance(item, nodes.Has | nodes.HasPart) or item.span is None:
            return None
        words = self.lexicon.folder.phrase(self.text[slice(*item.span)])
        named = self.lexicon.heads().get(words[0], ()) if len(words) == 1 else ()
        return disj(nodes.Named(name, item.span) for name in named) if named else None

    def _apart_from(self, start: int) -> Expr | None:
        """All but what an "except" takes away."""
        taken = self._all_excepted()
        return taken and self.less(taken, start)

    def _all_excepted(self) -> Expr | None:
        """What an "except" takes away, one or several: "saws and drills" takes away the saws, and the drills too"""
        found = self._excepted()
        items = [found] if found is not None else []
        while items:
            mark = self.at
            apart = self.symbol(",") and bool(self.look("kw.and", quiet=True))  # "all but the saws, and mallets"
            self.at = mark
            if (apart and len(items) == 1) or self.separator() == NOTHING or not (self.head_ahead() or self._many_ahead()):
                self.at = mark
                break
            more = self._excepted()
            if more is None:
                self.at = mark
                break
            items.append(more)
        return disj(items) if items else None

    def _all_but(self, begun: int, start: int, end: int) -> bool:
        """Whether a "but" takes some away: behind "all", or before an article ("all clamps but the crushing ones")"""
        before = [i for i in range(start) if self.tokens[i].end <= begun or self.tokens[i].start <= begun]
        if not any("kw.but" in self.kinds(i) for i in range(start, end)):
            return False
        return self.tokens[end].key in self.lexicon.words.articles or any("kw.whole" in self.kinds(i) for i in before)

    def _taken_away(self, item: Expr, start: int, end: int) -> Expr:
        """What a "but" takes away; after what is not meant it says what is ("neither a Kelly nor a Crile but a haemostat")"""
        denied = any(self.kinds(i) & {"kw.not", "kw.neither"} for i in range(start))
        one = self.tokens[end].key in self.lexicon.words.articles and self.tokens[end].key.startswith("a")
        return item if denied and one else self.less(item, start)

    def _many_ahead(self) -> bool:
        """Whether a word in the plural stands here that is a value or a part and ends what is said: "drills", "hooks" """
        match = self.look("value", "part", quiet=True)
        if match is None:
            return False
        typed = self.quote(match.end - 1, match.end).casefold()
        follows = self.kinds(match.end) if match.end < len(self.tokens) else frozenset()
        last = match.end >= len(self.tokens) or self.tokens[match.end].kind == SYMBOL or bool(follows & {"kw.and", "kw.or"})
        return last and typed != self.tokens[match.end - 1].key

    def _family_left_out(self) -> Expr | None:
        """Words that with the family before them name another family: "specula that are not vaginal" are no vaginal specula"""
        if not self.families:
            return None
        families = (*self.families, self.lexicon.word("instrument"))
        at = self._past_fillers()
        for end in range(min(len(self.tokens), at + 2), at, -1):
            if any(t.kind != WORD for t in self.tokens[at:end]) or self._names_beyond(at, end):
                continue
            for family in families:
                entries = [
                    e
                    for e in self.lexicon.entries(f"{self.quote(at, end)} {family}")
                    if e.kind == "category" and not e.composed
                ]
                if len({e.term for e in entries}) == 1:
                    self.at = end
                    return nodes.IsA(entries[0].term, self.span(at, end))
        return None

    def _rest_of_family(self, start: int) -> Expr | None:
        """family, behind "non-": "non-thumb forceps" are forceps, but no thumb forceps"""
        typed = self.text[self.tokens[start].start : self.tokens[start].end].casefold()
        match = self.look("category", quiet=True) if typed in self.lexicon.words.prefix else None
        if match is None or match.end < match.start + 2:
            return None
        if match.entry.composed:
            return None
        families, cuts = ("category", "group"), range(match.start + 1, match.end)
        cut = next(
            (c for c in cuts if any(e == match.end and any(x.kind in families for x in es) for e, es in self.phrases(c))), 0
        )
        if not cut:
            return None
        self.at, begun = cut, match.start
        family, self.at = self.head(), match.end
        denied = nodes.IsA(self.pick(match, match.entries).term, self.span(begun, match.end))
        return self._need(family and conj([family, nodes.Not(denied, self.span(start, match.end))]), start)

    def _names_beyond(self, at: int, end: int) -> bool:
        """Whether a family that begins at a place is named with more words: "not a needle holder" leaves no family out."""
        return any(stop > end and any(e.kind in ("category", "kind") for e in entries) for stop, entries in self.phrases(at))

    def _in_a_set(self, start: int) -> Expr | None:
        """( "on" | "of" | "in" ) ( operation | speciality | family ) ( "tray" | "category" )"""
        if not self.take("kw.place", quiet=True):
            return None
        match = self.take("category", quiet=True)
        if match:
            end = self.at
            if self.take("kw.tray", quiet=True):
                return nodes.IsA(self.pick(match, match.entries).term, self.span(match.start, end))
            self.at = start
            return None
        wanted = self.lexicon.words.set_features | self.lexicon.words.set_places
        match = self.take("value", accept=lambda e: self.feature_of(e) in wanted, quiet=True)
        if match and self.take("kw.tray", quiet=True):
            entry = self.pick(match, match.entries)
            return nodes.Has(self.feature_of(entry), entry.term, self.span(match.start, match.end))
        self.at = start
        return None

    def _whose(self) -> Expr | None:
        """ "whose" feature "is" [ "not" ] [ "only" ] ( value { "or" value } | length | "recorded" )"""
        mark = self.at
        if found := self._whose_record():
            return found
        self.at = mark
        match = self.take("feature")
        if match is None or not self.take("kw.be"):
            return self._whose_part(mark)
        feature = self.pick(match, match.entries).term
        if feature == LENGTH:
            return self.length() or self.plain_length()
        start = self.at
        negative = self.take("kw.not")
        only = self.take("kw.only", quiet=True)
        found = self.list_of(lambda: self.value_of((feature,), negated=True), start)
        found = self._only(found, start) if only and found else found
        return nodes.Not(found, self.span(start, self.at)) if negative and found else found

    def _only(self, found: Expr, start: int) -> Expr | None:
        """Values of one feature, and nothing else on record; of a feature with one value they say that already. Of a place of
        the body that means operations there too, only what is used on it is told; of a branch of surgery only the branch."""
        each = found.items if isinstance(found, nodes.Or) else (found,)
        held = [i for i in each if isinstance(i, nodes.Has)]
        if len(held) == len(each) and (there := [i for i in held if i.feature in self.lexicon.words.set_places]):
            each = held = there
        elif len(held) == len(each) and held and held[0].feature in self.lexicon.words.set_features:
            each = held = [i for i in held if i.feature == held[0].feature]  # "vascular surgery" is a branch and operations
        features = {i.feature for i in held}
        besides = self.lexicon.words.besides
        if len(held) == len(each) and len(features) > 1 and features <= {*besides, *besides.values()}:
            return found  # "only used for cutting sutures": further uses are looked at where the list is made
        if len(held) < len(each) or len(features) != 1:
            return self._need(None, start)
        feature = self.lexicon.vocabulary.features.get(min(features))
        if feature is None or feature.single:
            return found
        return nodes.Solely(feature.name, tuple(i.value for i in held), self.span(start, self.at))

    def _whose_part(self, start: int) -> Expr | None:
        """part ( "is" | "has" ) [ "not" ] value of a feature of that part ("whose jaws are fenestrated") | feature length"""
        self.at = start
        if self.take("feature", accept=lambda e: e.term == LENGTH, quiet=True) and (found := self.length()) is not None:
            return found  # "whose length exceeds 20 cm"
        self.at = start
        match = self.take("part", quiet=True)
        verb = self.take("kw.be", "kw.have", quiet=True) if match is not None else None
        if match is None or verb is None:
            return None
        part = self.pick(match, match.entries).term
        noun = self.tokens[match.start : match.end] if verb.entry.kind == "kw.be" else []
        about = tuple(f.name for f in self.lexicon.vocabulary.features.values() if f.part == part)
        start = self.at
        negative = self.take("kw.not", "kw.no")
        found = self.list_of(lambda: self.value_of(about, negated=True) or self._of_part(part, noun), start)
        return nodes.Not(found, self.span(start, self.at)) if negative and found else found

    def _of_part(self, part: str, noun: Sequence[Token]) -> Expr | None:
        """What is said of one part: by a word that may be said of several ("sharp"), or by words that make a value with its
        name ("blades that are fenestrated")"""
        start = self.at = self._past_fillers()  # "that are both long and bowed"
        found = self.value()
        if found is not None and (inner := self.said_of_part(found, part)) is not None:
            return inner
        for size in range(MOST_BEFORE_NAME if noun else 0, 0, -1):
            said = self.tokens[start : start + size]
            if len(said) == size and (named := self._named_with([*said, *noun], self.span(start, start + size))) is not None:
                self.at = start + size
                return named
        return self._need(None, start)

    def _part_described(self) -> Expr | None:
        """part [ ( "that is" [ "not" ] | "both" ) what is said of it ] ("prongs that are sharp", "jaws both long and bowed")"""
        begun = self._past_fillers()
        found = self.part()
        start, noun = self.at, self.tokens[begun : self.at]
        if not isinstance(found, nodes.HasPart):
            return found
        that = self.take("kw.that", quiet=True)
        verb = self.take("kw.be", quiet=True) if that else None
        both = that is None and start < len(self.tokens) and self.tokens[start].key in self.lexicon.words.together
        if verb or both:
            negative, part = self.take("kw.not", quiet=True), found.part
            if (inner := self.list_of(lambda: self._of_part(part, noun), self.at)) is not None:
                return conj([found, nodes.Not(inner, self.span(start, self.at)) if negative else inner])
            if (both or self._agree(noun[-1], verb)) and self._size_ahead():
                return self._need(None, start)  # "a handle that is long" says nothing of the size of the whole
        self.at = start
        return found

    def _agree(self, noun: Token, verb: Match | None) -> bool:
        """Whether a verb can speak of a noun: both of several things, or both of one"""
        plural = self.text[noun.start : noun.end].casefold() != noun.key
        return verb is not None and plural == (self.quote(verb.start, verb.end).casefold() == self._plural_be())

    def _size_ahead(self) -> bool:
        """Whether a size of whole instruments stands here ("both long and narrow")"""
        found = {e.term for _, es in self.phrases(self._past_fillers()) for e in es if e.kind == "value"}
        return any(self.lexicon.vocabulary.terms[t].feature == names.SIZE_CLASS for t in found)

    def _part_ahead(self, last: Expr, sep: str) -> bool:
        """Whether a part stands here, behind another part: "a handle and a blade", "jaws or blades" name no families; nor do
        "long shanks and fine blades", behind what is had"""
        if sep == AND and isinstance(last, nodes.Has | nodes.HasPart) and self._part_behind_adjectives():
            return True
        match = self.look("part", quiet=True)
        if sep not in (AND, OR) or not isinstance(last, nodes.HasPart) or match is None:
            return False
        families = ("category", "kind", "pattern")
        return self._past_fillers() > self.at or not any(e.kind in families for _, es in self.phrases(match.start) for e in es)

    def _part_behind_adjectives(self) -> bool:
        """Whether a part stands behind one adjective or more from here"""
        at = self._past_adjective(self._past_fillers())
        while at:
            if "part" in self.kinds(at):
                return True
            at = self._past_adjective(at)
        return False

    def one_place(self, found: Expr | None, features: Collection[str]) -> None:
        """Refuses a place of the body that is said by the names of two ("the uterine artery"): it is none of them, nor both."""
        places = self.lexicon.words.set_places.intersection(features)
        match = self.look("value", accept=lambda e: self.feature_of(e) in places, quiet=True)
        last = found.items[-1] if isinstance(found, nodes.And | nodes.Or) else found
        if match is None or match.start != self.at or not isinstance(last, nodes.Has) or last.feature not in places:
            return
        start = next((i for i, t in enumerate(self.tokens) if t.start == last.span[0]), self.at)
        raise QuestionError(
            "BL-Q03",
            f'Nothing is recorded of "{self.quote(start, match.end)}" as a place of its own.',
            question=self.text,
            span=self.span(start, match.end),
            readings=(self.replaced(start, match.start, ""),),
            hint="Ask for a wider place.",
        )

    def _neither_of(self, thing: Callable[[], Expr | None], start: int) -> Expr | None:
        """thing { ("nor" | "or") thing }, none of them ("used in neither ear surgery nor nasal surgery")"""
        items: list[Expr] = []
        while (item := thing()) is not None:
            items.append(item)
            if not self.take("kw.nor", "kw.or"):
                return nodes.Not(disj(items), self.span(start, self.at))
        return self._need(None, start)

    def named_after(self) -> Expr | None:
        """ "named after" ( a name that instruments bear | "a person" )"""
        start = self.at
        anybody = self.take("kw.after_person", quiet=True)
        if not anybody and not self.take("kw.named_after", quiet=True):
            return None
        if anybody or self.take("kw.a_person", quiet=True):
            words = self.lexicon.words
            return nodes.CalledAfter(self.lexicon.word("a_person"), self.span(start, self.at), words.no_person)
        at = self._past_fillers()
        if at < len(self.tokens) and self.tokens[at].key in self.lexicon.words.numbers:
            return self._need(None, start)  # "named after two people": nobody is called so
        for end in range(min(at + 3, len(self.tokens)), at, -1):
            one, two = self.span(at, end)
            for name in (self.text[one:two], " ".join(t.key for t in self.tokens[at:end])):  # "the Doyens"
                if self.lexicon.vocabulary.bearers(name):
                    self.at = end
                    return nodes.CalledAfter(self.lexicon.vocabulary.written(name), self.span(start, end))
        if at < len(self.tokens):
            raise QuestionError(
                "BL-Q02",
                f'No instrument of the catalogue bears the name "{self.quote(at)}".',
                question=self.text,
                span=self.span(at),
                near=self.lexicon.near(self.quote(at)),
            )
        return self._need(None, start)

    def of_one_name(self, match: Match) -> Expr | None:
        """A name that several bear before "instruments": all that bear it ("Mayo's instruments", "the Doyen tools")"""
        at = match.end
        if match.entry.kind != "pattern" or at != match.start + 1 or "kw.instrument" not in self.kinds(at):
            return None
        if not self.quote(at).casefold().endswith("s"):
            return None  # "the Mayo instrument"
        name = self.tokens[match.start].key
        if len(self.lexicon.vocabulary.bearers(name)) < 2:
            return None
        self.at = at + 1
        return nodes.CalledAfter(self.lexicon.vocabulary.written(name), self.span(match.start, self.at))

    def begins(self) -> Expr | None:
        """ "beginning with the letter" letters"""
        start = self.at
        if self.take("kw.begins", quiet=True):
            token = self.tokens[self.at] if self.at < len(self.tokens) else None
            letters = self.quote(self.at).casefold() if token is not None and token.kind == WORD else ""
            if letters.isalpha() and len(letters) <= MOST_LETTERS:
                self.at += 1
                return nodes.Begins(letters, self.span(start, self.at))
        self.at = start
        return None

    def at_least_of(self, thing: Callable[[], Expr | None]) -> Expr | None:
        """ "at least" number "of" [ ":" ] thing { ( "and" | "," ) thing }: any so many of them at once"""
        start = self.at
        if self.take("op.>=", quiet=True) and (least := self._whole_number()) is not None and self.take("kw.of", quiet=True):
            self.symbol(":")
            items: list[Expr] = []
            while (item := thing()) is not None:
                items.append(item)
                if self.separator() == NOTHING:
                    break
            if 0 < least <= len(items) <= MOST_OF:
                from itertools import combinations

                return disj([conj(some) for some in combinations(items, least)])
        self.at = start
        return None

    def _so_many(self) -> tuple[str, int] | None:
        """( "at least" | "at most" | "fewer than" | ... ) number, without a unit | number "or" ( "more" | "fewer" )"""
        start = self.at
        if (number := self._count()) is not None and (end := self.take("kw.or_more", "kw.or_fewer", quiet=True)):
            return (">=" if end.entry.kind == "kw.or_more" else "<="), number
        self.at = start
        match = self.take("op.<", "op.<=", "op.>", "op.>=", "op.=", quiet=True)
        if match is not None and (number := self._count()) is not None and not self.look("unit", quiet=True):
            return match.entry.term, number
        self.at = start
        return None

    def _count(self, digits: int = 4) -> int | None:
        """A whole number of at most so many digits, in figures or in words, taken."""
        at = self._past_fillers()
        token = self.tokens[at] if at < len(self.tokens) else None
        said = self.lexicon.words.numbers.get(token.key, token.key) if token else ""
        if not (said.isascii() and said.isdigit() and len(said) <= digits):
            return None
        self.at = at + 1
        return int(said)

    def _whole_number(self) -> int | None:
        """A number from one to nine, in figures or in words, taken."""
        start = self.at
        number = self._count(digits=1)
        unit = self.look("unit", quiet=True)
        if not number or (unit is not None and not self._leads_on(unit.end - 1)):
            self.at, number = start, None  # "6 inch scissors" are no six
        return number or None

    def _tightly(self, items: list[Expr], seps: list[str]) -> None:
        """Two uses with "or" between them, behind something else that is said, taken together: "with a ratchet that hold
        tissue or bowel" asks for a ratchet of both."""
        if seps[-2:] == [NOTHING, OR] and all(self._is_use(i) for i in items[-2:]):
            items[-2:], seps[-1:] = [disj(items[-2:])], []

    def _is_use(self, expr: Expr) -> bool:
        """Whether all that is said is what something is used for, on or in."""
        words = self.lexicon.words
        uses = words.set_features | words.set_places | set(words.besides) | set(words.besides.values())
        each = expr.items if isinstance(expr, nodes.Or) else (expr,)
        return all(isinstance(i, nodes.Has) and i.feature in uses for i in each)
