"""Where the parser stands in a question: matching phrases, trying again, and saying what was expected.

Every attempt to match leaves a note of what was looked for and where. The notes at the farthest place make the error
message, and
the notes at the end of an unfinished question tell what can follow.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, NamedTuple

from kg.errors import QuestionError
from kg.language.entries import CONTENT, FAMILIES, Entry
from kg.language.lexicon import Lexicon
from kg.language.nodes import Span
from kg.language.tokens import CLOSE, COMMA, NUMBER, SYMBOL, WORD, Token, bad_symbol

_CLOSERS = frozenset({"kw.by", "kw.be", "kw.exist", "kw.that", "kw.mean", "kw.of", "kw.compared", "kw.differ", "kw.vs"})

_BESIDE = frozenset({"kw.and", "kw.or", "kw.vs", "kw.than", "kw.compare", "kw.describe", "kw.define", "kw.whatis"})

NUMBER_KIND = "number"
END_KIND = "end"


class Match(NamedTuple):
    """Tokens [start, end) are a phrase with these entries, all of the kinds asked for."""

    start: int
    end: int
    entries: tuple[Entry, ...]

    @property
    def entry(self) -> Entry:
        return self.entries[0]


_Place = tuple[list[tuple[int, tuple[Entry, ...]]], frozenset[str], bool, int]
"""The phrases at a place, all their kinds, whether content stands there, where to look on after a filler (else 0)."""


class Cursor:
    """Tokens with a place in them. Positions are token numbers; ``span`` turns them into characters."""

    def __init__(self, text: str, tokens: list[Token], lexicon: Lexicon) -> None:
        self.text = text
        self.tokens = tokens
        self.lexicon = lexicon
        self.at = 0
        self.tried: dict[int, set[str]] = {}
        self.said: Any = None  # what went before in the conversation (``follow.Before``)
        self.named = (0, 0)  # tokens that are a new name, of which no word need be known
        self._found: dict[int, _Place] = {}

    # --- matching --------------------------------------------------------------------------------------------------
    def phrases(self, at: int) -> list[tuple[int, tuple[Entry, ...]]]:
        return self._place(at)[0]

    def kinds(self, at: int) -> frozenset[str]:
        """The kinds of all phrases that begin at a place."""
        return self._place(at)[1]

    def _place(self, at: int) -> _Place:
        """The phrases at a place, and what a look for other kinds has to know of it; worked out once."""
        known = self._found.get(at)
        if known is None:
            found = self._of_the_whole(at, self._unsplit(at, self._named(at, self.lexicon.matches(self.tokens, at))))
            kinds = frozenset(e.kind for _, entries in found for e in entries)
            content = any(e.kind in CONTENT and not e.negated and not e.composed for _, entries in found for e in entries)
            skip = found[0][0] if found and any(e.kind == "filler" for e in found[0][1]) else 0
            known = self._found[at] = (found, kinds, content, skip)
        return known

    def _named(self, at: int, found: list[tuple[int, tuple[Entry, ...]]]) -> list[tuple[int, tuple[Entry, ...]]]:
        """Without the name of a person that is a common word too, where that is meant ("which of those lacks a ratchet?"): in
        small letters it is a name as it is written, and where it stands as one."""
        if not found:
            return found
        token, words = self.tokens[at], self.lexicon.words
        if token.key not in words.common_names or not self.text[token.start].islower():
            return found
        before = self._place(at - 1)[1] if at else frozenset[str]()
        if at and not before:
            return found
        stands = not at or self.article_before(at) or not before.isdisjoint(_BESIDE)
        said = self.text[token.start : token.end].casefold() in words.common_names
        behind = self.tokens[at + 1].key if at + 1 < len(self.tokens) else ""
        if stands and said and behind not in words.articles and behind != "of":
            return found
        kept = [(end, tuple(e for e in es if end > at + 1 or e.kind != "pattern")) for end, es in found]
        return [(end, es) for end, es in kept if es]

    def says(self, *kinds: str) -> bool:
        """True if a phrase of one of these kinds stands anywhere in the question."""
        return any(not self._place(i)[1].isdisjoint(kinds) for i in range(len(self.tokens)))

    def _of_the_whole(self, at: int, found: list[tuple[int, tuple[Entry, ...]]]) -> list[tuple[int, tuple[Entry, ...]]]:
        """Without an adjective of a whole instrument where it says how something else is."""
        whole = self.lexicon.of_whole
        if not any(end == at + 1 and any(map(whole, es)) for end, es in found) or not self.lexicon.of_a_thing(self.tokens, at):
            return found
        kept = [(end, tuple(e for e in es if end > at + 1 or not whole(e))) for end, es in found]
        return [(end, es) for end, es in kept if es]

    def _unsplit(self, at: int, found: list[tuple[int, tuple[Entry, ...]]]) -> list[tuple[int, tuple[Entry, ...]]]:
        """Without phrases that would cut a name short: in "curved needle holders" there is no "curved needle"."""
        kept = found
        for end, entries in found:
            if end - at < 2 or not all(e.kind in ("value", "part", "feature", "concept") for e in entries):
                continue
            for shorter, cut in found:
                if shorter < end and any(e.kind in CONTENT for e in cut) and self._name_beyond(shorter, end):
                    kept = [f for f in kept if f[0] != end]
                    break
        return self._told_apart(at, self._without_articles(at, kept))

    def _told_apart(self, at: int, found: list[tuple[int, tuple[Entry, ...]]]) -> list[tuple[int, tuple[Entry, ...]]]:
        """Without a word for either of two where both are meant: "used in both obstetrics and gynaecology"."""
        words = self.lexicon.words
        if not any(e.kind == "wide" for _, entries in found for e in entries):
            return found
        if words.together.isdisjoint(t.key for t in self.tokens[max(at - 2, 0) : at]):
            return found
        joined = {*words.keywords["and"]}
        return [f for f in found if not any(e.kind == "wide" and joined & {*e.text.split()} for e in f[1])]

    def _without_articles(self, at: int, found: list[tuple[int, tuple[Entry, ...]]]) -> list[tuple[int, tuple[Entry, ...]]]:
        """Without names that reach over an article where a shorter name ends before it: "Mayo-Hegar a needle holder"."""
        articles = self.lexicon.words.articles
        names = [end for end, entries in found if any(e.kind == "pattern" for e in entries)]
        inside = {e: next((i for i in range(at + 1, e) if self.tokens[i].key in articles), 0) for e in names}
        over = {e for e in names if inside[e] and any(shorter <= inside[e] for shorter in names)}
        return [f for f in found if f[0] not in over] if over else found

    def _name_beyond(self, at: int, end: int) -> bool:
        """True if the name of a family or of an instrument begins at ``at`` and ends after ``end``."""
        return any(
            stop > end and any(e.kind in ("category", "pattern", "kind") and not e.composed for e in entries)
            for stop, entries in self.lexicon.matches(self.tokens, at)
        )

    def look(
        self,
        *kinds: str,
        accept: Callable[[Entry], bool] | None = None,
        negated: bool = False,
        quiet: bool = False,
    ) -> Match | None:
        """The longest phrase here that is of one of ``kinds``, fillers passed over; the place does not change.

        A longer phrase of other content is never cut: in "tissue forceps" nobody sees "tissue". ``negated`` admits
        phrases that
        begin with a word of absence; ``quiet`` leaves no note.
        """
        i = self.at
        while True:
            if not quiet:
                self.tried.setdefault(i, set()).update(kinds)
            found, here, content, skip = self._place(i)
            if here.isdisjoint(kinds):  # nearly always
                if not skip or (content and not self.cutting):
                    return None
                i = skip
                continue
            skip = 0
            longest = found[0][0] if found else 0
            for end, entries in found:
                fit = tuple(
                    e
                    for e in entries
                    if e.kind in kinds
                    and (negated or not e.negated)
                    and not (e.composed and not self._complete(end))
                    and (accept is None or accept(e))
                )
                if fit:
                    return Match(i, end, fit)
                if not self.cutting and any(e.kind in CONTENT and not e.negated and not e.composed for e in entries):
                    return None
                if end == longest and any(e.kind == "filler" for e in entries):
                    skip = end
            if not skip:
                return None
            i = skip

    def note(self, *kinds: str) -> None:
        """Leaves a note that these kinds would do here (after fillers)."""
        self.tried.setdefault(self._past_fillers(), set()).update(kinds)

    def take(self, *kinds: str, **how) -> Match | None:  # type: ignore[no-untyped-def]
        """``look``, then stand behind the match."""
        match = self.look(*kinds, **how)
        if match:
            self.at = match.end
        return match

    cutting = False  # whether an adjective may be cut from the front of a longer name
    whole_phrases = True  # whether a phrase with a "with" in it may be taken as one

    def _complete(self, at: int) -> bool:
        """True if a phrase with a "with" in it, ending at ``at``, is not the start of something that grammar has to
        read."""
        if not self.whole_phrases:
            return False
        if at >= len(self.tokens) or self.tokens[at].key == CLOSE:
            return True
        return any(e.kind in _CLOSERS for _, entries in self.phrases(at) for e in entries)

    def symbol(self, key: str) -> bool:
        """Takes a bracket or comma, if it stands here (after fillers)."""
        at = self._past_fillers()
        if at < len(self.tokens) and self.tokens[at].kind == SYMBOL and self.tokens[at].key == key:
            self.at = at + 1
            return True
        return False

    def number(self) -> Token | None:
        """Takes a number."""
        at = self._past_fillers()
        self.tried.setdefault(at, set()).add(NUMBER_KIND)
        if at < len(self.tokens) and self.tokens[at].kind == NUMBER:
            self.at = at + 1
            return self.tokens[at]
        return None

    def ended(self) -> bool:
        """True if nothing but fillers is left."""
        at = self._past_fillers()
        self.tried.setdefault(at, set()).add(END_KIND)
        return at >= len(self.tokens)

    def _past_fillers(self) -> int:
        at = self.at
        while at < len(self.tokens):
            found = self.phrases(at)
            if not found or not any(e.kind == "filler" for e in found[0][1]):
                break
            at = found[0][0]
        return at

    def article_before(self, at: int) -> bool:
        """True if an article stands just before token ``at``."""
        return at > 0 and self.tokens[at - 1].key in self.lexicon.words.articles

    def points_back(self, at: int) -> bool:
        """Whether a word for things named before does so here: "two" only behind an article ("the two", not "two hooks")"""
        return self.tokens[at].key not in self.lexicon.words.numbers or self.article_before(at)

    def those_before(self) -> bool:
        """Whether "of the two" or the like points back to instruments named before: a list of all would be no answer."""
        places = [(at, end, entries) for at in range(len(self.tokens)) for end, entries in self.phrases(at)]
        if any(e.kind == "pattern" for _, _, entries in places for e in entries):
            return False  # "which of these is self-retaining: Gelpi, Deaver?"
        return any(
            end - at > 1 and any(e.kind == "kw.them" for e in entries) and self.points_back(at) for at, end, entries in places
        )

    # --- places ----------------------------------------------------------------------------------------------------
    def span(self, start: int, end: int | None = None) -> Span:
        """Characters of tokens [start, end); at the end of the question (n, n)."""
        if start >= len(self.tokens):
            return len(self.text.rstrip()), len(self.text.rstrip())
        stop = max(start + 1, end if end is not None else start + 1)
        return self.tokens[start].start, self.tokens[min(stop, len(self.tokens)) - 1].end

    def quote(self, start: int, end: int | None = None) -> str:
        one, two = self.span(start, end)
        return self.text[one:two]

    def replaced(self, start: int, end: int, new: str) -> str:
        """The question with tokens [start, end) said otherwise."""
        one, two = self.span(start, end)
        return " ".join((self.text[:one] + new + self.text[two:]).split())

    def replaced_all(self, places: Sequence[tuple[int, int]], new: str) -> str:
        """The question with ``new`` at each of ``places`` (tokens [start, end), in order)."""
        text = self.text
        for start, end in reversed(places):
            one, two = self.span(start, end)
            text = text[:one] + new + text[two:]
        return " ".join(text.split())

    # --- errors ----------------------------------------------------------------------------------------------------
    def failure(self) -> QuestionError:
        """What is wrong at the farthest place that was reached."""
        at = max(self.tried, default=0)
        unknown = self.unknown()
        if unknown is not None:
            return unknown
        expected = self.expected(self.tried.get(at, ()))
        if at >= len(self.tokens):
            return QuestionError(
                "BL-Q03",
                "The question stops too early.",
                question=self.text,
                span=self.span(at),
                expected=expected,
            )
        found = self.phrases(at)
        end = found[0][0] if found else at + 1
        return QuestionError(
            "BL-Q03",
            f'"{self.quote(at, end)}" cannot stand here.',
            question=self.text,
            span=self.span(at, end),
            expected=expected,
        )

    def no_such_name(self, start: int, end: int, names: tuple[str, ...], *, asked: bool = True) -> QuestionError:
        """The error for words that are the name of no instrument, with the names that may be meant; ``asked``: and the question
        with each of them."""
        return QuestionError(
            "BL-Q03",
            f'No instrument is called "{self.quote(start, end)}".',
            question=self.text,
            span=self.span(start, end),
            near=names,
            expected=names,
            readings=tuple(self.replaced(start, end, name) for name in names) if asked else (),
        )

    def unknown(self, dull: Callable[[str], bool] = lambda _: False) -> QuestionError | None:
        """The error for the first word that no phrase explains and that is not ``dull``; None if there is none."""
        at = 0
        while at < len(self.tokens):
            found = self.phrases(at)
            token = self.tokens[at]
            if self.named[0] <= at < self.named[1]:
                at = self.named[1]
            elif found:
                at = found[0][0]
            elif token.kind == WORD and (token.key in self.lexicon.words.numbers or dull(token.key)):
                at += 1
            elif token.kind == WORD:
                return self._misspelt(at, dull) or self._unknown_word(token)
            elif token.kind == SYMBOL and token.key not in ("(", ")", COMMA, '"', "-"):
                return bad_symbol(self.text, (token.start, token.end))
            else:
                at += 1
        return None

    def _misspelt(self, at: int, dull: Callable[[str], bool]) -> QuestionError | None:
        """The error for a later word that nobody knows and that is nearly a known one, where the word at ``at`` is known as
        part of a longer phrase: that one is likelier to be what spoils the phrase ("periosteal elevater")."""
        if not self.lexicon.is_known(self.tokens[at].key):
            return None
        for token in self.tokens[at + 1 :]:
            if token.kind == WORD and len(token.key) > 4 and not self.lexicon.is_known(token.key) and not dull(token.key):
                error = self._unknown_word(token)
                return error if error.near else None
        return None

    def capital_inside(self, at: int) -> bool:
        """Whether the word at ``at`` has a capital and stands inside a sentence: it is a name, known or not."""
        start = self.tokens[at].start
        before = self.text[:start].rstrip(" \"'(\u201c\u2018")
        return self.text[start].isupper() and bool(before) and before[-1] not in ".?!:;"

    def unknown_name(self) -> QuestionError | None:
        """The error for the first word that looks like a name and that no phrase explains: a capital inside a sentence."""
        for at, token in enumerate(self.tokens):
            named = self.capital_inside(at) and token.kind == WORD and self.text[token.start : token.end].isalpha()
            covered = any(start <= at < end for start in range(max(0, at - 6), at + 1) for end, _ in self.phrases(start))
            if named and len(token.key) > 2 and not covered and not self.lexicon.is_known(token.key):
                return self._unknown_word(token)
        return None

    def _unknown_word(self, token: Token) -> QuestionError:
        word = self.text[token.start : token.end]
        shown = word if len(word) <= 40 else word[:40] + "…"
        known = self.lexicon.is_known(token.key)
        where = self.tried.get(self.tokens.index(token), ())
        return QuestionError(
            "BL-Q02",
            f'"{shown}" is known only as part of a longer phrase.' if known else f'I do not know the word "{shown}".',
            question=self.text,
            span=(token.start, token.end),
            near=(known and self.longer(token.key))
            or tuple(w for w in self.lexicon.near(word) if w.casefold() != word.casefold()),
            expected=self.expected(where),
            hint=""
            if known or not word[:1].isupper() or not self.text[: token.start].strip()
            else "If it is the name of an instrument, the catalogue does not hold it.",
        )

    def longer(self, key: str, limit: int = 5) -> tuple[str, ...]:
        """Phrases that contain a word, shortest first."""
        return self.lexicon.longer(key)[:limit]

    def expected(self, kinds: Iterable[str]) -> tuple[str, ...]:
        """Phrases a person can type, for kinds looked for; at most eight, examples of content last."""
        words = self.lexicon.words
        plain: list[str] = []
        examples: list[str] = []
        for kind in sorted(set(kinds), key=_order):
            if kind.startswith("kw."):
                plain.extend(words.keywords.get(kind[3:], ())[:1])
            elif kind == "connector":
                plain.append(words.connectors[0].phrases[0])
            elif kind == "unit":
                plain.extend(unit.phrases[0] for unit in words.units.values())
            elif kind.startswith("value:"):
                values = self.lexicon.vocabulary.values_of(kind[6:])
                examples.extend(self.lexicon.vocabulary.label(v) for v in values[:3])
            elif kind.startswith("op."):
                examples.extend(words.expected.get("length", ()))
            else:
                for text in words.expected.get(kind, ()):
                    entries = self.lexicon.entries(text)
                    wanted = "value" if kind == "owned" else kind
                    if kind == NUMBER_KIND or any(e.kind == wanted for e in entries):
                        examples.append(text)
        shown = dict.fromkeys([*plain[: max(4, 8 - len(examples))], *examples])
        return tuple(shown)[:8]

    def ambiguous(self, match: Match, entries: Iterable[Entry]) -> QuestionError:
        """The error for a phrase with several meanings; one reading for each."""
        phrase = self.quote(match.start, match.end)
        entries = tuple(entries)
        names = [self.lexicon.name(e.term) for e in entries]
        end = match.end  # the name in full takes the place of a family of which none is ("Liston scissors") too
        if all(e.kind == "pattern" for e in entries):
            end = next((e for e, es in self.phrases(end)[:1] if names_a_family(es)), end)
        return QuestionError(
            "BL-Q05",
            f'"{phrase}" can mean {len(names)} things: {", ".join(names)}.',
            question=self.text,
            span=self.span(match.start, match.end),
            readings=tuple(self.replaced(match.start, end, name) for name in names),
            hint="Ask with the full name.",
        )


def _order(kind: str) -> tuple[int, str]:
    for place, prefix in enumerate(("kw.with", "kw.that", "kw.be", "kw.have", "kw.and", "kw.or", "kw.by", "kw.")):
        if kind.startswith(prefix):
            return place, kind
    return 9, kind


__all__ = ["END_KIND", "NUMBER_KIND", "Cursor", "Match"]


def names_a_family(entries: Iterable[Entry]) -> bool:
    """Whether a phrase names a family, and says nothing else as well: "a Volkmann sharp or blunt" names none."""
    kinds = {e.kind for e in entries}
    return not kinds.isdisjoint(FAMILIES) and kinds.isdisjoint(("value", "wide"))
