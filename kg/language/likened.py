"""What is said of an instrument beside what can be asked of it: what it only looks like ("it looks like a haemostat, but it
holds needles"), and how its shank runs where the working end is what is recorded ("a straight shaft and angled jaws").

A named instrument that something looks like is what the rest is set against. A family that it looks like is none that it
belongs to, so it bounds nothing; nor does a shape that is recorded of another part. Both are set aside, and the answer says so.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import FAMILIES
from kg.language.lexicon import Lexicon
from kg.language.parse import parse, parser_for
from kg.language.tokens import scan

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.readings import Understood
    from kg.language.talk import Talk

SEEMED = 'What it only looks like bounds nothing and was left out: "{words}".'
SHANK = 'This is recorded of the working end and not of this part by itself, so it was left out: "{words}".'
_END = re.compile(r"[.;:?!]|\s-\s|$")


def set_aside(text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before | None) -> Understood | None:
    """What is asked without what is only said beside it; None if nothing of the kind is said, or the rest is not understood."""
    words = {*text.casefold().replace(",", " ").replace("?", " ").split()}
    said = lexicon.words.likened
    if before is not None or not said:
        return None
    if not words.isdisjoint(said["shanks"]) and (found := _of_the_working_end(text, lexicon, talk)) is not None:
        return found
    if words.isdisjoint(said["but"]) or words.isdisjoint(w for phrase in said["seeming"] for w in phrase.split()):
        return None
    with suppress(QuestionError):
        parse(text, lexicon)
        return None
    return _likened(text, lexicon, talk)


def _any(phrases: tuple[str, ...]) -> str:
    return "|".join(re.escape(p) for p in sorted(phrases, key=len, reverse=True))


def _likened(text: str, lexicon: Lexicon, talk: Callable[[], Talk]) -> Understood | None:
    """What is set against an instrument that it looks like; or what is said without the family that it looks like."""
    from kg.language.understand import understand

    said = lexicon.words.likened
    articles = _any(tuple(lexicon.words.articles))
    seen = rf"^(.*?)\b({_any(said['seeming'])})\s+(?:(?:{articles}|{_any(said['pairs'])})\s+)*"
    if (found := re.match(rf"{seen}(.+?),?\s+(?:{_any(said['but'])})\s+(.+)$", text.strip(), re.IGNORECASE)) is None:
        return None
    led, like, name, rest = found.groups()
    end = _END.search(rest)
    rest, tail = (rest[: end.start()].strip(), rest[end.end() :]) if end else (rest, "")
    if not rest or not _asks_the_name(tail, lexicon, talk()):
        return None
    entries = lexicon.entries(name)
    one = lexicon.usual(name) or (borne[0] if len(borne := lexicon.bearing(name)) == 1 else "")
    asks = led.strip().casefold().split(" ")[0] in said["asking"]
    if one:
        tries = [(f"instruments like {lexicon.vocabulary.label(one)} but {way}", "") for way in _ways(rest, lexicon)]
    elif any(e.kind in FAMILIES for e in entries):
        told = SEEMED.format(words=f"{like} {name}")
        bare = re.sub(rf"^(?:{_any(said['it'])})\s+", "", rest, flags=re.IGNORECASE)
        if any(bare.casefold().startswith(w) for w in said["also"]):
            tries = [(f"which {name} {bare}", "")]  # "like a needle holder but also cuts"
        else:
            tries = [(f"{led}{bare}?" if asks else f"{rest}. {tail}".rstrip(" .") + ("?" if tail else ""), told)]
    else:
        return None
    for other, told in tries:
        with suppress(QuestionError):
            meant = understand(other, lexicon, talk, whole=True, hand=not one)
            if meant.doubtful is None and isinstance(meant.question, nodes.Alike if one else nodes.Filter | nodes.Identify):
                return meant._replace(untold=told or meant.untold)
    return None


def _ways(rest: str, lexicon: Lexicon) -> Iterator[str]:
    """What is said behind "but" as it can stand behind "like ... but"."""
    said = lexicon.words.likened
    rest = re.sub(rf"^(?:{_any(said['it'])})\s+", "", rest, flags=re.IGNORECASE)
    more = re.sub(rf"^(?:(?:{_any(said['being'])})\s+)?(?:(?:{_any(said['much'])})\s+)*", "", rest, flags=re.IGNORECASE)
    for meant, wordings in lexicon.words.likened_measures.items():
        if more.casefold() in wordings:
            yield meant
            return
    for kind, word in (("lacking", "without"), ("having", "with"), ("being", "that are")):
        if found := re.match(rf"(?:{_any(said[kind])})\s+(.+)$", rest, re.IGNORECASE):
            yield f"{lexicon.word(word) if word == 'without' else word} {found[1]}"
            return
    yield from (rest, f"that are {rest}", f"that {rest}")


def _asks_the_name(tail: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a last clause says nothing but that the name is asked for."""
    from kg.language.nameless import inner

    words = [t for t in lexicon.keyed(scan(tail)) if t.key[:1].isalnum()]
    first, last, _ = inner(words, talk.nameless)
    return first >= last


def _of_the_working_end(text: str, lexicon: Lexicon, talk: Callable[[], Talk]) -> Understood | None:
    """What is asked without how the shank is, where a feature of the working end is all that is recorded of it and something is
    said of the working end as well."""
    from kg.language.understand import understand

    for start, end in _of_the_shank(text, lexicon):
        with suppress(QuestionError):
            found = understand(_without(text, start, end, lexicon), lexicon, talk, whole=True, hand=False)
            if found.whole and isinstance(found.question, nodes.Filter | nodes.Count) and not found.untold:
                return found._replace(untold=SHANK.format(words=text[start:end]))
    return None


def _of_the_shank(text: str, lexicon: Lexicon) -> Iterator[tuple[int, int]]:
    """Where a text says of a shank or handle what is recorded of the working end only, if it says something of that too."""
    parser, said = parser_for(text, lexicon), lexicon.words.likened
    tokens, vocabulary = parser.tokens, lexicon.vocabulary
    typed = [text[t.start : t.end].casefold() for t in tokens]
    if not any(w in said["ends"] for w in typed):
        return
    for at in range(len(tokens) - 1):
        if typed[at + 1] not in said["shanks"]:
            continue
        for end, entries in parser.phrases(at):
            values = [e for e in entries if e.kind == "value"] if end == at + 1 else []
            features = [vocabulary.features.get(vocabulary.terms[e.term].feature) for e in values]
            if values and all(f is not None and f.single and f.part in said["of"] for f in features):
                first = at - (at > 0 and typed[at - 1] in lexicon.words.articles)
                yield tokens[first].start, tokens[at + 1].end


def _without(text: str, start: int, end: int, lexicon: Lexicon) -> str:
    """The text without a stretch, and without the word that joined it to what is left."""
    joins = _any(lexicon.words.likened["joins"])
    first, last = text[:start].rstrip(), text[end:].lstrip()
    after = re.sub(rf"^,?\s*(?:{joins})\s+", "", last, flags=re.IGNORECASE)
    if after == last:
        first = re.sub(rf",?(?:\s+(?:{joins}))+$", "", first, flags=re.IGNORECASE)
    return f"{first} {after}" if after[:1].isalnum() else f"{first}{after}"
