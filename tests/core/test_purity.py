"""The core is pure: it loads nothing that reads clocks, files, lines or the network."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import scaled

IMPURE = {
    "asyncio", "bleak", "drivers", "fastapi", "httpx", "logging", "pint", "serial", "simulators",
    "sqlite3", "subprocess", "textual", "uvicorn", "websockets",
}  # fmt: skip
DRAGGED_IN = {"pathlib", "pydantic", "socket", "threading"}
"""Loaded by pydantic, without which no profile can be checked."""


def loaded_by(module: str, *options: str) -> set[str]:
    """What importing ``module`` loads in a fresh interpreter."""
    code = (
        f"import sys; sys.path.insert(0, {str(Path(scaled.__file__).parents[1])!r})\n"
        f"before = set(sys.modules)\nimport {module}\n"
        "print(*{name.split('.')[0] for name in set(sys.modules) - before})"
    )
    run = subprocess.run(
        [sys.executable, "-I", *options, "-c", code], capture_output=True, text=True, check=True
    )
    return set(run.stdout.split())


def test_the_engine_needs_the_standard_library_only_and_of_that_nothing_impure() -> None:
    # Without site (-S) there are no installed packages to import.
    loaded = loaded_by("scaled.core.session", "-S")
    assert "scaled" in loaded
    assert not loaded & (IMPURE | DRAGGED_IN)


def test_profiles_add_only_what_their_checker_drags_in() -> None:
    loaded = loaded_by("scaled.core.profile")
    assert "pydantic" in loaded
    assert not loaded & IMPURE
