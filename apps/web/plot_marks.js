// What a picture of lines shows inside its axes, one layer a function.

import { clamp, color, make, num } from './svg.js'
import { textWidth } from './words.js'
import { GRID, guessOf } from './guesses.js'
import { settle, write } from './plot_words.js'
import { DASH, text, tickText, tokenOf, wrapped } from './plot_axes.js'

const COVER = 'covered until the vote is over'

export function tagBoxes(view, g, p) {
  const q = p.quantity ?? view.P.y.quantity,
    // an opening is told in whole millimetres, here as beside its hand
    digits = (v, unit) => (v % 1 && unit !== 'mm' && (Math.abs(v) < 10 || unit === 'mA') ? 1 : 0)
  const xw = `${tickText(p.x, digits(p.x, view.P.x.unit))} ${view.P.x.unit}`,
    yw = `${tickText(p.y, digits(p.y, view.P.y.unit))} ${view.P.y.unit}`
  const w = t => textWidth(t, g.px, 700) + g.px * 0.7,
    h = g.px * 1.4
  const across = {
    words: xw,
    quantity: view.P.x.quantity,
    w: w(xw),
    h,
    x: clamp(g.X(p.x) - w(xw) / 2, g.left, g.right - w(xw)),
    y: g.bottom - h - 1,
  }
  // where a tag would hide the point or a line it stands outside its axis, in the place of the numbers there
  if (covers(g, across) || g.Y(p.y) + 10 * g.big > across.y)
    Object.assign(across, { y: Math.max(g.bottom + 2, g.Y(p.y) + 11 * g.big), outside: true })
  const lowest = g.bottom - (across.outside ? h : 2.1 * h),
    up = { words: yw, quantity: q, w: w(yw), h, x: g.left + 1, y: clamp(g.Y(p.y) - h / 2, g.top, lowest) }
  if (covers(g, up)) Object.assign(up, { x: g.left - up.w - 2, outside: true })
  return [across, up]
}

const covers = (g, t) => g.cloud.some(([a, b, m]) => m >= 0 && a > t.x && a < t.x + t.w && b > t.y && b < t.y + t.h)

export function putCover(view, g) {
  g.coverWords = null
  if (g.covered !== null && g.covered < g.x1) {
    const cx0 = Math.max(g.left + 1, g.X(g.covered) + (g.present ? 11 * g.big : 2)),
      w = g.right - cx0
    make(g.layer.cover, 'rect', {
      x: num(cx0),
      y: num(g.top),
      width: num(Math.max(0, w + 1)),
      height: num(Math.max(0, g.bottom - g.top)),
      rx: 6,
      style: `fill:${color('sel')}`,
    })
    if (!(g.drawable && guessOf(view))) {
      const lines = wrapped(g.drawable ? `${COVER}: draw your own line here` : COVER, g.px, 600, w - g.px)
      g.coverWords = { lines, x: cx0 + w / 2, y: (g.top + g.bottom) / 2 - ((lines.length - 1) * g.px * 1.25) / 2 }
      g.taken.push({ x: cx0, y: g.coverWords.y - g.px, w, h: lines.length * g.px * 1.25 + g.px * 0.6 })
    }
  }
}

// levels, such as the width of an object
export function putLevels(view, g) {
  for (const l of view.P.levels ?? []) {
    make(g.layer.levels, 'path', {
      d: `M${num(g.left)} ${num(g.Y(l.y))}H${num(g.right)}`,
      'stroke-width': 1.6 * g.big,
      'stroke-dasharray': '2 5',
      'stroke-linecap': 'round',
      style: `stroke:${color('ink2')}`,
    })
    const w = textWidth(l.label, g.px * 0.93, 450),
      mid = f => g.left + w / 2 + 6 + f * (g.right - g.left - w - 8)
    write(
      g,
      l.label,
      settle(
        g,
        l.label,
        [1, 0, 0.5, 0.25, 0.75].flatMap((f, i) => [
          [mid(f), g.Y(l.y) - g.px * 0.75, i],
          [mid(f), g.Y(l.y) + g.px * 0.8, i + 2],
        ]),
        450,
        g.px * 0.93,
      ),
      { px: g.px * 0.93 },
    )
  }
}

