// Where words of a picture stand: clear of lines, of each other and of what is not yet shown.

import { clamp, color, make, num } from './svg.js'
import { textWidth } from './words.js'
import { DASH, text, tokenOf } from './plot_axes.js'

// how far a box is from its own line and from the nearest other
function apart(g, box, own) {
  let mine = Infinity,
    other = Infinity
  for (const [a, b, m] of g.cloud) {
    if (m < 0 || a < box.x - 60 || a > box.x + box.w + 60) continue
    const d = Math.hypot(Math.max(box.x - a, 0, a - box.x - box.w), Math.max(box.y - b, 0, b - box.y - box.h))
    if (m === own) mine = Math.min(mine, d)
    else other = Math.min(other, d)
  }
  return [mine, other]
}

function astray(g, box, own) {
  const [mine, other] = apart(g, box, own)
  return (other < 1.6 * mine + 4 ? 9 : 0) + 4 * Math.max(0, 1 - other / (4 * g.px))
}

// a line's name leaves the room around a point to the point's own name
function nearPoints(g, box) {
  const near = p =>
    p[0] > box.x - 4 * g.px && p[0] < box.x + box.w + 4 * g.px && p[1] > box.y - 1.6 * g.px && p[1] < box.y + box.h + 2.6 * g.px
  return g.named?.some(near) ? 2.5 : 0
}

export function settle(g, words, candidates, weight, size = g.px, own = -1) {
  return settleBox(g, textWidth(words, size, weight), size * 1.15, candidates, size, own)
}

function settleBox(g, w, h, candidates, size, own) {
  let best = null,
    least = Infinity
  for (const [cx, cy, cost0] of candidates) {
    const x = clamp(cx - w / 2, g.left + 5, Math.max(g.left + 5, g.right - w)),
      y = clamp(cy - h / 2, g.top - g.px * 0.2, g.bottom - h - 3)
    let cost = cost0 + 0.15 * (Math.abs(x - (cx - w / 2)) + Math.abs(y - (cy - h / 2)))
    for (const [a, b] of g.cloud) if (a > x - 5 && a < x + w + 5 && b > y - 3 && b < y + h + 3) cost += 4
    for (const t of g.taken) {
      if (x < t.x + t.w + 6 && t.x < x + w + 6 && y < t.y + t.h + 3 && t.y < y + h + 3) cost += 120
      // words close under words read as one
      else if (x < t.x + t.w && t.x < x + w && y < t.y + t.h + 0.7 * size && t.y < y + h + 0.7 * size) cost += 3
    }
    if (own >= 0) cost += nearPoints(g, { x, y, w, h })
    if (own >= 0 && cost < least) cost += astray(g, { x, y, w, h }, own)
    if (cost < least) {
      least = cost
      best = { x, y, w, h }
    }
  }
  g.taken.push(best)
  return best
}

export function write(g, words, box, more = {}) {
  return text(g, g.layer.words, words, box.x, box.y + box.h * 0.8, more)
}

export function keepClear(view, g) {
  for (const [n, l] of view.P.lines.entries()) {
    const every = Math.max(1, Math.floor(l.x.length / 120))
    for (let i = 0; i < l.x.length; i += every) {
      g.cloud.push([g.X(l.x[i]), g.Y(l.y[i]), n])
      const j = Math.min(i + every, l.x.length - 1),
        length = Math.hypot(g.X(l.x[j]) - g.X(l.x[i]), g.Y(l.y[j]) - g.Y(l.y[i])),
        // a steep piece is as much in the way as a level one
        steps = view.P.dots ? 0 : clamp(Math.ceil(length / 6), 3, 40)
      for (let k = 1; k <= steps; k++)
        g.cloud.push([
          g.X(l.x[i] + ((l.x[j] - l.x[i]) * k) / (steps + 1)),
          g.Y(l.y[i] + ((l.y[j] - l.y[i]) * k) / (steps + 1)),
          n,
        ])
    }
  }
  g.named = (view.P.points ?? []).filter(p => p.label).map(p => [g.X(p.x), g.Y(p.y)])
  for (const p of view.P.points ?? [])
    for (const dx of [-8, 0, 8]) for (const dy of [-8, 0, 8]) g.cloud.push([g.X(p.x) + dx, g.Y(p.y) + dy, -1])
  // and the present one's drop to the axis
  for (const p of view.P.points ?? []) if (p.present) for (let y = g.Y(p.y); y < g.bottom; y += 6) g.cloud.push([g.X(p.x), y, -1])
}

