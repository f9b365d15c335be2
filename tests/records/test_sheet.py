from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scaled.core.events import Attribution, BuildStarted, Doubt, Finished, Portion, Verdict
from scaled.records.export import export_lines
from scaled.records.journal import Journal, SessionInfo
from scaled.records.query import Selection
from scaled.records.reader import Records
from scaled.records.sheet import COLUMNS

StoreOne = Callable[..., str]


def parsed(text: str) -> list[list[str]]:
    """The rows as an independent reader sees them."""
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def cells(text: str, row: int = 1) -> dict[str, str]:
    rows = parsed(text)
    return dict(zip(rows[0], rows[row], strict=True))


def sheet(path: Path, build: int | None = None) -> str:
    with Records.open(path) as records:
        return "".join(export_lines(records, "csv", Selection(), build))


@pytest.fixture
def store_one(path: Path, info: SessionInfo, portion: Portion) -> Iterator[StoreOne]:
    """The sheet of a session with one portion; its station, badge or revision as given."""
    with closing(Journal.open(path)) as journal:

        def store(**changed: str) -> str:
            fields: dict[str, Any] = dict(changed)
            journal.begin(replace(info, **fields))
            journal.append(info.session, [portion], [], info.started_at)
            return sheet(path)

        yield store


def test_columns_are_what_they_always_were() -> None:
    assert ",".join(COLUMNS) == (
        "session,station,badge,profile,revision,started_at,build,event,step,ingredient,target_g,"
        "under_g,over_g,net_g,u_g,verdict,confidence,attribution,joint_with,skipped,superseded,t,"
        "at,seq,hash,container,u_scale_g,doubt,scale_check"
    )


def test_one_row_a_portion_and_one_a_finished_build(filled: Path) -> None:
    rows = [cells(sheet(filled), n) for n in range(1, 10)]

    told = [(r["build"], r["event"], r["step"], r["verdict"], r["superseded"]) for r in rows]
    assert told == [
        ("1", "portion", "barley", "pass", "true"),
        ("1", "portion", "barley", "pass", "false"),
        ("1", "portion", "seeds", "over", "false"),
        ("1", "finished", "", "pass", ""),
        ("2", "portion", "barley", "pass", "true"),
        ("2", "portion", "barley", "pass", "false"),
        ("2", "portion", "seeds", "over", "false"),
        ("2", "finished", "", "pass", ""),
        ("", "journal_head", "", "", ""),
    ]


def test_row_of_a_portion(filled: Path) -> None:
    with Records.open(filled) as records:
        hashes = {r.seq: r.hash for r in records.of_kind("20261104T101500Z-line-1", "portion")}

    assert cells(sheet(filled), 3) == {
        "session": "20261104T101500Z-line-1",
        "station": "line-1",
        "badge": "C-014",
        "profile": "winter-barley-bowl",
        "revision": "3",
        "started_at": "2026-11-04T10:15:00.000Z",
        "build": "1",
        "event": "portion",
        "step": "seeds",
        "ingredient": 'pumpkin seeds, "toasted"',
        # 0.5 oz of 28.349523125 g (NIST Handbook 44, Appendix C) and 10 % either way.
        "target_g": "14.175",
        "under_g": "1.417",
        "over_g": "1.417",
        "net_g": "20.5",
        "u_g": "0.41",
        "verdict": "over",
        "confidence": "0.9999",
        "attribution": "sure",
        "joint_with": "",
        "skipped": "false",
        "superseded": "false",
        "t": "20.0",
        "at": "2026-11-04T10:15:30.000Z",
        "seq": "8",
        "hash": hashes[8],
        "container": "",
        "u_scale_g": "",
        "doubt": "",
        "scale_check": "",
    }


def test_row_of_a_finished_build(filled: Path) -> None:
    row = cells(sheet(filled), 4)

    assert row["target_g"] == "142.175"
    assert (row["under_g"], row["over_g"]) == ("9.111", "8.125")  # in quadrature
    assert (row["net_g"], row["u_g"], row["confidence"]) == ("141.0", "0.5", "0.99")
    assert row["attribution"] == row["joint_with"] == row["skipped"] == row["ingredient"] == ""


def test_last_row_carries_the_head(filled: Path) -> None:
    with Records.open(filled) as records:
        count, head = records.count, records.head
    row = cells(sheet(filled), -1)

    assert (row["event"], row["seq"], row["hash"]) == ("journal_head", str(count), head)
    assert sum(1 for cell in row.values() if cell) == 3


def test_joint_and_skipped_portions(
    path: Path, journal: Journal, info: SessionInfo, portion: Portion
) -> None:
    joint = replace(
        portion,
        attribution=Attribution.JOINT,
        joint_with=("seeds", "oil"),
        verdict=Verdict.UNSURE,
    )
    skipped = replace(portion, net_g=None, u_g=None, skipped=True)
    journal.begin(info)
    journal.append(info.session, [joint, skipped], [], info.started_at)

    first, second = cells(sheet(path), 1), cells(sheet(path), 2)
    assert (first["attribution"], first["joint_with"]) == ("joint", "seeds oil")
    assert (second["net_g"], second["u_g"], second["skipped"]) == ("", "", "true")


