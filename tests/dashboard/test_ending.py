"""Ending what was given: logins and links that were revoked, at once, in the process that serves and from another."""

import asyncio
import socket
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from dashboard import invitations
from dashboard.hub import encode_event
from dashboard.invitations import Doorkeeper, make_invitation
from dashboard.settings import SettingsError
from tests.page import cookie_of, enter, request, serving_page, settings, watching
from tests.processes import running, within


async def test_a_revoked_login_ends_at_once_with_the_streams_that_are_open(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port(), open_loopback_role=None)
    async with serving_page(known):
        robin = cookie_of(await enter(known, make_invitation(known, "lead"), name="Robin"))
        kim = cookie_of(await enter(known, make_invitation(known, "lead"), name="Kim"))
        reader, writer = await asyncio.open_connection("127.0.0.1", known.port)
        head = f"GET /api/stream?units=us HTTP/1.1\r\nHost: 127.0.0.1:{known.port}\r\nCookie: {robin['Cookie']}\r\n\r\n"
        writer.write(head.encode())
        await reader.readuntil(b"event: hello")
        async with running(["invite", "--revoke", "Robin", "--data-directory", str(tmp_path)], tmp_path / "log") as it:
            assert await it.process.wait() == 0
        assert (await request(known, "GET", "/", headers=robin)).status == 401
        assert (await request(known, "GET", "/", headers=kim)).status == 200
        async with asyncio.timeout(20):
            while not reader.at_eof():
                await reader.read(4096)
        writer.close()


async def test_a_login_that_holds_keeps_its_stream(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port(), open_loopback_role=None)
    async with serving_page(known) as hub:
        kim = cookie_of(await enter(known, make_invitation(known, "lead"), name="Kim"))
        async with watching(known, headers=kim) as stream:
            await stream.next("hello")
            Doorkeeper(tmp_path).end_logins("Robin")
            (viewer,) = hub._viewers
            for number in range(2):
                viewer.put("frame", encode_event("frame", {"number": number}))
                assert await stream.next("frame") == {"number": number}


