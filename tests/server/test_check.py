"""A check of the scale over the API: begun, followed, abandoned, and what is refused."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tests.server.house import STATION, ask, messages
from tests.station.rig import CUP, LENTILS

if TYPE_CHECKING:
    import httpx

    from tests.server.house import HouseRig

PLATE = {"class": "III", "capacity": "6 kg", "test_weights": ["500 g"]}


async def state_of(http: httpx.AsyncClient) -> dict[str, Any]:
    state: dict[str, Any] = (await http.get(STATION)).json()
    return state


async def obey(house: HouseRig, http: httpx.AsyncClient) -> dict[str, Any]:
    """Do all that is asked; the state when it is over."""
    while (asked := (state := await state_of(http))["checking"]) is not None:
        load = asked["loads"][asked["number"] - 1]
        await house.show(http, [(0.0 if asked["empty"] else load["load_g"], 4.0)])
    return state


async def test_a_check_is_begun_followed_and_counts(house: HouseRig) -> None:
    house.station |= PLATE | {"check_of_the_day": "refuse"}
    async with house.running() as http:
        assert (await state_of(http))["session"] is None
        answer = await ask(http, command="check", badge="Q-002")
        assert answer.status_code == 200
        begun = answer.json()["checking"]
        assert (begun["number"], begun["empty"], begun["hitch"]) == (1, True, None)
        assert (begun["badge"], begun["abandoned"]) == ("Q-002", False)
        assert begun["loads"][0] == {
            "trial": "linearity",
            "weights": "500 g",
            "load_g": 500.0,
            "spot": "middle",
        }
        state = await obey(house, http)
        assert state["check"]["fitness"] == "fit"
        assert state["check"]["table"].startswith("OIML R 76-1:2006, Table 6")
        assert [one["trial"] for one in state["check"]["findings"]] == [
            "linearity",
            "repeatability",
            "eccentricity",
            "zero return",
        ]
        assert state["session"]["profile"] == "lentil-cup"
        exported = (await http.get("/v1/records/export?format=checks")).text
        assert len(exported.splitlines()) == 3
        assert ",Q-002," in exported


async def test_its_state_is_in_the_live_view(house: HouseRig) -> None:
    house.station |= PLATE
    async with house.running() as http, house.live() as socket:
        await ask(http, command="check", weights=["2 kg", "500 g"], standard="nist-hb44")
        async for message in messages(socket):
            if message["type"] == "state" and message["state"]["checking"] is not None:
                break
        checking = message["state"]["checking"]
        assert checking["table"].startswith("NIST Handbook 44")
        assert [load["weights"] for load in checking["loads"][:3]] == [
            "500 g",
            "2 kg",
            "500 g and 2 kg",
        ]
        assert (await ask(http, command="abandon")).json()["checking"] is None


async def test_what_is_not_possible_now_is_said(house: HouseRig) -> None:
    house.station |= PLATE
    async with house.running() as http:
        answer = await ask(http, command="abandon")
        assert (answer.status_code, answer.json()["detail"]) == (
            409,
            "abandon: no check of the scale is under way",
        )
        await house.show(http, [*CUP, *LENTILS])
        answer = await ask(http, command="check")
        assert (answer.status_code, answer.json()["detail"]) == (
            409,
            "check: a build is on the scale; finish it or lift it off first",
        )


async def test_without_a_plate_no_check_can_be_made(house: HouseRig) -> None:
    async with house.running() as http:
        answer = await ask(http, command="check", weights=["500 g"])
    assert (answer.status_code, answer.json()["detail"]) == (
        409,
        "check: in the station's configuration, class: missing; write it as it stands on the"
        " scale's plate",
    )


@pytest.mark.parametrize(
    ("keys", "detail"),
    [
        ({"weights": "500 g"}, "weights: "),
        ({"weights": ["500 g"] * 11}, "weights: "),
        ({"weights": [500]}, "weights: "),
        ({"new": "yes"}, "new: "),
        ({"badge": "me"}, 'badge: "me" is no badge code'),
        ({"capacity": "6 kg"}, "capacity: "),
    ],
)
async def test_what_is_malformed_is_refused(
    house: HouseRig, keys: dict[str, object], detail: str
) -> None:
    house.station |= PLATE
    async with house.running() as http:
        answer = await ask(http, command="check", **keys)
        assert answer.status_code == 422
        assert answer.json()["detail"].startswith(detail)
        assert (await state_of(http))["checking"] is None
