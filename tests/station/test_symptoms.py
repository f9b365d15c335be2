from __future__ import annotations

import pytest

from scaled.core.errors import LinkAbsent, LinkBusy, LinkLost, LinkRefused
from scaled.core.reading import Reading, Unit
from scaled.protocol import Notice, NoticeKind
from scaled.station.link import LinkState, ScaleConfig
from scaled.station.symptoms import FLAP_SPAN_S, FLAPS, REST_S, STIR_G, Finding, Symptoms

PULLED = LinkLost("/dev/scale", "the line went away", "check the cable")
ABSENT = LinkAbsent("/dev/scale", "does not exist", "check that it is plugged in")
TAKEN = LinkBusy("/dev/scale", "busy", "close the other program")


def symptoms(unit: Unit | None = None, device: str = "/dev/scale") -> Symptoms:
    return Symptoms(ScaleConfig("ascii-stream", device, unit=unit))


def test_a_weight_in_the_unit_that_is_wanted_or_in_none_is_well() -> None:
    for wanted in (None, Unit.G):
        for shown in (None, Unit.G):
            assert symptoms(wanted).heard(Reading(1.0, 5.0, shown)) == Finding(LinkState.LIVE)


def test_another_unit_is_said_with_what_to_do() -> None:
    assert symptoms(Unit.G).heard(Reading(1.0, 5.0, Unit.OZ)) == Finding(
        LinkState.WRONG_UNIT, "the scale shows oz; press its unit key until it shows g"
    )
    assert symptoms().heard(Reading(1.0, 5.0, Unit.OZ)).state is LinkState.LIVE


@pytest.mark.parametrize("kind", NoticeKind)
def test_each_notice_is_a_state_with_what_to_do(kind: NoticeKind) -> None:
    state, detail = symptoms().heard(Notice(1.0, kind))
    assert state == kind.value
    assert detail


def test_a_line_that_comes_and_goes_is_flapping_until_it_is_steady_for_long() -> None:
    scale = symptoms()
    for loss in range(FLAPS - 1):
        assert scale.lost(PULLED, 10.0 * loss) == (LinkState.LOST, str(PULLED))
    flapping = Finding(
        LinkState.FLAPPING,
        "/dev/scale: went away 4 times within a minute; fasten or change its cable",
    )
    assert scale.lost(PULLED, 31.0) == flapping
    assert scale.lost(ABSENT, 31.2) == flapping
    assert scale.lost(ABSENT, FLAP_SPAN_S) == flapping
    assert scale.lost(ABSENT, FLAP_SPAN_S + 0.1) == (LinkState.LOST, str(ABSENT))
    assert scale.lost(PULLED, FLAP_SPAN_S + 40.0) == (LinkState.LOST, str(PULLED))


def test_a_refusal_alone_is_no_loss() -> None:
    scale = symptoms()
    for loss in range(2 * FLAPS):
        assert scale.lost(ABSENT, float(loss)).state is LinkState.LOST


def test_a_radio_that_comes_and_goes_is_to_be_nearer() -> None:
    scale = symptoms(device="C0:FF:EE:00:00:01")
    lost = LinkLost("C0:FF:EE:00:00:01", "the connection was lost", "check that it is near")
    found = [scale.lost(lost, float(loss)) for loss in range(FLAPS)]
    assert found[-1].detail == (
        "C0:FF:EE:00:00:01: went away 4 times within a minute; move it nearer"
    )


def test_another_reason_that_it_cannot_be_opened_is_said_even_when_it_flapped() -> None:
    scale = symptoms()
    for loss in range(FLAPS):
        scale.lost(PULLED, float(loss))
    switched_off = LinkRefused("/dev/scale", "the radio is off", "switch it on")
    assert scale.lost(switched_off, 5.0) == (LinkState.LOST, str(switched_off))


def test_a_line_that_another_program_has_is_busy_even_when_it_flapped() -> None:
    scale = symptoms()
    for loss in range(FLAPS):
        scale.lost(PULLED, float(loss))
    assert scale.lost(TAKEN, 5.0) == (LinkState.BUSY, str(TAKEN))


def test_a_radio_that_is_gone_after_long_rest_sleeps_but_a_line_was_unplugged() -> None:
    radio = "C0:FF:EE:00:00:01"
    lost = LinkLost(radio, "the connection was lost", "check that it is near")
    away = LinkAbsent(radio, "not found", "check that it is near")
    switched_off = LinkRefused(radio, "the radio is off", "switch it on")
    for scale, is_radio in ((symptoms(device=radio), True), (symptoms(), False)):
        scale.heard(Reading(1.0, 100.0, Unit.G))
        assert scale.lost(lost if is_radio else PULLED, 2.0).state is LinkState.LOST
        scale.heard(Reading(REST_S + 1.0, 100.0, Unit.G))
        if not is_radio:
            assert scale.lost(PULLED, REST_S + 2.0).state is LinkState.LOST
            continue
        asleep = Finding(
            LinkState.ASLEEP,
            f"{radio}: gone after 1 min without a change; switch the scale on again",
        )
        assert scale.lost(lost, REST_S + 2.0) == asleep
        assert scale.lost(away, REST_S + 20.0) == asleep
        assert scale.lost(switched_off, REST_S + 30.0) == (LinkState.LOST, str(switched_off))


def test_silence_after_long_rest_is_sleep() -> None:
    scale = symptoms()
    scale.heard(Reading(1.0, 100.0, Unit.G))
    scale.heard(Reading(2.0, 200.0, Unit.G))
    scale.heard(Reading(2.0 + 2 * REST_S, 200.0 + STIR_G, Unit.G))
    assert scale.silent(senseless=False) == Finding(
        LinkState.ASLEEP,
        "/dev/scale: silent after 2 min without a change; switch the scale on again",
    )
    assert scale.silent(senseless=True).state is LinkState.STALE
    scale.heard(Reading(300.0, 201.0 + STIR_G, Unit.G))
    assert scale.silent(senseless=False).state is LinkState.STALE


def test_silence_soon_after_a_change_is_no_sleep() -> None:
    scale = symptoms()
    scale.heard(Reading(1.0, 200.0, Unit.G))
    scale.heard(Reading(0.9 + REST_S, 200.0, Unit.G))
    assert scale.silent(senseless=False).state is LinkState.STALE


def test_what_counts_as_a_change_is_the_same_in_kilograms() -> None:
    scale = symptoms()
    scale.heard(Reading(1.0, 1.0, Unit.KG))
    scale.heard(Reading(1.0 + REST_S, 1.0 + STIR_G / 2000, Unit.KG))
    assert scale.silent(senseless=False).state is LinkState.ASLEEP
    scale.heard(Reading(2.0 + REST_S, 1.0 + STIR_G / 500, Unit.KG))
    assert scale.silent(senseless=False).state is LinkState.STALE
