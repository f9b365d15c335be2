from __future__ import annotations

import asyncio
import json
import os
from contextlib import closing
from typing import TYPE_CHECKING, Any

import pytest

from scaled.config import journal_in
from scaled.records.export import export_lines
from scaled.records.journal import Journal
from scaled.records.query import Selection, sessions
from scaled.records.reader import Records
from tests.records.checks import scale_check
from tests.server.house import STATION, ask
from tests.station.rig import CUP, LENTILS, PROFILE, WHOLE_BUILD, YOGURT

if TYPE_CHECKING:
    from scaled.records.session import SessionInfo
    from tests.server.house import HouseRig


async def test_who_is_there(house: HouseRig) -> None:
    async with house.running() as http:
        health = (await http.get("/v1/health")).json()
        assert (health["program"], health["process"]) == ("scaled", os.getpid())
        assert health["stations"] == ["line-1"]


async def test_stations_and_their_state(house: HouseRig) -> None:
    async with house.running() as http:
        await house.show(http, [*CUP, *LENTILS])
        (state,) = (await http.get("/v1/stations")).json()
        assert state["name"] == "line-1"
        assert state["link"]["state"] == "live"
        assert state["session"]["profile"] == "lentil-cup"
        assert state["live"]["step"] == "lentils"
        assert state["live"]["confirms"] == ["lid"]
        assert (await http.get(STATION)).json()["session"] == state["session"]


async def test_no_such_station(house: HouseRig) -> None:
    async with house.running() as http:
        for answer in (
            await http.get("/v1/stations/line-9"),
            await http.post("/v1/stations/line-9/commands", json={"command": "next"}),
        ):
            assert answer.status_code == 404
            assert answer.json() == {"detail": 'no station "line-9"; there are: line-1'}


async def test_profiles(house: HouseRig) -> None:
    (house.profiles / "broken.toml").write_text("schema = 2")
    async with house.running() as http:
        listed = (await http.get("/v1/profiles")).json()
        assert {"id": "lentil-cup", "title": "Lentil cup", "revision": "1"} in listed
        assert "winter-barley-bowl" in [profile["id"] for profile in listed]
        assert "broken" not in [profile["id"] for profile in listed]
        shown = (await http.get("/v1/profiles/lentil-cup")).json()
        assert (shown["title"], shown["text"]) == ("Lentil cup", PROFILE)


async def test_the_profile_shown_is_the_one_that_is_built(house: HouseRig) -> None:
    """A file edited meanwhile must not make the screen show other targets than the core has."""
    async with house.running() as http:
        (house.profiles / "lentil-cup.toml").write_text(PROFILE.replace("120 g", "90 g"))
        assert (await http.get("/v1/profiles/lentil-cup")).json()["text"] == PROFILE


async def test_a_session_built_from_a_file_shows_its_profile(house: HouseRig) -> None:
    path = house.profiles.parent / "mine.toml"
    path.write_text(PROFILE.replace("lentil-cup", "my-cup"))
    house.station["profile"] = str(path)
    async with house.running() as http:
        assert (await http.get("/v1/profiles/my-cup")).json()["title"] == "Lentil cup"


@pytest.mark.parametrize(
    ("profile", "status", "detail"),
    [
        ("nope", 404, "nope: no profile has this id; known: "),
        ("broken", 409, "broken.toml: schema: "),
        ("Lentil", 422, "profile_id: "),
    ],
)
async def test_profiles_that_cannot_be_shown(
    house: HouseRig, profile: str, status: int, detail: str
) -> None:
    (house.profiles / "broken.toml").write_text("schema = 2")
    async with house.running() as http:
        answer = await http.get(f"/v1/profiles/{profile}")
        assert answer.status_code == status
        assert detail in answer.json()["detail"]


async def test_no_file_outside_the_folders_is_shown(house: HouseRig) -> None:
    (house.profiles.parent / "mine.toml").write_text(PROFILE)
    async with house.running() as http:
        assert (await http.get("/v1/profiles/..%2Fmine")).status_code == 404
        assert (await http.get("/v1/profiles/..%2Fmine.toml")).status_code == 404


async def test_commands(house: HouseRig) -> None:
    async with house.running() as http:
        await house.show(http, [*CUP, *LENTILS])
        state = (await ask(http, command="next")).json()
        assert state["live"]["ladder"][0]["state"] == "done"
        assert state["live"]["ladder"][0]["verdict"] == "pass"
        state = (await ask(http, command="undo")).json()
        assert state["live"]["ladder"][0]["state"] == "open"
        state = (await ask(http, command="confirm", confirm="lid", held=True)).json()
        assert state["live"]["confirms"] == []
        assert (await ask(http, command="note", text="spoon bent")).status_code == 200


async def test_badge_and_profile_begin_sessions(house: HouseRig) -> None:
    async with house.running() as http:
        house.time.t += 1
        state = (await ask(http, command="badge", badge="C-014")).json()
        assert (state["session"]["badge"], state["session"]["profile"]) == ("C-014", "lentil-cup")
        house.time.t += 1
        state = (await ask(http, command="profile", profile="orchard-oat-pot")).json()
        assert state["session"]["badge"] == "C-014"
        assert state["session"]["profile"] == "orchard-oat-pot"
        assert state["live"] is None


