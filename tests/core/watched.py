"""A movement's watchers as the movement asks them."""

from __future__ import annotations

from collections.abc import Sequence

from scaled.core.foot import Foot
from scaled.core.newest import Sample, earlier
from scaled.core.shoulder import SPAN_S, Shoulders, Stop


def looked(watcher: Foot | Shoulders, window: Sequence[Sample]) -> Stop | None:
    """What it tells of the newest reading; nothing before there are readings to compare it to."""
    before = earlier(window, SPAN_S)
    return None if before is None else watcher.read(window, before)
