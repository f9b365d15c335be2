"""A cook whose every event and live state must keep the session's promises."""

from __future__ import annotations

import json
import math
from collections import Counter
from typing import TYPE_CHECKING

import pytest

from scaled.core.event_line import event_line
from scaled.core.events import Finished, Portion, Reopened, Settled, Verdict
from scaled.core.live import Ask, StepState
from tests.core.scripted import STEPS, Cook

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scaled.core.live import Live
    from scaled.core.profile import BuildProfile
    from tests.core.scripted import Hire
    from tests.core.scripted_scale import Scale


@pytest.fixture
def cook() -> Iterator[Hire]:
    """Hires cooks; whatever they do, the promises are checked at the end."""
    hired: list[Cook] = []

    def hire(
        profile: BuildProfile | None = None,
        scale: Scale | None = None,
        division_g: float | None = 1.0,
    ) -> Cook:
        hired.append(Cook(profile, scale, division_g))
        return hired[-1]

    yield hire
    for one in hired:
        check_events(one)
        for live in one.lives:
            check_live(live)


def check_events(cook: Cook) -> None:
    times = [event.t for event in cook.events]
    assert times == sorted(times)
    assert [e.build for e in cook.events] == sorted(e.build for e in cook.events)
    for event in cook.events:
        json.loads(event_line(event), parse_constant=pytest.fail)
    # Not finished yet is never called under.
    assert all(rest.verdict is not Verdict.UNDER for rest in cook.told(Settled))
    # A final word is said once, and again only after it was taken back.
    said = Counter((portion.build, portion.step) for portion in cook.told(Portion))
    said.subtract((back.build, back.step) for back in cook.told(Reopened))
    assert all(count <= 1 for count in said.values())
    # A finished build has a word on every step.
    for finished in cook.told(Finished):
        assert all(said[finished.build, step] == 1 for step in STEPS)
        check_sum(finished, cook)
    assert max(Counter(f.build for f in cook.told(Finished)).values(), default=1) == 1


def check_sum(finished: Finished, cook: Cook) -> None:
    """Portions that are all sure add up to the whole."""
    last = {p.step: p for p in cook.told(Portion) if p.build == finished.build}
    if finished.net_g is None or any(p.net_g is None or p.joint_with for p in last.values()):
        return
    doubt_g = math.hypot(finished.u_g or 0.0, *(p.u_g or 0.0 for p in last.values()))
    total_g = sum(p.net_g or 0.0 for p in last.values())
    assert abs(total_g - finished.net_g) <= 3 * doubt_g


def check_live(live: Live) -> None:
    assert all(
        math.isfinite(g)
        for g in (live.net_g, live.u_g, live.amount_g, live.pan_g, live.total_net_g)
    )
    assert 0.0 <= live.confidence <= 1.0 + 1e-9
    assert (live.amount_g > 0) == (live.ask in {Ask.ADD, Ask.TAKE_BACK})
    assert (live.scoops >= 1) == (live.ask is Ask.ADD)
    assert live.ask is not Ask.NEXT or live.next_step is not None
    assert live.ask is not Ask.LIFT or live.next_step is None
    assert tuple(rung.step for rung in live.ladder) == STEPS
    for rung in live.ladder:
        # A step has a verdict when it is done, not before.
        assert (rung.verdict is not None) == (rung.state is StepState.DONE)
        assert rung.state is not StepState.TODO or rung.net_g is None
