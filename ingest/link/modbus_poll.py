"""Which Modbus devices are asked when, and what is told of those that do not answer as they should.

Several devices may share a line. One that is silent costs the others at most one time of waiting, ever more rarely;
one that refuses something is asked on for the rest.
"""

from collections import Counter
from collections.abc import Iterator, Sequence

from ingest.decode.register_map import Block
from ingest.frames import Connected, Deliver, Frame, LinkError, LinkSetupError, Notice, Stamp
from ingest.link.modbus_request import LATENESS, SILENCE, explain_refusal, is_lasting

SHORTEST_REST, LONGEST_REST = 0.5, 15.0
"""How long a silent device is not asked, in times of the timeout that each try costs the others."""

LOST_AFTER = 4
"""So many tries without an answer, of every device, are the end of a connection: common practice, no source."""


class Poll:
    """The rounds of one connection. where: how the line is called in messages. timeout_s: of an answer."""

    def __init__(
        self, where: str, blocks: Sequence[Block], timeout_s: float, deliver: Deliver, connected: Connected
    ) -> None:
        self._where = where
        self._timeout_s = timeout_s
        self._in_turn = list(blocks)
        self._devices = {block.device for block in blocks}
        self._deliver = deliver
        self._connected = connected
        self._is_connected = False
        self._silences = Counter[int]()
        self._rest_until_s: dict[int, float] = {}
        self._unanswered = Counter[str]()
        self._out_of_order = Counter[int]()
        self._late_by_s: dict[int, float] = {}
        self._told = set[str]()
        self._refused: dict[str, tuple[str, bool]] = {}

    def due(self, now_s: float) -> Iterator[Block]:
        """Give the blocks to ask for in this round; of a device that turns out silent, no more.

        A block without an answer comes last in the next round, so that it keeps no other from its turn.
        """
        self._refused = {}
        resting = {device for device, until_s in self._rest_until_s.items() if until_s > now_s}
        for block in tuple(self._in_turn):
            if block.device not in resting:
                before = self._silences[block.device]
                yield block
                if self._silences[block.device] > before:
                    resting.add(block.device)

    def is_slow(self, block: Block) -> bool:
        """Say whether a block was left without an answer when it was last asked for."""
        return self._unanswered[block.name] > 0

    def heard(self, block: Block) -> None:
        """Note that a device answered, if it is not yet sure what."""
        self._speaks(block)
        if not self._is_connected:
            self._is_connected = True
            self._connected()

    def order(self, device: int, problem: str) -> None:
        """Tell what is wrong with the order of a device's answers; empty once it is right."""
        self._out_of_order[device] = self._out_of_order[device] + 1 if problem else 0
        counted = problem and f"{problem} ({self._out_of_order[device]} in a row)"
        self._tell(f"the order of the answers of device {device}", counted)

    def answered(self, block: Block, words: bytes, stamp: Stamp) -> None:
        """Pass on what a device answered."""
        self.heard(block)
        self._tell(block.name, "")
        self._unanswered.pop(block.name, 0)
        self._deliver(Frame(words, stamp, block.name))

    def refused(self, block: Block, exception: int) -> None:
        """Tell that a device answered with an exception."""
        self._speaks(block)
        problem = explain_refusal(block, exception)
        self._refused[block.name] = problem, is_lasting(exception)
        self._tell(block.name, problem)

    def unanswered(self, block: Block, now_s: float) -> None:
        """Tell that a device did not answer in time, and let it rest, longer each time but the first."""
        device = block.device
        self._silences[device] += 1
        self._unanswered[block.name] += 1
        self._in_turn.remove(block)
        self._in_turn.append(block)
        again = self._silences[device] - 2
        if again >= 0:
            self._rest_until_s[device] = now_s + self._timeout_s * min(LONGEST_REST, SHORTEST_REST * 2.0**again)
            self._tell(f"device {device}", self._silence(device))
        times = self._unanswered[block.name]
        self._tell(
            block.name, f"device {device} does not answer within {self._timeout_s:g} s ({times} in a row): {block}"
        )

    def late(self, block: Block, after_s: float) -> None:
        """Tell that an answer came that was no longer waited for."""
        self._late_by_s[block.device] = after_s
        self._tell(
            block.name,
            f"device {block.device} answers after {after_s:.3g} s, and that answer is dropped "
            f"({self._unanswered[block.name]} in a row); if it is that slow, `timeout` must be longer than "
            f"{self._timeout_s:g} s: {block}",
        )

    def end_round(self) -> None:
        """End a round.

        Raises:
            LinkError: no device answers any more, or none has yet.
            LinkSetupError: what answers refuses everything as none of its own.

        """
        if not self._is_connected:
            for problem, is_lasting in self._refused.values():
                raise (LinkSetupError if is_lasting else LinkError)(f"{self._where}: {problem}")
            raise LinkError(f"{self._where}: {self._silence(self._in_turn[0].device)}")
        if all(self._silences[device] >= LOST_AFTER for device in self._devices):
            raise LinkError(f"{self._where}: {self._silence(self._in_turn[0].device)}")

    def _silence(self, device: int) -> str:
        """Say why nothing is had of a device: one that answers late is there, and set up as it should be."""
        if device not in self._late_by_s:
            return SILENCE.format(device)
        return LATENESS.format(device, self._late_by_s[device], self._timeout_s)

    def _speaks(self, block: Block) -> None:
        self._late_by_s.pop(block.device, None)
        self._silences[block.device] = 0
        self._rest_until_s.pop(block.device, None)
        self._tell(f"device {block.device}", "")

    def _tell(self, part: str, problem: str) -> None:
        if problem or part in self._told:
            self._deliver(Notice(part, problem))
        if problem:
            self._told.add(part)
        else:
            self._told.discard(part)
