"""A person with nothing but a stock MQTT client: `mosquitto_pub`, `mosquitto_sub`, and what docs/asyncapi.yaml says."""

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from functools import partial
from itertools import count
from typing import Any

from tests.bench import RIG
from tests.processes import BUSY

Message = dict[str, Any]


_NOTHING = ("", "(null)")
"""What `mosquitto_sub -v` shows of an empty payload, by its version."""


class RefusedError(AssertionError):
    """The rig did not record what was asked."""


class UnheardError(AssertionError):
    """The broker did not take a message."""


def _is_newer(before: Message, answer: Message) -> bool:
    """Whether an answer is another than the question before, which may have come twice."""
    return bool(answer.get("asks") != before["asks"])


class Client:
    """What somebody sees and asks who subscribes to all of a rig."""

    def __init__(self, port: int, rig: str, user: str, name: str) -> None:
        self._port, self._prefix, self._user, self._name = port, f"dewline/1/{rig}", user, name
        self.newest: dict[str, Any] = {}
        self.marks: list[Message] = []
        self._heard = asyncio.Event()
        self._ids = count(1)

    async def listen(self) -> None:
        """Take what the rig publishes, until cancelled; over a broker that dies, and a client that ends with it."""
        while True:
            await self._listen()
            await asyncio.sleep(0.2)

    async def _listen(self) -> None:
        listening = await asyncio.create_subprocess_exec(
            "mosquitto_sub", "-p", str(self._port), "-q", "1", "-k", "5", "-v", "-t", f"{self._prefix}/#",
            stdout=asyncio.subprocess.PIPE, limit=2**20,
        )  # fmt: skip
        assert listening.stdout is not None
        try:
            async for line in listening.stdout:
                topic, _, payload = line.decode().partition(" ")
                kind = topic.removeprefix(f"{self._prefix}/")
                said = None if payload.strip() in _NOTHING else json.loads(payload)
                if kind == "marks":
                    self.marks.append(said)
                self.newest[kind] = said
                self._heard.set()
        finally:
            with suppress(ProcessLookupError):
                listening.kill()
            await listening.wait()

    async def until(self, what: str, holds: Callable[[], Any], *, patience_s: float = 60.0) -> Any:
        """Wait until what was heard satisfies something; gives what that gives."""
        try:
            async with asyncio.timeout(patience_s * BUSY):
                while not (found := holds()):
                    self._heard.clear()
                    await self._heard.wait()
        except TimeoutError:
            raise AssertionError(f"waited for {what}; the visit stands as {self.newest.get('visit')}") from None
        return found

    async def publish(self, kind: str, message: Message) -> None:
        """Send one message.

        Raises:
            UnheardError: the broker took none.

        """
        sending = await asyncio.create_subprocess_exec(
            "mosquitto_pub", "-p", str(self._port), "-q", "1", "-t", f"{self._prefix}/{kind}", "-m", json.dumps(message)
        )
        if await sending.wait() != 0:
            raise UnheardError(kind)

    async def answer(self, kind: str, **fields: Any) -> Message:
        """Ask the rig, and wait for its answer, whatever that is; what comes confirmed is confirmed."""
        ask_id = f"{self._name.lower()}-{next(self._ids)}"
        ask = {"kind": kind, "id": ask_id, "by": self._name, **fields}
        said = await self._answer(ask, lambda _: True)
        while fields.get("confirmed") and "question" in said:
            said = await self._answer(ask | {"confirms": said["asks"]}, partial(_is_newer, said))
        return said

    async def _answer(self, ask: Message, is_it: Callable[[Message], bool]) -> Message:
        where, answer = f"ask/{self._user}/{ask['kind']}", f"answer/{self._user}/{ask['id']}"
        asking = asyncio.create_task(self._ask_again(where, ask))
        try:
            said: Message = await self.until(
                f"the answer to {ask}", lambda: it if (it := self.newest.get(answer)) and is_it(it) else None
            )
        finally:
            asking.cancel()
        return said

    async def _ask_again(self, kind: str, ask: Message) -> None:
        """Ask until cancelled: a rig or broker that just starts hears nothing yet, and one id is recorded once."""
        while True:
            with suppress(UnheardError):
                await self.publish(kind, ask)
            await asyncio.sleep(3.0)

    async def ask(self, kind: str, **fields: Any) -> Message:
        """Ask the rig for what it must record; gives the mark."""
        answer = await self.answer(kind, **fields)
        if not answer["ok"]:
            raise RefusedError(f"{kind} {fields}: {answer.get('reason') or answer['question']['us']}")
        mark: Message = answer["mark"]
        return mark

    async def act(self, act: str, **fields: Any) -> None:
        """Do something at the simulated unit."""
        await self.publish("bench/act", {"act": act, **fields})

    @property
    def visit(self) -> Message:
        """How the visit stands, as the rig says."""
        said: Message = self.newest["visit"]
        return said

    def value(self, name: str) -> float | None:
        """The newest value of a channel or figure, as it travels."""
        for record in self.newest.get("latest") or ():
            if record["n"] == name:
                return record.get("v")
        return None


@asynccontextmanager
async def stock_client(
    port: int, *, rig: str = "bench", user: str = "technician", name: str = "Sam"
) -> AsyncIterator[Client]:
    """A stock client that listens until the block ends."""
    client = Client(port, RIG, user, name)
    listening = asyncio.create_task(client.listen())
    try:
        await client.until("the rig", lambda: "visit" in client.newest and "about" in client.newest)
        yield client
    finally:
        listening.cancel()
        with suppress(asyncio.CancelledError):
            await listening  # one that ended of itself tells why
