from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from scaled.screens.blocks import FADED, columns, draw, drawable, largest, rows

ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
TEXTS = st.text(st.sampled_from(ALPHABET + " .,-+?!>goz"), min_size=1, max_size=12)


@given(TEXTS, st.integers(0, 4))
def test_the_drawing_has_the_size_it_says(text: str, size: int) -> None:
    drawn = draw(text, size)
    assert len(drawn) == rows(text, size)
    assert {len(line) for line in drawn} == {columns(text, size)}


def test_digits_are_five_rows_at_the_smallest_full_size() -> None:
    assert rows("0123456789.-", 1) == 5


def test_no_two_digits_look_alike_and_none_looks_like_a_unit() -> None:
    for one, other in combinations("0123456789go", 2):
        assert draw(one, 0) != draw(other, 0), (one, other)
        assert draw(one, 1) != draw(other, 1), (one, other)


def test_letters_differ_from_each_other() -> None:
    drawn = {letter: tuple(draw(letter, 1)) for letter in ALPHABET[:26]}
    assert len(set(drawn.values())) == 26


def test_a_number_that_is_old_is_drawn_with_other_pixels() -> None:
    assert set("".join(draw("128", 1, FADED))) == {FADED, " "}


def test_half_size_shows_the_same_pixels() -> None:
    full = draw("46 g", 1)
    half = draw("46 g", 0)
    dots = [[line[at] != " " for at in range(0, len(line), 2)] for line in full]
    halved = [[mark in upper for mark in line] for line in half for upper in ("█▀", "█▄")]
    assert halved == dots


def test_the_first_wording_that_fits_is_taken_as_large_as_it_fits() -> None:
    assert largest(["GOOD > SPINACH", "GOOD"], 200, 5) == ("GOOD > SPINACH", 1)
    assert largest(["GOOD > SPINACH", "GOOD"], 70, 5) == ("GOOD > SPINACH", 0)
    assert largest(["GOOD > SPINACH", "GOOD"], 30, 3) == ("GOOD", 0)
    assert largest(["GOOD > SPINACH", "GOOD"], 10, 3) is None
    assert largest(["GOOD"], 200, 2) is None


def test_text_with_a_letter_that_has_no_glyph_is_left_to_small_letters() -> None:
    assert not drawable("CRÈME")
    assert largest(["CRÈME"], 500, 50) is None
