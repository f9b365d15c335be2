"""The shelf of described formats: those that are shipped, and any file of a user's own."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Final

from scaled.protocol import Driver, LineSettings, Poll

if TYPE_CHECKING:
    from drivers.described.model import ScaleFormat

_SUFFIX: Final = ".toml"
_SHIPPED: Final = resources.files("drivers.formats")


class FormatShelf:
    """Drivers made of descriptions; see :class:`scaled.protocol.Shelf`."""

    def names(self) -> list[str]:
        """The shipped formats, sorted."""
        files = (entry.name for entry in _SHIPPED.iterdir())
        return sorted(name.removesuffix(_SUFFIX) for name in files if name.endswith(_SUFFIX))

    def driver(self, name: str) -> Driver | None:
        """The driver of a shipped format, or of the description in the file ``name``.

        Raises:
            ConfigError: The file cannot be read or is no description.
        """
        from drivers.described.file import parse_format, read_format  # noqa: PLC0415 -- slow

        if name.endswith(_SUFFIX):
            return described_driver(read_format(Path(name)))
        if name not in self.names():
            return None
        text = (_SHIPPED / f"{name}{_SUFFIX}").read_text(encoding="utf-8")
        return described_driver(parse_format(text, f"{name}{_SUFFIX}"))


def described_driver(description: ScaleFormat) -> Driver:
    """The driver of a description, over any link."""
    from drivers.described.decoder import decoder_maker  # noqa: PLC0415 -- slow imports
    from drivers.links import open_link, radios_near  # noqa: PLC0415
    from drivers.ports import serial_ports  # noqa: PLC0415
    from drivers.steady_name import steady_name  # noqa: PLC0415

    poll, serial = description.poll, description.serial
    return Driver(
        summary=description.summary,
        decoder=decoder_maker(description),
        open=open_link,
        poll=Poll(poll.request.encode("latin-1"), poll.interval_s) if poll else None,
        line=LineSettings(serial.baud, serial.framing),
        steady=steady_name,
        near=(serial_ports, radios_near),
    )


SHELF: Final = FormatShelf()
