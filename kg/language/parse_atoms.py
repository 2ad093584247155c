"""The smallest parts of a description: values, parts, and names with what belongs to them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from kg import names
from kg.language import nodes
from kg.language.cursor import Match
from kg.language.entries import HEADS, Entry
from kg.language.joining import conj, disj
from kg.language.lengths import LengthReader
from kg.language.nodes import Expr
from kg.language.tokens import CLOSE, OPEN, WORD, Token
from kg.vocabulary import Vocabulary

VALUE_FORMS = ("value", "kind")
MOST_BETWEEN = 3
"""So many adjectives at most stand between another and the part of which both are said."""
MOST_COUNTED = 12
"""Values that are named by a larger number are not looked for."""
_ANY = ((">=", 1), (">", 0))
"""What says no more than that there are any."""


class AtomParser(LengthReader):
    """Rules for single conditions."""

    at_the_end: Callable[[Expr], None]
    at_least_of: Callable[[Callable[[], Expr | None]], Expr | None]
    of_one = False  # whether something is said or asked of one instrument, which is taken by the word

    def pick(self, match: Match, entries: Iterable[Entry]) -> Entry:
        """The one meaning of a phrase. Raises BL-Q05 if only the person can tell."""
        best = self.lexicon.resolve(entries)
        if len(best) != 1:
            self.no_bearer_after(match, best)
            raise self.ambiguous(match, best)
        return best[0]

    def _is_linked(self, match: Match) -> bool:
        """Whether a value begins words that lead to what stands behind them: "held with a pencil grip" is no holding"""
        link = self.look("connector", quiet=True)
        if link is None or link.start != match.start or link.end <= match.end:
            return False
        features = {f for e in link.entries for f in self.lexicon.connector(e).features}
        mark, self.at = self.at, link.end
        follows = self.look("value", accept=lambda e: self.feature_of(e) in features, quiet=True)
        self.at = mark
        return follows is not None

    def value(self, *, owned: bool = False) -> Expr | None:
        """value [ its own part or feature ] ("serrated jaws": the jaws are no second condition)"""
        own = self.lexicon.owned_features
        accept = (lambda e: self.feature_of(e) in own) if owned else None
        match = self.look("value", accept=accept, quiet=owned)
        of = self.lexicon.vocabulary.terms
        wide = self.look(
            "wide", quiet=True, accept=lambda e: not owned or all(of[t].role == "part" or of[t].feature in own for t in e.terms)
        )
        if wide is not None and " " in wide.entry.text and (match is None or wide.end == match.end):
            return self._wide()  # "a blunt tip" is a value of scissors too
        if match is None:
            return None if owned else self._wide()
        if self._written(match, "category") and not self._written(match, "value"):
            return None  # "pickups" are no "pick up"
        if self._is_linked(match):
            return None
        if (owned or not self.head_ahead()) and (of_part := self._of_the_part_ahead(match)) is not None:
            self.at = match.end
            return nodes.Has(self.feature_of(of_part), of_part.term, self.span(match.start, match.end))
        match = self.take("value", "part", quiet=True) or match
        entry = self.pick(match, match.entries)
        if entry.kind == "part":
            return nodes.HasPart(entry.term, self.span(match.start, match.end))
        feature = self.lexicon.vocabulary.terms[entry.term].feature
        self.absorb(feature)
        found = nodes.Has(feature, entry.term, self.span(match.start, self.at))
        first = match.start - (match.start > 0 and self.article_before(match.start))
        behind_or = first > 1 and "kw.or" in self.kinds(first - 1)  # "that clamp the bowel or the stomach"
        ends = behind_or and self._deed_before(-1, first - 1, whole=True) is not None
        return self._done_to(found, -1, match.start) if ends else found

    def _of_the_part_ahead(self, match: Match) -> Entry | None:
        """The value that an adjective names together with a part behind more adjectives: the jaws are long in "long flexible
        jaws", not the instrument"""
        at = match.end
        if at > match.start + 1:
            return None
        for _ in range(MOST_BETWEEN):
            at += at < len(self.tokens) and self.tokens[at].key == ","
            first, at = at, self._past_adjective(at)
            if not at:
                return None
            inside = at > first + 1 and "part" in self.kinds(at - 1)  # "bowed jaws"
            ends = [at] if inside else [end for end, es in self.phrases(at) if any(e.kind == "part" for e in es)]
            if ends:
                said = [self.tokens[match.start], *self.tokens[at - inside : ends[0]]]
                whole = [e for stop, es in self.lexicon.matches(said, 0) if stop == len(said) for e in es]
                best = self.lexicon.resolve(e for e in whole if e.kind == "value")
                return best[0] if len(best) == 1 and self.feature_of(best[0]) in self.lexicon.owned_features else None
        return None

    def _past_adjective(self, at: int) -> int:
        """Where a value, or an adjective of several features, ends that begins here; 0 if none does."""
        return next((end for end, es in self.phrases(at) if any(e.kind in ("value", "wide") for e in es)), 0)

    def _wide(self, match: Match | None = None, accept: Callable[[Entry], bool] | None = None) -> Expr | None:
        """An adjective of several features: any of its values ("blunt"); or a phrase that says two things ("kidney stones")"""
        start = self.at
        match = match or self.take("wide", accept=accept, quiet=True)
        if match is None:
            return None
        ahead = self.kinds(self.at) if self.at < len(self.tokens) else frozenset()
        measures = "op.=" in self.kinds(start) and any(k.startswith("op.") for k in ahead)  # "these measure less than 15 cm"
        if measures or self._written(match, "category"):
            self.at = start
            return None
        span = self.span(match.start, match.end)
        of = self.lexicon.vocabulary.terms
        parts = [nodes.HasPart(v, span) for v in match.entry.terms if of[v].role == "part"]
        found = [nodes.Has(of[v].feature, v, span) for v in match.entry.terms if of[v].role != "part"] + parts
        return conj(found) if match.entry.text in self.lexicon.words.both else disj(found)

    def of_a_place(self) -> Expr | None:
        """A place of the body, or an operation or branch of surgery, behind "of" ("instruments of the ear")"""
        words = self.lexicon.words
        return self.value_of(sorted(words.set_places | words.set_features), quiet=True)

    def _written(self, match: Match, kind: str) -> bool:
        """True if the words typed are the very words of another entry of this kind: "sharps" are no adjective "sharp"."""
        typed = self.text[self.tokens[match.start].start : self.tokens[match.end - 1].end].casefold()
        found = (e for end, entries in self.lexicon.matches(self.tokens, match.start) if end == match.end for e in entries)
        return any(e.kind == kind and e.text.casefold() == typed for e in found)

    def _owned_value(self) -> Expr | None:
        """A value that can be had; nobody has "bowel", which instruments are used on"""
        self.note("owned")
        found = self._counted_value() or self.at_least_of(self._part_or_value) or self.value(owned=True)
        if found is not None:
            self.at_the_end(found)
        return found

    def _part_or_value(self) -> Expr | None:
        """part | value that can be had: one thing of those of which at least so many are asked for"""
        return self.part() or self.value(owned=True)

    def _counted_value(self) -> Expr | None:
        """( "at least" | "at most" | ... ) number things: the values that name so many ("at least two prongs")"""
        start = self.at
        bound = self._so_many()
        if bound is None:
            return None
        op, number = bound
        if (op, number) in _ANY and (found := self._any_of_them(start)) is not None:
            return found
        if (found := self._counted_on_sides(start, op, number)) is not None:
            return found
        if (found := self._counted_by_name(start, op, number)) is None:
            self.at = start
        return found

    def _counted_by_name(self, start: int, op: str, number: int) -> Expr | None:
        """things, of which values are named by a number of them"""
        for size in (3, 2, 1):
            things = self.tokens[self.at : self.at + size]
            named = {n: v for n in range(1, MOST_COUNTED + 1) for v in self._values_counting(n, things)}
            if len(things) == size and named:
                fit = [v for n, v in named.items() if nodes.BOUNDS[op](n, number)]
                if not fit:
                    break
                self.at += size
                terms, span = self.lexicon.vocabulary.terms, self.span(start, self.at)
                return disj([nodes.Has(terms[v].feature, v, span) for v in dict.fromkeys(fit)])
        return None

    def _any_of_them(self, start: int) -> Expr | None:
        """value of which narrower ones count something | part, behind "at least one": that it has any ("at least one tooth on
        each jaw", "at least one prong")"""
        before, words = self.at, self.lexicon.vocabulary
        match = self.take("value", quiet=True)
        wholes = [e.term for e in match.entries if _counts_on_a_side(words, e.term)] if match else []
        if wholes:
            if not self.take("kw.each_side", quiet=True):
                self.take("kw.one_side", quiet=True)
            span = self.span(start, self.at)
            return disj([nodes.Has(words.terms[v].feature, v, span) for v in dict.fromkeys(wholes)])
        self.at = before
        part = None if match else self.part()
        if not isinstance(part, nodes.HasPart):
            self.at = before
            return None
        end, self.at = self.at, before
        counted = self._counted_by_name(start, *_ANY[0])
        self.at = end
        own = () if counted is None else counted.items if isinstance(counted, nodes.Or) else (counted,)
        features = self.lexicon.vocabulary.features
        return disj([part, *(v for v in own if isinstance(v, nodes.Has) and features[v.feature].part != part.part)])

    def _counted_on_sides(self, start: int, op: str, number: int) -> Expr | None:
        """value of which narrower ones count something [ "on each side" | "on a side" ]: those that count so many

        Without a side, and on a side, the side with more decides of "at least", both of "at most"; on each side, both.
        None, too, where no value fits, or where one says only "so many or more" and this does not decide.
        """
        before, words = self.at, self.lexicon.vocabulary
        match = self.take("value", quiet=True)
        values = [e.term for e in match.entries] if match else []
        counts = {v: words.terms[v].counts for whole in values for v in words.subtree(whole) if words.terms[v].counts}
        each = bool(self.take("kw.each_side", quiet=True)) if counts else False
        if counts and not each:
            self.take("kw.one_side", quiet=True)
        fits = {v: _fits(op, number, c, each) for v, c in sorted(counts.items())}
        if True not in fits.values() or None in fits.values():
            self.at = before
            return None
        span = self.span(start, self.at)
        return disj([nodes.Has(words.terms[v].feature, v, span) for v, fit in fits.items() if fit])

    def _values_counting(self, number: int, things: Sequence[Token]) -> list[str]:
        """The values that are named by a number before these words; at most one."""
        words = [w for w, figure in self.lexicon.words.numbers.items() if figure == str(number)]
        for key in (str(number), *words):
            for end, entries in self.lexicon.matches([Token(key, 0, 0, WORD), *things], 0):
                values = [e for e in entries if e.kind == "value" and self.feature_of(e) in self.lexicon.owned_features]
                if end == len(things) + 1 and values:
                    return [self.lexicon.resolve(values)[0].term]
        return []

    def absorb(self, feature: str) -> None:
        """[ "of" | "on" | "at" | "in" ] part or feature, if it is the one that the value before it speaks of anyway"""
        start = self.at
        record = self.lexicon.vocabulary.features.get(feature)
        part = record.part if record else ""
        self.take("kw.place", quiet=True)
        found = self.take("part", "feature", quiet=True, accept=lambda e: e.term in (part, feature) and bool(e.term))
        if not found:
            self.at = start
        if feature in self.lexicon.words.set_features:
            self.take("kw.tray", quiet=True)

    def part(self) -> Expr | None:
        """part"""
        match = self.take("part")
        if match is None:
            return None
        found = nodes.HasPart(self.pick(match, match.entries).term, self.span(match.start, match.end))
        self.at_the_end(found)
        if self.take("kw.free", quiet=True):  # "ratchet-free"
            return nodes.Not(found, self.span(match.start, self.at))
        return found

    def part_before(self) -> Expr | None:
        """part, unless the word is an everyday name of a family and no other head comes ("blades that fit ...")"""
        start = self.at
        found = self.part()
        if found is None:
            return None
        end, self.at = self.at, start
        family = self.look("group", "category", quiet=True)
        self.at = end
        if family and family.end == end and not self.head_ahead() and not self._had_so(start):
            self.at = start
            return None
        return found

    def _had_so(self, at: int) -> bool:
        """Whether adjectives behind "with" or "have" end here: what follows is had, and no family ("with fine blades")"""
        for first in range(at - 1, max(at - 1 - MOST_BETWEEN, 0), -1):
            if self.kinds(first).isdisjoint(("value", "wide")):
                return False
            if self.kinds(first - 1) & {"kw.with", "kw.have"}:
                return True
            if "kw.and" in self.kinds(first - 1):  # "with long shanks and fine blades"
                return any(self.kinds(i) & {"kw.with", "kw.have"} for i in range(first - 1))
        return False

    def feature_value(self) -> Expr | None:
        """feature [ "is" ] value of that feature ("joint: box lock")"""
        start = self.at
        feature = self.take("feature", quiet=True)
        if feature:
            wanted = {self.lexicon.values_feature(e.term): e.term for e in feature.entries}
            framed = any(e.kind == "connector" for end, es in self.phrases(feature.start) if end == feature.end for e in es)
            if not self.take("kw.be", quiet=True) and framed:
                self.at = start  # "used on bone and not on skin" is read with its "on"
                return None
            match = self.take(*VALUE_FORMS, accept=lambda e: self.feature_of(e) in wanted, negated=True, quiet=True)
            if match:
                entry = self.pick(match, match.entries)
                return nodes.Has(wanted[self.feature_of(entry)], entry.term, self.span(start, match.end))
        self.at = start
        return None

    def feature_of(self, entry: Entry) -> str:
        return self.lexicon.vocabulary.terms[entry.term].feature or (names.OF_KIND if entry.kind == "kind" else "")

    def value_of(self, features: Iterable[str], *, negated: bool = False, quiet: bool = False) -> Expr | None:
        """One value of one of ``features``; a phrase or an adjective that is a value of several of them means any of them"""
        listed: dict[str, str] = {}
        for feature in features:
            listed.setdefault(self.lexicon.values_feature(feature), feature)
        patterns = [f for f in features if self.lexicon.feature(f).patterns]
        if not quiet:
            self.note(*(f"value:{key}" for key in listed))
        if not negated and (place := self._place_of(listed)) is not None:
            return place
        of = self.lexicon.vocabulary.terms
        wide = self.look("wide", accept=lambda e: all(of[t].feature in listed for t in e.terms), quiet=True)
        one = self.look(*VALUE_FORMS, accept=lambda e: self.feature_of(e) in listed, negated=negated, quiet=True)
        both = bool(wide) and wide.entry.text in self.lexicon.words.both
        if wide and one and not negated and wide.start == one.start and wide.end >= one.end and (len(listed) > 1 or both):
            return self._wide()  # "used to cut sutures": made for it, or used for it besides
        broad = self.look("wide", accept=lambda e: " " in e.text and any(of[t].feature in listed for t in e.terms), quiet=True)
        same = broad and one and broad.start == one.start and broad.end == one.end and one.entry.term in broad.entry.terms
        if same and not negated and len(listed) > 1:
            return self._wide()  # "used in vascular surgery": recorded so, or made for what is done there
        match = self.take(*VALUE_FORMS, accept=lambda e: self.feature_of(e) in listed, negated=negated, quiet=True)
        if match is None and patterns:
            match = self.take("pattern")
            if match is None:
                return None
            entry = self.pick(match, match.entries)
            self.absorb_name(entry)
            return nodes.Has(patterns[0], entry.term, self.span(match.start, self.at))
        if match is None:
            return self._wide(accept=lambda e: all(of[t].feature in listed for t in e.terms))  # "used on the heart"
        span = self.span(match.start, match.end)
        found: list[Expr] = []
        for key, feature in listed.items():
            entries = [e for e in match.entries if self.feature_of(e) == key]
            if entries:
                found.append(nodes.Has(feature, self.pick(match, entries).term, span))
                if feature in self.lexicon.words.set_features:
                    self.take("kw.tray", quiet=True)  # "in a tonsillectomy set"
        return disj(found)

    def object_of(self, start: int, features: Sequence[str], *, quiet: bool = False) -> Expr | None:
        """One value of ``features``; a place behind a deed and what it is done to is what the same deed is done to"""
        at = self.at
        found = self.value_of(features, quiet=quiet)
        return found and self._done_to(found, start, at)

    def _done_to(self, found: Expr, start: int, at: int) -> Expr:
        """A place that stands from ``at``, with the deed between ``start`` and there that was said of another: in "clamp the
        bowel or the stomach" both are clamped"""
        place = self._acted_on(found)
        deed = self._deed_before(start, at) if place is not None else None
        if place is None or deed is None:
            return found
        verb, words = deed
        said = [*words, *(t for t in self.tokens[at : self.at] if t.key not in self.lexicon.words.articles)]
        whole = [e for end, es in self.lexicon.matches(said, 0) if end == len(said) for e in es]
        both = [e for e in whole if e.kind == "wide" and self._is_deed(e)]
        best = self.lexicon.resolve(e for e in whole if e.kind == "value" and self._is_deed(e))
        terms = both[0].terms if both else (best[0].term,) if len(best) == 1 else ()
        return self._any_of(terms, self.span(at, self.at)) if terms else conj([verb, place])

    def _acted_on(self, found: Expr) -> Expr | None:
        """The values of it that say what something is done to; None if there are none, or if it names a deed alone"""
        items = found.items if isinstance(found, nodes.Or) else (found,)
        to = [i for i in items if isinstance(i, nodes.Has) and i.feature in self.lexicon.words.set_places]
        return disj(to) if to else None

    def _is_deed(self, entry: Entry) -> bool:
        """Whether an entry says what something is used to do, and neither where nor in what"""
        if entry.kind not in ("value", "wide"):
            return False
        of, deeds = self.lexicon.vocabulary.terms, self.lexicon.words.besides
        return {of[t].feature for t in entry.terms or (entry.term,)} <= {*deeds, *deeds.values()}

    def _deeds(self, entry: Entry) -> tuple[str, ...]:
        """The deeds that an entry names; a family that is made for one names it too ("to clamp")"""
        if entry.kind == "category":
            made = self.lexicon.vocabulary.definitions.get(entry.term, ())
            return tuple(value for _, value in made) if all(p in self.lexicon.words.besides for p, _ in made) else ()
        return (entry.terms or (entry.term,)) if self._is_deed(entry) else ()

    def _any_of(self, terms: Iterable[str], span: tuple[int, int]) -> Expr:
        return disj([nodes.Has(self.lexicon.vocabulary.terms[t].feature, t, span) for t in dict.fromkeys(terms)])

    def _deed_before(self, start: int, at: int, *, whole: bool = False) -> tuple[Expr, Sequence[Token]] | None:
        """The deed of the nearest words between ``start`` and ``at`` that name a deed and what it is done to, and its
        words; ``whole``: they go on to ``at``"""
        for first in range(at - 1, start, -1):
            ends = [e for e, es in self.phrases(first) if first + 1 < e <= at and any(map(self._is_deed, es))]
            for end in (e for e in ends if e == at or not whole):
                for cut in range(first + 1, end):
                    terms = [t for stop, es in self.phrases(first) if stop == cut for e in es for t in self._deeds(e)]
                    if terms:
                        return self._any_of(terms, self.span(first, cut)), self.tokens[first:cut]
        return None

    def _place_of(self, listed: Mapping[str, str]) -> Expr | None:
        """A place of the body: what is used on any part of it, or in operations there, as far as these features say so"""
        match = self.look("place", quiet=True)
        if match is None:
            return None
        value = self.look(*VALUE_FORMS, accept=lambda e: self.feature_of(e) in listed, quiet=True)
        of, span = self.lexicon.vocabulary.terms, self.span(match.start, match.end)
        meant = [t for t in match.entry.terms if listed.get(of[t].feature) == of[t].feature]
        exact = self.of_one or len(listed) == 1  # "used on the eye" is said by the value itself
        if not meant or (value is not None and (exact or value.end > match.end)):
            return None
        self.at = match.end
        if any(of[t].feature in self.lexicon.words.set_features for t in meant):
            self.take("kw.tray", quiet=True)  # "for the chest set"
        return disj([nodes.Has(of[t].feature, t, span) for t in meant])

    def _family_first(self, entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
        """Where a phrase names a family and, no better, one pattern, a description means the family."""
        families = tuple(e for e in entries if e.kind != "pattern")
        best = min((e.rank for e in entries), default=0)
        return families if any(e.rank == best for e in families) else entries

    def absorb_name(self, entry: Entry) -> None:
        """Passes over "pattern" and words that the full name of a pattern has anyway ("no. 3 handle" for scalpel
        handle no. 3)."""
        self.take("kw.instrument", quiet=True)
        name = set(self.lexicon.folder.phrase(self.lexicon.vocabulary.label(entry.term)))
        while (
            (found := self.look("part", "category", "group", "value", quiet=True))
            and found.start == self.at
            and name.issuperset(t.key for t in self.tokens[found.start : found.end])
        ):
            self.at = found.end

    def no_family_after(self, match: Match, entry: Entry) -> None:
        """Refuses "Allis scissors" if no instrument has that name: a name and a family side by side are one name."""
        family = self.look("category", "kind", "group", quiet=True)
        if family is None or family.start != self.at:
            return
        label = self.lexicon.vocabulary.label(entry.term)
        raise self.no_such_name(match.start, family.end, (label,))

    def no_bearer_after(self, match: Match, meant: tuple[Entry, ...]) -> None:
        """Refuses "Langenbeck scissors", where several instruments bear the name and none of them is called so."""
        family = self.look("category", "kind", "group", quiet=True)
        if any(e.kind != "pattern" for e in meant) or family is None or not match.end == self.at == family.start:
            return
        label, last = self.lexicon.vocabulary.label, {self.tokens[family.end - 1].key}
        last.update(self.lexicon.folder.phrase(label(e.term))[-1] for e in family.entries if e.kind == "category")
        if not any(last & set(self.lexicon.name_keys(e.term)) for e in meant):
            labels = tuple(label(e.term) for e in meant)
            raise self.no_such_name(match.start, family.end, labels)

    def _need(self, found: Expr | None, start: int) -> Expr | None:
        if found is None:
            self.at = start
        return found

    def head_ahead(self) -> bool:
        """True if modifiers and then a head stand here, with no "and" or "or" before the head."""
        saved = self.at
        if self.look("kw.not", quiet=True):
            return False  # "clamps, but not scissors" says what they are not
        absent = self.look("kw.without", quiet=True)
        if absent is not None and not self.text[self.tokens[absent.start].start].isupper():
            return False  # "but lack a cutter", though a pattern is called Lack
        try:
            while True:
                if self.look(*HEADS, quiet=True):
                    return True
                if self.take("value", "part", "kw.not", quiet=True):
                    continue
                if self.symbol(OPEN):
                    self._skip_bracket()
                    continue
                return False
        finally:
            self.at = saved

    def only_lacks(self, match: Match) -> bool:
        """Whether the name of a pattern only says that something is missing ("lacks a ratchet", though a pattern is called
        Lack)."""
        absent = self.look("kw.without", quiet=True) if match.entry.kind == "pattern" else None
        if absent is None or absent.end < match.end or absent.end >= len(self.tokens):
            return False
        lacking = self.kinds(absent.end) & {"part", "value", "wide", "filler"}
        return bool(lacking) and not self.text[self.tokens[absent.start].start].isupper()

    def _skip_bracket(self) -> None:
        level = 1
        while level and self.at < len(self.tokens):
            key = self.tokens[self.at].key
            level += (key == OPEN) - (key == CLOSE)
            self.at += 1


def _counts_on_a_side(words: Vocabulary, value: str) -> bool:
    """Whether narrower values of one say how many there are on each side."""
    return any(words.terms[v].counts for v in words.subtree(value))


def _fits(op: str, number: int, counts: tuple[int, ...], each: bool) -> bool | None:
    """Whether the numbers of two sides meet a bound, on each side or on one; None if "so many or more" leaves it open."""
    fits = nodes.BOUNDS[op]
    if len(counts) == 2:
        fewer, more = fits(counts[0], number), fits(counts[1], number)
        return fewer and more if each or op in ("<", "<=") else fewer or more
    least = counts[0]
    if op in (">", ">="):
        return True if fits(least, number) else None
    return False if least > number else None
