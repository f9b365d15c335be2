"""What a cook is likely to do: how large a gesture is, and when a step is done.

Every number is a starting point taken from simulated cooks, not from measured kitchens.
Densities are per gram; all weights in grams.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Final

from scaled.core.verdict import Band

GESTURE_SPREAD: Final = 0.16
"""Spread of one gesture, as a share of its nominal size."""
TOP_UP_SPREAD: Final = 0.35
"""Spread of a correction (a bit more, a bit back), as a share of what was wanted."""
AIMED_BACK: Final = 0.85
"""Share of what is taken back that leaves the target; the rest leaves anything."""
TRIM: Final = 0.05
"""Spread of a bit more on a step that was good already, as a share of the target."""
FINE_G: Final = 0.6
"""Spread that no gesture goes below: crumbs and drops."""
DENSEST: Final = 1 / FINE_G
"""No gesture is of a higher density, 1/g: none is known better, whatever it aims at."""
SURPRISE: Final = 0.06
"""Share of gestures of no particular size, up to ``LARGEST`` targets."""
LOOSE_SURPRISE: Final = 0.35
"""... when no tool gives the gesture its size: fingers come back for another pinch."""
LARGEST: Final = 2.0
ONE_MORE: Final = 0.05
"""Share of portions made in one gesture more than planned, each that much smaller,"""
ONE_MORE_SPREAD: Final = 0.20
"""... with this spread."""
WILD: Final = 0.003
"""Share of gestures of any size at all, up to ``WILDEST_G``: a tub emptied into the bowl."""
WILDEST_G: Final = 2000.0
REPEATS: Final = 0.25
"""Share of gestures after the last planned one that repeat it; the others aim at the target."""
REPEATS_HEAPED: Final = 0.05
"""... where another one would heap the step up"""
HEAPED: Final = 1.25
"""... to more than so many targets."""
ALIKE: Final = 0.3
"""Share of further gestures that are like those before: small ones follow small ones."""
EXACT: Final = 0.7
"""Share of whole portions made at once that are as exact as a finished portion."""
FILLS_UP: Final = 0.5
"""Share of last planned gestures that aim at what is missing, not at the tool's size."""
STEP_SPREAD: Final = 0.07
"""Spread of a finished portion of a cook nobody knows around its target, as a share of it."""
STEEPEST: Final = 0.242
"""So far from its middle, in units of that distance, no normal density is higher at any spread."""
ASKED_AGAIN: Final = 1024
"""Answers kept: beliefs share levels, so at one rest most questions are asked several times."""


@dataclass(frozen=True, eq=False)
class Aim:
    """One step, or two poured together, as the cook aims at it.

    One is never equal to another, so that asking for the same one is quick.
    """

    band: Band
    scoops: int
    loose: bool = False
    """No tool gives a gesture its size."""
    off: float = 0.0
    """How far off the target this cook's portions usually are, as a share of it."""
    spread: float = STEP_SPREAD
    """Spread of this cook's portions around that, as a share of them."""

    @cached_property
    def usual_g(self) -> float:
        """Weight that this cook usually ends at; what passes is the band's alone."""
        return self.band.target_g * (1 + self.off)

    @cached_property
    def scoop_g(self) -> float:
        """Weight of one gesture."""
        return self.usual_g / self.scoops

    @cached_property
    def spread_g(self) -> float:
        """Standard deviation of a finished portion."""
        return self.spread * self.usual_g + FINE_G

    @cached_property
    def odd(self) -> float:
        """Share of gestures of no particular size."""
        return LOOSE_SURPRISE if self.loose else SURPRISE

    @cached_property
    def densest(self) -> float:
        """What no density of the first gestures exceeds."""
        least_g = min(self.spread_g, self.one_more[1], GESTURE_SPREAD * self.scoop_g + FINE_G)
        odd = self.odd / (LARGEST * self.band.target_g)
        return normal(0.0, least_g) + odd + WILD / WILDEST_G

    @cached_property
    def widest_g(self) -> float:
        """Largest standard deviation of anything that a gesture aims at."""
        top_up_g = TOP_UP_SPREAD * self.usual_g + TRIM * self.band.target_g + FINE_G
        all_g = GESTURE_SPREAD * self.usual_g + FINE_G
        return max(self.spread_g, self.one_more[1], top_up_g, all_g)

    @cached_property
    def one_more(self) -> tuple[float, float]:
        """Weight and spread of a gesture of a portion made in one more than planned, g."""
        smaller_g = self.scoop_g * self.scoops / (self.scoops + 1)
        return smaller_g, ONE_MORE_SPREAD * smaller_g + FINE_G


