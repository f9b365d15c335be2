"""The layout of the cook's screen, its keys, and what they ask of the station."""

from __future__ import annotations

import time
from typing import ClassVar, Final, NamedTuple

from textual import work
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import Screen

from scaled.core.errors import CommandRefused
from scaled.core.profile import Confirm
from scaled.screens.client import StationClient, Update
from scaled.screens.dialogs.abandon import AbandonDialog
from scaled.screens.dialogs.badge import BadgeDialog
from scaled.screens.dialogs.check import Answer, CheckDialog
from scaled.screens.dialogs.dish import DishDialog
from scaled.screens.dialogs.scale_check import ScaleCheckDialog
from scaled.screens.follower import Follower
from scaled.screens.marks import Mark
from scaled.screens.scene import Scene
from scaled.screens.shown import View
from scaled.screens.view import view
from scaled.screens.widgets.banner import Banner
from scaled.screens.widgets.heading import Heading
from scaled.screens.widgets.ingredient import Ingredient
from scaled.screens.widgets.keys import Keys
from scaled.screens.widgets.ladder import Ladder
from scaled.screens.widgets.notice import Notice
from scaled.screens.widgets.number import BigNumber
from scaled.screens.widgets.rail import Rail
from scaled.screens.widgets.unfit import Unfit
from scaled.screens.wire import Away, Command
from scaled.screens.words import asked

_FRAME_S: Final = 0.08
"""Updates are drawn together at this interval: the eye sees no more, the processor rests."""
_NEWS_S: Final = 3.0
"""A live scale is heard of many times a second; after this long without, it is not live."""
_HELD_UP_S: Final = 0.5
"""A screen that was held up itself for longer has news waiting; no more than that counts."""
_QUESTIONS: Final = "questions"
_RINGING: Final = frozenset({Mark.GOOD, Mark.TAKE_BACK, Mark.DONE, Mark.AMISS, Mark.DOUBT})


class _Build(NamedTuple):
    """One build of one session; every session counts its builds from 1."""

    session: str
    number: int


