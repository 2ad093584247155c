"""Completion at the prompt: phrases from the vocabulary that fit next, and the commands. Never raises."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document

from kg import Suggestion
from repl.commands import COMMANDS

Suggest = Callable[[str, int], Iterable[Suggestion]]


class QuestionCompleter(Completer):
    """Offers what ``suggest(text, cursor)`` gives; at the start of a line also the commands that begin as typed."""

    def __init__(self, suggest: Suggest) -> None:
        self._suggest = suggest

    def get_completions(self, document: Document, complete_event: CompleteEvent) -> Iterable[Completion]:
        cursor = document.cursor_position
        try:
            found = list(self._suggest(document.text, cursor))
        except Exception:  # a fault in completion must never cost the line that is being typed
            return
        typed = document.text_before_cursor.casefold()
        if typed.strip():
            for command in COMMANDS:
                if command.words[0].startswith(typed):
                    yield Completion(command.words[0], -len(typed), display_meta=command.text)
        for s in found:
            # What is typed already in full needs no offer.
            if 0 <= s.start <= cursor and document.text[s.start : cursor].casefold() != s.text.casefold():
                yield Completion(s.text, s.start - cursor, display_meta=_meta(s))


def _meta(suggestion: Suggestion) -> str:
    """What kind of word it is, what it stands for, and how many instruments the question would leave with it."""
    texts = [suggestion.kind if suggestion.kind != "word" else "", suggestion.note]
    if suggestion.count is not None:
        texts.append(f"{suggestion.count:,} instrument{'' if suggestion.count == 1 else 's'}")
    return "; ".join(text for text in texts if text) or suggestion.kind
