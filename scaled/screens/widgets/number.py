"""The live weight in digits that are read from across a kitchen."""

from __future__ import annotations

from typing import ClassVar

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from scaled.screens import blocks
from scaled.screens.shown import Number


class BigNumber(Widget):
    """The weight with its unit and what it is of; an old weight is drawn hollow."""

    COMPONENT_CLASSES: ClassVar = {"big-number--live", "big-number--old"}

    number: reactive[Number] = reactive(Number())

    def render(self) -> Content:
        """The block, right-aligned in a field of steady width where there is room."""
        number, (width, _) = self.number, self.size
        if not number.digits:
            return Content("")
        size = self._fitting()
        pixel = blocks.SOLID if number.alive else blocks.FADED
        digits = blocks.draw(number.digits, size, pixel)
        unit = blocks.draw(number.unit, size - 1, pixel)[: len(digits) - 1]
        beside = [number.caption, *[""] * (len(digits) - len(unit) - 1), *unit]
        field = max(len(digits[0]), min(self._field(size), width - 2 - max(map(len, beside))))
        style = self.get_visual_style(f"big-number--{'live' if number.alive else 'old'}")
        return Content("\n").join(
            Content.styled(f"{left:>{field}}  {right}", style)
            for left, right in zip(digits, beside, strict=True)
        )

    def _fitting(self) -> int:
        """The largest size at which digits, unit and caption fit."""
        width, height = self.size
        size = max(1, height // 5)
        while size > 1 and self._columns(size) > width:
            size -= 1
        return size

    def _columns(self, size: int) -> int:
        beside = max(blocks.columns(self.number.unit, size - 1), len(self.number.caption))
        return self._field(size) + 2 + beside

    def _field(self, size: int) -> int:
        return max(blocks.columns(text, size) for text in (self.number.digits, self.number.widest))
