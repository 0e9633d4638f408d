"""The hand scene: its Python side, its shape in 200 postures, and what the drawing must never do."""

from __future__ import annotations

import json
import random
import re
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Locator, Page, expect

from graspwave import simulator as sim
from graspwave.apps.controls.hand_scene import JOINTS, HandScene
from graspwave.apps.files.one_file import modules_inside
from graspwave.apps.told.posture import DRAWN_ARM_MM, angles_at, finger_words, state_at
from graspwave.apps.web import tokens
from graspwave.apps.web.source import web_files, web_text
from graspwave.simulator.hand.geometry import hand_points_mm
from graspwave.simulator.scene import Hand
from tests.own_modules import module_page

# Ranges wider than any model posture [deg].
RANGE_DEG = {
    "wrist": (-75, 75), "MCP": (-30, 95), "PIP": (-5, 110), "DIP": (-10, 80), "CMC": (0, 60), "THUMB_MCP": (-15, 55),
    "IP": (-20, 75), "CMC_RADIAL": (0, 65),
}
RANGE_DEG |= {f"{finger}.{joint}": RANGE_DEG[joint] for finger in ("index", "ring", "little") for joint in ("MCP", "PIP", "DIP")}
ONE_FINGER = JOINTS[:7]
"""What a state of one finger names; such states of older files are drawn as well."""
SIX_POSTURES_DEG = {
    "rest": (16, 38, 42, 22, 38, 8, 8),
    "half open": (-6, 20, 32, 18, 34, 6, 8),
    "widest": (-18, 0, 8, 6, 46, 4, 2),
    "wrist far back": (-58, 34, 62, 30, 28, 14, 10),
    "claw": (-38, -20, 70, 35, 40, -6, 32),
    "round the pot": (-22, 17, 66, 20, 50, -10, 25),
}
STEP_DEG = 0.1
# All joints turn by the step at once, so the middle finger's tip, 191, 104, 53 and 21 mm from the four joints, moves 0.1 deg
# in radians times 369 mm = 0.64 mm. Skin stands off the bone: 15 % more.
MOVE_MM = 0.75
# The farthest any point can lie from the wrist: 230 mm of forearm with 47 mm of flesh beside it.
REACH_MM = 240.0

PAGE = "<!doctype html><link rel=stylesheet href=/web/web/hand/tips.css><body style='margin:0'></body>"
POINTS = """
const curves = shape => [shape.body, shape.thumb.curve, ...shape.far.map(f => f.curve), ...Object.values(shape.tendons)]
"""
LARGEST_GAP = """
([one, two]) => {
  const a = curves(handShape(one)), b = curves(handShape(two))
  let worst = 0
  a.forEach((curve, i) => {
    const p = sample(curve, 4), q = sample(b[i], 4)
    for (const u of p) {
      let least = Infinity
      for (let k = 1; k < q.length; k++) {
        const x = q[k - 1][0], y = q[k - 1][1], dx = q[k][0] - x, dy = q[k][1] - y
        const f = Math.min(1, Math.max(0, ((u[0] - x) * dx + (u[1] - y) * dy) / (dx * dx + dy * dy || 1)))
        least = Math.min(least, Math.hypot(x + f * dx - u[0], y + f * dy - u[1]))
      }
      worst = Math.max(worst, least)
    }
  })
  return worst
}
"""


def postures(count: int) -> list[dict[str, float]]:
    """Return random postures inside `RANGE_DEG`, the same ones every time."""
    draw = random.Random(20)
    return [{joint: draw.uniform(*RANGE_DEG[joint]) for joint in JOINTS} for _ in range(count)]


def posture(name: str) -> dict[str, float]:
    return dict(zip(ONE_FINGER, map(float, SIX_POSTURES_DEG[name]), strict=True))


@pytest.fixture
def shape_page(page: Page) -> Page:
    modules = ["web/svg.js", *(f"web/hand/{name}.js" for name in ("bones", "shape", "scene", "player", "component"))]
    return module_page(page, PAGE, modules, POINTS)


