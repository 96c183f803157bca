"""The registers of Modbus devices that an instrument reads, and how few requests fetch them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

Order = Literal["ABCD", "CDAB", "BADC", "DCBA"]
"""How the four bytes of a number arrive, A the highest."""

Table = Literal["holding", "input"]
NumberType = Literal["i16", "u16", "i32", "u32", "f32"]

WORDS: Mapping[str, int] = {"i16": 1, "u16": 1, "i32": 2, "u32": 2, "f32": 2}
"""How many registers a number takes."""

MOST_WORDS = 125
"""In one answer: MODBUS Application Protocol Specification V1.1b3, 6.3 and 6.4."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Register:
    """Where a value is, and how to read it: value = scale x number + offset.

    overload, invalid: the bits, as an unsigned number, that stand for an overload and for no value.
    """

    field: str
    device: int
    table: Table
    address: int
    number_type: NumberType
    order: Order = "ABCD"
    scale: float = 1.0
    offset: float = 0.0
    overload: frozenset[int] = frozenset()
    invalid: frozenset[int] = frozenset()

    @property
    def end(self) -> int:
        """The address after its last register."""
        return self.address + WORDS[self.number_type]


@dataclass(frozen=True, slots=True)
class Block:
    """Registers that one request reads."""

    device: int
    table: Table
    address: int
    registers: tuple[Register, ...]

    @property
    def words(self) -> int:
        """How many registers it reads."""
        return max(register.end for register in self.registers) - self.address

    def __str__(self) -> str:
        """Name the registers for people."""
        fields = ", ".join(register.field for register in self.registers)
        plural = "s" if self.words > 1 else ""
        return f"{self.words} {self.table} register{plural} from address {self.address} ({fields})"

    @property
    def name(self) -> str:
        """What its frames are called: device, table, first address."""
        return f"{self.device} {self.table} {self.address}"


def blocks(registers: Iterable[Register]) -> tuple[Block, ...]:
    """Join registers that touch or overlap. Nothing else is read: a device may refuse what lies in between.

    >>> suction = Register(field="suction", device=1, table="input", address=0, number_type="f32")
    >>> liquid = Register(field="liquid", device=1, table="input", address=2, number_type="f32")
    >>> [(block.name, block.words) for block in blocks([liquid, suction])]
    [('1 input 0', 4)]
    """
    joined: list[Block] = []
    for register in sorted(registers, key=lambda register: (register.device, register.table, register.address)):
        if joined and _fits(joined[-1], register):
            last = joined.pop()
            joined.append(Block(last.device, last.table, last.address, (*last.registers, register)))
        else:
            joined.append(Block(register.device, register.table, register.address, (register,)))
    return tuple(joined)


def _fits(block: Block, register: Register) -> bool:
    return (
        (block.device, block.table) == (register.device, register.table)
        and register.address <= block.address + block.words
        and register.end - block.address <= MOST_WORDS
    )
