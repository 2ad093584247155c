"""Hearing an answer, sentence by sentence: what it mentions, what it denies, and of whom each part speaks.

The longest phrase of the vocabulary that begins at a word is a mention; the rest is passed over. A word of absence denies what
follows it in its clause. A name makes what follows be said of that instrument.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

from kg.language import nodes
from kg.language.tokens import COMMA, INCH, NUMBER, SYMBOL, Token, scan
from kg.rehearse.ear import Ear
from kg.rehearse.heard import Heard, Mention, Unit

_END = re.compile(r"(?<!\d)(?<!\b[Nn]o)[.!?;\n]+|(?<=\d)[.!?;\n]+(?!\d)")
"""The end of a sentence; not the point in "14.5 cm" or "No. 11"."""
_SHORTENED = re.compile(r"\b(does|do|did|is|has|are|was|ca|wo|should|must|need|could)nt\b", re.IGNORECASE)
_SLASH = re.compile(r"(?<=[^\W\d_]{3})/(?=[^\W\d_]{3})")
MOST_ADJECTIVES = 4
"""So few words before a comma may be adjectives of a noun that comes after it."""
Of = Callable[[int], frozenset[str]]
"""place of a word -> the subjects that it is said of"""


def hear(ear: Ear, text: str, subjects: Sequence[str] = ()) -> Heard:
    """What a text says. ``subjects``: the patterns that it is about, in the order of the question. Never raises."""
    heard = Heard()
    text = "".join(c if c.isprintable() or c in "\n\t" else " " for c in text)
    text = _SLASH.sub(" ", _SHORTENED.sub(r"\1n't", text))
    start = 0
    last: frozenset[str] = frozenset()
    for cut in [*_END.finditer(text), None]:
        end = cut.start() if cut else len(text)
        sentence = text[start:end]
        tokens = ear.corrected(ear.lexicon.keyed(scan(sentence)), sentence, heard.read_as)
        if tokens:
            last = _Hearing(ear, sentence, tokens, tuple(subjects), heard).run(last)
        start = cut.end() if cut else end
    return heard


class _Hearing:
    """One sentence."""

    def __init__(self, ear: Ear, text: str, tokens: Sequence[Token], subjects: tuple[str, ...], heard: Heard) -> None:
        self.ear = ear
        self.text = text
        self.tokens = tokens
        self.subjects = subjects
        self.heard = heard
        self.denied: set[int] = set()
        """The words that a word of absence denies."""

    def run(self, last: frozenset[str]) -> frozenset[str]:
        """Hears the sentence; ``last``: what the one before was about. Returns what this one ends with."""
        ear, tokens = self.ear, self.tokens
        found: list[tuple[int, int, Mention]] = []
        names_at: list[tuple[int, frozenset[str]]] = []
        at, denying, skipping = 0, False, False
        while at < len(tokens):
            token = tokens[at]
            if token.key == COMMA and token.kind == SYMBOL:
                denying = denying and (self._list_goes_on(at + 1) or self._same_again(at + 1, found))
                skipping = False
                at += 1
                continue
            if end := self._phrase(at, ear.contrast):
                skipping, at = True, end
                continue
            end, mention = self._mention(at)
            if mention is not None and not (mention.readings or mention.names) and self._phrase(at, ear.denials):
                denying = True  # "not to be used on" names a feature by its denial
            if mention is None and (gone := self._phrase(at, ear.denials)) and not self._number(gone):
                within = self._mention(gone - 1)[1] if gone - at > 1 else None
                if within is not None and within.readings:
                    at = gone - 1  # "with no insert" denies nothing: "no insert" is a value
                    continue
                denying, at = True, gone
                continue
            if mention is None and (gone := self._phrase(at, ear.onward)):
                denying, at = False, gone
                continue
            who = self._who(at, mention)
            if who:
                names_at.append((at, who))
            if mention is not None and not skipping:
                if denying:
                    mention = replace(mention, positive=False)
                    self.denied.update(range(at, end))
                found.append((at, end, mention))
            if mention is None and token.key in ear.lexicon.words.keywords["with"]:
                denying = False  # "made with no teeth or with two rows": each "with" begins anew
            if denying and mention is None:
                self.denied.add(at)
            if tokens[at].key in ear.lexicon.words.keywords["and"] and denying:
                again = self._phrase(at + 1, ear.denials) > 0 or self._same_again(at + 1, found)
                denying = again or not self._starts_anew(at + 1)
            at = max(end, at + 1)
        found = self._absent_afterwards(found)
        of = self._attribution(names_at, last)
        placed = [(start, end, replace(m, of=of(start))) for start, end, m in found]
        placed += self._left_unsaid(placed, names_at)
        self.heard.mentions += [m for *_, m in placed]
        self._lengths(of)
        cuts = sorted({0, len(tokens), *(i for i in range(len(tokens)) if self._cut(i, placed))})
        clauses = [self._unit(start, end, placed, of) for start, end in pairwise(cuts)]
        self.heard.clauses += clauses
        self.heard.sentences.append(self._unit(0, len(tokens), placed, of))
        return names_at[-1][1] if names_at else last

    def _cut(self, at: int, found: Sequence[tuple[int, int, Mention]]) -> bool:
        """True if a clause ends here; not between the adjectives of one noun: "short, solid jaws" names a part only once."""
        if self.tokens[at].key != COMMA:
            return self._phrase(at, self.ear.onward) > 0
        start = max((i + 1 for i in range(at) if self.tokens[i].key == COMMA), default=0)
        inside = [(end, m) for begin, end, m in found if start <= begin and end <= at]
        part_last = any(end == at and any(isinstance(r, nodes.HasPart) for r in m.readings) for end, m in inside)
        return part_last or (not inside and at - start > MOST_ADJECTIVES)

    def _unit(self, start: int, end: int, found: Sequence[tuple[int, int, Mention]], of: Of) -> Unit:
        """The words from ``start`` up to ``end`` as stems."""
        keys = [(i, self.tokens[i].key) for i in range(start, end)]
        return Unit(
            said=self.ear.stems(k for i, k in keys if i not in self.denied),
            denied=self.ear.stems(k for i, k in keys if i in self.denied),
            keys=self.ear.bare_keys(" ".join(k for _, k in keys)),
            mentions=tuple(m for at, _, m in found if start <= at < end),
            of=frozenset().union(*(of(i) for i, _ in keys)),
        )

    def _left_unsaid(
        self, found: Sequence[tuple[int, int, Mention]], names_at: Sequence[tuple[int, frozenset[str]]]
    ) -> list[tuple[int, int, Mention]]:
        """ "The one has teeth, the other doesn't": what is denied of the other is what was said of the one."""
        if len(names_at) < 2:
            return []
        (first, _), (second, who) = names_at[0], names_at[1]
        after = [m for at, _, m in found if at > second and m.readings]
        before = [(at, end, m) for at, end, m in found if first < at < second and m.readings]
        if after or not before or not any(self._phrase(i, self.ear.denials) for i in range(second, len(self.tokens))):
            return []
        return [(second, second, replace(m, positive=not m.positive, of=who)) for *_, m in before]

    def _phrase(self, at: int, phrases: tuple[tuple[str, ...], ...]) -> int:
        """The end of one of these phrases if it begins here, else 0."""
        keys = tuple(t.key for t in self.tokens[at : at + 6])
        return next((at + len(p) for p in phrases if keys[: len(p)] == p), 0)

    def _starts_anew(self, at: int) -> bool:
        """After "and": an article or a verb begins something new, a bare noun goes on with the list."""
        if at >= len(self.tokens):
            return True
        key = self.tokens[at].key
        words = self.ear.lexicon.words
        return key in words.articles or key in words.keywords["have"] or key in words.keywords["be"] or key in ("it", "with")

    def _list_goes_on(self, at: int) -> bool:
        """After a comma in a denial: "no rings, shanks or ratchet" goes on, "no rings, a spring handle" does not."""
        for i in range(at, min(len(self.tokens), at + 8)):
            if self._phrase(i, self.ear.or_words):
                return True
            if self._starts_anew(i) or self._phrase(i, self.ear.onward) or self._phrase(i, self.ear.denials):
                return False
        return False

    def _number(self, at: int) -> bool:
        """True if a number stands here: "no. 11" denies nothing."""
        return at < len(self.tokens) and self.tokens[at].kind == NUMBER

    def _same_again(self, at: int, found: Sequence[tuple[int, int, Mention]]) -> bool:
        """After a comma in a denial: what comes is another value of the feature that was denied last."""
        denied = {slot for *_, m in found if not m.positive for slot in _features(m)}
        for i in range(at, min(len(self.tokens), at + 4)):
            mention = self._mention(i)[1]
            if mention is not None:
                return bool(denied & _features(mention))
            if self._phrase(i, self.ear.onward):
                return False
        return False

    def _mention(self, at: int) -> tuple[int, Mention | None]:
        """The longest phrase of the vocabulary here, or a short way of speaking; None for other words."""
        ear = self.ear
        short_end, meant = ear.short_way(self.tokens, at)
        for end, entries in ear.lexicon.matches(self.tokens, at):
            if meant and end <= short_end:
                break
            readings = tuple(dict.fromkeys(r for e in entries for r in ear.meaning_of(e)))
            named = frozenset(e.term for e in entries if e.kind == "pattern")
            features = frozenset(e.term for e in entries if e.kind == "feature")
            if readings or named or features:
                return end, Mention(self._text(at, end), readings, named, features=features)
        if meant:
            return short_end, Mention(self._text(at, short_end), meant)
        return at + 1, None

    def _text(self, start: int, end: int) -> str:
        return self.text[self.tokens[start].start : self.tokens[end - 1].end]

    def _who(self, at: int, mention: Mention | None) -> frozenset[str]:
        """The subjects that a name, or "the former", stands for here."""
        if len(self.subjects) < 2:
            return frozenset()
        if mention is not None and mention.names:
            lines = {s: {s, *self.ear.lexicon.vocabulary.ancestors(s)} for s in self.subjects}
            exact = frozenset(s for s in self.subjects if s in mention.names)
            named = exact or frozenset(s for s in self.subjects if lines[s] & mention.names)
            if named:
                return named
        if mention is not None and any(self._visible(r) for r in mention.readings):
            return frozenset()  # "perforating points" says something, also of an instrument with that word in its name
        own = [s for s in self.subjects if self.tokens[at].key in self.ear.own_words(s, self.subjects)]
        if own:
            return frozenset(own)
        if self._phrase(at, self.ear.both):
            return frozenset(self.subjects)
        if self._phrase(at, self.ear.first):
            return frozenset(self.subjects[:1])
        if self._phrase(at, self.ear.second):
            return frozenset(self.subjects[1:2])
        return frozenset()

    def _visible(self, reading: nodes.Expr) -> bool:
        features = self.ear.lexicon.vocabulary.features
        return isinstance(reading, nodes.HasPart) or (isinstance(reading, nodes.Has) and not features[reading.feature].section)

    def _attribution(self, names_at: Sequence[tuple[int, frozenset[str]]], last: frozenset[str]) -> Of:
        """place -> the subjects that what stands there is said of: the name before it in its clause, else the only one after
        it there, else what was spoken of last."""
        cuts = [i for i, t in enumerate(self.tokens) if t.key == COMMA or self._phrase(i, self.ear.onward)]
        cuts += [i for i, (place, _) in enumerate(names_at[1:], 1) for i in [place]]  # a name begins a clause of its own
        marks = sorted({0, *cuts, len(self.tokens)})

        def of(place: int) -> frozenset[str]:
            start = max(m for m in marks if m <= place)
            end = min((m for m in marks if m > place), default=len(self.tokens))
            before = [who for at, who in names_at if start <= at <= place]
            after = [who for at, who in names_at if place < at < end]
            earlier = [who for at, who in names_at if at < start]
            if before:
                return before[-1]
            if after:
                return after[0]
            return earlier[-1] if earlier else last

        if len(names_at) == 2 and names_at[0][0] > 0 and self._said_first(names_at):
            # "half serration in the one, full in the other": each name ends its clause.
            first, second = names_at
            return lambda place: first[1] if place < first[0] + 1 else second[1]
        return of

    def _said_first(self, names_at: Sequence[tuple[int, frozenset[str]]]) -> bool:
        """True if something is said before the first name and nothing after the last."""
        first, last = names_at[0][0], names_at[-1][0]
        before = any(self._mention(i)[1] for i in range(first))
        end = self._mention(last)[0]
        return before and not any(self._mention(i)[1] for i in range(end, len(self.tokens)))

    def _absent_afterwards(self, found: list[tuple[int, int, Mention]]) -> list[tuple[int, int, Mention]]:
        """ "Ratchet absent", "teeth: none": what stands before, back to the comma, is denied."""
        for i in range(len(self.tokens)):
            if not self._phrase(i, self.ear.absent):
                continue
            start = max((j for j in range(i) if self.tokens[j].key == COMMA), default=-1)
            found = [(a, b, replace(m, positive=False) if start < a < i else m) for a, b, m in found]
            self.denied.update(range(start + 1, i))
        return found

    def _lengths(self, of: Of) -> None:
        """Numbers with a unit of length, and "longer" or "shorter"."""
        tokens = self.tokens
        for i, token in enumerate(tokens):
            if self.subjects and len(self.subjects) > 1:
                for sign, phrases in ((1, self.ear.longer), (-1, self.ear.shorter)):
                    if end := self._phrase(i, phrases):
                        self.heard.than.append((sign, of(i), self._text(i, end)))
            if token.kind != NUMBER:
                continue
            unit = self._millimetres(i + 1)
            if unit:
                low = high = _number(token.key) * unit
                if i > 1 and tokens[i - 2].kind == NUMBER:
                    low = _number(tokens[i - 2].key) * unit
                self.heard.lengths.append((min(low, high), max(low, high), of(i), self._text(i, i + 2)))

    def _millimetres(self, at: int) -> float:
        """The millimetres of the unit that stands here, 0 if none does."""
        lexicon = self.ear.lexicon
        if at >= len(self.tokens):
            return 0.0
        for _, entries in lexicon.matches(self.tokens, at):
            for entry in entries:
                if entry.kind == "unit":
                    return float(lexicon.unit(entry).millimetres)
        inch = next((u for u in lexicon.words.units.values() if INCH in u.phrases), None)
        return float(inch.millimetres) if inch and self.tokens[at].key == INCH else 0.0


def _features(mention: Mention) -> set[str]:
    return {r.feature for r in mention.readings if isinstance(r, nodes.Has)}


def _number(key: str) -> float:
    whole, _, part = key.partition("/")
    try:
        return float(whole) / float(part) if part else float(whole)
    except (ValueError, ZeroDivisionError):
        return 0.0
