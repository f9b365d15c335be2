"""Makes the captures: recordings with their provenance, and the events they must give.

    python -m tests.regenerate_captures

A recording that exists is kept (delete its folder to simulate it anew); the events are always
written. Say in the commit why they changed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from scaled.catalogue import find_profile, load_profile
from scaled.core.events import event_line
from scaled.core.session import Session
from scaled.recording import Recording, read_recording
from simulators.habits import CLEAN
from simulators.recording import recording_text
from simulators.scene import Plan, simulate
from simulators.truth import BuildTruth

FOLDER: Final = Path(__file__).parent / "captures"
PLAIN: Final = replace(
    CLEAN, presses=0.0, hands_over=0.0, lifts=0.0, overshoots=0.0, extra_scoop=0.0, tops_up=0.0
)
"""A cook without habits, to have one at a time."""


@dataclass(frozen=True)
class Capture:
    """How a recording was made; ``habits`` are changes to a cook without any, None: clean."""

    profile: str
    seed: int
    habits: dict[str, float] | None = None
    division: str = "1 g"
    builds: int = 1


CAPTURES: Final = {
    "winter-barley-bowl": Capture("winter-barley-bowl", seed=101),
    "orchard-oat-pot": Capture("orchard-oat-pot", seed=101),
    "millstone-flatbread": Capture("millstone-flatbread", seed=101, division="0.5 g"),
    "press": Capture("winter-barley-bowl", seed=2, habits={"presses": 0.3}),
    "take-back": Capture("orchard-oat-pot", seed=4, habits={"overshoots": 0.4}),
    "lift-and-return": Capture("winter-barley-bowl", seed=1, habits={"lifts": 0.3}),
    "next-bowl": Capture("orchard-oat-pot", seed=3, habits={"swaps": 0.3}, builds=2),
    "tare-at-start": Capture("orchard-oat-pot", seed=15, habits={"tares": 0.3}),
    "units-mixed": Capture(
        "millstone-flatbread", seed=2, habits={"switches_unit": 0.4}, division="0.5 g"
    ),
}


def simulated(capture: Capture) -> str:
    """The recording of a capture, its provenance and the truth on top."""
    habits = CLEAN if capture.habits is None else replace(PLAIN, **capture.habits)
    run = simulate(
        Plan(
            recipe_text=find_profile(capture.profile).text,
            seed=capture.seed,
            division=capture.division,
            habits=habits,
            builds=capture.builds,
        )
    )
    changed = capture.habits or {}
    written = ", ".join(f"{habit} {chance}" for habit, chance in changed.items()) or "clean"
    head = [
        f"# provenance: simulated, seed {capture.seed}, division {capture.division}, "
        f"10 readings a second, cook's habits: {written}",
        f"# profile: {capture.profile}",
        *(f"# {line}" for build in run.builds for line in truth_lines(build)),
    ]
    return "\n".join([*head, recording_text(run)])


def truth_lines(build: BuildTruth) -> Iterator[str]:
    """What really lay in the bowl, g, step by step."""
    for portion in build.portions:
        yield f"truth {build.number} {portion.step}: {portion.net_g:.2f} g"


def replayed(recording: Recording) -> str:
    """The events a recording gives."""
    session = Session(load_profile(recording.notes["profile"]), recording.division_g)
    events = [event for reading in recording.readings for event in session.read(reading)]
    events += session.close(recording.readings[-1].t)
    return "".join(f"{event_line(event)}\n" for event in events)


def main() -> None:
    for name, capture in CAPTURES.items():
        recording = FOLDER / name / "recording.csv"
        if not recording.exists():
            recording.parent.mkdir(parents=True, exist_ok=True)
            recording.write_text(simulated(capture))
        (FOLDER / name / "events.jsonl").write_text(replayed(read_recording(recording)))


if __name__ == "__main__":
    main()
