"""The Bluetooth link on bleak's real BlueZ backend, against a simulated ``org.bluez``."""

from __future__ import annotations

import asyncio
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from drivers.ble_claim import Claim
from drivers.ble_link import BleLink, Patience
from drivers.uart_service import open_uart_link
from drivers.weight_scale_service import open_weight_scale
from scaled.core.errors import LinkBusy, LinkLost, LinkRefused
from scaled.protocol import LineSettings
from simulators.gatt import Characteristic, Peripheral, Service, assigned
from tests.air import ADDRESS, forget, until
from tests.conftest import open_descriptors

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from simulators.bluez_device import Device
    from tests.air import Air

NEAR = "check that the scale is on, near, and not connected to something else"
CALM = Patience(found=20.0, connected=20.0, said=60.0, answered=20.0, taken=20.0)
"""Nothing is waited for in vain with it, however busy the machine is."""
SOON_S = 0.5
"""How long it takes with nobody there, where that is what is looked at."""


async def opened(patience: float = 60.0, address: str = ADDRESS) -> BleLink:
    return await open_weight_scale(address, LineSettings(), replace(CALM, said=patience))


async def reopened() -> BleLink:
    """Open it as soon as the change of the radio has come round."""
    async with asyncio.timeout(60):
        while True:
            try:
                return await opened()
            except LinkRefused:
                await asyncio.sleep(0)


async def refusal(address: str = ADDRESS, patience: Patience = CALM) -> str:
    with pytest.raises(LinkRefused) as caught:
        await open_weight_scale(address, LineSettings(), patience)
    return str(caught.value)


async def loss(link: BleLink) -> str:
    with pytest.raises(LinkLost) as caught:
        async with asyncio.timeout(60):
            await link.read()
    return str(caught.value)


