"""The embedded broker: amqtt in our own process and event loop, on loopback only.

The classes here correct amqtt 0.12.1. Each correction names its defect, and a test shows the defect in
amqtt as it comes and its absence here.
"""

import asyncio
import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from typing import Any

from amqtt.adapters import BufferReader
from amqtt.broker import Broker
from amqtt.errors import AMQTTError, BrokerError, MQTTError, NoDataError
from amqtt.mqtt.connect import ConnectPacket
from amqtt.mqtt.protocol.broker_handler import BrokerProtocolHandler, Subscription
from amqtt.mqtt.publish import PublishPacket
from amqtt.session import OUTGOING, ApplicationMessage, Session

from ingest.broker.endpoint import BrokerSetupError, Endpoint
from ingest.broker.limits import MOST_RETAINED, MOST_RETAINED_BYTES, PATIENCE_S
from ingest.broker.streams import PacketReader, PatientWriter
from ingest.wire.messages import BrokerAddress

logger = logging.getLogger(__name__)

SESSION_KEPT_S = 600
"""How long messages are kept for a client with a lasting session that went away: they are in our memory."""


@asynccontextmanager
async def serve_embedded(endpoint: Endpoint) -> AsyncIterator[BrokerAddress]:
    """Run the embedded broker for as long as the block runs.

    Raises:
        BrokerSetupError: it cannot listen there.

    """
    if not endpoint.is_loopback:
        raise BrokerSetupError(
            f"the embedded broker has no TLS and no passwords, and serves this machine only, not {endpoint}: "
            "install mosquitto, or listen on 127.0.0.1"
        )
    for chatty in ("amqtt", "transitions"):
        logging.getLogger(chatty).setLevel(logging.WARNING)
    await endpoint.wait_until_free()
    broker = EmbeddedBroker(endpoint)
    try:
        await broker.start()
    except BrokerError as error:
        raise BrokerSetupError(f"the embedded broker did not start: {error}") from error
    try:
        logger.info("the embedded broker serves on %s", endpoint)
        yield BrokerAddress(endpoint.host, endpoint.port)
    finally:
        await broker.shutdown()


class ConnectionHandler(BrokerProtocolHandler):  # type: ignore[misc]
    """One client's connection."""

    def __init__(self, broker: "EmbeddedBroker") -> None:
        super().__init__(broker.plugins_manager)
        self._broker = broker
        self.ended = asyncio.Event()

    async def start(self) -> None:
        """Start reading, and send again what was in flight.

        amqtt does not notice a client that leaves during the sending, and serves it for ever after.
        """
        await super().start()
        if self._reader_stopped.is_set():
            await self.handle_connection_closed()

    async def handle_publish(self, packet: PublishPacket) -> None:
        """Take a message, and pass it on at once.

        amqtt acknowledges it and queues it for a task that ends with the connection: what is queued then
        is lost.
        """
        session = self.session
        await super().handle_publish(packet)
        while not session.delivered_message_queue.empty():
            await self._broker.pass_on(session, self, session.delivered_message_queue.get_nowait())

    async def _handle_qos1_message_flow(self, message: ApplicationMessage) -> None:
        """Send or receive a message at QoS 1.

        amqtt forgets a message that was sent but not acknowledged, so a lasting session loses it.
        """
        session = self.session
        try:
            await super()._handle_qos1_message_flow(message)
        finally:
            if message.direction == OUTGOING and not message.puback_packet and not session.clean_session:
                session.inflight_out[message.packet_id] = message