// where other arms lie, behind the lines; the first on top
export function putBands(view, g) {
  for (const l of [...view.P.lines].reverse()) {
    if (!l.band) continue
    const corner = (v, i, edge) => `${num(g.X(v))} ${num(g.Y(edge[i]))}`,
      there = l.band.x.map((v, i) => corner(v, i, l.band.high)),
      back = l.band.x.map((v, i) => corner(v, i, l.band.low)).reverse()
    make(g.layer.bands, 'path', {
      d: `M${[...there, ...back].join('L')}Z`,
      style: `fill:${color(tokenOf(l.quantity ?? view.P.y.quantity, 'f'))};fill-opacity:.16`,
    })
  }
}

// lines, the first on top
export function putLines(view, g) {
  view.P.lines
    .map((l, n) => [l, n])
    .reverse()
    .forEach(([l, n]) => {
      const q = l.quantity ?? view.P.y.quantity,
        wide = (n === 0 ? 3.6 : 2.6) * g.big
      let d = ''
      l.x.forEach((v, i) => {
        d += `${i ? 'L' : 'M'}${num(g.X(v))} ${num(g.Y(l.y[i]))}`
      })
      const style = `stroke:${color(tokenOf(q, 'f'))}`
      if (d)
        make(g.layer.lines, 'path', {
          d,
          fill: 'none',
          'stroke-width': view.P.dots ? 1.6 * g.big : wide,
          'stroke-dasharray': DASH[l.dash ?? ''] ?? '',
          'stroke-linejoin': 'round',
          'stroke-linecap': l.dash ? 'butt' : 'round',
          style,
        })
      // a hollow dot for every second line, so that dots differ without colour
      if (view.P.dots)
        l.x.forEach((v, i) =>
          make(g.layer.lines, 'circle', {
            cx: num(g.X(v)),
            cy: num(g.Y(l.y[i])),
            // small enough to leave the band of other arms to be seen
            r: (l.band ? 3 : 5.5) * g.big,
            'stroke-width': (l.band ? 1.6 : 2.4) * g.big,
            style: `${style};fill:${color(n % 2 ? 'surface' : tokenOf(q, 'f'))}`,
          }),
        )
    })
}

// the learner's own line
export function ownLine(view, g) {
  const mine = guessOf(view)
  if (mine) {
    let d = '',
      last = null
    mine.forEach((v, i) => {
      if (v !== null) {
        d += `${last === i - 1 ? 'L' : 'M'}${num(g.X(g.x0 + ((g.x1 - g.x0) * i) / GRID))} ${num(g.Y(v))}`
        last = i
      }
    })
    for (const [w, token] of [
      [6, 'surface'],
      [2.6, 'ink'],
    ])
      make(g.layer.mine, 'path', {
        d,
        fill: 'none',
        'stroke-width': w * g.big,
        'stroke-dasharray': token === 'ink' ? '7 5' : '',
        'stroke-linejoin': 'round',
        style: `stroke:${color(token)}`,
      })
    const seen = mine.map((v, i) => [v, i]).filter(([v]) => v !== null)
    if (seen.length) {
      const spots = seen
        .filter((_, k) => k % 4 === 0 || k === seen.length - 1)
        .flatMap(([v, i]) => {
          const cx = g.X(g.x0 + ((g.x1 - g.x0) * i) / GRID),
            cy = g.Y(v)
          return [
            [cx, cy - g.px, 2 - (2 * i) / GRID],
            [cx, cy + g.px, 2.5 - (2 * i) / GRID],
          ]
        })
      for (const [v, i] of seen) g.cloud.push([g.X(g.x0 + ((g.x1 - g.x0) * i) / GRID), g.Y(v), -1])
      for (const p of g.cloud) if (p[2] === -2) p[0] = -1e6
      write(g, 'your line', settle(g, 'your line', spots, 600), { token: 'ink', weight: 600 })
    }
  }
}

