"""Run a raw SPARQL query in a child process that is killed at its limit.

A query cannot be stopped inside a process: the library does not look at signals while it counts or walks a
path, and some queries end the process itself. So the query is checked (``kg.store.guard``), then runs in a
child: a fork that shares the loaded store where that is safe (POSIX, one thread), else a fresh interpreter
that loads the quads again. In the child, memory and processor time are limited, and no file or socket can be
opened once the data is loaded, so that even a query the guard misjudged cannot reach the network.

What the child says, as lines of UTF-8: ``ready`` when the data is loaded; then one JSON array for each row (a
cell is null or [kind, value, datatype, lang]) or triple; last a JSON object with the outcome. No outcome
means that it died.
"""

from __future__ import annotations

import faulthandler
import json
import math
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from threading import Event, Thread, active_count
from typing import IO, Any

import pyoxigraph as ox

from kg.errors import BoxlockError, CatalogueError, QueryError
from kg.store.base import Cell, plain
from kg.store.embedded import EmbeddedStore, ntriples, rows, variables
from kg.store.guard import Checked, QueryForm, check

try:
    import resource
except ImportError:  # Windows has no limits of this kind; the time limit holds there too
    resource = None  # type: ignore[assignment]

START_SECONDS = 60.0  # for the interpreter and the data, before the clock of the query starts
_SLACK_BYTES = 1_000_000  # the child's outcome beyond ``max_bytes``


@dataclass(frozen=True, slots=True)
class RawResult:
    """What a raw query gave.

    SELECT fills ``variables`` and ``rows`` (as ``kg.store.base.Rows``; sorted if the query has no ORDER BY).
    CONSTRUCT and DESCRIBE fill ``text`` with sorted N-Triples, ASK with ``true`` or ``false``. ``truncated``
    says that a limit on rows or bytes was met and that there is more; nothing found is an empty result that
    is not truncated.
    """

    form: QueryForm
    variables: tuple[str, ...] = ()
    rows: list[dict[str, Cell]] = field(default_factory=list)
    truncated: bool = False
    text: str = ""


@dataclass(frozen=True, slots=True)
class _Job:
    """What the child needs to know. ``union``: the default graph is all graphs together."""

    text: str
    union: bool
    seconds: float
    max_rows: int
    max_bytes: int
    memory_mb: int


def run_raw(
    source: EmbeddedStore | Path | str,
    text: str,
    *,
    seconds: float = 10,
    max_rows: int = 10_000,
    max_bytes: int = 20_000_000,
    memory_mb: int = 2048,
) -> RawResult:
    """Check and run a raw query over a loaded store, or over an N-Quads file.

    The default graph is the union of all graphs, unless the query names graphs with FROM; GRAPH sees each
    graph alone. ``seconds`` counts from the moment the data is loaded; ``max_rows`` counts rows or triples;
    ``max_bytes`` is the size of the result on its way to this process; ``memory_mb`` is what the query may
    need beyond the data.

    Raises QueryError: BL-S01 to BL-S03 as ``kg.store.guard.check``; BL-S04 if the time is over; BL-S05 if the
    store fails or the query ends the child (memory, stack). CatalogueError if the file cannot be used.
    """
    checked = check(text)
    job = _Job(checked.text, not checked.names_graphs, seconds, max_rows, max_bytes, memory_mb)
    if isinstance(source, EmbeddedStore) and source.closed:
        raise QueryError("BL-S05", f"{source.name} is closed")
    # Only the thread that forks lives on in the child; a lock that another one holds would stay locked for
    # ever.
    safe = hasattr(os, "fork") and active_count() == 1
    try:
        child = _fork(source, job) if safe and isinstance(source, EmbeddedStore) else _spawn(source, job)
    except OSError as fault:
        raise QueryError("BL-S05", f"no process could be started for the query: {plain(fault)}") from fault
    lines, status = child.run(job)
    if not lines or not isinstance(lines[-1], dict):
        raise _death(status, job)
    return _result(checked, lines)


