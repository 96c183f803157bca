"""Accounts, who came in and how that ends: over a real socket, with real hashes."""

import json
import logging
import re
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote, urlencode

import argon2
import pytest

from dashboard.errors import AccountError, InvitationError
from dashboard.invitations import Doorkeeper, make_invitation
from dashboard.people.accounts import Accounts
from dashboard.people.attempts import Attempts
from tests.page import Response, cookie_of, enter, request, serving_page, settings, watching

PASSWORD = "four plain words here"


async def come_in(known: object, name: str, password: str) -> Response:
    """Send the form of the door for who has a password."""
    body = urlencode({"name": name, "password": password}).encode()
    return await request(known, "POST", "/enter", body=body)  # type: ignore[arg-type]


async def do(known: object, **form: str) -> Response:
    """Send a form of the list of who has access, as whoever sits at this machine."""
    return await request(known, "POST", "/people", body=urlencode(form).encode())  # type: ignore[arg-type]


def test_a_hash_is_as_rfc_9106_recommends_and_the_file_its_owners_alone(tmp_path: Path) -> None:
    """RFC 9106, section 4: Argon2id with 3 iterations, 4 lanes, 64 MiB, 128 bits of salt and 256 of tag."""
    Accounts(tmp_path).give("Robin", "lead", PASSWORD)
    (path,) = (tmp_path / "accounts").iterdir()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert PASSWORD.encode() not in path.read_bytes()
    made = argon2.extract_parameters(json.loads(path.read_bytes())["password_hash"])
    assert (made.type, made.time_cost, made.parallelism) == (argon2.Type.ID, 3, 4)
    assert (made.memory_cost, made.salt_len, made.hash_len) == (64 * 1024, 16, 32)


def test_only_the_password_of_a_name_opens_its_account(tmp_path: Path) -> None:
    accounts = Accounts(tmp_path)
    accounts.give("Robin", "lead", PASSWORD)
    accounts.give("Kim", "viewer", PASSWORD[::-1])
    opened = accounts.enter("ROBIN", PASSWORD)
    assert opened is not None
    assert (opened.name, opened.role) == ("Robin", "lead")
    for name, password in (("Kim", PASSWORD), ("Robin", PASSWORD + "x"), ("Robin", ""), ("Nobody", PASSWORD)):
        assert accounts.enter(name, password) is None, (name, password)
    assert [it.name for it in accounts.all()] == ["Kim", "Robin"]


@pytest.mark.parametrize("letters", [0, 14, 129])
def test_a_password_of_another_length_is_refused(letters: int, tmp_path: Path) -> None:
    """15 letters at least, as the only factor: NIST SP 800-63B-4, section 3.1.1.2, from memory."""
    with pytest.raises(AccountError, match="15 to 128 letters"):
        Accounts(tmp_path).give("Robin", "lead", "x" * letters)
    assert Accounts(tmp_path).all() == []


def test_a_login_ends_with_its_account_its_password_and_when_it_is_ended(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)

    def come() -> str:
        login = door.enter("Robin", PASSWORD)
        assert login is not None
        assert door.recognise(login) is not None
        return login

    door.accounts.give("Robin", "lead", PASSWORD)
    first = come()
    door.accounts.give("Robin", "viewer", PASSWORD)
    assert door.recognise(first) is None, "a login is of the role that it was given for"
    second = come()
    assert Accounts(tmp_path).remove("robin"), "another process took it away"
    assert door.recognise(second) is None
    door.accounts.give("Robin", "viewer", PASSWORD)
    assert door.recognise(second) is None, "an account that comes back gives no old login back"
    door.end_logins("Robin")
    assert door.enter("Robin", PASSWORD) is not None, "who has a password can come in again"


def test_nobody_takes_the_name_of_an_account_by_a_link(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)
    door.accounts.give("Robin", "lead", PASSWORD)
    link = door.invite("viewer")
    with pytest.raises(InvitationError, match="Robin has an account here"):
        door.redeem(link, "Robin")
    assert door.recognise(door.redeem(link, "Kim")) is not None, "the link was not used up"


