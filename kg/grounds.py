"""Questions for a reason, a danger or a grip that a note with its source answers: which notes speak of what is named.

A note speaks of a question only if all that it is about is named there, and nothing else but what it allows for besides. What
the ontology records of a named instrument counts as named with it, where that is the subject. So a note never stands for a
question about something else; without a note the question is answered as any other.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from kg import names
from kg.answer.values import NOT_RECORDED
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.reasoned import Heard, Span, heard, put_plainly, second_half
from kg.language.tokens import SYMBOL
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language.before import Before
    from kg.model import Answer

Said = tuple[frozenset[str], frozenset[str]]
"""The topics that a span names, and those that are recorded of the instrument it names."""
_SUBJECTS = frozenset(("pattern", "category", "kind"))
ARGUED = ("why", "contrast", "holds")
"""Kinds of answers that argue a question and leave room for the reason beside."""
_DIFFER = frozenset(("kw.differ_from", "kw.vs"))
_TOLD_OF_PARTS = ("part", "define")
"""Kinds of answers that tell what a part is."""


def notes_for(catalogue: Catalogue, text: str, before: Before | None, frames: str = "put") -> tuple[tuple[str, ...], str]:
    """The names of the notes that speak of what a question asks the reason, the danger or the grip of, none if none does; and
    the instrument or the family that it speaks of. ``frames``: the table of the file by which it may be put."""
    for said in (text, *put_plainly(text, catalogue.lexicon, frames)):
        found = heard(said, catalogue.lexicon, catalogue.talk, before)
        if found is None or (said != text and _of_instruments_alone(found)):
            continue
        whole = found._replace(spans=(*found.spans, *found.before))
        alone = any(s.patterns or s.family for s in found.spans)  # else it is asked of what went before, if anything did
        for each in (found, whole) if alone else (whole, found):
            if notes := _speaking(catalogue, each):
                return notes, whole.subject
    return (), ""


def _of_instruments_alone(found: Heard) -> bool:
    """Whether a reason is asked for and no more than instruments is named: "what does a DeBakey do?" asks for no reason."""
    return found.kinds == {"why"} and all(s.patterns or s.family for s in found.spans)


def _speaking(catalogue: Catalogue, found: Heard) -> tuple[str, ...]:
    """The names of the notes that speak of what was heard; of those that do, the ones about most of it."""
    table = catalogue.lexicon.words.reasons
    topics: Mapping[str, Mapping[str, Any]] = table.get("topic", {})
    said = [_topics(catalogue, span, topics) for span in found.spans]
    if not all(named or recorded for named, recorded in said):
        return ()
    fit = {name: note for name, note in table.get("note", {}).items() if _speaks(note, found, said)}
    most = max((len(note["about"]) for note in fit.values()), default=0)
    return tuple(name for name, note in fit.items() if len(note["about"]) == most)


def told(
    catalogue: Catalogue,
    text: str,
    limit: int,
    after: Answer | None,
    before: Before | None,
    frames: tuple[str, ...] = ("put", "beside"),
) -> Answer | None:
    """The answer with what the notes say: beside the argument where the question is argued too, behind the answer to the first
    half of a question that asks why as well, else alone. None if no note speaks of it."""
    notes, subject, beside = (), "", False
    for table in frames:
        if not notes:
            (notes, subject), beside = notes_for(catalogue, text, before, table), table == "beside"
    if not notes or _sets_beside(catalogue, text):
        return None
    reason = catalogue.answer(nodes.ReasonNotes(notes), text, limit=limit)
    subject = subject or _only_bearer(catalogue, notes)
    reason = replace(reason, others=(subject,) if subject else ())  # which a further question may lean on
    if before is not None and isinstance(before.question, nodes.Filter):  # "why don't they crush it?", "how long are they?"
        reason = replace(reason, wider=(before.question,), listed=before.shown)
    half = second_half(text, catalogue.lexicon)
    with suppress(QuestionError):
        first = _ordinary(catalogue, half or text, limit, after)
        beside = beside and first.kind in _TOLD_OF_PARTS
        if first.unread is None and (half or beside or first.kind in ARGUED or (first.kind == "value" and recorded(first))):
            return first if _denied(first) or _open(catalogue, first, notes) else replace(first, question=text, also=reason)
    return reason


def _sets_beside(catalogue: Catalogue, text: str) -> bool:
    """Whether two instruments are to be compared: "compare the Allis and the Babcock for tissue damage"."""
    parser = parser_for(text, catalogue.lexicon)
    differ = any(parser.kinds(at) & _DIFFER for at in range(len(parser.tokens)))
    if not differ and not parser.look("kw.compare", quiet=True):
        return False
    return sum(any(e.kind == "pattern" for e in parser.phrases(a)[0][1]) for a, _ in _subjects(parser)) > 1


def _only_bearer(catalogue: Catalogue, notes: tuple[str, ...]) -> str:
    """The one instrument that notes bear on; empty if it is a family, or several."""
    table = catalogue.lexicon.words.reasons.get("note", {})
    found = set()
    for name in notes:
        with suppress(QuestionError):
            found.add(getattr(parse(table[name].get("bears", ""), catalogue.lexicon), "subject", ""))
    return found.pop() if len(found) == 1 else ""


def of_another(catalogue: Catalogue, text: str, after: Answer) -> str:
    """The question before, which a note answered, with what is named now in the place of what it was asked of: "and a Miller?"
    after "where does the tip of a Macintosh lie?"; empty if the text is no more than such a name."""
    if after.kind != "reasons" and getattr(after.also, "kind", "") != "reasons":
        return ""
    now = parser_for(text, catalogue.lexicon)
    if not now.take("kw.and_what_of", "kw.and", quiet=True) or not now.tokens[now.at :]:
        return ""
    last = max(i for i, t in enumerate(now.tokens) if t.kind != SYMBOL)
    named, asked = _subjects(now), _subjects(parser_for(after.question, catalogue.lexicon))
    if (
        len(named) != 1
        or len(asked) != 1
        or named[0][1] <= last
        or any(t.key not in now.lexicon.words.articles for t in now.tokens[now.at : named[0][0]])
    ):
        return ""
    before = parser_for(after.question, catalogue.lexicon).tokens
    start, end = before[asked[0][0]].start, before[asked[0][1] - 1].end
    return f"{after.question[:start]}{now.quote(*named[0])}{after.question[end:]}"


def _subjects(parser: FormParser) -> list[tuple[int, int]]:
    """Where instruments and families are named, the longest name at each place."""
    found, at = [], parser.at
    while at < len(parser.tokens):
        end = max((end for end, es in parser.phrases(at) if any(e.kind in _SUBJECTS for e in es)), default=at)
        found += [(at, end)] if end > at else []
        at = max(end, at + 1)
    return found


def _denied(answer: Answer) -> bool:
    """Whether what a question supposes is not so, and nobody says it is."""
    return answer.kind == "why" and answer.argument is not None and answer.argument.holds is False and not answer.disputed


def _open(catalogue: Catalogue, answer: Answer, notes: tuple[str, ...]) -> bool:
    """Whether it is not on record that something lacks what the notes tell why it is lacking."""
    table = catalogue.lexicon.words.reasons.get("note", {})
    argued = answer.kind == "why" and answer.argument is not None and answer.argument.holds == "not recorded"
    return argued and not answer.disputed and all(table[note].get("no") for note in notes)


def recorded(answer: Answer) -> bool:
    """Whether any of the values that an answer tells is on record."""
    return any(v.status != NOT_RECORDED for v in answer.values or ())


def _ordinary(catalogue: Catalogue, text: str, limit: int, after: Answer | None) -> Answer:
    from kg.asking import ask

    return ask(catalogue, text, limit=limit, after=after, page=None, reasons=False)


def _topics(catalogue: Catalogue, span: Span, topics: Mapping[str, Mapping[str, Any]]) -> Said:
    """The topics that a span stands for: by its words and what it names; and by what is recorded of the instrument it names. Of
    several instruments that may be meant, only what all of them are."""
    named = set(span.topics)
    named.update(name for name, t in topics.items() if not span.terms.isdisjoint(t.get("terms", ())))
    each = []
    for facts in catalogue.context.reader.facts(list(span.patterns)).values() if span.patterns else ():
        is_it = {v for p, v in facts.known.holds if p == names.TYPE}.union(facts.known.line)
        has = {v for _, v in facts.known.holds}
        each.append(
            {n for n, t in topics.items() if not (is_it.isdisjoint(t.get("terms", ())) and has.isdisjoint(t.get("holds", ())))}
        )
    return frozenset(named), frozenset(set.intersection(*each) if each else ())


def _speaks(note: Mapping[str, Any], found: Heard, said: list[Said]) -> bool:
    """Whether a note speaks of what is asked: the kind, what is denied, all that it is about, and nothing else."""
    meant = found.kinds.intersection(note.get("asks", ("why",)))
    if not meant or (not note.get("either") and "why" in meant and found.denied != bool(note.get("no"))):
        return False
    groups = [frozenset(group.split("|")) for group in note["about"]]
    allowed = frozenset(note.get("also", ())).union(*groups)
    all_of_it = [named | recorded for named, recorded in said]
    if any(topics.isdisjoint(allowed) for topics in all_of_it) or not frozenset().union(*all_of_it).isdisjoint(
        note.get("unless", ())
    ):
        return False
    first = note.get("first")
    known = len(groups) > 1 or "why" not in found.kinds  # "why is a Leksell used on bone?" asks for no reason of its joint
    return _all_named(groups, said, note.get("known", 1) if known else 0) and (not first or first in all_of_it[0])


def _all_named(groups: list[frozenset[str]], said: list[Said], known: int) -> bool:
    """Whether each of the groups is named; for so many of the first, the subjects, what is ``known`` of an instrument does."""
    for number, group in enumerate(groups):
        recorded = number < known and any(not recorded.isdisjoint(group) for _, recorded in said)
        if not recorded and all(named.isdisjoint(group) for named, _ in said):
            return False
    return True
