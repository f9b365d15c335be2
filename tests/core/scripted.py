"""A cook who follows a script on a scripted scale, before a session that sees every reading."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar

import pytest

from scaled.core.events import Attribution, Event, Finished, Portion, Settled
from scaled.core.profile import parse_profile
from scaled.core.session import Session
from scaled.core.verdict import Band
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from scaled.core.command import Command
    from scaled.core.live import Live
    from scaled.core.profile import BuildProfile
    from scaled.core.reading import Reading

E = TypeVar("E", bound=Event)

DISH = """
schema = 1
id = "test-bowl"
title = "Test bowl"
revision = "1"

[container]
name = "bowl"
tare = "20 g"
tare_tolerance = "2 g"

[[step]]
id = "grain"
ingredient = "grain"
target = "120 g"
under = "9 g"
over = "9 g"
scoops = 3
tool = { kind = "disher", number = 16 }

[[step]]
id = "beans"
ingredient = "beans"
target = "60 g"
under = "6 g"
over = "6 g"
tool = { kind = "spoodle", volume = "2 fl oz" }

[[step]]
id = "sauce"
ingredient = "sauce"
target = "30 g"
under = "4 g"
over = "4 g"
tool = { kind = "ladle", volume = "1 fl oz" }

[[step]]
id = "seeds"
ingredient = "seeds"
target = "12 g"
under = "3 g"
over = "3 g"
tool = { kind = "cup", volume = "1 tbsp" }

[finished]
weight = "222 g"
under = "15 g"
over = "15 g"

[[confirm]]
id = "lid"
ask = "Lid closed"

[[confirm]]
id = "label"
ask = "Label on"
"""
STEPS = ("grain", "beans", "sauce", "seeds")
BOWL_G = 20.0

GRAIN = (40.0, 41.0, 39.0)
CLEAN = (GRAIN, (60.0,), (30.0,), (12.0,))
"""The gestures of a clean build, step by step."""
TRUTH = dict(zip(STEPS, (120.0, 60.0, 30.0, 12.0), strict=True))
ALL_PASS = dict.fromkeys(STEPS, "pass")


def dish(*changes: tuple[str, str]) -> BuildProfile:
    """The dish of these tests, its text changed."""
    text = DISH
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return parse_profile(text, "test-bowl.toml")


class Cook:
    """Builds on a scripted scale and shows every reading to a session.

    Args:
        profile: What is built; the dish of these tests if left out.
        scale: The scale; shows 1 g steps ten times a second if left out.
        division_g: What the session is told of the scale's division.
    """

    def __init__(
        self,
        profile: BuildProfile | None = None,
        scale: Scale | None = None,
        division_g: float | None = 1.0,
    ) -> None:
        self.scale = scale or Scale()
        self.session = Session(profile or dish(), division_g)
        self.events: list[Event] = []
        self.lives: list[Live] = []

    # What hands do.

    def wait(self, for_s: float) -> Cook:
        return self._show(self.scale.hold(for_s))

    def put(self, *amounts_g: float, pause_s: float = 2.0, in_s: float = 0.3) -> Cook:
        """Add gesture after gesture, a pause after each."""
        for amount_g in amounts_g:
            self._show(self.scale.move(amount_g, in_s)).wait(pause_s)
        return self

    def take(self, amount_g: float, pause_s: float = 2.0) -> Cook:
        return self.put(-amount_g, pause_s=pause_s)

    def press(self, force_g: float, for_s: float = 0.4) -> Cook:
        """Lean on the bowl for a while and let go."""
        self._show(self.scale.move(force_g, 0.1)).wait(for_s)
        return self._show(self.scale.move(-force_g, 0.1)).wait(2.0)

    def start(self, bowl_g: float = BOWL_G) -> Cook:
        """An empty scale, then the bowl."""
        return self.wait(2.0).put(bowl_g)

    def lift(self, off_s: float = 2.0) -> float:
        """Everything off the pan; what it was."""
        load_g = self.scale.load_g
        self.put(-load_g, pause_s=off_s)
        return load_g

    def build(self, *portions: tuple[float, ...]) -> Cook:
        """A whole build: bowl, gestures step by step, lift, and the pan stays empty."""
        self.start()
        for gestures in portions:
            self.put(*gestures).wait(1.0)
        self.lift(off_s=4.0)
        return self

    def tell(self, command: Command) -> list[Event]:
        told = self.session.command(command, self.scale.t)
        self.events += told
        return told

    def close(self) -> Cook:
        self.events += self.session.close(self.scale.t)
        return self

    def _show(self, readings: Iterator[Reading]) -> Cook:
        for reading in readings:
            self.events += self.session.read(reading)
            assert self.session.live is not None
            self.lives.append(self.session.live)
        return self

    # What came of it.

    @property
    def live(self) -> Live:
        assert self.session.live is not None
        return self.session.live

    def told(self, kind: type[E]) -> list[E]:
        return [event for event in self.events if isinstance(event, kind)]

    def portion(self, step: str, build: int = 1) -> Portion:
        """The one final word on a step."""
        (said,) = (p for p in self.told(Portion) if (p.step, p.build) == (step, build))
        return said

    def verdicts(self, build: int = 1) -> dict[str, str]:
        return {p.step: str(p.verdict) for p in self.told(Portion) if p.build == build}

    def finished(self, build: int = 1) -> Finished:
        (said,) = (f for f in self.told(Finished) if f.build == build)
        return said

    def settled(self) -> Settled:
        """The last rest."""
        return self.told(Settled)[-1]


def assert_never_wrong(
    cook: Cook,
    truth: Mapping[str, float] | None = None,
    build: int = 1,
    within_g: float = 2.0,
) -> None:
    """Every portion is either right or said to be unsure or a sum.

    Args:
        cook: Did it, with the dish of these tests.
        truth: What each step really got, g, where it is not the clean build's.
        build: Which one.
        within_g: How far off a weight may be, g.
    """
    real = TRUTH | dict(truth or {})
    bands = {s.id: Band.around(s.target_g, s.under_g, s.over_g) for s in dish().steps}
    for said in cook.told(Portion):
        if said.build == build and said.attribution is Attribution.SURE:
            assert said.net_g == pytest.approx(real[said.step], abs=within_g)
            assert said.verdict is bands[said.step].judge(real[said.step])
            assert said.skipped == (real[said.step] == 0)


class Hire(Protocol):
    """Makes a cook."""

    def __call__(
        self,
        profile: BuildProfile | None = None,
        scale: Scale | None = None,
        division_g: float | None = 1.0,
    ) -> Cook: ...
