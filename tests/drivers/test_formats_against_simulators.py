"""Every shipped format reads what its simulator, written on its own, sends."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.plausible import is_plausible
from scaled.core.reading import Reading, Unit
from scaled.protocol import Frame, Notice, NoticeKind, load_driver
from simulators.display import Shown, Span
from simulators.wire import WIRES

DRIVERS = {name: load_driver(name) for name in WIRES}

displays = st.builds(
    Shown,
    t=st.just(0.0),
    weight=st.integers(-99999, 99999).flatmap(
        lambda counts: st.integers(0, 3).map(lambda places: Decimal(counts).scaleb(-places))
    ),
    unit=st.sampled_from(["g", "kg", "oz", "lb"]),
    stable=st.booleans(),
    net=st.booleans(),
    span=st.sampled_from(Span),
).filter(lambda shown: is_plausible(float(shown.weight), Unit(shown.unit)))


def sent(name: str, shown: Shown) -> bytes:
    wire, poll = WIRES[name](), DRIVERS[name].poll
    unasked = wire.show(shown)
    return unasked + (wire.answer(poll.request) if poll else b"")


def said(shown: Shown) -> Frame:
    match shown.span:
        case Span.ABOVE:
            return Notice(2.5, NoticeKind.OVERLOAD)
        case Span.BELOW:
            return Notice(2.5, NoticeKind.UNDERLOAD)
        case Span.WITHIN:
            return Reading(2.5, float(shown.weight) + 0.0, Unit(shown.unit), shown.stable)


@pytest.mark.parametrize("name", WIRES)
@given(shown=st.lists(displays, min_size=1, max_size=5))
def test_what_is_shown_is_read(name: str, shown: list[Shown]) -> None:
    decoder = DRIVERS[name].decoder()
    data = b"".join(sent(name, one) for one in shown)
    assert decoder.feed(data, 2.5) == [said(one) for one in shown]
    assert decoder.dropped == 0


@pytest.mark.parametrize("name", WIRES)
def test_a_weight_beyond_reason_is_counted(name: str) -> None:
    decoder = DRIVERS[name].decoder()
    assert decoder.feed(sent(name, Shown(0.0, Decimal(9999), "kg", stable=True)), 2.5) == []
    assert decoder.dropped == 1
