"""Bluetooth LE peripherals in reach that may be scales, by the services they say they have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drivers.ble_refusal import refusal_reported
from drivers.ble_scan import peripherals_near
from drivers.uart_service import is_standard
from drivers.weight_scale_service import SERVICE
from scaled.protocol import Device

if TYPE_CHECKING:
    from collections.abc import Callable


async def weight_scales_near(within_s: float) -> list[Device]:
    """Peripherals with the Weight Scale Service; raises LinkRefused without a radio."""
    return await _near(within_s, lambda uuids: SERVICE in uuids)


async def uarts_near(within_s: float) -> list[Device]:
    """Peripherals with a service of no standard, maybe a line; raises as the other."""
    return await _near(within_s, lambda uuids: any(not is_standard(uuid) for uuid in uuids))


async def _near(within_s: float, fits: Callable[[list[str]], bool]) -> list[Device]:
    with refusal_reported("Bluetooth"):
        heard = await peripherals_near(within_s)
    return [
        Device(device.address, f"radio, {said.rssi} dBm")
        for device, said in heard
        if fits(said.service_uuids)
    ]
