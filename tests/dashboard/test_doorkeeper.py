"""What ends everything ends everything, and a secret that a group can read is none."""

import base64
import os
import stat
import time
from pathlib import Path

import pytest
from itsdangerous import URLSafeTimedSerializer

from dashboard.errors import InvitationError, SettingsError
from dashboard.invitations import Doorkeeper, make_invitation, reaches_others
from dashboard.settings import PagePlace
from tests.lies import LIES, put


def test_ending_everything_ends_logins_and_links_at_once(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)
    login, link = door.redeem(door.invite("lead"), "Robin"), door.invite("lead")
    assert door.recognise(login) is not None
    door.end_everything()
    assert door.recognise(login) is None
    with pytest.raises(InvitationError, match="not one of ours"):
        door.inspect(link)
    (tmp_path / "page-secret").unlink()
    door.end_everything()  # though somebody was quicker
    assert (tmp_path / "page-secret").exists()


def test_the_data_directory_is_made_where_there_is_none(tmp_path: Path) -> None:
    folder = tmp_path / "data" / "dewline"
    Doorkeeper(folder)
    assert [path.name for path in folder.iterdir()] == ["page-secret"]


def test_no_two_links_are_alike_by_96_bits_of_chance(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)
    chance = {URLSafeTimedSerializer("").loads_unsafe(door.invite("lead"))[1][1] for _ in range(20)}
    assert {len(base64.urlsafe_b64decode(each)) for each in chance} == {12}
    assert len(chance) == 20


@pytest.mark.parametrize("mode", [0o640, 0o620, 0o604, 0o601])
def test_a_secret_that_others_can_reach_is_refused(tmp_path: Path, mode: int) -> None:
    Doorkeeper(tmp_path)
    (tmp_path / "page-secret").chmod(mode)
    with pytest.raises(SettingsError, match="can be read by others"):
        Doorkeeper(tmp_path)


def test_a_link_is_used_up_for_every_process_and_once_only(tmp_path: Path) -> None:
    token = Doorkeeper(tmp_path).invite("lead")
    Doorkeeper(tmp_path).redeem(token, "Robin")
    for door in (Doorkeeper(tmp_path), Doorkeeper(tmp_path)):
        with pytest.raises(InvitationError, match="has been used"):
            door.inspect(token)
        with pytest.raises(InvitationError, match="has been used"):
            door.redeem(token, "Kim")


def test_the_mark_of_a_used_link_outlives_the_link_and_is_tidied_away_after_an_hour(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)
    door.redeem(door.invite("lead"), "Robin")
    (used,) = (tmp_path / "used-invitations").iterdir()
    for minutes, stays in ((59, True), (61, False)):
        at_s = time.time() - minutes * 60
        os.utime(used, (at_s, at_s))
        door.redeem(door.invite("lead"), "Kim")
        assert used.exists() == stays


def test_what_lies_in_the_data_directory_is_for_its_owner_alone(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)
    door.redeem(door.invite("lead"), "Robin")
    door.end_logins("Robin")
    folders = {path for path in tmp_path.iterdir() if path.is_dir()}
    assert {path.name for path in folders} == {"used-invitations", "entered", "ended-logins"}
    assert {stat.S_IMODE(path.stat().st_mode) for path in folders} == {0o700}
    inside = [path for folder in folders for path in folder.iterdir()]
    assert len(inside) == 3
    assert {stat.S_IMODE(path.stat().st_mode) for path in inside} == {0o600}


def test_logins_can_be_ended_again_and_of_the_second_in_which_that_was_none_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(time, "time", lambda: 1_800_000_000.75)
    door = Doorkeeper(tmp_path)
    assert not door.end_logins("Robin")
    login = door.redeem(door.invite("lead"), "Robin")
    assert door.end_logins("Robin")
    (ended,) = (tmp_path / "ended-logins").iterdir()
    for ended_s, counts in ((1_799_999_999.0, True), (1_800_000_000.0, False), (1_800_000_000.9, False)):
        os.utime(ended, (ended_s, ended_s))
        assert (door.recognise(login) is not None) == counts


def test_a_name_has_40_letters_at_most(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)
    visitor = door.recognise(door.redeem(door.invite("lead"), "R" * 40))
    assert visitor is not None
    assert visitor.name == "R" * 40
    with pytest.raises(InvitationError, match="at most 40 letters"):
        door.redeem(door.invite("lead"), "R" * 41)


@pytest.mark.parametrize("name", ["", "  ", "\u3164", "\u2800 "])
def test_who_gives_no_name_that_can_be_seen_goes_by_the_role(tmp_path: Path, name: str) -> None:
    door = Doorkeeper(tmp_path)
    visitor = door.recognise(door.redeem(door.invite("technician"), name))
    assert visitor is not None
    assert (visitor.role, visitor.name) == ("technician", "technician")


@pytest.mark.parametrize(
    ("place", "start", "others"),
    [
        ({"host": "127.0.0.1"}, "http://127.0.0.1:8050/join?token=", False),
        ({"host": "192.0.2.7", "certificate": Path("c.pem")}, "https://192.0.2.7:8050/join?token=", True),
        ({"host": "2001:db8::7", "port": 443}, "http://[2001:db8::7]:443/join?token=", True),
        ({"host": "0.0.0.0", "public_name": "roof.example"}, "http://roof.example:8050/join?token=", True),
        (
            {"host": "127.0.0.1", "public_name": "roof.example", "relays": frozenset({"127.0.0.1"})},
            "https://roof.example/join?token=",
            True,
        ),
    ],
)
def test_a_link_leads_to_where_others_find_the_page(
    tmp_path: Path, place: dict[str, object], start: str, others: bool
) -> None:
    known = PagePlace(data_directory=tmp_path, **place)  # type: ignore[arg-type]
    assert make_invitation(known, "lead").startswith(start)
    assert reaches_others(known) is others


@pytest.mark.timeout(20)
@pytest.mark.parametrize("lie", [lie for lie in LIES if lie != "lists in lists"])
def test_a_secret_that_is_none_is_refused_with_its_file_and_what_to_do(tmp_path: Path, lie: str) -> None:
    put(lie, tmp_path / "page-secret")
    if lie != "a device without end":
        (tmp_path / "page-secret").chmod(0o600)
    with pytest.raises(SettingsError, match=r"page-secret .*[Rr]emove it"):
        Doorkeeper(tmp_path)


@pytest.mark.parametrize("name", ["used-invitations", "entered"])
def test_where_a_file_stands_in_the_place_of_its_marks_nobody_comes_in_and_it_says_so(
    tmp_path: Path, name: str, caplog: pytest.LogCaptureFixture
) -> None:
    door = Doorkeeper(tmp_path)
    (tmp_path / name).write_text("somebody's")
    with pytest.raises(InvitationError, match="see the page's log"):
        door.redeem(door.invite("lead"), "Robin")
    assert f"{tmp_path / name} is to be a folder of marks" in caplog.text


def test_where_ended_logins_cannot_be_read_none_counts(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    door = Doorkeeper(tmp_path)
    login = door.redeem(door.invite("lead"), "Robin")
    (tmp_path / "ended-logins").write_text("somebody's")
    assert door.recognise(login) is None
    assert "ended-logins is to be a folder of marks" in caplog.text
    with pytest.raises(SettingsError, match="ended-logins is to be a folder of marks, and something else is there"):
        door.end_logins("Robin")