async def test_what_the_scale_cannot_judge_is_told_with_the_session(house: HouseRig) -> None:
    fine = PROFILE.replace("lentil-cup", "fine-cup").replace('"40 g"', '"40 g"\nunder = "1 g"')
    (house.profiles / "fine-cup.toml").write_text(fine.replace("under", 'over = "1 g"\nunder'))
    async with house.running() as http:
        assert (await http.get(STATION)).json()["session"]["unfit"] == []
        state = (await ask(http, command="profile", profile="fine-cup")).json()
        assert state["session"]["unfit"] == [
            "step 2 (yogurt), under and over: a band of 2 g is 2 divisions of 1 g, too narrow to"
            " judge (two readings leave a standard uncertainty of 0.41 g or more); use a division"
            " of 0.2 g, or widen it to 4 g"
        ]


async def test_a_profile_too_fine_for_the_scale_is_refused(house: HouseRig) -> None:
    fine = PROFILE.replace("lentil-cup", "fine-cup").replace('"120 g"', '"12 g"')
    (house.profiles / "fine-cup.toml").write_text(fine.replace('"40 g"', '"4 g"'))
    async with house.running() as http:
        answer = await ask(http, command="profile", profile="fine-cup")
        session = (await http.get(STATION)).json()["session"]
    assert answer.status_code == 409
    assert answer.json()["detail"].startswith(
        "profile: fine-cup: the scale can judge none of its steps; step 1 (lentils), under and"
        " over: a band of 2.4 g is 2.4 divisions of 1 g, too narrow to judge"
    )
    assert session["profile"] == "lentil-cup"


async def test_badges_shown_at_one_moment_each_begin_a_session(house: HouseRig) -> None:
    """The house's clocks stand still: however quick the cooks, each gets a session."""
    async with house.running() as http:
        badges = [f"C-{number}" for number in range(1, 6)]
        answers = await asyncio.gather(*(ask(http, command="badge", badge=b) for b in badges))
        assert [answer.status_code for answer in answers] == [200] * len(badges)
        assert (await http.get(STATION)).json()["fault"] is None

    def read() -> list[SessionInfo]:
        with Records.open(journal_in(house.config.state)) as journal:
            return [session.info for session in sessions(journal, Selection())]

    begun = await asyncio.to_thread(read)
    assert {info.badge for info in begun} == {None, *badges}
    assert len({info.session for info in begun}) == len(begun) == len(badges) + 1


@pytest.mark.parametrize(
    ("profile", "status", "reason"),
    [
        ("scaled", 409, "profile: scaled: no profile has this id; known: "),
        ("drivers", 409, "profile: drivers: no profile has this id; known: "),
        ("next-door", 409, "profile: next-door: no profile has this id; known: "),
        ("../x", 422, "profile: "),
        ("misnamed", 409, 'misnamed.toml: id: must be the file\'s name; write id = "misnamed"'),
    ],
)
async def test_a_profile_is_chosen_by_its_id_alone(
    house: HouseRig, monkeypatch: pytest.MonkeyPatch, profile: str, status: int, reason: str
) -> None:
    """Names of folders and files where the daemon runs mean nothing to its clients."""
    for name in ("scaled", "drivers"):
        (house.profiles.parent / name).mkdir()
    (house.profiles.parent / "next-door").write_text(PROFILE)
    (house.profiles / "misnamed.toml").write_text(PROFILE)
    monkeypatch.chdir(house.profiles.parent)
    async with house.running() as http:
        answer = await ask(http, command="profile", profile=profile)
        shown = await http.get(f"/v1/profiles/{profile}")
        listed = [each["id"] for each in (await http.get("/v1/profiles")).json()]
    assert answer.status_code == status
    assert reason in answer.json()["detail"]
    assert "\n" not in answer.json()["detail"]
    assert shown.status_code == (409 if profile == "misnamed" else 404)
    assert listed.count("lentil-cup") == 1


@pytest.mark.parametrize(
    ("command", "detail"),
    [
        ({"command": "next"}, "next: no build is on the scale; set the container down first"),
        ({"command": "undo"}, "undo: "),
        (
            {"command": "confirm", "confirm": "rim", "held": True},
            'confirm: no check "rim"; there are: lid',
        ),
        ({"command": "profile", "profile": "nope"}, "profile: nope: no profile has this id"),
    ],
)
async def test_refused_commands(house: HouseRig, command: dict[str, Any], detail: str) -> None:
    async with house.running() as http:
        answer = await ask(http, **command)
        assert answer.status_code == 409
        assert answer.json()["detail"].startswith(detail)


