"""What may come in, and what every answer carries."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from nervure.web.access import COOKIE
from nervure.web.guard import POLICY, Buckets, is_own_name
from nervure.web.settings import Settings

# Word for word from docs/screens.md, Manners.
DEMANDED = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
PAGES = ("/", "/projects", "/kept", "/p/barges/map", "/p/barges/map/facts", "/nowhere", "/key")


@pytest.mark.parametrize("path", [*PAGES, "/static/workbench.css"])
def test_every_answer_carries_the_policy(bench: TestClient, path: str) -> None:
    answer = bench.get(path)

    assert answer.headers["content-security-policy"] == DEMANDED == POLICY
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "same-origin"


@pytest.mark.parametrize("path", PAGES)
def test_pages_and_data_are_not_stored_by_browsers(bench: TestClient, path: str) -> None:
    assert bench.get(path).headers["cache-control"] == "no-store"


@pytest.mark.parametrize("path", ["/projects", "/kept", "/p/barges/map", "/nowhere", "/key"])
def test_pages_hold_no_inline_style_script_or_handler(bench: TestClient, path: str) -> None:
    html = bench.get(path, headers={"accept": "text/html"}).text

    assert "<style" not in html
    assert " style=" not in html
    assert not [part for part in html.split("<script")[1:] if not part.startswith(" src=")]
    assert " onclick=" not in html
    assert "javascript:" not in html


@pytest.mark.parametrize(
    ("host", "is_ours"),
    [
        ("127.0.0.1:8731", True),
        ("localhost:8731", True),
        ("[::1]:8731", True),
        ("LOCALHOST:8731", True),
        ("127.0.0.1", False),
        ("127.0.0.1:8732", False),
        ("evil.example:8731", False),
        ("127.0.0.1.evil.example:8731", False),
        ("192.168.1.7:8731", False),
        ("user@127.0.0.1:8731", False),
        ("127.0.0.1:8731/x", False),
        ("127.0.0.1:port", False),
        ("", False),
        ("[::1:8731", False),
    ],
)
def test_only_the_loopbacks_names_are_hosts(host: str, is_ours: bool) -> None:
    assert is_own_name(host, Settings(b"", Path())) is is_ours


@pytest.mark.parametrize(
    ("host", "is_ours"),
    [("192.168.1.7:8731", True), ("127.0.0.1:8731", True), ("evil.example:8731", False)],
)
def test_shared_it_is_reached_by_address_too(host: str, is_ours: bool) -> None:
    assert is_own_name(host, Settings(b"", Path(), host="0.0.0.0")) is is_ours


def test_a_foreign_host_is_refused_before_any_page(bench: TestClient) -> None:
    answer = bench.get("/p/barges/map", headers={"host": "evil.example:8731"})

    assert answer.status_code == 421
    assert "barges" not in answer.text


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "http://127.0.0.1:8731", "sec-fetch-site": "cross-site"},
        {"origin": "http://127.0.0.1:8731", "sec-fetch-site": "same-site"},
        {"origin": "file://127.0.0.1:8731"},
        {"origin": ""},
    ],
)
def test_a_post_from_another_site_changes_nothing(
    bench: TestClient, project: Path, headers: dict[str, str]
) -> None:
    form = {"name": "taken over", "map": "gut"}

    answer = bench.post("/projects/map", data=form, headers=headers)

    assert answer.status_code == 403
    assert not (project.parent / "taken-over").exists()


def test_a_post_without_an_origin_is_refused(bench: TestClient) -> None:
    del bench.headers["origin"]

    assert bench.post("/projects/map", data={"name": "x", "map": "gut"}).status_code == 403


@pytest.mark.parametrize("kind", ["application/json", "application/x-www-form-urlencoded"])
def test_a_body_that_is_too_large_is_refused(
    open_bench: Callable[..., TestClient], project: Path, kind: str
) -> None:
    client = open_bench(project, largest_form=1000)
    path = "/p/barges/map/tables/links/save"

    told = client.post(path, content=b"x" * 1001, headers={"content-type": kind})
    assert told.status_code == 413

    def pieces() -> Iterator[bytes]:
        for _ in range(30):
            yield b"x" * 100

    untold = client.post(path, content=pieces(), headers={"content-type": kind})
    assert untold.status_code == 413


@pytest.mark.parametrize("length", ["-1", "1e9", "many"])
def test_a_false_length_is_refused(bench: TestClient, length: str) -> None:
    answer = bench.post("/key", content=b"", headers={"content-length": length})

    assert answer.status_code in (400, 413)


def test_a_bucket_fills_at_its_rate() -> None:
    time = 0.0
    bucket = Buckets(2.0, lambda: time)  # 2 a second, 8 seconds' worth: 16 at once

    assert [bucket.take("a") for _ in range(17)] == [True] * 16 + [False]
    assert bucket.take("b")  # another address has its own
    time = 1.0
    assert [bucket.take("a") for _ in range(3)] == [True, True, False]


def test_too_many_requests_are_told_to_wait(
    open_bench: Callable[..., TestClient], project: Path
) -> None:
    client = open_bench(project, reads_a_second=0.5)

    answers = [client.get("/kept").status_code for _ in range(6)]

    assert answers == [200] * 4 + [429] * 2


@pytest.fixture
def shared(open_bench: Callable[..., TestClient], project: Path) -> TestClient:
    return open_bench(project, host="0.0.0.0", host_key="ABCD2345")


@pytest.mark.parametrize("path", ["/", "/projects", "/kept", "/p/barges/map", "/jobs/1"])
def test_shared_pages_ask_for_the_host_key(shared: TestClient, path: str) -> None:
    answer = shared.get(path, follow_redirects=False)

    assert (answer.status_code, answer.headers["location"]) == (303, "/key")


def test_the_host_key_opens_the_pages(shared: TestClient) -> None:
    wrong = shared.post("/key", data={"key": "ABCD2346"})
    assert wrong.status_code == 403
    assert COOKIE not in shared.cookies

    right = shared.post("/key", data={"key": " abcd2345 "}, follow_redirects=False)
    cookie = right.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert shared.get("/kept").status_code == 200
    assert "not encrypted" in shared.get("/kept").text


@pytest.mark.parametrize(
    "cookie", ["x", "", "eyJrZXkiOiJ4In0.aaaa.bbbb", "eyJrZXkiOiIifQ.Zm9v.YmFy" * 40]
)
def test_a_forged_cookie_opens_nothing(shared: TestClient, cookie: str) -> None:
    shared.cookies.set(COOKIE, cookie)

    assert shared.get("/kept", follow_redirects=False).status_code == 303


def test_a_cookie_of_an_earlier_run_opens_nothing(
    shared: TestClient, open_bench: Callable[..., TestClient]
) -> None:
    from itsdangerous import URLSafeTimedSerializer

    # The right signature, but bound to another key.
    forged = URLSafeTimedSerializer(b"s" * 32, salt="nervure.access").dumps({"key": "0" * 16})
    shared.cookies.set(COOKIE, forged)

    assert shared.get("/kept", follow_redirects=False).status_code == 303
