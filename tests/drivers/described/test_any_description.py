"""What holds of any description that is accepted, however odd."""

from __future__ import annotations

from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st
from pydantic import ValidationError

from drivers.described.decoder import decoder_maker
from drivers.described.file import format_toml, parse_format
from drivers.described.model import ScaleFormat
from scaled.protocol import Frame

Table = dict[str, Any]

texts = st.text('STab,; \x02\x03*\xff"\\', min_size=1, max_size=3)
widths = st.integers(1, 10)


def table(required: Table, optional: Table) -> st.SearchStrategy[Table]:
    return st.fixed_dictionaries(required, optional=optional)


def words(*meanings: str) -> st.SearchStrategy[Table]:
    return st.dictionaries(texts, st.sampled_from(meanings), min_size=1, max_size=4)


weights = table(
    {"kind": st.just("weight")},
    {
        "width": widths,
        "align": st.sampled_from(["left", "right"]),
        "sign": st.sampled_from(["leading", "column", "trailing", "none"]),
        "plus": st.sampled_from(["+", " ", "either"]),
        "decimal": st.sampled_from([".", ",", "none"]),
        "words": words("overload", "blank"),
        "unit": st.sampled_from(["g", "oz"]),
    },
)
others = st.one_of(
    table({"kind": st.just("text"), "text": texts}, {}),
    table({"kind": st.just("gap")}, {"width": widths}),
    table({"kind": st.just("skip")}, {"width": widths}),
    table({"kind": st.just("status"), "words": words("stable", "unstable", "overload")}, {}),
    table({"kind": st.just("bits"), "bits": st.just({"0": "overload", "4": "stable"})}, {}),
)
units = table(
    {"kind": st.just("unit")},
    {"width": widths, "align": st.sampled_from(["left", "right"]), "words": words("g", "lb")},
)
checksums = table(
    {"kind": st.sampled_from(["xor", "sum", "negated-sum"])},
    {
        "modulo": st.sampled_from([10, 100, 128, 256]),
        "written": st.sampled_from(["hex", "decimal", "byte"]),
        "digits": st.integers(1, 3),
        "over": st.sampled_from([["fields"], ["start", "fields", "end"]]),
        "after_end": st.booleans(),
    },
)
frames = table(
    {},
    {
        "start": st.sampled_from(["\x02", "S", ","]),
        "end": st.sampled_from(["\r\n", "\r", "\x03", "b", "\x03\r"]),
        "length": st.integers(2, 30),
        "spaces": st.sampled_from(["free", "fixed"]),
        "checksum": checksums,
    },
)


@st.composite
def descriptions(draw: st.DrawFn) -> ScaleFormat:
    fields = draw(st.lists(others, max_size=5))
    fields.insert(draw(st.integers(0, len(fields))), draw(weights))
    if draw(st.booleans()):
        fields.insert(draw(st.integers(0, len(fields))), draw(units))
    data = {"schema": 1, "summary": "any", "frame": draw(frames), "field": fields}
    try:
        return ScaleFormat.model_validate(data)
    except ValidationError:
        assume(False)
        raise


noise = st.binary(max_size=200) | st.text(
    "STab,; \x02\x03*\xff+-0123.kgozlb\r\n", max_size=400
).map(lambda text: text.encode("latin-1"))


@given(descriptions())
def test_it_reads_back_as_it_is_written(description: ScaleFormat) -> None:
    assert parse_format(format_toml(description), "written") == description


@given(descriptions(), noise, st.data())
def test_no_bytes_hurt_its_decoder_and_how_they_are_cut_makes_no_difference(
    description: ScaleFormat, stream: bytes, data: st.DataObject
) -> None:
    make = decoder_maker(description)
    place = data.draw(st.integers(0, len(stream)))
    results: list[tuple[list[Frame], int]] = []
    for pieces in ([stream], [stream[:place], stream[place:]], [bytes([b]) for b in stream]):
        decoder = make()
        told = [frame for piece in pieces for frame in decoder.feed(piece, 0.0)]
        results.append((told, decoder.dropped))
    assert results[0] == results[1] == results[2]


def test_a_frame_made_to_be_slow_is_refused_at_once() -> None:
    """Fifteen skipped columns and a line of spaces and commas: no way to try is tried twice."""
    skips = "".join(
        '[[field]]\nkind = "skip"\n[[field]]\nkind = "text"\ntext = ","\n' for _ in range(15)
    )
    text = (
        f'schema = 1\nsummary = "x"\n[frame]\nlongest = 256\n{skips}[[field]]\nkind = "weight"\n'
    )
    decoder = decoder_maker(parse_format(text, "text"))()
    for line in (b" , " * 80, b" " * 250, b"   ,   " * 30, b"," * 14 + b" " * 200):
        assert decoder.feed(line + b"\r\n", 0.0) == []
    assert decoder.dropped == 4
