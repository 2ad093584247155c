"""What a server that does not do as asked is told to the user as: a status of HTTP -> an error with a code."""

from __future__ import annotations

import time
from collections.abc import Mapping

from kg.errors import QueryError
from kg.store.address import PASSWORD, TOKEN, USER, hide_credentials
from kg.store.web import Link, Reply

_STOPPED = "Ask for less: name more of the terms, or add a LIMIT. The server has a limit of its own."


def refusal(link: Link, reply: Reply, service: str) -> QueryError:
    """The error for a reply whose status is none of success. ``service``: "query" or "graph store", for the hints."""
    name, status = link.name, reply.status
    said = _said(link, reply)
    if 300 <= status < 400:
        where = hide_credentials(link.address.hide(reply.headers.get("location", "")))
        where = f" to {_plain(where.partition('?')[0])[:200]}" if where else ""
        hint = "It is not followed. If you trust that address, give it instead."
        return QueryError("BL-S09", f"{name} points elsewhere{where} (HTTP {status})", hint=hint)
    if status in (401, 403):
        had = "refused the credentials" if link.address.authorization else "asks for credentials"
        hint = f"Set {USER} and {PASSWORD}, or {TOKEN}; they may lack the right to do this."
        return QueryError("BL-S08", f"{name} {had} (HTTP {status})", hint=hint)
    if status in (404, 410):
        hint = f"Give the address of its {service} service, such as {_example(link, service)}."
        return QueryError("BL-S09", f"{name} has nothing at this address (HTTP {status})", hint=hint)
    if status in (405, 406, 415, 501):
        what = "a query sent by POST" if service == "query" else "being written to"
        hint = f"Give the address of its {service} service; it may also allow reading only."
        return QueryError("BL-S09", f"{name} does not take {what} (HTTP {status}){said}", hint=hint)
    if status in (408, 504):
        return QueryError("BL-S07", f"{name} stopped because it took too long (HTTP {status})", hint=_STOPPED)
    if status in (429, 503):
        wait = _seconds(reply.headers)
        hint = f"Try again in {wait:,} seconds." if wait else "Try again later."
        return QueryError("BL-S09", f"{name} is busy or not ready (HTTP {status})", hint=hint)
    hint = "See the log of the server, or ask whoever runs it."
    return QueryError("BL-S09", f"{name} failed (HTTP {status}){said}", hint=hint)


def not_read(link: Link, reply: Reply) -> QueryError:
    """The error for a query that the server could not parse (HTTP 400)."""
    return QueryError("BL-S01", f"the query does not parse{_said(link, reply) or f': {link.name} refused it'}")


def wrong_type(link: Link, reply: Reply, wanted: str, service: str) -> QueryError:
    """The error for an answer of another media type."""
    what = "a web page" if reply.kind in ("text/html", "application/xhtml+xml") else _plain(reply.kind)[:80] or "no media type"
    hint = f"Give the address of its {service} service, such as {_example(link, service)}."
    return QueryError("BL-S10", f"{link.name} answered with {what} instead of {wanted}", hint=hint)


def _example(link: Link, service: str) -> str:
    return f"{link.address.scheme}://{link.address.authority}/{'query' if service == 'query' else 'store'}"


def _said(link: Link, reply: Reply) -> str:
    """What the server says of it, if it says so in plain text, on one line without secrets."""
    if reply.kind != "text/plain":
        return ""
    text = _plain(link.address.hide(reply.body[:2_000].decode("utf-8", "replace")))
    return f": {text[:300]}" if text else ""


def _plain(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def _seconds(headers: Mapping[str, str]) -> int:
    """What Retry-After says, in seconds from now; 0 if nothing that can be read."""
    given = headers.get("retry-after", "").strip()
    if given.isdecimal() and len(given) < 7:
        return int(given)
    from email.utils import parsedate_to_datetime

    try:
        return max(0, round(parsedate_to_datetime(given).timestamp() - time.time()))
    except (ValueError, TypeError, OverflowError):
        return 0
