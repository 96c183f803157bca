"""The commands that make up a bench, as child processes: started again when they die, gone when we are gone.

A child's standard input is a pipe that only we hold open. When the bench ends, even killed, the pipe closes and the
child stops in order (`ingest.parent`), so that no port stays taken and no record is left half-written.
"""

import asyncio
import logging
import os
import signal
import sys
from collections.abc import Mapping, Sequence

from simulators.errors import SimulatorError

logger = logging.getLogger(__name__)

PATIENCE_S = 5.0
LONGEST_PAUSE_S = 10.0
HEALTHY_S = 1.0
"""Who lives longer than this did start, and is started again at once, whatever then killed it."""

_KILLED = (-signal.SIGKILL, -signal.SIGTERM)


async def keep_running(arguments: Sequence[str], environment: Mapping[str, str], *, gives_up_at: int) -> None:
    """Run `dewline --with-parent ARGUMENTS`, and again whenever it dies, as a service manager would on a real rig.

    gives_up_at: the exit code of a command that would only fail again. One that ran before is started again all the
    same: what keeps it from starting, such as a port that is not free yet, came with its end.

    Raises:
        SimulatorError: it ended because its setup is wrong, and never ran.

    """
    clock, pause_s, has_run = asyncio.get_running_loop().time, 0.0, False
    while True:
        started_s = clock()
        code = await _run(arguments, environment)
        if code == gives_up_at and not has_run:
            raise SimulatorError(f"the {arguments[0]} cannot start; its own line above says why")
        has_run = True
        # More and more slowly only where it dies as it starts, by itself: no crash loop fills the disk.
        did_start = code in _KILLED or (clock() - started_s > HEALTHY_S and code != gives_up_at)
        pause_s = 0.0 if did_start else min(max(2 * pause_s, 0.25), LONGEST_PAUSE_S)
        logger.warning("the %s ended with code %d; starting it again in %.2g s", arguments[0], code, pause_s)
        await asyncio.sleep(pause_s)


async def _run(arguments: Sequence[str], environment: Mapping[str, str]) -> int:
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "dewline", "--with-parent", *arguments,
        stdin=asyncio.subprocess.PIPE,
        env=os.environ | environment,
        start_new_session=True,  # a terminal's Ctrl-C is ours to handle, in our own order
    )  # fmt: skip
    try:
        return await process.wait()
    finally:
        if process.returncode is None:
            process.terminate()
            try:
                async with asyncio.timeout(PATIENCE_S):
                    await process.wait()
            except TimeoutError:
                process.kill()
