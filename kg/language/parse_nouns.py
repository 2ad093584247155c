"""Adjectives that share the name of a part, and words that only say where on it: "long, thin jaws", "a fenestrated head", "cups
at the ends of the jaws"."""

from __future__ import annotations

from collections.abc import Sequence

from kg.language import nodes
from kg.language.joining import conj, disj
from kg.language.nodes import Expr
from kg.language.parse_atoms import AtomParser
from kg.language.tokens import WORD, Token

MOST_BEFORE_NAME = 3
"""So many words before the name of a part make a value with it."""
MOST_ADJECTIVES = 4


class NounParser(AtomParser):
    """Rules for what is said of a part by more than one word."""

    def of_one_noun(self) -> Expr | None:
        """adjective { [ "," ] [ "and" | "or" ] adjective } noun: each makes a value with the noun; with "or" any of them"""
        start = self._past_fillers()
        at, said, joins = start, [], set[str]()
        while len(said) <= MOST_ADJECTIVES and at < len(self.tokens):
            joining = self.kinds(at) & {"kw.and", "kw.or"}
            if said and (self.tokens[at].key == "," or joining):
                joins |= joining
                at += 1
                continue
            if self.tokens[at].kind != WORD:
                return None
            if said and (nouns := self._nouns(at)):
                break
            said.append(self.tokens[at])
            at += 1
        else:
            return None
        known = max((end for end, es in self.phrases(start) if any(e.kind in ("value", "wide") for e in es)), default=0)
        if known > at or (len(said) == 1 and "part" in self.kinds(at)):
            return None
        for noun in nouns:
            each = [self._named_with([word, *noun], (word.start, word.end)) for word in said]
            features = [f for e in each for f in self._features(e)]
            if not all(e is not None for e in each) or len(joins) > 1:
                continue
            if "kw.or" in joins:
                self.at = at + 1
                return disj([e for e in each if e is not None])
            if len(features) == len(set(features)):  # not "a pointed triangular end"
                self.at = at + 1
                self.at_the_end()
                return conj([e for e in each if e is not None])
        return None

    @staticmethod
    def _features(expr: Expr | None) -> set[str]:
        items = expr.items if isinstance(expr, nodes.Or) else (expr,)
        return {i.feature for i in items if isinstance(i, nodes.Has)}

    def _nouns(self, at: int) -> list[list[Token]]:
        """The names under which a noun may be known: as it was typed, if it is that of a part, and those it stands for"""
        token = self.tokens[at]
        typed = [[token]] if any(e.kind == "part" for end, es in self.phrases(at) if end == at + 1 for e in es) else []
        other = self.lexicon.words.nouns.get(token.key, ())
        return typed + [[Token(k, token.start, token.end, WORD) for k in self.lexicon.keys(name)] for name in other]

    def _named_with(self, words: Sequence[Token], span: nodes.Span) -> Expr | None:
        """The value that all of these words name together, or any of several"""
        of = self.lexicon.vocabulary.terms
        entries = next((es for end, es in self.lexicon.matches(words, 0) if end == len(words)), ())
        wide = next((e for e in entries if e.kind == "wide" and all(of[t].role == "value" for t in e.terms)), None)
        values = [
            e for e in entries if e.kind == "value" and not e.negated and self.feature_of(e) in self.lexicon.owned_features
        ]
        named = wide.terms if wide is not None else [e.term for e in self.lexicon.resolve(values)]
        return disj([nodes.Has(of[t].feature, t, span) for t in named]) if named else None

    def at_the_end(self, said: Expr | None = None) -> None:
        """[ "at" end [ "of" part ] ], behind what is at an end anyway"""
        items = said.items if isinstance(said, nodes.Or) else (said,)
        forms = self.lexicon.words.at_end
        if said is not None and not all(
            (isinstance(i, nodes.Has) and i.feature in forms | self.lexicon.words.end_said)
            or (isinstance(i, nodes.HasPart) and i.part in forms)
            for i in items
        ):
            return
        start = self.at
        if (
            any(isinstance(i, nodes.Has) and i.feature in self.lexicon.words.end_said for i in items)
            and start < len(self.tokens)
            and self.tokens[start].key in self.lexicon.words.ends
        ):
            self.at += 1  # "a bent tip"
            return
        if not self.take("kw.place", quiet=True):
            return
        at = self._past_fillers()
        each = self.lexicon.words.each_end
        while at < len(self.tokens) and self.tokens[at].key in each:
            at += 1
        if at == len(self.tokens) or self.tokens[at].key not in self.lexicon.words.ends:
            self.at = start
            return
        self.at = at + 1
        behind = self.at
        if self.take("kw.of", "kw.place", quiet=True):
            at = self._past_fillers()
            while at < len(self.tokens) and self.tokens[at].key in each:
                at += 1
            self.at = at
            if self.take("part", quiet=True) is None:
                self.at = behind
