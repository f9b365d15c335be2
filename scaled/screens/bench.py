"""The cook's screen: one glance says what to add, how much is there and how it went."""

from __future__ import annotations

import os
from pathlib import Path
from typing import ClassVar, Final

from textual.app import App
from textual.binding import Binding

from scaled.core.errors import ConfigError
from scaled.screens.bench_screen import BenchScreen
from scaled.screens.client import StationClient
from scaled.screens.palette import ROLES
from scaled.screens.widgets.unfit import LEAST

_ACROSS: Final = [
    (0, "-unfit-across"),
    (LEAST[0], "-narrow"),
    (76, "-usual"),
    (110, "-wide"),
    (180, "-widest"),
]
_DOWN: Final = [
    (0, "-unfit-down"),
    (LEAST[1], "-low"),
    (24, "-high"),
    (30, "-higher"),
    (36, "-tall"),
    (56, "-tallest"),
]
"""Columns and rows from which the style sheet has another layout."""


class BenchApp(App[None]):
    """The cook's screen as an application.

    Attributes:
        bench: Its one screen.
        fault: Why it ended by itself, None when a person ended it.
    """

    TITLE = "scaled bench"
    CSS_PATH = Path(__file__).with_name("bench.tcss")
    ENABLE_COMMAND_PALETTE = False
    HORIZONTAL_BREAKPOINTS = _ACROSS
    VERTICAL_BREAKPOINTS = _DOWN
    # Before any field takes it for copying: it ends a program, here as everywhere.
    BINDINGS: ClassVar = [Binding("ctrl+c", "quit", priority=True)]

    def __init__(self, client: StationClient, *, bell: bool) -> None:
        """Show the client's station.

        Args:
            client: Follows the station.
            bell: Ring when there is something new to do.
        """
        # Without this Textual turns NO_COLOR into shades of grey, which are colours still.
        super().__init__(ansi_color=True if "NO_COLOR" in os.environ else None)
        self.fault: ConfigError | None = None
        self._client = client
        self.bench = BenchScreen(client, bell=bell)

    def get_default_screen(self) -> BenchScreen:
        """The one screen."""
        return self.bench

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """The palette, for the style sheet."""
        return dict(ROLES)

    def on_mount(self) -> None:
        """Begin to follow the station."""
        self.run_worker(self._follow(), exit_on_error=True)

    async def _follow(self) -> None:
        try:
            await self._client.watch(self.bench.take)
        except ConfigError as err:
            self.fault = err
            self.exit(return_code=2)


def bench_app(address: str, station: str | None = None, *, bell: bool = False) -> BenchApp:
    """The cook's screen for one station, ready to run.

    Args:
        address: Where the daemon listens: ``unix:PATH``, ``HOST:PORT`` or ``http://HOST:PORT``.
        station: The station's name; None takes the daemon's only one.
        bell: Ring the terminal's bell when there is something new to do.

    Raises:
        ConfigError: The address is malformed.
    """
    return BenchApp(StationClient(address, station), bell=bell)
