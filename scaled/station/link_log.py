"""What befalls a scale's link, for whoever reads the log: each trouble once, and its end."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Final

from scaled.core.reading import Reading
from scaled.station.link import LinkState
from scaled.station.symptoms import FLAP_SPAN_S

if TYPE_CHECKING:
    from scaled.station.link import LinkStatus

_LOG: Final = logging.getLogger(__name__)


class LinkLog:
    """The log of one station's link."""

    def __init__(self, station: str) -> None:
        """Nothing is wrong yet."""
        self._station = station
        self._told = ""
        self._flapping = False
        self._shaken_t = 0.0

    def hear(self, heard: Reading | LinkStatus) -> None:
        """Say what is wrong with the link now, or that it is well again.

        Of a line that comes and goes that is said once, and no more until something else is or
        until readings came for as long as would have made no flapping of it.
        """
        if not isinstance(heard, Reading):
            self._tell(heard)
        elif self._flapping and heard.t - self._shaken_t >= FLAP_SPAN_S:
            self._flapping, self._told = False, ""
            _LOG.info("%s: weighs again, for %g s without a break", self._station, FLAP_SPAN_S)

    def _tell(self, link: LinkStatus) -> None:
        self._shaken_t = link.t
        if link.detail and link.detail != self._told:
            self._told = link.detail
            self._flapping = link.state is LinkState.FLAPPING
            _LOG.warning("%s: %s", self._station, link.detail)
        elif link.state is LinkState.LIVE and self._told and not self._flapping:
            self._told = ""
            _LOG.info("%s: weighs again", self._station)
