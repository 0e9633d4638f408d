"""The start page and the page of a wrong address, as whole HTML texts, with nothing kept on the server behind them."""

from __future__ import annotations

from functools import cache
from html import escape

from graspwave.apps.look.plain import plain_page
from graspwave.apps.start.hands import HANDS
from graspwave.apps.web.source import address

__all__ = ["missing_page", "start_page"]

_DOORS = (
    ("explore", "I want to understand", "Explore", "Move one setting, see the hand, read why."),
    ("teach", "I teach, or take a lesson", "Teach", "Ten minutes alone, or a room on phones."),
    ("explain", "I explain to a patient", "Explain", "Five pictures and one page to keep."),
    ("practise", "I want to try it", "Practise", "Hold the switch, or wait for the timer."),
)


def start_page() -> str:
    """``/``: three ways and a fourth in one click each, one hand under one slider, a lesson's question, a room to join."""
    doors = "".join(
        f'<li><a href="/{key}"><span class="who">{who}</span><strong>{name}</strong><span>{what}</span>'
        '<i aria-hidden="true">→</i></a></li>' for key, who, name, what in _DOORS
    )
    choices = "".join(
        f'<label><input type="radio" name="hand" value="{key}"{" checked" if key == "tight" else ""}><span>{name}</span></label>'
        for key, name in HANDS
    )
    frames = "".join(
        f'<div class="one" data-hand="{key}"><h3>{name}</h3><div class="of"></div><p class="mm"></p></div>' for key, name in HANDS
    )
    slug, title, question = _question()
    ask = f"""
  <section class="ask-first" aria-labelledby="ask-head">
    <h3 id="ask-head">A question to begin with</h3>
    <p>{escape(question)}</p>
    <p><a class="btn" href="/teach/{slug}">Say what you expect: {escape(title)}</a></p>
  </section>""" if slug else ""
    body = f"""
<div class="start">
  <section class="start-words" aria-labelledby="start-head">
    <h2 id="start-head">From a small current to an open hand</h2>
    <p class="lead">Electrical stimulation of the forearm, step by step: the pulse, the nerve, the pull, the hand round a pot.
      <a href="/proof">What it was checked against</a></p>
    {ask}
    <form class="join-form" action="/join" method="get" novalidate>
      <label for="code">Join a room</label>
      <div class="row"><input class="field" id="code" name="code" placeholder="two words and a number" autocapitalize="none"
        autocomplete="off"
        autocorrect="off" spellcheck="false" enterkeyhint="go" maxlength="60" aria-describedby="join-trouble">
      <button class="btn">Join</button></div>
      <p class="trouble" role="alert" id="join-trouble"></p>
    </form>
  </section>
  <section class="start-hand" aria-label="A hand under one slider">
    <div class="start-draw" id="start-draw">
      <p class="waiting" id="start-wait">Working out two hands. This takes a few seconds.</p>{frames}</div>
    <div class="start-set">
      <fieldset class="start-which"><legend class="vh">Which hand</legend>
        <div class="seg">{choices}</div></fieldset>
      <label class="start-now" for="start-ma">Current</label>
      <input type="range" id="start-ma" min="0" max="30" step="1" value="6" disabled>
      <output id="start-out" for="start-ma" aria-live="off"></output>
    </div>
    <p class="start-said" id="start-said" role="status" aria-live="polite"></p>
  </section>
  <section class="start-thread" aria-label="The chain, from current to opening"><ol id="start-thread"></ol></section>
  <nav class="doors" aria-label="Where to go"><ul>{doors}</ul></nav>
</div>
<noscript><p>The hand on this page needs scripts to be allowed; the four ways below it do not.</p></noscript>"""
    return plain_page(
        "start", "Graspwave", body, scripts=[address("web/start.js")],
        css=[address("web/range.css"), address("web/draw.css"), address("web/start.css")],
        window_title="Stimulation of the forearm, step by step",
    )


@cache
def _question() -> tuple[str, str, str]:
    """The first question of the first lesson that can be read: its name, title and words; empty where there is none."""
    from graspwave import lessons

    for slug in lessons.names():
        try:
            lesson = lessons.load(slug)
        except lessons.LessonError:
            continue
        for step in lesson.steps:
            if step.question is not None and "{" not in step.question.asks.value:
                return slug, lesson.title, _plain(step.question.asks.value)
    return "", "", ""


def _plain(markdown: str) -> str:
    return " ".join(markdown.replace("**", "").replace("*", "").replace("`", "").split())


def missing_page(words: str = "There is no page at this address") -> str:
    """What a person sees whose address leads nowhere: where the ways are.

    Parameters
    ----------
    words
        What is the matter, as a short sentence without its point.
    """
    links = "".join(f'<li><a class="btn" href="/{key}">{name}</a> {what}</li>' for key, _, name, what in _DOORS)
    body = f"""
<div class="missing" role="region" aria-labelledby="missing-head">
  <h2 id="missing-head">{escape(words)}</h2>
  <p>It may have lost or gained a letter. Nothing is broken; these are the ways on.</p>
  <ul>{links}</ul>
  <p><a class="btn strong" href="/">To the start</a></p>
</div>"""
    return plain_page("missing", "No such page", body, css=[address("web/start.css")])
