"""What the screen speaks from: the hypotheses, as they are for a cook who does what it says.

Final words must hold for whoever builds, so they rest on the tracker alone. A guide may assume
more: its reader has just been told what to do. Without that a cook who corrects a portion as
asked is soon taken for one who has begun the next, and is led astray.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.belief import Mode
from scaled.core.meant import Meanings
from scaled.core.placed import laden
from scaled.core.track import Tracker

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest
    from scaled.core.track import Weighed

OBEYS: Final = 30.0
"""How much likelier a cook with a screen is to do what it says than one without."""
UNLIKELY: Final = 3e-3
"""Beliefs this much less probable than the best are dropped: a screen asks for what is likely,
and no final word hangs on it."""
READ_S: Final = 0.6
"""What was asked for a shorter time than this nobody has read and begun to do: what came next
still belongs to the movement before."""

LIGHTEST: Final = 0.5
"""Share of the lightest right container's weight that whoever was asked for it has set down at
least: less is crumbs, or a coarse display's flicker."""

BACK_G: Final = 5.0
"""What weighs as much as the build that is over, within this, is that build set back."""

Story = tuple[tuple[int, ...], ...]
"""The closed steps in the order they were closed, and the open one."""


def story(belief: Belief) -> Story:
    """What a belief says was done so far."""
    return (*(share.group for share in belief.closed), belief.group)


class Led(NamedTuple):
    """What a cook does next who obeys the screen.

    Attributes:
        stories: What the next rest will say then; none: anything may come.
        lifts: The build is off the pan then; otherwise it stands there.
        places: An empty container is set down.
        good: What is in the open step was called good.
    """

    stories: tuple[Story, ...] = ()
    lifts: bool = False
    places: bool = False
    good: bool = False

    @property
    def expects(self) -> bool:
        """Whether anything is expected."""
        return self.places or bool(self.stories)


class _Asked(NamedTuple):
    """What the screen asked for.

    Attributes:
        led: What the cook does who obeys.
        still: The story when it was asked, and the gestures in its open step: a cook who did
            nothing yet has not done anything else either.
        level_g: What was on the pan then.
        zero_g: Where the empty pan was shown then.
    """

    led: Led = Led()
    still: tuple[Story, int] | None = None
    level_g: float = 0.0
    zero_g: float = 0.0

    def is_other(self, before: _Asked) -> bool:
        """Whether a cook has to read it anew: it asks for something else, or after a gesture."""
        return (self.led[:3], self.still) != (before.led[:3], before.still)

    def is_met(self, belief: Belief, lightest_g: float) -> bool:
        """Whether a belief says that nothing else was done; no container weighs less than that."""
        now = story(belief)
        if self.led.places:
            bare = belief.mode is Mode.EMPTY and abs(belief.level_g - self.level_g) < lightest_g
            placed = _is_placed(belief) and belief.tare_g >= lightest_g
            return bare or placed or self._is_put_right(belief, lightest_g)
        if self.led.lifts:
            return belief.mode is Mode.OFF and now in self.led.stories
        done = belief.mode is Mode.ON and now in self.led.stories
        return done or (now, belief.gestures) == self.still

    def _is_put_right(self, belief: Belief, lightest_g: float) -> bool:
        """Whether only the display was put right, by the key over a free pan.

        On a coarse scale that looks like a container which weighs as much as the zero was off;
        whoever holds one must still be asked to set it down.
        """
        return _is_free(belief) and abs(belief.zero_g) < lightest_g <= abs(self.zero_g)


_NOTHING: Final = _Asked()


