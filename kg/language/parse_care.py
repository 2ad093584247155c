"""Questions about care: sterilisation cycles with their conditions, the reprocessing of an instrument, and notes on care."""

from __future__ import annotations

import re
from collections.abc import Mapping

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.nodes import Question
from kg.language.parse_pieces import PieceParser
from kg.language.tokens import WORD, Token
from kg.language.topic_words import key_of
from kg.records import replace

HOTTEST = 1000
"""No steriliser is hotter, in any unit."""

_JOINED = re.compile(r"(\d+)([^\W\d_])")  # "132C" is one token


class CareParser(PieceParser):
    """The three forms and their conditions."""

    def cycles(self) -> Question | None:
        """[ "what is" ] { "cycle" | "minimum time" | method | load | steriliser | "at" temperature }, each at most once

        A method alone is no question about cycles: "steam" by itself asks for instruments.
        """
        start = self.at
        self._opening("kw.cycle", "kw.cycle_word", "load", "steriliser")
        asked = nodes.Cycles()
        named = measured = False
        while True:
            if self.take("kw.cycle"):
                named = True
            elif self.take("kw.cycle_word", quiet=True):
                measured = True
            elif (found := self._condition(asked)) is not None:
                asked = found
            else:
                break
        if named or asked.load or asked.steriliser or asked.degrees is not None or (measured and asked.method):
            return asked
        self.at = start
        return None

    def _condition(self, asked: nodes.Cycles) -> nodes.Cycles | None:
        """One more condition, with the word before it; None if none stands here, or if it was given before."""
        start = self.at
        self.take("kw.cycle_of", "kw.cycle_by", "kw.cycle_in", "kw.cycle_at", quiet=True)
        # A "hot air oven" is more than "hot air".
        match = self.take("load", "steriliser", quiet=not asked.method)
        if match and not getattr(asked, match.entry.kind):
            return replace(asked, **{match.entry.kind: match.entry.term})
        feature = self.lexicon.words.cycle_feature
        match = None if match else self.take("value", accept=lambda e: self.feature_of(e) == feature, quiet=True)
        if match and not asked.method:
            return replace(asked, method=self.pick(match, match.entries).term)
        temperature = None if match or asked.degrees is not None else self._temperature()
        if temperature:
            return replace(asked, degrees=temperature[0], unit=temperature[1])
        self.at = start
        return None

    def _temperature(self) -> tuple[float, str] | None:
        """number unit, in one word or two"""
        start = self.at
        at = self._past_fillers()
        token = self.tokens[at] if at < len(self.tokens) else None
        joined = _JOINED.fullmatch(token.key) if token and token.kind == WORD else None
        if token and joined and any(e.kind == "degree" and e.term == joined[2] for e in self.lexicon.entries(joined[2])):
            self.at = at + 1
            return self._bounded(token, joined[1]), joined[2]
        number = self.number()
        unit = self.take("degree") if number else None
        if number is None or unit is None:
            self.at = start
            return None
        return self._bounded(number, number.key), unit.entry.term

    def _bounded(self, token: Token, text: str) -> float:
        """The number of a token. Raises BL-Q03 for one that is no temperature."""
        whole, _, tenths = text.partition(".")
        if not (whole + tenths).isascii() or not (whole + tenths).isdigit() or len(whole) > 4 or float(text) > HOTTEST:
            raise QuestionError(
                "BL-Q03",
                f'"{self.text[token.start : token.end]}" is no temperature of a steriliser.',
                question=self.text,
                span=(token.start, token.end),
                expected=self.lexicon.words.expected.get("degree", ()),
                hint="Give a temperature in °C or °F.",
            )
        return float(text)

    def reprocessing(self) -> Question | None:
        """ "reprocessing of" subject | "how is" subject "reprocessed" """
        self._opening("kw.reprocessing")
        if self.take("kw.reprocessing"):
            entry = self.subject()
            return nodes.Reprocessing(entry.term) if entry else None
        if not self.take("kw.how"):
            return None
        entry = self.subject(closed=False)
        return nodes.Reprocessing(entry.term) if entry and self.take("kw.reprocessed") else None

    def care_notes(self) -> Question | None:
        """ "care notes on" topic { ( "," | "and" ) topic } [ "for" pattern ]"""
        if not self.lexicon.words.care or not self.take("kw.care_notes"):
            return None
        topics = self._listed(self.lexicon.words.care)
        if not topics:
            return None
        entry = self.subject("pattern") if self.take("kw.care_for") else None
        return nodes.CareNotes(topics, entry.term if entry else "")

    def reason_notes(self) -> Question | None:
        """ "reason notes on" note { ( "," | "and" ) note }"""
        if not self.lexicon.words.reasons or not self.take("kw.reason_notes"):
            return None
        notes = self._listed(self.lexicon.words.reasons.get("note", {}))
        return nodes.ReasonNotes(notes) if notes else None

    def _listed(self, known: Mapping[str, Mapping]) -> tuple[str, ...]:
        """What is named here, one after the other, as it is read back."""
        found: list[str] = []
        while (name := self._topic(known)) is not None:
            found.append(name)
            if self.at < len(self.tokens) and self.tokens[self.at].key == ",":
                self.at += 1
            else:
                self.take("kw.and", quiet=True)
        return tuple(dict.fromkeys(found))

    def _topic(self, known: Mapping[str, Mapping]) -> str | None:
        """What is named here as it is read back, the longest."""
        articles = self.lexicon.words.articles
        start = self.at
        while start < len(self.tokens) and self.tokens[start].key in articles:
            start += 1
        best: tuple[int, str] | None = None
        for name, topic in known.items():
            end = start
            for key in key_of(topic["say"], self.lexicon):
                while end < len(self.tokens) and self.tokens[end].key in articles:
                    end += 1
                if end >= len(self.tokens) or self.tokens[end].key != key:
                    break
                end += 1
            else:
                best = max(best or (0, ""), (end, name))
        if best is None:
            return None
        self.at = best[0]
        return best[1]
