"""Whatever is done to a stored journal, it is found."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import astuple, replace
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scaled.core.errors import JournalError
from scaled.records.chain import seal
from scaled.records.export import FORMATS, export_lines
from scaled.records.query import Selection
from scaled.records.reader import Records

COUNT = 18
TEXTS = ("session", "recorded_at", "kind", "body", "previous", "hash")
NUMBERS = ("build", "t")

FLIPS = st.tuples(st.integers(0), st.integers(1, 255))

Tamper = Callable[..., None]

# The journal that each example copies is never changed itself.
unchanged_journal = settings(
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
)


@contextmanager
def copied(path: Path) -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as folder:
        yield Path(shutil.copy(path, folder))


def holds(path: Path) -> bool:
    """Whether the journal can be read and verifies."""
    try:
        with Records.open(path) as records:
            return not records.verify().problems
    except JournalError:
        return False


def exported(path: Path) -> list[str]:
    with Records.open(path) as records:
        return [line for form in FORMATS for line in export_lines(records, form, Selection())]


def stored(path: Path, column: str, seq: int) -> bytes:
    with closing(sqlite3.connect(path)) as db:
        query = f"SELECT CAST({column} AS BLOB) FROM record WHERE seq = ?"  # noqa: S608
        (value,) = db.execute(query, (seq,)).fetchone()
        return bytes(value)


def flipped(data: bytes, flip: tuple[int, int]) -> bytes:
    """The data with some bits of one byte changed."""
    place, change = flip
    edited = bytearray(data)
    edited[place % len(data)] ^= change
    return bytes(edited)


@unchanged_journal
@given(seq=st.integers(1, COUNT), column=st.sampled_from(TEXTS), flip=FLIPS)
def test_any_byte_edited_in_a_text_is_found(
    filled: Path, tamper: Tamper, seq: int, column: str, flip: tuple[int, int]
) -> None:
    with copied(filled) as path:
        text = flipped(stored(path, column, seq), flip)
        tamper(
            path,
            f"UPDATE record SET {column} = CAST(? AS TEXT) WHERE seq = ?",  # noqa: S608
            text,
            seq,
        )

        assert not holds(path)


@unchanged_journal
@given(seq=st.sampled_from((2, 10)), flip=FLIPS)
def test_any_byte_edited_in_the_readings_is_found(
    filled: Path, tamper: Tamper, seq: int, flip: tuple[int, int]
) -> None:
    with copied(filled) as path:
        chunk = flipped(stored(path, "chunk", seq), flip)
        tamper(path, "UPDATE record SET chunk = ? WHERE seq = ?", chunk, seq)

        assert not holds(path)


@unchanged_journal
@given(
    seq=st.integers(1, COUNT),
    column=st.sampled_from(NUMBERS),
    # A text of digits would be turned back into the very number by the column's type.
    value=st.one_of(
        st.integers(100, 2**60), st.floats(100.5, 1e12), st.text(alphabet="ab é", max_size=3)
    ),
)
def test_any_number_edited_is_found(
    filled: Path, tamper: Tamper, seq: int, column: str, value: object
) -> None:
    with copied(filled) as path:
        tamper(path, f"UPDATE record SET {column} = ? WHERE seq = ?", value, seq)  # noqa: S608

        assert not holds(path)


@unchanged_journal
@given(seq=st.integers(1, COUNT - 1))
def test_any_row_deleted_before_the_last_is_found(filled: Path, tamper: Tamper, seq: int) -> None:
    with copied(filled) as path:
        tamper(path, "DELETE FROM record WHERE seq = ?", seq)

        assert not holds(path)


@unchanged_journal
@given(pair=st.lists(st.integers(1, COUNT), min_size=2, max_size=2, unique=True))
def test_any_two_rows_swapped_are_found(filled: Path, tamper: Tamper, pair: list[int]) -> None:
    with copied(filled) as path:
        first, second = pair
        for old, new in ((first, 0), (second, first), (0, second)):
            tamper(path, "UPDATE record SET seq = ? WHERE seq = ?", new, old)

        assert not holds(path)


@unchanged_journal
@given(place=st.one_of(st.integers(-(2**63) + 1, 0), st.integers(COUNT + 1, 2**63 - 1)))
def test_any_row_slipped_in_is_found(filled: Path, tamper: Tamper, place: int) -> None:
    with copied(filled) as path:
        with Records.open(path) as records:
            forged = seal(replace(records.at(1), seq=place, session="forged"))
        marks = ", ".join("?" * len(astuple(forged)))
        tamper(path, f"INSERT INTO record VALUES ({marks})", *astuple(forged))  # noqa: S608

        assert not holds(path)


@settings(parent=unchanged_journal, max_examples=300)
@given(flip=FLIPS)
def test_any_byte_of_the_file_is_found_or_changes_nothing_that_is_read(
    filled: Path, flip: tuple[int, int]
) -> None:
    with copied(filled) as path:
        path.write_bytes(flipped(path.read_bytes(), flip))

        assert not holds(path) or exported(path) == exported(filled)
