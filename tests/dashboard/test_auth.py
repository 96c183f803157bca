"""Who gets in, and who may do what: every refusal against a real server on a real socket."""

import asyncio
import json
import logging
import ssl
import stat
import time
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import trustme
from itsdangerous import URLSafeTimedSerializer
from starlette.responses import PlainTextResponse
from starlette.routing import Mount
from starlette.types import Message, Receive, Scope, Send

from dashboard.app import create_app
from dashboard.auth import Gate
from dashboard.errors import InvitationError, SettingsError
from dashboard.hub import Hub
from dashboard.invitations import Doorkeeper, make_invitation
from dashboard.roles import MAY_ASK, RULES, visitor
from dashboard.settings import PagePlace, Settings
from ingest.wire.messages import BrokerAddress
from tests.page import cookie_of, enter, request, serving_page, settings

TECHNICIAN = {"technician"}
LEAD = {"lead", "instructor"}
ASKING = TECHNICIAN | LEAD
EVERYONE = ASKING | {"viewer"}
NOBODY: set[str] = set()

ROUTES: dict[tuple[str, str], set[str]] = {
    ("GET", "/"): EVERYONE,
    ("GET", "/visit"): EVERYONE,
    ("GET", "/unit"): EVERYONE,
    ("GET", "/service_worker.js"): EVERYONE,
    ("GET", "/_dash-layout"): EVERYONE,
    ("GET", "/_dash-dependencies"): EVERYONE,
    ("GET", "/_dash-component-suites/{package_name}/{fingerprinted_path:path}"): EVERYONE,
    ("POST", "/_dash-update-component"): EVERYONE,
    ("GET", "/_reload-hash"): NOBODY,
    ("GET", "/_favicon.ico"): NOBODY,
    ("WEBSOCKET", "/_dash-ws-callback"): NOBODY,
    ("MOUNT", "/assets"): EVERYONE,
    ("MOUNT", "/assets/shared/browser"): EVERYONE,
    ("MOUNT", "/assets/charge/browser"): EVERYONE,
    ("MOUNT", "/assets/unit/browser"): EVERYONE,
    ("MOUNT", "/assets/training/browser"): EVERYONE,
    ("MOUNT", "/assets/visit/browser"): EVERYONE,
    ("MOUNT", "/assets/watch/browser"): EVERYONE,
    ("GET", "/api/stream"): EVERYONE,
    ("GET", "/api/history"): EVERYONE,
    ("POST", "/api/ask/added"): TECHNICIAN,
    ("POST", "/api/ask/recovered"): TECHNICIAN,
    ("POST", "/api/ask/correction"): TECHNICIAN,
    ("POST", "/api/ask/reading"): TECHNICIAN,
    ("POST", "/api/ask/acknowledge"): ASKING,
    ("POST", "/api/ask/reload"): TECHNICIAN,
    ("POST", "/api/ask/check"): TECHNICIAN,
    ("POST", "/api/ask/correct"): TECHNICIAN,
    ("POST", "/api/ask/note"): ASKING,
    ("POST", "/api/ask/finding"): TECHNICIAN,
    ("POST", "/api/ask/describe"): TECHNICIAN,
    ("POST", "/api/ask/cylinder"): TECHNICIAN,
    ("POST", "/api/ask/keep"): TECHNICIAN,
    ("POST", "/api/ask/open"): TECHNICIAN,
    ("POST", "/api/ask/place"): TECHNICIAN,
    ("POST", "/api/ask/hose"): TECHNICIAN,
    ("POST", "/api/ask/wait"): TECHNICIAN,
    ("POST", "/api/ask/resume"): TECHNICIAN,
    ("POST", "/api/ask/hand_over"): TECHNICIAN,
    ("POST", "/api/ask/sign"): TECHNICIAN,
    ("POST", "/api/ask/question"): TECHNICIAN,
    ("POST", "/api/ask/reply"): ASKING,
    ("POST", "/api/ask/want"): LEAD,
    ("POST", "/api/ask/dismiss"): TECHNICIAN,
    ("POST", "/api/ask/hold"): LEAD,
    ("POST", "/api/ask/release"): LEAD,
    ("POST", "/api/ask/withdraw_baseline"): ASKING,
    ("POST", "/api/ask/leave_charge"): TECHNICIAN,
    ("POST", "/api/ask/stop"): LEAD,
    ("POST", "/api/ask/seen"): TECHNICIAN,
    ("POST", "/api/ask/photograph"): TECHNICIAN,
    ("POST", "/api/ask/pattern"): TECHNICIAN,
    ("POST", "/api/ask/choose"): TECHNICIAN,
    ("POST", "/api/bench/act"): TECHNICIAN | {"instructor"},
    ("POST", "/api/photograph"): TECHNICIAN,
    ("GET", "/photograph/{mark_id}"): EVERYONE,
    ("GET", "/report/{visit}.{form}"): EVERYONE,
    ("GET", "/people"): TECHNICIAN,
    ("POST", "/people"): TECHNICIAN,
    ("GET", "/watch"): LEAD,
    ("GET", "/api/watch"): LEAD,
    ("GET", "/join"): EVERYONE,  # and strangers with a link
    ("POST", "/join"): EVERYONE,
    ("GET", "/enter"): EVERYONE,  # and strangers with a password
    ("POST", "/enter"): EVERYONE,
    ("GET", "/leave"): EVERYONE,  # and whoever holds a login that has ended
}
"""Every route of the application, and who may use it. A new route must be written down here."""
FOR_ANYBODY = {"/join", "/enter", "/leave"}


