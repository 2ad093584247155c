"""Naming an instrument in the hand, at the prompt: a line says what is seen, or asks about it.

The list of what was seen is all that is kept; every answer is reckoned anew from it, so that anything can be taken back.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

import kg

if TYPE_CHECKING:
    from kg import Identification, Observation
    from repl.session import Session

PROMPT = "seen: "


class Inspection:
    """One instrument being looked at. ``seen``: the observations in order; ``untold``: slots that cannot be told."""

    prompt = PROMPT

    def __init__(self, session: Session) -> None:
        self.session = session
        self.identifier = session.catalogue.identifier
        self.seen: list[Observation] = []
        self.untold: list[str] = []

    @property
    def outcome(self) -> Identification:
        """What it may be, by all that was seen."""
        return self.identifier.identify(self.seen, skipped=self.untold)

    def begin(self, text: str) -> None:
        """Starts with what is seen already, or says how to start."""
        if text:
            self.handle(text)
            return
        self._say("Say what you see, in any order: handle, shank, ratchet, joint, jaws or blade, tip, length.")
        self._list()
        self._look()

    def handle(self, text: str) -> bool:
        """Does what a line says; True always: the prompt is left by its own command. Raises kg.BoxlockError."""
        line = " ".join(text.split())
        for pattern, run in _COMMANDS:
            found = pattern.fullmatch(line.rstrip(" ?.!"))
            if found:
                run(self, (found.groupdict().get("rest") or "").strip())
                return True
        self.see(text)
        return True

    # --- what a line can say ------------------------------------------------------------------------------------------
    def see(self, text: str) -> None:
        """Adds what is seen. Nothing is added if any of it is not understood."""
        new = [o for o in self.identifier.observe(text) if o.expr not in [s.expr for s in self.seen]]
        if not new:
            self._say("That was said already.")
            return
        self.seen += new
        told = {slot for o in new for slot in o.slots}
        self.untold = [slot for slot in self.untold if slot not in told]
        self._show()

    def take_back(self, which: str) -> None:
        """Takes back the last observation, or that with a number, or all that speak of a feature."""
        if not self.seen:
            self._say("Nothing has been said that could be taken back.")
            return
        if not which or which in ("that", "it", "the last", "last"):
            gone = [self.seen[-1]]
        elif which.isdecimal() and len(which) < 4:
            if not 1 <= int(which) <= len(self.seen):
                self._say(f"Give a number from 1 to {len(self.seen)}; 'so far' lists them.")
                return
            gone = [self.seen[int(which) - 1]]
        else:
            gone = self._about(which)
            if not gone:
                self._say("Nothing of the kind was said; 'so far' lists what was.")
                return
        self.seen = [o for o in self.seen if o not in gone]
        self._say("Taken back: " + "; ".join(o.text for o in gone) + ".")
        if self.seen:
            self._show()

    def _about(self, which: str) -> list[Observation]:
        try:
            named = {o.expr for o in self.identifier.observe(which)}
        except kg.QuestionError:
            named = set()
        found = [o for o in self.seen if o.expr in named]
        if found:
            return found
        slots = set(self.identifier.slots_named(which))
        return [o for o in self.seen if slots & set(o.slots)]

    def cannot_tell(self, which: str) -> None:
        """Leaves a feature out: the one named, or the one that would be looked at next."""
        looks = self.outcome.next
        if which and which not in ("that", "it"):
            slot = self._slot(which, [look.slot for look in looks])
        elif looks:
            slot = looks[0].slot
        else:
            self._say("There is nothing to leave out.")
            return
        if slot not in self.untold:
            self.untold.append(slot)
        self._say(f"Left out: {self.identifier.slot_label(slot)}.")
        self._look()

    def _slot(self, which: str, asked: list[str]) -> str:
        """The slot that a phrase means: of several the one that would be asked for first."""
        named = self.identifier.slots_named(which)
        return min(named, key=lambda slot: asked.index(slot) if slot in asked else len(asked) + named.index(slot))

    def so_far(self, _: str = "") -> None:
        """Lists what was seen, by number, and shows what it may be."""
        self._list()
        if self.seen:
            self._show()

    def look(self, _: str = "") -> None:
        self._look()

    def say_it(self, _: str = "") -> None:
        """The sentence to say aloud."""
        self._say(self.outcome.spoken, "name")

    def why(self, name: str) -> None:
        """What speaks for and against a name."""
        pattern = self.identifier.pattern_named(name)
        outcome = self.identifier.identify(self.seen, skipped=self.untold, claim=pattern)
        assert outcome.claim is not None
        self._lines(kg.claim_lines(outcome.claim, self.session.screen.width()))

    def start_again(self, _: str = "") -> None:
        self.seen, self.untold = [], []
        self._say("Everything is forgotten. What do you see?")

    def explain(self, _: str = "") -> None:
        rows = tuple(((("query", words),), (("", text),)) for words, text in HELP)
        self._lines(kg.block_lines([kg.Table((), rows)], self.session.screen.width()))

    def done(self, _: str = "") -> None:
        if self.seen:
            self.say_it()
        self.session.mode = None

    # --- showing ------------------------------------------------------------------------------------------------------
    def _show(self) -> None:
        outcome = self.outcome
        self._lines(kg.identification_lines(outcome, self.session.screen.width(), brief=True))

    def _look(self) -> None:
        looks = self.outcome.next
        if not looks:
            self._say("Nothing that is recorded and can be seen would tell more.")
            return
        rows = tuple(
            ((("query", look.feature),), (("", ", ".join(look.examples)),), (("number", f"{look.bits:.1f} bits"),))
            for look in looks
        )
        blocks: list = [kg.Heading("Worth a look, most telling first"), kg.Table((), rows)]
        self._lines(kg.block_lines(blocks, self.session.screen.width()))

    def _list(self) -> None:
        if not self.seen:
            self._say("Nothing has been said yet. 'how' tells what can be typed; 'done' goes back to questions.")
            return
        blocks: list = [kg.Heading("Said so far")]
        readings = [s.reading for s in self.outcome.seen]
        blocks += [
            kg.Para((("", o.text), ("remark", f" (it {reading})")), 1, (("number", f"{n}."),), close=True)
            for n, (o, reading) in enumerate(zip(self.seen, readings, strict=True), 1)
        ]
        if self.untold:
            left = ", ".join(self.identifier.slot_label(s) for s in self.untold)
            blocks.append(kg.Para((("remark", f"left out: {left}"),), 1, close=True))
        self._lines(kg.block_lines(blocks, self.session.screen.width()))

    def _say(self, text: str, style: str = "remark") -> None:
        self.session.say(text, style)

    def _lines(self, lines: list) -> None:
        self.session.show(lines)


HELP = (
    ("ring handles, box lock, curved", "add what you see; also FEATURE=VALUE"),
    ("take back [NUMBER or FEATURE]", "unsay the last thing, one by its number, or all about a feature"),
    ("cannot tell [FEATURE]", "leave out what you cannot see ('skip' does the same)"),
    ("what should I look at next?", "the features that would tell most"),
    ("why was NAME ruled out?", "what speaks for and against a name"),
    ("so far", "list what was said, and what it may be"),
    ("say it", "the sentence to say aloud"),
    ("start again", "forget everything that was said"),
    ("done", "say the sentence and go back to questions"),
)

_WHY = (
    r"why (?:was|is|were|are) (?:the |an? )?(?P<rest>.+?) (?:ruled|left|struck) out",
    r"why (?:is it |was it |could it |can it )?not (?:be )?(?:the |an? )?(?P<rest>.+)",
    r"why (?:isn't|can't|couldn't) it (?:be )?(?:the |an? )?(?P<rest>.+)",
    r"(?:is it|could it be|can it be|what about|claim) (?:the |an? )?(?P<rest>.+)",
)


def _commands() -> list[tuple[re.Pattern[str], Callable[[Inspection, str], None]]]:
    """(what a whole line must look like, what it does), tried in order."""
    table: list[tuple[str, Callable[[Inspection, str], None]]] = [
        (r"(?:take back|unsay|undo|take that back)(?: (?:number |the )?(?P<rest>.+))?", Inspection.take_back),
        (
            r"(?:skip|cannot tell|can't tell|i cannot tell|i can't tell|don't know|i don't know)(?: (?:the )?(?P<rest>.+))?",
            Inspection.cannot_tell,
        ),
        (
            r"(?:what|where) (?:should|do|shall|can) i look(?: at)?(?: next)?|what next|what to look at(?: next)?|next",
            Inspection.look,
        ),
        (r"so far|list|what (?:is it|may it be|could it be|have i said)", Inspection.so_far),
        (r"say it|name it|what do i say", Inspection.say_it),
        (r"start again|start over|new instrument", Inspection.start_again),
        (r"help|how", Inspection.explain),
        (r"done|leave|quit|exit|stop", Inspection.done),
    ]
    table += [(text, Inspection.why) for text in _WHY]
    return [(re.compile(text, re.IGNORECASE), run) for text, run in table]


_COMMANDS = _commands()
