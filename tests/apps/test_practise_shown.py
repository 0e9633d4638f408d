"""What a practitioner shows on the Practise page: each in at most three actions, and each does what its words say."""

from __future__ import annotations

import re
from collections.abc import Callable
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import Page, expect
from settled_axe import serious

from graspwave import simulator as sim
from graspwave.apps.practise.arm import arm_of, arm_words
from graspwave.apps.practise.live import Live
from graspwave.apps.practise.showing import DEMONSTRATIONS, demonstrate, shown_now, told_of
from graspwave.apps.practise.state import PractiseState
from graspwave.apps.told.scenes import scene_from_address
from graspwave.simulator.facts import number

MOST_ACTIONS = 3


def shown(key: str) -> PractiseState:
    state = PractiseState()
    assert demonstrate(state, key)
    return state


@pytest.mark.parametrize("key", list(DEMONSTRATIONS))
def test_each_is_set_by_one_press_and_undone_by_one(key: str) -> None:
    state = PractiseState()
    before = state.scene
    assert demonstrate(state, key)
    assert shown_now(state, key)
    assert not re.search(r"[{}]", told_of(state, key))
    if state.scene != before:
        state.undo()
    assert state.scene == before
    for other in DEMONSTRATIONS:  # one after another leaves nothing of the one before
        demonstrate(state, other)
    demonstrate(state, key)
    fresh = shown(key)
    own = ("task", "hand", "session", "channel") if key not in ("timer", "switch") else ("hand", "session")
    kept = {"task.object", "task.diameter_mm", "task.mass_kg", "hand.flexor_length_factor", "hand.finger_tone"}
    for section in own:
        if section == "channel":
            assert len(state.scene.channel) == len(fresh.scene.channel)
            continue
        one, two = getattr(state.scene, section), getattr(fresh.scene, section)
        for name in one.__dataclass_fields__:
            assert f"{section}.{name}" in kept or getattr(one, name) == getattr(two, name), name


def limit_mm(key: str, *, held: bool = False) -> float:
    live = Live(shown(key).live_scene)
    if held:
        live.press(0.0)
    return live.reach(3.0).limit_mm


def test_a_weak_arm_is_helped_by_hand_cloth_and_elbow_channel_while_it_is_on() -> None:
    wanted = PractiseState().scene.task.distance_mm
    assert limit_mm("weak") < wanted
    for key in ("other", "sliding"):
        assert limit_mm(key) >= wanted
    assert limit_mm("elbow") == limit_mm("weak")
    assert limit_mm("elbow", held=True) >= wanted
    state = shown("weak")
    state.change_all({"task.distance_mm": 100.0, "task.carry_mm": 100.0}, "distance")
    assert "takes the hand to the object, 100 mm" in arm_words(Live(state.live_scene), 0.0)


def test_the_live_arm_stops_where_elbow_and_trunk_end_and_leans_before() -> None:
    live = Live(shown("weak").live_scene)
    live.move(0.9 * live.reach_mm, 0.0)
    assert live.at_mm > live.reach(0.0).limit_mm
    told = arm_of(live, 0.0)
    assert told["lean"] == pytest.approx(live.at_mm - live.reach(0.0).limit_mm, abs=0.1)
    lifted = Live(live.scene.replace("task.arm", "lifted"))
    lifted.move(lifted.reach_mm, 0.0)
    assert lifted.at_mm == pytest.approx(lifted.reach(0.0).limit_mm + number("reach.lean.most_mm"))
    assert "leaning does not make up for the rest" in arm_words(lifted, 0.0)


def test_the_elbow_channel_follows_its_own_delay_and_ramps() -> None:
    scene = shown("elbow").live_scene
    for path, value in (("timing.delay_s", 1.0), ("ramp.up_s", 2.0), ("ramp.down_s", 1.0)):
        scene = scene.replace(f"channel.1.{path}", value)
    live = Live(scene)
    live.press(10.0)
    assert [live.elbow_level(t) for t in (10.5, 12.0, 13.5)] == [0.0, pytest.approx(0.5), 1.0]
    live.release(15.0)
    assert [live.elbow_level(t) for t in (15.5, 17.0)] == [pytest.approx(0.5), 0.0]
    timed = Live(scene, control="timed", begun_s=0.0)
    channel = timed.scene.channel[1]
    assert timed.elbow_level(0.5) == 0.0
    assert timed.elbow_level(2.0) == pytest.approx(0.5)
    assert timed.elbow_level(1.0 + channel.on_total_s - 1.5) == 1.0
    assert timed.elbow_level(1.0 + channel.on_total_s - 0.5) == pytest.approx(0.5)
    assert timed.elbow_level(1.0 + channel.on_total_s + 1.0) == 0.0
    assert timed.elbow_level(2.0 + channel.cycle_s) == pytest.approx(0.5)


def test_own_effort_and_the_gentle_programme_change_the_live_hand() -> None:
    def open_mm(scene: sim.Scene) -> float:
        return float(sim.opening_curve(scene, [scene.channel[0].pulse.amplitude_ma]).opening_mm[0])

    assert open_mm(shown("tries").live_scene) > open_mm(shown("pictures").live_scene)
    gentle = shown("gentle")
    assert open_mm(gentle.live_scene) > open_mm(gentle.scene) + 0.5
    assert f"{open_mm(gentle.live_scene):.0f} mm in place of {open_mm(gentle.scene):.0f}" in told_of(gentle, "gentle")