def routes(known: Settings) -> set[tuple[str, str]]:
    """What the application really routes, with the kinds of request spelled out."""
    found = set()
    for route in create_app(known, Hub()).server.routes:
        path = route.path
        kinds = MAY_ASK if path == "/api/ask/{kind}" else ("",)
        for kind in kinds:
            for method in getattr(route, "methods", None) or {"MOUNT" if isinstance(route, Mount) else "WEBSOCKET"}:
                found.add((method, path.replace("{kind}", kind)))
    return found


def permitted(method: str, path: str) -> set[str]:
    """What our rules permit, for an example of the path."""
    example = path.replace("{package_name}/{fingerprinted_path:path}", "dash/x.js").replace("{mark_id}", "p-1")
    example = example.replace("{visit}.{form}", "visit-1.pdf")
    method, example = ("GET", f"{path}/page.css") if method == "MOUNT" else (method, example)
    return set().union(*(rule.roles for rule in RULES if rule.covers(method, example)))


def test_every_route_is_listed_with_who_may_use_it(tmp_path: Path) -> None:
    found = {route for route in routes(settings(tmp_path, 1)) if route[0] != "HEAD"}
    assert found == set(ROUTES)
    assert {route: permitted(*route) for route in found if route[1] not in FOR_ANYBODY} == {
        route: roles for route, roles in ROUTES.items() if route[1] not in FOR_ANYBODY
    }


