"""The Bluetooth SIG's weight messages: published bytes, any bytes, and an independent decoder."""

from __future__ import annotations

import struct
from datetime import datetime

import pytest
from bluetooth_sig.gatt.characteristics.weight_measurement import WeightMeasurementCharacteristic
from bluetooth_sig.gatt.characteristics.weight_scale_feature import (
    WeightScaleFeatureCharacteristic,
)
from hypothesis import given
from hypothesis import strategies as st

from drivers.weight_scale_service import (
    Measurement,
    WeightScaleDecoder,
    parse_feature,
    parse_measurement,
    step_g,
)
from scaled.core.reading import GRAMS, Reading, Unit
from scaled.protocol import Notice, NoticeKind


def heard(text: str) -> Measurement | None:
    return parse_measurement(bytes.fromhex(text))


# Layout and examples: Bluetooth SIG, Weight Scale Service 1.0, 3.2, and GATT Specification
# Supplement, Weight Measurement; the same bytes are in the tests of the bluetooth-sig package.
@pytest.mark.parametrize(
    ("text", "measured"),
    [
        ("00 B0 36", Measurement(weight=70.0, unit=Unit.KG)),
        ("01 54 3D", Measurement(weight=157.0, unit=Unit.LB)),
        (
            "02 B0 36 E7 07 0C 19 0E 1E 2D",
            Measurement(
                weight=70.0,
                unit=Unit.KG,
                taken_at=datetime(2023, 12, 25, 14, 30, 45),  # noqa: DTZ001 -- the scale's own
            ),
        ),
        ("04 88 13 02", Measurement(weight=25.0, unit=Unit.KG, user=2)),
        (
            "0C B0 36 05 F5 00 D6 06",
            Measurement(weight=70.0, unit=Unit.KG, user=5, body_mass_index=24.5, height=1.75),
        ),
        ("00 FF FF", Measurement(weight=None, unit=Unit.KG)),
        ("01 FF FF", Measurement(weight=None, unit=Unit.LB)),
    ],
)
def test_published_measurements(text: str, measured: Measurement) -> None:
    assert heard(text) == measured


# Made from the same rules: one count is 0.005 kg or 0.01 lb.
@pytest.mark.parametrize(
    ("text", "grams"), [("00 17 00", 115.0), ("01 19 00", 113.3980925), ("00 00 00", 0.0)]
)
def test_small_portions_in_counts(text: str, grams: float) -> None:
    (reading,) = WeightScaleDecoder().feed(bytes.fromhex(text), 2.5)
    assert isinstance(reading, Reading)
    assert reading.unit is not None
    assert reading.weight * GRAMS[reading.unit] == pytest.approx(grams, rel=1e-12)
    assert (reading.t, reading.stable) == (2.5, None)


def test_an_unsuccessful_measurement_is_no_weight() -> None:
    decoder = WeightScaleDecoder()
    assert decoder.feed(b"\x00\xff\xff", 1.0) == [Notice(1.0, NoticeKind.UNSUCCESSFUL)]
    assert decoder.feed(b"\x04\xff\xff\x02", 2.0) == [Notice(2.0, NoticeKind.UNSUCCESSFUL)]
    assert decoder.dropped == 0


def test_what_is_not_known_is_left_out() -> None:
    undated = heard("02 B0 36 00 00 0C 19 0E 1E 2D")
    assert undated == Measurement(weight=70.0, unit=Unit.KG)
    assert heard("04 B0 36 FF") == Measurement(weight=70.0, unit=Unit.KG)
    inches = heard("09 54 3D F5 00 BC 02")
    assert inches == Measurement(weight=157.0, unit=Unit.LB, body_mass_index=24.5, height=70.0)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "00",
        "00 B0",
        "00 B0 36 00",
        "02 B0 36",
        "04 B0 36",
        "08 B0 36 F5 00 D6",
        "0E B0 36 E7 07 0C 19 0E 1E 2D 05 F5 00 D6",
        "02 B0 36 E7 07 0D 19 0E 1E 2D",
        "02 B0 36 E7 07 0C 19 18 1E 2D",
        "02 B0 36 00 00 0C 19 0E 3C 2D",
        "10 B0 36",
        "53 54 2C 47 52 2C 2B 30 30 31 32 33 2E 35 30 20 20 67 0D 0A",
    ],
)
def test_what_makes_no_sense_is_dropped_and_counted(text: str) -> None:
    decoder = WeightScaleDecoder()
    assert decoder.feed(bytes.fromhex(text), 1.0) == []
    assert decoder.dropped == 1
    assert len(decoder.feed(b"\x00\xb0\x36", 2.0)) == 1


