"""What was asked before and how much of it was said: one small local file that people can read, delete or turn off.

It holds no answers, only how often a question was asked, the share of full marks of the last times, and the day.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from kg.errors import InputError
from kg.files import write_text
from kg.rehearse.records import Marked

ABOUT = (
    "How rehearsals went: which questions were asked, and the share of full marks of the last times. Boxlock asks again what "
    "was missed. Delete this file to forget everything; set keep to false to keep nothing."
)
KEPT = 3
MOST = 5_000


@dataclass
class Past:
    """``answers``: question key -> {"asked": times, "shares": the last few, "last": day}. ``keep`` False: nothing is kept."""

    file: Path
    keep: bool = True
    answers: dict[str, dict[str, Any]] = field(default_factory=dict)

    @classmethod
    def read(cls, file: Path) -> Past:
        """The record at a path; an empty one if there is none. Raises InputError (BL-I02, BL-I03)."""
        try:
            raw = json.loads(file.read_text(encoding="utf-8"))
            answers = {str(k): _entry(v) for k, v in raw["answers"].items()}
            return cls(file, bool(raw["keep"]), answers)
        except FileNotFoundError:
            return cls(file)
        except OSError as e:
            raise InputError("BL-I02", f"the record of rehearsals cannot be read: {e.strerror}", file=str(file)) from e
        except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError) as e:
            raise InputError(
                "BL-I03", "the record of rehearsals is damaged", file=str(file), hint="Delete it: boxlock rehearse --forget"
            ) from e

    def note(self, marked: Marked, day: str) -> None:
        """Keeps how an answer went, and writes the file; does nothing if nothing is to be kept. Raises InputError (BL-I02)."""
        if not self.keep:
            return
        old = self.answers.pop(marked.item.key, {"asked": 0, "shares": []})
        shares = [*old["shares"], round(marked.share, 2)][-KEPT:]
        self.answers[marked.item.key] = {"asked": old["asked"] + 1, "shares": shares, "last": day}
        for key in list(self.answers)[: max(0, len(self.answers) - MOST)]:
            del self.answers[key]  # the oldest go first
        self.write()

    def missed(self) -> dict[str, float]:
        """Label of an instrument -> the share that was missed of the questions on it, by their last answers."""
        found: dict[str, list[float]] = {}
        for key, entry in self.answers.items():
            for label in key.split(" | ")[1:]:
                found.setdefault(label, []).append(1 - entry["shares"][-1])
        return {label: sum(all_) / len(all_) for label, all_ in sorted(found.items())}

    def set_keep(self, keep: bool) -> None:
        """Turns the record on or off; turned off, it is emptied."""
        self.keep = keep
        if not keep:
            self.answers = {}
        self.write()

    def forget(self) -> bool:
        """Deletes the file; False if there was none. Raises InputError (BL-I02)."""
        self.answers = {}
        try:
            self.file.unlink()
        except FileNotFoundError:
            return False
        except OSError as e:
            raise InputError("BL-I02", f"the record cannot be deleted: {e.strerror}", file=str(self.file)) from e
        return True

    def write(self) -> None:
        """Writes the file whole or not at all. Raises InputError (BL-I02)."""
        text = json.dumps({"about": ABOUT, "keep": self.keep, "answers": self.answers}, ensure_ascii=False, indent=1) + "\n"
        try:
            self.file.parent.mkdir(parents=True, exist_ok=True)
        except OSError as e:
            raise InputError("BL-I02", f"the record of rehearsals cannot be written: {e.strerror}", file=str(self.file)) from e
        write_text(self.file, text)


def _entry(raw: dict[str, Any]) -> dict[str, Any]:
    shares = [float(s) for s in raw["shares"]]
    if not shares or not all(0 <= s <= 1 for s in shares):
        raise ValueError("shares lie between 0 and 1")
    return {"asked": int(raw["asked"]), "shares": shares[-KEPT:], "last": str(raw["last"])}
