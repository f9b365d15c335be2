"""The pictures the screen is compared with, and how they are made anew.

``python -m tests.screens.golden`` writes them all, and the README's picture ``bench.svg``; a
change of any is to be looked at, and explained where it is committed.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path

from scaled.screens.scene import Scene
from scaled.screens.wire import Away
from tests.screens.check_scenes import CHECKS
from tests.screens.picture import svg
from tests.screens.scenes import BOWL, PICTURED, STATES, scene, state
from tests.screens.stage import staged, text

FOLDER = Path(__file__).parent
USUAL, LARGE, HUGE, LEAST, UNFIT = (80, 24), (120, 40), (200, 60), (60, 18), (50, 16)
PICTURE = (96, 30)
_GONE = Away("nothing answers at unix:/run/scaled/station.sock", absent=True)


def moments() -> Iterator[tuple[str, Scene, tuple[int, int]]]:
    """Name, moment and size of every picture."""
    for name in STATES:
        yield name, scene(name), USUAL
    for name, moment in CHECKS.items():
        yield name, moment, USUAL
    for name in ("check-corner", "check-lies", "check-empty-it", "check-unfit"):
        yield f"{name}-120x40", CHECKS[name], LARGE
        yield f"{name}-60x18", CHECKS[name], LEAST
    yield "station-missing", scene("no-station", away=_GONE), USUAL
    yield "station-away", scene("add", away=_GONE), USUAL
    for size in (LARGE, HUGE, LEAST, UNFIT):
        for name in ("add", "take-back", "add-ounces", "lift-amiss", "lost"):
            yield f"{name}-{size[0]}x{size[1]}", scene(name), size


def file_of(name: str) -> Path:
    """Where a picture is kept."""
    return FOLDER / "pictures" / f"{name}.txt"


async def draw_all() -> None:
    """Make all pictures anew."""
    for name, moment, size in moments():
        async with staged(moment, size) as pilot:
            file_of(name).write_text(text(pilot), encoding="utf-8")
    async with staged(Scene(state(PICTURED), BOWL), PICTURE) as pilot:
        (FOLDER / "bench.svg").write_text(svg(pilot), encoding="utf-8")


if __name__ == "__main__":
    (FOLDER / "pictures").mkdir(exist_ok=True)
    asyncio.run(draw_all())
