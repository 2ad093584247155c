"""Lists of patterns as blocks: those that match, that are disputed, that could match, and groups."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kg.model import SOME_SIZES, VARIES, Answer, Disputed, Grouped, Match, Possible
from kg.render.blocks import Block, Heading, Para, Spans, Table, para, words
from kg.render.english import BASES, cited, known_as, number, short_form, shortened
from kg.wording import listing

SHOWN_PATTERNS = 8
"""So many patterns are named under one reason why they could match."""
SHOWN_REASONS = 6


# --- matches --------------------------------------------------------------------------------------------------------
def match_heading(answer: Answer) -> str:
    """``12 patterns match (17 with their variants)``, and how many are listed if not all; for none a sentence that says what is
    known."""
    listed = len(answer.matches)
    total = listed if answer.match_count is None else answer.match_count
    if not total:
        return "No pattern is known to match in all its pieces." if _of_some(answer) else "No pattern is known to match."
    folded = answer.pattern_count if answer.pattern_count is not None else len(_folded(answer.matches))
    text = number(folded, "pattern matches", "patterns match")
    text = f"{text} ({total:,} with their variants)" if folded != total else text
    return text if listed == total else f"{text}, of which {listed:,} {'is' if listed == 1 else 'are'} listed"


def nothing_left(answer: Answer) -> str:
    """For an empty list, whether anything is left open; the empty text if something matches."""
    if answer.matches or answer.possible_count or answer.disputed:
        return ""
    return "Nothing is left open either: the recorded facts rule out every pattern of the catalogue."


def match_blocks(answer: Answer) -> list[Block]:
    """The matches, variants folded under their parent, each with what it rests on."""
    matches = answer.matches
    mixed = len({m.inferred for m in matches}) > 1
    rows: list[tuple[Spans, ...]] = []
    for parent, variants in _folded(matches):
        remark = _remark(parent, mixed)
        alike = [v for v in variants if _remark(v, mixed) == remark]
        name: list = [("name", parent.label)]
        if alike:
            name += [("", " ("), ("", ", ".join(short_form(v.label, parent.label) for v in alike)), ("", ")")]
        other = known_as(parent.label, parent.also_called)
        known = [f"also called {listing(other, 'or')}"] if other else []
        rows.append((tuple(name), words("; ".join([*known, remark] if remark else known), "remark")))
        rows += [
            ((("", f"- {short_form(v.label, parent.label)}"),), words(_remark(v, mixed), "remark"))
            for v in variants
            if v not in alike
        ]
    out: list[Block] = [Table((), tuple(rows))]
    if matches and not mixed:
        how = "inferred from" if matches[0].inferred else ""
        out.append(para(f"All of these are {how} recorded facts.".replace("  ", " "), "remark", indent=1))
    if any(m.basis in ("common practice", "memory") for m in matches):
        text = "Rests on common practice or memory: no published source was found for a fact that the match needs."
        out.append(Para(words(text, "remark"), 1, close=True))
    return out


def _folded(matches: Sequence[Match]) -> list[tuple[Match, list[Match]]]:
    """(match, its variants among the matches), in the order given."""
    found = {m.name: m for m in matches}
    children: dict[str, list[Match]] = {}
    roots: list[Match] = []
    for match in matches:
        root, seen = match, {match.name}
        while root.variant_of in found and root.variant_of not in seen:
            root = found[root.variant_of]
            seen.add(root.name)
        if root is match:
            roots.append(match)
        else:
            children.setdefault(root.name, []).append(match)
    return [(r, children.get(r.name, [])) for r in roots]


def _remark(match: Match, mixed: bool) -> str:
    parts = ["inferred"] if mixed and match.inferred else []
    if match.basis:
        parts.append(BASES.get(match.basis, f"rests on {match.basis}"))
    if match.contested:
        parts.append("disputed: a source says otherwise")
    return ", ".join(parts)


# --- disputed -------------------------------------------------------------------------------------------------------
def disputed_blocks(disputed: Sequence[Disputed], heading: str) -> list[Block]:
    """Each dispute with both sides and their witnesses; patterns with the same dispute stand together."""
    if not disputed:
        return []
    same: dict[tuple, list[str]] = {}
    for d in disputed:
        same.setdefault((d.feature, d.adopted, d.also_said), []).append(d.label)
    out: list[Block] = [Heading(heading, "dispute")]
    for nth, ((feature, adopted, also_said), labels) in enumerate(same.items()):
        names: list = []
        for i, label in enumerate(labels):
            names += [("", ", " if i else ""), ("name", label)]
        out.append(Para((*names, ("", f": {feature}")), 1, close=nth == 0))
        if adopted.value:
            value = (("", adopted.value), *(cited(adopted.sources) or (("source", " (no source of its own)"),)))
        else:
            value = (("", "nothing: it is left open"),)
        out.append(_side("adopted", value))
        out += [_side("also said", (("", q.value), *cited(q.sources))) for q in also_said]
    return out


def _side(which: str, value: Spans) -> Para:
    return Para(value, 2, (("remark", f"{which:<9}"),), close=True)


# --- could match ----------------------------------------------------------------------------------------------------
def possible_blocks(answer: Answer) -> list[Block]:
    """How many could match, and the first of them under the reason why it is open."""
    count = answer.possible_count
    if not count:
        return []
    some = _of_some(answer)
    full = len(some) == len(answer.possible) < count  # they come first, and there may be more of them
    said = ("match in some of their pieces", "matches in some of its pieces")
    out = _under_reasons(some, answer, len(some), *said, least="At least " if full else "")
    rest = [item for item in answer.possible if item not in some]
    return out + _under_reasons(rest, answer, count - len(some), "could match: the sources do not decide", "")


def _of_some(answer: Answer) -> list[Possible]:
    """Those of which nothing is open: they are made both ways, or in sizes on either side of what is asked for."""
    return [item for item in answer.possible if item.only_as(VARIES, SOME_SIZES)]


def _under_reasons(
    items: Sequence[Possible], answer: Answer, count: int, said: str, of_one: str, *, least: str = ""
) -> list[Block]:
    """``count`` patterns, of which some are named, each under the reason why it is no match."""
    if not count:
        return []
    more = "more " if answer.matches else ""
    out: list[Block] = [Heading(f"{least}{number(count, f'{more}pattern')} {of_one if count == 1 and of_one else said}")]
    reasons: dict[tuple[tuple[str, ...], str], list[Possible]] = {}
    for item in items:
        reasons.setdefault((item.missing, item.reason), []).append(item)
    ordered = sorted(reasons.items(), key=lambda pair: -len(pair[1]))  # stable: the first named stays first
    for (missing, reason), named in ordered[:SHOWN_REASONS]:
        out.append(Para((("", "; ".join(missing)), ("remark", f" ({reason})")), 1, close=True))
        names = ", ".join(shortened([i.label for i in named], SHOWN_PATTERNS))
        out.append(Para(words(names, "name"), 2, close=True))
    unseen = sum(len(found) for _, found in ordered[SHOWN_REASONS:]) + count - len(items)
    if unseen > 0:
        said = f"and {unseen} more that are not listed here" if items else "not listed here"
        out.append(Para(words(said, "remark"), 1, close=True))
    return out


# --- groups ---------------------------------------------------------------------------------------------------------
def group_blocks(groups: Iterable[Grouped], matches: Sequence[Match], first: str) -> list[Block]:
    """A row for each group: its value, how many, and which; variants folded. ``first`` heads the first column."""
    by_label = {m.label: m for m in matches}
    rows = []
    for group in groups:
        members = [by_label[label] for label in group.labels if label in by_label]
        texts = [_with_variants(parent, variants) for parent, variants in _folded(_parents_first(members))]
        texts += [label for label in group.labels if label not in by_label]
        which = ", ".join(texts) or "none known"
        rows.append((words(group.value, "name"), words(f"{group.count:,}", "number"), words(which)))
    return [Table((first, "number", "patterns"), tuple(rows), key=1, close=False)]


def _parents_first(members: Sequence[Match]) -> list[Match]:
    found = {m.name for m in members}
    return sorted(members, key=lambda m: (m.variant_of in found, m.label.casefold()))


def _with_variants(parent: Match, variants: Sequence[Match]) -> str:
    if not variants:
        return parent.label
    return f"{parent.label} ({', '.join(short_form(v.label, parent.label) for v in variants)})"
