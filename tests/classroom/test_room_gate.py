"""The gate: allowances, origins, messages, policy."""

from __future__ import annotations

import json
from types import SimpleNamespace

import pytest

from graspwave.apps.classroom import gate as g


class Clock:
    now = 100.0

    def __call__(self) -> float:
        return self.now


def test_an_allowance_is_used_up_and_fills_again() -> None:
    clock = Clock()
    buckets = g.Buckets(2.0, 4.0, clock)
    assert [buckets.take("a") for _ in range(5)] == [True] * 4 + [False]
    assert buckets.take("b")
    clock.now += 0.5
    assert [buckets.take("a") for _ in range(2)] == [True, False]
    clock.now += 60.0
    assert buckets.left("a") == 4.0
    buckets.take("a")
    buckets.give("a")
    buckets.give("a")
    assert buckets.left("a") == 4.0, "what was never taken is not given back"


def test_ten_wrong_codes_and_then_ten_a_minute() -> None:
    """For codes that give the right to lead."""
    clock = Clock()
    gate = g.Gate(clock=clock)
    tried = 0
    for _ in range(600):
        clock.now += 0.1
        if gate.may_try("somebody"):
            gate.take("wrong", "somebody")
            tried += 1
    assert tried == 19  # ten at once, and the rest of the minute one in six seconds
    assert gate.may_try("somebody else")


def test_an_address_is_held_in_a_form_that_another_process_does_not_share() -> None:
    request = SimpleNamespace(remote_ip="192.0.2.7")
    one, other = g.Gate(), g.Gate()
    assert one.address(request) == one.address(request) != other.address(request)
    assert "192" not in one.address(request)


def test_memory_of_allowances_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(g, "_KEPT", 10)
    buckets = g.Buckets(1.0, 1.0, Clock())
    for number in range(50):
        buckets.take(str(number))
    assert len(buckets._left) == 10


def test_allowances_that_are_full_again_are_forgotten() -> None:
    """A page that comes back is another key each time, for as long as a room lives."""
    clock = Clock()
    buckets = g.Buckets(2.0, 4.0, clock)
    for number in range(1000):
        clock.now += 0.5
        buckets.take(str(number))
    assert list(buckets._left) == ["995", "996", "997", "998", "999"]  # two seconds fill one
    assert buckets.left("998") == buckets.left("999") + 1.0 == 4.0


def test_the_key() -> None:
    assert g.Gate(None).key_fits(None)
    gate = g.Gate("right")
    assert gate.key_fits("right")
    assert not any(gate.key_fits(given) for given in ("", "Right", None, 1, ["right"], "rig\ud800"))


def test_tokens_are_long_different_and_stored_as_a_digest() -> None:
    one, other = g.new_token(), g.new_token()
    assert one != other
    assert len(one) >= 43
    assert len(g.hashed(one)) == 64
    assert one not in g.hashed(one)


@pytest.mark.parametrize(("headers", "host", "hosts", "fits"), [
    ({}, "127.0.0.1:5080", (), True),
    ({"Origin": "http://127.0.0.1:5080"}, "127.0.0.1:5080", (), True),
    ({"Origin": "http://127.0.0.1:5081"}, "127.0.0.1:5080", (), False),
    ({"Origin": "http://evil.example"}, "127.0.0.1:5080", (), False),
    ({"Origin": "null"}, "127.0.0.1:5080", (), False),
    ({"Origin": ""}, "127.0.0.1:5080", (), False),
    ({"Sec-Fetch-Site": "cross-site"}, "127.0.0.1:5080", (), False),
    ({"Sec-Fetch-Site": "same-site"}, "127.0.0.1:5080", (), False),
    ({"Sec-Fetch-Site": "same-origin", "Origin": "https://room.example"}, "room.example", (), True),
    ({"Sec-Fetch-Site": "none"}, "127.0.0.1:5080", (), True),
    ({}, "rebound.example:5080", ("127.0.0.1", "localhost", "::1"), False),
    ({}, "[::1]:5080", ("127.0.0.1", "localhost", "::1"), True),
    ({}, "LOCALHOST:5080", ("127.0.0.1", "localhost", "::1"), True),
])
def test_where_a_request_comes_from(headers: dict[str, str], host: str, hosts: tuple[str, ...], fits: bool) -> None:
    assert g.same_origin(headers, host, hosts) is fits


def test_a_message_is_an_object_of_plain_values() -> None:
    message = {"type": "answer", "step": 3, "answer": {"order": ["A", "B"]}, "sure": None, "words": "süß"}
    assert g.parse_message(json.dumps(message)) == message
    assert g.parse_message(json.dumps(message).encode()) == message


@pytest.mark.parametrize("text", [
    "", "null", "3", '"x"', "[]", "{", '{"a":NaN}', '{"a":Infinity}', '{"a":1e999}', '{"a":1' + "0" * 400 + "}",
    '{"a":1' + "0" * 5000 + "}", '{"a":' * 5000, "[" * 16000, '{"a":[[[[[[[1]]]]]]]}', '{"a":"\\ud800"}', '{"\\udfff":1}',
    '{"a":"\\u0000"}', '{"a":"' + "x" * g.MESSAGE_BYTES + '"}', b"\xff\xfe", b"\x00", '{"a":1e16}',
])
def test_what_is_no_message(text: str | bytes) -> None:
    with pytest.raises(ValueError, match=r".*"):
        g.parse_message(text)


def test_the_policy_lets_the_page_s_own_scripts_run_and_no_others() -> None:
    html = '<script src="/a.js"></script><script type="module">let a = 1</script><p onclick="x()">'
    policy = g.content_policy(html, "room.example:80")
    # of "let a = 1", by openssl
    assert "script-src 'self' 'sha256-LAfYd7pbFUgwfQu8b4q135PeTG2z+/coPEUYCd74eCQ=';" in policy
    assert "'unsafe-inline'" not in policy.split("style-src")[0]
    assert "frame-ancestors 'none'" in policy
    assert "connect-src 'self' ws://room.example:80 wss://room.example:80" in policy
    assert "evil" not in g.content_policy(html, "x; script-src evil")
