"""How phones get to a room: every address of this machine to choose from, never one that leads a phone to itself."""

from __future__ import annotations

import asyncio
import re
from types import SimpleNamespace

import ifaddr
import pytest
from own_loop import in_own_loop

from graspwave import lessons
from graspwave.apps import serve
from graspwave.apps.classroom import network
from graspwave.apps.classroom.bench import Bench
from graspwave.apps.classroom.lesson_sources import Lessons
from graspwave.apps.classroom.network import qr_svg
from graspwave.apps.teach import pages
from graspwave.apps.teach.compiled import compiled
from graspwave.apps.teach.mirror import AMPLITUDE, MINE


def adapter(name: str, *ips: object) -> SimpleNamespace:
    return SimpleNamespace(nice_name=name, ips=[SimpleNamespace(ip=ip) for ip in ips])


LOOPBACK = adapter("lo", "127.0.0.1", ("::1", 0, 0))
# addresses for documentation (RFC 5737, RFC 3849)
WIRED = adapter("eth0", "198.51.100.7", ("2001:db8::7", 0, 0), ("fe80::7", 0, 2))
WIRELESS = adapter("wlan0", "203.0.113.5")
BRIDGE = adapter("docker0", "192.0.2.1")
OWN_NAME = network.Address("desk.local", "by name")


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> list[SimpleNamespace]:
    """A machine whose interfaces are these, without asking any network for a name."""
    has: list[SimpleNamespace] = [LOOPBACK]
    monkeypatch.setattr(ifaddr, "get_adapters", lambda: has)
    monkeypatch.setattr(network, "_known", [])
    monkeypatch.setattr(serve, "ask_for_name", lambda wait_s: None)
    return has


def ways_of(found: list[network.Address]) -> list[dict[str, str]]:
    urls = [(one, f"http://{one.host}:5080") for one in found]
    return [{"host": one.host, "on": one.on, "url": url, "join": f"{url}/join?code=plum-river-42", "svg": qr_svg(url)}
            for one, url in urls]


def test_each_address_is_to_be_chosen_at_the_start_on_teach_and_on_the_wall(machine: list[SimpleNamespace]) -> None:
    machine += [BRIDGE, WIRED, WIRELESS]
    network._known.append("desk.local")
    found = network.addresses()
    # the likeliest first: what other programs made for themselves comes last but for the name
    assert [one.host for one in found] == ["198.51.100.7", "203.0.113.5", "192.0.2.1", "desk.local"]
    lines = serve._where("0.0.0.0", 5080, 5080, "key")
    assert lines[2:] == ["Phones in the same network open one of these:",
                         *(f"  http://{one.host}:5080/join  ({one.on})" for one in found)]
    ways = ways_of(found)
    for page in (pages.lessons_page([], shared=True, ways=ways), pages.control_page("plum-river-42", ways, shared=True),
                 pages.wall_page("plum-river-42", ways, shared=True)):
        assert re.findall(r'<option value="([^"]+)">', page) == [one.host for one in found]
        assert "127.0.0.1" not in page


def test_a_machine_in_no_network_says_what_to_do_and_shows_no_code(machine: list[SimpleNamespace]) -> None:
    assert network.addresses() == []
    assert "switch on a hotspot" in serve._where("0.0.0.0", 5080, 5080, "key")[-1]
    for page in (pages.control_page("plum-river-42", (), shared=True), pages.wall_page("plum-river-42", (), shared=True),
                 pages.lessons_page([], shared=True)):
        assert "switch on a hotspot" in " ".join(page.split())
        assert "127.0.0.1" not in page
        assert 'class="qr"' not in page


@pytest.mark.parametrize("slug", lessons.names())
def test_two_times_stand_in_each_lesson_and_the_rooms_is_true(slug: str) -> None:
    """About six minutes a question with both votes and a talk (common practice, no source), whatever it takes alone."""
    lesson, row = lessons.load(slug), pages.lesson_rows([slug], lessons.load)[0]
    asks = sum(step.question is not None for step in lesson.steps)
    assert 6 * asks <= row["room"] <= 10 * asks + sum(step.minutes for step in lesson.steps if step.question is None) + 1
    assert 5 <= row["alone"] < row["room"]
    page = pages.lessons_page([row])
    assert f"{row['room']:g} min in a room" in page or f"all of it {row['room']:g} min" in page
    assert f"alone {row['alone']:.0f} min" in page


def test_my_scene_moves_pads_current_wrist_tone_and_hand_in_every_step() -> None:
    async def work() -> None:
        bench, source = Bench(Lessons().live), Lessons()
        try:
            for step in compiled("claw")["steps"]:
                made = await bench.mine(asyncio.get_running_loop(), source.mine, step)
                assert [setting["path"] for setting in made["settings"]][: len(MINE)] == list(MINE)
                moved = {"channel.0.pads.along_percent": 44.0, AMPLITUDE: 20.0}
                shown = await bench.picture(asyncio.get_running_loop(), made, moved)
                assert shown
                # whatever the scene of the step, its pads are in the picture that is pushed
                assert len(shown["state"]["pads"]) == 2
                assert shown["ma"] == 20.0
        finally:
            bench.stop()

    in_own_loop(work)
    assert {path.split(".")[-1] for path in MINE} == {
        "amplitude_ma", "along_percent", "around_deg", "wrist_held_deg", "finger_tone", "flexor_length_factor"}
