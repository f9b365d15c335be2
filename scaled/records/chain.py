"""The hash chain: what makes an edit, a gap or a swap in the journal visible.

A record's ``hash`` is the SHA-256, in hexadecimal, of its canonical form: a JSON array without
white space, in UTF-8, of ::

    [previous, seq, session, build, t, recorded_at, kind, body]

where ``previous`` is the hash of the record before (64 zeros before the first) and ``body`` is
the stored text itself. Raw readings are covered through their own SHA-256 inside the body.

A chain cannot show that its tail was cut off, or that all of it was written anew: for that,
note its head (count and hash) elsewhere and compare it later.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from enum import StrEnum
from hashlib import sha256
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

GENESIS: Final = "0" * 64
"""What the first record follows."""

READINGS: Final = "readings"
"""Kind of the records that carry a compressed chunk of raw readings."""


@dataclass(frozen=True, slots=True)
class Record:
    """One stored record.

    Attributes:
        seq: Place in the journal, from 1 without gaps.
        session: Id of the session it belongs to.
        build: Count from 1 within the session; 0 when it belongs to none.
        t: Time of the reading that caused it, s; None when none did.
        recorded_at: Wall clock, RFC 3339 in UTC with milliseconds.
        kind: Name of the event, or of what else is recorded.
        body: One JSON object.
        previous: Hash of the record before.
        hash: Its own hash; "" until it is sealed.
        chunk: Compressed readings; None when it has none, or when they were not asked for.
    """

    seq: int
    session: str
    build: int
    t: float | None
    recorded_at: str
    kind: str
    body: str
    previous: str
    hash: str = ""
    chunk: bytes | None = None


class Flaw(StrEnum):
    """What is wrong at one place of the chain."""

    EDITED = "edited"
    GAP = "gap"
    REORDERED = "reordered"
    DAMAGED = "damaged"
    CUT = "cut"


@dataclass(frozen=True, slots=True)
class Problem:
    """One place where the chain does not hold; ``str()`` is the line a person reads."""

    seq: int
    flaw: Flaw
    reason: str

    def __str__(self) -> str:
        return f"record {self.seq}: {self.flaw}: {self.reason}"


@dataclass(frozen=True, slots=True)
class Finding:
    """What a walk along the chain found: its head, and problems in order of place."""

    count: int
    head: str
    problems: tuple[Problem, ...]


def canonical(record: Record) -> bytes:
    """The bytes that the record's hash covers."""
    fields = (
        record.previous,
        record.seq,
        record.session,
        record.build,
        record.t,
        record.recorded_at,
        record.kind,
        record.body,
    )
    # A tampered file may hold bytes where text belongs: spelled so that no honest record is
    # spelled the same.
    text = json.dumps(
        fields, ensure_ascii=False, separators=(",", ":"), default=lambda b: [str(b)]
    )
    return text.encode("utf-8", "backslashreplace")


def record_hash(record: Record) -> str:
    """The hash that the record should have."""
    return sha256(canonical(record)).hexdigest()


def seal(record: Record) -> Record:
    """The record with its hash."""
    return replace(record, hash=record_hash(record))


def chunk_hash(chunk: bytes) -> str:
    """What a body says of its chunk."""
    return sha256(chunk).hexdigest()


def chunk_holds(record: Record) -> bool:
    """Whether a record, itself true to its hash, has the chunk that its body tells of."""
    if record.kind != READINGS:
        return record.chunk is None
    try:
        stored = json.loads(record.body)["sha256"]
    except (ValueError, KeyError, TypeError):  # a forger's, for ours always say it
        return False
    return isinstance(record.chunk, bytes) and chunk_hash(record.chunk) == stored


def verify(records: Iterable[Record], noted: str | None = None) -> Finding:
    """Walk a whole journal and find every place where it does not hold.

    Args:
        records: All of them with their chunks, in order of ``seq``.
        noted: A head hash noted earlier, which must be found on the way.
    """
    problems: list[Problem] = []
    last = _Place(0, GENESIS, GENESIS)
    count, seen = 0, noted in {None, GENESIS}
    for count, record in enumerate(records, 1):  # noqa: B007 -- the last count is the result
        computed = record_hash(record)
        problems += _problems(record, computed, last)
        last = _Place(record.seq, record.hash, computed)
        seen = seen or record.hash == noted
    if not seen:
        reason = f"no record up to here has the hash {noted}: later ones were cut off or rewritten"
        problems.append(Problem(last.seq, Flaw.CUT, reason))
    return Finding(count, last.hash, tuple(problems))


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a walk stands: the last record's place, stored hash and computed hash."""

    seq: int
    hash: str
    computed: str


def _problems(record: Record, computed: str, last: _Place) -> Iterator[Problem]:
    if record.seq > last.seq + 1:
        reason = f"nothing between record {last.seq} and this one"
        yield Problem(record.seq, Flaw.GAP, reason)
    # When the record before was edited it is reported there; this one may still follow it.
    elif record.seq <= last.seq or record.previous not in {last.hash, last.computed}:
        reason = f"does not follow record {last.seq}: moved, or one of the two was changed"
        yield Problem(record.seq, Flaw.REORDERED, reason)
        return
    if computed != record.hash:
        yield Problem(record.seq, Flaw.EDITED, f"this {record.kind} does not match its hash")
    elif not chunk_holds(record):
        yield Problem(record.seq, Flaw.DAMAGED, "its raw readings do not match their hash")
