from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from drivers.steady_name import steady_name
from scaled.protocol import load_driver

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def by_id(tmp_path: Path) -> Path:
    """Lasting names of two adapters that were numbered 0 and 1."""
    folder = tmp_path / "by-id"
    folder.mkdir()
    for number, name in enumerate(("usb-left", "usb-right")):
        (tmp_path / f"ttyUSB{number}").touch()
        (folder / name).symlink_to(f"../ttyUSB{number}")
    return folder


def test_a_numbered_line_has_its_lasting_name(by_id: Path) -> None:
    for number, name in enumerate(("usb-left", "usb-right")):
        assert steady_name(f"{by_id.parent}/ttyUSB{number}", by_id) == str(by_id / name)


def test_a_lasting_name_stays(by_id: Path) -> None:
    assert steady_name(str(by_id / "usb-left"), by_id) == str(by_id / "usb-left")


def test_without_one_or_with_two_the_given_name_stays(by_id: Path) -> None:
    left = f"{by_id.parent}/ttyUSB0"
    (by_id / "usb-same").symlink_to("../ttyUSB0")
    assert steady_name(left, by_id) == left
    other = by_id.parent / "ttyS0"
    other.touch()
    assert steady_name(str(other), by_id) == str(other)
    assert steady_name(left, by_id.parent / "no-such-folder") == left


@pytest.mark.parametrize("device", ["C0:FF:EE:00:00:01", "socket://10.0.0.7:4001", "/dev/gone"])
def test_what_is_no_line_here_keeps_its_name(by_id: Path, device: str) -> None:
    assert steady_name(device, by_id) == device


def test_described_formats_use_it() -> None:
    assert load_driver("ascii-stream").steady is steady_name
