"""Why a scale that is there gives no weight, in one line for a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scaled.protocol import by_radio

if TYPE_CHECKING:
    from scaled.station.link import ScaleConfig


def nonsense(config: ScaleConfig) -> str:
    """Something arrives that is not in its format."""
    what = "format" if by_radio(config.device) else "format, baud rate and framing"
    return f"{config.device}: what arrives is not {config.format}; check the scale's {what}"


def silence(config: ScaleConfig, *, heard: bool) -> str:
    """Nothing arrives; ``heard`` when there were readings before."""
    silent = f"{config.device}: no readings for {config.stale_s:g} s; check that the scale is on"
    if by_radio(config.device):
        return f"{silent}, awake and speaks {config.format}"
    if heard:
        return f"{silent} and its cable is in"
    line = config.line
    return (
        f"{silent}, its cable is in, and it speaks {config.format} at {line.baud} baud, "
        f"{line.framing}"
    )
