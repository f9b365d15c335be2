"""How well two colours can be told apart by lightness (W3C WCAG 2.2, contrast ratio)."""

from __future__ import annotations


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, from 1 (the same) to 21 (black on white).

    Args:
        one: Colour as ``#rrggbb``.
        other: Colour as ``#rrggbb``; the order of the two does not matter.
    """
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour ``#rrggbb``: 0 black, 1 white."""
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)
