"""The pages of lessons and of the live room, as whole HTML texts, with nothing kept on the server behind them. Stage ``apps``.

Each page brings its frame, a host and one module of its own; what is shown comes as data. Files are asked for under
``/web/<stamp>/``, so that modules find each other by relative names and one changed file renews them all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from html import escape
from typing import Any

from graspwave.apps.look.plain import plain_page, sheets, step_sheets
from graspwave.apps.told import room_time
from graspwave.apps.web.source import address

__all__ = [
    "alone_page", "control_page", "join_page", "lead_page", "learner_page", "lesson_rows", "lessons_page", "missing_page",
    "room_minutes", "spoken_code",
    "wall_page",
]


def spoken_code(code: str) -> str:
    """A room's code as it is said: ``plum-river-42`` is "plum river 42"."""
    return code.replace("-", " ")


def room_minutes(steps: Sequence[Any], numbers: Iterable[int]) -> list[float]:
    """Minutes that steps of a read lesson take in a room, by their numbers."""
    chosen = [steps[number - 1] for number in numbers]
    return [room_time.room_minutes({"kind": "ask" if step.question else step.kind, "minutes": step.minutes}) for step in chosen]


def lesson_rows(names: Iterable[str] | None = None, load: Callable[[str], Any] | None = None) -> list[dict[str, Any]]:
    """What the list of lessons says of each, in order of teaching.

    Parameters
    ----------
    names : iterable of str, optional
        The program's lessons where not given.
    load : callable, optional
        Reads one by its name.

    Returns
    -------
    list of dict
        ``slug``, ``title``, ``minutes`` (alone), ``room`` (minutes in a room), ``for``, ``line``, ``short`` (steps and minutes of
        the short version, or None), ``short_room`` and
        ``trouble``: what is wrong with a lesson that cannot be read, which then has no more than its name.
    """
    from graspwave import lessons

    rows = []
    for slug in lessons.names() if names is None else names:
        try:
            lesson = (load or lessons.load)(slug)
        except lessons.LessonError as why:
            rows.append({"slug": slug, "title": slug.replace("-", " ").capitalize(), "minutes": 0, "for": (), "line": "",
                         "short": None, "trouble": str(why)})
            continue
        chosen = [lesson.steps[number - 1].minutes for number in lesson.short]
        rows.append({
            "slug": slug, "title": lesson.title, "minutes": lesson.minutes, "for": tuple(lesson.people),
            "room": round(sum(room_minutes(lesson.steps, range(1, len(lesson.steps) + 1)))),
            "short_room": round(sum(room_minutes(lesson.steps, lesson.short))),
            "line": next((line for line in lesson.objectives if "{" not in line), ""),
            "short": (len(chosen), round(sum(chosen))) if chosen and all(chosen) else None, "trouble": "",
            "alone": lessons.alone_minutes(lesson),
        })
    return rows


