"""Descriptions in words: noun phrases with modifiers before and clauses after, or the explicit wording that leaves
nothing open."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cached_property, partial

from kg import names
from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr
from kg.wording import article, is_plural, plural

Wording = Callable[[Expr], str]


class Phrasing:
    """Wordings over one lexicon."""

    def __init__(self, lexicon: Lexicon) -> None:
        self.lexicon = lexicon
        word = lexicon.word
        self._or, self._and, self._not = f" {word('or')} ", f" {word('and')} ", word("not")
        self._with, self._without, self._have = word("with"), word("without"), word("have")
        self._instruments = plural(word("instrument"))
        are = lexicon.words.keywords["be"]
        self._that_is = f"{word('that')} {are[0]}"
        self._that_are = f"{word('that')} {are[1] if len(are) > 1 else are[0]}"
        self._places = frozenset(w for k in ("place", "with", "without") for w in lexicon.words.keywords[k])

    @cached_property
    def _groups(self) -> dict[tuple[str, ...], str]:
        """The categories or patterns that an everyday word of the word file stands for -> the word; few questions need it."""
        entries = self.lexicon.entries
        return {tuple(e.terms): w for w in self.lexicon.words.groups for e in entries(w) if e.kind == "group"}

    def _head_of(self, terms: tuple[str, ...]) -> str:
        """The last word of the labels of these patterns, if it stands for them and no others; else empty."""
        word = self.lexicon.folder.phrase(self.lexicon.vocabulary.label(terms[0]))[-1]
        return word if any(e.kind == "group" and e.terms == terms for e in self.lexicon.entries(word)) else ""

    def levels(self) -> tuple[Wording, ...]:
        """The wordings of a description, from the most natural to the one that is always understood."""
        return self.plain, partial(self.plain, strict=True), self.explicit

    def clause(self, expr: Expr) -> str:
        """What stands behind "instruments" to describe them: "with a box lock", "used on bowel or fascia"."""
        return self._after([expr], False)

    # --- plain -----------------------------------------------------------------------------------------------------
    def plain(self, expr: Expr, *, strict: bool = False, many: bool = True) -> str:
        """A noun phrase; ``strict`` puts brackets round alternatives and says "that have" for "with"."""
        if self._group(expr):
            return self._head(expr, many)
        if isinstance(expr, nodes.Or) and not strict and many and (place := self._for_place(expr.items)):
            return f"{self._instruments} {place}"
        if isinstance(expr, nodes.Or) and not self._one_kind(expr.items):
            if not strict and many and (each := self._names(expr.items)):
                return f"{self._instruments} {self._that_are} {each}"
            if not strict and many and (each := self._clauses(expr.items)):
                return f"{self._instruments} {each}"
            if many and (each := self._families(expr.items)):
                return self._or.join(each)
            texts = [self.plain(item, strict=strict, many=many) for item in expr.items]
            simple = [not isinstance(i, nodes.And | nodes.Not) for i in expr.items]
            return self._or.join(t if ok or not strict else f"({t})" for t, ok in zip(texts, simple, strict=True))
        items = list(expr.items) if isinstance(expr, nodes.And) else [expr]
        head = self._head(items[0], many)
        if head:
            items = items[1:]
        else:
            head = self._instruments if many else self.lexicon.word("instrument")
        before: list[str] = []
        while items and not strict and self._is_adjective(items[0]) and " " not in self._value(items[0]):  # type: ignore[arg-type]
            before.append(self._value(items.pop(0)))  # type: ignore[arg-type]
        phrase = " ".join([*before, head])
        after = self._after(items, strict)
        if not many:
            phrase, after = self._a(phrase), after.replace(self._that_are, self._that_is)
        return f"{phrase} {after}".strip()

    def _families(self, items: Sequence[Expr]) -> list[str]:
        """Alternatives that are families each, with the everyday word for several of them in a row ("clamps or forceps");
        empty if there is no such row, or something else among them."""
        if not all(isinstance(i, nodes.IsA | nodes.Named) for i in items):
            return []
        terms = tuple([i.category if isinstance(i, nodes.IsA) else i.pattern for i in items])  # type: ignore[union-attr]
        out: list[str] = []
        at, grouped = 0, False
        while at < len(terms):
            fit = [key for key in self._groups if len(key) > 1 and terms[at : at + len(key)] == key]
            row = max(fit, key=len, default=())
            grouped = grouped or bool(row)
            out.append(plural(self._groups[row]) if row else self.plain(items[at]))
            at += len(row) or 1
        return out if grouped else []

    def split(self, expr: Expr, *, strict: bool = False) -> tuple[str, str]:
        """(the family or "instruments", what is said of them): "artery forceps", "with teeth"."""
        items = list(expr.items) if isinstance(expr, nodes.And) else [expr]
        families = [i for i in items if self._head(i, True)]
        head = families[0] if len(families) == 1 and len(items) > 1 else nodes.Everything()
        return self._head(head, True), self._after([i for i in items if i is not head], strict)

    def _head(self, expr: Expr, many: bool) -> str:
        match expr:
            case nodes.IsA(category):
                return self.lexicon.name(category, many=many)
            case nodes.Named(pattern):
                return self.lexicon.name(pattern) if not many else ""
            case nodes.Everything():
                return self._instruments if many else self.lexicon.word("instrument")
            case nodes.Or():
                group = self._group(expr)
                return plural(group) if group and many else group
        return ""

    def _group(self, expr: Expr) -> str:
        if isinstance(expr, nodes.Or) and all(isinstance(i, nodes.IsA | nodes.Named) for i in expr.items):
            terms = tuple([i.category if isinstance(i, nodes.IsA) else i.pattern for i in expr.items])  # type: ignore[union-attr]
            return self._groups.get(terms) or self._head_of(terms)
        return ""

    def _after(self, items: Sequence[Expr], strict: bool) -> str:
        texts: list[str] = []
        intro = ""
        for item in items:
            if isinstance(item, nodes.Untold) and intro == "untold":
                texts[-1] += self._or + self._joined(nodes.Has(item.feature, item.value))
            elif self.owned(item):
                start = f"{self.lexicon.word('that')} {self._have}" if strict else self._with
                texts.append(self.thing(item) if intro == "with" else f"{start} {self.thing(item)}")
                intro = "with"
            else:
                texts.append(self._unit(item, strict))
                intro = "untold" if isinstance(item, nodes.Untold) else ""
        return self._and.join(texts)

    def _unit(self, item: Expr, strict: bool) -> str:
        match item:
            case nodes.Has():
                if self._is_adjective(item):
                    return f"{self._that_are} {self._value(item)}"
                return self._joined(item) or self._whose(item)
            case nodes.Length():
                return self.length(item)
            case nodes.Recorded() | nodes.CalledAfter() | nodes.Begins():
                return self._said(item)
            case nodes.Solely():
                return self._solely(item)
            case nodes.Untold():
                return self._untold(item)
            case nodes.Not(inner):
                return self._absent(inner, strict)
            case nodes.Or(items) if not self._group(item):
                return (not strict and self._for_place(items)) or self._any_of(items, strict)
        named = isinstance(item, nodes.Named)
        return f"{self._that_are} {self.lexicon.name(item.pattern) if named else self.plain(item, strict=strict)}"

    @cached_property
    def _place_words(self) -> dict[tuple[str, ...], str]:
        """What a place of the body means behind "for" -> the first word for it."""
        known = self.lexicon.vocabulary.terms
        words = ((tuple(t for t in terms if t in known), w) for w, terms in self.lexicon.words.places.items())
        out: dict[tuple[str, ...], str] = {}
        for terms, word in words:
            out.setdefault(terms, word)
        return out

    def _for_place(self, items: Sequence[Expr]) -> str:
        """ "for the eye", where that means just these things; else empty"""
        if len(items) < 2 or not all(isinstance(i, nodes.Has) for i in items):
            return ""
        word = self._place_words.get(tuple(i.value for i in items))  # type: ignore[union-attr]
        return f"{self.lexicon.words.for_place} {word}" if word else ""

    def _any_of(self, items: Sequence[Expr], strict: bool) -> str:
        if all(self.owned(i) for i in items):
            text = self._or.join(self.thing(i) for i in items)
            return f"{self._with} ({text})" if strict else f"{self._with} {text}"
        if all(self._is_adjective(i) for i in items):
            text = self._or.join(self._value(i) for i in items)  # type: ignore[arg-type]
            return f"{self._that_are} ({text})" if strict else f"{self._that_are} {text}"
        links = {self._link(i) for i in items}
        if len(links) == 1 and (link := links.pop()):
            text = self._or.join(self._value(i) for i in items)  # type: ignore[arg-type]
            return f"{link} ({text})" if strict else f"{link} {text}"
        if not strict and (each := self._names(items)):
            return f"{self._that_are} ({each})"
        if not strict and (each := self._clauses(items)):
            return f"({each})"
        return f"{self._that_are} ({self.plain(nodes.Or(tuple(items)), strict=strict)})"

    def _names(self, items: Sequence[Expr]) -> str:
        """Alternatives that are all instruments called by their names; else empty."""
        if not all(isinstance(i, nodes.Named) for i in items):
            return ""
        return self._or.join(self.lexicon.name(i.pattern) for i in items)  # type: ignore[union-attr]

    def _clauses(self, items: Sequence[Expr]) -> str:
        """Alternatives that are clauses each ("used in hysterectomy or with a long blade"); empty if one of them names a
        family, is put together of several or denies something."""
        apart = (nodes.IsA, nodes.Named, nodes.Everything, nodes.And, nodes.Or, nodes.Not, nodes.Untold)
        if any(isinstance(i, apart) or self._head(i, True) for i in items):
            return ""
        texts = (f"{self._with} {self.thing(i)}" if self.owned(i) else self._unit(i, False) for i in items)
        return self._or.join(texts)

    def _one_kind(self, items: Sequence[Expr]) -> bool:
        """True if alternatives can share their first word ("with a, b or c")."""
        links = {self._link(i) for i in items}
        alike = all(self.owned(i) for i in items) or all(self._is_adjective(i) for i in items)
        return alike or (len(links) == 1 and "" not in links)

    def _absent(self, inner: Expr, strict: bool) -> str:
        if self.owned(inner):
            if strict:
                do = self.lexicon.words.keywords["do"][:2][-1]
                return f"{self.lexicon.word('that')} {do} {self._not} {self._have} {self.thing(inner)}"
            return f"{self._without} {self.thing(inner)}"
        if isinstance(inner, nodes.Or) and all(self.owned(i) for i in inner.items):
            return f"{self._without} {self._or.join(self.thing(i) for i in inner.items)}"
        if isinstance(inner, nodes.Or) and all(self._is_adjective(i) for i in inner.items):
            neither, nor = self.lexicon.word("neither"), f" {self.lexicon.word('nor')} "
            return f"{self._that_are} {neither} {nor.join(self._value(i) for i in inner.items)}"  # type: ignore[arg-type]
        if self._is_adjective(inner):
            return f"{self._that_are} {self._not} {self._value(inner)}"  # type: ignore[arg-type]
        if isinstance(inner, nodes.Has) and (joined := self._joined(inner)):
            return f"{self._not} {joined}"
        if isinstance(inner, nodes.Recorded):
            return self._said(inner, "unstated")
        if isinstance(inner, nodes.IsA):
            return f"{self._that_are} {self._not} {self.lexicon.name(inner.category, many=True)}"
        if isinstance(inner, nodes.Named):
            return f"{self.lexicon.word('except')} {self.lexicon.name(inner.pattern)}"
        return f"{self._that_are} {self._not} ({self.plain(inner, strict=strict)})"

    # --- explicit ----------------------------------------------------------------------------------------------------
    def explicit(self, expr: Expr) -> str:
        """The wording with every bracket and every feature named."""
        those = f"{self._instruments} {self._that_are}"
        match expr:
            case nodes.Has():
                return f"{self._instruments} {self._whose(expr)}"
            case nodes.HasPart(part):
                return f"{self._instruments} {self.lexicon.word('that')} {self._have} {self._a(self.lexicon.name(part))}"
            case nodes.Named(pattern):
                return f"{those} {self.lexicon.name(pattern)}"
            case nodes.Length():
                return f"{self._instruments} {self.length(expr)}"
            case nodes.Recorded() | nodes.CalledAfter() | nodes.Begins():
                return f"{self._instruments} {self._said(expr)}"
            case nodes.Solely():
                return f"{self._instruments} {self._solely(expr)}"
            case nodes.Untold():
                return f"{self._instruments} {self._untold(expr)}"
            case nodes.Not(inner):
                return f"{those} {self._not} ({self.explicit(inner)})"
            case nodes.And(items):
                each = [f"{self._that_are} ({self.explicit(i)})" for i in items]
                return f"{self._instruments} {self._and.join(each)}"
            case nodes.Or(items):
                return self._or.join(f"({self.explicit(i)})" for i in items)
        return self._head(expr, True)

    # --- after "is" and "has"
    # ------------------------------------------------------------------------------------------
    def predicate(self, expr: Expr) -> str:
        """What follows "is": "crushing", "used on bowel", "a clamp with a ratchet"."""
        if isinstance(expr, nodes.Has):
            if self._is_adjective(expr):
                return self._value(expr)
            return self._joined(expr) or f"({self.explicit(expr)})"
        if isinstance(expr, nodes.Length):
            return self.length(expr)
        return self.plain(expr, many=False)

    def owned(self, expr: Expr) -> bool:
        """True for what an instrument has: a part, or a value that is a thing."""
        if isinstance(expr, nodes.Has):
            form = self.lexicon.feature(expr.feature).form
            return form == "with" and not self._is_adjective(expr)
        return isinstance(expr, nodes.HasPart)

    def thing(self, expr: Expr) -> str:
        """A part or value with its article."""
        name = expr.part if isinstance(expr, nodes.HasPart) else expr.value  # type: ignore[union-attr]
        return self._a(self.lexicon.name(name))

    # --- atoms -------------------------------------------------------------------------------------------------------
    def _is_adjective(self, expr: Expr) -> bool:
        if not isinstance(expr, nodes.Has) or expr.feature == names.OF_KIND:
            return False
        form = self.lexicon.feature(expr.feature).form
        # A synonym stands in for a label such as "no teeth at the tip"; synonyms of things are adjectives
        # ("toothless").
        other = self.lexicon.name(expr.value) != self.lexicon.vocabulary.label(expr.value)
        return form == "adjective" or (form == "with" and other)

    def _value(self, has: nodes.Has) -> str:
        return self.lexicon.name(has.value)

    def _link(self, expr: Expr) -> str:
        """The connector before a value of the feature ("used on"); empty if it has none."""
        if not isinstance(expr, nodes.Has):
            return ""
        fit = [c for c in self.lexicon.words.connectors if expr.feature in c.features]
        return min(fit, key=lambda c: len(c.features)).phrases[0] if fit else ""

    def _joined(self, has: nodes.Has) -> str:
        if self.lexicon.feature(has.feature).form == "after":
            return self._value(has)
        link = self._link(has)
        return f"{link} {self._value(has)}" if link else ""

    def _said(self, atom: nodes.Recorded | nodes.CalledAfter | nodes.Begins, how: str = "stated") -> str:
        word = self.lexicon.word
        if isinstance(atom, nodes.CalledAfter):
            return f"{word('named_after')} {atom.name}"
        if isinstance(atom, nodes.Begins):
            return f"{word('begins')} {atom.letters.upper()}"
        return f"{word('whose')} {self.lexicon.name(atom.feature)} {word('be')} {word(how)}"

    def _solely(self, item: nodes.Solely) -> str:
        """ "only used on bone or cartilage" """
        each = [nodes.Has(item.feature, v) for v in item.values]
        listed, only = self._or.join(self._value(h) for h in each), self.lexicon.word("only")
        link = self._link(each[0])
        if link:
            return f"{only} {link} {listed}"
        return f"{self.lexicon.word('whose')} {self.lexicon.name(item.feature)} {self.lexicon.word('be')} {only} {listed}"

    def _untold(self, item: nodes.Untold) -> str:
        """ "not recorded as used on bone" """
        return f"{self.lexicon.word('untold')} {self._joined(nodes.Has(item.feature, item.value))}"

    def _whose(self, has: nodes.Has) -> str:
        word = self.lexicon.word
        label = self.lexicon.vocabulary.label(has.value)
        return f"{word('whose')} {self.lexicon.name(has.feature)} {word('be')} {label}"

    def length(self, size: nodes.Length) -> str:
        """A comparison in millimetres."""
        words = self.lexicon.words
        unit, op = words.units["mm"].phrases[0], words.lengths[size.op][0]
        if size.high is None:
            return f"{op} {number(size.low)} {unit}"
        return f"{op} {number(size.low)} {unit} {words.lengths['to'][0]} {number(size.high)} {unit}"

    # --- lists and articles
    # --------------------------------------------------------------------------------------------
    def _a(self, text: str) -> str:
        words = self.lexicon.words
        noun = text.split()
        places = [i for i, w in enumerate(noun) if i and w in self._places]
        noun = noun[: places[0]] if places else noun
        absent = any(e.negated or e.composed for e in self.lexicon.entries(text) if e.kind == "value")
        if (
            absent
            or noun[0] in words.numbers
            or is_plural(" ".join(noun))
            or self.lexicon.folder.key(noun[-1].lower()) in words.mass
        ):
            return text
        return article(text)

    def asked(self, subject: str, features: tuple[str, ...]) -> Iterable[str]:
        """Questions such as "what is X used on?", if a connector asks for just these features."""
        for connector in self.lexicon.words.connectors:
            if connector.ask == features:
                family = self.lexicon.vocabulary.terms[subject].role == "category"
                whatis = self.lexicon.words.keywords["whatis"][:2][-1 if family else 0]
                yield f"{whatis} {self.lexicon.name(subject, many=family)} {connector.phrases[0]}?"

    def what_are(self, features: tuple[str, ...]) -> str:
        """ "what is" or "what are", as the names of the features want."""
        phrases = self.lexicon.words.keywords["whatis"]
        of = f" {self.lexicon.word('of')} "  # "the form of the shanks" is one thing
        many = len(features) > 1 or is_plural(self._feature(features[0]).partition(of)[0])
        return phrases[1] if many and len(phrases) > 1 else phrases[0]

    def article(self, term: str, label: str) -> str:
        """The name of a term as one asks for it: "a box lock", "crushing", "Kelly forceps"."""
        record = self.lexicon.vocabulary.terms.get(term)
        if record is not None and record.role == "concept" and any(e.kind == "group" for e in self.lexicon.entries(label)):
            return self._a(label)  # a word for several families
        if record is None or record.role in ("feature", "concept", "kind", "pattern"):
            return label
        if record.role == "value" and self.lexicon.feature(record.feature).form != "with":
            return label
        return self._a(label)

    def features(self, features: Iterable[str]) -> str:
        """Names of features in a list."""
        return _list([self._feature(f) for f in features], self._and)

    def _feature(self, feature: str) -> str:
        """The name of a feature as one asks for it: an instrument has several parts."""
        return self.lexicon.name(feature, many=feature == names.HAS_PART)

    def cycles(self, asked: nodes.Cycles) -> str:
        """Conditions of a sterilisation cycle, each with its word ("of wrapped instruments at 132 °C")."""
        words = self.lexicon.words
        conditions = [
            ("cycle_by", self.lexicon.name(asked.method) if asked.method else ""),
            ("cycle_of", words.loads[asked.load][0] if asked.load else ""),
            ("cycle_in", words.sterilisers[asked.steriliser][0] if asked.steriliser else ""),
            ("cycle_at", "" if asked.degrees is None else f"{number(asked.degrees)} {words.degrees[asked.unit][0]}"),
        ]
        said = [f"{self.lexicon.word(link)} {text}" for link, text in conditions if text]
        return " ".join([self.lexicon.word("cycle"), *said])

    def subject(self, name: str) -> str:
        """The name of a pattern, or of a category in the plural."""
        terms = self.lexicon.vocabulary.terms
        return self.lexicon.name(name, many=name in terms and terms[name].role == "category")

    def listed(self, texts: list[str]) -> str:
        """Texts in a list, the last after "and"."""
        return _list(texts, self._and)

    def listing(self, subjects: Iterable[str]) -> str:
        """Names of patterns, and of categories in the plural, in a list."""
        return _list([self.subject(s) for s in subjects], self._and)


def _list(texts: list[str], last: str) -> str:
    return last.join([", ".join(texts[:-1]), texts[-1]]) if len(texts) > 1 else "".join(texts)


def number(value: float) -> str:
    """A number of millimetres without exponent or needless zeros."""
    from decimal import Decimal  # only where a number is said: every import counts in a one-shot answer

    text = format(Decimal(repr(value)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
