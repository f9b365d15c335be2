"""The drivers' public door, as installed: needs the project installed, editable or not."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from drivers import hid_weighing, weight_scale_service
from scaled.core.errors import ConfigError
from scaled.protocol import LineSettings, driver_names, load_driver
from simulators.wire import WIRES

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def third_party(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another installed package that brings drivers, most of them broken."""
    (tmp_path / "thirdparty.py").write_text(
        "from scaled.protocol import Driver\nDRIVER = Driver('mine', lambda: None, lambda: None)\n"
    )
    metadata = tmp_path / "thirdparty-1.0.dist-info"
    metadata.mkdir()
    (metadata / "METADATA").write_text("Metadata-Version: 2.1\nName: thirdparty\nVersion: 1.0\n")
    (metadata / "entry_points.txt").write_text(
        "[scaled.drivers]\n"
        "a-third-one = thirdparty:DRIVER\n"
        "no-driver = thirdparty:Driver\n"
        "no-module = nothere:DRIVER\n"
        "no-name = thirdparty:NOTHERE\n"
    )
    monkeypatch.syspath_prepend(tmp_path)


def test_our_formats_enter_by_the_public_door() -> None:
    assert set(WIRES) <= set(driver_names())
    assert load_driver("weight-scale-service") is weight_scale_service.DRIVER
    assert load_driver("ascii-poll").poll is not None
    assert load_driver("ascii-stream").poll is None
    assert load_driver("hid-weighing") is hid_weighing.DRIVER
    assert load_driver("decimal-comma").line == LineSettings(4800, "7E1")


def test_listing_loads_no_driver() -> None:
    script = (
        "import sys; from scaled.protocol import driver_names; print(*driver_names());"
        "slow = {'drivers.described', 'drivers.links', 'pydantic', 'serial', 'bleak'};"
        "print(*slow & sys.modules.keys())"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], check=False, capture_output=True, text=True
    )
    assert result.stderr == ""
    assert result.stdout == f"{' '.join(driver_names())}\n\n"


@pytest.mark.usefixtures("third_party")
def test_a_third_partys_format_enters_by_the_same_door() -> None:
    assert "a-third-one" in driver_names()
    assert load_driver("a-third-one").summary == "mine"


@pytest.mark.usefixtures("third_party")
@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("no-driver", "the entry point thirdparty:Driver is not a Driver"),
        ("no-module", "the scale format cannot be loaded: No module named 'nothere'"),
        (
            "no-name",
            "the scale format cannot be loaded: module 'thirdparty' has no attribute 'NOTHERE'",
        ),
        (
            "morse",
            "no such scale format; installed: {}",
        ),
    ],
)
def test_a_format_that_cannot_be_had_gives_one_clear_line(name: str, reason: str) -> None:
    with pytest.raises(ConfigError) as caught:
        load_driver(name)
    assert str(caught.value) == f"{name}: {reason.format(', '.join(driver_names()))}"
