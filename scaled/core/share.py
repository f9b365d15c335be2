"""What became of a step that is done, and of a build that is over."""

from __future__ import annotations

from typing import NamedTuple


class Share(NamedTuple):
    """A closed step, or two that were poured together.

    ``clear`` is False when something unexplained happened while it was open.
    """

    group: tuple[int, ...]
    net_g: float
    u_g: float
    clear: bool


class Ended(NamedTuple):
    """A build that left the pan: its shares and its food in all."""

    shares: tuple[Share, ...]
    total_g: float
    total_u_g: float
