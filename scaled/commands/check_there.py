"""A check of a scale that its running station makes: asked for and followed over its API."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from scaled.config import journal_in
from scaled.core.errors import CommandRefused
from scaled.records.query import Selection, checks
from scaled.records.reader import Records
from scaled.screens.client import StationClient
from scaled.screens.wire import Away, StateMessage
from scaled.station.link import WEIGHING, LinkState

if TYPE_CHECKING:
    from scaled.commands.check_request import Request
    from scaled.records.check import ScaleCheck
    from scaled.screens.client import Update
    from scaled.station.checking import Tell
    from scaled.station.state import StationState


async def check_there(request: Request, tell: Tell) -> bool:
    """Have the station make the check and follow it to its end; an interrupt abandons it.

    Args:
        request: What is asked, and whose station it is.
        tell: Called in the loop, as by ``make_check``.

    Returns:
        False when nobody answers where the station should.

    Raises:
        CommandRefused: The station refuses.
    """
    client = StationClient(str(request.config.listen), request.plan.station.name)
    if not await client.answers():
        return False
    try:
        await client.send(_command(request))
    except CommandRefused as err:
        name, reason = request.plan.station.name, err.reason.removeprefix("check: ")
        raise CommandRefused(name, reason) from err
    following = _Following(tell)
    try:
        await client.watch(following.show)
    except asyncio.CancelledError:
        with suppress(CommandRefused):
            await client.send({"command": "abandon"})
        raise
    return True


def newest_check(request: Request) -> ScaleCheck | None:
    """The newest check of that station in the journal; None when there is none.

    Raises:
        JournalError: The journal cannot be read.
    """
    with Records.open(journal_in(request.config.state)) as journal:
        found = list(checks(journal, Selection(station=request.plan.station.name)))
    return found[-1].check if found else None


def _command(request: Request) -> dict[str, Any]:
    wanted = request.wanted
    return {
        "command": "check",
        "weights": wanted.weights,
        "weight_error": wanted.weight_error,
        "standard": wanted.standard,
        "new": wanted.new,
        "badge": wanted.badge,
    }


class _Following:
    """Tells of a check from the station's states."""

    def __init__(self, tell: Tell) -> None:
        self._tell = tell
        self._told: object = None

    def show(self, update: Update) -> bool:
        """Whether it is over."""
        if isinstance(update, Away):
            self._told = None  # said again once it is back
        return isinstance(update, StateMessage) and self._look(update.state)

    def _look(self, state: StationState) -> bool:
        checking, link = state.checking, state.link
        if checking is None:
            return True
        ails = link.state not in {*WEIGHING, LinkState.OPENING}
        news = link if ails else checking
        key = link.detail if ails else checking.asked
        if key != self._told:
            self._told = key
            self._tell(news)
        return False
