"""Facts as spoken English: clauses joined into sentences. Knows grammar; the words come from the vocabulary.

A fact is a ``Clause``: what is had ("a ratchet"), lacked, what the thing is ("curved"), or anything else ("fits the ...").
Clauses about one part become one sentence or two: "It has short, solid jaws with transverse serration. The jaws are curved."
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from kg.records import Record, record
from kg.vocabulary import Feature, Vocabulary
from kg.wording import article, capital, is_plural, listing, of_many, plural

_ARTICLE = re.compile(r"^(an?|the) ")


@record
class Clause(Record):
    """``verb`` is has, lacks, is or other; ``text`` what follows the verb (for other: the whole clause)."""

    verb: str
    text: str

    def __str__(self) -> str:
        """The clause without its subject: "has a ratchet", "has no ratchet", "is curved"."""
        match self.verb:
            case "has":
                return f"has {self.text}"
            case "lacks":
                return f"has no {self.text}"
            case "is":
                return f"is {self.text}"
        return self.text


def noun(name: str, vocabulary: Vocabulary, *, bare: bool = False) -> str:
    """A value or part as it stands in a sentence: its spoken form, else its label with an article (``bare``: without)."""
    term = vocabulary.terms.get(name)
    if term is not None and term.spoken:
        return term.spoken
    label = vocabulary.label(name)
    return label if bare or label.startswith("no ") else article(label)


def value_clause(feature: Feature, values: Sequence[str], vocabulary: Vocabulary) -> Clause:
    """All values of one feature as one clause: "is used on arteries, veins and the bowel"."""
    phrase = feature.phrase or f"has the {vocabulary.label(feature.name)} {{value}}"
    last = "or" if phrase.startswith("can ") else "and"
    return _split(_filled(phrase, [(noun(v, vocabulary), noun(v, vocabulary, bare=True)) for v in values], last))


def varying_clause(feature: Feature, values: Sequence[str], vocabulary: Vocabulary) -> Clause:
    """What differs between pieces: "is made straight or curved", "is sometimes made with a fine tip"."""
    found = _split(feature.phrase or "has {value}")
    nouns = [(noun(v, vocabulary), noun(v, vocabulary, bare=True)) for v in values]
    last = "or"
    made = "is made" if len(values) > 1 else "is sometimes made"
    if found.verb == "has":
        with_each = [f"with {_filled(found.text, [n], last)}" for n in nouns]
        return Clause("other", f"{made} {listing(with_each, last)}")
    if found.verb == "is" and found.text.startswith("{"):
        return Clause("other", f"{made} {_filled(found.text, nouns, last)}")
    text = _filled(str(found), nouns, last)
    if len(values) == 1 and found.verb == "is":
        return Clause("other", text.replace(" ", " sometimes ", 1))
    return _split(text)


def _filled(phrase: str, nouns: Sequence[tuple[str, str]], last: str) -> str:
    return phrase.replace("{a value}", listing((a for a, _ in nouns), last)).replace(
        "{value}", listing((b for _, b in nouns), last)
    )


def _split(clause: str) -> Clause:
    for verb in ("has", "is"):
        if clause.startswith(verb + " "):
            rest = clause[len(verb) + 1 :]
            if verb == "has" and rest.startswith("no "):
                return Clause("lacks", rest[3:])
            return Clause(verb, rest)
    return Clause("other", clause)


def part_noun(part: str, held: Iterable[str], vocabulary: Vocabulary) -> str:
    """A part with its article, or in the plural where the instrument has two of it."""
    term = vocabulary.terms[part]
    if term.paired and term.paired in set(held):
        return plural(term.label, term.plural)
    return term.spoken or article(term.label)


def bare(text: str) -> str:
    """A noun without its article."""
    return _ARTICLE.sub("", text)


def had(head: str, attributes: Sequence[str]) -> str:
    """A part with what is said of it: "short, solid jaws with transverse serration", "a box-lock joint".

    ``head`` is the part as a noun, empty if it is not known to be there. An attribute that ends in the part's own name lends
    its adjectives to it; one that names the part elsewhere stands for it; all others follow after "with".
    """
    name = bare(head)
    key = name.split()[-1] if name else ""
    before, instead, after = [], [], []
    for text in attributes:
        body = bare(text).split()
        ends = body[-1] == key or plural(body[-1]) == key
        if key and ends and "the" not in body and not text.startswith("no "):
            own = name.split()
            before.append(" ".join(body[: -len(own)] if body[-len(own) :] == own else body[:-1]))
        elif key and (key in body or _one(key) in body):
            instead.append(text)
        else:
            after.append(text)
    if before:
        phrase = f"{', '.join(b for b in before if b)} {name}"
        head = phrase if is_plural(name) else article(phrase)
    elif instead:
        head = ""
    first = f"{head} with {listing(after)}" if head and after else head or ""
    if instead and after and not head:
        return f"{listing(instead)}, with {listing(after)}"
    return listing([t for t in (first, *instead, *([] if head else after)) if t])


def _one(word: str) -> str:
    return word[:-1] if word.endswith("s") else word


def sentence(subject: str, clauses: Sequence[Clause], *, many: bool = False) -> str:
    """Clauses of one subject as one sentence with a full stop; empty for no clauses. ``many``: the subject is plural."""
    said = predicate(clauses, many=many)
    return f"{capital(subject)} {said}." if said else ""


def predicate(clauses: Sequence[Clause], *, many: bool = False) -> str:
    """Clauses as one predicate: what is had, what is lacked, what it is, then the rest."""
    has = [c.text for c in clauses if c.verb == "has"]
    lacks = [f"no {c.text}" for c in clauses if c.verb == "lacks"]
    verb = "have" if many else "has"
    parts = []
    if has and lacks:
        parts.append(f"{verb} {listing(has)}, but {listing(lacks)}")
    elif has or lacks:
        parts.append(f"{verb} {listing(has or lacks)}")
    said = [c.text for c in clauses if c.verb == "is"]
    if said:
        parts.append(f"{'are' if many else 'is'} {listing(said)}")
    parts += [of_many(c.text) if many else c.text for c in clauses if c.verb == "other"]
    if len(parts) < 2:
        return "".join(parts)
    comma = "," if len(parts) > 2 or " and " in parts[0] or ", " in parts[0] else ""
    return f"{', '.join(parts[:-1])}{comma} and {parts[-1]}"
