// The frame of a picture of lines: its scales, axes and their names.

import { clamp, color, make, num } from './svg.js'
import { digitsFor } from './numbers.js'
import { enlarged, said, textSize, textWidth, unitText } from './words.js'

export const DASH = { '': '', dash: '10 6', dot: '2 6', dashdot: '11 5 2 5' }

export const tickText = (v, d) => v.toFixed(d).replace('-', '\u2212')

function niceTicks(low, high, most) {
  const span = high - low || 1,
    raw = span / Math.max(1, most),
    p = 10 ** Math.floor(Math.log10(raw))
  const step = [1, 2, 5, 10].map(k => k * p).find(s => s >= raw * 0.999),
    out = []
  for (let v = Math.ceil(low / step - 1e-9) * step; v <= high + step * 1e-6; v += step) out.push(Math.round(v / step) * step)
  return { step, values: out }
}

export function extent(P) {
  const xs = [],
    ys = []
  for (const l of P.lines) {
    xs.push(...l.x)
    ys.push(...l.y, ...(l.band ? [...l.band.low, ...l.band.high] : []))
  }
  for (const p of P.points ?? []) {
    xs.push(p.x)
    ys.push(p.y)
  }
  for (const l of P.levels ?? []) ys.push(l.y)
  const of = (axis, values) => {
    let low = axis.low ?? Math.min(0, ...values),
      high = axis.high ?? Math.max(...values)
    if (!Number.isFinite(high) || !Number.isFinite(low)) {
      low = 0
      high = 1
    }
    if (high <= low) high = low + 1
    if (axis.high === undefined) high = low + (high - low) * 1.06
    return [low, high]
  }
  return { x: of({ ...P.x, high: P.x.high ?? (xs.length ? Math.max(...xs) : undefined) }, xs), y: of(P.y, ys) }
}

export const tokenOf = (quantity, end) =>
  ['current', 'force', 'angle', 'opening', 'caution'].includes(quantity)
    ? `${quantity}-${end}`
    : quantity === 'ink'
      ? 'ink'
      : 'ink2'

// Words in two lines where one is too long.
export function wrapped(text, px, weight, room) {
  const lines = ['']
  for (const word of text.split(' ')) {
    const next = lines[lines.length - 1] ? `${lines[lines.length - 1]} ${word}` : word
    if (textWidth(next, px, weight) > room && lines[lines.length - 1]) lines.push(word)
    else lines[lines.length - 1] = next
  }
  return lines
}

export function text(g, parent, words, x, y, more = {}) {
  const t = make(parent, 'text', {
    x: num(x),
    y: num(y),
    'font-size': num(more.px ?? g.px),
    'text-anchor': more.anchor ?? 'start',
    style: `fill:${color(more.token ?? 'ink2')};font-weight:${more.weight ?? 450}${more.halo === false ? '' : g.halo}`,
  })
  t.textContent = words
  return t
}

export function layOut(draw, view, g) {
  g.W = (draw.clientWidth || 320) / enlarged()
  g.H = (draw.clientHeight || 220) / enlarged()
  g.px = view.o.small ? 12 : textSize()
  g.big = g.px > 17 ? 1.25 : 1
  view.svg.setAttribute('viewBox', `0 0 ${g.W} ${g.H}`)
  view.svg.setAttribute('width', g.W)
  view.svg.setAttribute('height', g.H)
  view.svg.setAttribute('aria-label', said(view.P))
  view.svg.replaceChildren()
}

// axes
export function scales(view, g) {
  g.yTicks = niceTicks(g.y0, g.y1, clamp(Math.floor(g.H / (g.px * 3.2)), 2, 6))
  g.yDigits = digitsFor(g.yTicks.step)
  g.left = Math.max(g.margin ?? 0, Math.max(...g.yTicks.values.map(v => textWidth(tickText(v, g.yDigits), g.px * 0.9, 450))) + 14)
  g.yName = wrapped(unitText(view.P.y), g.px, 700, g.W - 12)
  g.top = g.yName.length * g.px * 1.2 + g.px * 0.75
  g.bottom = g.H - g.px * 2.75
  g.right = g.W - Math.max(g.px * 0.7, textWidth(tickText(g.x1, 0), g.px * 0.9, 450) / 2 + 3)
  g.X = v => g.left + ((v - g.x0) / (g.x1 - g.x0)) * (g.right - g.left)
  g.Y = v => g.bottom - ((v - g.y0) / (g.y1 - g.y0)) * (g.bottom - g.top)
  view.geometry = {
    X: g.X,
    Y: g.Y,
    x0: g.x0,
    x1: g.x1,
    y0: g.y0,
    y1: g.y1,
    left: g.left,
    right: g.right,
    top: g.top,
    bottom: g.bottom,
    W: g.W,
    H: g.H,
  }
  const xWide = textWidth(tickText(g.x1, 0), g.px * 0.9, 450) + g.px * 1.6
  g.xTicks = niceTicks(g.x0, g.x1, clamp(Math.floor((g.right - g.left) / xWide), 2, 6))
  g.xDigits = digitsFor(g.xTicks.step)
}

// Whether a number of an axis, so far to both sides, would lie under a tag that stands outside.
function underTag(g, which, at, half) {
  const tag = g.tags?.[which],
    [start, length] = which ? [tag?.y, tag?.h] : [tag?.x, tag?.w]
  return Boolean(tag?.outside) && at + half > start - 2 && at - half < start + length + 2
}

export function axes(view, g) {
  for (const v of g.yTicks.values) {
    make(view.svg, 'path', {
      d: `M${num(g.left)} ${num(g.Y(v))}H${num(g.right)}`,
      'stroke-width': 1,
      style: `stroke:${color('hair')}`,
    })
    if (!underTag(g, 1, g.Y(v), g.px * 0.4))
      text(g, view.svg, tickText(v, g.yDigits), g.left - 8, g.Y(v) + g.px * 0.32, { anchor: 'end', px: g.px * 0.9, halo: false })
  }
  const base = g.y0 < 0 && g.y1 > 0 ? g.Y(0) : g.bottom
  make(view.svg, 'path', {
    d: `M${num(g.left)} ${num(g.top)}V${num(g.bottom)}M${num(g.left)} ${num(base)}H${num(g.right)}`,
    fill: 'none',
    'stroke-width': 1.2 * g.big,
    style: `stroke:${color('edge')}`,
  })
  for (const v of g.xTicks.values) {
    make(view.svg, 'path', {
      d: `M${num(g.X(v))} ${num(g.bottom)}v5`,
      'stroke-width': 1.2 * g.big,
      style: `stroke:${color('edge')}`,
    })
    if (underTag(g, 0, g.X(v), textWidth(tickText(v, g.xDigits), g.px * 0.9, 450) / 2)) continue
    text(g, view.svg, tickText(v, g.xDigits), g.X(v), g.bottom + 7 + g.px * 0.85, {
      anchor: 'middle',
      px: g.px * 0.9,
      halo: false,
    })
  }
  g.yName.forEach((line, i) =>
    text(g, view.svg, line, 2, g.px * (1 + 1.2 * i), { token: tokenOf(view.P.y.quantity, 't'), weight: 700, halo: false }),
  )
  text(g, view.svg, unitText(view.P.x), g.W - 2, g.H - g.px * 0.35, {
    anchor: 'end',
    token: tokenOf(view.P.x.quantity, 't'),
    weight: 700,
    halo: false,
  })
}
