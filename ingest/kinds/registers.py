"""What the two kinds of Modbus have in common: where values are in a device's registers."""

import math
from collections.abc import Mapping
from typing import Literal

import msgspec

from ingest.checking.check import Check, check_any, check_whole
from ingest.decode.register_map import WORDS, Block, Register, blocks

_ADDRESSES = 0x10000


class RegisterConfig(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A value in one or two registers of a Modbus device: value = scale x number + offset.

    address: of its first register as it travels, from 0; a manual's 40001 (holding) or 30001 (input) is address 0.
    order: of the four bytes of a two-register number as they arrive, A the highest; ABCD where not given. overload,
    invalid: numbers, as their bits, that stand for an overload or for no value. device: where it is another than the
    link's, on the same bus.
    """

    address: int
    type: Literal["i16", "u16", "i32", "u32", "f32"]
    table: Literal["holding", "input"] = "holding"
    order: Literal["ABCD", "CDAB", "BADC", "DCBA"] | None = None
    scale: float = 1.0
    offset: float = 0.0
    overload: list[int] = []
    invalid: list[int] = []
    device: int | None = None


def check_registers(
    check: Check, key: str, device: int, registers: Mapping[str, RegisterConfig], addresses: tuple[int, int]
) -> None:
    """Note what is wrong with a device and its registers. addresses: the lowest and the highest of a device."""
    check_whole(check, f"{key}.device", device, *addresses)
    check_any(check, f"{key}.registers", registers)
    for name, register in registers.items():
        register_key = f"{key}.registers.{name}"
        if register.device is not None:
            check_whole(check, f"{register_key}.device", register.device, *addresses)
        _check_register(check, register_key, register)
    _check_overlaps(check, key, device, registers)


def _check_overlaps(check: Check, key: str, device: int, registers: Mapping[str, RegisterConfig]) -> None:
    """Note a value of two registers that begins in the middle of another."""
    first_of: dict[tuple[int, str, int], str] = {}
    for name, register in registers.items():
        if WORDS[register.type] == 2:
            number = device if register.device is None else register.device
            first_of.setdefault((number, register.table, register.address), name)
    for (number, table, address), name in first_of.items():
        if other := first_of.get((number, table, address - 1)):
            expected = f"{other} has this register and the one before; correct the address of one of them"
            check.wrong(f"{key}.registers.{name}.address", address, expected)


def _check_register(check: Check, key: str, register: RegisterConfig) -> None:
    words = WORDS[register.type]
    check_whole(check, f"{key}.address", register.address, 0, _ADDRESSES - words)
    if words == 1 and register.order is not None:
        check.wrong(f"{key}.order", register.order, f"{register.type} is one register and has no order; leave it out")
    if not (math.isfinite(register.scale) and register.scale):
        check.wrong(f"{key}.scale", register.scale, "a number other than 0 was expected")
    if not math.isfinite(register.offset):
        check.wrong(f"{key}.offset", register.offset, "a number was expected")
    for name in ("overload", "invalid"):
        for bits in getattr(register, name):
            check_whole(check, f"{key}.{name}", bits, 0, (1 << 16 * words) - 1)


def to_read(device: int, registers: Mapping[str, RegisterConfig]) -> tuple[Block, ...]:
    """Join registers to what one request reads. device: of those that do not say their own."""
    return blocks(
        Register(
            field=field,
            device=device if register.device is None else register.device,
            table=register.table,
            address=register.address,
            number_type=register.type,
            order=register.order or "ABCD",
            scale=register.scale,
            offset=register.offset,
            overload=frozenset(register.overload),
            invalid=frozenset(register.invalid),
        )
        for field, register in registers.items()
    )