def test_the_hand_tilts_off_an_object_as_soon_as_its_grip_is_loose() -> None:
    live = Live(shown("tilt").live_scene)
    live.over_its_place(10.0)
    width = live.scene.task.diameter_mm
    assert (live.step, arm_of(live, 10.0)["tilt"]) == ("let go", 0.0)
    assert live.opening_mm(10.0) <= width + 2.0, "the hand must hold the object"
    live.watch(12.0)
    assert live.tilt(12.0) == 0.0, "without current it holds on"
    live.press(12.0)
    seen, now = [], 12.0
    while live.step == "let go" and now < 20.0:
        now += 0.1
        if live.piece is None or now > live.piece.t_s[-1] - 0.4:
            live.ahead(now)
        live.watch(now)
        seen.append((live.tilt(now), live.opening_mm(now)))
    half = [gap for tilt, gap in seen if 0.0 < tilt < 1.0]
    assert len(half) > 5, "it takes its time"
    assert min(half) > width
    assert live.repetitions == 1
    assert live.log[-1].what.endswith("tilted sideways")
    opened = Live(shown("switch").live_scene)
    opened.over_its_place(10.0)
    assert opened.tilt(13.0) == 0.0


def tilts(url: str) -> bool:
    """Whether an address holds a scene that lets go sideways."""
    scene = scene_from_address(parse_qs(urlsplit(url).query).get("s", [""])[0])
    return scene is not None and scene.task.side_to_side


def test_the_ten_in_at_most_three_actions_each(page: Page, address: str) -> None:
    page.set_viewport_size({"width": 1440, "height": 900})
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
    ours = (urlsplit(address).hostname, None)
    page.on("request", lambda request: errors.append(request.url) if urlsplit(request.url).hostname not in ours else None)
    page.goto(address.replace("/explore", "/practise"))
    arm, strip, settings = page.locator(".gw-arm:visible"), page.locator(".gw-strip"), page.locator("[data-root-id]")
    expect(arm).to_be_visible()

    def press(name: str) -> Callable[[], None]:
        return lambda: page.get_by_role("button", name=name, exact=True).click()

    def hold() -> None:
        page.locator(".gw-hold").hover()
        page.mouse.down()

    def checked(name: str) -> Callable[[], None]:
        return lambda: expect(settings.get_by_role("radio", name=name, exact=True).first).to_be_checked()

    def drawn(what: str) -> Callable[[], None]:
        return lambda: expect(arm.locator(what).first).to_be_attached()

    table: tuple[tuple[str, tuple[Callable[[], None], ...], tuple[Callable[[], None], ...]], ...] = (
        ("wait for the timer, release with it", (press("Timer"),),
         (lambda: expect(strip).to_contain_text(re.compile("On now|next stimulation")), checked("timer"))),
        ("hold, let go, hold", (press("Switch"), hold, page.mouse.up),
         (checked("switch"), lambda: expect(page.locator(".gw-hold")).to_have_attribute("aria-pressed", "false"))),
        ("smaller and larger object", (press("Smaller object"), press("Larger object")), (checked("pot 70"),)),
        ("tries along", (press("Tries along"),), (checked("tries along"),)),
        ("imagines", (press("Imagines it"),), (checked("imagines it"),)),
        ("other hand lifts", (press("Other hand lifts"),), (drawn(".helper"), checked("weak"))),
        ("sliding", (press("Sliding on a cloth"),), (drawn(".cloth"), checked("slid"))),
        ("elbow channel", (press("Elbow channel"), hold),
         (drawn(".elbow-pad"), lambda: expect(arm).to_contain_text("pads on"),
          lambda: expect(page.get_by_role("slider", name="Current, elbow")).to_be_visible(),
          lambda: expect(page.get_by_role("spinbutton", name="After")).to_be_visible())),
        ("gentle programme, tight hand", (page.mouse.up, press("Gently first, tight hand")),
         (checked("tight"), checked("5 min gently, wrist hanging"))),
        ("let go by tilting", (press("Let go sideways"), hold),
         (checked("tilted sideways"), lambda: expect(page.get_by_text("slid out as the hand tilted sideways")).to_be_visible())),
    )
    assert len(table) == 10
    for name, actions, seen in table:
        assert len(actions) <= MOST_ACTIONS, name
        for act in actions:
            act()
        for look in seen:
            look()
    page.mouse.up()
    press("From the tips")()
    expect(page.get_by_role("group", name="From the finger tips")).to_contain_text(re.compile("bean 15 mm: (fits|too wide)"))
    assert serious(page) == []
    page.wait_for_url(tilts)  # what is shown can be sent as a link
    kept = page.url
    press("Undo")()
    expect(settings.get_by_role("radio", name="as it opens")).to_be_checked()
    page.goto(kept)
    expect(settings.get_by_role("radio", name="tilted sideways")).to_be_checked()
    assert errors == []
