"""``scaled replay``: a recording through the core, events out, no daemon."""

from __future__ import annotations

import sys
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from scaled.commands.options import add_plate, read_plate

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from scaled.core.events import Event
    from scaled.core.handoff_events import Told
    from scaled.core.reading import Unit
    from scaled.core.session import Session
    from scaled.core.units import Grams
    from scaled.recording import Recording

FINAL: Final = ("portion", "finished")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command's options."""
    parser = commands.add_parser(
        "replay",
        help="run a recording through the weighing core",
        description="Run a recording through the weighing core and print one JSON object a "
        "line: each portion and each finished build. A recording is CSV with the columns t "
        "(seconds, never running backwards), weight (as displayed), unit (g, kg, oz, lb or empty) "
        "and stable (1, 0 or empty); README says what else may stand in it.",
        epilog="Example: scaled replay morning.csv --profile winter-barley-bowl --events",
    )
    parser.add_argument("recording", metavar="RECORDING", help="the CSV file")
    parser.add_argument("--profile", required=True, metavar="FILE|ID", help="what was built")
    add_plate(parser, "the recording says, or is measured")
    parser.add_argument(
        "--events", action="store_true", help="print every event, not only the final words"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Replay one recording.

    Raises:
        InputError: The recording, the profile or the scale's plate is wrong.
    """
    from pathlib import Path  # noqa: PLC0415

    from scaled.catalogue import load_profile  # noqa: PLC0415
    from scaled.commands.no_build import likely_reason  # noqa: PLC0415
    from scaled.core.check_scale import unfit  # noqa: PLC0415
    from scaled.core.event_line import event_line  # noqa: PLC0415
    from scaled.core.session import Post, Session  # noqa: PLC0415
    from scaled.recording import read_recording  # noqa: PLC0415
    from scaled.records.check import read_accuracy  # noqa: PLC0415
    from scaled.records.habit import read_habit  # noqa: PLC0415

    given = read_plate(args)
    profile = load_profile(args.profile)
    recording = read_recording(Path(args.recording))
    _compare(recording, profile.id, args.recording)
    division_g = given.division_g or _known_g(recording)
    accuracy = given.accuracy or read_accuracy(recording) or recording.scale.accuracy
    for finding in unfit(profile, division_g, accuracy):
        _warn(args.recording, f"{finding.where}: {finding.message}")
    notes = recording.notes
    post = Post(notes.get("session", ""), notes.get("position"))
    session = Session(profile, division_g, accuracy, post, read_habit(recording))
    unit = _unit_set(given.division_g or recording.scale.division_g)
    first: dict[str, Event] = {}
    for event in _told(session, _labelled(recording, unit)):
        first.setdefault(event.event, event)
        if args.events or event.event in FINAL:
            print(event_line(event))
    if first.keys().isdisjoint(FINAL):
        reason = likely_reason(profile, recording.readings, unit, first)
        _warn(args.recording, f"no build found: {reason}")
    return 0


def _unit_set(division_g: Grams | None) -> Unit:
    """The unit that a scale which does not tell was set to: its division is written in it."""
    from scaled.core.reading import Unit  # noqa: PLC0415

    return Unit.G if division_g is None else division_g.unit


def _labelled(recording: Recording, unit: Unit) -> Recording:
    """The recording with a unit on its first reading: those after it count as the one before."""
    first, *others = recording.readings
    if first.unit is not None:
        return recording
    return replace(recording, readings=(replace(first, unit=unit), *others))


def _compare(recording: Recording, profile: str, file: str) -> None:
    """Warn when a recording says that it was made with another profile."""
    made_with = recording.notes.get("profile", profile)
    if made_with != profile:
        _warn(file, f"recorded with the profile {made_with}, replayed with {profile}")


def _warn(file: str, what: str) -> None:
    print(f"scaled: {file}: {what}", file=sys.stderr)


def _known_g(recording: Recording) -> float | None:
    """The division as known when the first reading came; None when the core is to learn it."""
    from scaled.core.division import infer_division  # noqa: PLC0415

    if recording.learnt:
        return None
    return recording.scale.division_g or infer_division(recording.readings)


def _told(session: Session, recording: Recording) -> Iterator[Event]:
    """All that the core says, to the end of the recording."""
    from scaled.core.errors import CommandRefused  # noqa: PLC0415
    from scaled.recording import KEYS  # noqa: PLC0415
    from scaled.records.told import read_told  # noqa: PLC0415

    word = read_told(recording)
    for place, reading in enumerate(recording.readings):
        while word and word[0].t < reading.t:
            yield from _tell(session, word.popleft())
        yield from session.read(reading)
        for key in recording.keys.get(place, ()):
            with suppress(CommandRefused):  # as the station refused it
                yield from session.command(KEYS[key], reading.t)
    for told in word:
        yield from _tell(session, told)
    yield from session.close(recording.readings[-1].t)


def _tell(session: Session, told: Told) -> list[Event]:
    from scaled.core.errors import CommandRefused  # noqa: PLC0415
    from scaled.core.handoff_events import command_behind  # noqa: PLC0415

    with suppress(CommandRefused):  # of another build than the one that is replayed
        return session.command(command_behind(told), told.t)
    return []
