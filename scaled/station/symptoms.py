"""What ails a scale's link, from what it says and how it falls silent; no I/O, no tasks."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.errors import LinkAbsent, LinkBusy, LinkError, LinkLost
from scaled.core.reading import GRAMS, Reading, Unit
from scaled.protocol import Notice, by_radio
from scaled.station.link import LinkState
from scaled.station.silence import nonsense, silence

if TYPE_CHECKING:
    from scaled.protocol import Frame
    from scaled.station.link import ScaleConfig

FLAPS: Final = 4
FLAP_SPAN_S: Final = 60.0
"""So many losses within that, s, are no accidents: a hand pulls a cable once or twice."""

REST_S: Final = 60.0
"""Scales that switch themselves off do after one minute or more without a change
(common practice, no published source)."""
STIR_G: Final = 5.0
"""What counts as a change for them, g (common practice, no published source)."""

_NOTICED: Final = {
    LinkState.OVERLOAD: "more on the scale than it can weigh; take some off",
    LinkState.UNDERLOAD: "below the scale's zero; empty the pan and press the scale's zero key",
    LinkState.UNSUCCESSFUL: "the scale could not weigh; let it come to rest, then empty the pan",
    LinkState.FAULT: "the scale says that it is faulty or must be calibrated; "
    "switch it off and on, and have it seen to if it says so again",
}


class Finding(NamedTuple):
    """A state and, unless all is well, one line for a person: what is wrong and what to do."""

    state: LinkState
    detail: str = ""


class Symptoms:
    """What was seen of one scale, over all its links."""

    def __init__(self, config: ScaleConfig) -> None:
        """Nothing was seen yet."""
        self._config = config
        self._losses: deque[float] = deque(maxlen=FLAPS)
        self._weight_g: float | None = None
        self._stirred_t = self._weighed_t = 0.0

    def heard(self, frame: Frame) -> Finding:
        """The scale said something."""
        if isinstance(frame, Notice):
            state = LinkState(frame.kind)
            return Finding(state, _NOTICED[state])
        self._weigh(frame)
        wanted = self._config.unit
        if wanted is not None and frame.unit not in {wanted, None}:
            what = f"the scale shows {frame.unit}; press its unit key until it shows {wanted}"
            return Finding(LinkState.WRONG_UNIT, what)
        return Finding(LinkState.LIVE)

    def lost(self, err: LinkError, t: float) -> Finding:
        """Its line went away, or could not be opened again, at ``t``, s."""
        if isinstance(err, LinkLost):
            self._losses.append(t)
        if isinstance(err, LinkBusy):
            return Finding(LinkState.BUSY, str(err))
        gone = isinstance(err, LinkLost | LinkAbsent)  # else something else is wrong by now
        if gone and len(self._losses) == FLAPS and t - self._losses[0] <= FLAP_SPAN_S:
            what = f"{err.device}: went away {FLAPS} times within a minute"
            remedy = "move it nearer" if by_radio(err.device) else "fasten or change its cable"
            return Finding(LinkState.FLAPPING, f"{what}; {remedy}")
        if gone and by_radio(err.device) and self._rested:
            return Finding(LinkState.ASLEEP, self._asleep("gone"))
        return Finding(LinkState.LOST, str(err))

    def silent(self, *, senseless: bool) -> Finding:
        """Nothing that makes sense came for a while; ``senseless`` when something else did."""
        config = self._config
        if senseless:
            return Finding(LinkState.STALE, nonsense(config))
        if self._rested:
            return Finding(LinkState.ASLEEP, self._asleep("silent"))
        return Finding(LinkState.STALE, silence(config, heard=self._weight_g is not None))

    @property
    def _rested(self) -> bool:
        """Whether nothing was done at it for so long that it may have switched itself off."""
        return self._weighed_t - self._stirred_t >= REST_S

    def _asleep(self, how: str) -> str:
        rested_min = (self._weighed_t - self._stirred_t) / 60
        why = f"{self._config.device}: {how} after {rested_min:.0f} min without a change"
        return f"{why}; switch the scale on again"

    def _weigh(self, reading: Reading) -> None:
        weight_g = reading.weight * GRAMS[reading.unit or self._config.unit or Unit.G]
        if self._weight_g is None or abs(weight_g - self._weight_g) > STIR_G:
            self._weight_g, self._stirred_t = weight_g, reading.t
        self._weighed_t = reading.t
