"""Host and Origin: what a foreign page or a foreign name can't get past."""

from __future__ import annotations

import pytest

from paddock.serve.guard import content_policy, host_allowed, is_loopback, name_of, origin_allowed


@pytest.mark.parametrize(
    ("host", "name"),
    [("localhost:8000", "localhost"), ("127.0.0.1", "127.0.0.1"), ("[::1]:8000", "::1"), ("LocalHost", "localhost"),
     ("", None), ("a/b", None), ("user@localhost", None), ("a b", None), ("localhost:x", None), ("[::1", None),
     ("localhost\\@evil", None), ("localhost,evil", None), ("localhost:99999", None)],
)  # fmt: skip
def test_name_of(host: str, name: str | None) -> None:
    assert name_of(host) == name


@pytest.mark.parametrize("host", ["localhost:8000", "127.0.0.1:8000", "127.0.0.1", "[::1]:8000"])
def test_this_machine_by_its_names(host: str) -> None:
    assert host_allowed(host, "127.0.0.1")


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8000", "127.0.0.1.evil.example", "localhost.evil.example", ""]
)
def test_a_name_that_was_turned_to_this_machine_is_refused(host: str) -> None:
    assert not host_allowed(host, "127.0.0.1")


def test_on_a_network_only_the_address_itself_and_names_allowed() -> None:
    assert host_allowed("192.0.2.7:8000", "192.0.2.7")
    assert not host_allowed("localhost:8000", "192.0.2.7")
    assert not host_allowed("192.0.2.8:8000", "192.0.2.7")
    assert not host_allowed("tablet.example", "192.0.2.7")
    assert host_allowed("tablet.example", "192.0.2.7", {"tablet.example"})


@pytest.mark.parametrize(
    ("origin", "allowed"),
    [("http://127.0.0.1:8000", True), ("https://127.0.0.1:8000", True), ("http://127.0.0.1", False),
     ("http://127.0.0.1:9000", False), ("http://evil.example", False), ("null", False), ("", False), (None, False),
     ("http://127.0.0.1:8000.evil.example", False)],
)  # fmt: skip
def test_origin(origin: str | None, allowed: bool) -> None:
    assert origin_allowed(origin, "127.0.0.1:8000") is allowed


def test_loopback() -> None:
    assert [is_loopback(item) for item in ("127.0.0.1", "127.8.8.8", "::1", "localhost")] == [True] * 4
    assert [is_loopback(item) for item in ("0.0.0.0", "192.0.2.7", "::", "", "name")] == [False] * 5


def test_the_policy_allows_nothing_from_elsewhere() -> None:
    policy = dict(part.split(" ", 1) for part in content_policy("h:1").split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == "'self'"
    assert policy["connect-src"] == "'self' ws://h:1 wss://h:1"
    assert policy["frame-ancestors"] == "'none'"
