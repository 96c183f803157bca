"""The short code of a page: what somebody reads out over the telephone to tell which page of which visit they hold.

Nine signs of the alphabet of tags, in threes; the last one is a check character by ISO/IEC 7064, MOD 37,36, which
betrays a sign that is wrong and two beside each other that are exchanged.
"""

import hashlib
from itertools import count

from stdnum.iso7064 import mod_37_36

from ingest.visit.tags import ALPHABET

_LENGTH, _GROUP = 9, 3


def page_code(visit: str, digest: str) -> str:
    """Give the code of the page of a visit whose journal has this digest.

    >>> page_code("v1", "0" * 64)
    'Y9H-7YY-K3T'
    """
    for attempt in count():
        number = int.from_bytes(hashlib.sha256(f"{visit} {digest} {attempt}".encode()).digest())
        code = "".join(ALPHABET[number // len(ALPHABET) ** place % len(ALPHABET)] for place in range(_LENGTH - 1))
        code += mod_37_36.calc_check_digit(code)
        if code[-1] in ALPHABET:  # else another is tried, as with a tag
            break
    return "-".join(code[at : at + _GROUP] for at in range(0, _LENGTH, _GROUP))


def is_page_code(code: str) -> bool:
    """Tell whether something may be the code of a page: of its form, and without a mistake that shows.

    >>> is_page_code("Y9H-7YY-K3T"), is_page_code("Y9H-Y7Y-K3T"), is_page_code("KX7-7PM")
    (True, False, False)
    """
    bare = code.strip().upper().replace("-", "").replace(" ", "")
    return len(bare) == _LENGTH and all(sign in ALPHABET for sign in bare) and bool(mod_37_36.is_valid(bare))
