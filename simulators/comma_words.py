r"""Comma-separated words, for example ``123.5,g,steady,gross`` and CR LF.

The number as displayed, or ``---``; the unit; ``steady``, ``moving``, ``over`` or ``under``;
``gross`` or ``net``.
"""

from __future__ import annotations

from simulators.display import Shown, Span

_OUTSIDE = {Span.ABOVE: "over", Span.BELOW: "under"}


def comma_words(shown: Shown) -> bytes:
    """One reading as it is sent."""
    outside = _OUTSIDE.get(shown.span)
    number = "---" if outside else f"{shown.weight:f}"
    status = outside or ("steady" if shown.stable else "moving")
    mode = "net" if shown.net else "gross"
    return f"{number},{shown.unit},{status},{mode}\r\n".encode("ascii")
