"""Figures about the catalogue, and what changed between two of them, as blocks."""

from __future__ import annotations

from kg.changes import Changes
from kg.render.blocks import Block, Heading, Para, Table, para, words
from kg.render.english import number
from kg.statistics import Statistics

SHOWN = 12


def statistics_blocks(figures: Statistics) -> list[Block]:
    """How much there is, how well it is witnessed, how complete each family is, and what cannot be told apart."""
    f = figures
    out: list[Block] = [
        para(
            f"{number(f.patterns, 'pattern')}, {f.variants} of them variants, in "
            f"{number(len(f.families), 'family', 'families')}.",
            "name",
        ),
        para(
            f"{number(f.statements, 'statement')} from {number(f.sources, 'source')}; "
            f"{f.sources_with_two} say two things or more."
        ),
        para(
            f"{number(f.adopted, 'adopted value')}: {_share(f.single_witness, f.adopted)} with one witness, "
            f"{_share(f.disputed, f.adopted)} disputed; {number(f.disputes, 'dispute')} recorded."
        ),
        Heading("What adopted values rest on at best"),
        Table(
            ("", "values", "share"), tuple((words(k), words(str(v)), words(_share(v, f.adopted))) for k, v in f.basis.items())
        ),
        para(
            f"Common practice or memory alone: {f.weak_share:.0%} of the adopted values, {f.weak_fill:.0%} of what is filled.",
            "remark",
        ),
        Heading(f"Fill by family ({f.fill:.0%} over all)"),
    ]
    head = ("family", "patterns", "fill", "own", "inherited", "of the kind", "inferred", "weak", "weak values", "empty most")
    rows = [
        tuple(
            words(text)
            for text in (
                x.label.removesuffix(" in general"),
                str(x.patterns),
                *(f"{share:.0%}" for share in (x.fill, x.own, x.inherited, x.of_kind, x.inferred, x.weak_fill, x.weak_values)),
                ", ".join(list(x.empty)[:2]),
            )
        )
        for x in f.families
    ]
    out.append(Table(head, tuple(rows)))
    out.append(para("Weak: of the filled, resting on common practice or memory; weak values: of all adopted values.", "remark"))
    if f.alike:
        out.append(Heading(f"No recorded feature tells these apart ({number(len(f.alike), 'group')})"))
        out += [Para(words(", ".join(group)), 1, close=True) for group in f.alike[:SHOWN]]
        if len(f.alike) > SHOWN:
            out.append(para(f"and {len(f.alike) - SHOWN} more groups", "remark", indent=1))
    return out


def _share(part: int, whole: int) -> str:
    return f"{part / whole:.0%}" if whole else "none"


# --- changes --------------------------------------------------------------------------------------------------------
def changes_blocks(changes: Changes) -> list[Block]:
    """What came, what went, which adopted values changed, which names were replaced."""
    out: list[Block] = []
    lists = (
        ("Patterns added", changes.added_patterns),
        ("Patterns taken out", changes.removed_patterns),
        ("Terms added", changes.added_terms),
        ("Terms taken out", changes.removed_terms),
    )
    for title, names in lists:
        if names:
            out += [Heading(f"{title} ({len(names)})"), para(", ".join(n.split(":", 1)[1] for n in names), indent=1)]
    for title, rows in (("Statements added", changes.added_statements), ("Statements taken out", changes.removed_statements)):
        if rows:
            sources = sorted({r["source"] for r in rows})
            out += [Heading(f"{title} ({len(rows)})"), para("from " + ", ".join(sources), indent=1)]
    if changes.values:
        out.append(Heading(f"Patterns whose adopted facts changed ({len(changes.values)})"))
        for pattern, before, now in changes.values:
            gone = "; ".join(f"{f.split(':')[1]} {v.split(':')[1]}" for f, v in before)
            new = "; ".join(f"{f.split(':')[1]} {v.split(':')[1]}" for f, v in now)
            out.append(para(f"{pattern.split(':')[1]}: before {gone or 'nothing'}; now {new or 'nothing'}", indent=1))
    if changes.replaced:
        out.append(Heading("Names replaced"))
        out += [para(f"{old} is now {new}", indent=1) for old, new in changes.replaced.items()]
    return out or [para("Nothing changed.", "name")]