async def test_messages_come_whole_and_in_order(air: Air) -> None:
    scale = air.scale()
    link = await opened()
    sent = [bytes([0, number % 256, number // 256]) for number in range(500)]
    for message in sent:
        scale.say(message)
    async with asyncio.timeout(60):
        assert [await link.read() for _ in sent] == sent
    await link.close()
    await until(lambda: not scale.heard)


async def test_an_address_may_be_written_in_small_letters(air: Air) -> None:
    scale = air.scale()
    link = await opened(address=ADDRESS.lower())
    scale.say(b"\0\1\0")
    assert await link.read() == b"\0\1\0"
    await link.close()


async def test_a_cancelled_read_loses_nothing(air: Air) -> None:
    scale = air.scale()
    link = await opened()
    for number in range(3):
        with pytest.raises(TimeoutError):
            async with asyncio.timeout(0.01):
                await link.read()
        scale.say(bytes([0, number, 0]))
        assert await link.read() == bytes([0, number, 0])
    await link.close()


async def test_requests_go_the_other_way(air: Air) -> None:
    scale = air.scale("ascii-poll")
    link = await open_uart_link(ADDRESS, LineSettings(), CALM)
    await link.write(b"R\r\n")
    assert scale.take() == b"R\r\n"
    scale.say(b"WS   ")
    scale.say(b"  123.5 g\r\n")
    assert await link.read() + await link.read() == b"WS     123.5 g\r\n"
    await link.close()
    with pytest.raises(LinkLost):
        await link.write(b"R\r\n")


async def test_a_scale_that_takes_nothing_does_not_hold_up_the_station(air: Air) -> None:
    scale = air.scale("ascii-poll")
    link = await open_uart_link(ADDRESS, LineSettings(), replace(CALM, taken=0.05))
    scale.stalled = True
    await link.write(b"R\r\n")
    assert scale.take() == b""
    await link.close()


def drop(scale: Device, _: Air) -> None:
    scale.disconnect()


def vanish(scale: Device, _: Air) -> None:
    scale.reachable = False
    scale.hide()


def switch_off(_: Device, air: Air) -> None:
    air.radio.power(False)


@pytest.mark.parametrize("happens", [drop, vanish, switch_off])
async def test_an_ended_connection_ends_a_waiting_read_and_whatever_follows(
    air: Air, happens: Callable[[Device, Air], None]
) -> None:
    scale = air.scale()
    link = await opened()
    asyncio.get_running_loop().call_later(0.01, happens, scale, air)
    assert await loss(link) == f"{ADDRESS}: the Bluetooth connection was lost; {NEAR}"
    assert await loss(link) == f"{ADDRESS}: the Bluetooth connection was lost; {NEAR}"
    with pytest.raises(LinkLost):
        await link.write(b"R\r\n")
    await link.close()
    await link.close()


async def test_what_was_said_before_the_connection_ended_is_still_read(air: Air) -> None:
    scale = air.scale()
    link = await opened()
    scale.say(b"\0\7\0")
    scale.disconnect()
    await until(lambda: link._over)
    assert await link.read() == b"\0\7\0"
    assert "was lost" in await loss(link)
    await link.close()


async def test_a_silent_scale_that_answers_is_there(air: Air) -> None:
    scale = air.scale()
    link = await opened(patience=0.05)
    with pytest.raises(TimeoutError):
        async with asyncio.timeout(0.5):
            await link.read()
    scale.say(b"\0\1\0")
    assert await link.read() == b"\0\1\0"
    await link.close()


async def test_a_hung_scale_is_lost_however_short_the_readers_patience(air: Air) -> None:
    scale = air.scale()
    hasty = replace(CALM, said=0.2, answered=0.2)
    link = await open_weight_scale(ADDRESS, LineSettings(), hasty)
    scale.stalled = True
    with pytest.raises(LinkLost) as caught:  # noqa: PT012 -- a reader as the station is one
        async with asyncio.timeout(60):
            while True:
                try:
                    async with asyncio.timeout(0.05):
                        await link.read()
                except TimeoutError:
                    continue
    assert str(caught.value) == f"{ADDRESS}: no longer answers over Bluetooth; {NEAR}"
    await link.close()


async def test_a_silent_scale_that_cannot_be_asked_is_lost(air: Air) -> None:
    line = Service(
        "12345678-0000-4000-8000-000000000001",
        (Characteristic("12345678-0000-4000-8000-000000000002", ("notify", "write")),),
    )
    scale = air.radio.add(Peripheral(ADDRESS, "line", (line,)))
    link = await open_uart_link(ADDRESS, LineSettings(), replace(CALM, said=0.2))
    scale.say(b"1")
    await until(lambda: bool(link._heard))
    assert await link.read() == b"1"
    assert await loss(link) == f"{ADDRESS}: said nothing for 0.2 s; {NEAR}"
    await link.close()


async def test_a_bluetooth_service_that_died_is_noticed_and_found_again(air: Air) -> None:
    air.scale()
    link = await opened(patience=0.1)
    await air.radio.stop()
    assert "lost" in await loss(link) or "no longer answers" in await loss(link)
    await link.close()
    assert await refusal() == (
        f"{ADDRESS}: the Bluetooth service is not running; "
        "start it, such as with: systemctl start bluetooth"
    )
    await air.radio.start()
    await (await reopened()).close()


async def test_a_scale_that_comes_back_is_found_again(air: Air) -> None:
    scale = air.scale()
    vanish(scale, air)
    hasty = replace(CALM, found=SOON_S)
    assert await refusal(patience=hasty) == f"{ADDRESS}: not found over Bluetooth in 0.5 s; {NEAR}"
    asyncio.get_running_loop().call_later(0.05, air.radio.hear, scale)
    await (await opened()).close()


async def test_slow_discovery_is_waited_for_but_not_for_ever(air: Air) -> None:
    scale = air.scale()
    air.radio.find_s, scale.resolve_s = 0.3, 0.3
    await (await opened()).close()
    scale.resolve_s = 60.0
    hasty = replace(CALM, connected=SOON_S)
    assert await refusal(patience=hasty) == f"{ADDRESS}: does not answer over Bluetooth; {NEAR}"
    await until(lambda: not scale.connected)


async def test_several_scales_are_found_by_one_scan(air: Air) -> None:
    air.radio.find_s = 0.1
    addresses = [f"C0:FF:EE:00:00:{number:02X}" for number in range(8)]
    scales = [air.scale(address=address) for address in addresses]
    async with asyncio.TaskGroup() as tasks:
        opening = [tasks.create_task(opened(address=address)) for address in addresses]
    links = [task.result() for task in opening]
    for number, scale in enumerate(scales):
        scale.say(bytes([0, number, 0]))
    assert [await link.read() for link in links] == [bytes([0, n, 0]) for n in range(8)]
    for link in links:
        await link.close()


async def test_an_absent_scale_holds_up_no_other(air: Air) -> None:
    air.scale()
    async with asyncio.TaskGroup() as tasks:
        absent = tasks.create_task(open_weight_scale("C0:FF:EE:00:00:99", LineSettings(), CALM))
        await asyncio.sleep(0)
        await (await opened()).close()
        assert not absent.done()
        absent.cancel()


async def test_radio_off_is_said(air: Air) -> None:
    air.scale()
    remedy = "switch it on, such as with: bluetoothctl power on"
    line = f"{ADDRESS}: the Bluetooth radio is off; {remedy}"
    air.radio.power(False)
    assert await refusal() == line
    air.radio.power(True)
    await (await reopened()).close()
    air.radio.power(False)
    assert await refusal() == line


async def test_a_radio_switched_off_in_the_middle_of_a_scan_scans_again(air: Air) -> None:
    async with asyncio.TaskGroup() as tasks:
        seeking = tasks.create_task(refusal(patience=replace(CALM, found=2 * SOON_S)))
        await until(lambda: bool(air.radio._scanning))
        air.radio.power(False)
        assert "the Bluetooth radio is off; switch it on" in await seeking
    air.radio.power(True)
    air.scale()
    link = await reopened()
    await link.close()


async def test_permission_denied_is_said(air: Air) -> None:
    air.scale()
    air.radio.allowed = False
    assert await refusal() == (
        f"{ADDRESS}: permission denied by the Bluetooth service; let this user into the group "
        "that may use it, often bluetooth, and sign in again"
    )


async def test_no_radio_is_said(air: Air) -> None:
    air.radio.unplug()
    assert await refusal() == (
        f"{ADDRESS}: this machine has no Bluetooth radio; plug one in, or use the scale's cable"
    )


async def test_no_bus_is_said(air: Air, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert air
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", f"unix:path={tmp_path}/nowhere")
    await forget()
    assert "the Bluetooth service is not running; start it" in await refusal()
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", f"pigeon:loft={tmp_path}")
    assert "the Bluetooth service is not running; start it" in await refusal()


async def test_a_peripheral_without_the_service_is_said_and_let_go(air: Air) -> None:
    only_named = Service(assigned(0x1800), (Characteristic(assigned(0x2A00), ("read",)),))
    other = air.radio.add(Peripheral(ADDRESS, "lamp", (only_named,)))
    remedy = "check the address, or choose the format that the scale speaks"
    assert await refusal() == f"{ADDRESS}: has no Weight Scale Service; {remedy}"
    with pytest.raises(LinkRefused) as caught:
        await open_uart_link(ADDRESS, LineSettings(), CALM)
    assert str(caught.value) == f"{ADDRESS}: has no service that works like a line; {remedy}"
    assert not other.connected


async def test_a_service_that_cannot_be_listened_to_is_said(air: Air) -> None:
    mute = Service(assigned(0x181D), (Characteristic(assigned(0x2A9D), ("read",)),))
    other = air.radio.add(Peripheral(ADDRESS, "mute", (mute,)))
    assert "cannot be connected (" in await refusal()
    assert not other.connected


@pytest.mark.parametrize("address", ["", "scale", "C0:FF:EE:00:00", "C0:FF:EE:00:00:0G"])
async def test_what_is_no_address_is_said(address: str) -> None:
    assert await refusal(address) == (
        f"{address}: not a Bluetooth address; write six pairs such as C0:FF:EE:00:00:01"
    )


async def test_a_scale_that_a_killed_program_left_connected_is_taken_over(air: Air) -> None:
    scale = air.scale("ascii-stream")
    words = ("scale", "watch", "--device", ADDRESS, "--format", "ascii-stream")
    killed = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "scaled", *words, stdout=asyncio.subprocess.PIPE
    )
    await until(lambda: scale.heard)
    with pytest.raises(LinkBusy) as busy:
        await open_uart_link(ADDRESS, LineSettings(), CALM)
    assert str(busy.value) == f"{ADDRESS}: busy; close the other program that has it open"
    killed.kill()
    await killed.communicate()
    assert scale.connected
    # It advertises no more: it is taken once nothing was heard.
    link = await open_uart_link(ADDRESS, LineSettings(), replace(CALM, found=SOON_S))
    scale.say(b"ST,GR,+000123.5  g\r\n")
    assert await link.read() == b"ST,GR,+000123.5  g\r\n"
    await link.close()
    assert not scale.connected


def test_a_claim_that_cannot_be_made_is_heeded_by_nobody(tmp_path: Path) -> None:
    for _ in range(2):
        Claim(ADDRESS, tmp_path / "nowhere").take()
    first, second = Claim(ADDRESS, tmp_path), Claim(ADDRESS.lower(), tmp_path)
    first.take()
    with pytest.raises(LinkBusy):
        second.take()
    first.release()
    first.release()
    second.take()
    second.release()
    second.take()  # too late: whoever wanted it has gone
    assert not list(tmp_path.iterdir())


async def test_no_descriptor_is_left_over_many_drops(air: Air) -> None:
    scale = air.scale()
    await (await opened()).close()
    before = len(open_descriptors())
    for _ in range(30):
        link = await opened()
        scale.disconnect()
        await loss(link)
        await link.close()
    assert len(open_descriptors()) == before


async def test_a_cancelled_opening_leaves_nothing_connected(air: Air) -> None:
    scale = air.scale()
    scale.resolve_s = 60.0
    async with asyncio.TaskGroup() as tasks:
        opening = tasks.create_task(opened())
        await until(lambda: scale.connected)
        opening.cancel()
    assert not scale.connected