// Each name beside its own line; where one would stand nearer to another's, all in a key, each with a piece of its line.
export function nameLines(view, g) {
  const named = view.P.lines.map((l, n) => [l, n]).filter(([l]) => l.label && l.x.length),
    before = g.taken.length
  // on a phone one line alone gives way to the names of its points: the title says what it is
  if (g.W < 420 && named.length === 1 && view.P.points?.some(p => p.label)) return
  const places = named.map(([l, n]) => settle(g, l.label, spotsOf(l, g), 600, g.px, n)),
    mistaken = named.some(([, n], i) => {
      const [mine, other] = apart(g, places[i], n)
      return other < 1.3 * mine + 2
    })
  if (mistaken && putKey(view, g, named, before)) return
  named.forEach(([l], i) => write(g, l.label, places[i], wordsOf(view, l)))
}

const wordsOf = (view, l) => ({ token: tokenOf(l.quantity ?? view.P.y.quantity, 't'), weight: 600 })

// In the emptiest place of the plot, on the right rather than on the left; false where none is free of lines.
function putKey(view, g, named, before) {
  return putColumns(view, g, named, before, 1) || (named.length > 3 && putColumns(view, g, named, before, 2))
}

function putColumns(view, g, named, before, columns) {
  const row = (columns > 1 ? 1.15 : 1.3) * g.px,
    piece = 2.2 * g.px,
    rows = Math.ceil(named.length / columns),
    wide = k =>
      piece + 0.5 * g.px + Math.max(...named.slice(k * rows, (k + 1) * rows).map(([l]) => textWidth(l.label, g.px, 600))),
    starts = [0, wide(0) + g.px].slice(0, columns),
    w = starts.at(-1) + wide(columns - 1),
    spots = []
  if (w > g.right - g.left - 6) return false
  for (let i = 0; i <= 8; i++)
    for (let k = 0; k <= 6; k++)
      spots.push([
        g.left + w / 2 + ((g.right - g.left - w) * i) / 8,
        g.top + (row * rows) / 2 + ((g.bottom - g.top - row * rows) * k) / 6,
        (8 - i) / 4,
      ])
  const names = g.taken.splice(before),
    box = settleBox(g, w, row * rows, spots, g.px, -1)
  if (g.cloud.some(([a, b]) => a > box.x - 4 && a < box.x + box.w + 4 && b > box.y - 2 && b < box.y + box.h + 2)) {
    g.taken.splice(before, 1, ...names)
    return false
  }
  named.forEach(([l, n], i) => {
    const y = box.y + row * ((i % rows) + 0.5),
      x = box.x + starts[Math.floor(i / rows)]
    make(g.layer.words, 'path', {
      d: `M${num(x)} ${num(y)}h${num(piece)}`,
      fill: 'none',
      'stroke-width': (n === 0 ? 3.6 : 2.6) * g.big,
      'stroke-dasharray': DASH[l.dash ?? ''] ?? '',
      style: `stroke:${color(tokenOf(l.quantity ?? view.P.y.quantity, 'f'))}`,
    })
    text(g, g.layer.words, l.label, x + piece + 0.5 * g.px, y + 0.35 * g.px, wordsOf(view, l))
  })
  return true
}

function spotsOf(l, g) {
  const spots = []
  for (let k = 0; k <= 20; k++) {
    // between corners as well: a line of few corners has most of its length there
    const f = (k / 20) * (l.x.length - 1),
      i = Math.floor(f),
      j = Math.min(i + 1, l.x.length - 1),
      r = f - i
    const cx = g.X(l.x[i]) * (1 - r) + g.X(l.x[j]) * r,
      cy = g.Y(l.y[i]) * (1 - r) + g.Y(l.y[j]) * r,
      w = textWidth(l.label, g.px, 600)
    const late = 3 - 3 * (k / 20)
    spots.push(
      [cx, cy - g.px * 1.05, late],
      [cx, cy + g.px * 1.05, late + 1],
      [cx, cy + g.px * 1.5, late + 2],
      [cx + w / 2 + g.px * 0.7, cy, late + 2],
      [cx - w / 2 - g.px * 0.7, cy, late + 2],
      [cx + w / 2 + g.px * 0.5, cy - g.px * 0.8, late + 1],
      [cx - w / 2 - g.px * 0.5, cy - g.px * 0.8, late + 1],
      [cx + w / 2 + g.px * 0.5, cy + g.px * 0.8, late + 1],
    )
  }
  return spots
}
