"""Ports, looked at before anything starts: what is taken is told in one line, with the option that chooses another."""

import errno
import socket


class PortTakenError(Exception):
    """Something else listens there, or this machine cannot listen there: which port, of what, and what to do."""


def check_free(host: str, port: int, *, of: str, option: str) -> None:
    """Make sure that nothing listens on a port yet. of: what it is for. option: by which another is chosen.

    Raises:
        PortTakenError: something does, or nothing can.

    """
    if not 0 < port < 65536:
        raise PortTakenError(f"{option} is {port}; a port is 1 to 65535")
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        socket.create_server((host, port), family=family).close()
    except OSError as error:
        where = f"port {port} of {host or 'this machine'} cannot be had for {of}"
        if error.errno == errno.EADDRINUSE:
            raise PortTakenError(
                f"{where}: another program listens there. Stop it, or choose another port with {option}"
            ) from error
        raise PortTakenError(f"{where}: {error.strerror or error}. Look at the address and at {option}") from error
