"""What a check of a profile finds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding matters."""

    ERROR = "error"
    """The profile contradicts itself or the scale: builds would be judged wrongly."""
    WARNING = "warning"
    """It can be used, but something will likely go wrong on the line."""
    NOTE = "note"
    """Worth knowing; often something that could not be checked."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found.

    Attributes:
        severity: How much it matters.
        where: The key, as its author sees it: ``step 3 (roots), under``.
        message: What is so, and what to do; one line.
    """

    severity: Severity
    where: str
    message: str

    def __str__(self) -> str:
        return f"{self.severity}: {self.where}: {self.message}"


def error(where: str, message: str) -> Finding:
    """A finding that makes the profile unfit."""
    return Finding(Severity.ERROR, where, message)


def warning(where: str, message: str) -> Finding:
    """A finding that the author should act on."""
    return Finding(Severity.WARNING, where, message)


def note(where: str, message: str) -> Finding:
    """A finding worth knowing."""
    return Finding(Severity.NOTE, where, message)


def step_place(number: int, step_id: str, key: str = "") -> str:
    """Where a finding about a step belongs; steps count from 1."""
    return f"step {number} ({step_id})" + (f", {key}" if key else "")
