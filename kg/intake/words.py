"""Words people write in a cell -> names of the catalogue: labels first, then synonyms, then misspellings."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches

from kg import names
from kg.language.tokens import fold
from kg.vocabulary import Term

_MOST_NEAR = 200
"""Looking for near names is slow; a file with more unknown names than this has another fault."""


class Words:
    """Folded words -> names, for terms of some roles."""

    def __init__(self, terms: Iterable[Term]) -> None:
        self._ranks: list[dict[str, list[str]]] = [{}, {}, {}]
        self._shown: dict[str, str] = {}
        self.names: set[str] = set()
        for term in terms:
            self.names.add(term.name)
            self._shown.setdefault(fold(term.label), term.label)
            local = term.name.split(":")[1]
            spelt = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", " ", local)
            for rank, words in enumerate(((term.label,), (spelt, term.plural, *term.alt), term.hidden)):
                for word in words:
                    found = self._ranks[rank].setdefault(fold(word), []) if word else []
                    if term.name not in found:
                        found.append(term.name)
        self._near: dict[str, str] = {}
        self._locals = {n.split(":")[1]: n for n in sorted(self.names)}
        self._small = {k.casefold(): k for k in reversed(self._locals)}

    def find(self, text: str) -> list[str]:
        """Names that the text can mean: one if it is clear, several if it is not, none if it is not known."""
        text = names.shown(text.strip("<>")) if "://" in text else text
        if text in self.names:
            return [text]
        if text in self._locals:
            return [self._locals[text]]
        key = fold(" ".join(text.split()))
        return next((rank[key] for rank in self._ranks if key in rank), [])

    def near(self, text: str) -> str:
        """A known label or id that looks like the text; empty if none does, or if too much has been asked already."""
        plain = fold(" ".join(text.split())).rsplit(":", 1)[-1][:80]
        if plain not in self._near:
            if len(self._near) >= _MOST_NEAR:
                return ""
            found = get_close_matches(plain, sorted({*self._shown, *self._small}), 1, 0.7)
            self._near[plain] = (self._shown.get(found[0]) or self._small[found[0]]) if found else ""
        return self._near[plain]
