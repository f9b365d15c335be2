"""The guidance as lines of text, for logs and pipes: one line a change, nothing repeated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TextIO

from scaled.core.live import Ask
from scaled.screens.client import StationClient, Update
from scaled.screens.marks import Mark
from scaled.screens.results import result_line
from scaled.screens.scene import Recipe, Scene
from scaled.screens.wire import Away, EventsMessage, MissedMessage
from scaled.screens.words import advice, may_be_swapped


async def follow(client: StationClient, out: TextIO, *, builds: int | None = None) -> None:
    """Write a line to ``out`` whenever the advice or a result changes.

    Advice is written when the pan is at rest, results when they are final::

        build 1  add 118 g of pearl barley: three scoops
        build 1  good: next is brown lentils (2 fl oz spoodle, level: one spoonful)
        build 1    ● pearl barley 121 g, pass

    Args:
        client: Follows the station.
        out: Where the lines go; flushed after every update.
        builds: End when so many builds were finished; None goes on until cancelled.

    Raises:
        ConfigError: At first contact the daemon has no such station, or several.
    """
    teller = Teller()

    def show(update: Update) -> bool:
        for line in teller.lines(update, client.recipe):
            out.write(f"{line}\n")
        out.flush()
        return builds is not None and teller.finished >= builds

    await client.watch(show)


class Teller:
    """Turns updates into lines; remembers the last so as not to repeat it.

    Attributes:
        finished: Builds finished so far.
    """

    def __init__(self) -> None:
        """Begin without anything said."""
        self.finished = 0
        self._scene = Scene()
        self._last = ""

    def lines(self, update: Update, recipe: Recipe | None) -> Iterator[str]:
        """What is new in an update, oldest first; ``recipe`` is the session's profile."""
        if isinstance(update, EventsMessage):
            self.finished += sum(event["event"] == "finished" for event in update.events)
            yield from _results(update, recipe)
        elif isinstance(update, MissedMessage):
            yield f"({update.count} events were too fast for this view; the journal has them)"
        else:
            yield from self._advice(update, recipe)

    def _advice(self, update: Update, recipe: Recipe | None) -> Iterator[str]:
        if isinstance(update, Away):
            self._scene = replace(self._scene, away=update)
        elif not isinstance(update, EventsMessage | MissedMessage):
            self._scene = Scene(update.state, recipe)
        if _passing(self._scene):
            return
        said, live = advice(self._scene), self._scene.live
        line = f"build {live.build}  {said.line}" if live and live.build else said.line
        # While the finished build is taken off, its weight is no news.
        news = f"{live.build}: done" if live and said.mark is Mark.DONE else line
        if news != self._last:
            self._last = news
            yield line


def _passing(scene: Scene) -> bool:
    """Whether the moment is only on the way to another, and not worth a line."""
    live = scene.live
    if live is None or not scene.fresh:
        return False
    if live.odd is not None and live.ask is Ask.ADD and may_be_swapped(live):
        return True  # said when it was found out
    return live.ask is Ask.WAIT or not (live.settled or live.ask in {Ask.PLACE, Ask.RETURN})


def _results(update: EventsMessage, recipe: Recipe | None) -> Iterator[str]:
    for event in update.events:
        line = result_line(event, recipe)
        if line is not None:
            yield f"build {event['build']}    {line}"