// points; the present one with a drop and a tag on both axes
export function putPoints(view, g) {
  for (const p of view.P.points ?? []) {
    const q = p.quantity ?? view.P.y.quantity,
      cx = num(g.X(p.x)),
      cy = num(g.Y(p.y))
    if (p.present) {
      make(g.layer.lines, 'path', {
        d: `M${cx} ${num(g.bottom)}V${cy}`,
        'stroke-width': 1.6 * g.big,
        style: `stroke:${color(tokenOf(view.P.x.quantity, 'f'))}`,
      })
      make(g.layer.lines, 'path', {
        d: `M${num(g.left)} ${cy}H${cx}`,
        'stroke-width': 1.2 * g.big,
        style: `stroke:${color(tokenOf(q, 'f'))};stroke-opacity:.7`,
      })
    }
    make(g.layer.points, 'circle', {
      cx,
      cy,
      r: (p.present ? 9 : 7) * g.big,
      'stroke-width': 3.2 * g.big,
      style: `fill:${color('surface')};stroke:${color(p.present ? 'ink' : tokenOf(q, 't'))}`,
    })
    make(g.layer.points, 'circle', { cx, cy, r: 3.6 * g.big, style: `fill:${color(tokenOf(q, 'f'))}` })
    if (p.label) {
      const w = textWidth(p.label, g.px, 700)
      write(
        g,
        p.label,
        settle(
          g,
          p.label,
          [
            [g.X(p.x), g.Y(p.y) - g.px * 1.5, 0],
            [g.X(p.x) + w / 2 + g.px, g.Y(p.y), 1],
            [g.X(p.x) - w / 2 - g.px, g.Y(p.y), 1],
            [g.X(p.x), g.Y(p.y) + g.px * 1.6, 1],
            [g.X(p.x) + w / 2 + g.px * 0.6, g.Y(p.y) - g.px * 1.2, 1],
            [g.X(p.x) - w / 2 - g.px * 0.6, g.Y(p.y) - g.px * 1.2, 1],
            [g.X(p.x) + w / 2 + g.px * 0.6, g.Y(p.y) + g.px * 1.3, 1.5],
            [g.X(p.x) - w / 2 - g.px, g.Y(p.y) + g.px * 0.8, 1.5],
            [g.X(p.x), g.Y(p.y) - g.px * 2.9, 3],
            [g.X(p.x) + w / 2 + g.px * 0.6, g.Y(p.y) - g.px * 2.5, 3],
            [g.X(p.x) - w / 2 - g.px * 0.6, g.Y(p.y) - g.px * 2.5, 3],
          ],
          700,
        ),
        { token: tokenOf(q, 't'), weight: 700 },
      )
    }
  }
}

export function putTags(g) {
  for (const t of g.tags) {
    make(g.layer.tags, 'rect', {
      x: num(t.x),
      y: num(t.y),
      width: num(t.w),
      height: num(t.h),
      rx: 4,
      style: `fill:${color(tokenOf(t.quantity, 't'))}`,
    })
    text(g, g.layer.tags, t.words, t.x + t.w / 2, t.y + t.h * 0.73, { anchor: 'middle', token: 'bg', weight: 700, halo: false })
  }
}

export function drawPlace(view, g) {
  const { X, Y, top, bottom, left, right, layer, px, big } = g,
    two = view.P.place === 'xy'
  const r = view.place.right
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
    text(g, layer.words, 'right within', (a + b) / 2, Math.max(top + px, t - 4), { anchor: 'middle', token: 'ink', weight: 600 })
  }
  for (const v of view.place.others ?? [])
    make(layer.points, 'circle', {
      cx: num(X(v.x)),
      cy: num(two ? Y(v.y) : bottom - 8),
      r: 4 * big,
      style: `fill:${color('ink')};fill-opacity:.45`,
    })
  const v = view.place.value
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
  if (view.place.locked)
    text(g, layer.words, 'yours', X(v.x) + (roomy ? 16 : -16) * big, cy + px * 0.35, {
      anchor: roomy ? 'start' : 'end',
      token: 'ink',
      weight: 700,
    })
}