def lessons_page(
    rows: Iterable[Mapping[str, Any]] | None = None, *, key_needed: bool = False, shared: bool = False,
    ways: Sequence[Mapping[str, str]] = (), troubles: Mapping[str, str] | None = None,
) -> str:
    """``/teach``: all lessons, each to take alone or to open a room with, and the field for those who join one.

    Parameters
    ----------
    rows
        As `lesson_rows` gives them, which is what is shown without.
    key_needed
        Whether opening a room asks for the server's key.
    shared
        Whether other devices may open these pages.
    ways
        Addresses by which they do: ``host``, ``on``, ``url``.
    troubles
        What is wrong with lessons that could not be worked out, by name.
    """
    told = troubles or {}
    items = "".join(
        _row(number, {**row, "trouble": told.get(row["slug"]) or row.get("trouble", "")})
        for number, row in enumerate(lesson_rows() if rows is None else rows, 1)
    )
    note = _ways_note(shared, ways)
    body = f"""
<div class="column lessons" data-key-needed="{'yes' if key_needed else 'no'}">
  <section aria-labelledby="for-head">
    <h2 id="for-head" class="big">Learn why a stimulated hand opens, or does not</h2>
    <p class="lead">In a lesson you first say what you expect, then look at what a computed hand does, then read why. Take one
      alone, in your own time. Or lead a room: up to two hundred people answer on their phones, without names.</p>
  </section>
  <section class="join-strip" aria-labelledby="join-head">
    <h2 id="join-head">Somebody leads a room?</h2>
    {_join_form()}
  </section>
  <section aria-labelledby="rooms-head" id="rooms-here" hidden>
    <h2 id="rooms-head" class="big" tabindex="-1">My rooms</h2>
    <div id="my-rooms"></div>
  </section>
  <section aria-labelledby="lessons-head">
    <h2 id="lessons-head" class="big">Lessons</h2>
    <p class="note" id="lessons-hands" hidden></p>
    <ol class="lesson-list">{items}</ol>
  </section>
  {_courses()}
  <section aria-labelledby="lead-head" class="for-leaders">
    <h2 id="lead-head" class="big">For whoever leads</h2>
    {note}
    <p class="row"><button type="button" class="btn" id="my-rooms-show">My rooms on this machine</button>
      <a class="btn" href="/lead">Lead or show a room from this device</a></p>
  </section>
</div>
<dialog id="open-room" aria-labelledby="open-head">
  <form method="dialog" id="open-form">
    <h2 id="open-head" class="big">Open a room</h2>
    <p id="open-what"></p>
    <div id="open-length"></div>
    <p id="open-key" hidden><label for="key">Key of this server</label>
      <input id="key" type="password" autocomplete="off" spellcheck="false" aria-describedby="key-note">
      <span class="note" id="key-note">It was printed where the server was started.
        It keeps strangers from opening rooms here.</span></p>
    <p class="trouble" role="alert" id="open-trouble"></p>
    <div class="row"><button type="button" class="btn strong" id="open-go">Open the room</button>
      <button type="button" class="btn" id="open-not">Not now</button></div>
  </form>
</dialog>"""
    return _page("Teach", body, "open.js", css=sheets("web/lesson_list.css"))


def _courses() -> str:
    """Courses made of these lessons, each part a link to its steps."""
    from graspwave import lessons

    names = {slug: number for number, slug in enumerate(lessons.names(), 1)}
    found = []
    for course in lessons.courses():
        parts = "".join(f"<li>{_part(part, names)}</li>" for part in course.parts)
        people = escape(", ".join(course.people))
        found.append(f"""<details class="course"><summary>{escape(course.title)} ({course.minutes:g} min, for {people})</summary>
  <p>{escape(course.text)}</p><ol>{parts}</ol></details>""")
    return f'<section aria-labelledby="courses-head"><h2 id="courses-head" class="big">Courses</h2>{"".join(found)}</section>'


def _part(part: Any, names: Mapping[str, int]) -> str:
    says = f"{escape(part.says)} <span class=\"note\">{part.minutes:g} min</span>"
    if part.questions:
        return f'<a href="/teach/{part.questions}">{says}</a>'
    if not part.lesson:
        return says
    steps = f"?steps={','.join(map(str, part.steps))}" if part.steps else ""
    return f'<a href="/teach/{part.lesson}{steps}">Lesson {names[part.lesson]}</a>: {says}'


def _ways_note(shared: bool, ways: Sequence[Mapping[str, str]]) -> str:
    """How phones get here: the addresses to choose from, or what to do where there is none."""
    if not shared:
        return """<p>Phones cannot reach this server: it was started for its own machine. To teach a room, start it with
      <code>graspwave open --host 0.0.0.0</code>. Then everybody in the same network can open these pages.</p>"""
    if not ways:
        return f'<p class="trouble">{_NO_WAY}</p>'
    if len(ways) == 1:
        return f'<p>Phones in the same network open <b class="address">{escape(ways[0]["url"])}</b>.</p>'
    options = "".join(f'<option value="{escape(way["host"])}">{escape(_way_words(way))}</option>' for way in ways)
    return f"""<p><label for="way">Phones in the same network open</label> <select id="way">{options}</select></p>"""


_NO_WAY = ("This machine is in no network, so no phone can reach it. Join a Wi-Fi network or switch on a hotspot, on this "
           "machine or on a phone, then load this page again.")