def test_what_the_scale_has_in_the_uncertainty_and_why_a_verdict_is_unsure(
    path: Path, journal: Journal, info: SessionInfo, portion: Portion, finished: Finished
) -> None:
    unsure = replace(portion, verdict=Verdict.UNSURE, doubt=Doubt.NEAR_LIMIT, u_scale_g=0.577)
    whole = replace(finished, verdict=Verdict.UNSURE, doubt=Doubt.TOO_COARSE, u_scale_g=1.155)
    journal.begin(info)
    journal.append(info.session, [unsure, whole], [], info.started_at)

    first, second = cells(sheet(path), 1), cells(sheet(path), 2)
    assert (first["verdict"], first["doubt"], first["u_scale_g"]) == (
        "unsure", "near_limit", "0.577",
    )  # fmt: skip
    assert (second["doubt"], second["u_scale_g"]) == ("too_coarse", "1.155")


def test_the_container_of_a_build_stands_in_each_of_its_rows(
    path: Path, journal: Journal, info: SessionInfo, portion: Portion, finished: Finished
) -> None:
    bowl = BuildStarted(t=1.0, build=1, tare_g=18.0, u_g=0.4, container="bowl", confidence=0.99)
    strange = replace(bowl, build=2, container=None)
    second = replace(portion, build=2), replace(finished, build=2)
    journal.begin(info)
    journal.append(info.session, [bowl, portion, finished, strange, *second], [], info.started_at)

    rows = [cells(sheet(path), n) for n in range(1, 6)]
    assert [row["container"] for row in rows] == ["bowl", "bowl", "", "", ""]


def test_only_one_build(filled: Path) -> None:
    rows = parsed(sheet(filled, 2))

    assert [row[COLUMNS.index("build")] for row in rows[1:]] == ["2", "2", "2", "2", ""]


class TestRfc4180:
    """RFC 4180, section 2: lines, quoting and escaping."""

    def test_every_line_ends_in_cr_lf_and_has_as_many_fields(self, filled: Path) -> None:
        text = sheet(filled)

        assert text.count("\r\n") == text.count("\n") == text.count("\r") == 10
        assert text.endswith("\r\n")
        assert {len(row) for row in parsed(text)} == {len(COLUMNS)}

    @pytest.mark.parametrize(
        ("badge", "written"),
        [
            ("bbb", ",bbb,"),  # rule 5: may or may not be quoted
            ("b\r\nbb", ',"b\r\nbb",'),  # rule 6
            ("b,bb", ',"b,bb",'),  # rule 6
            ('b"bb', ',"b""bb",'),  # rule 7
            (" bbb ", ", bbb ,"),  # rule 4: spaces belong to the field
        ],
    )
    def test_fields_are_quoted_as_ruled(
        self, store_one: StoreOne, badge: str, written: str
    ) -> None:
        text = store_one(badge=badge)

        assert written in text
        assert cells(text)["badge"] == badge


class TestFormulas:
    """OWASP Application Security Verification Standard 5.0, 1.2.10; CWE-1236."""

    @pytest.mark.parametrize(
        "payload",
        [
            "=cmd|' /C calc'!A0",  # OWASP community page, CSV Injection
            "+1+1",
            "-2+3",
            "@SUM(A1:A9)",
            "\t=1+1",
            "\r=1+1",
            "\n=1+1",
            "\0=1+1",
            '=HYPERLINK("http://example.invalid","x")',
        ],
    )
    @pytest.mark.parametrize("column", ["badge", "station"])
    def test_text_is_led_by_a_single_quote(
        self, store_one: StoreOne, payload: str, column: str
    ) -> None:
        assert cells(store_one(**{column: payload}))[column] == "'" + payload

    def test_ingredient_of_the_profile_is_text_too(
        self, store_one: StoreOne, info: SessionInfo
    ) -> None:
        text = info.profile_text.replace("pearl barley, steamed", "=1+1")

        assert cells(store_one(profile_text=text))["ingredient"] == "'=1+1"

    def test_harmless_text_stays(self, store_one: StoreOne) -> None:
        assert cells(store_one(badge="C-014=x"))["badge"] == "C-014=x"

    def test_negative_number_stays_a_number(
        self, path: Path, journal: Journal, info: SessionInfo, portion: Portion
    ) -> None:
        journal.begin(info)
        journal.append(info.session, [replace(portion, net_g=-0.5)], [], info.started_at)

        assert cells(sheet(path))["net_g"] == "-0.5"


@settings(
    max_examples=40,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(
    badge=st.text(st.characters(codec="utf-8"), max_size=9),
    net_g=st.floats(-9999, 9999),
)
def test_reads_back_whatever_was_stored(
    tmp_path_factory: pytest.TempPathFactory,
    info: SessionInfo,
    portion: Portion,
    badge: str,
    net_g: float,
) -> None:
    path = tmp_path_factory.mktemp("any") / "journal.db"
    with closing(Journal.open(path)) as journal:
        journal.begin(replace(info, badge=badge))
        journal.append(info.session, [replace(portion, net_g=net_g)], [], info.started_at)
    row = cells(sheet(path))

    assert row["badge"].removeprefix("'") == badge.removeprefix("'")
    assert float(row["net_g"]) == round(net_g, 3)
