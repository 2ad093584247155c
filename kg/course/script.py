"""The running order of a session: what to say, what to point at, what to ask next.

Look-alikes follow each other (a first meeting in blocks), each set beside the one before it that it is most like, by nothing
but the signs that decide; the session closes with a round in another order. ``DEVELOPERS.md`` names the findings behind this.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kg import names
from kg.answer import Context
from kg.answer.describe import in_short, said_of_dispute, the
from kg.answer.values import disputed_slots
from kg.course.parting import connected
from kg.course.planned import Session, Sign, Split, Step
from kg.course.signs import Signs, Told
from kg.evidence_levels import BASES, RESTS_ON
from kg.facts import PatternFacts
from kg.wording import capital, listing

SHOWN = 4
"""So many names are said in one breath; more are counted."""


@dataclass(frozen=True)
class Taught:
    """A pattern of the topic with its time: ``units`` of it, ``closing`` of them in the mixed round. ``kind``: what sources
    call its group, as narrowly as they do, empty if nothing is recorded."""

    name: str
    units: int
    closing: int
    hardness: int
    kind: str
    shown_with: tuple[str, ...]


class Script:
    """Writes the running orders of a topic. ``unit``: minutes of one unit; ``near``: pattern -> its look-alikes there."""

    def __init__(
        self, ctx: Context, facts: Mapping[str, PatternFacts], near: Mapping[str, frozenset[str]], unit: float
    ) -> None:
        self.ctx = ctx
        self.facts = facts
        self.near = near
        self.unit = unit
        self.signs = Signs(ctx, dict(facts))

    def sessions(self, groups: Sequence[Sequence[Taught]]) -> tuple[Session, ...]:
        """The sessions, easy before hard; within each the blocks of look-alikes, and in a block the instruments, likewise."""
        ranked = sorted(groups, key=lambda g: (_mean(g), self._key(min(g, key=self._rank))))
        number = {t.name: n for n, group in enumerate(ranked, 1) for t in group}
        return tuple(self._session(n, group, number) for n, group in enumerate(ranked, 1))

    def _rank(self, taught: Taught) -> tuple[int, tuple[str, str]]:
        return taught.hardness, self._key(taught)

    def _key(self, taught: Taught) -> tuple[str, str]:
        return self.ctx.label(taught.name).casefold(), taught.name

    def _session(self, number: int, group: Sequence[Taught], home: Mapping[str, int]) -> Session:
        order = self._order(group)
        mixed = _mixed([self.ctx.label(t.name) for t in order], number)
        steps, clock = [], 0
        for place, taught in enumerate(order):
            spent = taught.units - taught.closing
            after = order[place + 1] if place + 1 < len(order) else None
            steps.append(self._step(taught, clock, spent, order, place, after, home, mixed))
            clock += spent
        closing = sum(t.closing for t in order)
        minutes = (clock + closing) * self.unit
        return Session(number, minutes, tuple(steps), mixed, closing * self.unit, round(_mean(order), 2))

    def _order(self, group: Sequence[Taught]) -> list[Taught]:
        """Blocks that hang together as look-alikes, the easier first."""
        things = sorted(group, key=self._rank)
        place = {t.name: n for n, t in enumerate(things)}
        near = [frozenset(place[o] for o in self.near[t.name] if o in place) for t in things]
        blocks = [[things[i] for i in block] for block in connected(range(len(things)), near)]
        blocks.sort(key=lambda b: (_mean(b), b[0].kind, self._key(b[0])))
        return [t for block in blocks for t in self._chain(block)]

    def _chain(self, block: Sequence[Taught]) -> list[Taught]:
        """The easier first; of those that are equally hard the next is the one that few signs tell from the last."""
        out: list[Taught] = []
        left = list(block)
        while left:
            least = min(t.hardness for t in left)
            equal = [t for t in left if t.hardness == least]
            out.append(min(equal, key=lambda t: (self._step_from(out[-1].name, t.name) if out else 0, self._key(t))))
            left.remove(out[-1])
        return out

    def _step_from(self, last: str, name: str) -> int:
        """How well one follows the other: by one sign, by two, by none that is recorded, no look-alike at all."""
        if name not in self.near[last]:
            return 1000
        return len(self.signs.apart(last, name)) or 100

    # --- a step ---------------------------------------------------------------------------------------------------------
    def _step(
        self,
        taught: Taught,
        clock: int,
        spent: int,
        order: Sequence[Taught],
        place: int,
        after: Taught | None,
        home: Mapping[str, int],
        mixed: Sequence[str],
    ) -> Step:
        name = taught.name
        here = [t.name for t in order if t.name != name]
        alike = [o for o in here if o in self.near[name]]
        told = self.signs.told(name, alike)
        if not told.signs:
            told = Told(self.signs.best(name, here), told.same)
        beside = self._beside(name, [t.name for t in order[:place]])
        brief = in_short(self.ctx, self.facts[name])
        ask, expect = self._question(name, after.name if after else "", told, brief.purpose, mixed)
        away = sorted((home[o], self.ctx.label(o)) for o in self.near[name] if home[o] != home[name])
        return Step(
            name=name,
            label=self.ctx.label(name),
            start=clock * self.unit,
            minutes=spent * self.unit,
            say=self._say(name, beside, brief.appearance, brief.purpose, brief.denied, brief.slots),
            point_at=self._point(told),
            ask_next=ask,
            expect=expect,
            hardness=taught.hardness,
            shown_with=tuple(self.ctx.label(v) for v in taught.shown_with),
            beside=self.ctx.label(beside) if beside else "",
            signs=told.signs,
            same=tuple(self.ctx.label(o) for o in told.same),
            elsewhere=tuple((label, n) for n, label in away),
            rests_on=self._rests_on(name, brief.slots),
        )

    def _beside(self, name: str, before: Sequence[str]) -> str:
        """Of the look-alikes taught before in this session the one with the fewest differences, the latest of equals."""
        alike = [(len(self.signs.apart(name, o)), -n, o) for n, o in enumerate(before) if o in self.near[name]]
        return min(alike)[2] if alike else ""

    def _say(
        self,
        name: str,
        beside: str,
        appearance: Sequence[str],
        purpose: str,
        denied: Sequence[str],
        slots: Sequence[str],
    ) -> str:
        label = self.ctx.label(name)
        out = [*(appearance or ["How it looks is not recorded."]), f"This is {the(label)}."]
        if beside:
            out.append(self._contrast(name, beside))
        out += [purpose or "What it is made for is not recorded.", *denied]
        facts = self.facts[name]
        open_ = sorted(disputed_slots(facts) & set(slots))
        out += [said_of_dispute(d) for d in self.ctx.disputes(name, open_, facts)]
        return " ".join(out)

    def _contrast(self, name: str, other: str) -> str:
        columns = self.signs.apart(name, other)
        if not columns:
            return f"Nothing that can be seen and is recorded of both tells it from {the(self.ctx.label(other))}."
        this, that = (listing(self.signs.clauses(p, columns)) for p in (name, other))
        return f"Beside {the(self.ctx.label(other))}: this one {this}; that one {that}."

    def _point(self, told: Told) -> str:
        texts = [_sign(s) for s in told.signs]
        if told.same:
            named = [self.ctx.label(o) for o in told.same]
            named = named if len(named) <= SHOWN + 1 else [*named[:SHOWN], f"{len(named) - SHOWN} more"]
            texts.append(f"nothing recorded that can be seen tells it from {listing(named, 'or')}")
        return "; ".join(texts) or "nothing that can be seen is recorded of it"

    def _question(self, name: str, after: str, told: Told, purpose: str, mixed: Sequence[str]) -> tuple[str, str]:
        """(what to ask, what to expect): of the next one if that looks alike, else of this one; at the end the mixed round."""
        if not after and len(mixed) > 1:
            return (
                "Now all of this session in another order: what is it, and by which sign do you know it?",
                "; ".join(mixed) + ".",
            )
        if after and after in self.near[name]:
            columns = self.signs.apart(after, name)
            if not columns:
                return "Here is one that looks the same in all that is recorded. What would you have to know to name it?", (
                    f"Nothing recorded that can be seen tells {the(self.ctx.label(after))} from {the(self.ctx.label(name))}; "
                    "a name alone would be a guess."
                )
            this, that = (listing(self.signs.clauses(p, columns)) for p in (after, name))
            return (
                "Here is one that looks like it. What is different?",
                f"{capital(the(self.ctx.label(after)))} {this}; {the(self.ctx.label(name))} {that}.",
            )
        if purpose:
            return f"Put it away. What was {the(self.ctx.label(name))} made for?", purpose
        ask = f"Put it away. By what would you know {the(self.ctx.label(name))} again?"
        return ask, capital("; ".join(map(_sign, told.signs)) or "nothing recorded that can be seen") + "."

    def _rests_on(self, name: str, slots: Sequence[str]) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """What is said and rests on less than published human sources: weakest first."""
        found: dict[str, list[str]] = {}
        for slot in slots:
            mark = self.signs.mark(name, slot)
            if mark:
                label = self.ctx.label(slot) if slot != names.LENGTH else "length"
                found.setdefault(mark, []).append(label)
        order = [*reversed(BASES.values()), "disputed"]
        return tuple((mark, tuple(found[mark])) for mark in order if mark in found)

    # --- what had to be split -------------------------------------------------------------------------------------------
    def splits(self, sessions: Sequence[Session], reasons: Mapping[str, str]) -> tuple[Split, ...]:
        """The pairs in two sessions. ``reasons``: pattern -> why its group could not stay together."""
        home = {s.name: (session.number, s.label) for session in sessions for s in session.script}
        out = []
        for one, others in self.near.items():
            for two in others:
                a, b = sorted((one, two), key=lambda p: (home[p], p))
                if (one, two) == (a, b) and home[a][0] != home[b][0]:
                    labels, numbers = (home[a][1], home[b][1]), (home[a][0], home[b][0])
                    out.append(Split(labels, numbers, self.signs.texts(a, b), reasons[a]))
        return tuple(sorted(out, key=lambda s: (s.sessions, s.labels)))


def _sign(sign: Sign) -> str:
    said = f" ({RESTS_ON.get(sign.mark, sign.mark)})" if sign.mark else ""
    if sign.value in ("there", "absent"):  # of a part
        return f"{'the' if sign.value == 'there' else 'no'} {sign.feature}{said}"
    return f"{sign.feature}: {sign.value}{said}"


def _mean(group: Sequence[Taught]) -> float:
    return sum(t.hardness for t in group) / len(group)


def _mixed(labels: Sequence[str], seed: int) -> tuple[str, ...]:
    """The labels in another order, always the same for a session; of two or more, not the order in which they were taught."""
    order = list(labels)
    chance = random.Random(seed)
    while len(order) > 1 and order == list(labels):
        chance.shuffle(order)
    return tuple(order)
