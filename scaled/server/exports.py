"""The route to the journal: exports to download."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Final, Literal

from fastapi import APIRouter, HTTPException
from fastapi.responses import StreamingResponse

from scaled.core.errors import ConfigError
from scaled.records.export import export_lines
from scaled.records.query import Selection
from scaled.records.reader import Records
from scaled.server.house import ThisHouse

if TYPE_CHECKING:
    from collections.abc import Iterator

ROUTES = APIRouter(prefix="/v1/records")

_CSV: Final = "text/csv; charset=utf-8"
_MEDIA: Final = {"csv": _CSV, "checks": _CSV, "jsonl": "application/jsonl"}
_BATCH: Final = 200
"""Lines sent in one piece: each piece costs a change of thread."""


@ROUTES.get("/export", response_class=StreamingResponse)
def export(
    house: ThisHouse,
    format: Literal["csv", "jsonl", "checks"] = "csv",  # noqa: A002 -- the parameter's public name
    session: str | None = None,
) -> StreamingResponse:
    """The journal, or one session of it, as a file; whole only with its last line."""
    journal = Records.open(house.journal)
    try:
        lines = export_lines(journal, format, Selection(session=session))
    except ConfigError as err:
        journal.close()
        raise HTTPException(404, str(err)) from err
    ending = "csv" if format == "checks" else format
    name = f"{session or ('checks' if format == 'checks' else 'records')}.{ending}"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return StreamingResponse(_pieces(journal, lines), media_type=_MEDIA[format], headers=headers)


def _pieces(journal: Records, lines: Iterator[str]) -> Iterator[str]:
    with journal:
        while piece := "".join(islice(lines, _BATCH)):
            yield piece