class Guide(Tracker):
    """The hypotheses for one scale's pan and a cook who does what the screen says.

    Args:
        plan: What the build should be.

    Attributes:
        asked_s: Since when the screen asks for the same, s.
    """

    def __init__(self, plan: Plan) -> None:
        super().__init__(plan, UNLIKELY)
        self._lightest_g = LIGHTEST * min(known.tare_g for known in plan.containers.right)
        self._asked = self._read = _NOTHING
        self.asked_s = self._began_s = 0.0
        self._moved = False
        self._over_g: float | None = None
        self._weighed = self.beliefs
        self._place: tuple[float, Belief | None] = 0.0, None

    @property
    def best(self) -> Belief | None:
        """The most probable belief of where the build most probably stands, None before any.

        Many beliefs that differ by crumbs may stand against one that is the likeliest alone.
        """
        return self._likeliest()[1]

    @property
    def confidence(self) -> float:
        """Probability that the build stands where :attr:`best` says; 0 before any rest.

        A step that holds nothing yet and one that was begun are two places: a cook is asked for
        something else.
        """
        return self._likeliest()[0]

    @property
    def stands(self) -> float:
        """Probability that a build stands on the pan, whichever and wherever it is."""
        return self.probability(lambda belief: belief.mode is Mode.ON)

    @property
    def called_good(self) -> bool:
        """Whether the screen called the open step good, and nothing was done to it since."""
        best, asked = self.best, self._asked
        return best is not None and asked.led.good and asked.still == (story(best), best.gestures)

    def _likeliest(self) -> tuple[float, Belief | None]:
        """Where the build most probably stands; many ask, also while nothing changes."""
        if self._weighed is not self.beliefs:
            self._weighed, self._place = self.beliefs, _likeliest_place(self.beliefs)
        return self._place

    def take(self, rest: Rest, tracker: Tracker, meant: Meanings | None = None) -> None:
        """Take a new rest: what was asked for is likelier than anything else.

        Args:
            rest: The rest.
            tracker: Has just taken it.
            meant: What it means under the tracker's beliefs, which mostly are the guide's too.
        """
        if not self.beliefs:
            self.follow(tracker)
            return
        self._heed(self._began_s + rest.pause_s)
        self._began_s = rest.begin_s
        heeded = self._obeying if self._read.led.expects and rest.settled else None
        self.grow(rest, {} if meant is None else meant, heeded)

    def _obeying(self, belief: Belief) -> float:
        """How much likelier what a belief says of the new rest is of a cook who obeys."""
        met = self._read.is_met(belief, self._lightest_g) and not self._is_back(belief)
        return OBEYS if met else 1.0

    def _is_back(self, belief: Belief) -> bool:
        """Whether a container may be the build that is over."""
        gross_g = belief.level_g - belief.zero_g
        return self._over_g is not None and abs(gross_g - self._over_g) < BACK_G

    def lead(self, led: Led, t: float) -> None:
        """Remember what the screen asks for at this rest.

        Args:
            led: What the cook does who obeys it.
            t: Time of the reading that it hangs on.
        """
        best = self.best
        seen = ((story(best), best.gestures), best.level_g, best.zero_g) if best else ()
        asked = _Asked(led, *seen)
        if asked.is_other(self._asked):
            self.asked_s = t
        self._asked, self._moved = asked, False

    def _heed(self, moved_s: float) -> None:
        """The pan moved: the cook does what he has read by then."""
        if not self._moved and moved_s - self.asked_s >= READ_S:
            self._read = self._asked
        self._moved = True

    def begin(self, tracker: Tracker) -> None:
        """Begin a build: who was asked for an empty container has put nothing in it yet."""
        asked = self._read.led.places
        self.follow(tracker)
        if asked:
            self.weigh(lambda belief: 1 / OBEYS if _came_fed(belief) else 1.0)

    def end(self, tracker: Tracker) -> None:
        """End a build: who was asked for a container still is, whatever stands there now."""
        asked, left = self._asked, _likeliest_place(self.beliefs)[1]
        self.follow(tracker)
        if asked.led.places:
            bare = _likeliest_place(self.beliefs)[1]
            self._over_g = left.level_g - left.zero_g
            still = story(bare), bare.gestures
            self._asked = _Asked(Led(places=True), still, bare.level_g, bare.zero_g)

    def follow(self, tracker: Tracker) -> None:
        """Begin again from what is believed of any cook: a key was pressed."""
        self.beliefs = tracker.beliefs
        self._asked = self._read = _NOTHING
        self._over_g = None


def _likeliest_place(weighed: tuple[Weighed, ...]) -> tuple[float, Belief]:
    """Probability of the most probable place, and the best belief of it.

    Args:
        weighed: Probability and belief, most probable first; at least one.
    """
    chances: dict[tuple[object, ...], float] = {}
    bests: dict[tuple[object, ...], Belief] = {}
    for chance, belief in weighed:
        place = _place(belief)
        chances[place] = chances.get(place, 0.0) + chance
        bests.setdefault(place, belief)
    place = max(chances, key=chances.__getitem__)
    return chances[place], bests[place]


def _came_fed(belief: Belief) -> bool:
    """Whether a container came with some of the first step, and not from another scale."""
    return belief.gestures > 0 and not belief.closed and belief.origin is None


def _is_placed(belief: Belief) -> bool:
    """Whether an empty container was set down, and has not stood there since the beginning."""
    empty = belief.fresh and not belief.gestures
    return belief.mode is Mode.ON and empty and not belief.zero_guessed


def _is_free(belief: Belief) -> bool:
    """Whether nothing stands on the pan."""
    return belief.mode is Mode.OFF or (belief.mode is Mode.EMPTY and not laden(belief))


def _place(belief: Belief) -> tuple[object, ...]:
    """Where it stands: whether in the bowl of before or in the next one asks for nothing else."""
    return belief.mode, belief.group, belief.gestures > 0
