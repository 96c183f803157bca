"""Who may connect to a broker of ours that others can reach, and what each may do there.

Everyone may read all of the rig, and ask under their own name for what the table of roles gives them. A page's
credential asks for the people it has let in besides, never for more than itself. Nobody but the daemon may write what
the rig says, so a reading cannot be forged. An instrument writes under its own name, outside of the rig, and reads
nothing.
"""

import asyncio
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from ingest.broker.endpoint import BrokerSetupError
from ingest.broker.find_program import find_program
from ingest.config.structs import BrokerConfig, BrokerUserConfig
from ingest.password import PasswordError, read_password
from ingest.wire.asks import MAY_ASK
from ingest.wire.messages import Role, topic
from ingest.wire.roles import WHERE_NOBODY_IS_NAMED, asking_as, speaks_for

DAEMON_USER = "dewline-daemon"
"""The daemon's own name at the broker. Its password is new with every run."""


def users_of(broker: BrokerConfig) -> Mapping[str, Role]:
    """Give the role of each user of a broker, by name: those of its section, else those of a machine of one's own."""
    if not broker.users:
        return WHERE_NOBODY_IS_NAMED
    return {user.name: user.role for user in broker.users if user.role != "instrument"}


def read_passwords(users: Sequence[BrokerUserConfig]) -> dict[str, str]:
    """Read the password of each user, by name.

    Raises:
        BrokerSetupError: a file cannot be used, or holds a password that mosquitto_passwd would cut short.

    """
    passwords = {}
    for user in users:
        try:
            password = read_password(Path(user.password_file))
        except PasswordError as error:
            raise BrokerSetupError(str(error)) from error
        # mosquitto_passwd drops what follows a colon in a password, without a word: "a:b" would let in "a".
        if ":" in password or not password.isprintable():
            raise BrokerSetupError(
                f"the password in {user.password_file} holds a colon or a control character: choose another"
            )
        if user.name == DAEMON_USER:
            raise BrokerSetupError(f"the user name {DAEMON_USER!r} is the daemon's own; choose another")
        passwords[user.name] = password
    return passwords


def write_private(path: Path, text: str) -> None:
    """Write a file that only our own user can read, from its first byte on."""
    path.unlink(missing_ok=True)
    path.touch(mode=0o600, exist_ok=False)
    path.write_text(text, encoding="utf-8")


async def write_password_file(path: Path, passwords: Mapping[str, str]) -> None:
    """Write a password file for mosquitto, hashed in place: a password on a command line is seen by all.

    Raises:
        BrokerSetupError: mosquitto_passwd is missing, or refused.

    """
    program = find_program("mosquitto_passwd")
    if program is None:
        raise BrokerSetupError("there is no mosquitto_passwd on PATH, which hashes the users' passwords: install it")
    write_private(path, "".join(f"{name}:{password}\n" for name, password in passwords.items()))
    process = await asyncio.create_subprocess_exec(
        program, "-U", str(path), stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT
    )
    output, _ = await process.communicate()
    if process.returncode:
        path.unlink()  # noqa: ASYNC240 - the passwords are still in plain text there
        raise BrokerSetupError(f"mosquitto_passwd could not hash the passwords: {output.decode().strip()}")


def access_list(rig: str, users: Sequence[BrokerUserConfig]) -> str:
    """Write the access list in mosquitto's form. Where it is silent, mosquitto refuses.

    >>> robin = BrokerUserConfig(name="robin", role="lead", password_file="robin.txt")
    >>> print(access_list("van-3", [robin]))  # doctest: +ELLIPSIS
    user dewline-daemon
    topic readwrite dewline/1/van-3/#
    <BLANKLINE>
    user robin
    topic read dewline/1/van-3/#
    ...
    topic write dewline/1/van-3/ask/robin/note
    ...
    topic write dewline/1/van-3/ask/robin:lead/note
    ...
    topic write dewline/1/van-3/watching/robin/+
    <BLANKLINE>
    """
    everything = topic(rig, "#")
    instruments = [user.name for user in users if user.role == "instrument"]
    lines = [f"user {DAEMON_USER}", f"topic readwrite {everything}"]
    lines += [*(f"topic read {name}/#" for name in instruments), ""]
    for user in users:
        if user.role == "instrument":
            lines += [f"user {user.name}", f"topic write {user.name}/#", ""]
            continue
        lines += [f"user {user.name}", f"topic read {everything}"]
        lines += [f"topic write {topic(rig, ask)}" for ask in _may_ask(user)]
        lines += [f"topic write {topic(rig, f'watching/{user.name}/+')}", ""]
    return "\n".join(lines)


def _may_ask(user: BrokerUserConfig) -> Iterator[str]:
    """Name what a user may ask for, as themselves and for those whom their page lets in."""
    if user.role == "instrument":
        return
    speakers = {user.name: user.role} | {asking_as(user.name, role): role for role in sorted(speaks_for(user.role))}
    for speaker, role in speakers.items():
        yield from (f"ask/{speaker}/{kind}" for kind, roles in MAY_ASK.items() if role in roles)
