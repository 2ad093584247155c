"""One function for each command of the command line: options and a screen in, exit status out."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import kg
from repl.screen import Screen, speaks_unicode

if TYPE_CHECKING:
    from argparse import Namespace

    from kg import Answer, Catalogue, Finding

CSV_PAGE = 100_000
"""CSV lists every pattern that could match, not a first page."""
LARGEST_QUERY = 1_000_000
"""Characters that are read of a query on standard input; far fewer are allowed."""


def ask(options: Namespace, screen: Screen) -> int:
    def asked(catalogue: Catalogue, limit: int) -> Answer:
        before: Answer | kg.QuestionError | None = None
        for earlier in options.after or ():
            try:
                before = catalogue.ask(earlier, after=before)
            except kg.QuestionError as error:
                if not error.readings:
                    raise
                before = error
        return catalogue.ask(" ".join(options.question), limit=limit, after=before)

    return _answered(screen, asked)


def compare(options: Namespace, screen: Screen) -> int:
    if len(options.subjects) < 2:
        raise kg.InputError("BL-I01", "A comparison needs two names or more.", hint='boxlock compare "NAME" "NAME"')
    return _answered(screen, lambda c, limit: c.compare(options.subjects, telling=options.telling, limit=limit))


def describe(options: Namespace, screen: Screen) -> int:
    return _answered(screen, lambda c, _: c.describe(" ".join(options.name)))


def identify(options: Namespace, screen: Screen) -> int:
    catalogue = open_catalogue(screen)
    outcome = catalogue.identify(", ".join(options.features), claim=options.claim or "", strict=options.strict)
    if screen.format == "json":
        show_json(screen, kg.identification_json(outcome))
    elif screen.format == "markdown":
        screen.write(kg.identification_markdown(outcome))
    else:
        screen.show(kg.identification_lines(outcome, screen.width()))
    screen.out.flush()
    catalogue.keep()
    return 0


def why(options: Namespace, screen: Screen) -> int:
    return _answered(screen, lambda c, _: c.why(" ".join(options.statement)))


def sparql(options: Namespace, screen: Screen) -> int:
    text = sys.stdin.read(LARGEST_QUERY) if options.query == "-" else options.query
    catalogue = open_catalogue(screen)
    result = catalogue.raw(text, seconds=options.seconds)
    if screen.format == "json":
        show_json(screen, kg.raw_json(result))
    elif screen.format == "csv":
        screen.write(kg.raw_csv(result))
    else:
        screen.show(kg.raw_lines(result, screen.width()))
    return 0


def build(options: Namespace, screen: Screen) -> int:
    folder = kg.rebuild(kg.ontology_dir(), hermit=not options.no_hermit, say=screen.progress)
    catalogue = kg.open_catalogue(kg.ontology_dir(), say=screen.progress)
    stamp = catalogue.stamp
    if screen.format == "json":
        show_json(screen, {"folder": str(folder), "verified_by": stamp.verified_by, "release": stamp.release})
    else:
        screen.write(f"The closure lies in {kg.clean(str(folder))}; {_verified(stamp.verified_by)}.\n")
    return 0


def _verified(engine: str) -> str:
    return f"verified by {engine}" if engine else "not verified by HermiT"


def check(options: Namespace, screen: Screen) -> int:
    root = kg.ontology_dir()
    if options.evidence:
        from repl.editing import figures

        return figures(screen, root)
    if options.files and all(_is_evidence(root, name) for name in options.files):
        found = kg.check_files(options.files, hermit=not options.no_hermit, say=screen.progress)
        _show_findings(screen, list(found.findings), None)
        return int(not found.accepted)
    wanted = [_inside(root, name) for name in options.files]
    findings = kg.check_ontology(root, hermit=not options.no_hermit, say=screen.progress)
    consistent = kg.findings_consistent(findings)
    if wanted:
        findings = [f for f in findings if f.file in wanted]
    _show_findings(screen, findings, consistent)
    return int(_has_errors(findings))


def add(options: Namespace, screen: Screen) -> int:
    done = kg.add_files(options.files, hermit=not options.no_hermit, say=screen.progress)
    found = done.inspection
    if screen.format == "json":
        gained = {pattern: list(labels) for pattern, labels in found.gained.items()}
        lost = {pattern: list(labels) for pattern, labels in found.lost.items()}
        what = {"added": found.new if done.folder else None, "folder": str(done.folder or ""), "gained": gained, "lost": lost}
        show_json(screen, kg.findings_json(found.findings, found.accepted) | what)
    elif screen.format == "csv":
        screen.write(kg.findings_csv(found.findings))
    else:
        if found.findings:
            screen.show(kg.finding_lines(found.findings, None, screen.width()))
        screen.show(kg.addition_lines(found, done.folder, screen.width()))
    return int(not found.accepted)


def _show_findings(screen: Screen, findings: list[Finding], consistent: bool | None) -> None:
    if screen.format == "json":
        show_json(screen, kg.findings_json(findings, consistent))
    elif screen.format == "csv":
        screen.write(kg.findings_csv(findings))
    else:
        screen.show(kg.finding_lines(findings, consistent, screen.width()))


def _has_errors(findings: list[Finding]) -> bool:
    return any(f.severity == "error" for f in findings)


def _is_evidence(root: Path, name: str) -> bool:
    """Whether a file is evidence from outside, and not one of the ontology's own."""
    try:
        if Path(name).suffix.lower() not in kg.EVIDENCE_FORMATS or not Path(name).is_file():
            return False
        return not Path(name).resolve().is_relative_to(root.resolve())
    except (OSError, ValueError):
        return False


def _inside(root: Path, name: str) -> str:
    """A file's path relative to the ontology folder, as findings name it. Raises InputError (BL-I02)."""
    for path in (Path(name), root / name):
        try:
            if path.is_file():
                return path.resolve().relative_to(root.resolve()).as_posix()
        except (OSError, ValueError):
            continue
    hint = f"Name a file below {root}, or evidence of your own: {', '.join(kg.EVIDENCE_FORMATS)}."
    raise kg.InputError("BL-I02", "This is not a file of the ontology.", file=name, hint=hint)


# --- answers --------------------------------------------------------------------------------------------------------
def open_catalogue(screen: Screen) -> Catalogue:
    """The catalogue that answers: the one of ``--catalogue``, or the shipped one with the user's own; its facts from
    ``--store`` if one is named."""
    local = kg.open_export(Path(screen.catalogue), say=screen.progress) if screen.catalogue else None
    if screen.store:
        return kg.open_remote(screen.store, local=local, say=screen.progress)
    return local or kg.open_catalogue(say=screen.progress)


def _answered(screen: Screen, answer: Any) -> int:
    limit = CSV_PAGE if screen.format == "csv" else 20
    catalogue = open_catalogue(screen)
    show_answer(screen, answer(catalogue, limit))
    screen.out.flush()
    catalogue.keep()  # after the answer: the next one starts faster
    return 0


def show_answer(screen: Screen, answer: Answer) -> None:
    """The answer in the format of the screen."""
    if screen.format == "json":
        show_json(screen, kg.answer_json(answer))
    elif screen.format == "csv":
        screen.write(kg.answer_csv(answer))
    elif screen.format == "markdown":
        screen.write(kg.answer_markdown(answer))
    else:
        screen.show(kg.answer_lines(answer, screen.width(), plain=screen.plain))


def show_json(screen: Screen, value: Any, *, lines: bool = False) -> None:
    screen.write(kg.json_text(value, ascii_only=not speaks_unicode(screen.out), lines=lines))
