"""The arguments of the command line: every command with its options. Loaded where they are more than a plain question."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import NoReturn

from kg import InputError
from repl.screen import ANSWER_FORMATS, hidden


class Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        usage = " ".join(self.format_usage().split())
        message = hidden(message)
        raise InputError("BL-I01", f"{message[:1].upper()}{message[1:]}.", hint=usage[:1].upper() + usage[1:])


def parser() -> argparse.ArgumentParser:
    """All commands and their options. What is wrong with arguments is raised as InputError (BL-I01)."""
    whole = Parser(
        prog="boxlock",
        allow_abbrev=False,
        description="Answers plain questions about surgical hand instruments, with sources. Without a command it opens "
        "a prompt; if the input is piped, it answers one question a line.",
        epilog="For study: local policy, makers' instructions and licensed practice decide.",
    )
    whole.add_argument("--version", action=_Version)
    _shared(whole, ("text", "json"))
    commands = whole.add_subparsers(dest="command", metavar="COMMAND", title="commands", parser_class=Parser)

    def command(name: str, text: str, formats: Sequence[str]) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=text, description=text, allow_abbrev=False)
        _shared(sub, formats)
        return sub

    ask = command("ask", "answer a question", ANSWER_FORMATS)
    ask.add_argument("question", nargs="*", metavar="QUESTION", help="the question; several words are joined")
    ask.add_argument(
        "--after", action="append", metavar="QUESTION", help="a question asked before, which this one leans on; may be repeated"
    )
    compare = command("compare", "set two or more instruments or categories side by side", ANSWER_FORMATS)
    compare.add_argument("subjects", nargs="+", metavar="NAME", help="names, each in quotation marks")
    compare.add_argument("--telling", action="store_true", help="only what decides between them")
    describe = command("describe", "describe an instrument aloud, part by part, with who says so", ANSWER_FORMATS)
    describe.add_argument("name", nargs="+", metavar="NAME", help="the name; several words are joined")
    draw = command("draw", "draw an instrument, or two side by side, from what is recorded", ("text", "json", "svg"))
    draw.add_argument("names", nargs="+", metavar="NAME", help="one name or two, each in quotation marks")
    draw.add_argument("--to", metavar="FILE.svg", help="where to write the drawing; needed for text")
    identify = command("identify", "say which instrument it may be, from what is seen on it", ("text", "json", "markdown"))
    identify.add_argument("features", nargs="+", metavar="FEATURE", help='what is seen, such as "box lock" or length=14cm')
    identify.add_argument("--claim", metavar="NAME", help="a name that someone gave: what speaks for and against it")
    identify.add_argument("--strict", action="store_true", help="refuse words that are not understood instead of naming them")
    rehearse = command("rehearse", "questions as an examiner asks them, with model answers; marks written ones", ANSWER_FORMATS)
    rehearse.add_argument("question", nargs="*", metavar="QUESTION", help="a description of instruments, or the name of one")
    rehearse.add_argument("--count", type=_count, default=10, metavar="N", help="how many questions (1 to 500)")
    rehearse.add_argument("--seed", type=_seed, metavar="S", help="a whole number; the same one gives the same questions")
    rehearse.add_argument("--cover", action="store_true", help="questions only, without the answers")
    rehearse.add_argument("--answers", metavar="FILE", help='mark answers, each after its number: "1. It has ..."')
    rehearse.add_argument("--past", action="store_true", help="show what is kept of rehearsals at the prompt")
    rehearse.add_argument("--forget", action="store_true", help="delete what is kept")
    rehearse.add_argument("--keep", choices=("on", "off"), help="turn keeping on or off")
    why = command("why", "say why a statement holds, or why not", ANSWER_FORMATS)
    why.add_argument(
        "statement", nargs="+", metavar="STATEMENT", help='"X is a clamp", "X is not a clamp", "X but not Y is ..."'
    )
    sparql = command("sparql", "run a read-only SPARQL query on the closure", ("text", "json", "csv"))
    sparql.add_argument("query", metavar="QUERY", help="the query, or - to read it from standard input")
    sparql.add_argument("--seconds", type=_seconds, default=10, help="stop after so many seconds (at most 600)")
    build = command("build", "build the closure from the ontology and the evidence", ("text", "json"))
    build.add_argument("--no-hermit", action="store_true", help="do not have HermiT verify it; the closure will say so")
    check = command("check", "report what is wrong with the ontology and the evidence", ("text", "json", "csv"))
    files = "files of the ontology, or evidence of your own (CSV, XLSX, Turtle, TriG)"
    check.add_argument("files", nargs="*", metavar="FILE", help=files)
    check.add_argument("--no-hermit", action="store_true", help="leave out the check by HermiT")
    add = command("add", "add evidence to your own catalogue, all or nothing", ("text", "json", "csv"))
    add.add_argument("files", nargs="+", metavar="FILE", help="CSV, XLSX, Turtle or TriG")
    add.add_argument("--no-hermit", action="store_true", help="do not have HermiT verify it; the catalogue will say so")
    _export(command("export", "write an answer as a handout, by the ending of the file", ("text", "json")))
    check.add_argument("--evidence", action="store_true", help="print figures on the evidence: how much, how complete")
    table = command("table", "the evidence as a table, one row a statement, and back", ("text", "json"))
    table.add_argument("file", metavar="FILE.csv", help="the table to write, or with --into to read")
    table.add_argument("--into", metavar="FOLDER", help="read the table and write one Turtle file a source into this folder")
    coverage = command("coverage", "say what a course covers and what it leaves out", ANSWER_FORMATS)
    course = "the course: one TOML or XLSX file, or the CSV tables of one course"
    coverage.add_argument("files", nargs="+", metavar="FILE", help=course)
    coverage.add_argument("--strict", action="store_true", help="exit status 1 if there is a gap or a contradiction")
    coverage.add_argument("--against", action="append", metavar="OLDER", help="an older course, to say what differs")
    coverage.add_argument("--smallest", action="store_true", help="find the shortest list that meets the objectives")
    coverage.add_argument("--every-value", action="store_true", help="find the shortest list that shows every value")
    coverage.add_argument("--among-shown", action="store_true", help="choose these lists from what the course shows")
    coverage.add_argument(
        "--more", type=_more, default=0, metavar="N", help="what 1 to N more instruments would buy (at most 40)"
    )
    coverage.add_argument("--seconds", type=_seconds, help="limit of each search, about so many seconds (10; at most 600)")
    coverage.add_argument("--to", metavar="FILE", help="write it to a file: .csv, .xlsx, .html, .md or .json")
    plan = command("plan", "cut a topic into sessions, each with a running order for the tutor", ANSWER_FORMATS)
    plan.add_argument("question", nargs="+", metavar="QUESTION", help="a question that lists instruments; words are joined")
    plan.add_argument("--minutes", type=_minutes, required=True, metavar="N", help="a session lasts at most so long")
    plan.add_argument("--each", type=_decimal, metavar="M", help="minutes for every instrument, instead of the estimate")
    plan.add_argument("--estimate", metavar="FILE.toml", help="other estimates, in the form of teaching.toml")
    plan.add_argument("--variants", action="store_true", help="each variant by itself, not with its parent")
    plan.add_argument("--seconds", type=_seconds, metavar="N", help="stop the search after so many seconds (20; at most 600)")
    plan.add_argument("--to", metavar="FILE", help="write it to a file: .md, .html, .csv, .json or .txt")
    publish = command("publish", "bring the catalogue to a SPARQL server, for --store", ("text", "json"))
    publish.add_argument("url", metavar="URL", help="the address of its graph store; of a bare host, /store is taken")
    publish.add_argument("--dry-run", action="store_true", help="say what would be sent and removed; change nothing")
    stations = command("stations", "make a circuit of examination stations, by a blueprint", ANSWER_FORMATS)
    stations.add_argument("question", nargs="+", metavar="QUESTION", help="a question that lists instruments; words are joined")
    stations.add_argument("--count", type=_station_count, required=True, metavar="N", help="how many stations (1 to 200)")
    stations.add_argument(
        "--seed", type=_seed, required=True, metavar="S", help="a whole number: the same gives the same stations"
    )
    stations.add_argument("--blueprint", metavar="FILE.toml", help="what the circuit is to hold, family by task")
    stations.add_argument(
        "--sheet", choices=("examiner", "candidate", "both"), default="both", help="for whom; both by default"
    )
    stations.add_argument("--look-alikes", action="store_true", help="let look-alikes stand in one circuit")
    stations.add_argument("--to", metavar="FILE", help="write to a file: .md, .html, .csv, .json or .txt; both sheets make two")
    changes = command("changes", "what changed in the catalogue since an older copy of the ontology", ("text", "json"))
    changes.add_argument("old", metavar="FOLDER", help="the older ontology folder")
    return whole


def _export(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("question", nargs="*", metavar="QUESTION", help="the question; several words are joined")
    endings = "html, pdf, md, csv, xlsx, json, ttl or jsonld; without it a page named after the question"
    sub.add_argument("--to", metavar="FILE", help=f"where to write it: {endings}")
    sub.add_argument("--replace", action="store_true", help="write over a file that is there already")
    sub.add_argument("--fields", metavar="LIST", help='what to tell of each, such as "parts, use, jaw surface, notes"')
    sub.add_argument("--order", metavar="ORDER", help="alike (look-alikes next to each other), name, length, shuffled or asked")
    sub.add_argument("--seed", type=_seed, metavar="N", help="which order --order shuffled gives")
    sub.add_argument("--group", metavar="FEATURE", help='under headings, such as "curvature" or "ratchet"')
    sub.add_argument("--cover", metavar="WHAT", help="names, facts or nothing: what is to be guessed; answers come last")
    sub.add_argument("--photos", metavar="FOLDER", help="your own photographs, named after the patterns (JPEG, PNG)")
    sub.add_argument("--no-drawings", action="store_true", help="leave out the drawings")
    sub.add_argument("--title", metavar="TEXT", help="a title of your own")
    sub.add_argument("--date", metavar="DATE", help="the date on it, as 2026-01-31; by default today")
    sub.add_argument("--paper", metavar="SIZE", help="a4 or letter, for PDF")
    sub.add_argument(
        "--template",
        nargs="?",
        const="boxlock-template.xlsx",
        metavar="FILE.xlsx",
        help="instead: write a workbook to fill in with evidence",
    )


def _shared(parser: argparse.ArgumentParser, formats: Sequence[str]) -> None:
    """Options that may stand before or after the command; absent ones leave no trace, so neither hides the other."""
    missing = argparse.SUPPRESS
    parser.add_argument("--format", choices=formats, default=missing, help="form of the output; text by default")
    parser.add_argument("--width", type=_width, default=missing, metavar="N", help="columns of a text (20 to 1000)")
    parser.add_argument(
        "--catalogue", default=missing, metavar="FILE", help="answer from an exported file (.ttl, .jsonld) instead"
    )
    server = "ask the SPARQL server at this address for the facts; by default $BOXLOCK_STORE, if it is set"
    parser.add_argument("--store", default=missing, metavar="URL", help=server)
    parser.add_argument("--no-colour", "--no-color", action="store_true", default=missing, help="plain text only")
    parser.add_argument("--plain", action="store_true", default=missing, help="sketches in plain ASCII letters")


class _Version(argparse.Action):
    def __init__(self, option_strings, dest, **_):  # type: ignore[no-untyped-def]
        super().__init__(option_strings, dest, nargs=0, default=argparse.SUPPRESS, help="show the version and leave")

    def __call__(self, parser, *_):  # type: ignore[no-untyped-def]
        from kg import release

        sys.stdout.write(f"boxlock {release()}\n")
        parser.exit(0)


def _width(text: str) -> int:
    return _between(text, 20, 1000, "columns")


def _seconds(text: str) -> int:
    return _between(text, 1, 600, "seconds")


def _more(text: str) -> int:
    return _between(text, 1, 40, "instruments")


def _count(text: str) -> int:
    return _between(text, 1, 500, "questions")


def _seed(text: str) -> int:
    if not text.isdecimal() or len(text) > 18:
        raise argparse.ArgumentTypeError(f"{text[:20]!r} is not a whole number of at most 18 digits")
    return int(text)


def _station_count(text: str) -> int:
    return _between(text, 1, 200, "stations")


def _minutes(text: str) -> int:
    return _between(text, 1, 1000, "minutes")


def _decimal(text: str) -> float:
    try:
        number = float(text) if len(text) <= 12 else 0.0
    except ValueError:
        number = 0.0
    if not 0.1 <= number <= 1000:
        raise argparse.ArgumentTypeError(f"{text[:20]!r} is not a number of minutes from 0.1 to 1000")
    return number


def _between(text: str, low: int, high: int, unit: str) -> int:
    if not text.isdecimal() or len(text) > 6 or not low <= int(text) <= high:
        raise argparse.ArgumentTypeError(f"{text[:20]!r} is not a number of {unit} from {low} to {high}")
    return int(text)
