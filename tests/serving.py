"""A broker of ours in a process of its own, so that it can be killed, and what it costs be measured."""

import asyncio
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from ingest.config.structs import BrokerConfig

SERVE = """
import asyncio, sys
from pathlib import Path
from ingest.broker.serve import serve_broker
from ingest.config.structs import BrokerConfig

async def main():
    config = BrokerConfig(kind=sys.argv[1], listen=sys.argv[2])
    async with serve_broker(config, "bench", Path(sys.argv[3])):
        print("ready", flush=True)
        await asyncio.Event().wait()

asyncio.run(main())
"""


@asynccontextmanager
async def serving(config: BrokerConfig, directory: Path) -> AsyncIterator[asyncio.subprocess.Process]:
    """Serve a broker from another process until the block ends."""
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-c", SERVE, config.kind, config.listen, str(directory)),
        stdout=asyncio.subprocess.PIPE,
    )
    assert process.stdout is not None
    try:
        async with asyncio.timeout(10):
            assert await process.stdout.readline() == b"ready\n"
        yield process
    finally:
        if process.returncode is None:
            process.kill()
        await process.wait()
