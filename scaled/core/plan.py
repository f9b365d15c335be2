"""The profile as the tracker reads it: bands, gestures and the container, in floats."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from scaled.core.container import Containers
from scaled.core.gesture import Aim
from scaled.core.habit import Habit, deviations
from scaled.core.key_habit import KeyHabit
from scaled.core.verdict import Band, DecisionRule

if TYPE_CHECKING:
    from collections.abc import Iterable

    from scaled.core.accuracy import Accuracy
    from scaled.core.division import LearntDivision
    from scaled.core.events import Portion
    from scaled.core.profile import BuildProfile


@dataclass
class Plan:
    """What is expected of one cook's builds of a profile; learns from each.

    Attributes:
        steps: Ids in profile order.
        aims: For each step its band, its number of gestures and what the cook makes of it, same
            order.
        habit: How far off this cook's portions were.
        keys: How often he presses the tare key.
        containers: What may be set down for it.
        finished: Band of the finished build, food only.
        rule: How weights are judged.
        beyond: Steps that are done at later positions of the hand-off; none when this scale
            stands for all of them.
        positions: For each step where in the hand-off it belongs, None when not written.
    """

    steps: tuple[str, ...]
    aims: tuple[Aim, ...]
    habit: Habit
    containers: Containers
    finished: Band
    rule: DecisionRule
    positions: tuple[str | None, ...]
    beyond: frozenset[int] = frozenset()
    keys: KeyHabit = field(default_factory=KeyHabit, compare=False)
    _pairs: dict[tuple[int, ...], Aim] = field(default_factory=dict, compare=False, repr=False)

    @classmethod
    def of(
        cls,
        profile: BuildProfile,
        division: LearntDivision | None = None,
        accuracy: Accuracy | None = None,
        position: str | None = None,
    ) -> Plan:
        """The plan of a profile, to be judged by what is known of the scale.

        A scale at a ``position`` of the hand-off does not wait for the steps of the others.
        """
        return cls(
            steps=tuple(step.id for step in profile.steps),
            aims=tuple(
                Aim(
                    Band.around(step.target_g, step.under_g, step.over_g),
                    step.scoops,
                    loose=step.tool is None or step.tool.kind == "fingers",
                )
                for step in profile.steps
            ),
            habit=Habit.unknown(len(profile.steps)),
            containers=Containers.of(profile),
            finished=Band.around(
                profile.finished_net_g, profile.finished_under_g, profile.finished_over_g
            ),
            rule=DecisionRule(profile.acceptance == "guarded", accuracy, division),
            beyond=_beyond([step.position for step in profile.steps], position),
            positions=tuple(step.position for step in profile.steps),
        )

    def here(self, steps: tuple[int, ...]) -> tuple[int, ...]:
        """Those of some steps that this scale waits for."""
        return tuple(step for step in steps if step not in self.beyond) if self.beyond else steps

    def learn(self, words: Iterable[Portion]) -> None:
        """Expect of the next build what this cook did in the ones before.

        Args:
            words: Final words on the portions of one build; only sure ones teach anything.
        """
        targets_g = {step: a.band.target_g for step, a in zip(self.steps, self.aims, strict=True)}
        offs = deviations(words, targets_g)
        self.expect(self.habit.after({self.steps.index(step): off for step, off in offs.items()}))

    def expect(self, habit: Habit) -> None:
        """Expect of the next build what this cook usually puts in."""
        self.habit = habit
        pairs = zip(self.aims, habit.usual(), strict=True)
        self.aims = tuple(replace(aim, off=off, spread=spread) for aim, (off, spread) in pairs)
        self._pairs.clear()

    def aim(self, group: tuple[int, ...]) -> Aim:
        """The aim of one step, or of two poured together."""
        if len(group) == 1:
            return self.aims[group[0]]
        known = self._pairs.get(group)
        if known is None:
            known = self._pairs[group] = self._pair(group)
        return known

    def _pair(self, group: tuple[int, ...]) -> Aim:
        aims = [self.aims[i] for i in group]
        bands = [aim.band for aim in aims]
        target = math.fsum(b.target_g for b in bands)
        under = math.hypot(*(b.target_g - b.low_g for b in bands))
        over = math.hypot(*(b.high_g - b.target_g for b in bands))
        return Aim(
            Band.around(target, under, over),
            sum(aim.scoops for aim in aims),
            off=math.fsum(aim.usual_g for aim in aims) / target - 1,
            spread=max(aim.spread for aim in aims),
        )


def _beyond(positions: list[str | None], position: str | None) -> frozenset[int]:
    """Steps that belong to other positions and come after all of this one's."""
    own = [step for step, place in enumerate(positions) if place == position]
    if position is None or not own:
        return frozenset()
    after = enumerate(positions[own[-1] :], own[-1])
    return frozenset(step for step, place in after if place not in {None, position})
