"""USB HID weighing devices (usage page 0x8D): the format as a driver.

Reads the packets of :mod:`drivers.hid_link`; what they mean is in :mod:`drivers.hid_report`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from drivers.hid_descriptor import LONGEST
from drivers.hid_link import DESCRIPTOR, HEADER, REPORT, hid_devices_near, open_hid_link
from drivers.hid_name import steady_hid_name
from drivers.hid_report import weighing_report
from scaled.protocol import Driver

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drivers.hid_report import WeighingReport
    from scaled.protocol import Frame


class HidDecoder:
    """Decodes packets; see :class:`scaled.protocol.Decoder`.

    Bytes that are no packet are passed over one by one and counted once a run.
    """

    def __init__(self) -> None:
        self.dropped = 0
        self._rest = b""
        self._astray = False
        self._layout: WeighingReport | None = None

    def feed(self, data: bytes, t: float) -> list[Frame]:
        """Frames completed by these bytes, oldest first, all stamped ``t``."""
        frames = []
        for kind, content in self._packets(data):
            if kind == DESCRIPTOR:
                self._layout = weighing_report(content)
                self.dropped += self._layout is None
                continue
            if self._is_other(content):
                continue
            frame = self._layout.read(content, t) if self._layout else None
            if frame is None:
                self.dropped += 1
            else:
                frames.append(frame)
        return frames

    def _is_other(self, report: bytes) -> bool:
        """Whether it is one of the device's other reports, such as a statistic."""
        layout = self._layout
        return layout is not None and layout.numbered and report[:1] != bytes([layout.number])

    def _packets(self, data: bytes) -> Iterator[tuple[bytes, bytes]]:
        rest, at = self._rest + data, 0
        while len(rest) - at >= HEADER.size:
            kind, size = HEADER.unpack_from(rest, at)
            if kind not in (DESCRIPTOR, REPORT) or not 0 < size <= LONGEST:
                self.dropped += not self._astray
                self._astray = True
                at += 1
                continue
            end = at + HEADER.size + size
            if end > len(rest):
                break
            self._astray = False
            yield kind, rest[at + HEADER.size : end]
            at = end
        self._rest = rest[at:]


DRIVER: Final = Driver(
    summary="USB HID weighing device (usage page 0x8D), by its own report descriptor",
    decoder=HidDecoder,
    open=open_hid_link,
    steady=steady_hid_name,
    near=(hid_devices_near,),
)