def _result(checked: Checked, lines: list[Any]) -> RawResult:
    outcome = lines.pop()
    if "syntax" in outcome:
        raise checked.syntax_error(outcome["syntax"])
    if "error" in outcome:
        code, message, hint = outcome["error"]
        raise (CatalogueError if code.startswith("BL-C") else QueryError)(code, message, hint=hint)
    truncated = outcome["truncated"]
    if checked.form is QueryForm.ASK:
        return RawResult(checked.form, text="true" if outcome["answer"] else "false")
    if checked.form is not QueryForm.SELECT:
        return RawResult(checked.form, truncated=truncated, text="".join(sorted(lines)))
    names = tuple(outcome["variables"])
    if not checked.ordered:
        lines.sort(key=lambda row: [cell or [] for cell in row])
    cells = [{n: Cell(*cell) for n, cell in zip(names, row, strict=True) if cell} for row in lines]
    return RawResult(checked.form, names, cells, truncated)


def _death(status: int | None, job: _Job) -> QueryError:
    """The error for a child without an outcome. ``status``: negative for a signal, None if killed here."""
    if status is None or status == -getattr(signal, "SIGXCPU", 0):
        hint = "Ask for less: name more of the terms, or add a LIMIT to an inner SELECT."
        return QueryError("BL-S04", f"the query was stopped after {job.seconds:g} seconds", hint=hint)
    hint = f"It may have needed more than {job.memory_mb:,} MB of memory, or be nested too deeply."
    return QueryError("BL-S05", "the query ended the process it ran in", hint=hint)


# --- this side: a child and how to talk to it --------------------------------------


@dataclass(slots=True)
class _Child:
    """A running child: where its words come from, how to kill it, and how to wait for its exit status."""

    output: IO[bytes]
    kill: Callable[[], None]
    wait: Callable[[], int]
    send: Callable[[], None]  # gives the child its data; may block, so it is called beside the clock

    def run(self, job: _Job) -> tuple[list[Any], int | None]:
        """All the child said, decoded, and its exit status (None if killed here). It is gone on return."""
        ready = Event()
        said: list[bytes] = []
        listener = Thread(target=self._listen, args=(ready, said, job.max_bytes + _SLACK_BYTES), daemon=True)
        over = True
        try:
            listener.start()
            if ready.wait(START_SECONDS):
                listener.join(job.seconds)
                over = listener.is_alive()
        finally:
            # Killing a child that has said all is harmless, but its exit status must be its own.
            if over:
                self.kill()
            status = self.wait()
            listener.join()
            self.output.close()
        if over:
            return [], None
        try:
            return [json.loads(line) for line in said], status
        except ValueError:  # cut off in the middle of a line
            return [], status

    def _listen(self, ready: Event, said: list[bytes], most: int) -> None:
        try:
            self.send()
            first = self.output.readline()
            if first != b"ready\n":  # died, or could not load
                said.append(first)
            ready.set()
            said += self.output.read(most).splitlines()
            if self.output.read(1):  # more than it may say: the child does not keep its own bounds
                self.kill()
        except OSError:  # it died while it was being sent its data
            pass
        finally:
            ready.set()


def _fork(store: EmbeddedStore, job: _Job) -> _Child:
    ours, theirs = os.pipe()
    pid = os.fork()
    if pid == 0:
        # Nothing of the parent may run on in the child: no handler, no "finally", no test runner.
        try:
            os.close(ours)
            _hush()
            with os.fdopen(theirs, "wb") as output:
                _serve(lambda: store, job, output)
        finally:
            os._exit(0)
    os.close(theirs)
    return _Child(
        os.fdopen(ours, "rb"),
        kill=lambda: os.kill(pid, signal.SIGKILL),
        wait=lambda: os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]),
        send=lambda: None,  # it has everything
    )


def _spawn(source: EmbeddedStore | Path | str, job: _Job) -> _Child:
    # A loaded store is sent as it is: its file may have been rebuilt since, and one run has one set of
    # data.
    quads, path = b"", ""
    if isinstance(source, EmbeddedStore):
        quads = source.to_quads()
    else:
        path = str(Path(source).absolute())
    request = {"job": asdict(job), "path": path}
    root = str(Path(__file__).resolve().parents[2])
    search = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH", ""))))
    process = subprocess.Popen(
        [sys.executable, "-P", "-m", "kg.store.sandbox"],  # -P: never import from the working directory
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": search},
    )
    stdin, stdout = process.stdin, process.stdout
    assert stdin is not None and stdout is not None

    def send() -> None:
        with stdin:
            stdin.write(json.dumps(request).encode() + b"\n" + quads)

    return _Child(stdout, kill=process.kill, wait=process.wait, send=send)


# --- the other side: the child -----------------------------------------------------


