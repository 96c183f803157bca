"""What an error of the Bluetooth library means for an instrument."""

from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDBusError,
    BleakError,
)

from ingest.frames import LinkError, LinkSetupError

BLUETOOTH_ERRORS = (BleakError, OSError, EOFError)
"""What the library raises when the radio, its service or a device fails."""

_NOT_ON_THIS_MACHINE = (
    BleakBluetoothNotAvailableReason.NO_BLE_CENTRAL_ROLE,
    BleakBluetoothNotAvailableReason.DENIED_BY_USER,
    BleakBluetoothNotAvailableReason.DENIED_BY_SYSTEM,
)


def as_link_error(called: str, error: Exception, timeout_s: float = 0.0) -> LinkError | LinkSetupError:
    """Say of one of BLUETOOTH_ERRORS what it means for the instrument that is so called."""
    if isinstance(error, BleakBluetoothNotAvailableError):
        kind = LinkSetupError if error.reason in _NOT_ON_THIS_MACHINE else LinkError
        return kind(f"{called}: {error.args[0]}")
    return LinkError(f"{called}: {_explain(error, timeout_s)}")


def _explain(error: Exception, timeout_s: float) -> str:
    if isinstance(error, BleakDBusError) and error.dbus_error == "org.freedesktop.DBus.Error.ServiceUnknown":
        return "the Bluetooth service of this machine does not run; start `bluetooth` (BlueZ)"
    if isinstance(error, FileNotFoundError | ConnectionRefusedError):
        return "this machine has no system D-Bus, which BlueZ needs; install and start dbus and bluez"
    if isinstance(error, TimeoutError):
        return f"no connection within {timeout_s:g} s; is it in reach?"
    return str(error) or type(error).__name__
