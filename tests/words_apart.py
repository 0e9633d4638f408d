"""Where words on plots and pictures lie: a box for each, and which of them meet, lie on an axis or are cut."""

from __future__ import annotations

__all__ = ["SEEN", "WATCH"]

WATCH = r"""
(() => {
  // a plot draws its words on a canvas: each is kept with its box until the canvas is wiped
  const proto = CanvasRenderingContext2D.prototype, fill = proto.fillText, wipe = proto.clearRect, texts = new WeakMap()
  proto.fillText = function (text, x, y, ...rest) {
    const m = this.measureText(text), t = this.getTransform()
    const xs = [x - m.actualBoundingBoxLeft, x + m.actualBoundingBoxRight]
    const ys = [y - m.actualBoundingBoxAscent, y + m.actualBoundingBoxDescent]
    const p = xs.flatMap(u => ys.map(v => [t.a * u + t.c * v + t.e, t.b * u + t.d * v + t.f]))
    const [h, v] = [p.map(q => q[0]), p.map(q => q[1])]
    if (!texts.has(this.canvas)) texts.set(this.canvas, [])
    if (String(text).trim())
      texts.get(this.canvas).push([String(text), [Math.min(...h), Math.min(...v), Math.max(...h), Math.max(...v)]])
    return fill.call(this, text, x, y, ...rest)
  }
  proto.clearRect = function (...box) {
    texts.set(this.canvas, [])
    return wipe.apply(this, box)
  }
  const meet = (a, b, by) =>
    Math.min(a[2], b[2]) - Math.max(a[0], b[0]) > by && Math.min(a[3], b[3]) - Math.max(a[1], b[1]) > by
  const every = (selector, root = document) =>
    [...root.querySelectorAll('*')].flatMap(n =>
      [...(n.matches(selector) ? [n] : []), ...(n.shadowRoot ? every(selector, n.shadowRoot) : [])])
  const pairs = (name, all) =>
    all.flatMap(([text, a], i) =>
      all.slice(i + 1).filter(([, b]) => meet(a, b, 1)).map(([other]) => `${name}: "${text}" lies on "${other}"`))
  function plots() {
    const views = [], visit = v => {
      if (v.model?.type === 'Figure' && v.el.getClientRects().length) views.push(v)
      for (const child of v.child_views ?? []) visit(child)
    }
    for (const v of window.Bokeh?.index.roots ?? []) visit(v)
    return views
  }
  // whether a drawn line comes into a box; it is walked along in steps of a pixel
  const comesInto = (xs, ys, a) =>
    Array.prototype.some.call(xs, (x, i) => {
      const way = i + 1 < xs.length ? Math.hypot(xs[i + 1] - x, ys[i + 1] - ys[i]) : NaN
      for (let s = 0; s <= way; s++) {
        const [px, py] = [x + ((xs[i + 1] - x) * s) / (way || 1), ys[i] + ((ys[i + 1] - ys[i]) * s) / (way || 1)]
        if (px > a[0] && px < a[2] && py > a[1] && py < a[3]) return true
      }
      return false
    })
  const onLines = (v, name) => {
    const parts = [...(v.renderer_views?.values?.() ?? [])].filter(r => r.model.visible)
    const lines = parts.filter(r => r.glyph?.model.type === 'Line' && r.glyph.sx?.length)
    const words = parts.filter(r => r.model.type === 'Label' && r.model.text && r._rect)
    return words.flatMap(({ model, _rect: { sx, sy, anchor, width, height } }) => {
      const [x, y] = [sx - anchor.x * width, sy - anchor.y * height]
      const box = [x + 1, y + 0.15 * height, x + width - 1, y + 0.85 * height]
      const tag = model.background_fill_color != null // which may lie on the thin lines to the axes
      const met = lines.filter(({ glyph: g }) => !(tag && (g.model.line_width.value ?? g.model.line_width) < 1.7))
      return met.some(({ glyph: g }) => comesInto(g.sx, g.sy, box)) ? [`${name}: "${model.text}" lies on a line`] : []
    })
  }
  // what the page itself writes beside a plot: sentences below it, line by line, and buttons over it
  const besides = (v, all, name) => {
    const at = v.canvas_view.el.getBoundingClientRect()
    const inner = ({ left, top, right, bottom }) => [left, top + 0.18 * (bottom - top), right, bottom - 0.2 * (bottom - top)]
    const others = every('.said > *, .gw-button').flatMap(n => [...n.getClientRects()].map(r => [n.textContent, inner(r)]))
    const ours = all.map(([text, [a, b, c, d]]) => [text, [a + at.left, b + at.top, c + at.left, d + at.top]])
    return others.flatMap(([text, box]) =>
      ours.filter(([, own]) => meet(own, box, 1)).map(([own]) => `${name}: "${text}" lies on "${own}"`))
  }
  const inPlot = v => {
    const canvases = [...v.canvas_view.el.shadowRoot.querySelectorAll('canvas')]
    const all = canvases.flatMap(c => (texts.get(c) ?? []).map(([t, box]) => [t, box.map(q => (q * c.clientWidth) / c.width)]))
    const at = v.model.html_attributes, name = String(at['aria-label'] ?? at.get?.('aria-label')).slice(0, 40)
    const { left, top, right, bottom } = v.frame.bbox, { width, height } = v.canvas_view.bbox, out = pairs(name, all)
    if (!all.length) out.push(`${name}: has no words`)
    if (v.model.name === 'curve') out.push(...onLines(v, name), ...besides(v, all, name))
    for (const [text, a] of all) {
      if (a[0] < -1 || a[1] < -1 || a[2] > width + 1 || a[3] > height + 1) out.push(`${name}: "${text}" is cut`)
      if (meet(a, [left - 0.5, top, left + 0.5, bottom], 0.4)) out.push(`${name}: "${text}" lies on the upright axis`)
      if (meet(a, [left, bottom - 0.5, right, bottom + 0.5], 0.4)) out.push(`${name}: "${text}" lies on the level axis`)
    }
    return out
  }
  const inPicture = svg => {
    const look = n => getComputedStyle(n)
    const all = [...svg.querySelectorAll('text')]
      .filter(t => t.textContent.trim() && look(t).visibility !== 'hidden' && t.getClientRects().length)
      .map(t => {
        const r = t.getBoundingClientRect() // a box of text has room above and below its letters
        return [t.textContent.trim(), [r.left, r.top + 0.18 * r.height, r.right, r.bottom - 0.2 * r.height]]
      })
    const r = svg.getBoundingClientRect(), of = svg.getAttribute('aria-label') ?? String(svg.getAttribute('class'))
    const name = of.slice(0, 40)
    const out = ([, a]) => a[0] < r.left - 1 || a[2] > r.right + 1 || a[1] < r.top - 1 || a[3] > r.bottom + 1
    const cut = look(svg).overflow === 'visible' ? [] : all.filter(out)
    return [...pairs(name, all), ...cut.map(([text]) => `${name}: "${text}" is cut`)]
  }
  window.plotsShown = () => plots()
  window.wordsThatMeet = () =>
    [...plots().flatMap(inPlot), ...every('svg').filter(s => s.getClientRects().length).flatMap(inPicture)]
  window.lettersAreSet = () => {
    const want = window.gwLook.letter()
    return (window.Bokeh?.documents ?? []).flatMap(d => [...d.all_models]).every(m => {
      const tag = (m.tags ?? []).find(t => t && (t.rem ?? t.get?.('rem'))), rem = tag && (tag.rem ?? tag.get('rem'))
      const of = rem && (rem instanceof Map ? [...rem] : Object.entries(rem))
      return !of || of.every(([k, size]) => Math.abs(parseFloat(m[k]) - size * want) < 0.2)
    })
  }
})()
"""
"""Runs before a page's own scripts."""

SEEN = """least => !window.lettersAreSet() ? ['letters are not set yet'] : window.plotsShown().length < least
  ? ['too few plots are there'] : window.wordsThatMeet().slice(0, 6)"""
"""What meets on the page as it stands, of so many plots at least; empty where all is well."""
