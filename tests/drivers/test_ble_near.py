"""Which radios in reach may be scales, on bleak's real BlueZ backend."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drivers.ble_near import uarts_near, weight_scales_near
from tests.air import ADDRESS

if TYPE_CHECKING:
    import pytest

    from tests.air import Air

OTHER = "C0:FF:EE:00:00:02"
LISTEN_S = 1.0


async def test_scales_are_told_apart_by_their_services(air: Air) -> None:
    air.scale()
    air.scale("ascii-stream", OTHER)
    assert [device.name for device in await weight_scales_near(LISTEN_S)] == [ADDRESS]
    assert [device.name for device in await uarts_near(LISTEN_S)] == [OTHER]


async def test_without_a_radio_there_are_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", "unix:path=/nowhere/bus")
    assert await weight_scales_near(LISTEN_S) == []
    assert await uarts_near(LISTEN_S) == []
