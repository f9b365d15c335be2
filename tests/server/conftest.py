from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.server.house import HouseRig

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import SerialLine


@pytest.fixture
def house(tmp_path: Path, serial_line: SerialLine) -> HouseRig:
    """A daemon that is not started yet."""
    return HouseRig(tmp_path, serial_line)
