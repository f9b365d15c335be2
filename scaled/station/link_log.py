"""What befalls a scale's link, for whoever reads the log: each trouble once, and its end."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Final

from scaled.station.link import LinkState

if TYPE_CHECKING:
    from scaled.station.link import LinkStatus

_LOG: Final = logging.getLogger(__name__)


class LinkLog:
    """The log of one station's link."""

    def __init__(self, station: str) -> None:
        """Nothing is wrong yet."""
        self._station = station
        self._troubled = False

    def tell(self, link: LinkStatus) -> None:
        """Say what is wrong with it now, or that it is well again."""
        if link.detail:
            self._troubled = True
            _LOG.warning("%s: %s", self._station, link.detail)
        elif link.state is LinkState.LIVE and self._troubled:
            self._troubled = False
            _LOG.info("%s: weighs again", self._station)