@dataclass(frozen=True, slots=True)
class Intent:
    """Probabilities of what comes after a rest: another gesture, some back, or done."""

    more: float
    back: float
    done: float


_NOT_BEGUN: Final = Intent(more=1.0, back=0.0, done=0.0)
_GOOD: Final = Intent(more=0.06, back=0.02, done=0.92)
_GOOD_EARLY: Final = Intent(more=0.10, back=0.02, done=0.88)
_OVER: Final = Intent(more=0.03, back=0.40, done=0.57)
_LONGEST_SHORTFALL: Final = 2.0
"""Shortfalls, in portion spreads, beyond which few cooks call a step done."""
_FAR_SHORT: Final = 0.04
"""Share of steps left far short,"""
_HALF: Final = 0.5
"""... down to about this share of the target; with less hardly anybody moves on,"""
_HARDLY: Final = 0.005
"""... but so many do."""
_LOST_COUNT: Final = 0.012
"""Share of steps left with a gesture to go: who knows the dish counts."""


@lru_cache(ASKED_AGAIN)
def intent(aim: Aim, net_g: float, gestures: int) -> Intent:
    """What a cook does next with ``net_g`` in the step after so many gestures."""
    if gestures == 0:
        return _NOT_BEGUN
    if net_g > aim.band.high_g:
        return _OVER
    if net_g >= aim.band.low_g:
        return _GOOD if gestures >= aim.scoops else _GOOD_EARLY
    floor = _FAR_SHORT if net_g > _HALF * aim.band.target_g else _HARDLY
    if gestures < aim.scoops:
        lost = min(floor, _LOST_COUNT)
        return Intent(more=0.99 - lost, back=0.01, done=lost)
    z = max(aim.usual_g - net_g, 0.0) / aim.spread_g / _LONGEST_SHORTFALL
    done = max(floor, 0.6 * math.exp(-0.5 * z * z))
    return Intent(more=1 - done - 0.01, back=0.01, done=done)


@lru_cache(ASKED_AGAIN)
def added(aim: Aim, net_g: float, gestures: int, amount_g: float, u_g: float) -> float:
    """Density of adding ``amount_g`` to a step that holds ``net_g``."""
    size = aim.scoop_g
    room = LARGEST * aim.band.target_g - net_g + 2 * u_g  # known no better than that
    odd = aim.odd
    surprise = odd * flat(amount_g, room) if room > FINE_G else 0.0
    surprise += WILD * flat(amount_g, WILDEST_G)
    planned = aim.scoops - gestures
    if planned > 0:
        smaller_g, spread_g = aim.one_more
        one_more = ONE_MORE * normal(amount_g - smaller_g, math.hypot(spread_g, u_g))
        usual = _planned(aim, planned, amount_g, u_g)
        if planned == 1 and gestures:
            missing = aim.usual_g - net_g
            spread = math.hypot(aim.spread_g, u_g)
            usual = FILLS_UP * normal(amount_g - missing, spread) + (1 - FILLS_UP) * usual
        if gestures:
            alike_g = min(max(net_g, 0.0) / gestures, aim.usual_g)
            spread = math.hypot(GESTURE_SPREAD * alike_g + FINE_G, u_g)
            usual = ALIKE * normal(amount_g - alike_g, spread) + (1 - ALIKE) * usual
        return surprise + (1 - odd) * (one_more + (1 - ONE_MORE) * usual)
    wanted = max(aim.usual_g - net_g, 0.0)
    spread = math.hypot(TOP_UP_SPREAD * wanted + TRIM * aim.band.target_g + FINE_G, u_g)
    heaped = net_g + size > HEAPED * aim.band.target_g
    repeats = REPEATS_HEAPED if heaped else REPEATS
    correction = (1 - repeats) * normal(amount_g - wanted, spread)
    again = repeats * normal(amount_g - size, math.hypot(GESTURE_SPREAD * size + FINE_G, u_g))
    return surprise + (1 - odd) * (correction + again)