def test_a_damaged_account_lets_nobody_in_and_is_told(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    accounts = Accounts(tmp_path)
    accounts.give("Robin", "lead", PASSWORD)
    accounts.give("Kim", "lead", PASSWORD)
    (path,) = (it for it in (tmp_path / "accounts").iterdir() if b"Robin" in it.read_bytes())
    whole = path.read_bytes()
    for damage in (b"", whole[:-9], whole.replace(b'"lead"', b'"owner"'), b'{"name": "Robin"}'):
        path.write_bytes(damage)
        assert accounts.enter("Robin", PASSWORD) is None
        assert [it.name for it in accounts.all()] == ["Kim"]
    path.write_bytes(re.sub(rb"\$argon2id[^\"]*", b"none", whole))
    assert accounts.enter("Robin", PASSWORD) is None
    assert "remove it, and add the person anew" in caplog.text
    assert PASSWORD not in caplog.text


def test_ten_wrong_tries_are_borne_in_a_quarter_of_an_hour() -> None:
    attempts = Attempts()
    for second in range(10):
        assert attempts.waits_s("name robin", second) == 0
        attempts.failed("name robin", second)
    assert attempts.waits_s("name robin", 10.0) == pytest.approx(890.0)
    assert attempts.waits_s("name kim", 10.0) == 0
    assert attempts.waits_s("name robin", 900.5) == 0, "the first is a quarter of an hour old"
    attempts.succeeded("name robin")
    assert attempts.waits_s("name robin", 10.0) == 0


def test_what_strangers_make_up_fills_no_memory() -> None:
    attempts = Attempts()
    for number in range(10_000):
        attempts.failed(f"name {number}", number / 100)
    assert len(attempts._failed) <= 5000
    assert "name 9999" in attempts._failed


async def test_a_password_opens_the_page_until_it_is_ended_there(
    tmp_path: Path, free_port: Callable[[], int], caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    known = settings(tmp_path, free_port(), open_loopback_role="technician")
    Accounts(tmp_path).give("Robin", "lead", PASSWORD)
    async with serving_page(known):
        wrong = await come_in(known, "Robin", PASSWORD + "x")
        assert (wrong.status, "set-cookie" in wrong.headers) == (403, False)
        assert "That name and that password do not open this page." in wrong.text
        nobody = await come_in(known, "Nobody", PASSWORD)
        assert nobody.text == wrong.text, "who has an account is nobody's to learn"
        entered = await come_in(known, " robin ", PASSWORD)
        assert (entered.status, entered.headers["location"]) == (303, "/")
        robin = cookie_of(entered)
        assert (await request(known, "GET", "/watch", headers=robin)).status == 200
        async with watching(known, headers=robin) as stream:
            await stream.next("hello")
            listed = (await request(known, "GET", "/people")).text
            assert "<strong>Robin</strong>, lead" in listed
            assert "by a password, until" in listed
            assert "looks at it now" in listed
            ended = await do(known, act="end", name="Robin")
            assert "Robin is out." in ended.text
            with pytest.raises(AssertionError, match="the stream ended"):
                await stream.next("never")
        again = await request(known, "GET", "/watch", headers=robin)
        assert (again.status, "has ended" in again.text) == (401, True)
        removed = await do(known, act="remove", name="Robin")
        assert "May come in by a password</h2><p>Nobody." in removed.text
        assert (await come_in(known, "Robin", PASSWORD)).status == 403
    assert PASSWORD not in caplog.text


async def test_passwords_are_not_tried_on_and_on(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    Accounts(tmp_path).give("Robin", "lead", PASSWORD)
    async with serving_page(known):
        for _ in range(10):
            assert (await come_in(known, "Robin", "x" * 20)).status == 403
        right = await come_in(known, "Robin", PASSWORD)
        assert right.status == 429
        assert "Wait 15 min, or ask the technician for a link." in right.text
        assert (await come_in(known, "Kim", "x" * 20)).status == 429, "nor from that address"


async def test_a_link_for_each_role_is_made_on_the_list_and_drawn(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        for role in ("technician", "lead", "instructor", "viewer"):
            made = await do(known, act="link", role=role)
            link = re.search(r"<code>(http[^<]*)</code>", made.text)
            assert link is not None, role
            assert "<svg" in made.text
            came = cookie_of(await enter(known, link[1], name=quote(f"Kim {role}")))
            assert (await request(known, "GET", "/", headers=came)).status == 200
            assert (await request(known, "GET", "/people", headers=came)).status == (
                200 if role == "technician" else 403
            )
        listed = (await request(known, "GET", "/people")).text
        assert re.findall(r"<strong>Kim (\w+)</strong>, (\w+)<br><small>by a link", listed) == [
            (role, role) for role in ("viewer", "instructor", "lead", "technician")
        ]
        for form in ({"act": "link", "role": "owner"}, {"act": "end"}, {"act": "what"}, {}):
            assert (await do(known, **form)).status == 400, form


async def test_what_people_are_called_is_text_on_the_list(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        await enter(known, make_invitation(known, "lead"), name=quote("<b>&\"'"))
        listed = (await request(known, "GET", "/people")).text
        assert "<strong>&lt;b&gt;&amp;&quot;&#x27;</strong>" in listed
        assert "<b>" not in listed


def test_the_command_adds_tells_and_removes(tmp_path: Path) -> None:
    def people(*arguments: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "dewline.py", "people", "--data-directory", str(tmp_path), *arguments]
        return subprocess.run(command, capture_output=True, text=True, check=False)

    added = people("add", "Robin", "--role", "viewer")
    password = re.search(r"by the password ((?:[a-z2-9]{5}-){4}[a-z2-9]{5})\n", added.stdout)
    assert password is not None, added
    assert Doorkeeper(tmp_path).enter("Robin", password[1]) is not None
    assert people("list").stdout == "Robin\tviewer\tby a password\nRobin\tviewer\tin, by a password\n"
    assert people("remove", "robin").returncode == 0
    assert people("list").stdout == ""
    gone = people("remove", "robin")
    assert (gone.returncode, gone.stderr) == (1, "robin has no account\n")
    refused = people("add", "lead")
    assert (refused.returncode, "Give your own name" in refused.stderr) == (2, True)
