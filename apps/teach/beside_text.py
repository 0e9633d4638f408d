"""Two pages about a lesson as a whole: how it looks beside its text, and what is printed of it. Stage ``apps``."""

from __future__ import annotations

from html import escape

from graspwave.apps.look.plain import plain_page, sheets, step_sheets
from graspwave.apps.web.source import address

__all__ = ["handout_page", "preview_page"]


def preview_page(slug: str, *, key_needed: bool = False) -> str:
    """``/teach/<slug>/preview``: the lesson's text, and beside it wall, phone and notes at any place of it.

    Parameters
    ----------
    slug : str
    key_needed : bool
        Whether the server's key is asked for, as it is for opening a room.
    """
    body = f"""
<div class="preview" id="app" data-slug="{escape(slug)}" data-key-needed="{'yes' if key_needed else 'no'}">
  <form class="key-form" id="key-form" hidden><label for="key">Key of this server</label>
    <div class="row"><input id="key" type="password" autocomplete="off" spellcheck="false">
    <button class="btn strong">Look</button></div>
    <p class="trouble" role="alert" id="key-trouble"></p></form>
  <section class="preview-text" aria-labelledby="text-head"><h2 id="text-head">Its text</h2>
    <div id="mistakes" role="status" aria-live="polite"></div>
    <div id="text" class="lines" tabindex="0" role="region" aria-label="Text of the lesson"><p class="waiting">The lesson is
    being worked out.</p></div></section>
  <section class="preview-shown" aria-labelledby="shown-head"><h2 id="shown-head" class="vh">How it looks</h2>
    <div id="moves"></div>
    <div class="screens" id="screens" hidden>
      <figure class="screen wall-screen"><figcaption>The wall</figcaption><div class="pane"><iframe title="The wall"
        width="1280" height="720" data-which="wall" tabindex="-1"></iframe></div></figure>
      <figure class="screen phone-screen"><figcaption>A phone</figcaption><div class="pane"><iframe title="A phone"
        width="390" height="844" data-which="phone"></iframe></div></figure>
      <div class="preview-notes"><div id="notes"></div>
        <p class="note">Twelve people are in this room. They and their answers are invented.</p></div>
    </div>
  </section>
</div>
<p class="vh" role="status" aria-live="polite" id="said"></p>"""
    return _page("Preview", body, "preview.js", sheets("web/paper.css"))


def handout_page(slug: str) -> str:
    """``/teach/<slug>/handout``: the lesson on paper, one page a question, for learners or for whoever teaches."""
    body = f"""
<div class="handout" id="app" data-slug="{escape(slug)}">
  <div class="handout-bar" id="handout-bar"></div>
  <div class="sheets" id="sheets"><p class="waiting">The lesson is being fetched.</p></div>
  <noscript><p>This page needs scripts to be allowed.</p></noscript></div>
<p class="vh" role="status" aria-live="polite" id="said"></p>"""
    return _page("Handout", body, "handout.js", step_sheets("web/paper.css"))


def _page(title: str, body: str, script: str, css: list[str]) -> str:
    return plain_page(
        "teach", title, body, scripts=[address(f"web/{script}")], css=css, bare=True,
        bar='<p class="room-bar"><strong id="lesson-title"></strong></p>', actions='<a class="btn" href="/teach">Lessons</a>')
