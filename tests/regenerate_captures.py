"""Makes the captures: recordings with their provenance, and the events they must give.

    python -m tests.regenerate_captures

A recording that exists is kept (delete the file to simulate it anew); the events are always
written. Say in the commit why they changed.

The notes on top of a recording say where it comes from (``provenance``), what happens in it
(``case``), what really lay in the bowl (``truth BUILD STEP``), and what holds however the engine
is tuned: ``tells``, events that must be told, each by some of its fields; ``may tell``, names of
further ones that may be told.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from scaled.catalogue import find_profile, load_profile
from scaled.core.event_line import event_line
from scaled.core.session import Session
from scaled.recording import Recording, read_recording
from simulators.recording import recording_text
from tests.staging.food_scenes import FOOD_SCENES
from tests.staging.hand_scenes import HAND_SCENES
from tests.staging.key_scenes import KEY_SCENES
from tests.staging.scale_scenes import SCALE_SCENES
from tests.staging.scene import Capture, Played
from tests.staging.shift import SHIFTS

FOLDER: Final = Path(__file__).parent / "captures"
CAPTURES: Final[dict[str, Capture]] = {
    **SHIFTS,
    **FOOD_SCENES,
    **HAND_SCENES,
    **KEY_SCENES,
    **SCALE_SCENES,
}
"""Each under the name of its folder, where a profile that is not shipped lies beside it."""


def simulated(name: str) -> str:
    """The recording of a capture, its notes on top."""
    capture = CAPTURES[name]
    played = capture.play(find_profile(capture.profile, [FOLDER / name]).text)
    notes = [f"# {note}" for note in _notes(capture, played)]
    return "\n".join([*notes, recording_text(played.run)])


def _notes(capture: Capture, played: Played) -> Iterator[str]:
    plan = played.run.plan
    yield (
        f"provenance: simulated, seed {plan.seed}, division {plan.division}, "
        f"{plan.rate_hz} readings a second, {played.by}"
    )
    yield f"case: {capture.case}"
    yield f"profile: {capture.profile}"
    if capture.tells:
        yield f"tells: {json.dumps(capture.tells)}"
    if capture.may_tell:
        yield f"may tell: {', '.join(capture.may_tell)}"
    for (build, step), net_g in played.truth.items():
        yield f"truth {build} {step}: {net_g:.2f} g"


def replayed(name: str, recording: Recording) -> str:
    """The events a recording gives."""
    profile = load_profile(recording.notes["profile"], [FOLDER / name])
    session = Session(profile, recording.scale.division_g, recording.scale.accuracy)
    events = [event for reading in recording.readings for event in session.read(reading)]
    events += session.close(recording.readings[-1].t)
    return "".join(f"{event_line(event)}\n" for event in events)


def main() -> None:
    for name in CAPTURES:
        recording = FOLDER / name / "recording.csv"
        if not recording.exists():
            recording.parent.mkdir(parents=True, exist_ok=True)
            recording.write_text(simulated(name))
        (FOLDER / name / "events.jsonl").write_text(replayed(name, read_recording(recording)))


if __name__ == "__main__":
    main()
