from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from starlette.datastructures import Headers
from websockets.asyncio.client import connect
from websockets.exceptions import InvalidStatus

from scaled.address import TcpAddress, parse_address
from scaled.server.guard import is_local
from tests.server.house import STATION, ask

if TYPE_CHECKING:
    from tests.server.house import HouseRig

OURS = "127.0.0.1:8040"


def headers(*pairs: tuple[str, str]) -> Headers:
    return Headers(raw=[(key.encode(), value.encode()) for key, value in pairs])


@pytest.mark.parametrize(
    "host", [OURS, "127.0.0.1", "localhost:8040", "LOCALHOST:8040", "[::1]:8040", "127.9.9.9:1"]
)
def test_our_own_names_are_let_in(host: str) -> None:
    assert is_local(headers(("host", host)))
    assert is_local(headers(("host", host), ("origin", f"http://{host}")))


@pytest.mark.parametrize(
    "host",
    [
        "kitchen.example:8040",
        "localhost.example",
        "127.0.0.1.example",
        "192.0.2.7:8040",
        "0.0.0.0:8040",
        "[2001:db8::1]:8040",
        "[::1",
        "",
        "user@kitchen.example",
    ],
)
def test_a_name_that_leads_here_by_dns_is_kept_out(host: str) -> None:
    assert not is_local(headers(("host", host)))


@pytest.mark.parametrize(
    "origin",
    [
        "null",
        "http://kitchen.example",
        "https://127.0.0.1:8040",
        "http://127.0.0.1:9000",
        "http://127.0.0.1",
        "http://localhost:8040",
        "file://",
        "",
    ],
)
def test_pages_of_another_origin_are_kept_out(origin: str) -> None:
    """RFC 6454: scheme, host and port make the origin; an opaque one is ``null``."""
    assert not is_local(headers(("host", OURS), ("origin", origin)))


def test_ambiguous_requests_are_kept_out() -> None:
    assert not is_local(headers())
    assert not is_local(headers(("host", OURS), ("host", "kitchen.example")))
    two = [("origin", f"http://{OURS}"), ("origin", "http://kitchen.example")]
    assert not is_local(headers(("host", OURS), *two))


@pytest.fixture
def open_port(house: HouseRig) -> HouseRig:
    """A daemon on a port, as browsers can reach it."""
    house.keys["listen"] = "127.0.0.1:0"
    return house


async def test_a_page_cannot_press_a_key(open_port: HouseRig) -> None:
    async with open_port.running() as http:
        body = '{"command": "note", "text": "x"}'
        for foreign in (
            {"Origin": "http://kitchen.example"},
            {"Origin": "null"},
            {"Host": "kitchen.example"},
        ):
            headers = {"Content-Type": "application/json"} | foreign
            answer = await http.post(f"{STATION}/commands", content=body, headers=headers)
            assert answer.status_code == 403
            assert answer.json() == {"detail": "refused: this station is not open to web pages"}
        assert "noted" not in (await http.get("/v1/records/export?format=jsonl")).text


async def test_a_form_of_the_same_machine_cannot_press_a_key_either(open_port: HouseRig) -> None:
    """Forms may be sent across origins as plain text, which is no JSON to us."""
    async with open_port.running() as http:
        answer = await http.post(
            f"{STATION}/commands",
            content='{"command": "note", "text": "x"}',
            headers={"Content-Type": "text/plain"},
        )
        assert answer.status_code == 422


async def test_a_page_cannot_watch(open_port: HouseRig) -> None:
    async with open_port.running():
        with pytest.raises(InvalidStatus, match="403"):
            async with open_port.live(origin="http://kitchen.example"):
                pass
        here = parse_address(open_port.address)
        assert isinstance(here, TcpAddress)
        rebound = connect(
            f"ws://kitchen.example{STATION}/live", host=here.host, port=here.port, proxy=None
        )
        with pytest.raises(InvalidStatus, match="403"):
            async with rebound:
                pass


async def test_screens_and_tools_come_in_by_port(open_port: HouseRig) -> None:
    async with open_port.running() as http:
        assert open_port.address.startswith("127.0.0.1:")
        assert (await ask(http, command="note", text="x")).status_code == 200
        assert (await http.get("/v1/health", headers={"Host": "localhost"})).status_code == 200
        async with open_port.live() as line:
            assert '"type":"state"' in str(await line.recv())


async def test_a_socket_file_is_no_matter_of_names(house: HouseRig) -> None:
    """No browser opens a socket file; who may open it may name the host at will."""
    async with house.running() as http:
        assert (await http.get("/v1/health", headers={"Host": "x"})).status_code == 200
