"""The multimeter chips whose frames we read."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from ingest.decode import es51922 as decode_es51922
from ingest.decode import fs9721 as decode_fs9721
from ingest.decode import fs9922 as decode_fs9922
from ingest.decode.frame_finder import IsFrame
from ingest.frames import Decode

ChipName = Literal["fs9721", "fs9922", "es51922"]


@dataclass(frozen=True, slots=True)
class Chip:
    """How a chip speaks: its speed, the length of its frames, what knows them, and their decoder."""

    baud: int
    frame_bytes: int
    is_frame: IsFrame
    decode: Decode


CHIPS: Mapping[ChipName, Chip] = MappingProxyType(
    {
        "fs9721": Chip(2400, decode_fs9721.LENGTH, decode_fs9721.is_fs9721, decode_fs9721.decode_fs9721),
        "fs9922": Chip(2400, decode_fs9922.LENGTH, decode_fs9922.is_fs9922, decode_fs9922.decode_fs9922),
        "es51922": Chip(19200, decode_es51922.LENGTH, decode_es51922.is_es51922, decode_es51922.decode_es51922),
    }
)
