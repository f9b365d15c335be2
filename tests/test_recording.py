from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.accuracy import ByClass
from scaled.core.errors import RecordingError
from scaled.core.reading import Reading, Unit
from scaled.core.scale import Scale
from scaled.recording import KEYS, Recording, parse_recording, read_recording, recording_text

if TYPE_CHECKING:
    from pathlib import Path

HEADER = "t,weight,unit,stable\n"

finite = st.floats(allow_nan=False, allow_infinity=False)
readings_in_order = st.lists(
    st.builds(
        Reading,
        finite,
        finite,
        st.sampled_from([None, *Unit]),
        st.sampled_from([None, True, False]),
    ),
    min_size=1,
).map(lambda readings: tuple(sorted(readings, key=lambda reading: reading.t)))
words = st.text(st.characters(codec="utf-8")).map(lambda text: " ".join(text.split()))
notes = st.dictionaries(
    words.filter(lambda key: ":" not in key and key not in {"division", "class", "e"}),
    words,
    max_size=5,
)


pressed = st.lists(st.sampled_from([*KEYS]), min_size=1, max_size=3).map(tuple)


@given(readings_in_order, notes, st.data())
def test_what_is_written_reads_back_the_same(
    readings: tuple[Reading, ...], notes: dict[str, str], data: st.DataObject
) -> None:
    text = recording_text(readings, notes)
    assert parse_recording(text, "r.csv") == Recording(readings, notes, {}, Scale(), "r.csv")
    places = st.integers(0, len(readings) - 1)
    keys = data.draw(st.dictionaries(places, pressed, max_size=5))
    text = recording_text(readings, notes, keys)
    assert parse_recording(text, "r.csv") == Recording(readings, notes, keys, Scale(), "r.csv")


def test_the_plate_of_the_scale() -> None:
    notes = "# division: 0.1 g\n# class: II\n# e: 1 g\n"
    assert parse_recording(notes + HEADER + "0,1,g,1\n", "r.csv").scale.accuracy == ByClass(
        "II", 1.0
    )
    learnt = notes.replace("0.1 g", "learnt")
    scale = parse_recording(learnt + HEADER + "0,1,g,1\n", "r.csv").scale
    assert (scale.division_g, scale.accuracy) == (None, ByClass("II", 1.0))


