"""One-time links that let a person in, and the signed cookie they become.

The secret lies in the data directory, readable by its owner alone; so do the marks of used links, which makes a
link single even across restarts and processes, and the names whose logins were ended. All of it is looked at anew for
each request: what is ended there, by this process or another, is ended at once, and so are the streams that are open.
"""

import logging
import os
import secrets
import socket
import time
import unicodedata
from pathlib import Path
from typing import Literal, get_args

import msgspec
from itsdangerous import BadSignature, SignatureExpired, URLSafeTimedSerializer

from dashboard.errors import InvitationError, SettingsError
from dashboard.own_files import file_of, make_folder, read_own
from dashboard.people.accounts import Accounts
from dashboard.roles import JOIN, PersonRole, Visitor
from dashboard.settings import PagePlace, is_loopback
from ingest.wire.texts import is_empty

logger = logging.getLogger(__name__)

INVITATION_LIFETIME_S = 30 * 60
LOGIN_LIFETIME_S = 12 * 3600
"""A long working day."""

LONGEST_NAME = 40

_SECRET_BYTES = 32
_WILDCARDS = ("0.0.0.0", "::", "")  # noqa: S104 - compared with, not bound to


class _Invitation(msgspec.Struct, frozen=True):
    role: PersonRole
    id: str


class Entered(msgspec.Struct, frozen=True):
    """Somebody who came in: by what, and when [s since 1970]."""

    name: str
    role: PersonRole
    by: Literal["link", "password"]
    time_s: float


class Doorkeeper:
    """Makes and honours invitations and logins for one data directory."""

    def __init__(self, data_directory: Path) -> None:
        self._secret_file = data_directory / "page-secret"
        self._used = data_directory / "used-invitations"
        self._ended = data_directory / "ended-logins"
        self._entered = data_directory / "entered"
        self.accounts = Accounts(data_directory)
        self._seen: tuple[int, int] | None = None
        self._read_secret()

    @property
    def _invitations(self) -> URLSafeTimedSerializer:
        return URLSafeTimedSerializer(self._read_secret(), salt="dewline invitation")

    @property
    def _logins(self) -> URLSafeTimedSerializer:
        return URLSafeTimedSerializer(self._read_secret(), salt="dewline login")

    def _read_secret(self) -> str:
        """Give the secret as it lies there now; where it was removed, a new one, with which nothing old is valid."""
        try:
            found = self._secret_file.stat()
        except FileNotFoundError:
            found = None
        if found is None or (found.st_ino, found.st_mtime_ns) != self._seen:
            self._secret = _load_secret(self._secret_file)
            found = self._secret_file.stat()
            self._seen = (found.st_ino, found.st_mtime_ns)
        return self._secret

    def end_logins(self, name: str) -> bool:
        """End every login that a person of this name holds now; tells whether anybody of that name ever came in."""
        name = legible(name)
        make_folder(self._ended)
        mark = self._ended / file_of(name)
        mark.unlink(missing_ok=True)
        mark.touch(mode=0o600)
        return (self._entered / file_of(name)).exists()

    def end_everything(self) -> None:
        """End every login, and every link that was not used yet."""
        self._secret_file.unlink(missing_ok=True)
        self._read_secret()

    def invite(self, role: PersonRole) -> str:
        """Make a token that lets one person in, once, within half an hour."""
        return self._invitations.dumps([role, secrets.token_urlsafe(12)])

    def inspect(self, token: str) -> PersonRole:
        """Tell the role that an invitation gives, without using it up.

        Raises:
            InvitationError: it was not made here, has expired, or has been used.

        """
        invitation = self._invitation(token)
        if (self._used / invitation.id).exists():
            raise InvitationError("This link has been used. Ask for a new one.")
        return invitation.role

    def redeem(self, token: str, name: str) -> str:
        """Use an invitation up and return the login that it becomes; who gives no name goes by the role.

        Raises:
            InvitationError: as `inspect`.

        """
        invitation = self._invitation(token)
        name = person(name) or invitation.role
        if self.accounts.of(name) is not None:
            raise InvitationError(f"{name} has an account here. Come in by its password, or go by another name.")
        try:
            self._use(invitation.id)
            self._note(Entered(name, invitation.role, "link", time.time()))
        except (OSError, SettingsError) as error:
            logger.error("nobody is let in: %s", error)  # noqa: TRY400 - a file in the way is no mistake of ours
            raise InvitationError("Links cannot be used now: see the page's log.") from error
        return self._logins.dumps([invitation.role, name])

    def enter(self, name: str, password: str) -> str | None:
        """Return the login that a name and its password open; None where they open none. Takes a tenth of a second."""
        account = self.accounts.enter(legible(name), password)
        if account is None:
            return None
        self._note(Entered(account.name, account.role, "password", time.time()))
        return self._logins.dumps([account.role, account.name, account.edition])

    def entered(self) -> list[Entered]:
        """Tell who came in within the lifetime of a login and was not shut out since, the newest first."""
        if not self._entered.is_dir():
            return []
        found = (self._of(path) for path in self._entered.iterdir())
        return sorted((it for it in found if it is not None), key=lambda it: -it.time_s)

    def _of(self, path: Path) -> Entered | None:
        """Read who came in; None for somebody whose login ended, and where that was not noted yet."""
        try:
            it = msgspec.json.decode(read_own(path), type=Entered)
            ended_s = (self._ended / path.name).stat().st_mtime
        except FileNotFoundError:
            ended_s = 0.0
        except (OSError, msgspec.DecodeError):
            return None
        if it.by == "password" and self.accounts.of(it.name) is None:
            return None
        return it if it.time_s > max(ended_s, time.time() - LOGIN_LIFETIME_S) else None

    def _note(self, it: Entered) -> None:
        """Note who came in. The file's own name tells nothing of them."""
        make_folder(self._entered)
        path = self._entered / file_of(it.name)
        path.touch(mode=0o600)
        path.write_bytes(msgspec.json.encode(it))

    def recognise(self, login: str) -> Visitor | None:
        """Tell who holds a login; None for one that is forged, has expired, or was ended."""
        try:
            (role, name, *edition), made = self._logins.loads(login, max_age=LOGIN_LIFETIME_S, return_timestamp=True)
        except (BadSignature, SettingsError):
            return None
        if edition and not self.accounts.holds(name, *edition):
            return None
        try:
            ended_s = (self._ended / file_of(name)).stat().st_mtime
        except FileNotFoundError:
            return Visitor(role, name)
        except OSError as error:
            logger.error("nobody is let in: %s is to be a folder of marks, and is not (%s)", self._ended, error)  # noqa: TRY400
            return None
        # A login's stamp has whole seconds: of the second in which it was ended, none stays.
        return Visitor(role, name) if made.timestamp() > ended_s else None

    def _invitation(self, token: str) -> _Invitation:
        try:
            role, identity = self._invitations.loads(token, max_age=INVITATION_LIFETIME_S)
        except SignatureExpired as error:
            raise InvitationError("This link has expired. Ask for a new one.") from error
        except BadSignature as error:
            raise InvitationError("This link is not one of ours. Ask for a new one.") from error
        except SettingsError as error:
            raise InvitationError("Links cannot be read now: see the page's log.") from error
        return _Invitation(role, identity)

    def _use(self, identity: str) -> None:
        """Mark an invitation used: creating a file is the one step that cannot happen twice."""
        make_folder(self._used)
        for path in self._used.iterdir():
            if path.stat().st_mtime < time.time() - 2 * INVITATION_LIFETIME_S:
                path.unlink(missing_ok=True)
        try:
            (self._used / identity).touch(mode=0o600, exist_ok=False)
        except FileExistsError as error:
            raise InvitationError("This link has been used. Ask for a new one.") from error