def _way_words(way: Mapping[str, str]) -> str:
    return f"{way['url']} ({way['on']})" if way.get("on") else way["url"]


def _row(number: int, row: Mapping[str, Any]) -> str:
    slug, title = escape(str(row["slug"])), escape(str(row["title"]))
    nr = f'<span class="nr" aria-hidden="true">{number}</span><span class="lesson-hand" aria-hidden="true"></span>'
    if row.get("trouble"):
        return f"""
<li>{nr}<div class="what"><h3>{title}</h3><p class="trouble">This lesson cannot be worked out here.</p>
  {_wrong(row["trouble"])}</div></li>"""
    people = escape(", ".join(str(who) for who in row["for"]))
    line = escape(str(row["line"]))
    line = f"You will {line[:1].lower()}{line[1:].rstrip('.')}." if line else ""
    count, brief = row.get("short") or (0, 0)
    led = row.get("room") or row["minutes"]
    short = f"{row.get('short_room') or brief:g} min in a room, all of it {led:g} min" if count else f"{led:g} min in a room"
    alone = f"; alone {row['alone']:.0f} min" if row.get("alone") else ""
    more = f"""<p class="note more-links">
      <a href="/teach/{slug}/handout" aria-label="Handout to print: {title}">Handout to print</a>
      <a href="/teach/{slug}/preview" aria-label="Preview beside its text: {title}">Preview beside its text</a>
      <button type="button" class="link" data-file="{slug}"
        aria-label="Save as one file: {title}">Save as one file</button></p>"""
    again = _again(str(row["slug"]))
    return f"""
<li data-lesson="{slug}">{nr}
  <div class="what"><h3>{title}</h3><p>{line}</p><p class="note">{short}{alone}; for {people}</p>
    {more}<p class="note" role="status" data-told hidden></p>
    <p class="note at" data-at="{slug}" data-again="{again}" hidden></p></div>
  <div class="row"><a class="btn" href="/teach/{slug}" aria-label="Take it alone: {title}">Take it alone</a>
    <button type="button" class="btn" data-open="{slug}" data-title="{title}" data-minutes="{led:g}"
      data-short="{row.get('short_room') or brief:g}" data-steps="{count}"
      aria-label="Open a room: {title}">Open a room</button></div></li>"""


def _again(slug: str) -> str:
    """Numbers of the questions that come again some days after a lesson."""
    from graspwave.lessons.quiz import asked

    return ",".join(str(number) for number, one in enumerate(asked(), 1) if one.lesson == slug)


def _wrong(text: object) -> str:
    lines = "".join(f"<li>{escape(line)}</li>" for line in str(text).splitlines() if line.strip())
    return f'<details><summary>What is wrong</summary><ul class="wrong">{lines}</ul></details>'


def missing_page(kind: str, text: str = "") -> str:
    """What somebody sees who came to an address of nothing, or to a lesson that cannot be worked out.

    Parameters
    ----------
    kind
        ``lesson`` or ``room``: there is none at this address; ``trouble``: the lesson is there, but it does not work.
    text
        What is wrong with it.
    """
    head, lead, links = {
        "lesson": ("There is no such lesson", "The address may have lost or gained a letter. All lessons are on one list.",
                   '<a class="btn strong" href="/teach">To the lessons</a>'),
        "room": ("There is no room at this address", "A room's code is two words and a number, such as plum river 42. "
                 "Look at the wall again, and type it.", '<a class="btn strong" href="/join">Type a code</a>'
                 '<a class="btn" href="/teach">To the lessons</a>'),
        "trouble": ("This lesson cannot be worked out here", "Its text and the model no longer fit together. The other lessons "
                    "are not touched. Whoever runs this server can mend it.",
                    '<a class="btn strong" href="/teach">To the lessons</a>'),
    }[kind]
    body = f"""
<div class="column narrow">
  <h2 class="big">{head}</h2>
  <p class="lead">{lead}</p>
  {_wrong(text) if text else ''}
  <div class="row">{links}</div>
</div>"""
    return _page("Teach", body, "", window=head)


