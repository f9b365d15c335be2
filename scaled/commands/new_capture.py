"""A capture written as it comes, so that nothing is lost when the program ends without warning."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from scaled.capture import Chunk, chunk_line, note_line
from scaled.core.errors import ConfigError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping


class NewCapture:
    """An open capture."""

    def __init__(self, path: Path, file: TextIO) -> None:
        self._path = path
        self._file = file

    def note(self, key: str, value: str) -> None:
        """Write a note; raises ConfigError when it cannot be written."""
        self._write(note_line(key, value))

    def keep(self, chunk: Chunk) -> None:
        """Write what came; raises ConfigError when it cannot be written."""
        self._write(chunk_line(chunk))

    def _write(self, line: str) -> None:
        try:
            self._file.write(line)
            self._file.flush()
        except OSError as err:
            reason = f"cannot be written ({err.strerror}); free some space or name another file"
            raise ConfigError(str(self._path), "", reason) from err


@contextmanager
def new_capture(name: str | None, notes: Mapping[str, str]) -> Iterator[NewCapture | None]:
    """Begin a capture with these notes; None without a name.

    Raises:
        ConfigError: The file is there already, or cannot be made.
    """
    if name is None:
        yield None
        return
    path = Path(name)
    try:
        file = path.open("x", encoding="utf-8", newline="")
    except FileExistsError as err:
        raise ConfigError(name, "", "is there already; name another file") from err
    except OSError as err:
        raise ConfigError(name, "", f"cannot be written: {err.strerror}") from err
    with file:
        capture = NewCapture(path, file)
        for key, value in notes.items():
            capture.note(key, value)
        yield capture
