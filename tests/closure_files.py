"""The files of a closure as the tests expect them, in the order in which they are written."""

from kg import closure

FILES = (
    closure.QUADS,
    closure.VOCABULARY,
    closure.WORDS,
    closure.PHRASES,
    closure.FACTS,
    closure.PATTERNS,
    closure.VALUE_CLASSES,
)
