"""The captures of wire formats: bytes with their provenance, and the frames they must give.

    python -m tests.drivers.capturing

writes the frames anew, and README's table of formats; a capture that exists is kept. It prints
why each frame was dropped.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Final

from drivers.hid_link import packet
from scaled.capture import Capture, Chunk, capture_text, read_capture
from scaled.core.reading import Reading
from scaled.protocol import Explaining, Frame, load_driver
from simulators.ble_port import BLE_WIRES
from simulators.display import Shown, Span
from simulators.hid_weighing import REPORT_DESCRIPTOR, hid_report
from simulators.wire import WIRES
from tests.drivers.format_table import write_table

FOLDER: Final = Path(__file__).parent / "captures"
MESSAGES: Final = ("weight-scale-service",)
"""Formats of whole messages, one a piece."""
SIMULATED: Final = (*WIRES, "hid-weighing", *MESSAGES)
"""Formats of which the simulators can make a capture."""

_STABLE_MARKS: Final = {True: "stable", False: "unstable", None: "unmarked"}


def names() -> list[str]:
    """The captures there are, by the name of their file."""
    return sorted(path.stem for path in FOLDER.glob("*.capture"))


def capture(name: str) -> Capture:
    """One capture."""
    return read_capture(FOLDER / f"{name}.capture")


def shown() -> Iterator[Shown]:
    """What a cook, a unit key and a heavy hand make a scale show."""
    weights = ("0", "61.0", "123.5", "123.5", "-4.5", "0.0", "1234.5")
    for i, weight in enumerate(weights):
        yield Shown(i / 10, Decimal(weight), "g", stable=i != 1, net=i == 4)
    for weight, unit in (("1.234", "kg"), ("4.35", "oz"), ("0.275", "lb"), ("-0.010", "lb")):
        yield Shown(0.0, Decimal(weight), unit, stable=unit != "oz")
    yield Shown(0.0, Decimal(16000), "g", stable=False, span=Span.ABOVE)
    yield Shown(0.0, Decimal(-40), "g", stable=True, span=Span.BELOW)
    yield Shown(0.0, Decimal("18.0"), "g", stable=True)


def sent(name: str) -> list[bytes]:
    """The same as a format's simulator sends it, one frame each."""
    if name == "hid-weighing":
        reports = [packet(b"R", hid_report(one)) for one in shown() if one.span is not Span.BELOW]
        return [packet(b"D", REPORT_DESCRIPTOR), *reports]
    wire, poll = BLE_WIRES[name](), load_driver(name).poll
    return [wire.show(one) + (wire.answer(poll.request) if poll else b"") for one in shown()]


def simulated(name: str) -> str:
    """A capture made by the simulator; lines begin within a frame, as when one plugs in.

    Below zero and too much the Weight Scale Service says that it could not weigh.
    """
    frames = sent(name)
    if name in WIRES:
        frames.insert(0, frames[0][len(frames[0]) // 2 :])
    chunks = []
    for i, frame in enumerate(frames):
        cut = len(frame) // 3 if i % 4 == 3 and name not in MESSAGES else len(frame)
        chunks += [Chunk(i / 10, part) for part in (frame[:cut], frame[cut:]) if part]
    pieces = "one message a piece" if name in MESSAGES else "some in two pieces"
    notes = {
        "format": name,
        "provenance": "simulated; not yet compared with a scale in a kitchen",
        "case": f"zero, motion, net, below zero, each unit, over, under; {pieces}",
    }
    return capture_text(Capture(tuple(chunks), notes))


def frames_told(name: str) -> str:
    """What the format's driver makes of a capture, a line a frame, and what it dropped."""
    recorded = capture(name)
    decoder = load_driver(recorded.notes["format"]).decoder()
    frames = [frame for chunk in recorded.chunks for frame in decoder.feed(chunk.data, chunk.t)]
    return "".join([*map(_line, frames), f"dropped {decoder.dropped}\n"])


def refusals(name: str) -> Iterator[str]:
    """Where the driver dropped something of a capture, and why, of each piece the last."""
    recorded = capture(name)
    decoder = load_driver(recorded.notes["format"]).decoder()
    for chunk in recorded.chunks:
        before = decoder.dropped
        decoder.feed(chunk.data, chunk.t)
        if decoder.dropped > before and isinstance(decoder, Explaining):
            yield f"{name}, {chunk.t:.3f}: dropped {decoder.refusal}\n"


def _line(frame: Frame) -> str:
    if not isinstance(frame, Reading):
        return f"{frame.t:.3f} {frame.kind.value}\n"
    unit = frame.unit.value if frame.unit else "-"
    return f"{frame.t:.3f} {frame.weight!r} {unit} {_STABLE_MARKS[frame.stable]}\n"


def regenerate() -> None:
    """Write what is missing, the frames, and README's table."""
    for name in SIMULATED:
        path = FOLDER / f"{name}.capture"
        if not path.exists():
            path.write_text(simulated(name))
    for name in names():
        (FOLDER / f"{name}.frames").write_text(frames_told(name))
    write_table({name: capture(name) for name in names()})


if __name__ == "__main__":
    regenerate()
    for name in names():
        sys.stdout.writelines(refusals(name))
