"""The simulated advertising probe: its bytes are those of bthome.io."""

import pytest

from simulators.device.adverts import encode, encrypt


@pytest.mark.parametrize(
    ("number", "value", "data"),
    [
        (0x02, 25.06, "02ca09"),
        (0x03, 50.55, "03bf13"),
        (0x04, 1008.83, "04138a01"),
        (0x43, 13.39, "434e34"),
        (0x0B, 69.14, "0b021b00"),
        (0x01, 97.0, "0161"),
        (0x02, -40.0, "0260f0"),
        (0x02, float("nan"), ""),
        (0x01, 256.0, ""),
        (0x03, -0.01, ""),
    ],
)
def test_objects_of_the_format(number: int, value: float, data: str) -> None:
    """bthome.io/format, the tables' examples; -40 degC worked by hand."""
    assert encode(number, value).hex() == data


def test_the_example_of_encryption() -> None:
    """bthome.io/encryption."""
    key = bytes.fromhex("231d39c1d7cc1ab1aee224cd096db932")
    sealed = encrypt(bytes.fromhex("02CA0903BF13"), key=key, address="54:48:E6:8F:80:A5", counter=1122867)
    assert sealed.hex() == "41e445f3c9962b332211006c7c4519"