@pytest.fixture
def draw(shape_page: Page) -> Any:
    """Return a function that draws a state at a size and tells where things came to lie, in millimetres."""

    def run(state: dict[str, Any], width_px: int, height_px: int) -> dict[str, Any]:
        return shape_page.evaluate(
            """([state, width, height]) => {
              document.body.innerHTML = ''
              const el = document.createElement('div')
              el.style.cssText = `width:${width}px;height:${height}px`
              document.body.append(el)
              const model = { pads: null, object: null, wrist_held: false, side: 'left', skin: 'clay', label: 'a hand',
                on() {}, ...state }
              render({ model, el })
              const svg = el.querySelector('svg'), text = svg.querySelector('text'), host = svg.getBoundingClientRect()
              const box = text.getBoundingClientRect(), shape = handShape(model.angle_deg)
              const skin = [shape.body, shape.thumb.curve, ...shape.far.map(f => f.curve)]
              const low = Math.min(...skin.flatMap(c => sample(c, 4).map(p => p[1])))
              return {
                role: svg.getAttribute('role'), label: svg.getAttribute('aria-label'), words: text.textContent,
                inside: box.left >= host.left && box.right <= host.right && box.top >= host.top
                  && box.bottom <= host.bottom,
                seen: text.getAttribute('visibility'), low, table: -svg.querySelector('rect').getAttribute('y'),
                bad: /NaN|undefined|Infinity/.test(svg.outerHTML),
                px: Number(text.getAttribute('font-size')) * host.width / svg.viewBox.baseVal.width,
              }
            }""",
            [state, width_px, height_px],
        )

    return run


# ---- Python side ----------------------------------------------------------------------------------------------------


def test_the_drawing_stands_in_few_modules_that_lead_to_each_other() -> None:
    needed = re.findall(r'data-module="([^"]+)"', modules_inside("web/hand/component.js")[0])
    assert set(needed) <= set(web_files())
    assert needed[-1] == "web/hand/component.js"
    assert needed.index("web/hand/shape.js") < needed.index("web/hand/player.js")
    assert needed.index("web/hand/build.js") < needed.index("web/hand/component.js") > needed.index("web/hand/scene.js")


def test_scene_builds_and_sends_its_state() -> None:
    scene = HandScene(label="The hand at rest.", current=0.4, object={"name": "pot", "diameter_mm": 70})
    root = scene.get_root()
    assert root.data.label == "The hand at rest."
    assert set(root.data.angle_deg) == set(ONE_FINGER)
    assert root.data.current == 0.4


