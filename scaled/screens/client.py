"""The screen's side of the station's API: follows one station, sends what people press.

The connection mends itself: while the daemon is away the client says so and keeps trying, and
the first message after it is back is the whole state, so nothing has to be remembered here.
"""

from __future__ import annotations

import asyncio
import ssl
from collections.abc import Callable
from typing import Final

import httpx
from pydantic import ValidationError
from websockets.asyncio.client import connect, unix_connect
from websockets.exceptions import InvalidHandshake, WebSocketException

from scaled.address import UnixAddress, parse_address
from scaled.core.errors import CommandRefused, ConfigError, ProfileError
from scaled.core.profile import parse_profile
from scaled.screens.scene import Recipe
from scaled.screens.weight import writing
from scaled.screens.wire import (
    MESSAGE,
    NAMES,
    TITLES,
    Away,
    Command,
    EventsMessage,
    MissedMessage,
    ProfileFile,
    ProfileTitle,
    StateMessage,
)
from scaled.station.state import SessionState, StationState

Update = StateMessage | EventsMessage | MissedMessage | Away

_BACK_OFF_S: Final = (0.25, 0.5, 1.0, 2.0)
_ANSWER_S: Final = 4.0
"""Longest wait for an answer; a daemon that takes longer counts as away."""
_PING_S: Final = 2.0
_CLOSING_S: Final = 0.5
"""A screen that is closed does not wait for a daemon that hangs."""


class StationClient:
    """Follows one station of a daemon and speaks to it.

    Attributes:
        address: Where the daemon listens, as written.
        station: The station's name; None until it is known.
        recipe: Profile of the last state's session; None without a session.
    """

    def __init__(self, address: str, station: str | None = None) -> None:
        """Check the address; nothing is opened yet.

        Args:
            address: ``unix:PATH``, ``HOST:PORT`` or ``http://HOST:PORT`` on this machine.
            station: The station's name; None takes the daemon's only one.

        Raises:
            ConfigError: The address is malformed.
        """
        self.address = address
        self.station = station
        self.recipe: Recipe | None = None
        self._where = parse_address(address.removeprefix("http://").rstrip("/"))
        self._found = False
        self._session: SessionState | None = None

    async def watch(self, show: Callable[[Update], bool | None]) -> None:
        """Call ``show`` with every update, oldest first, until it returns True.

        When a state is shown, :attr:`recipe` is already that of its session.

        Raises:
            ConfigError: At first contact the daemon has no such station, or several.
        """
        tries = 0

        def shown(update: Update) -> bool:
            nonlocal tries
            tries = 0
            return bool(show(update))

        while True:
            away = await self._follow(shown)
            if away is None or show(away):
                return
            await asyncio.sleep(_BACK_OFF_S[min(tries, len(_BACK_OFF_S) - 1)])
            tries += 1

    async def send(self, command: Command) -> None:
        """Ask the station to do something; returns when it is done.

        Raises:
            CommandRefused: The station refused, or cannot be reached; says why.
        """
        name = str(command["command"])
        try:
            async with self._http() as http:
                answer = await http.post(f"/v1/stations/{self.station}/commands", json=command)
        except httpx.HTTPError as err:
            raise CommandRefused(name, "the station is away: nothing was done") from err
        if answer.is_error:
            raise CommandRefused(name, _detail(answer))

    async def answers(self) -> bool:
        """Whether a daemon answers at the address."""
        try:
            await self._get("/v1/stations")
        except httpx.HTTPError:
            return False
        return True

    async def profiles(self) -> list[ProfileTitle]:
        """The profiles there are to choose from.

        Raises:
            CommandRefused: The station cannot be reached.
        """
        try:
            return TITLES.validate_json(await self._get("/v1/profiles"))
        except (httpx.HTTPError, ValidationError) as err:
            raise CommandRefused("profile", "the station is away: no list of dishes") from err

    async def _follow(self, enough: Callable[[Update], bool]) -> Away | None:
        """Follow until the line breaks; why it did, None when it was enough."""
        self.recipe = None
        try:
            await self._find()
            async with self._stream() as messages:
                async for text in messages:
                    message = MESSAGE.validate_json(text)
                    if isinstance(message, StateMessage):
                        await self._fetch_recipe(message.state)
                    if enough(message):
                        return None
        except (ValidationError, ProfileError):
            return Away(f"{self.address} speaks another version than this screen")
        except httpx.HTTPStatusError as err:
            return Away(f"{self.address}: {_detail(err.response)}")
        except InvalidHandshake:
            return Away(f"{self.address} refuses this screen")
        except (OSError, httpx.HTTPError, WebSocketException) as err:
            return unreachable(self.address, err)
        return Away(f"{self.address} closed the line", absent=True)

    async def _find(self) -> None:
        """Make sure of the station's name, once."""
        if self._found:
            return
        names = [found.name for found in NAMES.validate_json(await self._get("/v1/stations"))]
        known = ", ".join(names) or "none"
        if self.station is None and len(names) != 1:
            raise ConfigError("--station", "", f"say which station to show; there are: {known}")
        if self.station is not None and self.station not in names:
            raise ConfigError("--station", self.station, f"no such station; there are: {known}")
        self.station = self.station or names[0]
        self._found = True

    async def _fetch_recipe(self, state: StationState) -> None:
        """Have the profile of the state's session; a new session may have a new revision."""
        session = state.session
        if session is None:
            self.recipe = None
        elif self.recipe is None or self._session != session:
            answer = await self._get(f"/v1/profiles/{session.profile}")
            text = ProfileFile.model_validate_json(answer).text
            profile = parse_profile(text, session.profile)
            self.recipe = Recipe(profile, writing(profile))
        self._session = session

    async def _get(self, path: str) -> bytes:
        async with self._http() as http:
            answer = await http.get(path)
        return answer.raise_for_status().content

    def _http(self) -> httpx.AsyncClient:
        # Plain HTTP on this machine: an empty context spares loading the system's certificates.
        transport = httpx.AsyncHTTPTransport(
            verify=ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT),
            uds=str(self._where.path) if isinstance(self._where, UnixAddress) else None,
        )
        base = "station" if isinstance(self._where, UnixAddress) else str(self._where)
        return httpx.AsyncClient(
            transport=transport, base_url=f"http://{base}", timeout=_ANSWER_S, trust_env=False
        )

    def _stream(self) -> connect:
        path = f"/v1/stations/{self.station}/live"
        if isinstance(self._where, UnixAddress):
            return unix_connect(
                str(self._where.path),
                f"ws://station{path}",
                open_timeout=_ANSWER_S,
                ping_interval=_PING_S,
                ping_timeout=_ANSWER_S,
                close_timeout=_CLOSING_S,
            )
        return connect(
            f"ws://{self._where}{path}",
            proxy=None,
            open_timeout=_ANSWER_S,
            ping_interval=_PING_S,
            ping_timeout=_ANSWER_S,
            close_timeout=_CLOSING_S,
        )


def unreachable(address: str, err: BaseException) -> Away:
    """Why an address cannot be reached."""
    cause: BaseException | None = err
    while cause is not None:
        if isinstance(cause, PermissionError):
            return Away(f"{address} may not be opened by this user")
        cause = cause.__cause__ or cause.__context__
    return Away(f"nothing answers at {address}", absent=True)


def _detail(answer: httpx.Response) -> str:
    """The one line a refusal carries."""
    try:
        detail = answer.json()["detail"]
    except (ValueError, KeyError, TypeError):
        detail = None
    return detail if isinstance(detail, str) else f"not understood (HTTP {answer.status_code})"