async def test_a_build_that_left_can_be_carried_to_another_daemons_scale(house: HouseRig) -> None:
    async with house.running() as http:
        assert (await http.get(f"{STATION}/leaving")).json() == []
        await house.show(http, [*CUP, *LENTILS, (0.0, 2.0)])
        (transit,) = (await http.get(f"{STATION}/leaving")).json()
        assert (transit["build"], transit["courses"][0]["gross_g"]) == (1, 130.0)
        elsewhere = transit | {"session": "another-line"}
        for status, command in (
            (200, {"command": "expect", "transit": elsewhere}),
            (409, {"command": "expect", "transit": elsewhere}),
            (422, {"command": "expect", "transit": elsewhere | {"courses": []}}),
            (200, {"command": "forget", "origin": "another-line/1"}),
            (200, {"command": "collect", "build": 1}),
            (409, {"command": "collect", "build": 1}),
        ):
            assert (await ask(http, **command)).status_code == status
        assert (await http.get(f"{STATION}/leaving")).json() == []


async def test_mid_build_the_cook_and_the_dish_stay(house: HouseRig) -> None:
    async with house.running() as http:
        await house.show(http, [*CUP, *LENTILS])
        for command in (
            {"command": "badge", "badge": "C-1"},
            {"command": "profile", "profile": "orchard-oat-pot"},
        ):
            answer = await ask(http, **command)
            assert answer.status_code == 409
            assert answer.json()["detail"].endswith(
                "a build is on the scale; finish it or lift it off first"
            )


@pytest.mark.parametrize(
    ("body", "detail"),
    [
        ("{", "JSON decode error"),
        ("{}", "command"),
        ('{"command": "dance"}', "command"),
        ('{"command": "next", "step": 2}', "step: Extra inputs are not permitted"),
        ('{"command": "confirm", "confirm": "lid"}', "held: Field required"),
        ('{"command": "confirm", "confirm": "lid", "held": "yes"}', "held: "),
        ('{"command": "note", "text": "a\\nb"}', "text: "),
        ('{"command": "profile", "profile": "../../etc/passwd"}', "profile: "),
        *(
            (
                json.dumps({"command": "badge", "badge": badge}),
                f'badge: "{badge}" is no badge code; write one such as C-014',
            )
            for badge in ("c-014", "C014", "C-", "ABC-1", "C-123456", "C-١٢", "C-014 ")
        ),
    ],
)
async def test_malformed_commands(house: HouseRig, body: str, detail: str) -> None:
    async with house.running() as http:
        headers = {"Content-Type": "application/json"}
        answer = await http.post(f"{STATION}/commands", content=body, headers=headers)
        assert answer.status_code == 422
        assert detail in answer.json()["detail"]
        assert "\n" not in answer.json()["detail"]


async def test_exports_are_what_the_journal_exports(house: HouseRig) -> None:
    async with house.running() as http:
        await house.show(http, WHOLE_BUILD)
        session = (await http.get(STATION)).json()["session"]["session"]
    house.time.t += 1
    async with house.running() as http:
        await house.show(http, [*CUP, *LENTILS, *YOGURT])
        for form in ("csv", "jsonl"):
            for wanted in (None, session):
                query = {"format": form} | ({"session": wanted} if wanted else {})
                got = await http.get("/v1/records/export", params=query)
                name = f"{wanted or 'records'}.{form}"
                assert got.headers["content-disposition"] == f'attachment; filename="{name}"'
                assert got.text == await asyncio.to_thread(exported, house, form, wanted)


async def test_checks_of_scales_are_exported_too(house: HouseRig) -> None:
    await asyncio.to_thread(noted, house)
    async with house.running() as http:
        got = await http.get("/v1/records/export", params={"format": "checks"})
        check = (await http.get(STATION)).json()["check"]
    name = "checks.csv"
    assert got.headers["content-disposition"] == f'attachment; filename="{name}"'
    assert got.headers["content-type"] == "text/csv; charset=utf-8"
    assert [row.split(",")[0] for row in got.text.splitlines()[1:]] == [
        "20261125T080300000Z-line-1-check",
        "journal_head",
    ]
    assert (check["fitness"], check["flagged"]) == ("missing", False)  # of another station


def noted(house: HouseRig) -> None:
    with closing(Journal.open(journal_in(house.config.state))) as journal:
        journal.note_check(scale_check(), [])


def exported(house: HouseRig, form: str, session: str | None) -> str:
    with Records.open(journal_in(house.config.state)) as journal:
        return "".join(export_lines(journal, form, Selection(session=session)))


async def test_exports_that_cannot_be(house: HouseRig) -> None:
    async with house.running() as http:
        unknown = await http.get("/v1/records/export", params={"session": "x"})
        assert unknown.status_code == 404
        assert unknown.json()["detail"].startswith("x: no such session")
        wrong = await http.get("/v1/records/export", params={"format": "pdf"})
        assert wrong.status_code == 422
        assert wrong.json()["detail"].startswith("format: ")


async def test_the_contract_is_served_without_pages_from_elsewhere(house: HouseRig) -> None:
    async with house.running() as http:
        paths = (await http.get("/openapi.json")).json()["paths"]
        assert "/v1/stations/{name}/commands" in paths
        assert (await http.get("/docs")).status_code == 404
        assert (await http.get("/redoc")).status_code == 404