def test_keys_and_a_learnt_division(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text(
        "# division: 1 g\n# division: learnt\n"
        "key,t,weight,unit,stable\n,0,1,g,1\nnext undo,1,1,g,1\n next ,1,2,g,1\n"
    )
    recording = read_recording(path)
    assert recording.keys == {1: ("next", "undo"), 2: ("next",)}
    assert (recording.learnt, recording.scale.division_g) == (True, None)
    path.write_text("# division: learnt\n# division: 1 g\n" + HEADER + "0,1,g,1\n")
    recording = read_recording(path)
    assert recording.keys == {}
    assert (recording.learnt, recording.scale.division_g) == (False, 1.0)


def test_reads_columns_in_any_order_and_ignores_further_ones(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text(
        "# division: 0.5 oz\n"
        "# a remark without its key\n"
        "remark,stable, weight ,unit,t\n"
        '"two\nlines",1,12.5,oz,0\n'
        "\n"
        "# station: hot line: 2\n"
        "#division: 1 g\n"
        ",0,-3,,0\n"
        ",,1e2,kg,.5,and more\n"
    )
    recording = read_recording(path)
    assert recording.readings == (
        Reading(0.0, 12.5, Unit.OZ, True),
        Reading(0.0, -3.0, None, False),
        Reading(0.5, 100.0, Unit.KG, None),
    )
    assert recording.notes == {"division": "1 g", "station": "hot line: 2"}
    assert recording.scale.division_g == 1.0
    assert recording.where == str(path)


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_line_ends_and_a_byte_order_mark_do_not_matter(tmp_path: Path, line_end: str) -> None:
    path = tmp_path / "r.csv"
    path.write_bytes(line_end.join(["\ufeff" + HEADER.strip(), "0,1,g,1", "1,2,g,0"]).encode())
    assert [reading.weight for reading in read_recording(path).readings] == [1.0, 2.0]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "r.csv: empty; the first line must be t,weight,unit,stable"),
        ("# division: 1 g\n", "r.csv: empty; the first line must be t,weight,unit,stable"),
        (HEADER, "r.csv: no readings; write some below t,weight,unit,stable"),
        (
            "t,weight,unit\n0,1,g\n",
            "r.csv: line 1: the column stable is not in the header; need t,weight,unit,stable",
        ),
        (
            "t,weight,unit,stable,t\n0,1,g,1,0\n",
            "r.csv: line 1: the column t is twice in the header; need t,weight,unit,stable",
        ),
        (
            "t;weight;unit;stable\n0;1;g;1\n",
            "r.csv: line 1: the column t is not in the header; need t,weight,unit,stable",
        ),
        (HEADER + "0,1\n", "r.csv: line 2: 2 values where the header has 4"),
        (HEADER + "0,heavy,g,1\n", 'r.csv: line 2, weight: "heavy" is not a number'),
        (HEADER + "0,,g,1\n", 'r.csv: line 2, weight: "" is not a number'),
        (HEADER + "nan,1,g,1\n", 'r.csv: line 2, t: "nan" is not a number'),
        (HEADER + "0,-inf,g,1\n", 'r.csv: line 2, weight: "-inf" is not a number'),
        (HEADER + "0,1e999,g,1\n", 'r.csv: line 2, weight: "1e999" is not a number'),
        (HEADER + '0,"1\n2",g,1\n', 'r.csv: line 3, weight: "1 2" is not a number'),
        (HEADER + "0,1_0,g,1\n", 'r.csv: line 2, weight: "1_0" is not a number'),
        (
            "# division: 1 g\n\n" + HEADER + "2,1,g,1\n2,1,g,1\n1.5,1,g,1\n",
            "r.csv: line 6, t: time runs backwards, from 2.0 to 1.5",
        ),
        (
            HEADER + "0,1,st,1\n",
            'r.csv: line 2, unit: unknown unit "st"; write g, kg, oz, lb or nothing',
        ),
        (
            "t,weight,unit,stable,key\n0,1,g,1,nexttime\n",
            'r.csv: line 2, key: "nexttime" is not next, undo or empty',
        ),
        (
            "key,t,weight,unit,stable,key\n,0,1,g,1,\n",
            "r.csv: line 1: the column key is twice in the header; need t,weight,unit,stable",
        ),
        (HEADER + "0,1,g,yes\n", 'r.csv: line 2, stable: "yes" is not 1, 0 or empty'),
        (
            "# division: 1\n" + HEADER,
            'r.csv: line 1, division: "1" has no unit; write a weight such as "128 g"',
        ),
        (
            "# division: -1 g\n" + HEADER,
            'r.csv: line 1, division: "-1 g" is below zero; write a weight such as "128 g"',
        ),
        (
            "# class: III\n" + HEADER,
            "r.csv: line 1, e: missing; a class goes with e or the division, as on the plate",
        ),
        (
            "# note: x\n# class: V\n# e: 1 g\n" + HEADER,
            'r.csv: line 2, class: "V" is not known; write "I", "II", "III" or "IIII"',
        ),
        (
            HEADER + '0,1,g,"' + "1" * 140_000 + '"\n',
            "r.csv: line 2: not readable as CSV: field larger than field limit (131072)",
        ),
    ],
)
def test_bad_text_gives_one_clear_line(text: str, line: str) -> None:
    with pytest.raises(RecordingError) as caught:
        parse_recording(text, "r.csv")
    assert str(caught.value) == line


def test_files_that_cannot_be_read_give_one_clear_line(tmp_path: Path) -> None:
    (tmp_path / "latin.csv").write_bytes("# cuisinière: Zoë\n".encode("latin-1"))
    for name, reason in (
        ("missing.csv", "does not exist; check the path"),
        ("latin.csv", "not UTF-8 text; save it as UTF-8 CSV"),
        ("", "a folder, not a file; name the CSV in it"),
        ("latin.csv/deeper", "cannot be read: Not a directory"),
    ):
        path = tmp_path / name
        with pytest.raises(RecordingError) as caught:
            read_recording(path)
        assert str(caught.value) == f"{path}: {reason}"


@given(st.text() | st.text(st.sampled_from('019-.,"\n\r#:tg ')))
def test_any_text_reads_or_says_why_in_one_line(text: str) -> None:
    said = ""
    try:
        parse_recording(HEADER + text, "r.csv")
    except RecordingError as err:
        said = str(err)
    assert "\n" not in said
    assert "\r" not in said
