"""What ends everything ends everything, and a secret that a group can read is none."""

from pathlib import Path

import pytest

from dashboard.errors import InvitationError, SettingsError
from dashboard.invitations import Doorkeeper


def test_ending_everything_ends_logins_and_links_at_once(tmp_path: Path) -> None:
    door = Doorkeeper(tmp_path)
    login, link = door.redeem(door.invite("lead"), "Robin"), door.invite("lead")
    assert door.recognise(login) is not None
    door.end_everything()
    assert door.recognise(login) is None
    with pytest.raises(InvitationError, match="not one of ours"):
        door.inspect(link)


@pytest.mark.parametrize("mode", [0o640, 0o620, 0o604])
def test_a_secret_that_others_can_reach_is_refused(tmp_path: Path, mode: int) -> None:
    Doorkeeper(tmp_path)
    (tmp_path / "page-secret").chmod(mode)
    with pytest.raises(SettingsError, match="can be read by others"):
        Doorkeeper(tmp_path)
