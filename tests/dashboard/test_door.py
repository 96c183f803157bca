"""What an invitation says that it is, before anybody presses its button."""

from dashboard.door import door_page


def test_a_lead_is_invited_to_watch_and_a_technicians_own_tablet_to_work() -> None:
    lead, own = door_page(token="t", role="lead"), door_page(token="t", role="technician")
    assert "<h1>Watch this visit as lead</h1>" in lead
    assert "<h1>Work on this visit as its technician</h1>" in own
    assert "For a tablet of your own, the first or a further one." in own
    assert "beside what you record" in own
