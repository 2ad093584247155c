"""The published grammar: written from the parser itself, with the examples in ``language/cases/rules.txt``.

``python -m tests.grammar`` writes ``kg/language/GRAMMAR.md``; a test fails if the page has drifted, if a rule has no example,
or if a rule does not read its example.
"""

from __future__ import annotations

import hashlib
import inspect
import re
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "kg" / "language" / "GRAMMAR.md"
EXAMPLES = ROOT / "tests" / "language" / "cases" / "rules.txt"
WORDS = ROOT / "ontology" / "lexicon" / "en.toml"
SHOWN = 6
"""So many phrases of a function word are shown; the word file has all."""


def examples() -> list[tuple[str, str]]:
    """(rule, question), in the order of the file."""
    lines = EXAMPLES.read_text(encoding="utf-8").splitlines()
    return [tuple(c.strip() for c in x.split(" ; ")) for x in lines if x.strip() and not x.startswith("#")]  # type: ignore[misc]


def forms() -> list[str]:
    """The rules of questions, in the order in which they are tried."""
    from kg.language.parse_forms import FormParser

    return [form.__name__ for form in FormParser("", [], None)._forms()]  # type: ignore[arg-type]


def inputs_hash() -> str:
    """SHA-256 of what the page is made from: the parser's modules, the word file, the examples."""
    files = [*sorted((ROOT / "kg" / "language").glob("parse*.py")), ROOT / "kg" / "language" / "lengths.py", WORDS, EXAMPLES]
    return hashlib.sha256(b"".join(f.read_bytes() for f in files)).hexdigest()


def page(catalogue: Any) -> str:
    """The whole page."""
    from kg.language.parse_forms import FormParser

    shown = examples()
    out = [
        "# The English of questions",
        "",
        "Written by `python -m tests.grammar` from the parser, the word file and the examples; do not edit.",
        f"Inputs: `{inputs_hash()}`.",
        "",
        "Quoted words stand for any phrase of `ontology/lexicon/en.toml` in their place; `[ ]` may be left out, `{ }` may",
        "stand any number of times, `|` separates alternatives. A rule of questions is tried after the ones above it, each up",
        "to the end of the question. Every word is understood or the question is refused; an answer begins with how the",
        "question was read, and that sentence, asked, means the same. What a question leans on in a conversation is in",
        "`follow.py`; questions in any words are read by pieces (`islands.py`) and cues (`loose.py`, `about.py`, and",
        "`plain.toml` in the ontology).",
        "",
        "## Questions",
        "",
    ]
    for rule in forms():
        out += _rule(FormParser, rule, shown, catalogue)
    out += ["## Descriptions", ""]
    for rule in dict.fromkeys(r for r, _ in shown if r not in forms()):
        out += _rule(FormParser, rule, shown, catalogue)
    return "\n".join(out).rstrip() + "\n"


def _rule(parser: type, rule: str, shown: list[tuple[str, str]], catalogue: Any) -> list[str]:
    method = getattr(parser, rule)
    text = " ".join((inspect.getdoc(method) or "").split())
    out = [f"### {rule.strip('_').replace('_', ' ')}", "", f"`{text}`" if "`" not in text else text, ""]
    words = catalogue.lexicon.words.keywords
    named = dict.fromkeys(re.findall(r'"kw\.(\w+)"', inspect.getsource(method)))
    for name in (n for n in named if len(words.get(n, ())) > 1):
        phrases = words[name]
        more = f" and {len(phrases) - SHOWN} more" if len(phrases) > SHOWN else ""
        out.append(f"- *{name.replace('_', ' ')}*: {', '.join(phrases[:SHOWN])}{more}")
    if named:
        out.append("")
    for _, question in (e for e in shown if e[0] == rule):
        reading = catalogue.lexicon and _reading(question, catalogue)
        out.append(f"> {question}  \n> read as: {reading}")
        out.append("")
    return out


def _reading(question: str, catalogue: Any) -> str:
    from kg.language import parse, say

    return say(parse(question, catalogue.lexicon), catalogue.lexicon)


if __name__ == "__main__":
    from kg import open_catalogue

    PAGE.write_text(page(open_catalogue()), encoding="utf-8")