class BenchScreen(Screen[None]):
    """What the cook looks at; hands-free unless somebody presses a key."""

    BINDINGS: ClassVar = [
        ("n,space,pagedown", "next", "next"),
        ("u,backspace,pageup", "undo", "undo"),
        ("c", "checks", "checks"),
        ("b", "badge", "badge"),
        ("p", "dish", "dish"),
        ("s", "scale", "scale"),
        ("q", "app.quit", "quit"),
    ]

    def __init__(self, client: StationClient, *, bell: bool) -> None:
        """Show what :meth:`take` is given; send what is pressed through ``client``."""
        super().__init__()
        self._client = client
        self._bell = bell
        self._follower = Follower()
        self._drawn: Scene | None = None
        self._mark = Mark.WAIT
        self._looked_at, self._quiet_s = time.monotonic(), 0.0

    def compose(self) -> ComposeResult:
        """Heading, ingredient with number and rail beside the ladder, advice, keys."""
        yield Heading()
        with Horizontal(id="middle"):
            with Vertical(id="now"):
                yield Ingredient()
                yield BigNumber()
                yield Rail()
            yield Ladder()
        yield Banner()
        yield Notice()
        yield Keys()
        yield Unfit()

    def on_mount(self) -> None:
        """Draw now and from now on."""
        self.draw()
        self.set_interval(_FRAME_S, self.draw)

    def take(self, update: Update) -> None:
        """Take an update; it is drawn with the next frame."""
        self._quiet_s = 0.0
        if said := self._follower.take(update, self._client.recipe):
            self._say(said)

    @property
    def _scene(self) -> Scene:
        return self._follower.scene

    def draw(self) -> None:
        """Show the latest, if it is not shown yet."""
        now = time.monotonic()
        self._quiet_s += min(now - self._looked_at, _HELD_UP_S)
        self._looked_at = now
        if self._scene.in_touch and self._quiet_s > _NEWS_S:
            silent = Away(f"{self._client.address} says nothing")
            self._follower.take(silent, self._client.recipe)
        if self._scene is not self._drawn:
            self._drawn = self._scene
            self._show(view(self._scene))

    def _show(self, shown: View) -> None:
        heading, ladder = self.query_one(Heading), self.query_one(Ladder)
        heading.title, heading.facts = shown.title, shown.facts
        ladder.rungs, ladder.checks = shown.ladder, shown.checks
        self.query_one(Ingredient).card = shown.card
        self.query_one(BigNumber).number = shown.number
        self.query_one(Rail).gauge = shown.gauge
        self.query_one(Banner).advice = shown.advice
        self.query_one(Unfit).view = shown
        if self._bell and shown.advice.mark is not self._mark and shown.advice.mark in _RINGING:
            self.app.bell()
        self._mark = shown.advice.mark

    # Workers, all of these: a daemon that is slow to answer must not hold up the drawing.

    @work
    async def action_next(self) -> None:
        """The open step is done; what came of a check of the scale was seen."""
        if not self._follower.go_on():
            self._say(await self._send({"command": "next"}))

    @work
    async def action_undo(self) -> None:
        """The last step is not done after all."""
        self._say(await self._send({"command": "undo"}))

    @work(group=_QUESTIONS, exclusive=True)
    async def action_checks(self) -> None:
        """Ask the open checks of this build, one after the other."""
        build, checks = self._build(), self._open_checks()
        if build is None or not checks:
            self._say("no checks to answer now")
            return
        said, noes = "", []
        for place, check in enumerate(checks, start=1):
            title = f"Build {build.number}: check {place} of {len(checks)}"
            answer = await self.app.push_screen_wait(
                CheckDialog(check, title, said=said, stands=lambda: self._build() == build)
            )
            if answer is None:
                break
            if answer is not Answer.LATER:
                said = await self._confirm(check, answer)
            if answer is Answer.NO:
                noes.append(said)
        if self._build() != build:
            said = f"the checks of build {build.number} are closed: it is not the live one now"
            noes.insert(0, said)
        # A "no" is what somebody has to act on: it is seen again, however many follow it.
        self._say("; ".join(noes) or said)

    async def _confirm(self, check: Confirm, answer: Answer) -> str:
        """Send an answer; what came of it."""
        held = answer is Answer.YES
        refusal = await self._send({"command": "confirm", "confirm": check.id, "held": held})
        return refusal or f"answered: {answer.value}: {asked(check)}"

    @work(group=_QUESTIONS, exclusive=True)
    async def action_badge(self) -> None:
        """Ask who is building."""
        session = self._scene.state.session if self._scene.state else None

        async def sign_in(code: str) -> str:
            return await self._send({"command": "badge", "badge": code})

        await self.app.push_screen_wait(BadgeDialog(session.badge if session else None, sign_in))

    @work(group=_QUESTIONS, exclusive=True)
    async def action_dish(self) -> None:
        """Ask what is built."""
        try:
            titles = await self._client.profiles()
        except CommandRefused as err:
            self._say(err.reason)
            return
        current = self._scene.recipe.profile.id if self._scene.recipe else None
        chosen = await self.app.push_screen_wait(DishDialog(titles, current))
        if chosen is not None:
            self._say(await self._send({"command": "profile", "profile": chosen}))

    @work(group=_QUESTIONS, exclusive=True)
    async def action_scale(self) -> None:
        """Ask for a check of the scale or, while one is made, whether to abandon it."""
        state = self._scene.state
        if state is not None and state.checking is not None:
            if await self.app.push_screen_wait(AbandonDialog()):
                self._say(await self._send({"command": "abandon"}))
            return

        async def begin(weights: str) -> str:
            named = [weight.strip() for weight in weights.split(",")]
            return await self._send({"command": "check", "weights": named})

        check, badge = (state.check, state.badge) if state is not None else (None, None)
        await self.app.push_screen_wait(ScaleCheckDialog(check, badge, begin))

    def _open_checks(self) -> list[Confirm]:
        if self._scene.live is None or self._scene.recipe is None:
            return []
        ids = self._scene.live.confirms
        return [check for check in self._scene.recipe.profile.confirms if check.id in ids]

    def _build(self) -> _Build | None:
        """The build that an answer given now would be for, None when that cannot be told."""
        state = self._scene.state
        if self._scene.away or not (state and state.session and state.live and state.live.build):
            return None
        return _Build(state.session.session, state.live.build)

    async def _send(self, command: Command) -> str:
        """Why the station refused, "" when it did not."""
        try:
            await self._client.send(command)
        except CommandRefused as err:
            return err.reason
        return ""

    def _say(self, text: str) -> None:
        self.query_one(Notice).text = text
