"""Which pattern is it? From what is seen on an instrument to candidates, what to look at next, and a sentence to say.

    words --observe--> observations --fit--> likelihoods --belief--> probabilities --gain--> what to look at next
                                                                                  --speak--> a sentence, a claim argued

The model: every pattern (its variants folded) is equally likely before anything is seen; an observation that fits has the
likelihood 1 - e, one that contradicts what is recorded e, one on which the record leaves several values possible lies
between, by share. What is not recorded counts neither way; what does not apply is known. Nothing is ever ruled out.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Sequence
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.identify.belief import Belief, believe, inseparable_groups, settled
from kg.identify.fit import likelihoods
from kg.identify.gain import gains
from kg.identify.observe import Observation, Speech, observe
from kg.identify.records import Candidate, Claim, Identification, Look, Seen
from kg.identify.settings import Settings
from kg.identify.speak import against, examples, said, sentence, verdicts
from kg.identify.table import LENGTH, Table, build_table
from kg.identify.wordings import Wordings
from kg.language.parse import parser_for
from kg.wording import article, listing

if TYPE_CHECKING:
    from kg.facts import FactReader
    from kg.language import Lexicon
    from kg.vocabulary import Vocabulary

__all__ = ["Candidate", "Claim", "Identification", "Identifier", "Look", "Observation", "Seen"]

PAGE = 10
LOOKS = 5


class Identifier:
    """All patterns of a catalogue, ready to be told apart. Keeps no observations: they are given with every call."""

    def __init__(self, vocabulary: Vocabulary, lexicon: Lexicon, reader: FactReader, settings: Settings) -> None:
        self.vocabulary = vocabulary
        self.lexicon = lexicon
        self.settings = settings
        patterns = [t.name for t in vocabulary.by_role("pattern")]
        facts = reader.facts(patterns)
        self.table: Table = build_table(patterns, [facts[p] for p in patterns], vocabulary, settings)
        wordings = Wordings(lexicon, settings.heard, settings.dull)
        self._speech = Speech(lexicon, settings.skip, settings.means, wordings, settings.alike, settings.seen_before)
        self._index = {p: i for i, p in enumerate(patterns)}

    def observe(
        self, text: str, aside: list[QuestionError] | None = None, vague: Container[str] | None = None
    ) -> tuple[Observation, ...]:
        """What a person says they see, as observations. Raises QuestionError (BL-Qxx) with the place of what is not clear.

        ``aside``: what is not understood is put there instead, as long as anything is understood. ``vague``: see ``observe``.
        """
        return observe(text, self.lexicon, self._speech, aside, vague)

    def believe(self, observations: Sequence[Observation]) -> Belief:
        """The probabilities of all candidates."""
        return believe(self.table, self._rows(observations))

    def identify(
        self,
        observations: Sequence[Observation],
        *,
        skipped: Collection[str] = (),
        claim: str = "",
        limit: int = PAGE,
    ) -> Identification:
        """Candidates, what to look at next, and the sentence. ``skipped``: slots that the observer cannot tell.

        ``claim``: a pattern's short name to be argued for and against. The order of the observations makes no difference
        to the probabilities.
        """
        table = self.table
        rows = self._rows(observations)
        belief = believe(table, rows)
        answered = {slot for item in observations for slot in item.slots}
        closed = answered | set(skipped)
        ranked = gains(table, belief.weights, closed)
        leading = belief.leading()
        looks = tuple(Look(s, self.slot_label(s), bits, examples(table, s, leading)) for s, bits in ranked[:LOOKS])
        groups = inseparable_groups(table, belief, skipped) if observations else []
        return Identification(
            seen=tuple(Seen(o.text, said(o.expr, self.vocabulary)) for o in observations),
            candidates=tuple(self._candidate(i, p, observations) for i, p in belief.ranked[:limit]),
            count=len(belief.ranked),
            next=looks,
            inseparable=tuple(tuple(self.vocabulary.label(table.patterns[i]) for i in group) for group in groups),
            spoken=sentence(table, belief, observations, rows),
            settled=settled(table, belief, bool(ranked), closed) if observations else "",
            claim=self._claim(claim, belief, observations) if claim else None,
        )

    def slot_label(self, slot: str) -> str:
        """The label of a feature or part."""
        return self.vocabulary.label(slot)

    def pattern_named(self, text: str) -> str:
        """The pattern that a name means. Raises QuestionError if it means none, or several."""
        parser = parser_for(text, self.lexicon)
        entry = parser.subject("pattern")
        if entry is not None and parser.ended():
            return entry.term
        if unknown := parser.unknown():
            raise unknown
        raise QuestionError(
            "BL-Q03",
            f'"{text.strip()[:60]}" is not the name of one instrument.',
            question=text,
            span=(0, len(text)),
            hint="Give the name of a pattern.",
        )

    def slots_named(self, text: str) -> tuple[str, ...]:
        """The features and parts that a phrase means, the likeliest first. Raises QuestionError (BL-Q03) if there is none."""
        entries = [e for e in self.lexicon.entries(text) if e.kind in ("feature", "part")]
        entries = [e for e in entries if e.term in self.table.slots or e.term == LENGTH]
        best = [e.term for e in self.lexicon.resolve(entries)]
        wanted = text.strip().casefold()
        labelled = [s for s in self.table.slots if self.slot_label(s).casefold() == wanted]
        found = tuple(dict.fromkeys([*best, *(e.term for e in entries), *labelled]))
        if found:
            return found
        near = self.lexicon.near(text) if wanted else ()
        message = f'"{text.strip()[:60]}" is no feature and no part.'
        raise QuestionError("BL-Q03", message, question=text, span=(0, len(text)), near=near)

    def _rows(self, observations: Sequence[Observation]) -> list[list[float]]:
        return [likelihoods(o.form, self.table) for o in observations]

    def _candidate(self, pattern: int, probability: float, observations: Sequence[Observation]) -> Candidate:
        name = self.table.patterns[pattern]
        agrees, disagrees, unknown = verdicts(self.table, pattern, observations)
        parent = self.vocabulary.terms[name].broader
        return Candidate(name, self.vocabulary.label(name), probability, agrees, disagrees, unknown, parent)

    def _claim(self, name: str, belief: Belief, observations: Sequence[Observation]) -> Claim:
        pattern = self._index[name]
        place, probability = belief.place(self.table, pattern)
        for_, contrary, open_ = verdicts(self.table, pattern, observations)
        against_ = against(self.table, pattern, observations)
        label = self.vocabulary.label(name)
        parts = []
        if for_:
            parts.append(f"for {article(label)} speaks that it {listing(for_)}")
        if against_:
            parts.append(f"against it, that it {listing(contrary)}")
        if open_:
            parts.append(f"not decided by what is recorded: {listing(open_)}")
        if not parts:
            parts.append(f"nothing seen so far speaks for or against {article(label)}")
        spoken = "; ".join(parts)
        return Claim(name, label, probability, place, for_, against_, open_, f"{spoken[:1].upper()}{spoken[1:]}.")
