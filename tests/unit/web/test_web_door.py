"""The one-time link: opens once, refuses the second browser, shows strangers nothing."""

from __future__ import annotations

from django.test import Client

from cubital.web.door import Door, door


def test_a_stranger_sees_where_to_find_the_link(stranger):
    response = stranger.get("/month")
    assert response.status_code == 403
    assert "Open the link from the window where Cubital was started." in response.content.decode()


def test_the_link_lets_the_first_browser_in(stranger):
    assert stranger.get(door.new_link_path()).status_code == 200
    assert stranger.get("/policy").status_code == 200


def test_the_link_is_refused_to_a_second_browser(stranger):
    path = door.new_link_path()
    stranger.get(path)
    second = Client(headers={"host": "127.0.0.1:8765"}).get(path)
    assert second.status_code == 403
    assert "used already" in second.content.decode()


def test_the_browser_that_has_the_session_may_open_its_link_again(stranger):
    path = door.new_link_path()
    stranger.get(path)
    assert stranger.get(path).status_code == 200


def test_a_wrong_link_is_refused_and_does_not_spend_the_right_one(stranger):
    path = door.new_link_path()
    assert stranger.get("/open/not-the-link").status_code == 403
    assert stranger.get(path).status_code == 200


def test_a_new_link_ends_the_older_one():
    keeper = Door()
    older, newer = (keeper.new_link_path().rsplit("/", 1)[1] for _ in range(2))
    assert not keeper.use(older)
    assert keeper.use(newer)


def test_the_door_refuses_to_be_posted_to(stranger):
    assert stranger.post(door.new_link_path()).status_code == 405


def test_the_only_cookie_is_the_session_closed_to_scripts_and_to_other_sites(stranger):
    stranger.get(door.new_link_path())
    assert set(stranger.cookies) == {"cubital_session"}
    assert stranger.cookies["cubital_session"]["httponly"]
    assert stranger.cookies["cubital_session"]["samesite"] == "Strict"


def test_the_session_gets_a_new_key_at_the_door(stranger):
    stranger.post("/appearance", {"appearance": "dark"})
    stranger.get(door.new_link_path())
    first = stranger.cookies["cubital_session"].value
    other = Client(headers={"host": "127.0.0.1:8765"})
    other.cookies["cubital_session"] = "planted-by-someone-else"
    other.get(door.new_link_path())
    assert other.cookies["cubital_session"].value not in {"planted-by-someone-else", first}