@given(st.lists(st.binary(max_size=40)))
def test_any_bytes_are_a_frame_or_dropped(messages: list[bytes]) -> None:
    decoder = WeightScaleDecoder()
    frames = [decoder.feed(message, 1.0) for message in messages]
    assert sum(map(len, frames)) + decoder.dropped == len(messages)
    for message, told in zip(messages, frames, strict=True):
        for frame in told:
            if isinstance(frame, Reading):
                assert 0.0 <= frame.weight < 0xFFFF / 100
                assert message[0] < 0x10


@given(st.binary(min_size=1, max_size=13), st.binary(max_size=13))
def test_one_message_says_nothing_of_the_next(first: bytes, second: bytes) -> None:
    alone, after = WeightScaleDecoder(), WeightScaleDecoder()
    after.feed(first, 1.0)
    assert after.feed(second, 2.0) == alone.feed(second, 2.0)


@st.composite
def measurements(draw: st.DrawFn) -> bytes:
    """Well-formed messages with any of the optional fields."""
    flags = draw(st.integers(0, 0x0F))
    data = struct.pack("<BH", flags, draw(st.integers(0, 0xFFFE)))
    if flags & 2:
        at = draw(st.datetimes(datetime(1600, 1, 1), datetime(9999, 1, 1)))  # noqa: DTZ001
        data += struct.pack("<H5B", at.year, *at.timetuple()[1:6])
    if flags & 4:
        data += draw(st.integers(0, 0xFE)).to_bytes(1, "little")
    if flags & 8:
        data += struct.pack("<HH", draw(st.integers(0, 0xFFFF)), draw(st.integers(0, 0xFFFF)))
    return data


@given(measurements())
def test_an_independent_decoder_agrees(data: bytes) -> None:
    ours, theirs = parse_measurement(data), WeightMeasurementCharacteristic().parse_value(data)
    assert ours is not None
    assert ours.weight == pytest.approx(theirs.weight, rel=1e-12)
    assert ours.unit == theirs.weight_unit.value
    assert (ours.taken_at, ours.user) == (theirs.timestamp, theirs.user_id)
    assert ours.body_mass_index == pytest.approx(theirs.bmi)
    assert ours.height == pytest.approx(theirs.height)


# Bits and codes: Bluetooth SIG, Weight Scale Service 1.0, 3.1.
@pytest.mark.parametrize(
    ("text", "optional", "kg", "lb"),
    [
        ("07 00 00 00", (True, True, True), None, None),
        ("08 00 00 00", (False, False, False), 0.5, 1.0),
        ("8F 00 00 00", (True, True, True), 0.5, 1.0),
        ("38 00 00 00", (False, False, False), 0.005, 0.01),
        ("78 00 00 00", (False, False, False), None, None),
    ],
)
def test_published_features(
    text: str, optional: tuple[bool, bool, bool], kg: float | None, lb: float | None
) -> None:
    feature = parse_feature(bytes.fromhex(text))
    assert feature is not None
    assert (feature.time_stamps, feature.users, feature.body_mass) == optional
    assert (feature.step(Unit.KG), feature.step(Unit.LB)) == (kg, lb)


# A scale that says nothing of its resolution shows counts, which are of 0.005 kg.
@pytest.mark.parametrize(
    ("text", "grams"),
    [("38 00 00 00", 5.0), ("18 00 00 00", 100.0), ("00 00 00 00", 5.0), ("", 5.0)],
)
def test_the_step_a_scale_says_it_shows(text: str, grams: float) -> None:
    assert step_g(bytes.fromhex(text)) == grams


@given(st.binary(max_size=3) | st.binary(min_size=5, max_size=8))
def test_a_feature_of_another_length_makes_no_sense(data: bytes) -> None:
    assert parse_feature(data) is None


@given(st.integers(0, 7), st.integers(0, 7), st.integers(0, 3))
def test_an_independent_decoder_reads_the_same_feature(
    optional: int, weight: int, height: int
) -> None:
    data = (optional | weight << 3 | height << 7).to_bytes(4, "little")
    ours, theirs = parse_feature(data), WeightScaleFeatureCharacteristic().parse_value(data)
    assert ours is not None
    assert (ours.time_stamps, ours.users, ours.body_mass) == (
        theirs.timestamp_supported,
        theirs.multiple_users_supported,
        theirs.bmi_supported,
    )
    assert ours.resolution == theirs.weight_measurement_resolution.value
