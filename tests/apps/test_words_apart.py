"""Words on plots and pictures lie on no other word, no axis and no line of the curve, uncut: three sizes of text, three looks."""

from __future__ import annotations

import time

import pytest
from playwright.sync_api import Page, expect
from words_apart import SEEN, WATCH

from graspwave.apps.told.scenes import scene_to_address
from graspwave.simulator import presets

LONGEST_S = 20.0
"""A busy machine lays a plot anew within this time."""

LOOKS = ((1, {"color_scheme": "light"}), (2, {"color_scheme": "dark"}), (3, {"forced_colors": "active"}))


PLOTS = {"cycle": 4, "zooms": 0, "nerve": 4, "force": 12}
"""How many plots a view has."""

WRONG = """() => {
  const context = plotsShown()[0].canvas_view.el.shadowRoot.querySelector('canvas').getContext('2d')
  for (const word of ['one word', 'another']) context.fillText(word, 90, 90)
  return wordsThatMeet()
}"""
"""Two words in one place, as a twin that must be found."""

ON_A_LINE = """async () => {
  const parts = [...plotsShown()[0].renderer_views.values()].map(r => r.model)
  const { x, y } = parts.find(m => m.glyph?.type === 'Line' && m.data_source.data.x.length > 9).data_source.data
  const k = Math.floor(x.length / 2), words = parts.find(m => m.type === 'Label' && m.text.startsWith('pot'))
  words.setv({ visible: true, x: x[k], y: y[k], x_offset: 0, y_offset: -9, text_align: 'center' }, { sync: false })
  await new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))
  return wordsThatMeet()
}"""
"""Words laid on a line of the curve, as a twin that must be found."""

BESIDE = """() => {
  const words = document.createElement('p'), plot = plotsShown()[0].canvas_view.el.getBoundingClientRect()
  words.className = 'said'
  words.style = `position:fixed;margin:0;left:${plot.left}px;top:${plot.top}px;height:99px;width:60px`
  words.append(Object.assign(document.createElement('span'), { textContent: 'below', style: 'display:block;height:99px' }))
  document.body.append(words)
  const found = wordsThatMeet()
  words.remove()
  return found
}"""
"""A sentence of the page laid on the numbers of a plot, as a twin that must be found."""


def larger(page: Page, size: int) -> None:
    """Choose a size of text as the person does under Aa."""
    page.evaluate(
        "size => { const i = document.querySelector(`[data-look=size][value='${size}']`); i.checked = true; "
        "i.dispatchEvent(new Event('change', { bubbles: true })) }", str(size))


def all_apart(page: Page, what: str, plots: int = 0) -> None:
    """What meets is laid anew within a moment, or it is told."""
    until, found = time.monotonic() + LONGEST_S, ["nothing was looked at"]
    while found and time.monotonic() < until:
        page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
        found = page.evaluate(SEEN, plots)
    assert found == [], what


@pytest.mark.parametrize("size", [{"width": 1440, "height": 900}, {"width": 390, "height": 844}], ids=["desk", "phone"])
def test_words_on_explores_plots_are_apart(page: Page, address: str, size: dict[str, int]) -> None:
    page.add_init_script(WATCH)
    page.set_viewport_size(size)  # type: ignore[arg-type]
    page.goto(f"{address}?pin={scene_to_address(presets()['supple'])}&show=arms")
    expect(page.get_by_role("slider", name="Current")).to_be_visible()
    page.wait_for_function("() => window.Bokeh?.documents.length && window.gwLook && lettersAreSet()")
    expect(page.get_by_text("Invented arms, not patients.").first).to_be_attached(timeout=60_000)
    if size["width"] < 860:
        for letters, look in LOOKS:
            page.emulate_media(**look)
            larger(page, letters)
            all_apart(page, f"curve, text {letters}", 1)
        assert "lies on a line" in str(page.evaluate(ON_A_LINE))
        assert '"below" lies on' in str(page.evaluate(BESIDE))
        page.locator("#tab-time").click()
    for (letters, look), view in zip((*LOOKS, LOOKS[2]), ("cycle", "zooms", "nerve", "force"), strict=True):
        page.emulate_media(**look)
        larger(page, letters)
        page.locator(f"input[value={view}]").check(force=True)
        all_apart(page, f"{view}, text {letters}", PLOTS[view])
    larger(page, 2)
    page.locator("input[value=cycle]").check(force=True)
    all_apart(page, "cycle, text 2", PLOTS["cycle"])
    assert 'lies on "another"' in str(page.evaluate(WRONG))


@pytest.mark.parametrize("name", ["", "practise", "explain"])
def test_words_in_the_pictures_of_the_other_pages_are_apart(page: Page, address: str, name: str) -> None:
    page.add_init_script(WATCH)
    page.set_viewport_size({"width": 1440, "height": 900})
    page.goto(address.replace("explore", name))
    expect(page.locator("main svg").first).to_be_visible()
    for letters, look in LOOKS:
        page.emulate_media(**look)
        larger(page, letters)
        for picture in range(5 if name == "explain" else 1):
            if name == "explain":
                page.get_by_role("button", name=str(picture + 1), exact=False).first.click()
            all_apart(page, f"{name} {picture + 1}, text {letters}")
