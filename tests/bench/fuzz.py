"""Inputs nobody would type. Run: ``python -m tests.bench.fuzz [COUNT] [SEED]`` (100,000 inputs, seed 1, by default).

A third each: words of the grammar strung together at random, questions of the corpus and of the competency questions mutated
(words swapped, dropped, doubled, misspelt, joined), and random characters. Every input must be understood or refused with an
error whose place lies in the text, within a second; every one that is understood must be read back as a sentence that means
the same. Prints how many of which, the slowest, and every failure; status 1 if there is any.
"""

from __future__ import annotations

import csv
import random
import sys
import time
from collections import Counter
from collections.abc import Callable

from tests.bench.asking import sentences
from tests.bench.corpus import CORPUS

LIMIT = 1.0
"""Seconds that one input may take."""


def inputs(count: int, seed: int, phrases: list[str]) -> list[tuple[str, str]]:
    """(kind, text) of every input; the same for the same seed."""
    chance = random.Random(seed)
    with (CORPUS / "asked.tsv").open(encoding="utf-8", newline="") as file:
        asked = [row["question"] for row in csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE)]
    known = [*asked, *sentences()]
    makers: tuple[tuple[str, Callable[[], str]], ...] = (
        ("grammar", lambda: " ".join(chance.choices(phrases, k=chance.randint(1, 14)))),
        ("mutated", lambda: mutated(chance.choice(known), chance)),
        ("random", lambda: noise(chance)),
    )
    return [(name, make()) for i in range(count) for name, make in (makers[i % 3],)]


def mutated(text: str, chance: random.Random) -> str:
    """A question with one to four changes."""
    words = text.split()
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(words))
        match chance.randrange(7):
            case 0:
                words.insert(at, chance.choice(words))
            case 1 if len(words) > 1:
                words.pop(at)
            case 2:
                other = chance.randrange(len(words))
                words[at], words[other] = words[other], words[at]
            case 3:
                words.insert(
                    at, chance.choice(["not", "only", "(", ")", ",", "and", "or", "no", "2", "14 cm", "except", "it", "those"])
                )
            case 4 if len(words[at]) > 2:
                cut = chance.randrange(len(words[at]))
                words[at] = words[at][:cut] + words[at][cut + 1 :]
            case 5:
                words[at] = words[at].upper()
            case _:
                words[at] = words[at] + chance.choice("?!.,;:'\"-")
    return chance.choice([" ", " ", " ", "  ", ""]).join(words)


def noise(chance: random.Random) -> str:
    """Random characters of many scripts, control characters and bytes that are no text."""
    size = chance.randint(0, 200)
    match chance.randrange(3):
        case 0:
            return "".join(chr(chance.randrange(32, 127)) for _ in range(size))
        case 1:
            return "".join(
                chr(chance.choice([chance.randrange(0x2000), chance.randrange(0x10000, 0x10FFFF)])) for _ in range(size)
            )
        case _:
            return bytes(chance.randrange(256) for _ in range(size)).decode("utf-8", "replace")


def main(count: int = 100_000, seed: int = 1) -> int:
    from kg import QuestionError, open_catalogue
    from kg.language import parse, say

    catalogue = open_catalogue()
    lexicon = catalogue.lexicon
    phrases = sorted({e.text for _, e in lexicon.phrases()} | {"(", ")", ",", "14", "?", '"', "5 1/2", "cm"})
    lexicon.near("warmd")  # made once, before anything is timed
    assert catalogue.talk.cues
    seen: Counter[str] = Counter()
    slowest: list[tuple[float, str]] = []
    failures: list[str] = []
    for name, text in inputs(count, seed, phrases):
        start = time.perf_counter()
        try:
            question = catalogue.understand(text).question
        except QuestionError as error:
            seen[f"{name}: refused {error.code}"] += 1
            if not 0 <= error.span[0] <= error.span[1] <= max(len(text), error.span[1] if error.code == "BL-Q05" else 0):
                failures.append(f"place {error.span} outside of {text!r}")
        except Exception as fault:  # every other exception is what this looks for
            failures.append(f"{type(fault).__name__} ({fault}) for {text!r}")
        else:
            seen[f"{name}: understood"] += 1
            reading = say(question, lexicon)
            try:
                if len(reading) <= 2000 and parse(reading, lexicon) != question:
                    failures.append(f"{text!r} is read back as {reading!r}, which means something else")
            except QuestionError as error:
                failures.append(f"{text!r} is read back as {reading!r}, which is refused: {error.message}")
        took = time.perf_counter() - start
        slowest = sorted([*slowest, (took, text)], reverse=True)[:5]
        if took > LIMIT:
            failures.append(f"{took:.1f} s for {text!r}")
    for key, number in sorted(seen.items()):
        print(f"  {key:28} {number:7,}")
    print(f"  slowest {slowest[0][0] * 1000:.0f} ms: {slowest[0][1][:100]!r}")
    print(f"{count:,} inputs, {len(failures)} failures")
    for failure in failures[:50]:
        print(f"  {failure[:400]}")
    return int(bool(failures))


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