def alone_page(slug: str, title: str = "") -> str:
    """``/teach/<slug>``: one lesson for one person; its steps come from ``/lesson/<slug>.json``."""
    body = f"""
<div class="alone" id="app" data-slug="{escape(slug)}"><p class="waiting">The lesson is being fetched.</p>
<noscript><p>This page needs scripts to be allowed.</p></noscript></div>"""
    return _page(title or "Lesson", body, "alone.js", css=step_sheets("web/person.css"))


def join_page(code: str = "", trouble: str = "") -> str:
    """``/join``: one field for the room's code, filled where the address brought it; `trouble` says what was wrong with it."""
    body = f"""
<div class="column narrow">
  <h2 class="big">Join a room</h2>
  <p class="lead">The code is on the wall: two words and a number.</p>
  {_join_form(code, trouble)}
  <p class="note">You get a made-up name, a plant or an animal. Nobody asks for yours.</p>
</div>"""
    return _page("Join", body, "join.js", bare=True)


def _join_form(code: str = "", trouble: str = "") -> str:
    return f"""<form class="join-form" action="/join" method="get" novalidate>
    <label for="code">Room code</label>
    <div class="row"><input id="code" name="code" value="{escape(spoken_code(code))}" placeholder="two words and a number"
      autocapitalize="none" autocomplete="off" autocorrect="off" spellcheck="false"
      enterkeyhint="go" maxlength="60" aria-describedby="join-trouble">
    <button class="btn strong">Join</button></div>
    <p class="trouble" role="alert" id="join-trouble">{escape(trouble)}</p></form>"""


def learner_page(code: str, *, preview: bool = False) -> str:
    """``/room/<code>``: what a phone shows in a room; in a preview `code` is the lesson's name."""
    body = """
<div class="learner" id="app"><p class="waiting">Looking for the room.</p>
<noscript><p>This page needs scripts to be allowed.</p></noscript></div>
<p class="vh" role="status" aria-live="polite" id="said"></p>"""
    bar = f'<p class="room-bar"><strong>{escape(_said_code(code, preview))}</strong> <span id="handle"></span></p>'
    return _page("Room", body, "learner.js", bare=True, code=code, bar=bar, window=spoken_code(code), preview=preview,
                 css=step_sheets("web/person.css"))


def _said_code(code: str, preview: bool) -> str:
    """The code of a room, or one that no room has."""
    return spoken_code("plum-river-42" if preview else code)


def lead_page() -> str:
    """``/lead``: where an invitation becomes a right to lead a room, or to show its wall, on another device."""
    body = """
<div class="column narrow">
  <h2 class="big">Lead or show a room from here</h2>
  <p class="lead">On the page that leads the room, press “Another device”. It shows a code of three words and a number, good
    for one device and ten minutes.</p>
  <form class="lead-form" id="lead-form" novalidate>
    <label for="words">Code</label>
    <div class="row"><input id="words" placeholder="three words and a number" autocapitalize="none" autocomplete="off"
      autocorrect="off" spellcheck="false" enterkeyhint="go" maxlength="60" aria-describedby="lead-trouble">
    <button class="btn strong">Go on</button></div>
    <p class="trouble" role="alert" id="lead-trouble"></p></form>
</div>"""
    return _page("Lead", body, "lead.js", bare=True)


