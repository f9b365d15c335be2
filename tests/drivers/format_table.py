"""README's table of formats, made from the drivers and the captures.

``python -m tests.drivers.capturing`` writes it, and the captures' frames with it.
"""

from __future__ import annotations

import tomllib
from importlib import import_module
from pathlib import Path
from typing import Final

from drivers.shelf import SHELF
from scaled.capture import Capture, Chunk
from scaled.core.reading import Reading
from scaled.protocol import GROUP, Driver

ROOT: Final = Path(__file__).parents[2]
README: Final = ROOT / "README.md"
BEGIN: Final = "<!-- formats -->\n"
END: Final = "<!-- end of formats -->\n"

_FIRST_PICTURE: Final = 0x2400
"""Where Unicode has a picture of each control character."""


def drivers() -> dict[str, Driver]:
    """The drivers this project brings, by name; read from its own metadata, installed or not."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    found = {name: SHELF.driver(name) for name in SHELF.names()}
    for name, value in project["entry-points"][GROUP].items():
        module, _, attribute = value.partition(":")
        found[name] = getattr(import_module(module), attribute)
    return {name: driver for name, driver in sorted(found.items()) if driver is not None}


def table(captures: dict[str, Capture]) -> str:
    """The table, a row a driver, with an example from its capture where that is text."""
    rows = ["| format | what the scale sends | for example |", "|---|---|---|"]
    for name, driver in drivers().items():
        recorded = captures.get(name)
        example = _example(driver, recorded) if recorded else None
        rows.append(f"| `{name}` | {driver.summary} | {_spelled(example) if example else ''} |")
    return "".join(f"{row}\n" for row in rows)


def write_table(captures: dict[str, Capture], readme: Path = README) -> None:
    """Put the table where README has it."""
    before, _, rest = readme.read_text().partition(BEGIN)
    _, _, after = rest.partition(END)
    readme.write_text(f"{before}{BEGIN}{table(captures)}{END}{after}")


def _example(driver: Driver, recorded: Capture) -> bytes | None:
    """The first piece that is a whole frame and a weight at rest."""
    return next((one.data for one in recorded.chunks if _is_telling(driver, one)), None)


def _is_telling(driver: Driver, chunk: Chunk) -> bool:
    frames = driver.decoder().feed(chunk.data, chunk.t)
    readings = [frame for frame in frames if isinstance(frame, Reading)]
    return len(readings) == 1 and readings[0].stable is True and readings[0].weight > 0


def _spelled(frame: bytes) -> str:
    text = "".join(_shown(byte) for byte in frame.removesuffix(b"\n").removesuffix(b"\r"))
    return f"`{text}`".replace("|", "\\|")


def _shown(byte: int) -> str:
    if byte < 0x20:
        return chr(_FIRST_PICTURE + byte)
    return chr(byte) if byte < 0x7F else f"\\x{byte:02x}"
