"""Moments of a build for the screen's tests, one for everything it may have to say."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from scaled.core.events import Attribution, Verdict
from scaled.core.live import Ask, Live, Odd, Rung, StepState
from scaled.core.profile import parse_profile
from scaled.screens.scene import Recipe, Scene
from scaled.screens.weight import writing
from scaled.screens.wire import Away
from scaled.station.link import LinkState, LinkStatus
from scaled.station.state import SessionState, StationState

_PROFILES = Path(__file__).parents[2] / "profiles"


def recipe(name: str = "winter-barley-bowl") -> Recipe:
    profile = parse_profile((_PROFILES / f"{name}.toml").read_text(encoding="utf-8"), name)
    return Recipe(profile, writing(profile))


BOWL = recipe()
BREAD = recipe("millstone-flatbread")


def link(state: LinkState = LinkState.LIVE, detail: str = "") -> LinkStatus:
    return LinkStatus(
        t=0.0, state=state, format="ascii-stream", device="/dev/ttyUSB0", detail=detail,
        readings=1200, dropped=0, rate_hz=10.0,
    )  # fmt: skip


def live(dish: Recipe, at: int | None, ask: Ask, **changes: object) -> Live:
    """The build at a step (counted from 0), everything before it passed on target."""
    steps = dish.profile.steps
    rungs = []
    for place, step in enumerate(steps):
        if at is not None and place < at:
            rungs.append(
                Rung(step.id, StepState.DONE, float(step.target_g), Verdict.PASS, Attribution.SURE)
            )
        else:
            rungs.append(Rung(step.id, StepState.OPEN if place == at else StepState.TODO))
    done_g = sum(step.target_g for step in steps[: at or 0])
    aim = None if at is None else steps[at]
    moment = Live(
        t=12.0, build=4, ask=ask, step=None if at is None else steps[at].id, net_g=0.0, u_g=0.41,
        settled=True, amount_g=0.0, scoops=0,
        low_g=aim.target_g - aim.under_g if aim else 0.0,
        target_g=float(aim.target_g) if aim else 0.0,
        high_g=aim.target_g + aim.over_g if aim else 0.0,
        next_step=steps[at + 1].id if at is not None and at + 1 < len(steps) else None,
        confidence=0.99, pan_g=18.0 + done_g, total_net_g=done_g, ladder=tuple(rungs),
        confirms=tuple(check.id for check in dish.profile.confirms),
    )  # fmt: skip
    return replace(moment, **changes)  # type: ignore[arg-type]


def state(moment: Live | None, dish: Recipe = BOWL, badge: str | None = "C-014") -> StationState:
    session = SessionState("s-1", badge, dish.profile.id, datetime(2030, 1, 7, 11, 30, tzinfo=UTC))
    return StationState("line-1", link(), session, moment, badge=badge)


def _amiss(moment: Live) -> Live:
    """The same with the first step over, the second skipped, two poured together."""
    ladder = list(moment.ladder)
    ladder[0] = replace(ladder[0], net_g=152.0, verdict=Verdict.OVER)
    ladder[1] = replace(ladder[1], net_g=None, verdict=Verdict.UNDER, skipped=True)
    ladder[2] = replace(ladder[2], attribution=Attribution.JOINT)
    ladder[3] = replace(ladder[3], net_g=31.0, verdict=Verdict.UNSURE)
    return replace(moment, ladder=tuple(ladder))


_ADD = live(BOWL, 0, Ask.ADD, net_g=82.0, amount_g=36.0, scoops=1)
_LAST = len(BOWL.profile.steps) - 1
_LIFT = live(BOWL, _LAST, Ask.LIFT, net_g=8.0, total_net_g=342.0)
_OPEN = state(_ADD)

PICTURED = live(BOWL, 3, Ask.ADD, net_g=11.0, amount_g=19.0, scoops=1)
PICTURED = replace(
    PICTURED,
    ladder=(
        replace(PICTURED.ladder[0], net_g=123.0),
        replace(PICTURED.ladder[1], net_g=57.0, verdict=Verdict.OVER),
        replace(PICTURED.ladder[2], net_g=76.0),
        *PICTURED.ladder[3:],
    ),
)
"""The moment of the README's picture."""

STATES: dict[str, StationState | None] = {
    "no-station": None,
    "no-session": StationState("line-1", link()),
    "no-weight-yet": state(None),
    "place": state(live(BOWL, None, Ask.PLACE, pan_g=0.0, build=0, u_g=0.0), badge=None),
    "place-laden": state(live(BOWL, None, Ask.PLACE, pan_g=31.0, build=0, u_g=0.0), badge=None),
    "add": _OPEN,
    "add-first": state(live(BOWL, 0, Ask.ADD, amount_g=118.0, scoops=3)),
    "wrong-container": state(
        live(BOWL, 0, Ask.ADD, amount_g=118.0, scoops=3, odd=Odd("paper bowl, 1 L", 26.0))
    ),
    "odd-container": state(live(BOWL, 0, Ask.ADD, amount_g=118.0, scoops=3, odd=Odd(None, 41.0))),
    "add-ounces": state(
        live(BREAD, 2, Ask.ADD, net_g=25.5, amount_g=11.4, scoops=1), BREAD, "C-201"
    ),
    "take-back": state(live(BOWL, 0, Ask.TAKE_BACK, net_g=138.0, amount_g=20.0)),
    "next": state(live(BOWL, 0, Ask.NEXT, net_g=121.0)),
    "hand-over": state(live(BOWL, 3, Ask.HAND_OVER, net_g=31.0)),
    "wait": state(live(BOWL, 0, Ask.WAIT, net_g=171.0, settled=False)),
    "check": state(live(BOWL, 3, Ask.CHECK, net_g=33.0, confidence=0.5)),
    "return": state(live(BOWL, 2, Ask.RETURN, pan_g=0.0)),
    "lift": state(_LIFT),
    "lift-amiss": state(_amiss(_LIFT)),
    "opening": replace(_OPEN, link=link(LinkState.OPENING)),
    "overload": replace(_OPEN, link=link(LinkState.OVERLOAD)),
    "underload": replace(_OPEN, link=link(LinkState.UNDERLOAD)),
    "unsuccessful": replace(_OPEN, link=link(LinkState.UNSUCCESSFUL)),
    "scale-fault": replace(_OPEN, link=link(LinkState.FAULT)),
    "stale": replace(
        _OPEN,
        link=link(
            LinkState.STALE,
            "/dev/ttyUSB0: no readings for 2 s; check that the scale is on and its cable is in",
        ),
    ),
    "wrong-unit": replace(_OPEN, link=link(LinkState.WRONG_UNIT)),
    "asleep": replace(_OPEN, link=link(LinkState.ASLEEP)),
    "flapping": replace(_OPEN, link=link(LinkState.FLAPPING)),
    "busy": replace(_OPEN, link=link(LinkState.BUSY)),
    "lost": replace(_OPEN, link=link(LinkState.LOST, "/dev/ttyUSB0: unplugged; plug it in again")),
    "fault": replace(_OPEN, fault="journal.db: the disk is full; make room"),
}


def scene(name: str, away: Away | None = None) -> Scene:
    """The moment as the screen knows it."""
    said = STATES[name]
    dish = None
    if said is not None and said.session is not None:
        dish = {found.profile.id: found for found in (BOWL, BREAD)}[said.session.profile]
    return Scene(said, dish, away)
