from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.station.rig import Rig, Time

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import SerialLine


@pytest.fixture
def rig(tmp_path: Path, serial_line: SerialLine) -> Rig:
    """A station that is not started yet."""
    return Rig(tmp_path, serial_line, Time())
