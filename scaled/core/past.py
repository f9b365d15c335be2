"""What a cook's earlier sessions say of the next one: a pure function of what was said in them.

A step is the same one when id and ingredient are: an eye is off for an ingredient and a place in
the dish, whatever revision its target is from, and a deviation is a share of the target that stood
then. Under a new ingredient an old id means nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from scaled.core.habit import Habit, deviations

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from scaled.core.events import Portion
    from scaled.core.habit import Deviations
    from scaled.core.profile import BuildProfile


@dataclass(frozen=True, slots=True)
class PastSession:
    """What was said of one cook in one session.

    Attributes:
        profile: What was built.
        words: Final words on portions, in order; those that were taken back are not among them.
    """

    profile: BuildProfile
    words: tuple[Portion, ...]


def habit_from(
    profile: BuildProfile, past: Iterable[PastSession], known: Deviations | None = None
) -> Deviations:
    """What a cook who builds a profile usually puts in, for a session to begin with.

    The same that each session would have handed to the next, had one known of the other.

    Args:
        profile: What is to be built.
        past: The cook's sessions with that dish, oldest first.
        known: What the first of them began with; None: nothing.
    """
    places = {step.id: place for place, step in enumerate(profile.steps)}
    carried = known or {}
    for session in past:
        habit = Habit.of(tuple(places), carried)
        for build in _builds(profile, session):
            habit = habit.after({places[step]: off for step, off in build.items()})
        carried = habit.carried(tuple(places))
    return carried


def _builds(profile: BuildProfile, session: PastSession) -> Iterator[dict[str, float]]:
    """How far off each build's portions were, of steps that are still the same."""
    now = {(step.id, step.ingredient) for step in profile.steps}
    targets_g = {
        step.id: step.target_g
        for step in session.profile.steps
        if (step.id, step.ingredient) in now
    }
    for _, words in groupby(session.words, attrgetter("build")):
        yield deviations(words, targets_g)
