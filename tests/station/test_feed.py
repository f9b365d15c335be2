from __future__ import annotations

import asyncio

from scaled.core.events import Noted
from scaled.station.feed import MOST_EVENTS, Feed, Feeds
from scaled.station.state import StationState
from tests.station.rig import LINK


def state(name: str) -> StationState:
    return StationState(name, LINK)


def notes(first: int, count: int) -> list[Noted]:
    return [Noted(t=float(t), build=1, text="x") for t in range(first, first + count)]


async def test_a_client_that_comes_late_gets_the_state_first() -> None:
    feed = Feed(state("now"))
    assert await feed.wait()
    assert feed.take() == (0, (), state("now"))


async def test_only_the_latest_state_waits() -> None:
    feed = Feed(state("one"))
    feed.show(state("two"))
    feed.show(state("three"))
    assert feed.take().state == state("three")


async def test_what_was_taken_is_no_news_any_more() -> None:
    feed = Feed(state("now"))
    feed.take()
    async with asyncio.TaskGroup() as tasks:
        waiting = tasks.create_task(feed.wait())
        await asyncio.sleep(0)
        assert not waiting.done()
        feed.tell(notes(0, 2))
    assert waiting.result()
    assert feed.take() == (0, tuple(notes(0, 2)), None)


async def test_a_client_that_never_reads_costs_no_more_and_is_told_what_it_missed() -> None:
    feed = Feed(state("now"))
    for t in range(0, 10 * MOST_EVENTS, 5):
        feed.tell(notes(t, 5))
    news = feed.take()
    assert news.missed == 9 * MOST_EVENTS
    assert news.events == tuple(notes(9 * MOST_EVENTS, MOST_EVENTS))
    feed.tell(notes(0, 1))
    assert feed.take() == (0, tuple(notes(0, 1)), None)


async def test_the_end_comes_after_the_last_news() -> None:
    feed = Feed(state("now"))
    feed.tell(notes(0, 1))
    feed.end()
    assert await feed.wait()
    assert feed.take().events
    assert not await feed.wait()


async def test_all_clients_are_told_and_ended() -> None:
    feeds = Feeds()
    with feeds.joined(state("a")) as one, feeds.joined(state("a")) as two:
        feeds.tell(notes(0, 1))
        feeds.show(state("b"))
        feeds.end()
        assert one.take() == two.take() == (0, tuple(notes(0, 1)), state("b"))
        assert not await one.wait()


async def test_who_comes_after_the_end_gets_the_last_state_and_the_end() -> None:
    feeds = Feeds()
    feeds.end()
    with feeds.joined(state("last")) as feed:
        assert await feed.wait()
        assert feed.take().state == state("last")
        assert not await feed.wait()


async def test_the_last_client_gone_is_noticed() -> None:
    feeds = Feeds()
    await feeds.emptied()
    async with asyncio.TaskGroup() as tasks:
        with feeds.joined(state("a")):
            with feeds.joined(state("a")):
                waiting = tasks.create_task(feeds.emptied())
            await asyncio.sleep(0)
            assert not waiting.done()