class EmbeddedBroker(Broker):  # type: ignore[misc]
    """The broker of amqtt, corrected. As it comes it listens on every address and logs every packet."""

    def __init__(self, endpoint: Endpoint, patience_s: float = PATIENCE_S) -> None:
        configuration = {
            "listeners": {"default": {"type": "tcp", "bind": f"{endpoint.host}:{endpoint.port}"}},
            "plugins": {},
            "session_expiry_interval": SESSION_KEPT_S,
        }
        super().__init__(configuration)
        self._patience_s = patience_s

    async def shutdown(self) -> None:
        """Close every connection, and wait until it is closed."""
        connected = [handler for session, handler in self._sessions.values() if session.transitions.is_connected()]
        await super().shutdown()
        for handler in connected:
            await handler.ended.wait()

    async def stream_connected(
        self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter, listener_name: str
    ) -> None:
        """Serve a connection, through our own reader and writer."""
        await self._client_connected(
            listener_name, PacketReader(reader, self._patience_s), PatientWriter(writer, self._patience_s)
        )

    async def _authenticate(self, *_: object) -> bool:
        """Let in whoever is on this machine. The plugin of amqtt for that forgets lasting sessions too."""
        return True

    async def _initialize_client_session(
        self, reader: PacketReader, writer: PatientWriter, *remote: Any
    ) -> tuple[ConnectionHandler, Session]:
        """Read the CONNECT.

        amqtt leaves the connection open where none comes. Where a client id comes a second time, it
        leaves the older connection open, or lets the end of that one end the newer one's session.
        """
        try:
            connect = await ConnectPacket.from_stream(BufferReader((await reader.next_packet()).getvalue()))
            await self._end_connection_of(connect.client_id)
            _, session = await super()._initialize_client_session(reader, writer, *remote)
        except (AMQTTError, MQTTError, NoDataError):
            with suppress(OSError):
                await writer.close()
            raise
        # One and a half times the keepalive (MQTT 3.1.1 section 3.1.2.10); from here on the reader keeps it.
        reader.patience_s = 1.5 * session.keep_alive or None
        session.keep_alive = 0
        return ConnectionHandler(self), session

    async def _end_connection_of(self, client_id: str) -> None:
        while (known := self._sessions.get(client_id)) and known[0].transitions.is_connected():
            _, handler = known
            await handler.stop()
            await handler.ended.wait()

    async def _handle_client_session(
        self,
        reader: PacketReader,
        writer: PatientWriter,
        client_session: Session,
        handler: ConnectionHandler,
        *rest: Any,
    ) -> None:
        """Serve a client until it goes. amqtt leaves the connection open after some of its errors."""
        try:
            await super()._handle_client_session(reader, writer, client_session, handler, *rest)
        finally:
            await self._stop_handler(handler)
            client_session.transitions.disconnect()
            handler.ended.set()

    async def pass_on(self, session: Session, handler: ConnectionHandler, message: ApplicationMessage) -> None:
        """Send a message to all who subscribe to it; end the connection of a client that may not send it."""
        received = self._loop.create_future()
        received.set_result(message)
        if not await self._handle_message_delivery(session, handler, received):
            await handler.handle_connection_closed()

    async def retain_message(
        self, source_session: Session | None, topic_name: str | None, data: bytes | None, qos: int | None = None
    ) -> None:
        """Keep a message for those who come later, as long as there is room. amqtt keeps whatever comes."""
        if data and topic_name not in self._retained_messages and len(self._retained_messages) >= MOST_RETAINED:
            logger.warning("%d topics are retained already: %.80r is not", MOST_RETAINED, topic_name)
            return
        others = (len(kept.data) for name, kept in self._retained_messages.items() if name != topic_name)
        if data and sum(others) + len(data) > MOST_RETAINED_BYTES:
            logger.warning("%d bytes are retained already: %.80r is not", MOST_RETAINED_BYTES, topic_name)
            return
        await super().retain_message(source_session, topic_name, data, qos)

    async def _publish_retained_messages_for_subscription(self, *_: object) -> None:
        """Send nothing: amqtt calls this for a client that connects, with the subscriptions of everybody.

        What is retained would reach clients that did not ask for it, or may not see it.
        """

    async def _handle_subscription(
        self, session: Session, handler: ConnectionHandler, received: asyncio.Future[Subscription]
    ) -> None:
        """Take a subscription and, as MQTT 3.1.1 has it at this time only, send what is retained for it."""
        await super()._handle_subscription(session, handler, received)
        for topic_filter, qos in received.result().topics:
            if any(subscriber is session for subscriber, _ in self._subscriptions.get(topic_filter, ())):
                await super()._publish_retained_messages_for_subscription((topic_filter, qos), session)