def main() -> None:
    """The child as a fresh interpreter: one request on standard input, the answer on standard output."""
    request = json.loads(sys.stdin.buffer.readline())
    quads = sys.stdin.buffer.read()
    output = os.fdopen(os.dup(1), "wb")
    _hush()
    source = Path(request["path"]) if request["path"] else quads
    with output:
        _serve(lambda: EmbeddedStore.from_quads(source), _Job(**request["job"]), output)


def _serve(load: Callable[[], EmbeddedStore], job: _Job, output: IO[bytes]) -> None:
    """Load, limit, run, and say what came of it; never raises, unless the pipe is gone."""
    try:
        store = load()
        output.write(b"ready\n")
        output.flush()
        _limit(job)
        outcome = _answer(store, job, output)
    except SyntaxError as fault:
        outcome = {"syntax": str(fault)}
    except BoxlockError as fault:
        outcome = {"error": [fault.code, fault.message, fault.hint]}
    except MemoryError:
        outcome = {"error": ["BL-S05", f"the query needs more than {job.memory_mb:,} MB of memory", ""]}
    except BaseException as fault:  # a panic of the library is no Exception
        outcome = {"error": ["BL-S05", f"the store could not answer: {plain(fault)}", ""]}
    output.write(_line(outcome))


def _answer(store: EmbeddedStore, job: _Job, output: IO[bytes]) -> dict[str, Any]:
    """Run the query and write its rows, within the bounds; the outcome to say last."""
    result = store.query(job.text, union=job.union)
    if isinstance(result, ox.QueryBoolean):
        return {"answer": bool(result), "truncated": False}
    names = variables(result) if isinstance(result, ox.QuerySolutions) else ()
    found = _rows(result, names) if isinstance(result, ox.QuerySolutions) else _triples(result, job)
    count = size = 0
    for item in found:
        line = _line(item)
        count, size = count + 1, size + len(line)
        if count > job.max_rows or size > job.max_bytes:
            return {"variables": names, "truncated": True}
        output.write(line)
    return {"variables": names, "truncated": False}


def _rows(result: ox.QuerySolutions, names: tuple[str, ...]) -> Iterator[list[list[str] | None]]:
    for row in rows(result):
        yield [[c.kind, c.value, c.datatype, c.lang] if (c := row.get(name)) else None for name in names]


def _triples(result: ox.QueryTriples, job: _Job) -> Iterator[str]:
    """N-Triples lines. One more than may be sent, so that the caller sees that there are more."""
    taken: set[ox.Triple] = set()
    for triple in result:
        taken.add(triple)
        if len(taken) > job.max_rows:
            break
    yield from ntriples(taken).splitlines(keepends=True)


def _line(item: object) -> bytes:
    # Lines are cut at "\n" only as long as JSON escapes all other ends of line, hence ASCII.
    return json.dumps(item, separators=(",", ":")).encode("ascii") + b"\n"


def _hush() -> None:
    """Send standard output and error nowhere: a crash of the library writes there. Ctrl-C is the parent's."""
    faulthandler.disable()  # it keeps its own copy of standard error
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    nowhere = os.open(os.devnull, os.O_RDWR)
    for descriptor in (0, 1, 2):
        os.dup2(nowhere, descriptor)


def _limit(job: _Job) -> None:
    """Bound memory and processor time, and allow no new file or socket."""
    if resource is None:
        return
    used = 0
    try:
        used = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    except OSError:
        used = 0  # no such file outside Linux: the bound then holds for the data too
    # A processor limit beside the clock: it still holds if the parent dies.
    processor = math.ceil(time.process_time() + job.seconds) + 1
    bounds = {
        "RLIMIT_AS": used + job.memory_mb * 1_000_000,
        "RLIMIT_CPU": processor,
        "RLIMIT_CORE": 0,
        "RLIMIT_NOFILE": 0,
    }
    for name, bound in bounds.items():
        kind = getattr(resource, name, None)
        if kind is None:
            continue
        hard = resource.getrlimit(kind)[1]
        soft = bound if hard == resource.RLIM_INFINITY else min(bound, hard)
        try:
            resource.setrlimit(kind, (soft, hard if name == "RLIMIT_CPU" else soft))
        except (OSError, ValueError):  # some systems refuse some bounds; the clock and the kill remain
            continue


if __name__ == "__main__":
    main()
