"""Descriptions as files: they read back as written, and what is wrong is said in one line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import drivers.formats
from drivers.described.file import format_toml, parse_format, read_format
from scaled.core.errors import ConfigError

SHIPPED = sorted(Path(drivers.formats.__file__).parent.glob("*.toml"))
HEAD = 'schema = 1\nsummary = "a scale"\n'
WEIGHT = '[[field]]\nkind = "weight"\n'


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_description_reads_back_as_it_was_written(path: Path) -> None:
    description = read_format(path)
    assert parse_format(format_toml(description), "written") == description


def test_every_key_reads_back() -> None:
    text = (
        f"{HEAD}[serial]\nbaud = 4800\nframing = '7E1'\n[poll]\nrequest = \"\\u0005\"\n"
        'interval_s = 1\n[frame]\nstart = "\\u0002"\nend = "\\u0003\\u007f"\nspaces = "fixed"\n'
        '[frame.checksum]\nkind = "sum"\nmodulo = 100\nwritten = "decimal"\nover = ["start"]\n'
        f'after_end = true\n{WEIGHT}words = {{ "  \\"\\\\" = "overload" }}\n'
    )
    description = parse_format(text, "text")
    assert description.frame.end == "\x03\x7f"
    assert parse_format(format_toml(description), "written") == description


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("x", "not readable as TOML: Expected '=' after a key in a key/value pair "
         "(at end of document)"),
        ("a = " + "[" * 5000, "not readable as TOML: nested too deeply"),
        (f"schema = 2\nsummary = 'x'\n{WEIGHT}", "line 1, schema: 2 is not known; write 1"),
        (f"schema = 1\n{WEIGHT}", 'summary: missing; add summary = "lines of status, signed '
         'number and unit"'),
        (f"{HEAD}{WEIGHT}widht = 3", 'line 5, field 1, widht: unknown key; did you mean "width"?'),
        (f'{HEAD}{WEIGHT}[[field]]\nkind = "wight"', 'line 5, field 2: kind "wight" is not known; '
         'did you mean "weight"? (write "text", "gap", "skip", "status", "bits", "weight", '
         '"places" or "unit")'),
        (f"{HEAD}[[field]]\ntext = ','", 'line 3, field 1: kind is missing; write kind = "text", '
         '"gap", "skip", "status", "bits", "weight", "places" or "unit"'),
        (f"{HEAD}{WEIGHT}words = {{ A = 'overlod' }}", 'line 5, field 1, words, A: "overlod" is '
         'not known; did you mean "overload"? '
         '(write "overload", "underload", "fault" or "blank")'),
        (f"{HEAD}{WEIGHT}width = 65", "line 5, field 1, width: 65 is out of range; "
         "write a number of at most 64"),
        (f"{HEAD}{WEIGHT}words = {{ '☃' = 'blank' }}", 'line 5, field 1, words, ☃: "☃": write 1 '
         'to 16 characters, each one byte, such as "ST" or "\\u0002"'),
        (f"{HEAD}{WEIGHT}places = 1", 'line 5, field 1, places: only with decimal = "none"; '
         "the sign tells otherwise"),
        (f"{HEAD}", 'field: exactly one has kind = "weight"'),
        (f"{HEAD}{WEIGHT}unit = 'g'\n[[field]]\nkind = 'unit'", "line 3, field: a unit is given "
         "twice: in the weight and as a field"),
        (f"{HEAD}[[field]]\nkind = 'skip'\n{WEIGHT}", "line 3, field 1: a skip without a width is "
         "followed by a text; give a width"),
        (f"{HEAD}[frame]\nlength = 9\n{WEIGHT}", "line 4, frame, length: needs a start, and "
         "stands instead of an end"),
        (f"{HEAD}[frame]\nstart = 'abc'\n{WEIGHT}", "line 4, frame, start: too long; keep to 1 "
         "at most"),
        (f"{HEAD}[frame.checksum]\nkind = 'crc'\n{WEIGHT}", 'line 4, frame, checksum, kind: "crc" '
         'is not known; write "xor", "sum" or "negated-sum"'),
        (f"{HEAD}[[field]]\nkind = 'bits'\nbits = {{ 9 = 'stable' }}\n{WEIGHT}",
         'line 5, field 1, '
         'bits, 9: "9" is no bit of a byte; write 0, the lowest, to 7'),
        (f"{HEAD}[[field]]\nkind = 'status'\nwords = 'ST'\n{WEIGHT}",
         'line 5, field 1, words: "ST" '
         'is not a table; write words = { ST = "stable", US = "unstable" }'),
        (f"{HEAD}frame = 3\n{WEIGHT}", "line 3, frame: 3 is not a table; write a [frame] table"),
        (f"{HEAD}field = 3", "line 3, field: 3 is not a list; write [[field]] tables"),
        (f"{HEAD}[poll]\ninterval_s = 1\n{WEIGHT}",
         'line 3, poll, request: missing; add request = '
         '"R\\r\\n"'),
        (f"{HEAD}[poll]\nrequest = 'R'\ninterval_s = 'fast'\n{WEIGHT}",
         "line 5, poll, interval_s: "
         '"fast" is not a number; write interval_s = 0.1'),
        (f"{HEAD}[[field]]\nkind = 'gap'\n[[field]]\nkind = 'gap'\n{WEIGHT}",
         "line 3, field 1: a gap "
         "without a width does not stand before a gap; give a width"),
        (f"{HEAD}[[field]]\nkind = 'text'\ntext = ', '\n{WEIGHT}",
         "line 3, field 1: a text with a "
         'space at its end needs spaces = "fixed", or is a gap'),
        (f"{HEAD}[frame]\nend = 'ab'\n{WEIGHT}",
         "line 4, frame, end: without a start it is one byte, "
         "or CR and LF"),
        (f"{HEAD}[frame.checksum]\nkind = 'xor'\nwritten = 'byte'\n{WEIGHT}", "line 3, frame, "
         'checksum: a "byte" needs after_end = true, or a length'),
        (f"{HEAD}[serial]\nbaud = 'fast'\n{WEIGHT}", 'line 4, serial, baud: "fast" is not a whole '
         "number; write baud = 9600"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_one_line_with_its_place(text: str, line: str) -> None:
    with pytest.raises(ConfigError) as caught:
        parse_format(text, "my.toml")
    assert str(caught.value) == f"my.toml: {line}"


def test_a_file_that_cannot_be_read_is_one_line(tmp_path: Path) -> None:
    missing, binary, huge = (tmp_path / name for name in ("missing", "binary", "huge"))
    binary.write_bytes(b"\xff\xfe")
    huge.write_bytes(b"#" * 100_000)
    for path, reason in (
        (missing, "cannot be read: No such file or directory"),
        (tmp_path, "cannot be read: Is a directory"),
        (binary, "not readable as TOML: 'utf-8' codec can't decode byte 0xff in position 0: "
         "invalid start byte"),
        (huge, "no description: longer than 65536 bytes"),
    ):  # fmt: skip
        with pytest.raises(ConfigError) as caught:
            read_format(path)
        assert str(caught.value) == f"{path}: {reason}"


VALUES = ["3", "-1", "2.5", "true", '"x"', '""', "[]", "[3]", "{}", '{ a = "b" }', "nan", "1e999"]
VALUES += [
    "9" * 30,
    "2026-11-25",
    '"\\u0002"',
    "[[]]",
    '{ kind = "weight" }',
    '[{ kind = "gap" }]',
]


@given(st.sampled_from(SHIPPED), st.data())
def test_whatever_is_written_is_read_or_refused_in_one_line(
    path: Path, data: st.DataObject
) -> None:
    lines = path.read_text().splitlines()
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        key, is_pair, _ = lines[at].partition(" = ")
        value = data.draw(st.sampled_from(VALUES))
        lines[at] = f"{key} = {value}" if is_pair else data.draw(st.sampled_from(lines))
    said = refusal("\n".join(lines))
    assert said is None or (said.startswith("my.toml: ") and "\n" not in said)


def refusal(text: str) -> str | None:
    try:
        parse_format(text, "my.toml")
    except ConfigError as err:
        return str(err)
    return None
