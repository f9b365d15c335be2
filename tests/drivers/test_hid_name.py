"""Names of USB weighing devices that stay, from a list like the kernel's."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from drivers.hid_link import open_hid_link
from drivers.hid_name import hid_path, lasting_hid_name, steady_hid_name
from drivers.hid_weighing import DRIVER
from scaled.core.errors import LinkAbsent, LinkRefused
from scaled.protocol import LineSettings

if TYPE_CHECKING:
    from pathlib import Path

PLUGGED = (
    ("A1", "usb-0000:00:14.0-1/input0"),
    ("", "usb-0000:00:14.0-2/input0"),
    ("0001", "usb-0000:00:14.0-3/input0"),
    ("0001", "usb-0000:00:14.0-4/input0"),
    ("", ""),
)
NAMES = (
    "usb:A1",
    "usb:usb-0000:00:14.0-2/input0",
    "usb:usb-0000:00:14.0-3/input0",
    "usb:usb-0000:00:14.0-4/input0",
    "/dev/hidraw4",
)


def plug(nodes: Path, number: int, serial: str, socket: str) -> None:
    folder = nodes / f"hidraw{number}" / "device"
    folder.mkdir(parents=True)
    (folder / "uevent").write_text(
        f"DRIVER=hid-generic\nHID_ID=0003:0000FFFF:00000001\nHID_NAME=a scale\n"
        f"HID_PHYS={socket}\nHID_UNIQ={serial}\n"
    )


@pytest.fixture
def nodes(tmp_path: Path) -> Path:
    """A system with some scales."""
    for number, (serial, socket) in enumerate(PLUGGED):
        plug(tmp_path, number, serial, socket)
    (tmp_path / "hidraw9").mkdir()  # one that goes at this moment
    return tmp_path


def test_each_has_its_serial_number_or_else_its_socket(nodes: Path) -> None:
    for number, name in enumerate(NAMES):
        assert lasting_hid_name(f"/dev/hidraw{number}", nodes) == name
        assert hid_path(name, nodes) == f"/dev/hidraw{number}"


def test_the_same_scale_is_opened_under_another_number(tmp_path: Path) -> None:
    plug(tmp_path, 3, *PLUGGED[0])
    plug(tmp_path, 0, *PLUGGED[1])
    assert hid_path("usb:A1", tmp_path) == "/dev/hidraw3"


def test_one_without_a_serial_number_of_its_own_may_come_back_at_another_socket(
    nodes: Path,
) -> None:
    steady = [steady_hid_name(f"/dev/hidraw{number}", nodes) for number in range(len(NAMES))]
    assert steady == ["usb:A1", *(f"/dev/hidraw{number}" for number in (1, 2, 3, 4))]


def test_names_that_are_no_node_stay(nodes: Path) -> None:
    for name in ("/dev/hidraw9", "/dev/hidraw77", "usb:A1"):
        assert lasting_hid_name(name, nodes) == name
    assert lasting_hid_name("/dev/hidraw0", nodes / "nowhere") == "/dev/hidraw0"


def test_what_is_not_there_or_there_twice_is_one_line(nodes: Path) -> None:
    for name in ("usb:B2", "usb:"):
        with pytest.raises(LinkAbsent) as absent:
            hid_path(name, nodes)
        assert str(absent.value) == (
            f"{name}: no USB device of this name is plugged in; "
            "plug it in, or see what is there with: scaled scale find"
        )
    with pytest.raises(LinkRefused, match=r"several devices .*: /dev/hidraw2, /dev/hidraw3"):
        hid_path("usb:0001", nodes)


async def test_the_driver_goes_by_them() -> None:
    assert DRIVER.steady is steady_hid_name
    with pytest.raises(LinkAbsent, match="usb:no-such: no USB device of this name"):
        await open_hid_link("usb:no-such", LineSettings())