async def test_the_local_visitor_is_the_technician_and_nothing_unknown_is_served(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        assert (await request(known, "GET", "/")).status == 200
        assert '"added-open"' in (await request(known, "GET", "/_dash-layout")).text
        unlisted = ("/nothing", "/docs", "/openapi.json", "/_reload-hash", "/assets/../app.py", "/api/stream/x")
        for path in unlisted:
            assert (await request(known, "GET", path)).status == 404, path
        assert (await request(known, "DELETE", "/")).status in (404, 411)


FOR_A_LEAD = {"note", "acknowledge", "reply", "want", "hold", "release", "stop", "withdraw_baseline"}


async def test_a_lead_reads_and_writes_and_may_do_nothing_else(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        lead = cookie_of(await enter(known, make_invitation(known, "lead")))
        layout = (await request(known, "GET", "/_dash-layout", headers=lead)).text
        assert '"id":"added-open"' not in layout
        assert '"id":"note-text"' in layout
        for kind in MAY_ASK:
            answer = await request(known, "POST", f"/api/ask/{kind}", body=b'{"text": "x"}', headers=lead)
            assert answer.status == (503 if kind in FOR_A_LEAD else 403), kind  # 503: no rig has been heard
            # The gate refuses before anything is read; behind it, a request that cannot be read is told so.
            answer = await request(known, "POST", f"/api/ask/{kind}", body=b"nonsense", headers=lead)
            assert answer.status == (400 if kind in FOR_A_LEAD else 403), kind
        press = await request(
            known, "POST", "/_dash-update-component", body=press_of("take-reading"), headers=lead | JSON
        )
        assert "A lead watches" in press.text


async def test_a_viewer_sees_one_rig_and_asks_nothing(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        viewer = cookie_of(await enter(known, make_invitation(known, "viewer")))
        for path in ("/", "/visit", "/unit", "/api/history?units=us"):
            assert (await request(known, "GET", path, headers=viewer)).status == 200, path
        for path in ("/watch", "/api/watch", "/people", "/rig/van-3/visit"):
            assert (await request(known, "GET", path, headers=viewer)).status == 403, path
        for kind in MAY_ASK:
            answer = await request(known, "POST", f"/api/ask/{kind}", body=b'{"text": "x"}', headers=viewer)
            assert (answer.status, answer.text) == (403, "A viewer sees the visit, and records nothing."), kind
        press = await request(
            known, "POST", "/_dash-update-component", body=press_of("take-reading"), headers=viewer | JSON
        )
        assert "A viewer sees the visit" in press.text
        layout = (await request(known, "GET", "/_dash-layout", headers=viewer)).text
        for key in ("added-open", "note-text", "stop-at-once", "go-on", "invite-open", "hands-open"):
            assert f'"id":"{key}"' not in layout, key
        assert 'data-may=""' in (await request(known, "GET", "/visit", headers=viewer)).text


async def test_an_instructor_is_a_lead_with_hands(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        instructor = cookie_of(await enter(known, make_invitation(known, "instructor")))
        assert (await request(known, "GET", "/watch", headers=instructor)).status == 200
        for kind in MAY_ASK:
            answer = await request(known, "POST", f"/api/ask/{kind}", body=b'{"text": "x"}', headers=instructor)
            assert answer.status == (503 if kind in FOR_A_LEAD else 403), kind
        layout = (await request(known, "GET", "/_dash-layout", headers=instructor)).text
        assert '"id":"hands-open"' in layout
        assert '"id":"added-open"' not in layout
        act = await request(
            known, "POST", "/api/bench/act", body=b'{"kind": "hold", "motor": "fan"}', headers=instructor
        )
        assert act.status != 403


JSON = {"Content-Type": "application/json"}


def press_of(button: str) -> bytes:
    """What Dash sends when that button is pressed, by whoever knows how to write it."""
    return json.dumps(
        {
            "output": "outcome.children",
            "outputs": {"id": "outcome", "property": "children"},
            "inputs": [{"id": button, "property": "n_clicks", "value": 1}],
            "changedPropIds": [f"{button}.n_clicks"],
            "state": [{"id": "opening", "property": "data", "value": "o1"}],
        }
    ).encode()


async def test_a_cookie_is_kept_from_scripts_and_other_sites(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        answer = await enter(known, make_invitation(known, "lead"))
    assert answer.status == 303
    attributes = {part.strip().lower() for part in answer.headers["set-cookie"].split(";")[1:]}
    assert {"httponly", "samesite=lax", "path=/", "max-age=43200"} <= attributes  # twelve hours


def path_of(link: str) -> str:
    return "/join" + link.partition("/join")[2]


async def test_a_link_opens_once_even_when_pressed_twice_at_once(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    link = make_invitation(known, "lead")
    async with serving_page(known):
        assert (await request(known, "GET", path_of(link))).status == 200  # a preview does not use it up
        answers = await asyncio.gather(*(enter(known, link) for _ in range(8)))
        assert sorted(answer.status for answer in answers) == [303] + [403] * 7
        again = await request(known, "GET", path_of(link))
    assert again.status == 403
    assert "has been used" in again.text


def test_a_link_expires_and_cannot_be_forged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    door = Doorkeeper(tmp_path)
    token = door.invite("lead")
    assert door.inspect(token) == "lead"
    forged = URLSafeTimedSerializer("another secret", salt="dewline invitation").dumps(["technician", "x"])
    for wrong in (forged, token[:-5] + ("A" if token[-5] != "A" else "B") + token[-4:], "", "a.b.c"):
        with pytest.raises(InvitationError, match="not one of ours"):
            door.inspect(wrong)
    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + 30 * 60 + 1)
    with pytest.raises(InvitationError, match="expired"):
        door.inspect(token)


def test_a_login_is_no_invitation_and_an_invitation_is_no_login(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)
    login = door.redeem(door.invite("lead"), "Robin")
    with pytest.raises(InvitationError):
        door.inspect(login)
    assert door.recognise(door.invite("technician")) is None
    assert Doorkeeper(tmp_path).recognise(login) is not None  # another process, the same secret


def test_the_secret_is_readable_by_its_owner_alone(tmp_path: Path) -> None:
    Doorkeeper(tmp_path)
    secret = tmp_path / "page-secret"
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600
    assert len(bytes.fromhex(secret.read_text())) == 32
    secret.chmod(0o644)
    with pytest.raises(SettingsError, match="chmod 600"):
        Doorkeeper(tmp_path)


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.7", "::", "roof.example"])
def test_beyond_loopback_clear_text_is_refused_with_what_to_do(host: str, tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="--certificate and --key"):
        create_app(settings(tmp_path, 1, host=host), Hub())


def test_half_of_tls_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="both"):
        create_app(settings(tmp_path, 1, certificate=tmp_path / "c.pem"), Hub())


def test_an_authority_that_cannot_be_read_is_told_before_anything_is_served(tmp_path: Path) -> None:
    broker = BrokerAddress("broker.example", 8883, tls=True, authority_file=str(tmp_path / "gone.pem"))
    with pytest.raises(SettingsError, match=r"gone\.pem"):
        create_app(settings(tmp_path, 1, broker=broker), Hub())


async def test_beyond_loopback_nothing_is_served_without_a_link(tmp_path: Path, free_port: Callable[[], int]) -> None:
    """Over TLS, to a name that is not loopback; this client's own address is loopback, so only the name differs."""
    authority = trustme.CA()
    issued = authority.issue_cert("127.0.0.1", "roof.example")
    issued.private_key_pem.write_to_path(tmp_path / "key.pem")
    issued.cert_chain_pems[0].write_to_path(tmp_path / "certificate.pem")
    trusted = ssl.create_default_context()
    authority.configure_trust(trusted)
    known = settings(
        tmp_path, free_port(), host="0.0.0.0", public_name="roof.example",
        certificate=tmp_path / "certificate.pem", key=tmp_path / "key.pem",
    )  # fmt: skip
    elsewhere = {"Host": f"roof.example:{known.port}", "Origin": f"https://roof.example:{known.port}"}
    async with serving_page(known):
        for method, path in ROUTES:
            if method in ("GET", "POST") and path not in ("/leave", "/enter"):  # which give nobody anything
                answer = await request(known, method, path, headers=elsewhere, trusted=trusted, body=b"{}")
                assert answer.status in (401, 403), (method, path)
        for host, status in (("rebind.example", 421), (f"192.0.2.7:{known.port}", 401), ("127.0.0.1", 200)):
            assert (await request(known, "GET", "/", headers={"Host": host}, trusted=trusted)).status == status, host
        answer = await request(known, "GET", "/", trusted=trusted)
        assert answer.headers["strict-transport-security"] == "max-age=31536000"  # a year (RFC 6797, 6.1.1)
        link = make_invitation(known, "technician")
        assert link.startswith(f"https://roof.example:{known.port}/join?token=")
        token = link.partition("=")[2]
        entered = await request(
            known, "POST", "/join", body=f"token={token}&name=Sam".encode(), headers=elsewhere, trusted=trusted
        )
        assert "secure" in entered.headers["set-cookie"].lower()
        assert entered.headers["set-cookie"].startswith("__Host-")
        assert (await request(known, "GET", "/", headers=elsewhere | cookie_of(entered), trusted=trusted)).status == 200


@pytest.mark.parametrize("header", ["X-Forwarded-For", "Forwarded", "Via", "X-Real-IP"])
async def test_a_stranger_behind_a_proxy_on_this_machine_is_not_local(
    header: str, tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        assert (await request(known, "GET", "/", headers={header: "203.0.113.9"})).status == 401


async def test_a_name_that_is_not_ours_is_not_served(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        for host in ("rebind.example", f"rebind.example:{known.port}", "203.0.113.9", "[", ""):
            assert (await request(known, "GET", "/", headers={"Host": host})).status == 421, host
        assert (await request(known, "GET", "/", headers={"Host": f"localhost:{known.port}"})).status == 200


async def test_another_site_cannot_post(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    note = b'{"text": "from elsewhere"}'
    async with serving_page(known):
        for origin in (
            {},
            {"Origin": "http://elsewhere.example"},
            {"Origin": "null"},
            {"Origin": "http://127.0.0.1:1"},
        ):
            for path in ("/api/ask/note", "/_dash-update-component", "/join"):
                answer = await request(known, "POST", path, body=note, headers=origin, same_origin=False)
                assert answer.status == 403, (origin, path)
        assert (await request(known, "POST", "/api/ask/note", body=note)).status == 503


async def test_a_request_too_large_is_not_read(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        answer = await request(known, "POST", "/api/ask/note", headers={"Content-Length": "10000000"})
        assert answer.status == 413
        for size_bytes, status in ((65_536, 400), (65_537, 413)):  # 400: it was read, and is nonsense
            answer = await request(known, "POST", "/api/ask/note", body=b"x" * size_bytes)
            assert answer.status == status, size_bytes
        assert answer.text == "At most 65536 bytes are accepted."
        assert (await request(known, "POST", "/api/ask/note", headers={"Content-Length": "-1"})).status in (400, 411)


@pytest.mark.parametrize("path", ["/join", "/api/ask/note", "/_dash-update-component"])
async def test_a_request_of_unknown_length_is_not_read(path: str, tmp_path: Path, free_port: Callable[[], int]) -> None:
    """Chunks have no end that could be known before; beside a Content-Length they are to be refused (RFC 9112, 6.1)."""
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        chunked = {"Transfer-Encoding": "chunked", "Content-Length": "5"}
        assert (await request(known, "POST", path, headers=chunked)).status in (400, 411)
        assert (await request(known, "POST", path, headers={"Transfer-Encoding": "chunked"})).status == 411


async def test_no_way_leads_out_of_what_dash_serves(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        for path in ("/_dash-component-suites/../x", "/_dash-component-suites/dash/../../x", "/assets/../app.py"):
            assert (await request(known, "GET", path)).status == 404, path


async def test_a_file_that_dash_does_not_have_is_not_there(
    tmp_path: Path, free_port: Callable[[], int], caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO)
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        elsewhere = await request(known, "GET", "/nothing")
        for path in ("no-such-package", "no-such-package/x.js", "dash/no-such-file.js", "dash/deps/%00", "os/path.py"):
            caplog.clear()
            answer = await request(known, "GET", f"/_dash-component-suites/{path}")
            assert (answer.status, answer.text) == (404, elsewhere.text), path
            assert [it.levelname for it in caplog.records if "refused" in it.getMessage()] == ["INFO"], path


async def test_the_browser_is_told_to_fetch_nothing_from_elsewhere(
    tmp_path: Path, free_port: Callable[[], int]
) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        for path in ("/", "/assets/live.js", "/api/history?units=us", "/nothing"):
            headers = (await request(known, "GET", path)).headers
            policy = dict(part.split(" ", 1) for part in headers["content-security-policy"].split("; "))
            assert policy["default-src"] == "'none'"
            assert "'unsafe-inline'" not in policy["script-src"]
            assert policy["connect-src"] == "'self'"
            assert headers["x-content-type-options"] == "nosniff"
        assert (await request(known, "GET", "/")).headers["cache-control"] == "no-store"


async def test_no_token_reaches_a_log(
    tmp_path: Path, free_port: Callable[[], int], caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    caplog.set_level(logging.DEBUG)
    known = settings(tmp_path, free_port())
    link = make_invitation(known, "lead")
    async with serving_page(known):
        await request(known, "GET", path_of(link))
        login = cookie_of(await enter(known, link))["Cookie"]
        await request(known, "GET", "/", headers={"Cookie": login})
    secret = (tmp_path / "page-secret").read_text()
    said = caplog.text + "".join(capfd.readouterr())
    for hidden in (link.partition("token=")[2], login.partition("=")[2], secret):
        assert hidden not in said


@pytest.mark.parametrize(
    ("host", "start"),
    [("127.0.0.1", "http://127.0.0.1:8050/join?token="), ("::1", "http://[::1]:8050/join?token=")],
)
def test_a_link_leads_to_where_the_page_listens(host: str, start: str, tmp_path: Path) -> None:
    assert make_invitation(PagePlace(data_directory=tmp_path, host=host), "lead").startswith(start)


def test_a_page_on_every_address_is_linked_by_one_that_others_can_reach(tmp_path: Path) -> None:
    link = make_invitation(PagePlace(data_directory=tmp_path, host="0.0.0.0"), "lead")
    assert urlsplit(link).hostname not in ("0.0.0.0", "", None)
    with pytest.raises(SettingsError, match="technician, lead"):
        make_invitation(PagePlace(data_directory=tmp_path), "owner")


def test_only_the_technician_may_say_what_was_done() -> None:
    assert {kind for kind, roles in MAY_ASK.items() if "lead" in roles} == FOR_A_LEAD


async def test_a_technician_may_not_stop_themselves(tmp_path: Path, free_port: Callable[[], int]) -> None:
    known = settings(tmp_path, free_port())
    async with serving_page(known):
        refused = await request(known, "POST", "/api/ask/stop", body=b'{"fields": {"text": "x"}}')
        assert (refused.status, refused.text) == (403, "A technician acts at the unit; only a lead does that.")


# --- what no socket brings here


async def through_the_gate(tmp_path: Path, scope: dict[str, object]) -> tuple[list[Message], list[str]]:
    """What a gate sends for a request of that kind, and the roles of those it let through to the page."""
    let_in = []

    async def page(scope: Scope, receive: Receive, send: Send) -> None:
        let_in.append(visitor.get().role)
        await PlainTextResponse("the page")(scope, receive, send)

    async def receive() -> Message:
        return {"type": "http.request", "body": b"", "more_body": False}

    sent: list[Message] = []

    async def send(message: Message) -> None:
        sent.append(message)

    gate = Gate(page, settings=settings(tmp_path, 1), doorkeeper=Doorkeeper(tmp_path), response_headers={})
    usual = {"type": "http", "scheme": "http", "method": "GET", "path": "/", "client": ("127.0.0.1", 40_000)}
    await gate({**usual, "headers": [(b"host", b"127.0.0.1")], **scope}, receive, send)
    return sent, let_in


async def test_no_websocket_is_opened(tmp_path: Path) -> None:
    """RFC 6455, 7.4.1: 1008 is for what is against the rules of the place."""
    sent, let_in = await through_the_gate(tmp_path, {"type": "websocket"})
    assert [(message["type"], message["code"]) for message in sent] == [("websocket.close", 1008)]
    assert let_in == []


@pytest.mark.parametrize(
    ("client", "host", "roles"),
    [
        (("127.0.0.1", 40_000), b"127.0.0.1", ["technician"]),
        (("::1", 40_000, 0, 0), b"localhost", ["technician"]),
        (("203.0.113.9", 40_000), b"127.0.0.1", []),  # it only says that it is here
        (None, b"127.0.0.1", []),
    ],
)
async def test_only_who_asks_from_this_machine_is_the_technician(
    tmp_path: Path, client: object, host: bytes, roles: list[str]
) -> None:
    sent, let_in = await through_the_gate(tmp_path, {"client": client, "headers": [(b"host", host)]})
    assert let_in == roles
    assert sent[0]["status"] == (200 if roles else 401)
    assert b"strict-transport-security" not in dict(sent[0]["headers"])
    assert visitor.get().role == "viewer", "nobody stays who they were for the next request"


async def test_only_the_files_of_the_page_may_be_kept_and_they_are_asked_about_again(tmp_path: Path) -> None:
    for path, kept in (("/assets/live.js", b"no-cache"), ("/_dash-component-suites/x.js", b"no-cache")):
        sent, _ = await through_the_gate(tmp_path, {"path": path})
        assert dict(sent[0]["headers"])[b"cache-control"] == kept
    for path in ("/", "/api/history", "/nothing"):
        sent, _ = await through_the_gate(tmp_path, {"path": path})
        assert dict(sent[0]["headers"])[b"cache-control"] == b"no-store"
