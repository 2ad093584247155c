"""The exception tree and the stable error codes.

    BoxlockError                 everything we raise on purpose; has ``code``
    +-- QuestionError            BL-Qxx  the question was not understood; has span, expected, near
    +-- InputError               BL-Ixx  a file, an option or an argument is wrong; has file and line
    |                            BL-Pxx  what is asked of a course cannot be had
    +-- QueryError               BL-Sxx  a SPARQL query is refused, wrong or too costly
    +-- CatalogueError           BL-Cxx  the shipped or user's data cannot be used (closure missing, stale, damaged)
    +-- ReasonerError            BL-Rxx  the reasoner is missing, crashed, timed out, or found an inconsistency

BL-X01 is for what should not happen: any other exception is shown as this one, in one plain line. BL-X02: the machine has too
little memory.

Codes are headings of the troubleshooting section of the README; a test compares the two lists. ``CODES`` is the list.
"""

from __future__ import annotations

from typing import Any

CODES: dict[str, str] = {
    "BL-Q01": "the question is empty",
    "BL-Q02": "a word is not known",
    "BL-Q03": "a known word cannot stand there",
    "BL-Q04": "a bracket is missing or one too many",
    "BL-Q05": "the question has more than one reading",
    "BL-Q06": "the question asks for clinical advice",
    "BL-Q07": "the question is too long or too deeply nested",
    "BL-Q08": "characters that cannot be part of a question",
    "BL-Q09": "a definition says what the logic does not admit",
    "BL-Q10": "the name of a new category cannot be used",
    "BL-Q11": "understood, but nothing of the kind is recorded",
    "BL-Q12": "another command does what was asked for",
    "BL-Q13": "the question is about something else",
    "BL-I01": "an argument or option is wrong",
    "BL-I02": "a file cannot be read or written",
    "BL-I03": "a file does not have the expected form",
    "BL-I04": "a file is too large or unsafe to read",
    "BL-I05": "a name in a file of evidence is not known there",
    "BL-I06": "a source contradicts itself",
    "BL-I07": "a file states or defines a category",
    "BL-I08": "two sources disagree",
    "BL-I09": "a package that this needs is not installed",
    "BL-I10": "a course asks for what cannot be",
    "BL-P01": "the minutes are too few for an instrument",
    "BL-S01": "the SPARQL query does not parse",
    "BL-S02": "the SPARQL query is refused: only local reading is allowed",
    "BL-S03": "the SPARQL query is too long or too deeply nested",
    "BL-S04": "the SPARQL query took too long and was stopped",
    "BL-S05": "the store could not answer",
    "BL-S06": "the server cannot be reached",
    "BL-S07": "the server takes too long",
    "BL-S08": "the server refuses the credentials",
    "BL-S09": "the server does not do what was asked",
    "BL-S10": "the answer of the server cannot be used",
    "BL-S11": "the server holds another catalogue, or part of one",
    "BL-C01": "the closure is missing",
    "BL-C02": "the closure is damaged",
    "BL-C03": "the closure is out of date",
    "BL-C04": "the ontology or the evidence has errors",
    "BL-C05": "the catalogue is being written by another process",
    "BL-C06": "your own catalogue cannot be used",
    "BL-R01": "no Java was found for HermiT",
    "BL-R02": "HermiT crashed",
    "BL-R03": "HermiT ran out of time",
    "BL-R04": "the catalogue is inconsistent",
    "BL-X01": "a fault of Boxlock's own",
    "BL-X02": "there is too little memory",
}


class BoxlockError(Exception):
    """An error with a stable ``code`` (a key of ``CODES``), a plain ``message`` and optional ``hint`` (what would work)."""

    def __init__(self, code: str, message: str, *, hint: str = "") -> None:
        if code not in CODES:
            raise KeyError(f"unknown error code {code}")
        super().__init__(message)
        self.code = code
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} [{self.code}]" + (f"\n{self.hint}" if self.hint else "")


class QuestionError(BoxlockError):
    """The question could not be understood; nothing was asked of the store.

    ``span`` is (start, end) in characters of ``question``, end exclusive; (n, n) means "at the end".
    ``expected`` holds phrases a person can type there; ``near`` known words, closest first; ``readings`` the choices of an
    ambiguous question, each a question that would be understood; ``offer`` what could be answered of it, as a question, if
    anything can.
    """

    def __init__(
        self,
        code: str,
        message: str,
        *,
        question: str = "",
        span: tuple[int, int] = (0, 0),
        expected: tuple[str, ...] = (),
        near: tuple[str, ...] = (),
        readings: tuple[str, ...] = (),
        hint: str = "",
        offer: str = "",
    ) -> None:
        super().__init__(code, message, hint=hint)
        self.question = question
        self.offer = offer
        self.span = span
        self.expected = expected
        self.near = near
        self.readings = readings


class InputError(BoxlockError):
    """Something the user gave is wrong. ``file`` is the path as given, ``line`` is 1-based; 0 means the whole file.

    ``findings``: where one reading of a file meets many faults, all of them (``kg.model.Finding``), in the order to show.
    """

    def __init__(
        self, code: str, message: str, *, file: str = "", line: int = 0, hint: str = "", findings: tuple[Any, ...] = ()
    ) -> None:
        super().__init__(code, message, hint=hint)
        self.file = file
        self.line = line
        self.findings = findings


class QueryError(BoxlockError):
    """A SPARQL query was refused, is wrong, or was stopped."""


class CatalogueError(BoxlockError):
    """The catalogue on disk cannot be used as it is."""


class ReasonerError(BoxlockError):
    """A reasoner could not give an answer, or found the catalogue inconsistent."""
