"""``scaled scale find``: which scales are in reach, and what they speak."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from scaled.commands.options import number

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from scaled.protocol import Device, Driver, Search
    from scaled.station.search import Found


def add(actions: argparse._SubParsersAction[Any]) -> None:
    """Declare the command's options."""
    parser = actions.add_parser(
        "find",
        help="find the scales in reach and what they speak",
        description="Listen at every serial port, USB weighing device and radio in reach, as "
        "every known format would, and tell what speaks what. A station that has a scale open "
        "must be stopped meanwhile. What is plugged in is named by its serial number where it has "
        "one of its own, which stays when it is plugged in elsewhere, else by its socket.",
        epilog="Example: scaled scale find",
    )
    parser.add_argument(
        "devices", nargs="*", metavar="DEVICE", help="listen at these alone, such as /dev/ttyUSB0"
    )
    parser.add_argument(
        "--seconds",
        metavar="S",
        type=number(60),
        default=4.0,
        help="how long radios are listened for; default: 4",
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print a line for each device; 1 when no scale was found."""
    import asyncio  # noqa: PLC0415

    from scaled.core.errors import ConfigError  # noqa: PLC0415
    from scaled.protocol import driver_names, load_driver  # noqa: PLC0415

    drivers = {}
    for name in driver_names():
        try:
            drivers[name] = load_driver(name)
        except ConfigError as err:
            print(f"scaled: {err}", file=sys.stderr)  # one broken format hides no scale
    if not args.devices:
        _progress(f"looking for ports and, for {args.seconds:g} s, for radios")
    found = asyncio.run(_find(args.devices, drivers, args.seconds))
    if not found:
        print(
            "no scale found; check that it is on, plugged in or near, and not in use by a station"
        )
    return 0 if found else 1


async def _find(names: Sequence[str], drivers: Mapping[str, Driver], within_s: float) -> int:
    """How many scales were found, all looked for at once, each told of as soon as it is."""
    import asyncio  # noqa: PLC0415

    from scaled.core.errors import LinkRefused  # noqa: PLC0415
    from scaled.protocol import Device  # noqa: PLC0415

    told: list[asyncio.Task[bool]] = []
    refusals: set[str] = set()
    async with asyncio.TaskGroup() as tasks:

        async def look(near: Search, speakers: Mapping[str, Driver]) -> None:
            try:
                found = await near(within_s)
            except LinkRefused as err:
                refusals.add(str(err))
                return
            for device in found:
                told.append(tasks.create_task(_tell([(device, speakers)])))

        for name in dict.fromkeys(names):
            ways = [(Device(name, ""), alike) for alike in _alike(drivers, _opening).values()]
            told.append(tasks.create_task(_tell(ways)))
        if not names:
            for near, speakers in _alike(drivers, _searches).items():
                tasks.create_task(look(near, speakers))
    for refusal in sorted(refusals):
        print(refusal)
    return sum(task.result() for task in told)


async def _tell(ways: Sequence[tuple[Device, Mapping[str, Driver]]]) -> bool:
    """Listen in each of these ways and print one line; whether it is a scale.

    Where none can open the device, the way that most formats share says why.
    """
    from scaled.core.errors import LinkRefused  # noqa: PLC0415
    from scaled.station.search import listen  # noqa: PLC0415

    _progress(f"listening at {ways[0][0].name}")
    why = ""
    for device, speakers in sorted(ways, key=lambda way: -len(way[1])):
        try:
            heard = await listen(device.name, speakers)
        except LinkRefused as err:
            why = why or str(err)
            continue
        print(_line(device, heard), flush=True)
        return bool(heard and heard.fits)
    print(why, flush=True)
    return False


def _progress(what: str) -> None:
    """Say to a person who waits what goes on; a pipe wants the result alone."""
    if sys.stderr.isatty():
        print(what, file=sys.stderr, flush=True)


def _opening(driver: Driver) -> Iterable[Any]:
    return [driver.open]


def _searches(driver: Driver) -> Iterable[Any]:
    return driver.near


def _alike(
    drivers: Mapping[str, Driver], keys: Callable[[Driver], Iterable[Any]]
) -> dict[Any, dict[str, Driver]]:
    """The drivers that open, or look for devices, in the same way, by that way."""
    alike: dict[Any, dict[str, Driver]] = {}
    for name, driver in drivers.items():
        for key in keys(driver):
            alike.setdefault(key, {})[name] = driver
    return alike


def _line(device: Device, heard: Found | None) -> str:
    from scaled.protocol import by_radio  # noqa: PLC0415

    about = f" ({device.about})" if device.about else ""
    if heard is None:
        return f"{device.name}{about}: silent"
    if not heard.fits:
        return (
            f"{device.name}{about}: sends something no known format reads; "
            "learn it with: scaled scale learn"
        )
    best = heard.fits[0]
    others = [fit.format for fit in heard.fits[1:] if fit.share == best.share]
    also = f"; could also be {', '.join(others)}" if others else ""
    shown = f", shows {best.shown}" if best.shown else ""
    line = "" if by_radio(device.name) else f" at {heard.line.baud} baud, {heard.line.framing}"
    return (
        f"{device.name}{about}: {best.format}{line}: "
        f"{best.confidence} ({best.frames} frames, {best.dropped} dropped){shown}{also}"
    )
