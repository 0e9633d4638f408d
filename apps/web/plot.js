// Lines against two axes: names with units at the ends, words on the lines, one present point, a cover over what is not yet
// shown.

import { color } from './hand/colour.js'
import { clamp, make, num } from './svg.js'
import { digitsFor, number } from './numbers.js'
import { said, textSize, textWidth, unitText } from './words.js'

const DASH = { '': '', dash: '10 6', dot: '2 6', dashdot: '11 5 2 5' }
const drawn = new Map() // guesses by key; they live as long as the page, or are kept by it
let keepLines = null
export const lines = {
  // Takes up lines of before, and tells of every new one.
  keep(before, save) {
    drawn.clear()
    for (const [k, v] of Object.entries(before ?? {})) drawn.set(k, v)
    keepLines = save
  },
}
const told = () => keepLines?.(Object.fromEntries(drawn))
const COVER = 'covered until the vote is over'
const GRID = 60

function niceTicks(low, high, most) {
  const span = high - low || 1,
    raw = span / Math.max(1, most),
    p = 10 ** Math.floor(Math.log10(raw))
  const step = [1, 2, 5, 10].map(k => k * p).find(s => s >= raw * 0.999),
    out = []
  for (let v = Math.ceil(low / step - 1e-9) * step; v <= high + step * 1e-6; v += step) out.push(Math.round(v / step) * step)
  return { step, values: out }
}

