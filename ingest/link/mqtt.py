"""An instrument that publishes to an MQTT broker.

What a broker has kept of a topic (a retained message) may be hours old, and is no reading of now: it is let pass.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import aiomqtt
from paho.mqtt.reasoncodes import ReasonCode

from ingest.frames import Connected, Deliver, Frame, LinkError, LinkSetupError, Stamp
from ingest.link.presence import host_appears
from ingest.wire.messages import BrokerAddress

WAITING_MESSAGES = 1024
"""What may wait while the event loop is held up; more is dropped."""

_BAD_CREDENTIALS = ("Bad user name or password", "Not authorized")


@dataclass(frozen=True, slots=True)
class MqttTopics:
    """A link that listens to topics of a broker. `Frame.source` is the topic."""

    broker: BrokerAddress
    topics: Sequence[str]

    async def run(self, deliver: Deliver, connected: Connected) -> None:
        """See Link.run."""
        arguments = self.broker.client_arguments()
        try:
            async with aiomqtt.Client(**arguments, max_queued_incoming_messages=WAITING_MESSAGES) as client:
                await self._subscribe(client)
                connected()
                async for message in client.messages:
                    if not message.retain:
                        deliver(Frame(bytes(message.payload), Stamp.now(), message.topic.value))
        except aiomqtt.MqttError as error:
            if isinstance(error, aiomqtt.MqttCodeError) and str(error.rc) in _BAD_CREDENTIALS:
                raise LinkSetupError(f"{self._called} refuses us: {error.rc}; correct the user or password") from error
            raise LinkError(f"{self._called}: {error}; does a broker run there?") from error

    async def seen_again(self) -> None:
        """See Link.seen_again."""
        await host_appears(self.broker.host, self.broker.port)

    @property
    def _called(self) -> str:
        return f"the broker at {self.broker.host}:{self.broker.port}"

    async def _subscribe(self, client: aiomqtt.Client) -> None:
        """Subscribe with QoS 0: what could not be sent at once would come too late to be a reading."""
        granted = await client.subscribe([(topic, 0) for topic in self.topics])
        refused = [
            topic
            for topic, code in zip(self.topics, granted, strict=True)
            if isinstance(code, ReasonCode) and code.is_failure
        ]
        if refused:
            raise LinkSetupError(f"{self._called} does not let us read {', '.join(refused)}; correct its access list")
