from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.records.session import instant_text, parse_instant


# RFC 3339, section 5.8, with the instants as seconds since 1970-01-01T00:00:00Z.
@pytest.mark.parametrize(
    ("text", "unix_s"),
    [
        ("1985-04-12T23:20:50.52Z", 482196050.52),
        ("1996-12-19T16:39:57-08:00", 851042397),
        ("1996-12-20T00:39:57Z", 851042397),
        ("1937-01-01T12:00:27.87+00:20", -1041337172.13),
    ],
)
def test_reads_the_examples_of_rfc_3339(text: str, unix_s: float) -> None:
    assert parse_instant(text).timestamp() == unix_s


def test_writes_utc_with_milliseconds() -> None:
    # RFC 3339, section 5.8: the same instant, with its offset and in UTC.
    pacific = datetime(1996, 12, 19, 16, 39, 57, tzinfo=timezone(timedelta(hours=-8)))

    assert instant_text(pacific) == "1996-12-20T00:39:57.000Z"
    assert instant_text(datetime(1985, 4, 12, 23, 20, 50, 520_000, UTC)) == (
        "1985-04-12T23:20:50.520Z"
    )


def test_text_without_offset_is_utc() -> None:
    assert parse_instant("2026-11-04T10:15:00") == datetime(2026, 11, 4, 10, 15, tzinfo=UTC)


def test_instant_without_offset_is_refused() -> None:
    with pytest.raises(ValueError, match="offset"):
        instant_text(datetime(2026, 11, 4))  # noqa: DTZ001 -- the very thing refused


EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
INSTANTS = st.builds(
    lambda ms, offset_min: (EPOCH + timedelta(milliseconds=ms)).astimezone(
        timezone(timedelta(minutes=offset_min))
    ),
    st.integers(0, 10**13),
    st.integers(-1439, 1439),
)


@given(INSTANTS, INSTANTS)
def test_texts_sort_as_their_instants_do(first: datetime, second: datetime) -> None:
    assert parse_instant(instant_text(first)) == first
    assert (instant_text(first) < instant_text(second)) == (first < second)