async def test_a_login_that_was_ended_does_not_turn_into_the_technician_of_this_machine(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """A lead's tab on the rig's own machine would record as the technician after its next reload."""
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        robin = cookie_of(await enter(known, make_invitation(known, "lead"), name="Robin"))
        Doorkeeper(tmp_path).end_logins("Robin")
        refused = await request(known, "GET", "/", headers=robin)
        assert refused.status == 401
        assert "open /leave once" in refused.text
        note = await request(known, "POST", "/api/ask/added", body=b'{"mass": "1 oz"}', headers=robin)
        assert note.status == 401
        given_back = await request(known, "GET", "/leave", headers=robin)
        assert given_back.status == 303
        assert 'dewline=""' in given_back.headers["set-cookie"]
        assert (await request(known, "GET", "/")).status == 200


async def test_elsewhere_an_ended_login_hears_of_no_way_to_be_the_technician(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port(), open_loopback_role=None)
    async with serving_page(known):
        refused = await request(known, "GET", "/", headers={"Cookie": "dewline=forged"})
        assert (refused.status, "/leave" in refused.text) == (401, False)


async def test_a_removed_secret_ends_every_login_and_link_while_the_page_runs(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port(), open_loopback_role=None)
    async with serving_page(known):
        kim = cookie_of(await enter(known, make_invitation(known, "technician"), name="Kim"))
        waiting = make_invitation(known, "lead")
        assert (await request(known, "GET", "/", headers=kim)).status == 200
        (tmp_path / "page-secret").unlink()
        assert (await request(known, "GET", "/", headers=kim)).status == 401
        assert (await enter(known, waiting)).status == 403
        anew = cookie_of(await enter(known, make_invitation(known, "lead"), name="Robin"))
        assert (await request(known, "GET", "/", headers=anew)).status == 200


def test_a_login_after_the_ending_counts_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    door = Doorkeeper(tmp_path)
    before = door.redeem(door.invite("lead"), "../Robin")  # whatever a person calls themselves
    assert door.recognise(before) is not None
    door.end_logins("../Robin")
    assert door.recognise(before) is None
    now_s = time.time()
    monkeypatch.setattr(time, "time", lambda: now_s + 2)
    assert door.recognise(door.redeem(door.invite("lead"), "../Robin")) is not None
    assert Doorkeeper(tmp_path).recognise(before) is None


def test_a_login_lasts_a_working_day_and_no_longer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    door = Doorkeeper(tmp_path)
    login = door.redeem(door.invite("lead"), "Robin")
    now_s = time.time()
    monkeypatch.setattr(time, "time", lambda: now_s + 12 * 3600 - 5)
    assert door.recognise(login) is not None
    monkeypatch.setattr(time, "time", lambda: now_s + 12 * 3600 + 5)
    assert door.recognise(login) is None


def test_a_link_lasts_half_an_hour(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    door = Doorkeeper(tmp_path)
    token = door.invite("lead")
    now_s = time.time()
    monkeypatch.setattr(time, "time", lambda: now_s + 30 * 60 - 5)
    assert door.inspect(token) == "lead"
    monkeypatch.setattr(time, "time", lambda: now_s + 30 * 60 + 5)
    with pytest.raises(invitations.InvitationError, match="expired"):
        door.inspect(token)


@pytest.mark.parametrize("written", ["Zoë", "Zoe\u0308", "zoë", " ZOË "])
def test_a_name_is_one_however_it_is_written(tmp_path: Path, written: str) -> None:
    door = Doorkeeper(tmp_path)
    login = door.redeem(door.invite("lead"), "Zoë")
    assert door.end_logins(written)
    assert door.recognise(login) is None
    assert not door.end_logins("Nobody At All")


@pytest.mark.parametrize("name", ["technician", "Lead", " TECHNICIAN "])
def test_nobody_is_called_by_a_role(tmp_path: Path, name: str) -> None:
    door = Doorkeeper(tmp_path)
    token = door.invite("lead")
    with pytest.raises(invitations.InvitationError, match="Give your own name"):
        door.redeem(token, name)
    assert door.inspect(token) == "lead"


def test_whoever_went_by_the_role_is_ended_by_it(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)
    login = door.redeem(door.invite("lead"), "")
    assert door.end_logins("lead")
    assert door.recognise(login) is None


async def test_a_name_is_needed_to_end_the_logins_of_somebody(tmp_path: Path) -> None:
    async with running(["invite", "--revoke", "", "--data-directory", str(tmp_path)], tmp_path / "log") as it:
        assert await it.process.wait() == 2
    assert "--revoke needs the name of a person" in it.output()
    assert "token=" not in it.output()


@pytest.mark.parametrize("name", ["Ro\u200bbin", "Robin\u202e", "Robin\0", "A\nB", "R" * 41])
def test_a_name_that_cannot_be_seen_opens_nothing_and_uses_no_link_up(tmp_path: Path, name: str) -> None:
    door = Doorkeeper(tmp_path)
    token = door.invite("lead")
    with pytest.raises(invitations.InvitationError, match="can be seen"):
        door.redeem(token, name)
    assert door.inspect(token) == "lead"


@pytest.mark.parametrize("left", ["", "00" * 31, "\ufffd"])
def test_a_secret_that_is_none_is_refused(tmp_path: Path, left: str) -> None:
    door = Doorkeeper(tmp_path)
    login = door.redeem(door.invite("lead"), "Robin")
    (tmp_path / "page-secret").write_text(left)
    assert door.recognise(login) is None
    with pytest.raises(SettingsError, match="remove it to make a new one"):
        Doorkeeper(tmp_path)


# --- relays and strangers


async def test_with_the_role_none_nobody_is_anybody_without_a_link(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port(), open_loopback_role=None)
    async with serving_page(known):
        for path in ("/", "/api/history?units=us", "/_dash-layout", "/api/stream?units=us"):
            assert (await request(known, "GET", path)).status == 401, path
        assert (await enter(known, make_invitation(known, "technician"))).status == 303


async def test_whoever_comes_through_a_named_relay_is_a_stranger_until_they_hold_a_login(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port(), relays=frozenset({"127.0.0.1"}), public_name="roof.example")
    through = {"Host": "roof.example", "X-Forwarded-For": "203.0.113.9", "Origin": "https://roof.example"}
    link = make_invitation(known, "technician")
    assert link.startswith("https://roof.example/join?token=")
    async with serving_page(known):
        assert (await request(known, "GET", "/")).status == 401  # though it comes from this machine
        assert (await request(known, "GET", "/", headers=through)).status == 401
        body = f"token={link.partition('=')[2]}&name=Sam".encode()
        entered = await request(known, "POST", "/join", body=body, headers=through)
        assert entered.status == 303
        assert entered.headers["set-cookie"].startswith("__Host-")
        assert "secure" in entered.headers["set-cookie"].lower()
        assert entered.headers["strict-transport-security"].startswith("max-age=")
        assert (await request(known, "GET", "/", headers=through | cookie_of(entered))).status == 200
        bad = through | {"Origin": "https://elsewhere.example"}
        assert (await request(known, "POST", "/join", body=body, headers=bad)).status == 403


@pytest.mark.parametrize(
    ("relays", "name", "says"), [({"relay"}, "x", "--relay 'relay'"), ({"192.0.2.1"}, "", "--public")]
)
def test_a_relay_is_an_address_and_needs_a_name(tmp_path: Path, relays: set[str], name: str, says: str) -> None:
    with pytest.raises(SettingsError, match=says):
        settings(tmp_path, 1, relays=frozenset(relays), public_name=name).check()


async def test_in_clear_text_no_browser_is_told_to_come_over_tls(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known), watching(known):
        assert "strict-transport-security" not in (await request(known, "GET", "/")).headers


async def test_a_page_whose_port_is_taken_fails_with_words_and_ends_no_other_test(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    """The server exits then; that would end the event loop, and with it everything that waits in it."""
    port = free_port()
    with (
        socket.create_server(("127.0.0.1", port)),
        pytest.raises(RuntimeError, match=f"cannot be served on port {port}"),
    ):
        async with serving_page(settings(tmp_path, port)):
            pass
    with pytest.raises(pytest.fail.Exception, match=r"not within 0 s: it comes"):
        await within("it comes", asyncio.sleep(60), within_s=0.0)
