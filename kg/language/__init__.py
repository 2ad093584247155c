"""Questions in plain English: text -> tree -> text. Needs only the vocabulary and the word file; touches no store.

parse("clamps with a ratchet", lexicon) -> Filter(And((IsA(...), HasPart(...))))
say(question, lexicon)                  -> "clamps with a ratchet"
"""

from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.parse import parse, parse_statement, pattern_named
from kg.language.say import say, say_expr
from kg.language.suggest import Suggestion, suggest
from kg.language.understand import Understood, understand

__all__ = [
    "Lexicon",
    "Suggestion",
    "Understood",
    "nodes",
    "parse",
    "parse_statement",
    "pattern_named",
    "say",
    "say_expr",
    "suggest",
    "understand",
]