def test_play_sends_frames(monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[Any] = []
    scene = HandScene()
    monkeypatch.setattr(scene, "_send_msg", sent.append)
    frames = [{"t_ms": 0, "angle_deg": {"wrist": 10}}, {"t_ms": 40, "current": 1}]
    scene.play(frames)
    scene.stop()
    assert [json.loads(sent[0].pop("frames")), sent] == [frames, [{"type": "play"}, {"type": "stop"}]]


@pytest.mark.parametrize(
    ("frames", "message"),
    [
        ([], "'frames' must be a list of at least one frame (got none). Give the end posture as one frame."),
        (
            [{"t_ms": 40}, {"t_ms": 20}],
            "'t_ms' must be 0 or more and never fall from frame to frame (got 20 after 40). Sort the frames by time.",
        ),
        (
            [{"angle_deg": {}}],
            "'t_ms' must be 0 or more and never fall from frame to frame (got None after 0). Sort the frames by time.",
        ),
        (
            [{"t_ms": 0, "angles": {}}],
            "'frames' must be made of ['angle_deg', 'current', 'opening', 'recruited', 'slack_mm', 't_ms', 'tension'] "
            "(got 'angles'). Remove or rename that key.",
        ),
    ],
)
def test_play_refuses_wrong_frames(frames: list[dict[str, Any]], message: str) -> None:
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - the whole text is compared below
        HandScene().play(frames)
    assert str(caught.value) == message


# ---- shape ----------------------------------------------------------------------------------------------------------


def test_shape_is_finite_and_near_the_wrist(shape_page: Page) -> None:
    worst = shape_page.evaluate(
        "all => Math.max(...all.map(a => Math.max(...curves(handShape(a)).map(c => Math.max(...sample(c, 3)"
        ".map(p => Number.isFinite(p[0] + p[1]) ? Math.hypot(...p) : 1e9))))))",
        postures(200),
    )
    assert worst < REACH_MM


def largest_move_mm(page: Page, one: dict[str, float], step_deg: float) -> float:
    two = {joint: angle + step_deg for joint, angle in one.items()}
    return float(page.evaluate(LARGEST_GAP, [one, two]))


def test_shape_never_jumps(shape_page: Page) -> None:
    worst = max(largest_move_mm(shape_page, one, STEP_DEG) for one in postures(200))
    assert worst < MOVE_MM


def test_shape_never_jumps_check_can_fail(shape_page: Page) -> None:
    """Twin: a shape that stands still and then leaps by half a degree is caught."""
    assert largest_move_mm(shape_page, posture("widest"), 5 * STEP_DEG) > MOVE_MM


@pytest.mark.parametrize("name", SIX_POSTURES_DEG)
def test_bones_keep_their_length_and_bend_to_the_palm(shape_page: Page, name: str) -> None:
    joints = shape_page.evaluate("a => handShape(a).near.joints", posture(name))
    lengths = [((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 for a, b in pairwise(joints)]
    fingers, _ = hand_points_mm(Hand(), posture(name))
    model = np.linalg.norm(np.diff(fingers[0, 0], axis=0), axis=1)  # of the index, whose plane is that of the picture
    assert lengths == pytest.approx([230, np.hypot(*fingers[0, 0, 0, :2]), *model], rel=1e-4)
    flexed = {**posture(name), "wrist": posture(name)["wrist"] + 5}
    bent = shape_page.evaluate("a => handShape(a).near.joints[5]", flexed)
    # Flexion of the wrist turns the tip towards the palm: clockwise round the wrist, forearm on the left.
    tip = joints[5]
    assert tip[0] * bent[1] - tip[1] * bent[0] < 0


MODEL_POSTURES = ("supple", 18.0), ("tight", 22.0), ("tight", 35.0), ("stiff", 14.0)


@pytest.mark.parametrize(("hand", "current_ma"), MODEL_POSTURES)
def test_every_finger_and_the_thumb_are_drawn_where_the_model_has_them(shape_page: Page, hand: str, current_ma: float) -> None:
    """Joints of the picture are those that the opening is worked out with, seen from the thumb's side."""
    angles = angles_at(sim.opening_curve(sim.presets()[hand], [current_ma]), 0)
    fingers, thumb = hand_points_mm(sim.presets()[hand].hand, angles)
    drawn = shape_page.evaluate(
        """a => { const s = handShape(a), whole = ['middle', 'ring', 'little'].map(f => s.far.find(x => x.finger === f).whole)
        const fingers = [s.near, ...whole].map(c => c.joints.slice(2))
        return { fingers, thumb: s.thumb.chain.joints, z: s.far.map(f => f.z) } }""",
        angles,
    )
    assert np.allclose(drawn["fingers"], fingers[0, :, :, :2], atol=0.01)
    assert np.allclose(drawn["thumb"], thumb[0, :, :2], atol=0.01)
    assert drawn["z"] == sorted(drawn["z"])  # the one furthest from the viewer is drawn first
    turned = {**angles, "ring.PIP": angles["ring.PIP"] + 5}
    moved = shape_page.evaluate("a => handShape(a).far.find(f => f.finger === 'ring').whole.joints[5]", turned)
    assert not np.allclose(moved, fingers[0, 2, 3, :2], atol=1.0)


def test_a_thumb_behind_the_index_is_drawn_behind_it(shape_page: Page) -> None:
    fist = {**posture("rest"), "MCP": 70, "PIP": 92, "DIP": 50, "CMC": 30, "THUMB_MCP": 35, "IP": 50}
    over = "a => Boolean(handShape(a).over)"
    assert shape_page.evaluate(over, {**fist, "CMC_RADIAL": 0})
    assert not shape_page.evaluate(over, {**fist, "CMC_RADIAL": 45})


def test_the_drawn_forearm_is_as_long_as_the_one_that_pads_are_laid_on(shape_page: Page) -> None:
    (elbow, wrist, *_) = shape_page.evaluate("a => handShape(a).near.joints", posture("rest"))
    assert pytest.approx(((wrist[0] - elbow[0]) ** 2 + (wrist[1] - elbow[1]) ** 2) ** 0.5, rel=1e-9) == DRAWN_ARM_MM


@pytest.mark.parametrize("name", SIX_POSTURES_DEG)
def test_thumb_grows_out_of_the_palm(shape_page: Page, name: str) -> None:
    """The thumb starts on the palm's own outline: no step is seen where the two meet."""
    gap = shape_page.evaluate(
        "a => { const s = handShape(a), [x, y] = s.thumb.curve; "
        "return Math.min(...sample(s.body, 12).map(p => Math.hypot(p[0] - x, p[1] - y))) }",
        posture(name),
    )
    assert gap < 1.35  # width of the outline [mm]


# ---- drawing --------------------------------------------------------------------------------------------------------

SIZES_PX = [(648, 434), (690, 452), (390, 260), (358, 240), (1100, 640)]


@pytest.mark.parametrize(("width", "height"), SIZES_PX)
def test_words_are_whole_and_hand_stays_above_the_table(draw: Any, width: int, height: int) -> None:
    for angles in [*(posture(name) for name in SIX_POSTURES_DEG), *postures(24)]:
        for opening_mm, words in ((58.4, "58 mm"), (2.9, "thumb meetsfingers"), (3.0, "3 mm")):
            seen = draw({"angle_deg": angles, "opening": {"mm": opening_mm}}, width, height)
            assert seen["words"] == words
            assert seen["inside"], (angles, opening_mm)
            assert seen["low"] >= seen["table"]
            assert not seen["bad"]
            assert seen["px"] >= 16


ANGLES = """
([state, width, height]) => {
  document.body.innerHTML = ''
  const el = document.createElement('div')
  el.style.cssText = `width:${width}px;height:${height}px`
  document.body.append(el)
  const model = { pads: null, object: null, wrist_held: false, side: 'left', skin: 'clay', label: 'a hand', on() {}, ...state }
  render({ model, el })
  const svg = el.querySelector('svg'), host = svg.getBoundingClientRect()
  const box = n => {
    const b = n.getBoundingClientRect()
    return [b.left - host.left, b.top - host.top, b.right - host.left, b.bottom - host.top]
  }
  const texts = [...svg.querySelectorAll('text.degrees')].filter(t => t.getAttribute('visibility') === 'visible')
  return {
    words: texts.map(t => t.textContent), boxes: texts.map(box), opening: box(svg.querySelector('text')),
    caption: box(el.querySelector('.gw-caption')),
    arcs: texts.length ? svg.querySelectorAll('g[visibility=visible] > path').length : 0,
    px: texts.map(t => Number(t.getAttribute('font-size')) * host.width / svg.viewBox.baseVal.width),
    bad: /NaN|undefined|Infinity/.test(svg.outerHTML),
  }
}
"""


CAPTION = "claw (middle), begins in ring and little: base joints past straight, middle joints bent"
BUTTONS_PX = (238.0, 52.0)
"""What lies over the picture's upper right corner."""


def covered(one: list[float], other: list[float], slack: float = 0.0) -> bool:
    """Whether two boxes share more than a margin; the boxes of words are taller than their letters."""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    tall = min(one[3] - one[1], other[3] - other[1])
    return wide > slack and high > 0.4 * tall


@pytest.mark.parametrize("name", SIX_POSTURES_DEG)
def test_angles_are_whole_large_and_clear_of_each_other(shape_page: Page, name: str) -> None:
    for width, height in SIZES_PX:
        angles_are_clear(shape_page, name, width, height)


def angles_are_clear(shape_page: Page, name: str, width: int, height: int) -> None:
    state = {"angle_deg": posture(name), "opening": {"mm": 58.4}, "angles": True}
    state["caption"] = CAPTION if name in ("claw", "widest") else ""  # it is of hands whose base joints are straight
    seen = shape_page.evaluate(ANGLES, [state, width, height])
    assert seen["words"] == [f"{abs(posture(name)[joint]):.0f}°" for joint in ("wrist", "MCP", "PIP", "DIP")]
    assert not seen["bad"]
    assert min(seen["px"]) >= 16.9
    over = [[width - BUTTONS_PX[0], 0.0, width, BUTTONS_PX[1]], *([seen["caption"]] if state["caption"] else [])]
    boxes = [*seen["boxes"], seen["opening"]]
    assert not [other for other in over for box in boxes if covered(box, other, 2.0)]
    for i, box in enumerate(boxes[:-1]):
        assert box[0] >= 0
        assert box[2] <= width
        assert not [other for other in boxes[i + 1:] if covered(box, other, 2.0)]


def test_angles_are_those_of_the_middle_finger_and_stand_on_it(shape_page: Page) -> None:
    """An index that its own extensor holds straight is no place for the degrees of a finger that is bent beside it."""
    angles = {**posture("claw"), "index.MCP": 0.0, "index.PIP": 0.0, "index.DIP": 0.0}
    for finger, r in (("index", 0), ("middle", 1)):
        bends = shape_page.evaluate(
            "([angle, r]) => { const s = handShape(angle), c = r ? s.middle : s.near; return c.dirs[3] - c.dirs[2] }",
            [angles, r],
        )
        assert abs(np.degrees(bends)) == pytest.approx(70.0 if finger == "middle" else 0.0, abs=2.0)
    seen = shape_page.evaluate(ANGLES, [{"angle_deg": angles, "opening": {"mm": 58.4}, "angles": True}, 648, 434])
    assert seen["words"][2] == "70°"


def test_on_a_phone_no_finger_lies_under_the_buttons(shape_page: Page) -> None:
    """Where the wrist goes back the picture begins higher; a wider one has room."""
    drawn = f"""([state, width, height]) => {{
      ({ANGLES.strip()})([state, width, height])
      const v = document.querySelector('svg').viewBox.baseVal, s = handShape(state.angle_deg), k = width / v.width
      return [s.tip, ...s.backSkin, ...s.far.flatMap(f => sample(f.curve, 4))].map(p => [k * (p[0] - v.x), k * (-p[1] - v.y)])
    }}"""
    for back_deg in (-20.0, -35.0, -50.0):
        state = {"angle_deg": {**posture("widest"), "wrist": back_deg}, "opening": {"mm": 80.0}}
        points = np.array(shape_page.evaluate(drawn, [state, 390, 260]))
        under = (points[:, 0] > 390.0 - BUTTONS_PX[0]) & (points[:, 1] < BUTTONS_PX[1] - 8.0)
        assert not under.any(), back_deg


def test_angles_are_drawn_only_when_asked_for(shape_page: Page) -> None:
    state = {"angle_deg": posture("rest"), "opening": {"mm": 58.4}}
    assert shape_page.evaluate(ANGLES, [state, 648, 434])["words"] == []
    assert shape_page.evaluate(ANGLES, [{**state, "angles": True}, 648, 434])["arcs"] >= 4


def test_skin_stands_once_and_dark_rims_can_be_seen() -> None:
    own, source = web_text("web/hand/scene.js"), web_text("web/given.js")
    for themes in tokens.SKIN.values():
        for theme in ("light", "dark"):
            assert all(colour in source and colour not in own for colour in themes[theme])
    for tone in tokens.LIGHT_GLOW:
        assert tokens.contrast(tokens.SKIN[tone]["dark"][2], tokens.TOKENS["surface"][1]) > 4.5


def test_scene_is_one_named_picture(draw: Any) -> None:
    seen = draw({"angle_deg": posture("rest"), "label": "The hand rests."}, 648, 434)
    assert (seen["role"], seen["label"], seen["seen"]) == ("img", "The hand rests.", "hidden")


def test_words_show_the_given_number_not_the_picture(draw: Any) -> None:
    state = {"angle_deg": posture("claw"), "opening": {"mm": 12.0, "points": [[100, 40], [150, 90]]}}
    assert draw(state, 648, 434)["words"] == "12 mm"


# ---- movement -------------------------------------------------------------------------------------------------------

MOVING = """
([start, quiet]) => {
  const heard = {}, el = document.createElement('div')
  el.style.cssText = 'width:648px;height:434px'
  document.body.append(el)
  if (quiet) document.documentElement.dataset.motion = 'less'
  const model = { pads: null, object: null, side: 'left', skin: 'clay', label: 'a hand', angle_deg: start,
    on: (name, call) => { (heard[name] ??= []).push(call) } }
  window.hand = { model, tell: (name, value) => heard[name].forEach(call => call(value)) }
  render({ model, el })
  const body = el.querySelector('clipPath path')
  window.drawnAs = angles => body.getAttribute('d') === pathText(handShape(angles).body)
  window.thin = () => el.querySelectorAll('[visibility=visible][fill=none][stroke-width="0.9"]').length
}
"""


def test_played_movement_ends_in_its_last_frame(shape_page: Page) -> None:
    shape_page.evaluate(MOVING, [posture("rest"), False])
    frames = [{"t_ms": 20 * k, "angle_deg": posture(name)} for k, name in enumerate(("rest", "half open", "widest"))]
    shape_page.evaluate("frames => hand.tell('msg:custom', { type: 'play', frames })", frames)
    shape_page.wait_for_function("a => drawnAs(a)", arg=posture("widest"))


def test_change_is_eased_and_a_later_one_replaces_it(shape_page: Page) -> None:
    shape_page.evaluate(MOVING, [posture("rest"), False])
    change = "a => { hand.model.angle_deg = a; hand.tell('angle_deg') }"
    at_once = "async a => { hand.model.angle_deg = a; hand.tell('angle_deg'); await null; await null; return drawnAs(a) }"
    assert not shape_page.evaluate(at_once, posture("claw"))
    shape_page.evaluate(change, posture("widest"))
    shape_page.wait_for_function("a => drawnAs(a)", arg=posture("widest"))


def test_less_motion_jumps_and_leaves_the_start_as_a_thin_outline(shape_page: Page) -> None:
    shape_page.evaluate(MOVING, [posture("rest"), True])
    now = """async a => {
      hand.model.angle_deg = a; hand.tell('angle_deg'); await null; await null
      return [drawnAs(a), thin()]
    }"""
    assert shape_page.evaluate("thin()") == 0
    assert shape_page.evaluate(now, posture("claw")) == [True, 1]
    shape_page.wait_for_function("thin() === 0")


# ---- fingers --------------------------------------------------------------------------------------------------------


def test_a_touched_finger_lights_its_own_tendons_and_the_tips_show_what_fits(shape_page: Page) -> None:
    """On the picture itself and by the buttons of the view from the tips; touched again they go."""
    opening = sim.opening_curve(sim.presets()["tight"], [22.0])
    state = state_at(opening, 0) | {"tips": True, "fingers": finger_words(opening, 0), "kept": posture("widest")}
    shape_page.evaluate(
        """state => {
          const el = document.createElement('div'); el.style.cssText = 'width:648px;height:434px'; document.body.append(el)
          render({ model: { object: { name: 'pot', diameter_mm: 70 }, pads: null, side: 'left', skin: 'clay', label: 'a hand',
            on() {}, ...state }, el })
          const svg = el.querySelector('svg'), box = svg.getBoundingClientRect(), v = svg.viewBox.baseVal
          window.on = ([x, y]) => [box.left + (x - v.x) * box.width / v.width, box.top + (-y - v.y) * box.height / v.height]
          window.cords = () => [...svg.querySelectorAll('path')].filter(p => p.style.stroke.includes('color-mix')).map(p =>
            p.getAttribute('d'))
        }""",
        state,
    )
    own = shape_page.evaluate("a => Object.values(handShape(a, 'little').tendons).map(pathText)", state["angle_deg"])
    expect(shape_page.get_by_text("pot 70 mm: too wide")).to_be_visible()
    assert own[0] not in shape_page.evaluate("cords()")
    shape_page.get_by_role("button", name="little").click()
    assert own[0] in shape_page.evaluate("cords()")
    said = re.compile(r"little finger: opener \d+ N, closers \d+ N, \d+ mm to the thumb")
    expect(shape_page.get_by_role("status")).to_have_text(said)
    index = shape_page.evaluate("a => handShape(a).near.joints", state["angle_deg"])
    shape_page.mouse.click(*shape_page.evaluate("on", [(index[2][i] + index[3][i]) / 2 for i in (0, 1)]))
    expect(shape_page.get_by_role("button", name="index")).to_have_attribute("aria-pressed", "true")
    assert own[0] not in shape_page.evaluate("cords()")
    shape_page.get_by_role("button", name="index").click()
    expect(shape_page.get_by_role("status")).to_be_hidden()


@pytest.mark.parametrize("side", ["left", "right"])
def test_on_a_phone_the_view_from_the_tips_covers_no_finger_and_no_number(page: Page, address: str, side: str) -> None:
    """Boxes in px: what lies over the picture is beside the opening and its number, open and as a fist."""
    page.set_viewport_size({"width": 390, "height": 844})
    page.emulate_media(reduced_motion="reduce")
    page.add_init_script(f"localStorage.setItem('gw-look', JSON.stringify({{ side: '{side}' }}))")
    page.goto(address)
    page.get_by_role("button", name="Angles").click()
    number = page.locator("svg[aria-label^=Hand] text").filter(has_text=re.compile(r"^\d+ mm$"))
    covers = [page.locator(".gw-caption"), *(page.get_by_role("button", name=name) for name in ("From the tips", "Angles"))]
    degrees = page.locator("svg[aria-label^=Hand] text").filter(has_text=re.compile(r"^\d+°$"))

    def box(part: Locator) -> tuple[float, float, float, float]:
        b = part.bounding_box()
        assert b is not None
        return b["x"], b["y"], b["x"] + b["width"], b["y"] + b["height"]

    def apart() -> None:
        over = [box(cover) for cover in covers if cover.is_visible()]
        for x0, y0, x1, y1 in [box(number), *(box(d) for d in degrees.all())]:
            assert all(x1 <= b[0] + 2 or x0 >= b[2] - 2 or y1 <= b[1] + 4 or y0 >= b[3] - 4 for b in over)

    expect(degrees).to_have_count(4)
    apart()
    page.get_by_role("button", name="From the tips").click()
    covers.append(page.locator(".gw-tips"))
    expect(covers[-1]).to_be_visible()
    apart()
    page.get_by_role("slider", name="Current").press("End")
    expect(page.locator("svg[aria-label^=Hand]")).to_have_attribute("aria-label", re.compile("current on the skin 60 mA"))
    apart()
