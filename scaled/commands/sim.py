"""``scaled sim``: a simulated scale with a cook at it, on a line, on the air or as a recording."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.commands.options import one_of, whole
from scaled.core.errors import ConfigError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable
    from pathlib import Path

    from simulators.scene import Plan

RATES: Final = ("5", "10", "20")
ADDRESS: Final = "C0:FF:EE:00:00:01"
"""Of the simulated scale on the air; random static addresses begin with C0 or more."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command's options."""
    parser = commands.add_parser(
        "sim",
        help="run a simulated scale with a cook at it",
        description="Run a simulated scale on a pseudo-terminal, with a simulated cook who builds "
        "one dish after another once a station opens it; or one with Bluetooth on a simulated "
        "radio; or write such a run as a recording. While it runs, type what is to happen to it, "
        "such as unplug, plug, hush, pause or quit; anything else lists all words.",
        epilog="Example: scaled sim --profile winter-barley-bowl --habits messy --seed 7",
    )
    parser.add_argument(
        "--profile", metavar="FILE|ID", default="winter-barley-bowl", help="what the cook builds"
    )
    parser.add_argument(
        "--format",
        metavar="NAME",
        type=one_of(_formats),
        default="ascii-stream",
        help="its wire format; default: ascii-stream",
    )
    parser.add_argument("--ble", action="store_true", help="on the air instead of on a line")
    parser.add_argument(
        "--division", metavar="WEIGHT", default="1g", help='smallest displayed step, "1g"'
    )
    _add_run(parser)
    parser.add_argument("--link", metavar="PATH", help="where stations find the scale")
    parser.add_argument(
        "--record", metavar="FILE", help="write a recording (CSV) at once and exit; 1 build"
    )
    parser.set_defaults(run=run)


def _add_run(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--rate",
        metavar="HZ",
        type=one_of(lambda: RATES),
        default="10",
        help="readings a second: 5, 10 or 20; default: 10",
    )
    parser.add_argument(
        "--seed", metavar="N", type=whole(0), default=1, help="same seed, same run; default: 1"
    )
    parser.add_argument("--builds", metavar="N", type=whole(1), help="stop after so many bowls")
    parser.add_argument(
        "--habits",
        metavar="NAME",
        type=one_of(_habits),
        default="clean",
        help="clean, messy or frantic; default: clean",
    )


def _formats() -> Iterable[str]:
    from simulators.ble_port import BLE_WIRES  # noqa: PLC0415 -- not for every --help

    return BLE_WIRES


def _habits() -> Iterable[str]:
    from simulators.habits import PRESETS  # noqa: PLC0415 -- not for every --help

    return PRESETS


def run(args: argparse.Namespace) -> int:
    """Run the simulated scale, or record it.

    Raises:
        InputError: The profile, a value or a path is wrong.
    """
    plan = _plan(args)
    if args.record is not None:
        return _record(plan, args.record)
    return _serve(plan, args)


def _plan(args: argparse.Namespace) -> Plan:
    from scaled.catalogue import find_profile, parse_source  # noqa: PLC0415 -- slow import
    from simulators.display import Division, DivisionError  # noqa: PLC0415
    from simulators.habits import PRESETS  # noqa: PLC0415
    from simulators.recipe import RecipeError, read_recipe  # noqa: PLC0415
    from simulators.scene import Plan  # noqa: PLC0415

    source = find_profile(args.profile)
    parse_source(source, args.profile)  # says best what is wrong with it
    try:
        read_recipe(source.text)
        Division.parse(args.division)
    except RecipeError as err:
        raise ConfigError(source.where, "", str(err)) from err
    except DivisionError as err:
        raise ConfigError("--division", "", str(err)) from err
    return Plan(
        recipe_text=source.text,
        seed=args.seed,
        division=args.division,
        rate_hz=int(args.rate),
        habits=PRESETS[args.habits],
        builds=args.builds,
    )


def _record(plan: Plan, file: str) -> int:
    from dataclasses import replace  # noqa: PLC0415
    from pathlib import Path  # noqa: PLC0415

    from scaled.records.export import write_lines  # noqa: PLC0415 -- slow import
    from simulators.recording import recording_text  # noqa: PLC0415
    from simulators.scene import simulate  # noqa: PLC0415

    run = simulate(replace(plan, builds=plan.builds or 1))
    write_lines(Path(file), [recording_text(run)])
    print(f"{file}: {len(run.readings)} readings, {len(run.builds)} builds")
    return 0


def _serve(plan: Plan, args: argparse.Namespace) -> int:
    from simulators.ble_port import BLE_WIRES, ble_port  # noqa: PLC0415
    from simulators.pty_port import PtyPort  # noqa: PLC0415
    from simulators.scale import PortError, SimulatedScale  # noqa: PLC0415
    from simulators.scene import Scene  # noqa: PLC0415
    from simulators.standalone import run_standalone  # noqa: PLC0415
    from simulators.wire import WIRES  # noqa: PLC0415

    if not args.ble and args.format not in WIRES:
        raise ConfigError("--format", "", f"{args.format} goes by radio; add --ble")
    scene = Scene(plan.pan(), plan.cook(), plan.line())
    scale = SimulatedScale(scene, BLE_WIRES[args.format]())
    link = _link(args.link, "scaled-sim-radio" if args.ble else "scaled-sim")
    stand = ble_port(link, args.format, ADDRESS) if args.ble else PtyPort(link)
    device = ADDRESS if args.ble else str(link)
    radio = f"DBUS_SYSTEM_BUS_ADDRESS=unix:path={link} " if args.ble else ""

    def ready() -> None:
        print(device)
        serve = f"scaled serve --device {device} --format {args.format}"
        print(f"Open it: {radio}{serve}", flush=True)

    try:
        run_standalone(scale, stand, ready)
    except PortError as err:
        raise ConfigError("--link", str(link), str(err)) from err
    return 0


def _link(given: str | None, name: str) -> Path:
    import os  # noqa: PLC0415
    import tempfile  # noqa: PLC0415
    from pathlib import Path  # noqa: PLC0415

    if given is not None:
        return Path(given).absolute()
    return Path(os.environ.get("XDG_RUNTIME_DIR") or tempfile.gettempdir()) / name
