"""Captures of wire formats give the frames they must; every shipped format has one."""

from __future__ import annotations

import pytest

from drivers.shelf import SHELF
from tests.drivers.capturing import FOLDER, SIMULATED, capture, frames_told, names
from tests.drivers.format_table import BEGIN, END, README, table


@pytest.mark.parametrize("name", names())
def test_a_capture_gives_its_frames(name: str) -> None:
    assert frames_told(name) == (FOLDER / f"{name}.frames").read_text()


def test_every_described_format_has_a_capture_that_says_where_it_comes_from() -> None:
    captures = [capture(name) for name in names()]
    assert {one.notes["format"] for one in captures} >= {*SHELF.names(), *SIMULATED}
    assert all(one.notes["provenance"] for one in captures)


def test_readmes_table_is_made_of_them() -> None:
    _, _, rest = README.read_text().partition(BEGIN)
    written, end, _ = rest.partition(END)
    assert end
    assert written == table({name: capture(name) for name in names()})
