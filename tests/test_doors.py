"""No number that is none comes in: what is not finite is refused at every door.

The doors are the drivers, recordings (:mod:`tests.test_recording`), the core's intake
(:mod:`tests.core.test_intake`) and the weights that people write.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.cli import main
from scaled.core.reading import Reading
from scaled.core.units import QuantityError, parse_weight
from scaled.protocol import driver_names, load_driver

DRIVERS = {name: load_driver(name) for name in driver_names()}
NO_NUMBERS = ["nan", "NaN", "-nan", "inf", "-inf", "Infinity", "1e999", "-1e999", "9" * 400]
FRAMES = ["ST,GR,+{:>8}  g\r\n", "US,NT,-{:>8} kg\r\n", "WS {:>9} g\r\n", "WM {:>9} lb\r\n"]


@pytest.mark.parametrize("driver", DRIVERS)
@given(frames=st.lists(st.tuples(st.sampled_from(FRAMES), st.sampled_from(NO_NUMBERS))))
def test_a_scale_that_shows_no_number_gives_no_reading(
    driver: str, frames: list[tuple[str, str]]
) -> None:
    decoder = DRIVERS[driver].decoder()
    data = "".join(frame.format(number) for frame, number in frames).encode()
    assert not [frame for frame in decoder.feed(data, 1.0) if isinstance(frame, Reading)]
    assert decoder.dropped >= bool(frames)


@pytest.mark.parametrize("number", NO_NUMBERS)
def test_a_weight_that_a_person_writes_is_a_number(number: str) -> None:
    with pytest.raises(QuantityError):
        parse_weight(f"{number} g")


@pytest.mark.parametrize("number", NO_NUMBERS)
def test_a_division_that_is_no_number_gives_one_clear_line(
    number: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code = main(["replay", "any.csv", "--profile", "orchard-oat-pot", f"--division={number} g"])
    assert code == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("scaled: --division: ")
    assert "is not a weight" in line
