"""Which radios in reach may be scales, on bleak's real BlueZ backend."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from drivers.ble_near import uarts_near, weight_scales_near
from scaled.core.errors import LinkRefused
from tests.air import ADDRESS, forget

if TYPE_CHECKING:
    from tests.air import Air

OTHER = "C0:FF:EE:00:00:02"
LISTEN_S = 2.0


async def test_scales_are_told_apart_by_their_services(air: Air) -> None:
    air.scale()
    air.scale("ascii-stream", OTHER)
    assert [device.name for device in await weight_scales_near(LISTEN_S)] == [ADDRESS]
    assert [device.name for device in await uarts_near(LISTEN_S)] == [OTHER]


async def test_without_a_radio_it_is_said_why(air: Air, monkeypatch: pytest.MonkeyPatch) -> None:
    air.radio.power(False)
    for near in (weight_scales_near, uarts_near):
        with pytest.raises(LinkRefused, match="Bluetooth: the Bluetooth radio is off; switch"):
            await near(LISTEN_S)
    await forget()
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", "unix:path=/nowhere/bus")
    for near in (weight_scales_near, uarts_near):
        with pytest.raises(LinkRefused, match="Bluetooth: the Bluetooth service is not running"):
            await near(LISTEN_S)
