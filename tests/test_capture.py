from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.capture import Capture, Chunk, all_bytes, capture_text, parse_capture, read_capture
from scaled.core.errors import RecordingError

if TYPE_CHECKING:
    from pathlib import Path

chunks = st.builds(
    Chunk, st.integers(0, 10**6).map(lambda ms: ms / 1000), st.binary(min_size=1, max_size=40)
)


@given(st.lists(chunks, min_size=1).map(lambda some: sorted(some, key=lambda one: one.t)))
def test_any_bytes_read_back(some: list[Chunk]) -> None:
    capture = Capture(tuple(some), {"format": "ascii-stream", "provenance": "made up"})
    text = capture_text(capture)
    assert parse_capture(text, "text") == capture
    assert text.isascii()
    assert not [line for line in text.split("\n") if line.endswith(" ")]
    assert all_bytes(capture.chunks) == b"".join(one.data for one in some)


def test_is_written_to_be_read_by_people() -> None:
    capture = Capture((Chunk(0.1, b" \x02S+\\\xff\r\n "),), {"case": "two\nlines"})
    assert capture_text(capture) == "# case: two lines\n0.100 \\x20\\x02S+\\\\\\xff\\r\\n\\x20\n"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "no capture: nothing in it was sent by a scale"),
        ("# format: x\n\n", "no capture: nothing in it was sent by a scale"),
        ("0.1", r'line 1: "0.1" is no piece; write one such as 0.104 ST,GR,+00123.50  g\r\n'),
        ("0.1 \\q", r'line 1: "\q": escape it as \xNN'),
        ("0.1 é", r'line 1: "é": escape it as \xNN'),
        ("0.2 a\n0.1 b", "line 2: the time runs backwards"),
    ],
)
def test_what_is_wrong_is_one_line(text: str, reason: str) -> None:
    with pytest.raises(RecordingError) as caught:
        parse_capture(text, "my.capture")
    assert str(caught.value) == f"my.capture: {reason}"


def test_a_file_that_is_none_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "binary").write_bytes(b"\xff\xfe")
    for path, reason in (
        (tmp_path / "missing", "cannot be read: No such file or directory"),
        (tmp_path / "binary", "no capture: not text"),
    ):
        with pytest.raises(RecordingError) as caught:
            read_capture(path)
        assert str(caught.value) == f"{path}: {reason}"