function extent(P) {
  const xs = [],
    ys = []
  for (const l of P.lines) {
    xs.push(...l.x)
    ys.push(...l.y)
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

const tokenOf = (quantity, end) =>
  ['current', 'force', 'angle', 'opening', 'caution'].includes(quantity)
    ? `${quantity}-${end}`
    : quantity === 'ink'
      ? 'ink'
      : 'ink2'

// Words in two lines where one is too long.
function wrapped(text, px, weight, room) {
  const lines = ['']
  for (const word of text.split(' ')) {
    const next = lines[lines.length - 1] ? `${lines[lines.length - 1]} ${word}` : word
    if (textWidth(next, px, weight) > room && lines[lines.length - 1]) lines.push(word)
    else lines[lines.length - 1] = next
  }
  return lines
}

export function linesPicture(draw, P, o = {}) {
  const svg = make(draw, 'svg', { class: 'gwt-svg', role: 'img' })
  const keys = document.createElement('div')
  keys.className = 'gwt-keys'
  draw.after(keys)
  let geometry = null,
    alive = true,
    place = o.place ?? null,
    drag = null

  // on the wall nobody can draw; a line belongs to its axes, for a step may show other ones as well
  const key = () => {
    const name = o.large || o.small ? null : o.guess === undefined ? (P.guess ?? null) : o.guess
    return name === null ? null : `${name}|${P.x.name}|${P.y.name}`
  }
  const guessOf = () => (key() ? (drawn.get(key()) ?? null) : null)

  const paint = () => {
    if (!alive) return
    const W = draw.clientWidth || 320,
      H = draw.clientHeight || 220,
      px = o.small ? 12 : textSize()
    const big = px > 17 ? 1.25 : 1
    svg.setAttribute('viewBox', `0 0 ${W} ${H}`)
    svg.setAttribute('width', W)
    svg.setAttribute('height', H)
    svg.setAttribute('aria-label', said(P))
    svg.replaceChildren()
    const {
      x: [x0, x1],
      y: [y0, y1],
    } = extent(P)
    const halo = `;stroke:${color('surface')};stroke-width:${num(px * 0.3)};paint-order:stroke;stroke-linejoin:round`
    const text = (parent, words, x, y, more = {}) => {
      const t = make(parent, 'text', {
        x: num(x),
        y: num(y),
        'font-size': num(more.px ?? px),
        'text-anchor': more.anchor ?? 'start',
        style: `fill:${color(more.token ?? 'ink2')};font-weight:${more.weight ?? 450}${more.halo === false ? '' : halo}`,
      })
      t.textContent = words
      return t
    }

    // axes
    const yTicks = niceTicks(y0, y1, clamp(Math.floor(H / (px * 3.2)), 2, 6)),
      yDigits = digitsFor(yTicks.step)
    const tickText = (v, d) => v.toFixed(d).replace('-', '\u2212')
    const left = Math.max(...yTicks.values.map(v => textWidth(tickText(v, yDigits), px * 0.9, 450))) + 14
    const yName = wrapped(unitText(P.y), px, 700, W - 12),
      top = yName.length * px * 1.2 + px * 0.75
    const bottom = H - px * 2.75,
      right = W - Math.max(px * 0.7, textWidth(tickText(x1, 0), px * 0.9, 450) / 2 + 3)
    const X = v => left + ((v - x0) / (x1 - x0)) * (right - left),
      Y = v => bottom - ((v - y0) / (y1 - y0)) * (bottom - top)
    geometry = { X, Y, x0, x1, y0, y1, left, right, top, bottom, W, H }
    const xWide = textWidth(tickText(x1, 0), px * 0.9, 450) + px * 1.6
    const xTicks = niceTicks(x0, x1, clamp(Math.floor((right - left) / xWide), 2, 6)),
      xDigits = digitsFor(xTicks.step)
    for (const v of yTicks.values) {
      make(svg, 'path', { d: `M${num(left)} ${num(Y(v))}H${num(right)}`, 'stroke-width': 1, style: `stroke:${color('hair')}` })
      text(svg, tickText(v, yDigits), left - 8, Y(v) + px * 0.32, { anchor: 'end', px: px * 0.9, halo: false })
    }
    const base = y0 < 0 && y1 > 0 ? Y(0) : bottom
    make(svg, 'path', {
      d: `M${num(left)} ${num(top)}V${num(bottom)}M${num(left)} ${num(base)}H${num(right)}`,
      fill: 'none',
      'stroke-width': 1.2 * big,
      style: `stroke:${color('edge')}`,
    })
    for (const v of xTicks.values) {
      make(svg, 'path', { d: `M${num(X(v))} ${num(bottom)}v5`, 'stroke-width': 1.2 * big, style: `stroke:${color('edge')}` })
      text(svg, tickText(v, xDigits), X(v), bottom + 7 + px * 0.85, { anchor: 'middle', px: px * 0.9, halo: false })
    }
    yName.forEach((line, i) =>
      text(svg, line, 2, px * (1 + 1.2 * i), { token: tokenOf(P.y.quantity, 't'), weight: 700, halo: false }),
    )
    text(svg, unitText(P.x), W - 2, H - px * 0.35, { anchor: 'end', token: tokenOf(P.x.quantity, 't'), weight: 700, halo: false })

    // what words must keep clear of
    const taken = [],
      cloud = []
    for (const [n, l] of P.lines.entries()) {
      const every = Math.max(1, Math.floor(l.x.length / 120))
      for (let i = 0; i < l.x.length; i += every) {
        cloud.push([X(l.x[i]), Y(l.y[i]), n])
        const j = Math.min(i + every, l.x.length - 1),
          steps = P.dots ? 0 : 3
        for (let k = 1; k <= steps; k++)
          cloud.push([X(l.x[i] + ((l.x[j] - l.x[i]) * k) / (steps + 1)), Y(l.y[i] + ((l.y[j] - l.y[i]) * k) / (steps + 1)), n])
      }
    }
    for (const p of P.points ?? [])
      for (const dx of [-8, 0, 8]) for (const dy of [-8, 0, 8]) cloud.push([X(p.x) + dx, Y(p.y) + dy, -1])
    // a word that stands nearer to another line than to its own would name the wrong one
    const astray = (box, own) => {
      let mine = Infinity,
        other = Infinity
      for (const [a, b, m] of cloud) {
        if (m < 0 || a < box.x - 60 || a > box.x + box.w + 60) continue
        const d = Math.hypot(Math.max(box.x - a, 0, a - box.x - box.w), Math.max(box.y - b, 0, b - box.y - box.h))
        if (m === own) mine = Math.min(mine, d)
        else other = Math.min(other, d)
      }
      return (other < 1.6 * mine + 4 ? 9 : 0) + 4 * Math.max(0, 1 - other / (4 * px))
    }
    const settle = (words, candidates, weight, size = px, own = -1) => {
      const w = textWidth(words, size, weight),
        h = size * 1.15
      let best = null,
        least = Infinity
      for (const [cx, cy, cost0] of candidates) {
        const x = clamp(cx - w / 2, left + 5, Math.max(left + 5, right - w)),
          y = clamp(cy - h / 2, top - px * 0.2, bottom - h - 3)
        let cost = cost0 + 0.15 * (Math.abs(x - (cx - w / 2)) + Math.abs(y - (cy - h / 2)))
        for (const [a, b] of cloud) if (a > x - 5 && a < x + w + 5 && b > y - 3 && b < y + h + 3) cost += 4
        for (const t of taken) if (x < t.x + t.w + 6 && t.x < x + w + 6 && y < t.y + t.h + 3 && t.y < y + h + 3) cost += 120
        if (own >= 0 && cost < least) cost += astray({ x, y, w, h }, own)
        if (cost < least) {
          least = cost
          best = { x, y, w, h }
        }
      }
      taken.push(best)
      return best
    }
    const write = (words, box, more = {}) => text(layer.words, words, box.x, box.y + box.h * 0.8, more)
    const layer = {}
    for (const k of ['levels', 'lines', 'cover', 'mine', 'points', 'words', 'tags']) layer[k] = make(svg, 'g')

    const covered = P.covered ? (P.cover_from ?? (P.lines.length ? Math.max(...P.lines.flatMap(l => l.x)) : x0)) : null
    if (covered !== null)
      for (let i = 0; i <= 12; i++)
        for (let k = 0; k <= 12; k++) cloud.push([X(covered + ((x1 - covered) * i) / 12), top + ((bottom - top) * k) / 12, -2])

    const drawable = P.covered && key() !== null
    const present = (P.points ?? []).find(p => p.present)
    const tags = present ? tagBoxes(present) : []
    taken.push(...tags)

    let coverWords = null
    if (covered !== null && covered < x1) {
      const cx0 = Math.max(left + 1, X(covered) + (present ? 11 * big : 2)),
        w = right - cx0
      make(layer.cover, 'rect', {
        x: num(cx0),
        y: num(top),
        width: num(Math.max(0, w + 1)),
        height: num(Math.max(0, bottom - top)),
        rx: 6,
        style: `fill:${color('sel')}`,
      })
      if (!(drawable && guessOf())) {
        const lines = wrapped(drawable ? `${COVER}: draw your own line here` : COVER, px, 600, w - px)
        coverWords = { lines, x: cx0 + w / 2, y: (top + bottom) / 2 - ((lines.length - 1) * px * 1.25) / 2 }
        taken.push({ x: cx0, y: coverWords.y - px, w, h: lines.length * px * 1.25 + px * 0.6 })
      }
    }

    // levels, such as the width of an object
    for (const l of P.levels ?? []) {
      make(layer.levels, 'path', {
        d: `M${num(left)} ${num(Y(l.y))}H${num(right)}`,
        'stroke-width': 1.6 * big,
        'stroke-dasharray': '2 5',
        'stroke-linecap': 'round',
        style: `stroke:${color('ink2')}`,
      })
      const w = textWidth(l.label, px * 0.93, 450),
        mid = f => left + w / 2 + 6 + f * (right - left - w - 8)
      write(
        l.label,
        settle(
          l.label,
          [1, 0, 0.5, 0.25, 0.75].flatMap((f, i) => [
            [mid(f), Y(l.y) - px * 0.75, i],
            [mid(f), Y(l.y) + px * 0.8, i + 2],
          ]),
          450,
          px * 0.93,
        ),
        { px: px * 0.93 },
      )
    }

    // lines, the first on top
    P.lines
      .map((l, n) => [l, n])
      .reverse()
      .forEach(([l, n]) => {
        const q = l.quantity ?? P.y.quantity,
          wide = (n === 0 ? 3.6 : 2.6) * big
        let d = ''
        l.x.forEach((v, i) => {
          d += `${i ? 'L' : 'M'}${num(X(v))} ${num(Y(l.y[i]))}`
        })
        const style = `stroke:${color(tokenOf(q, 'f'))}`
        if (d)
          make(layer.lines, 'path', {
            d,
            fill: 'none',
            'stroke-width': P.dots ? 1.6 * big : wide,
            'stroke-dasharray': DASH[l.dash ?? ''] ?? '',
            'stroke-linejoin': 'round',
            'stroke-linecap': l.dash ? 'butt' : 'round',
            style,
          })
        // a hollow dot for every second line, so that dots differ without colour
        if (P.dots)
          l.x.forEach((v, i) =>
            make(layer.lines, 'circle', {
              cx: num(X(v)),
              cy: num(Y(l.y[i])),
              r: 5.5 * big,
              'stroke-width': 2.4 * big,
              style: `${style};fill:${color(n % 2 ? 'surface' : tokenOf(q, 'f'))}`,
            }),
          )
      })
    P.lines.forEach((l, n) => {
      // on a phone one line alone gives way to the names of its points: the title says what it is
      if (!l.label || !l.x.length || (W < 420 && P.lines.length === 1 && P.points?.some(p => p.label))) return
      const spots = []
      for (let k = 0; k <= 20; k++) {
        // between corners as well: a line of few corners has most of its length there
        const f = (k / 20) * (l.x.length - 1),
          i = Math.floor(f),
          j = Math.min(i + 1, l.x.length - 1),
          r = f - i
        const cx = X(l.x[i]) * (1 - r) + X(l.x[j]) * r,
          cy = Y(l.y[i]) * (1 - r) + Y(l.y[j]) * r,
          w = textWidth(l.label, px, 600)
        const late = 3 - 3 * (k / 20)
        spots.push(
          [cx, cy - px * 1.05, late],
          [cx, cy + px * 1.05, late + 1],
          [cx + w / 2 + px * 0.7, cy, late + 2],
          [cx - w / 2 - px * 0.7, cy, late + 2],
          [cx + w / 2 + px * 0.5, cy - px * 0.8, late + 1],
          [cx - w / 2 - px * 0.5, cy - px * 0.8, late + 1],
          [cx + w / 2 + px * 0.5, cy + px * 0.8, late + 1],
        )
      }
      write(l.label, settle(l.label, spots, 600, px, n), { token: tokenOf(l.quantity ?? P.y.quantity, 't'), weight: 600 })
    })

    coverWords?.lines.forEach((line, i) =>
      text(layer.words, line, coverWords.x, coverWords.y + i * px * 1.25 + px * 0.3, {
        anchor: 'middle',
        token: 'ink',
        weight: 600,
        halo: false,
      }),
    )

    // the learner's own line
    const mine = guessOf()
    if (mine) {
      let d = '',
        last = null
      mine.forEach((v, i) => {
        if (v !== null) {
          d += `${last === i - 1 ? 'L' : 'M'}${num(X(x0 + ((x1 - x0) * i) / GRID))} ${num(Y(v))}`
          last = i
        }
      })
      for (const [w, token] of [
        [6, 'surface'],
        [2.6, 'ink'],
      ])
        make(layer.mine, 'path', {
          d,
          fill: 'none',
          'stroke-width': w * big,
          'stroke-dasharray': token === 'ink' ? '7 5' : '',
          'stroke-linejoin': 'round',
          style: `stroke:${color(token)}`,
        })
      const seen = mine.map((v, i) => [v, i]).filter(([v]) => v !== null)
      if (seen.length) {
        const spots = seen
          .filter((_, k) => k % 4 === 0 || k === seen.length - 1)
          .flatMap(([v, i]) => {
            const cx = X(x0 + ((x1 - x0) * i) / GRID),
              cy = Y(v)
            return [
              [cx, cy - px, 2 - (2 * i) / GRID],
              [cx, cy + px, 2.5 - (2 * i) / GRID],
            ]
          })
        for (const [v, i] of seen) cloud.push([X(x0 + ((x1 - x0) * i) / GRID), Y(v), -1])
        for (const p of cloud) if (p[2] === -2) p[0] = -1e6
        write('your line', settle('your line', spots, 600), { token: 'ink', weight: 600 })
      }
    }

    // points; the present one with a drop and a tag on both axes
    for (const p of P.points ?? []) {
      const q = p.quantity ?? P.y.quantity,
        cx = num(X(p.x)),
        cy = num(Y(p.y))
      if (p.present) {
        make(layer.lines, 'path', {
          d: `M${cx} ${num(bottom)}V${cy}`,
          'stroke-width': 1.6 * big,
          style: `stroke:${color(tokenOf(P.x.quantity, 'f'))}`,
        })
        make(layer.lines, 'path', {
          d: `M${num(left)} ${cy}H${cx}`,
          'stroke-width': 1.2 * big,
          style: `stroke:${color(tokenOf(q, 'f'))};stroke-opacity:.7`,
        })
      }
      make(layer.points, 'circle', {
        cx,
        cy,
        r: (p.present ? 9 : 7) * big,
        'stroke-width': 3.2 * big,
        style: `fill:${color('surface')};stroke:${color(p.present ? 'ink' : tokenOf(q, 't'))}`,
      })
      make(layer.points, 'circle', { cx, cy, r: 3.6 * big, style: `fill:${color(tokenOf(q, 'f'))}` })
      if (p.label) {
        const w = textWidth(p.label, px, 700)
        write(
          p.label,
          settle(
            p.label,
            [
              [X(p.x), Y(p.y) - px * 1.5, 0],
              [X(p.x) + w / 2 + px, Y(p.y), 1],
              [X(p.x) - w / 2 - px, Y(p.y), 1],
              [X(p.x), Y(p.y) + px * 1.6, 1],
              [X(p.x) + w / 2 + px * 0.6, Y(p.y) - px * 1.2, 1],
              [X(p.x) - w / 2 - px * 0.6, Y(p.y) - px * 1.2, 1],
              [X(p.x) + w / 2 + px * 0.6, Y(p.y) + px * 1.3, 1.5],
              [X(p.x), Y(p.y) - px * 2.9, 3],
              [X(p.x) + w / 2 + px * 0.6, Y(p.y) - px * 2.5, 3],
              [X(p.x) - w / 2 - px * 0.6, Y(p.y) - px * 2.5, 3],
            ],
            700,
          ),
          { token: tokenOf(q, 't'), weight: 700 },
        )
      }
    }
    for (const t of tags) {
      make(layer.tags, 'rect', {
        x: num(t.x),
        y: num(t.y),
        width: num(t.w),
        height: num(t.h),
        rx: 4,
        style: `fill:${color(tokenOf(t.quantity, 't'))}`,
      })
      text(layer.tags, t.words, t.x + t.w / 2, t.y + t.h * 0.73, { anchor: 'middle', token: 'bg', weight: 700, halo: false })
    }
    if (place) drawPlace(layer, { px, big, text })

    function tagBoxes(p) {
      const q = p.quantity ?? P.y.quantity,
        digits = (v, unit) => (v % 1 && (Math.abs(v) < 10 || unit === 'mA') ? 1 : 0)
      const xw = `${tickText(p.x, digits(p.x, P.x.unit))} ${P.x.unit}`,
        yw = `${tickText(p.y, digits(p.y, P.y.unit))} ${P.y.unit}`
      const w = t => textWidth(t, px, 700) + px * 0.7,
        h = px * 1.4
      return [
        { words: xw, quantity: P.x.quantity, w: w(xw), h, x: clamp(X(p.x) - w(xw) / 2, left, right - w(xw)), y: bottom - h - 1 },
        { words: yw, quantity: q, w: w(yw), h, x: left + 1, y: clamp(Y(p.y) - h / 2, top, bottom - 2.1 * h) },
      ]
    }
  }

  // A place that is asked for: an upright line for x alone, a ring for x and y.
  function drawPlace(layer, { px, big, text }) {
    const { X, Y, top, bottom, left, right } = geometry,
      two = P.place === 'xy'
    const r = place.right
    if (r) {
      const a = clamp(X(r.x - r.within_x), left, right),
        b = clamp(X(r.x + r.within_x), left, right)
      const t = two && r.within_y ? clamp(Y(r.y + r.within_y), top, bottom) : top,
        low = two && r.within_y ? clamp(Y(r.y - r.within_y), top, bottom) : bottom
      make(layer.cover, 'rect', {
        x: num(a),
        y: num(t),
        width: num(b - a),
        height: num(low - t),
        rx: 4,
        'stroke-width': 2.4 * big,
        'stroke-dasharray': '5 4',
        style: `fill:${color('sel')};fill-opacity:.4;stroke:${color('ink')}`,
      })
      text(layer.words, 'right within', (a + b) / 2, Math.max(top + px, t - 4), { anchor: 'middle', token: 'ink', weight: 600 })
    }
    for (const v of place.others ?? [])
      make(layer.points, 'circle', {
        cx: num(X(v.x)),
        cy: num(two ? Y(v.y) : bottom - 8),
        r: 4 * big,
        style: `fill:${color('ink')};fill-opacity:.45`,
      })
    const v = place.value
    if (!v) return
    if (!two)
      make(layer.points, 'path', {
        d: `M${num(X(v.x))} ${num(top)}V${num(bottom)}`,
        'stroke-width': 3 * big,
        style: `stroke:${color('ink')}`,
      })
    const cy = two ? Y(v.y) : top + 0.3 * (bottom - top)
    make(layer.points, 'circle', {
      cx: num(X(v.x)),
      cy: num(cy),
      r: 10 * big,
      'stroke-width': 3.4 * big,
      style: `fill:${color('surface')};stroke:${color('ink')}`,
    })
    const roomy = X(v.x) + 16 * big + px * 3 < right
    if (place.locked)
      text(layer.words, 'yours', X(v.x) + (roomy ? 16 : -16) * big, cy + px * 0.35, {
        anchor: roomy ? 'start' : 'end',
        token: 'ink',
        weight: 700,
      })
  }

  // ---- a person's hand on the picture
  const active = () => (place && !place.locked ? 'place' : key() !== null && P.covered ? 'guess' : null)
  const point = e => {
    const box = svg.getBoundingClientRect(),
      g = geometry
    return {
      x: clamp(g.x0 + ((e.clientX - box.left - g.left) / (g.right - g.left)) * (g.x1 - g.x0), g.x0, g.x1),
      y: clamp(g.y0 + ((g.bottom - (e.clientY - box.top)) / (g.bottom - g.top)) * (g.y1 - g.y0), g.y0, g.y1),
    }
  }
  const rounded = v => Number(v.toPrecision(4))
  const setPlace = at => {
    place = { ...place, value: { x: rounded(at.x), y: P.place === 'xy' ? rounded(at.y) : null } }
    paint()
    fields()
    place.onchange?.(place.value)
  }
  const setGuess = (from, to) => {
    const line = guessOf() ?? Array(GRID + 1).fill(null),
      g = geometry
    const bin = x => Math.round(((x - g.x0) / (g.x1 - g.x0)) * GRID)
    const a = bin(from.x),
      b = bin(to.x)
    for (let i = Math.min(a, b); i <= Math.max(a, b); i++)
      line[i] = a === b ? to.y : from.y + ((to.y - from.y) * (i - a)) / (b - a)
    drawn.set(key(), line)
    paint()
    o.onguess?.(line)
  }
  svg.addEventListener('pointerdown', e => {
    const what = active()
    if (!what || e.button) return
    svg.setPointerCapture(e.pointerId)
    drag = { what, last: point(e) }
    if (what === 'place') setPlace(drag.last)
    else setGuess(drag.last, drag.last)
    e.preventDefault()
  })
  svg.addEventListener('pointermove', e => {
    if (!drag) return
    const now = point(e)
    if (drag.what === 'place') setPlace(now)
    else setGuess(drag.last, now)
    drag.last = now
  })
  for (const end of ['pointerup', 'pointercancel'])
    svg.addEventListener(end, () => {
      if (drag) {
        drag = null
        build()
        told()
      }
    })

  // ---- the same by keys: plain ranges under the picture
  const range = (label, axis, [low, high], value, onset) => {
    const row = document.createElement('label'),
      input = document.createElement('input'),
      out = document.createElement('output')
    out.setAttribute('aria-live', 'off')
    const step = 10 ** Math.floor(Math.log10((high - low) / 40))
    Object.assign(input, { type: 'range', min: low, max: high, step, value })
    const words = () => {
      out.textContent = `${number(Number(input.value), digitsFor(step))}${axis.unit ? ` ${axis.unit}` : ''}`
      input.setAttribute('aria-valuetext', out.textContent)
    }
    words()
    input.addEventListener('input', () => {
      words()
      onset(Number(input.value))
    })
    const name = document.createElement('span')
    name.textContent = label
    row.append(name, input, out)
    row.set = v => {
      input.value = v
      words()
    }
    return row
  }
  let rows = []
  function fields() {
    if (!place?.value || !rows.length) return
    rows[0].set(place.value.x)
    rows[1]?.set(place.value.y)
  }
  function build() {
    const what = active()
    svg.style.touchAction = what ? 'none' : ''
    svg.style.cursor = what ? 'crosshair' : ''
    if (drag) return
    keys.replaceChildren()
    rows = []
    if (!what || !geometry) return
    const { x0, x1, y0, y1 } = geometry,
      mid = { x: (x0 + x1) / 2, y: (y0 + y1) / 2 }
    if (what === 'place') {
      const at = () => place.value ?? mid
      rows = [range(P.x.name, P.x, [x0, x1], at().x, x => setPlace({ ...mid, ...at(), x }))]
      if (P.place === 'xy') rows.push(range(P.y.name, P.y, [y0, y1], at().y, y => setPlace({ ...mid, ...at(), y })))
      keys.append(...rows)
      return
    }
    const fold = document.createElement('details'),
      head = document.createElement('summary'),
      wipe = document.createElement('button')
    head.textContent = 'Draw by keys'
    Object.assign(wipe, { type: 'button', textContent: 'Wipe my line', disabled: !guessOf() })
    wipe.addEventListener('click', () => {
      drawn.delete(key())
      paint()
      build()
      told()
      o.onguess?.(null)
    })
    let at = { ...mid }
    const first = range(`At ${P.x.name.toLowerCase()}`, P.x, [x0, x1], x0, x => {
      const old = at
      at = { x, y: old.y }
      if (guessOf()) setGuess(old, at)
      wipe.disabled = !guessOf()
    })
    const second = range(P.y.name, P.y, [y0, y1], mid.y, y => {
      at = { x: at.x, y }
      setGuess(at, at)
      told()
      wipe.disabled = false
    })
    at.x = x0
    fold.append(head, first, second)
    keys.append(wipe, fold)
  }

  const sizer = new ResizeObserver(paint)
  sizer.observe(draw)
  paint()
  build()
  return {
    svg,
    paint,
    update(next, options = {}) {
      P = next
      if ('place' in options) place = options.place
      paint()
      build()
    },
    destroy() {
      alive = false
      sizer.disconnect()
      svg.remove()
      keys.remove()
    },
  }
}
