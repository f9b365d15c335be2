"""Exports: the journal's records as text, line by line, for people and their tools.

- ``csv``: a spreadsheet of every verdict, see :mod:`scaled.records.sheet`.
- ``jsonl``: every record of the sessions, then of the checks of scales, as stored, one JSON
  object a line, followed by
  ``session``, ``seq``, ``recorded_at``, ``previous`` and ``hash``; without these five, an object
  is the very body that the hash covers (see :mod:`scaled.records.chain`), so that anyone can
  check a line by itself. Raw readings stand in it by their SHA-256.
- ``checks``: a spreadsheet of the checks of scales, see :mod:`scaled.records.check_sheet`.
- ``recording``: the raw readings of one session, or of one of its builds, and the keys pressed
  meanwhile, for ``scaled replay``: of a whole session it says again what was said.

Each carries the head of the journal it came from: ``recording`` in a note, the others in a last
line, without which the file is not whole.
"""

from __future__ import annotations

import json
import os
import secrets
from contextlib import ExitStack
from dataclasses import replace
from itertools import islice
from typing import TYPE_CHECKING, Final

from scaled.core.accuracy import ByVerification
from scaled.core.errors import ConfigError
from scaled.core.events import Tapped
from scaled.recording import LEARNT, recording_text
from scaled.records.body import read_event
from scaled.records.check import CHECKED, accuracy_note
from scaled.records.check_sheet import check_lines
from scaled.records.habit import HABIT, habit_note
from scaled.records.past import habit_at
from scaled.records.query import (
    Selection,
    StoredCheck,
    StoredSession,
    checks,
    readings,
    records,
    sessions,
    understood,
)
from scaled.records.sheet import HEAD, sheet_lines
from scaled.records.told import told_notes

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from scaled.core.accuracy import Accuracy
    from scaled.core.reading import Reading
    from scaled.records.chain import Record
    from scaled.records.reader import Records
    from scaled.records.session import SessionInfo

FORMATS: Final = ("csv", "jsonl", "checks", "recording")


def export_lines(
    journal: Records, form: str, wanted: Selection, build: int | None = None
) -> Iterator[str]:
    """An export as text, each line with its line end, made as it is asked for.

    Args:
        journal: Where from; to stay open until the last line is taken.
        form: One of :data:`FORMATS`.
        wanted: Which sessions; a recording needs exactly one.
        build: Only this build of each session; None for all.

    Raises:
        ConfigError: There is no such format or no session of the name wanted; or a recording was
            asked of none, of several, or of one without readings.
        JournalError: The journal is damaged or was changed; raised by the iterator too, when
            what came before is not the whole.
    """
    if form not in FORMATS:
        raise ConfigError(
            form, "", f"no such format; use {', '.join(FORMATS[:-1])} or {FORMATS[-1]}"
        )
    if form == "checks":
        return check_lines(journal, wanted)
    if wanted.session and not any(sessions(journal, wanted)):
        reason = "no such session; see which there are with: scaled records list"
        raise ConfigError(wanted.session, "", reason)
    if form == "recording":
        return iter(_recording(journal, wanted, build).splitlines(keepends=True))
    chosen = sessions(journal, wanted)
    if form == "csv":
        return sheet_lines(journal, chosen, build)
    of_checks = () if build else checks(journal, wanted)
    return _json_lines(journal, chosen, build, of_checks)


def write_lines(path: Path, lines: Iterable[str]) -> None:
    """Write a file whole or not at all; what was there before stays until then.

    Raises:
        ConfigError: It cannot be written.
    """
    try:
        real = path.resolve()
        if real.exists() and not real.is_file():
            raise ConfigError(str(path), "", "not a file; name one")
        part = real.with_name(f".{real.name}.{secrets.token_hex(4)}.part")
        with part.open("x", encoding="utf-8", newline="") as out, ExitStack() as undo:
            undo.callback(part.unlink)
            out.writelines(lines)
            out.flush()
            os.fsync(out.fileno())
            part.replace(real)
            undo.pop_all()
    except OSError as err:
        reason = f"cannot be written ({err.strerror}); free some space or name another file"
        raise ConfigError(str(path), "", reason) from err


def _json_lines(
    journal: Records,
    chosen: Iterable[StoredSession],
    build: int | None,
    of_checks: Iterable[StoredCheck],
) -> Iterator[str]:
    for session in chosen:
        for record in records(journal, session):
            if build is None or record.build in {0, build}:
                yield _json_line(understood(journal, record, _body) | _place(record))
    for stored in of_checks:
        for record in journal.of_session(stored.check.check, 0, stored.record.seq):
            yield _json_line(understood(journal, record, _body) | _place(record))
    yield _json_line({"event": HEAD, "seq": journal.count, "hash": journal.head})


def _body(record: Record) -> dict[str, object]:
    return dict(json.loads(record.body))


def _place(record: Record) -> dict[str, object]:
    return {
        "session": record.session,
        "seq": record.seq,
        "recorded_at": record.recorded_at,
        "previous": record.previous,
        "hash": record.hash,
    }


def _json_line(fields: dict[str, object]) -> str:
    return json.dumps(fields, ensure_ascii=False, separators=(",", ":")) + "\n"


def _recording(journal: Records, wanted: Selection, build: int | None) -> str:
    chosen = list(islice(sessions(journal, wanted), 2))
    if len(chosen) != 1:
        reason = "holds one session; choose one with --session, listed by: scaled records list"
        raise ConfigError("a recording", "", reason)
    info = chosen[0].info
    found = readings(journal, info.session, build)
    if not found:
        part = "" if build is None else f"build {build}"
        raise ConfigError(info.session, part, "no readings were recorded")
    if build is not None:
        info = replace(info, habit=habit_at(journal, info, build))
    notes = _notes(info, build) | told_notes(journal, info.session) | {HEAD: journal.head}
    return recording_text(found, notes, _pressed(journal, info.session, found))


def _pressed(
    journal: Records, session: str, found: Iterable[Reading]
) -> dict[int, tuple[str, ...]]:
    """The keys pressed in a session, by place of the reading that they were pressed after."""
    places = {round(reading.t, 3): place for place, reading in enumerate(found)}
    keys: dict[int, tuple[str, ...]] = {}
    for record in journal.of_kind(session, Tapped.event):
        event = understood(journal, record, read_event)
        if isinstance(event, Tapped) and event.t in places:
            place = places[event.t]
            keys[place] = (*keys.get(place, ()), event.key)
    return keys


def _notes(info: SessionInfo, build: int | None) -> dict[str, str]:
    notes = {
        "session": info.session,
        "station": info.station,
        "badge": info.badge,
        "profile": info.profile_id,
        "revision": info.profile_revision,
        "build": build,
        "position": info.position,
        HABIT: habit_note(info.habit) if info.habit else None,
        "division": LEARNT if info.division_g is None else f"{info.division_g} g",
        **_accuracy_notes(info.accuracy),
    }
    return {key: str(value) for key, value in notes.items() if value is not None}


def _accuracy_notes(accuracy: Accuracy | None) -> dict[str, str]:
    if accuracy is None:
        return {}
    if isinstance(accuracy, ByVerification):
        return {CHECKED: accuracy_note(accuracy)}
    return {"class": accuracy.accuracy_class, "e": f"{accuracy.e_g} g"}
