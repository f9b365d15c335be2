"""All that a cook's screen knows at one moment."""

from __future__ import annotations

from dataclasses import dataclass

from scaled.core.live import Ask, Live
from scaled.core.profile import BuildProfile, Step
from scaled.core.reading import Unit
from scaled.screens.weight import Writing
from scaled.screens.wire import Away
from scaled.station.day_check import CheckState
from scaled.station.link import WEIGHING
from scaled.station.state import StationState


@dataclass(frozen=True, slots=True)
class Recipe:
    """A build profile and how its weights are written."""

    profile: BuildProfile
    writing: Writing

    @property
    def unit(self) -> Unit:
        """The unit its weights are shown in."""
        return self.writing.unit

    @property
    def largest_g(self) -> float:
        """The largest weight to keep room for in a step, half as much again as its target."""
        return 1.5 * max(step.target_g for step in self.profile.steps)

    def step(self, step_id: str | None) -> Step | None:
        """The step with that id, None when there is none."""
        return next((step for step in self.profile.steps if step.id == step_id), None)


@dataclass(frozen=True, slots=True)
class Scene:
    """What the station last said, and whether it still holds.

    Attributes:
        state: The station's last word, None before the first.
        recipe: The session's profile, None without a session or before it was fetched.
        away: Why the station cannot be followed, None while it can.
        finished: Final word on the last whole build, "" when none was heard.
        checked: The check of the scale that was just made, until somebody goes on.
    """

    state: StationState | None = None
    recipe: Recipe | None = None
    away: Away | None = None
    finished: str = ""
    checked: CheckState | None = None

    @property
    def live(self) -> Live | None:
        """The build as last heard of, fresh or not."""
        return self.state.live if self.state else None

    @property
    def fresh(self) -> bool:
        """Whether the build's weights are those on the pan now."""
        return self.live is not None and self.in_touch

    @property
    def in_touch(self) -> bool:
        """Whether the station and its scale are heard of."""
        return (
            self.away is None
            and self.state is not None
            and self.state.fault is None
            and self.state.link.state in WEIGHING
        )

    @property
    def step(self) -> Step | None:
        """The step being filled; none while the pan waits for a container."""
        if self.recipe is None or self.live is None or self.live.ask is Ask.PLACE:
            return None
        return self.recipe.step(self.live.step)

    @property
    def writing(self) -> Writing:
        """How weights are written now."""
        written = self.recipe.writing if self.recipe else Writing()
        return written.for_uncertainty(self.live.u_g) if self.live else written
