"""Formats are learnt from bytes and one known weight, and read what was not in the lesson."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drivers.described.file import parse_format
from drivers.learning.findings import described_toml, findings
from drivers.learning.learn import MOST_DATA, learn
from drivers.learning.lesson import Deed, Lesson, Phase, phases_noted
from scaled.core.errors import ConfigError
from simulators.random_format import UNITS
from simulators.wire import WIRES
from tests.benchmarks.classroom import Pupil, examined, heard, made_up, shipped, taught

PHASES = [
    Phase(0.0, Deed.EMPTY, 0.0),
    Phase(1.0, Deed.WEIGHT, 200.0),
    Phase(2.0, Deed.UNIT_KEY, 200.0),
    Phase(3.0, Deed.BELOW_ZERO, -200.0),
]


@pytest.mark.parametrize("name", WIRES)
def test_every_shipped_format_is_learnt(name: str) -> None:
    pupil = shipped(name)
    learnt = taught(pupil, 7)
    assert learnt is not None
    mark = examined(pupil, learnt, 17)
    assert mark.passed, mark.wrong


@pytest.mark.parametrize("seed", range(9000, 9010))
def test_formats_made_up_by_chance_are_learnt(seed: int) -> None:
    pupil = made_up(seed)
    learnt = taught(pupil, seed)
    assert learnt is not None, pupil.name
    mark = examined(pupil, learnt, seed + 1)
    assert mark.passed, f"{pupil.name}: {mark.wrong}"


@pytest.mark.parametrize(
    "seed",
    [
        # Moving, the last digit happened to take no more values than a status would.
        910081,
        # A byte of flags right behind the number happened to look like a minus.
        910044,
        # Cut at its separator the stream lost nothing; cut right, the half frame at its start.
        940035,
        # What begins a frame was taken for its end, and each was read when the next one came.
        970273,
    ],
)
def test_chance_in_a_lesson_misleads_nobody(seed: int) -> None:
    pupil = made_up(seed)
    learnt = taught(pupil, seed)
    assert learnt is not None
    mark = examined(pupil, learnt, seed + 1)
    assert mark.passed, f"{pupil.name}: {mark.wrong}"


@pytest.mark.parametrize("seed", range(9100, 9104))
@pytest.mark.parametrize(
    ("division", "known_g", "units"),
    [
        ("5g", 500, UNITS),
        ("2g", 1000, ("g",)),
        ("0.01g", 100, UNITS),
        ("1g", 500, ("lb",)),
        ("1g", 500, ("kg",)),
    ],
)
def test_scales_of_any_division_and_unit_are_learnt(
    seed: int, division: str, known_g: int, units: tuple[str, ...]
) -> None:
    drawn = made_up(seed)
    pupil = Pupil(drawn.name, drawn.write, units)
    learnt = learn(heard(pupil, seed, known_g, division))
    assert learnt is not None, pupil.name
    mark = examined(pupil, learnt, seed + 1, division)
    assert mark.passed, f"{pupil.name}: {mark.wrong}"


@pytest.mark.parametrize("name", WIRES)
def test_the_file_says_what_is_sure_and_reads_back_the_same(name: str) -> None:
    lesson = heard(shipped(name), 3)
    learnt = learn(lesson)
    assert learnt is not None
    text = described_toml(learnt, lesson)
    assert text.startswith("# sure: ")
    assert "# not sure: overload" in text
    assert parse_format(text, "here") == learnt.description


def test_what_was_not_shown_is_not_sure() -> None:
    whole = heard(shipped("stx-fixed"), 3)
    lesson = Lesson(
        [(t, d) for t, d in whole.pieces if t < whole.phases[2].begins_at], whole.phases[:2]
    )
    learnt = learn(lesson)
    assert learnt is not None
    unsure = [finding.text for finding in findings(learnt, lesson) if not finding.sure]
    assert any(text.startswith("sign: nothing below zero") for text in unsure)
    assert any(text.startswith("unit: the key was not pressed") for text in unsure)


def test_the_known_weight_is_needed() -> None:
    whole = heard(shipped("ascii-stream"), 3)
    wrong = [Phase(p.begins_at, p.deed, p.load_g * 1.7) for p in whole.phases]
    assert learn(Lesson(whole.pieces, wrong)) is None


def test_a_few_damaged_frames_do_not_matter() -> None:
    pupil = shipped("implied-decimals")
    whole = heard(pupil, 3)
    pieces = [
        (t, d.replace(b"0", b"\x7f", 1) if i % 29 == 5 else d)
        for i, (t, d) in enumerate(whole.pieces)
    ]
    learnt = learn(Lesson(pieces, whole.phases))
    assert learnt is not None
    assert examined(pupil, learnt, 4).passed


def test_a_lesson_too_long_to_look_at_teaches_nothing() -> None:
    assert learn(Lesson([(0.0, b"1\n" * MOST_DATA)], PHASES)) is None


noise = st.lists(
    st.one_of(
        st.binary(max_size=40),
        st.sampled_from(
            [b"ST,+200.0 g\r\n", b"\x02 0.0g\x03", b"200\n", b"\x02", b"0.0;"]
        ).flatmap(lambda frame: st.integers(1, 30).map(lambda count: frame * count)),
    ),
    max_size=12,
)


@settings(max_examples=60)
@given(noise)
def test_any_bytes_teach_something_or_nothing_and_never_fail(pieces: list[bytes]) -> None:
    lesson = Lesson([(i / 3, data) for i, data in enumerate(pieces)], PHASES)
    learnt = learn(lesson)
    if learnt is not None:
        assert parse_format(described_toml(learnt, lesson), "here") == learnt.description


@settings(max_examples=40)
@given(st.sampled_from(sorted(WIRES)), st.integers(0, 4000), st.binary(min_size=1, max_size=9))
def test_a_damaged_lesson_never_fails(name: str, at: int, garbage: bytes) -> None:
    whole = heard(shipped(name), 3)
    pieces = list(whole.pieces)
    t, data = pieces[at % len(pieces)]
    pieces[at % len(pieces)] = (t, garbage + data)
    learn(Lesson(pieces, whole.phases))


@pytest.mark.parametrize(
    ("notes", "line"),
    [
        ({}, "x.capture: nothing can be learnt from it: it must say when the pan was empty"),
        ({"at 0.0": "empty"}, "x.capture: nothing can be learnt"),
        ({"at 0.0": "unit key"}, 'x.capture: at 0 s: "unit key" needs a known weight on the pan'),
        (
            {"at 2.0": "a brick"},
            'x.capture: at 2 s: "a brick" is no phase; write "empty", a known',
        ),
        ({"at 2.0": "0 g"}, 'x.capture: at 2 s: "0 g" is no phase'),
    ],
)
def test_notes_that_make_no_lesson_are_one_line(notes: dict[str, str], line: str) -> None:
    with pytest.raises(ConfigError) as caught:
        phases_noted(notes, "x.capture")
    assert str(caught.value).startswith(line)
    assert "\n" not in str(caught.value)
