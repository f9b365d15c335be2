"""A daemon that tells what it holds: one line of JSON for each line it is sent.

python -m tests.benchmarks.soaked_daemon CONFIG
"""

from __future__ import annotations

import asyncio
import gc
import json
import os
import sys
import threading
from pathlib import Path

from scaled.config import read_config
from scaled.server.daemon import run_daemon


def held() -> dict[str, float]:
    """What this process holds now, all that is garbage let go of."""
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return {
        "descriptors": len(os.listdir("/proc/self/fd")),  # noqa: PTH208
        "threads": threading.active_count(),
        "tasks": len(asyncio.all_tasks()),
        "objects": len(gc.get_objects()),
        "blocks": sys.getallocatedblocks(),
        "rss_mib": round(pages * os.sysconf("SC_PAGE_SIZE") / 2**20, 1),
        "cpu_s": round(sum(os.times()[:2]), 2),
    }


async def _run(config: Path) -> None:
    asked = asyncio.StreamReader()
    loop = asyncio.get_running_loop()
    await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(asked), sys.stdin)
    read = await asyncio.to_thread(read_config, config)
    async with asyncio.TaskGroup() as tasks:
        daemon = tasks.create_task(run_daemon(read, ready=_say))
        while await asked.readline():
            _say(json.dumps(held()))
        daemon.cancel()


def _say(line: str) -> None:
    print(line, flush=True)


if __name__ == "__main__":
    asyncio.run(_run(Path(sys.argv[1])))