def control_page(code: str, ways: Sequence[Mapping[str, str]] = (), *, shared: bool = False) -> str:
    """``/room/<code>/control``: where the educator leads the room.

    Parameters
    ----------
    code
        The room's code, as it stands in the address.
    ways
        Addresses by which phones join: ``host``, ``on``, ``join`` (shown as text) and ``svg`` (the same as a picture code).
    shared
        Whether this server is reached by other devices at all.
    """
    body = f"""
<div class="control" id="app">
  <section class="plan" aria-label="Plan of the lesson" id="plan"><p class="waiting">Looking for the room.</p></section>
  <section class="now-shown" aria-label="What the room sees" id="shown"></section>
  <aside class="room-side" aria-label="The room">
    <p class="over">Room code</p><p class="code">{escape(spoken_code(code))}</p>
    {_ways(ways, code, shared, "Point a phone camera here, or open", "and type the code.")}
    <div id="people"></div>
  </aside>
</div>
<p class="vh" role="status" aria-live="polite" id="said"></p>"""
    actions = """<button type="button" class="btn" id="open-wall">Wall</button>
    <button type="button" class="btn" id="invite" aria-haspopup="dialog">Another device</button>
    <button type="button" class="btn" id="save" aria-haspopup="dialog">Save answers</button>
    <button type="button" class="btn" id="end" aria-haspopup="dialog">End</button>"""
    return _page("Control", body, "control.js", bare=True, code=code, actions=actions, window=f"Control, {spoken_code(code)}",
                 css=step_sheets("web/control.css"))


def wall_page(code: str, ways: Sequence[Mapping[str, str]] = (), *, shared: bool = False, preview: bool = False) -> str:
    """``/room/<code>/wall``: what the projector shows; the same arguments as `control_page`."""
    body = f"""
<div class="wall" id="app"><div id="wall-main"><p class="waiting">Looking for the room.</p></div>
  <section class="wall-join" id="join" aria-label="How to join">
    <div class="join-words"><p class="code">{escape(_said_code(code, preview))}</p>
    {"" if preview else _ways(ways, code, shared, "Join with a camera, or at", "")}</div>
    <div id="people" class="people"></div></section></div>
<p class="vh" role="status" aria-live="polite" id="said"></p>"""
    bar = '<p class="room-bar"><strong id="lesson-title"></strong> <span id="where"></span></p>'
    return _page("Wall", body, "wall.js", bare=True, code=code, bar=bar, window=f"Wall, {spoken_code(code)}", preview=preview,
                 css=step_sheets("web/wall.css"))


def _host_words(way: Mapping[str, str]) -> str:
    return f"{way['host']} ({way['on']})" if way.get("on") else way["host"]


def _short(url: str) -> str:
    """An address as it is said and typed: without its scheme and without the code, which is asked for."""
    return url.split("?")[0].removeprefix("http://").removeprefix("https://")


def _ways(ways: Sequence[Mapping[str, str]], code: str, shared: bool, before: str, after: str) -> str:
    """Every way to join, the first one shown; what to do where there is none. A page's script shows another that is chosen."""
    if not ways:
        words = _NO_WAY if shared else (
            "Only this machine can join: the server was started for it alone. For phones start it with "
            "<code>graspwave open --host 0.0.0.0</code>.")
        return f'<div class="ways none"><p class="note no-way">{words}</p></div>'
    label = f"Picture code that opens the room {escape(spoken_code(code))}"
    each = "".join(
        f'<div class="qr-row way" data-host="{escape(way["host"])}"{"" if at == 0 else " hidden"}>'
        f'<div class="qr" role="img" aria-label="{label}">{way["svg"]}</div>'
        # broken before the port, not in it
        f'<p class="note">{before} <span class="address">{escape(_short(way["join"])).replace(":", "<wbr>:")}</span> {after}</p>'
        "</div>"
        for at, way in enumerate(ways)
    )
    options = "".join(
        f'<option value="{escape(way["host"])}">{escape(_host_words(way))}</option>'
        for way in ways)
    choose = f"""<label class="choose-way"><span>Phones do not get here? Another address:</span>
      <select data-id="way">{options}</select></label>""" if len(ways) > 1 else ""
    return f'<div class="ways">{each}{choose}</div>'


def _page(
    title: str, body: str, script: str, *, bare: bool = False, code: str = "", bar: str = "", actions: str = "", window: str = "",
    preview: bool = False, css: Sequence[str] | None = None,
) -> str:
    if code:
        kind = ' data-preview="yes"' if preview else ""
        body = f'<div id="room" data-code="{escape(code)}"{kind} hidden></div>{body}'
    return plain_page(
        "teach", title, body, scripts=[address(f"web/{script}")] if script else [],
        css=sheets() if css is None else css, bare=bare, bar=bar, actions=actions,
        window_title=window,
    )
