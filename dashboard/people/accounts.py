"""Accounts: a name, a role and the hash of a password, one small file each.

The files lie in the page's data directory, readable by its owner alone, and are looked at anew each time: what a
command adds or removes counts at once in a page that runs. Hashes are Argon2id as RFC 9106 recommends where memory is
scarce (section 4, the second set: 64 MiB, three passes, four lanes), by argon2-cffi.
"""

import logging
import os
import secrets
from pathlib import Path

import msgspec
from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from dashboard.errors import AccountError
from dashboard.own_files import file_of, make_folder, read_own
from dashboard.roles import PersonRole

logger = logging.getLogger(__name__)

LEAST_LETTERS = 15
"""Of a password that alone lets somebody in (NIST SP 800-63B-4, section 3.1.1.2; from memory)."""
MOST_LETTERS = 128
"""A longer one is no better, and would cost its hash."""

_HASHER = PasswordHasher()
_NOBODYS = _HASHER.hash(secrets.token_urlsafe())
"""What the password of a name that has no account is held against, so that such a name takes as long as any other."""


class Account(msgspec.Struct, frozen=True):
    """Somebody who comes in by a password. edition: of the account, new with each password; a login is of one."""

    name: str
    role: PersonRole
    password_hash: str
    edition: str


class Accounts:
    """The accounts of one page's data directory. Names are as `invitations.legible` gives them."""

    def __init__(self, data_directory: Path) -> None:
        self._folder = data_directory / "accounts"

    def all(self) -> list[Account]:
        """Give every account, by name; one whose file cannot be read is told in the log, and lets nobody in."""
        if not self._folder.is_dir():
            return []
        found = (self._read(path) for path in self._folder.glob("*.json"))
        return sorted((it for it in found if it is not None), key=lambda it: it.name.casefold())

    def of(self, name: str) -> Account | None:
        """Give the account of a name; None where it has none."""
        path = self._path(name)
        return self._read(path) if path.exists() else None

    def give(self, name: str, role: PersonRole, password: str) -> None:
        """Give a name its account, or its account another role and password; logins given before do not hold.

        Raises:
            AccountError: the password is too short or too long.
            SettingsError: something is in the way of the folder.

        """
        if not LEAST_LETTERS <= len(password) <= MOST_LETTERS:
            raise AccountError(f"A password has {LEAST_LETTERS} to {MOST_LETTERS} letters: four or five words will do.")
        make_folder(self._folder)
        account = Account(name, role, _HASHER.hash(password), secrets.token_urlsafe(12))
        path = self._path(name)
        draft = path.with_name(f"{path.stem}.{secrets.token_hex(4)}")
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(msgspec.json.encode(account))
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)

    def remove(self, name: str) -> bool:
        """Take an account away, and with it each login by it; tells whether there was one."""
        path = self._path(name)
        had = path.exists()
        path.unlink(missing_ok=True)
        return had

    def enter(self, name: str, password: str) -> Account | None:
        """Give the account that a name and a password open; None where they open none. Takes a tenth of a second."""
        account = self.of(name)
        try:
            _HASHER.verify(account.password_hash if account else _NOBODYS, password[: MOST_LETTERS + 1])
        except (VerificationError, InvalidHashError):
            return None
        return account

    def holds(self, name: str, edition: str) -> bool:
        """Tell whether a login by this edition of an account still holds."""
        account = self.of(name)
        return account is not None and account.edition == edition

    def _path(self, name: str) -> Path:
        return self._folder / f"{file_of(name)}.json"

    def _read(self, path: Path) -> Account | None:
        try:
            account = msgspec.json.decode(read_own(path), type=Account)
        except (OSError, msgspec.DecodeError) as error:
            logger.error("%s lets nobody in: it is no account (%s): remove it, and add the person anew", path, error)  # noqa: TRY400
            return None
        return account
