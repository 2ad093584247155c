"""Comparisons of length: numbers, units and their words."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.cursor import Cursor
from kg.language.lexicon import LENGTH
from kg.language.tokens import NUMBER, WORD, Token
from kg.records import replace

if TYPE_CHECKING:
    from decimal import Decimal

LONGEST_MM = 10_000
NEARLY = 0.1
"""So much of a length on either side is still "about" it; the reading says the bounds."""
_OPERATORS = ("<", "<=", ">", ">=", "=")


class LengthReader(Cursor):
    """The rules for lengths."""

    def length(self) -> nodes.Length | None:
        """operator number unit [ "long" ] | "between" number [ unit ] "and" number unit [ "long" ] | "about" number unit"""
        start = self.at
        found = self._length_said()
        if found is not None and self._measures_a_part(start):
            raise QuestionError(
                "BL-Q03",
                f'"{self.quote(start, self.at)}" cannot be asked of a part.',
                question=self.text,
                span=self.span(start, self.at),
                hint="Of parts no measure is recorded, only words such as long or narrow; ask for the length of instruments.",
            )
        return found

    def _measures_a_part(self, start: int) -> bool:
        """Whether a length is said of a part: "whose jaws are longer than 5 cm", "with longer than 5 cm blades" """
        if self.at < len(self.tokens) and self._is_part(self.at, self.at + 1):
            return True
        at, verb = start - 1, False
        while at >= 0 and self.kinds(at) & {"kw.be", "kw.that"}:
            at, verb = at - 1, verb or "kw.be" in self.kinds(at)
        named = next((f for f in range(max(0, at - 1), at + 1) if at >= 0 and self._is_part(f, at + 1)), None)
        if named is None or verb:
            return named is not None
        if not named or self.kinds(named - 1).isdisjoint(("kw.with", "kw.have")):
            return False  # "with fenestrated jaws longer than 15 cm"
        spoken = f"{self.lexicon.words.keywords['long'][0]} {self.quote(named, at + 1)}"  # "with blades longer than 5 cm"
        return any(e.kind == "value" for e in self.lexicon.entries(spoken))

    def _is_part(self, start: int, end: int) -> bool:
        kinds = {e.kind for stop, es in self.phrases(start) if stop == end for e in es}
        had = start > 0 and bool(self.kinds(start - 1) & {"kw.with", "kw.whose", "kw.have"})  # "with blades": no knives
        return "part" in kinds and (had or kinds.isdisjoint(("category", "kind", "pattern", "group", "feature")))

    def _length_said(self) -> nodes.Length | None:
        start = self.at
        if self.take("op.between"):
            if found := self._range(start):
                return found
            self.at = start
        if self.take("op.about"):
            size = self._size()
            if size is not None:
                self.take("kw.long", quiet=True)
                near = float(size) * NEARLY
                return nodes.Length(
                    "between", round(float(size) - near, 1), round(float(size) + near, 1), self.span(start, self.at)
                )
            self.at = start
        match = self.take(*(f"op.{op}" for op in _OPERATORS))
        if match:
            if match.entry.term == "=" and (found := self.plain_length()) is not None:
                return replace(found, span=self.span(start, self.at))  # "measuring 20 cm or more"
            size = self._size()
            if size is not None:
                self.take("kw.long", quiet=True)
                return nodes.Length(match.entry.term, float(size), None, self.span(start, self.at))
        self.at = start
        return None

    def plain_length(self) -> nodes.Length | None:
        """number unit [ "long" ] [ "or longer" | "or shorter" ] | number [ unit ] "to" number unit [ "long" ]"""
        start = self.at
        found = self._range(start)
        if found:
            return found
        self.at = start
        size = self._size()
        if size is None:
            self.at = start
            return None
        self.take("kw.long", quiet=True)
        if self.take("kw.or_so", quiet=True):  # "14 cm or so"
            self.take("kw.long", quiet=True)
            near = float(size) * NEARLY
            return nodes.Length(
                "between", round(float(size) - near, 1), round(float(size) + near, 1), self.span(start, self.at)
            )
        if (open_end := self.take("kw.or_more", "kw.or_fewer", quiet=True)) is not None:
            self.take("kw.long", quiet=True)  # "30 cm or more in length"
        op = "=" if open_end is None else ">=" if open_end.entry.kind == "kw.or_more" else "<="
        return nodes.Length(op, float(size), None, self.span(start, self.at))

    def _with_length(self) -> nodes.Length | None:
        """ "length" [ "is" | "of" ] ( length | plain length )"""
        start = self.at
        if self.take("feature", accept=lambda e: e.term == LENGTH, quiet=True):
            self.take("kw.be", "kw.of", quiet=True)
            found = self.length() or self.plain_length()
            if found:
                return found
        self.at = start
        return None

    def _range(self, start: int) -> nodes.Length | None:
        low = self._number()
        if low is None:
            return None
        first = self._unit()
        if not self.take("op.to"):
            return None
        high = self._number()
        if high is None:
            return None
        unit = self._unit()
        if unit is None:
            return None
        small = self._checked(low * (first or unit), start)
        large = self._checked(high * unit, start)
        if small > large:
            small, large = large, small
        self.take("kw.long", quiet=True)
        return nodes.Length("between", float(small), float(large), self.span(start, self.at))

    def _size(self) -> Decimal | None:
        start = self.at
        number = self._number()
        if number is None:
            return None
        unit = self._unit() or self._unit_shared()
        return None if unit is None else self._checked(number * unit, start)

    def _unit_shared(self) -> Decimal | None:
        """The unit of another bound, where a question has one unit only: "longer than 10 cm but shorter than 15" """
        at = self._past_fillers()
        following = self.kinds(at) if at < len(self.tokens) else frozenset()
        beyond = self.kinds(at + 1) if at + 1 < len(self.tokens) else frozenset()
        bound = following & {"kw.and", "kw.but"} and any(k.startswith("op.") for k in beyond)
        if not bound and (at < len(self.tokens) or not self._second_bound(at - 1)):
            return None
        numbers, tokens = self.lexicon.words.numbers, self.tokens
        counted = [i + 1 for i, t in enumerate(tokens[:-1]) if t.kind == NUMBER or t.key in numbers]  # not "used in the ear"
        units = [e for i in counted for _, es in self.phrases(i) for e in es if e.kind == "unit"]
        if len({u.term for u in units}) != 1:
            return None
        from decimal import Decimal

        return Decimal(self.lexicon.unit(units[0]).millimetres)

    def _second_bound(self, number: int) -> bool:
        """Whether a comparison ends before a number and begins behind an "and" or a "but"."""
        joined = {"kw.and", "kw.but"}
        return any(
            end == number and any(e.kind.startswith("op.") for e in es) and self.kinds(at - 1) & joined
            for at in range(1, number)
            for end, es in self.phrases(at)
        )

    def _number(self) -> Decimal | None:
        """number [ fraction ]: 5, 5.5, 5 1/2, 5½"""
        if (said := self._number_word()) is not None:
            return said
        token = self.number()
        if token is None:
            return None
        value = self._decimal(token)
        if self.at < len(self.tokens) and _is_fraction(self.tokens[self.at]) and not _is_fraction(token):
            value += self._decimal(self.tokens[self.at])
            self.at += 1
        return value

    def _number_word(self) -> Decimal | None:
        """ "seven", "half [ a ]": a number in words, taken only before a unit or before the end of a range"""
        at = self._past_fillers()
        token = self.tokens[at] if at < len(self.tokens) else None
        value = self.lexicon.words.numbers.get(token.key) if token and token.kind == WORD else None
        if value is None:
            return None
        start, self.at = self.at, at + 1
        match = self.look("unit", "op.to", quiet=True)
        if not match and self._unit_shared() is not None:
            from decimal import Decimal

            return Decimal(value)
        if not match or self._leads_on(match.end - 1):
            self.at = start
            return None
        from decimal import Decimal

        return Decimal(value)

    def _leads_on(self, at: int) -> bool:
        """Whether a unit is a word of place too ("the toothed one in the tray"), with no "long" or the like behind it."""
        return "kw.place" in self.kinds(at) and self.kinds(at + 1).isdisjoint(("kw.long", "kw.or", "kw.and", "op.to"))

    def _decimal(self, token: Token) -> Decimal:
        from decimal import Decimal  # only where there is a number: every import counts in a one-shot answer

        if not token.key[0].isascii():
            return Decimal(str(unicodedata.numeric(token.key)))
        if len(token.key) > 12:
            raise self._bad_length((token.start, token.end))
        over, _, under = token.key.partition("/")
        if not under:
            return Decimal(over)
        if not int(under):
            raise self._bad_length((token.start, token.end))
        return Decimal(over) / Decimal(under)

    def _unit(self) -> Decimal | None:
        match = self.take("unit")
        if match is None:
            return None
        from decimal import Decimal

        return Decimal(self.lexicon.unit(match.entry).millimetres)

    def _checked(self, millimetres: Decimal, start: int) -> Decimal:
        if not 0 < millimetres <= LONGEST_MM:
            raise self._bad_length(self.span(start, self.at))
        return millimetres

    def _bad_length(self, span: nodes.Span) -> QuestionError:
        return QuestionError(
            "BL-Q03",
            f'"{self.text[span[0] : span[1]]}" is no length of an instrument.',
            question=self.text,
            span=span,
            expected=self.lexicon.words.expected.get("length", ()),
            hint="Give a length above 0 and up to 10 m.",
        )


def _is_fraction(token: Token) -> bool:
    return token.kind == NUMBER and ("/" in token.key or not token.key[:1].isascii())
