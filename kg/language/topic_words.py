"""The phrases of topics that stand in a data file (care, reasons), found in a question."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from kg.language.lexicon import Lexicon
from kg.language.tokens import SYMBOL, Token

Key = tuple[str, ...]
Phrases = Mapping[Key, list[tuple[str, bool]]]
"""Phrase -> (topic, whether it is sure)."""


def key_of(text: str, lexicon: Lexicon) -> Key:
    """The keys of a phrase without its articles."""
    return tuple([k for k in lexicon.keys(text) if k not in lexicon.words.articles])


def phrases_of(topics: Mapping[str, Mapping[str, Any]], lexicon: Lexicon, name: str) -> tuple[Phrases, int]:
    """The phrases of the topics, and the words of the longest. Made once for a lexicon, and kept under ``name``."""
    if (known := lexicon.beside.get(name)) is not None:
        return known  # type: ignore[return-value]
    out: dict[Key, list[tuple[str, bool]]] = {}
    for topic_name, topic in topics.items():
        for sure in (True, False):
            for phrase in topic.get("sure" if sure else "words", ()):
                entries = out.setdefault(key_of(phrase, lexicon), [])
                if all(topic_name != other for other, _ in entries):
                    entries.append((topic_name, sure))
    lexicon.beside[name] = found = out, max(map(len, out), default=0)
    return found


def topic_at(
    tokens: Sequence[Token], at: int, phrases: Phrases, longest: int, articles: Iterable[str]
) -> tuple[int, list[tuple[str, bool]]]:
    """The end of the longest phrase that begins here, articles passed over, with its topics; (at, []) if none does."""
    key: list[str] = []
    best: tuple[int, list[tuple[str, bool]]] = (at, [])
    for end in range(at, len(tokens)):
        if tokens[end].kind == SYMBOL or len(key) >= longest:
            break
        if tokens[end].key in articles:
            continue
        key.append(tokens[end].key)
        if found := phrases.get(tuple(key)):
            best = (end + 1, found)
    return best


def stands(keys: Sequence[str], phrase: Key) -> bool:
    """Whether a phrase stands among these words."""
    return any(tuple(keys[i : i + len(phrase)]) == phrase for i in range(len(keys) - len(phrase) + 1))
