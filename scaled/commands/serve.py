"""``scaled serve``: the daemon at one scale or, with a configuration file, at several."""

from __future__ import annotations

import sys
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING

from scaled.commands.options import PLATE, add_plate

if TYPE_CHECKING:
    import argparse
    from collections.abc import Coroutine, Sequence

    from scaled.config import Config
    from scaled.station.state import SessionState

_STATION = ("name", "device", "format", *PLATE, "capacity", "profile", "baud", "framing")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command's options."""
    parser = commands.add_parser(
        "serve",
        help="run the station: read the scale, keep the journal, answer screens",
        description="Run the station until it is told to stop (Ctrl-C or SIGTERM): follow the "
        "scale, keep the journal, answer screens and tools on this machine.",
        epilog="Example: scaled serve --device /dev/ttyUSB0 --format ascii-stream --division 1g "
        "--profile winter-barley-bowl",
    )
    parser.add_argument(
        "--device",
        metavar="PATH|URL|ADDRESS",
        help="usb:SERIAL, a path, a Bluetooth address, or socket://HOST:PORT of a serial server",
    )
    parser.add_argument(
        "--format",
        metavar="NAME|FILE",
        help="its wire format: ascii-stream, or a description such as my-scale.toml",
    )
    add_plate(parser)
    parser.add_argument("--capacity", metavar="WEIGHT", help="Max on the plate, to check it by")
    parser.add_argument("--profile", metavar="ID|FILE", help="what to build first")
    parser.add_argument("--baud", metavar="N", help="speed of the line; default: the format's")
    parser.add_argument(
        "--framing", metavar="8N1", help="framing of the line; default: the format's"
    )
    parser.add_argument("--station", metavar="NAME", dest="name", help="what screens call it")
    parser.add_argument(
        "--listen",
        metavar="ADDRESS",
        help="unix:PATH or 127.0.0.1:PORT; default: station.sock in the state folder",
    )
    parser.add_argument("--state", metavar="DIR", help="folder of the journal and the socket")
    parser.add_argument("--profiles", metavar="DIR", help="one more folder of build profiles")
    parser.add_argument("--config", metavar="FILE", help="a file with all this, instead")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Run the daemon until a signal ends it.

    Raises:
        ScaledError: It cannot be started, or had to stop.
    """
    import asyncio  # noqa: PLC0415
    import logging  # noqa: PLC0415

    from scaled.server.daemon import run_daemon  # noqa: PLC0415 -- slow import

    config = _config(args)
    _warn(config)
    logging.basicConfig(level=logging.WARNING, format="scaled: %(message)s")
    logging.getLogger("scaled").setLevel(logging.INFO)
    gone_on: list[SessionState] = []
    ready = partial(_tell, config, gone_on)
    asyncio.run(_until_signalled(run_daemon(config, ready=ready, goes_on=gone_on.append)))
    return 0


def _config(args: argparse.Namespace) -> Config:
    from pathlib import Path  # noqa: PLC0415

    from scaled.config import config_from_options, read_config  # noqa: PLC0415 -- slow imports
    from scaled.core.errors import ConfigError  # noqa: PLC0415

    given = {key: value for key, value in vars(args).items() if value is not None}
    del given["run"]
    if "config" in given:
        path = Path(given.pop("config"))
        if given:
            option = "--" + next(iter(given)).replace("name", "station")
            raise ConfigError(option, "", "not together with --config; write it into the file")
        return read_config(path)
    station = {key: given.pop(key) for key in _STATION if key in given}
    missing = next((key for key in ("device", "format") if key not in station), None)
    if missing is not None:
        raise ConfigError(f"--{missing}", "", "missing; give it, or a file with --config")
    if str(station.get("baud", "")).isdecimal():
        station["baud"] = int(station["baud"])
    if "profiles" in given:
        given["profiles"] = [given["profiles"]]
    return config_from_options(station, given)


async def _until_signalled(daemon: Coroutine[None, None, None]) -> None:
    """Run it until SIGINT or SIGTERM; further signals do not cut its end short."""
    import asyncio  # noqa: PLC0415
    import signal  # noqa: PLC0415

    main = asyncio.current_task()

    def stop() -> None:
        if main is not None and not main.cancelling():
            main.cancel()

    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, stop)
    with suppress(asyncio.CancelledError):
        await daemon


def _warn(config: Config) -> None:
    """Say before the start what does not fit the profile that a station is to start with.

    Raises:
        ProfileError: Its scale can judge none of the steps.
    """
    _warn_of_checks(config)
    from scaled.catalogue import load_profile  # noqa: PLC0415
    from scaled.core.check_order import check_post  # noqa: PLC0415
    from scaled.core.check_scale import check_fit, unfit  # noqa: PLC0415
    from scaled.protocol import load_driver  # noqa: PLC0415

    for station in config.stations:
        if station.profile is None:
            continue
        profile = load_profile(station.profile, config.profiles)
        found = check_post(profile, station.position)
        division_g = station.division_g or load_driver(station.format).finest_g
        if division_g is not None:
            check_fit(profile, division_g, station.accuracy)
            found += unfit(profile, division_g, station.accuracy)
        for finding in found:
            place = f"{station.name}, {profile.id}, {finding.where}"
            print(f"scaled: warning: {place}: {finding.message}", file=sys.stderr)


def _warn_of_checks(config: Config) -> None:
    """Say which station waits for a check of its scale that it cannot make."""
    from scaled.core.errors import ConfigError  # noqa: PLC0415
    from scaled.station.check_plan import plate_of, unplanned  # noqa: PLC0415

    for station in config.stations:
        if station.check_of_the_day != "refuse":
            continue
        try:
            plate_of(station)
        except ConfigError as err:
            what = (
                f"{station.name}: no build can begin without a check of the day, and none be made"
            )
            print(f"scaled: warning: {what}: {unplanned(err)}", file=sys.stderr)


def _tell(config: Config, gone_on: Sequence[SessionState], address: str) -> None:
    """Say in one line what is running, and what goes on instead of beginning anew."""
    from scaled.config import journal_in  # noqa: PLC0415

    scales = ", ".join(f"{s.device} ({s.format})" for s in config.stations)
    journal = journal_in(config.state)
    went_on = "".join(f"; goes on with session {s.session} ({s.profile})" for s in gone_on)
    print(f"scaled: reads {scales}; listens on {address}; journal {journal}{went_on}", flush=True)
