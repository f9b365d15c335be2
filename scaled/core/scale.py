"""What somebody said of a scale: how fine its display is, how truly it weighs."""

from __future__ import annotations

from typing import Final, Self

from pydantic import Field, model_validator

from scaled.core.accuracy import LEAST_E_G, AccuracyClass, ByClass
from scaled.core.profile_fields import Table, Weight, broken_rule

_NOMINAL: Final = 0.9
"""0.0002 lb, the smallest step of class III there, is 0.09 g (NIST Handbook 44, 2.20, Table 3)."""


class Scale(Table):
    """A scale's plate, as far as it was written down.

    Attributes:
        division_g: Its smallest displayed step; None: inferred from its readings.
        accuracy_class: Its accuracy class; None: nothing is known of its own error.
        e_g: Its verification scale interval e; None: the division.
    """

    division_g: Weight | None = Field(default=None, alias="division", examples=["1 g"])
    accuracy_class: AccuracyClass | None = Field(default=None, alias="class", examples=["III"])
    e_g: Weight | None = Field(default=None, alias="e", examples=["1 g"])

    @property
    def accuracy(self) -> ByClass | None:
        """How truly it weighs, None when nothing was said of it."""
        e_g = self.e_g or self.division_g
        if self.accuracy_class is None or e_g is None:
            return None
        return ByClass(self.accuracy_class, float(e_g))

    @model_validator(mode="after")
    def _class_and_interval_fit(self) -> Self:
        if self.accuracy_class is None:
            if self.e_g is not None:
                raise broken_rule("class", 'missing; e goes with one, such as class = "III"')
            return self
        if self.accuracy is None:
            raise broken_rule("e", "missing; a class goes with e or the division, as on the plate")
        e_g, least_g = self.accuracy.e_g, LEAST_E_G[self.accuracy_class]
        if e_g < _NOMINAL * least_g:
            raise broken_rule(
                "e",
                f"class {self.accuracy_class} has an e of {least_g:g} g or more, not {e_g:.3g} g;"
                " write both as they stand on the scale's plate",
            )
        if self.division_g is not None and e_g < self.division_g * (1 - 1e-9):
            raise broken_rule("e", "finer than the division; write both as on the scale's plate")
        return self
