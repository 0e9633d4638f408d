"""What holds for every page of lessons and of the room: rules of access, widths, sizes of targets."""

from __future__ import annotations

from playwright.sync_api import expect
from teach_lesson import LESSON
from teach_people import DESK, PHONE, WALL, Visitor, forward, join, open_room, serious


def test_no_page_has_a_serious_violation_and_none_scrolls_sideways(visitor: Visitor, teach: str) -> None:
    control, phone, alone = visitor(DESK), visitor(PHONE), visitor(PHONE)
    for path in ("/teach", "/join"):
        alone.goto(f"{teach}{path}")
        assert serious(alone) == []
    alone.goto(f"{teach}/teach/turned-up")
    alone.get_by_role("button", name="Begin").click()
    alone.locator(".alone-bar [data-id=next]").click()
    expect(alone.locator(".gwt-svg").first).to_be_visible()
    assert serious(alone) == []
    code = open_room(control, teach)
    join(phone, teach, code)
    wall = control.context.new_page()
    wall.set_viewport_size(WALL)  # type: ignore[arg-type]
    wall.goto(f"{teach}/room/{code}/wall")
    forward(control, "Turn it up")
    phone.get_by_role("radio", name="It grows").check(force=True)
    phone.get_by_role("button", name="Send my answer").click()
    expect(control.get_by_text("1 of 1 have answered")).to_be_visible()
    for page in (control, phone, wall):
        assert serious(page) == []
    for words in ("talk it over", "ask again", "show the room’s answers", "show the picture", "show what the model gives"):
        forward(control, words)
    expect(phone.locator(".beside")).to_be_visible()
    for page in (control, phone, wall):
        assert serious(page) == []
    for page in (control, phone, alone, wall):
        for width, height in ((640, 360), (320, 640)):
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (page.url, width)
            assert page.locator("main").evaluate("main => main.scrollWidth <= main.clientWidth"), (page.url, width)
            expect(page.locator("footer.caution")).to_be_in_viewport()


def test_targets_on_a_phone_are_large_enough(visitor: Visitor, teach: str) -> None:
    page = visitor(PHONE)
    page.goto(f"{teach}/teach/turned-up")
    page.get_by_role("button", name="Begin").click()
    page.locator(".alone-bar [data-id=next]").click()
    expect(page.locator(".card").first).to_be_visible()
    small = page.evaluate("""[...document.querySelectorAll('main button, main .card, main .seg label, main a')]
      .filter(n => n.offsetParent && n.getBoundingClientRect().height < 44).map(n => n.textContent)""")
    assert small == []
    assert LESSON["title"] in page.title()
