from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from hashlib import sha256
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.records.chain import (
    GENESIS,
    READINGS,
    Flaw,
    Record,
    canonical,
    chunk_hash,
    record_hash,
    seal,
    verify,
)

TEXT = st.text(st.characters(codec="utf-8"), max_size=12)


def chained(bodies: Iterable[str]) -> list[Record]:
    """A chain of portions with these bodies, every third followed by raw readings."""
    records: list[Record] = []
    for body in bodies:
        records.append(_next(records, "portion", body, None))
        if len(records) % 3 == 0:
            chunk = body.encode() + b"readings"
            said = json.dumps({"sha256": chunk_hash(chunk)})
            records.append(_next(records, READINGS, said, chunk))
    return records


def _next(records: list[Record], kind: str, body: str, chunk: bytes | None) -> Record:
    seq = len(records) + 1
    previous = records[-1].hash if records else GENESIS
    at = "2026-11-04T10:15:00.000Z"
    return seal(Record(seq, "s", 1, seq / 10, at, kind, body, previous, chunk=chunk))


@pytest.fixture
def records() -> list[Record]:
    return chained(f'{{"step":"{n}"}}' for n in range(6))


def flaws(records: Iterable[Record], noted: str | None = None) -> list[tuple[int, Flaw]]:
    return [(problem.seq, problem.flaw) for problem in verify(records, noted).problems]


def test_hash_covers_the_documented_json() -> None:
    record = Record(7, "s-1", 2, 12.3, "2026-11-04T10:15:00.000Z", "noted", '{"a":"ü"}', "ab" * 32)
    written = (
        '["abababababababababababababababababababababababababababababababab",7,"s-1",2,12.3,'
        '"2026-11-04T10:15:00.000Z","noted","{\\"a\\":\\"ü\\"}"]'
    ).encode()

    assert canonical(record) == written
    assert record_hash(record) == sha256(written).hexdigest()


def test_time_that_no_reading_caused_is_null() -> None:
    record = Record(1, "s", 0, None, "2026-11-04T10:15:00.000Z", "session_ended", "{}", GENESIS)

    assert json.loads(canonical(record))[4] is None


def test_nothing_recorded_holds() -> None:
    finding = verify([])

    assert (finding.count, finding.head, finding.problems) == (0, GENESIS, ())


def test_whole_chain_holds(records: list[Record]) -> None:
    finding = verify(records)

    assert (finding.count, finding.head, finding.problems) == (8, records[-1].hash, ())


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("session", "t"),
        ("build", 2),
        ("t", 0.9),
        ("t", None),
        ("recorded_at", "2026-11-04T10:15:00.001Z"),
        ("kind", "settled"),
        ("body", '{"step":"9"}'),
        ("body", b'{"step":"1"}'),
        ("body", '{"step":"1"}\udcff'),
        ("hash", "0" * 64),
    ],
)
def test_edit_is_found_where_it_was_made(records: list[Record], field: str, value: object) -> None:
    change: dict[str, Any] = {field: value}
    records[1] = replace(records[1], **change)

    assert flaws(records) == [(2, Flaw.EDITED)]


def test_record_hung_elsewhere_is_found(records: list[Record]) -> None:
    records[1] = replace(records[1], previous="0" * 64)

    assert flaws(records) == [(2, Flaw.REORDERED)]


def test_edit_with_a_new_hash_is_found_at_the_record_after(records: list[Record]) -> None:
    records[1] = seal(replace(records[1], body="{}"))

    assert flaws(records) == [(3, Flaw.REORDERED)]


@pytest.mark.parametrize("gone", range(7))
def test_missing_record_is_found(records: list[Record], gone: int) -> None:
    del records[gone]

    assert flaws(records) == [(gone + 2, Flaw.GAP)]


def test_missing_record_is_found_though_the_rest_was_renumbered(records: list[Record]) -> None:
    rest = [replace(record, seq=record.seq - 1) for record in records[3:]]

    assert flaws(records[:2] + rest)[0] == (3, Flaw.REORDERED)


def test_swapped_records_are_found(records: list[Record]) -> None:
    records[1], records[2] = (
        replace(records[2], seq=records[1].seq),
        replace(records[1], seq=records[2].seq),
    )

    assert flaws(records)[:2] == [(2, Flaw.REORDERED), (3, Flaw.REORDERED)]


def test_records_read_out_of_order_are_found(records: list[Record]) -> None:
    records[4:6] = reversed(records[4:6])

    assert (5, Flaw.REORDERED) in flaws(records)


@pytest.mark.parametrize("chunk", [b"other", b"", None, "text"])
def test_damaged_readings_are_found(records: list[Record], chunk: bytes | None) -> None:
    assert records[3].kind == READINGS
    records[3] = replace(records[3], chunk=chunk)

    assert flaws(records) == [(4, Flaw.DAMAGED)]


@pytest.mark.parametrize("body", ["", "{}", "[]", '{"sha256":1}'])
def test_readings_that_a_forger_wrote_are_found(records: list[Record], body: str) -> None:
    forged = seal(replace(records[3], body=body))

    assert flaws([*records[:3], forged]) == [(4, Flaw.DAMAGED)]


def test_readings_added_to_another_record_are_found(records: list[Record]) -> None:
    records[1] = replace(records[1], chunk=b"slipped in")

    assert flaws(records) == [(2, Flaw.DAMAGED)]


def test_cut_tail_is_found_by_the_head_noted_before(records: list[Record]) -> None:
    noted = records[-1].hash

    assert flaws(records[:-1]) == []
    assert flaws(records[:-1], noted) == [(7, Flaw.CUT)]


def test_chain_written_anew_is_found_by_the_head_noted_before(records: list[Record]) -> None:
    noted = records[-1].hash
    anew = chained('{"step":"better"}' for _ in range(6))

    assert flaws(anew) == []
    assert flaws(anew, noted) == [(8, Flaw.CUT)]


def test_head_noted_before_is_found_after_more_was_recorded(records: list[Record]) -> None:
    assert flaws(records, records[3].hash) == []
    assert flaws(records, GENESIS) == []


def test_problem_reads_as_one_line_naming_its_record(records: list[Record]) -> None:
    records[1] = replace(records[1], body="{}")

    assert [str(problem) for problem in verify(records).problems] == [
        "record 2: edited: this portion does not match its hash"
    ]


@given(st.lists(TEXT, max_size=12))
def test_any_chain_holds(bodies: list[str]) -> None:
    assert flaws(chained(bodies)) == []


@given(st.lists(TEXT, min_size=2, max_size=8, unique=True), st.data())
def test_any_swap_is_found(bodies: list[str], data: st.DataObject) -> None:
    records = chained(bodies)
    places = st.integers(0, len(records) - 1)
    first, second = data.draw(st.tuples(places, places).filter(lambda pair: pair[0] != pair[1]))
    swapped = list(records)
    swapped[first] = replace(records[second], seq=records[first].seq)
    swapped[second] = replace(records[first], seq=records[second].seq)

    assert flaws(swapped)


@given(st.lists(TEXT, min_size=2, max_size=8), st.data())
def test_any_deletion_before_the_tail_is_found(bodies: list[str], data: st.DataObject) -> None:
    records = chained(bodies)
    del records[data.draw(st.integers(0, len(records) - 2))]

    assert flaws(records)