def densest(aim: Aim, net_g: float, amount_g: float, u_g: float) -> float:
    """What :func:`added` never exceeds: a quick look beforehand; no weight is below 0 g."""
    over_g = amount_g - aim.usual_g
    if over_g <= 0:
        return math.inf
    # All that gestures aim at lies below by so much at least.
    widest_g = math.hypot(aim.widest_g, u_g)
    aimed = normal(over_g, widest_g) if over_g > widest_g else STEEPEST / over_g
    room_g = LARGEST * aim.band.target_g - net_g + 2 * u_g
    surprise = aim.odd / room_g if amount_g <= room_g else 0.0
    return aimed + surprise + WILD / WILDEST_G


def _planned(aim: Aim, planned: int, amount_g: float, u_g: float) -> float:
    """One gesture, or several in one change when the pan had no rest between them."""
    density = 0.0
    for share, sum_g, spread_g, whole in sums(aim, planned):
        scooped = normal(amount_g - sum_g, math.hypot(spread_g, u_g))
        if whole:
            exact = normal(amount_g - aim.usual_g, math.hypot(aim.spread_g, u_g))
            scooped = EXACT * exact + (1 - EXACT) * scooped
        density += share * scooped
    return density


@lru_cache(ASKED_AGAIN)
def sums(aim: Aim, planned: int) -> tuple[tuple[float, float, float, bool], ...]:
    """How often gestures are made together, their sum and its spread, and whether they are all."""
    found, left, most = [], 1.0, min(planned, 4)
    for together in range(1, most + 1):
        share = left if together == most else 0.8 * left
        left -= share
        spread_g = GESTURE_SPREAD * aim.scoop_g * math.sqrt(together) + FINE_G
        found.append((share, together * aim.scoop_g, spread_g, together == aim.scoops))
    return tuple(found)


def taken(aim: Aim, net_g: float, amount_g: float, u_g: float) -> float:
    """Density of taking ``amount_g`` off a step that holds ``net_g``: not more than it holds."""
    if amount_g > net_g + 3 * u_g:
        return 0.0
    excess = max(net_g - aim.usual_g, 0.0)
    spread = math.hypot(TOP_UP_SPREAD * excess + FINE_G, u_g)
    aimed = AIMED_BACK * normal(amount_g - excess, spread)
    return aimed + (1 - AIMED_BACK) * flat(amount_g, max(net_g, 1.0))


def normal(x: float, spread: float) -> float:
    """Density of a normal variate of mean 0 at ``x``."""
    z = x / spread
    return math.exp(-0.5 * z * z) / (spread * 2.5066282746310002) if -12 < z < 12 else 0.0


def flat(x: float, width: float) -> float:
    """Density of a uniform variate between 0 and ``width``."""
    return 1 / width if 0 <= x <= width else 0.0


def log_flat(x: float, ends: tuple[float, float]) -> float:
    """Density of a variate whose logarithm is uniform between two ends.

    It is flat below the lower end, and goes on above the upper one.
    """
    least, most = ends
    return 1 / math.log(most / least) / max(x, least)
