"""A build between two scales: all that one session knows of it, for another to go on with.

A plain value: what :func:`dataclasses.asdict` makes of it is JSON, and
:func:`scaled.core.transit_json.parse_transit` reads that back as the same value. Weights are
rounded to 1 mg and stand above the empty pan, so that they mean the same on any scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Final

from scaled.core.events import Portion
from scaled.core.intake import HEAVIEST_G

MOST_TOGETHER: Final = 3
"""Steps poured together."""
MOST_STEPS: Final = 60
MOST_COURSES: Final = 5
LEAST_CHANCE: Final = 0.01
"""Ways that a build may have gone are not passed on when they are less probable."""
MOST_GESTURES: Final = 1000
LONGEST_S: Final = 86_400.0
"""No build is a day in the making."""

_CONFIG: Final[dict[str, Any]] = {"extra": "forbid"}


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedStep:
    """A step that is done, or several poured together; ``clear``: nothing unexplained."""

    __pydantic_config__: ClassVar = _CONFIG
    steps: tuple[str, ...]
    net_g: float
    u_g: float
    clear: bool

    def __post_init__(self) -> None:
        _check_range("steps", len(self.steps), 1, MOST_TOGETHER)
        _check_range("net_g", self.net_g, -HEAVIEST_G, HEAVIEST_G)
        _check_range("u_g", self.u_g, 0, HEAVIEST_G)


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One way the build may have gone.

    Attributes:
        chance: Probability that it did, more than 0.
        container_g: Weight of the container.
        container_u_g: Its standard uncertainty.
        weighed: The container was weighed alone; otherwise it is taken to be the profile's.
        closed: Steps that are done, in the order done.
        open: The open step, or two poured together.
        open_from_g: Weight at which it began.
        open_from_u_g: Its standard uncertainty.
        gestures: Gestures made towards it; 0 when nothing is in it.
        clear: Nothing unexplained happened in the open step.
        strange: Something unexplained happened in the build.
        gross_g: Weight of all of it.
        gross_u_g: Its standard uncertainty.
    """

    __pydantic_config__: ClassVar = _CONFIG
    chance: float
    container_g: float
    container_u_g: float
    weighed: bool
    closed: tuple[ClosedStep, ...]
    open: tuple[str, ...]
    open_from_g: float
    open_from_u_g: float
    gestures: int
    clear: bool
    strange: bool
    gross_g: float
    gross_u_g: float

    def __post_init__(self) -> None:
        _check_range("chance", self.chance, LEAST_CHANCE, 1)
        _check_range("closed", len(self.closed), 0, MOST_STEPS)
        _check_range("open", len(self.open), 1, MOST_TOGETHER)
        _check_range("gestures", self.gestures, 0, MOST_GESTURES)
        for name in ("container", "open_from", "gross"):
            _check_range(f"{name}_g", getattr(self, f"{name}_g"), -HEAVIEST_G, HEAVIEST_G)
            _check_range(f"{name}_u_g", getattr(self, f"{name}_u_g"), 0, HEAVIEST_G)


@dataclass(frozen=True, slots=True, kw_only=True)
class Transit:
    """A build that left one scale with steps to go.

    Attributes:
        session: Name of the session that began it.
        build: Its number there.
        profile: Id of its profile.
        revision: Revision of that.
        elapsed_s: How long it was built for.
        courses: Ways it may have gone, the most probable first.
        said: Final words on it that the session says; the steps named are no longer to be judged.
        answered: Checks that were answered.
    """

    __pydantic_config__: ClassVar = _CONFIG
    session: str
    build: int
    profile: str
    revision: str
    elapsed_s: float
    courses: tuple[Course, ...]
    said: tuple[Portion, ...] = ()
    answered: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _check_range("elapsed_s", self.elapsed_s, 0, LONGEST_S)
        _check_range("courses", len(self.courses), 1, MOST_COURSES)
        _check_range("said", len(self.said), 0, MOST_STEPS)
        _check_range("answered", len(self.answered), 0, MOST_STEPS)

    @property
    def id(self) -> str:
        """Tells it from every other build."""
        return f"{self.session}/{self.build}"


def _check_range(name: str, value: float, low: float, high: float) -> None:
    """Raises ValueError for anything else, not a number included."""
    if not low <= value <= high:
        raise ValueError(f"{name} is out of range")
