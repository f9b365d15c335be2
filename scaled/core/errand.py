"""Who is to be told what, so that every scale of a line knows which builds may come to it.

The scales know nothing of each other. From what each of them says of itself follows what each
is still to be told; asked again afterwards, nothing follows.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple, Protocol

from scaled.core.command import Collect, Expect, Forget
from scaled.core.transit import Transit


class Side(Protocol):
    """What a session says of its part in the hand-off."""

    @property
    def leaving(self) -> tuple[Transit, ...]:
        """Builds that left it and are not known to be anywhere."""

    @property
    def expected(self) -> frozenset[str]:
        """Ids of builds that may come to it."""

    @property
    def taken(self) -> tuple[str, ...]:
        """Ids of builds that came to it."""


class Scale(NamedTuple):
    """One scale of the line.

    Attributes:
        session: Name of its session.
        dish: What it builds; builds go only to scales that build the same.
        side: Its part in the hand-off.
    """

    session: str
    dish: tuple[str, str]
    side: Side


def errands(line: Sequence[Scale]) -> Iterator[tuple[str, Expect | Forget | Collect]]:
    """Names of sessions and what to tell each."""
    taken = {name for scale in line for name in scale.side.taken}
    for scale in line:
        for transit in scale.side.leaving:
            if transit.id in taken:
                yield scale.session, Collect(transit.build)
        others = [other for other in line if other.session != scale.session]
        offers = {
            transit.id: transit
            for other in others
            for transit in other.side.leaving
            if other.dish == scale.dish and transit.id not in taken
        }
        for name, transit in offers.items():
            if name not in scale.side.expected:
                yield scale.session, Expect(transit)
        open_yet = {other.session for other in others}
        for name in sorted(scale.side.expected - offers.keys()):
            # One whose session is over may still come.
            if name.rpartition("/")[0] in open_yet:
                yield scale.session, Forget(name)