def make_invitation(place: PagePlace, role: PersonRole) -> str:
    """Make a link that lets one person in as `role`.

    Raises:
        SettingsError: the role is unknown, or the secret is not safe where it lies.

    """
    if role not in get_args(PersonRole):
        raise SettingsError(f"role {role!r} is none of {', '.join(get_args(PersonRole))}")
    return invitation_url(place, Doorkeeper(place.data_directory).invite(role))


def person(name: str) -> str:
    """Read the name that a person gives; none where nothing of it is seen. Errors as `legible`.

    Raises:
        InvitationError: it is a role's, and would say who they are not.

    """
    name = legible(name)
    if name.casefold() in get_args(PersonRole):
        raise InvitationError("Give your own name: a role beside what you do would say who you are not.")
    return "" if is_empty(name) else name


def legible(name: str) -> str:
    """Read a name: one form for every way in which it can be written (Unicode Standard Annex 15).

    Raises:
        InvitationError: it holds what nobody can see, or is longer than a name.

    """
    name = unicodedata.normalize("NFC", name.strip())
    if any(unicodedata.category(letter).startswith("C") for letter in name) or len(name) > LONGEST_NAME:
        raise InvitationError(f"A name has at most {LONGEST_NAME} letters, all of which can be seen.")
    return name


def invitation_url(place: PagePlace, token: str) -> str:
    """Write the address that opens an invitation."""
    host = place.public_name or (_own_address() if place.host in _WILDCARDS else place.host)
    host = f"[{host}]" if ":" in host else host
    if place.relays:
        return f"https://{host}{JOIN}?token={token}"
    return f"{'https' if place.certificate else 'http'}://{host}:{place.port}{JOIN}?token={token}"


def reaches_others(place: PagePlace) -> bool:
    """Whether a link would open on any machine but this one."""
    return bool(place.relays) or not is_loopback(place.host)


def _own_address() -> str:
    """Find the address by which this machine reaches its network. Nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # reserved for documentation (RFC 5737): only the route is looked up
        except OSError:
            return socket.gethostname()
        address: str = probe.getsockname()[0]
        return address


def _load_secret(path: Path) -> str:
    """Read the secret, or make it; two processes that start together end with the same one."""
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_name(f"{path.name}.{secrets.token_hex(4)}")
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(secrets.token_hex(_SECRET_BYTES))
            file.flush()
            os.fsync(file.fileno())  # or a power cut could leave an empty file, under its final name
        try:
            os.link(draft, path)
        except FileExistsError:
            pass
        finally:
            draft.unlink()
    if path.stat().st_mode & 0o077:
        raise SettingsError(f"{path} can be read by others: run chmod 600 on it, or remove it to make a new one")
    try:
        secret = read_own(path).decode("ascii").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path} is no secret of this page: {error}: remove it to make a new one") from error
    if len(secret) < 2 * _SECRET_BYTES:
        raise SettingsError(f"{path} is no secret of this page: remove it to make a new one, which ends every login")
    return secret
