// The unrolled forearm as it is drawn: skin, names of its sides, pads, ends of nerves, a place that is asked for.

import { clamp, make, num } from './svg.js'
import { enlarged, said, textSize, textWidth } from './words.js'

const ARM = { length_mm: 248, elbow_mm: 38, wrist_mm: 24 }
const SIDES = ['back of the arm', 'little-finger side', 'palm side']

export function paint(draw, view) {
  const g = {}
  if (!view.alive) return
  layOut(draw, view, g)
  g.taken = []
  g.rims = []
  g.dots = []
  g.halo = `;stroke:var(--surface);stroke-width:${num(g.px * 0.34)};paint-order:stroke;stroke-linejoin:round`

  skin(view, g)
  make(view.svg, 'path', {
    d: `M${num(g.X(0))} ${num(g.mid)}H${num(g.X(g.arm.length_mm))}`,
    'stroke-width': 1.2,
    'stroke-dasharray': '5 4',
    style: 'stroke:var(--skin-line);stroke-opacity:.7',
  })
  // places where nerve branches end: openers filled, closers as rings of dashes
  g.nerves = (view.P.nerves ?? []).map(n => {
    const x = (n.along_percent / 100) * g.arm.length_mm
    return { ...n, cx: g.X(x), cy: g.Y(x, n.around_deg) }
  })
  names(view, g)
  pads(view, g)
  nerveDots(view, g)
  nerveNames(view, g)
  if (g.keyed)
    text(g, view.svg, g.key, g.tight ? clamp(g.W / 2, 0, g.W) : g.X(g.arm.length_mm), g.top - g.px * 0.35, {
      anchor: g.tight ? 'middle' : 'end',
      px: g.px * 0.92,
      halo: false,
    })

  if (!view.place) return
  markPlace(view, g)
}

function text(g, parent, words, x, y, more = {}) {
  const t = make(parent, 'text', {
    x: num(x),
    y: num(y),
    'font-size': num(more.px ?? g.px),
    'text-anchor': more.anchor ?? 'start',
    style: `fill:var(--${more.token ?? 'ink2'});font-weight:${more.weight ?? 450}${more.halo === false ? '' : g.halo}`,
  })
  t.textContent = words
  return t
}

function layOut(draw, view, g) {
  g.arm = { ...ARM, ...view.P.arm }
  g.W = (draw.clientWidth || 320) / enlarged()
  const H = (draw.clientHeight || 300) / enlarged()
  g.px = view.o.small ? 12 : textSize()
  g.big = g.px > 17 ? 1.25 : 1
  g.radius = x => g.arm.elbow_mm + (g.arm.wrist_mm - g.arm.elbow_mm) * clamp((x / g.arm.length_mm - 0.2) / 0.8, 0, 1)
  g.tall = 2 * Math.PI * g.arm.elbow_mm
  g.scale = Math.min((g.W - 8) / g.arm.length_mm, (H - 2.7 * g.px - 8) / g.tall)
  // Names of the sides stand beside the arm where there is room: pads would hide them.
  const beside = Math.max(...SIDES.map(words => textWidth(words, g.px * 0.92, 600))) + 10
  const spare = g.W - g.scale * g.arm.length_mm
  g.beside = spare >= beside + 8
  const left = (spare - (g.beside ? beside : 0)) / 2
  g.mid = 4 + (g.scale * g.tall) / 2 + g.px * 1.2
  const turn = deg => ((((deg + 90) % 360) + 360) % 360) / 360 - 0.5
  g.X = mm => left + g.scale * mm
  g.Y = (x, deg) => g.mid + g.scale * turn(deg) * 2 * Math.PI * g.radius(x)
  view.g = { X: g.X, Y: g.Y, arm: g.arm, radius: g.radius, scale: g.scale, left, mid: g.mid }
  view.svg.setAttribute('viewBox', `0 0 ${g.W} ${H}`)
  view.svg.setAttribute('width', g.W)
  view.svg.setAttribute('height', H)
  view.svg.setAttribute('aria-label', said(view.P))
  view.svg.replaceChildren()
}

function skin(view, g) {
  const xs = [0, 0.2 * g.arm.length_mm, g.arm.length_mm]
  const edge = s => xs.map(x => `${num(g.X(x))} ${num(g.mid + s * g.scale * Math.PI * g.radius(x))}`)
  make(view.svg, 'path', {
    d: `M${edge(-1).join('L')}L${edge(1).reverse().join('L')}Z`,
    'stroke-width': 1.6 * g.big,
    style: 'fill:var(--skin);stroke:var(--skin-line)',
  })
  let lines = ''
  for (let x = 50; x < g.arm.length_mm; x += 50)
    lines += `M${num(g.X(x))} ${num(g.mid - g.scale * Math.PI * g.radius(x))}V${num(g.mid + g.scale * Math.PI * g.radius(x))}`
  make(view.svg, 'path', { d: lines, 'stroke-width': 1, style: 'stroke:var(--skin-line);stroke-opacity:.35' })
}

function names(view, g) {
  g.top = g.mid - (g.scale * g.tall) / 2
  const low = g.mid + (g.scale * g.tall) / 2
  g.key = 'filled: opens; dashed: closes'
  g.keyed = (view.P.nerves ?? []).some(n => n.closer)
  g.tight = g.keyed && textWidth(`thumb side ${g.key}`, g.px * 0.92, 450) + 10 > g.scale * g.arm.length_mm
  if (!g.tight) text(g, view.svg, 'thumb side', g.X(0) + 2, g.top - g.px * 0.35, { px: g.px * 0.92, halo: false })
  text(g, view.svg, 'thumb side', g.X(0) + 2, low + g.px * 1.02, { px: g.px * 0.92, halo: false })
  text(g, view.svg, 'to the wrist', g.X(g.arm.length_mm), low + g.px * 1.02, { anchor: 'end', px: g.px * 0.92, halo: false })
  if (g.keyed) g.taken.push({ x: g.X(0), y: g.top - g.px * 1.5, w: g.scale * g.arm.length_mm, h: g.px * 1.4 })
  const onSkin = (words, x, y, anchor) => {
    const w = textWidth(words, g.px * 0.92, 600)
    g.taken.push({ x: anchor === 'end' ? x - w : x, y: y - g.px, w, h: g.px * 1.2 })
    text(g, view.svg, words, x, y, { anchor, px: g.px * 0.92, token: 'ink', weight: 600 })
  }
  const apart = g.scale * Math.PI * g.arm.wrist_mm * 0.5,
    end = g.X(g.arm.length_mm)
  // inside the arm they stand at the end where no pad lies
  const wristward = (view.P.pads ?? []).some(pad => pad.along_percent > 50)
  const [at, anchor] = g.beside ? [end + 8, 'start'] : wristward ? [g.X(0) + 6, 'start'] : [end - 6, 'end']
  for (const [i, words] of SIDES.entries()) {
    const y = g.mid + (i - 1) * apart + g.px * 0.3
    // compared pads may lie at both ends: a name is not written under them
    const spot = g.beside
      ? [at, anchor]
      : free(
          view,
          g,
          words,
          y,
          [0, 0.9 * g.px].flatMap(lower => [
            [at, anchor, lower],
            [g.X(0) + 6, 'start', lower],
            [end - 6, 'end', lower],
          ]),
        )
    if (spot) onSkin(words, spot[0], y + (spot[2] ?? 0), spot[1])
  }
}

function free(view, g, words, y, spots) {
  const w = textWidth(words, g.px * 0.92, 600)
  const boxes = (view.P.pads ?? []).flatMap(pad => {
    const middle = (pad.along_percent / 100) * g.arm.length_mm,
      apart = ((pad.spacing_mm ?? 40) + pad.side_mm) / 2
    return [-1, 1].map(side => [g.X(middle + side * apart), g.Y(middle, pad.around_deg), (g.scale * pad.side_mm) / 2])
  })
  const covered = ([at, anchor, lower], [cx, cy, half]) => {
    const x = anchor === 'end' ? at - w : at
    return x < cx + half && x + w > cx - half && y + lower - g.px < cy + half && y + lower > cy - half
  }
  // an end of a nerve is kept clear where that can be
  const bare = spots.filter(spot => !boxes.some(box => covered(spot, box))),
    ends = g.nerves.map(n => [n.cx, n.cy, 9 * g.big])
  return bare.find(spot => !ends.some(end => covered(spot, end))) ?? bare[0]
}

// pads, the first pair whole, a second one as an outline of dashes
function pads(view, g) {
  for (const [n, pad] of (view.P.pads ?? []).entries()) {
    const apart = ((pad.spacing_mm ?? 40) + pad.side_mm) / 2,
      half = pad.side_mm / 2,
      middle = (pad.along_percent / 100) * g.arm.length_mm
    for (const [side, name] of [
      [-1, 'near'],
      [1, 'far'],
    ]) {
      const x = middle + side * apart,
        y = g.Y(middle, pad.around_deg)
      make(view.svg, 'rect', {
        x: num(g.X(x - half)),
        y: num(y - g.scale * half),
        width: num(2 * g.scale * half),
        height: num(2 * g.scale * half),
        rx: num(pad.round ? g.scale * half : 4),
        'stroke-width': 2.4 * g.big,
        'stroke-dasharray': n ? '6 4' : '',
        style: `fill:var(--surface);fill-opacity:${n ? 0 : 0.86};stroke:var(--ink)`,
      })
      g.rims.push({ x: g.X(x - half), y: y - g.scale * half, side: 2 * g.scale * half })
      // where the pads are drawn small, their words shrink to what tells them apart
      const long = `${name} pad`,
        room = g.scale * (2 * half + (pad.spacing_mm ?? 40)) - 6
      const words = pad.label || (textWidth(long, g.px * 0.92, 700) > room ? name : long)
      if (pad.label && side > 0 !== n > 0) continue
      const w = textWidth(words, g.px * 0.92, 700),
        wx = clamp(g.X(x) - w / 2, 2, g.W - w - 2)
      // pairs that are compared have their names above and below both; where an end of a nerve lies, on the other side
      const most = g.scale * Math.max(...view.P.pads.map(one => one.side_mm / 2)),
        above = y - most - g.px * 0.4,
        below = y + most + g.px * 1.05,
        clear = at =>
          !g.nerves.some(e => e.cx > wx - 9 * g.big && e.cx < wx + w + 9 * g.big && Math.abs(e.cy - at + g.px * 0.4) < 1.2 * g.px)
      // one pair alone has its names inside, at the upper or at the lower edge
      const inside = [y - g.scale * half + g.px * 1.05, y + g.scale * half - g.px * 0.4],
        spots = !pad.label ? [...inside, above, below] : n ? [below, above] : [above, below]
      const wy = spots.find(clear) ?? spots[pad.label ? 1 : 0]
      g.taken.push({ x: wx, y: wy - g.px, w, h: g.px * 1.2 })
      text(g, view.svg, words, wx, wy, { token: 'current-t', weight: 700, px: g.px * 0.92 })
    }
  }
}

function nerveDots(view, g) {
  for (const n of g.nerves) g.dots.push([n.cx, n.cy])
  if (view.place?.locked && view.place.value) {
    const x = (view.place.value.x / 100) * g.arm.length_mm,
      cx = g.X(x),
      cy = g.Y(x, view.place.value.y ?? 0)
    for (const dx of [-14, 0, 14]) for (const dy of [-14, 0, 14]) g.dots.push([cx + dx * g.big, cy + dy * g.big])
  }
  g.r = 7 * g.big
  for (const n of g.nerves) {
    make(view.svg, 'circle', {
      cx: num(n.cx),
      cy: num(n.cy),
      r: g.r,
      'stroke-width': 4.5,
      style: 'fill:var(--surface);stroke:var(--surface)',
    })
    make(view.svg, 'circle', {
      cx: num(n.cx),
      cy: num(n.cy),
      r: g.r,
      'stroke-width': 2.6 * g.big,
      'stroke-dasharray': n.closer ? '4 3' : '',
      style: `fill:var(--${n.closer ? 'surface' : 'force-f'});stroke:var(--force-f)`,
    })
  }
}

// how many sides of a pad a name would lie across
function crossed({ x, y, side }, name) {
  const over = (at, from, to) => at > from && at < to,
    beside = name.x < x + side && name.x + name.w > x,
    level = name.y < y + side && name.y + name.h > y
  return (
    [x, x + side].filter(at => level && over(at, name.x, name.x + name.w)).length +
    [y, y + side].filter(at => beside && over(at, name.y, name.y + name.h)).length
  )
}

function nerveNames(view, g) {
  for (const n of g.nerves) {
    const words =
      n.threshold_ma === null || n.threshold_ma === undefined
        ? (n.label ?? n.muscle)
        : `${n.label ?? n.muscle} ${Math.round(n.threshold_ma)} mA`
    const w = textWidth(words, g.px, 700),
      h = g.px * 1.15,
      spots = []
    for (const [dx, dy, c] of [
      [w / 2 + g.r + 5, 0, 0],
      [-w / 2 - g.r - 5, 0, 0.5],
      [0, -g.r - g.px * 0.7, 1],
      [0, g.r + g.px * 0.75, 1],
      [w / 2 + g.r, -g.px * 0.9, 1.5],
      [w / 2 + g.r, g.px * 0.9, 1.5],
      [-w / 2 - g.r, -g.px * 0.9, 2],
      [-w / 2 - g.r, g.px * 0.9, 2],
      [0, -g.r - g.px * 1.8, 4],
      [0, g.r + g.px * 1.9, 4],
      [0, g.r + g.px * 2.6, 4.5],
    ])
      spots.push([n.cx + dx, n.cy + dy, c])
    // an end of a nerve under a pad has its name beside the pad as well
    for (const { x, y, side } of g.rims)
      if (n.cx > x - g.r && n.cx < x + side + g.r && n.cy > y - g.r && n.cy < y + side + g.r)
        spots.push(
          [n.cx, y + side + h * 0.6, 2],
          [x + side + w / 2 + 4, n.cy, 2.5],
          [x + side / 2, y + side + h * 0.6, 2],
          [n.cx, y - h * 0.6, 2.5],
          [x + side / 2, y - h * 0.6, 3],
        )
    let best = null,
      least = Infinity
    for (const [cx, cy, c0] of spots) {
      const x = clamp(cx - w / 2, 2, g.W - w - 2),
        y = cy - h / 2
      let cost = c0 + 0.2 * Math.abs(x - cx + w / 2)
      for (const [a, b] of g.dots) if (a > x - g.r && a < x + w + g.r && b > y - g.r + 2 && b < y + h + g.r - 2) cost += 8
      for (const t of g.taken) if (x < t.x + t.w + 4 && t.x < x + w + 4 && y < t.y + t.h && t.y < y + h) cost += 20
      for (const rim of g.rims) cost += 5 * crossed(rim, { x, y, w, h })
      // across the end of the arm its line would run through the words
      if (x < g.X(0) && x + w > g.X(0)) cost += 3
      if (cost < least) {
        least = cost
        best = { x, y, w, h }
      }
    }
    g.taken.push(best)
    text(g, view.svg, words, best.x, best.y + h * 0.8, { token: 'force-t', weight: 700 })
  }
}

function markPlace(view, g) {
  const spot = at => {
    const x = (at.x / 100) * g.arm.length_mm
    return [g.X(x), g.Y(x, at.y ?? 0)]
  }
  if (view.place.right) {
    const { x, y, within_x, within_y } = view.place.right,
      [cx, cy] = spot({ x, y: y ?? 0 })
    const rx = (g.scale * g.arm.length_mm * within_x) / 100,
      ry = within_y ? (g.scale * 2 * Math.PI * g.radius((x / 100) * g.arm.length_mm) * within_y) / 360 : g.scale * 60
    make(view.svg, 'ellipse', {
      cx: num(cx),
      cy: num(cy),
      rx: num(rx),
      ry: num(ry),
      'stroke-width': 2.6 * g.big,
      'stroke-dasharray': '5 4',
      style: 'fill:var(--surface);fill-opacity:.25;stroke:var(--ink)',
    })
    text(g, view.svg, 'right within', clamp(cx, 50, g.W - 50), cy + ry + g.px * 1.05, {
      anchor: 'middle',
      token: 'ink',
      weight: 700,
    })
  }
  for (const v of view.place.others ?? []) {
    const [cx, cy] = spot(v)
    make(view.svg, 'circle', { cx: num(cx), cy: num(cy), r: 4 * g.big, style: 'fill:var(--ink);fill-opacity:.55' })
  }
  if (!view.place.value) return
  const [cx, cy] = spot(view.place.value)
  make(view.svg, 'circle', {
    cx: num(cx),
    cy: num(cy),
    r: 13 * g.big,
    'stroke-width': 7,
    style: 'fill:none;stroke:var(--surface)',
  })
  make(view.svg, 'circle', {
    cx: num(cx),
    cy: num(cy),
    r: 13 * g.big,
    'stroke-width': 3.6 * g.big,
    style: 'fill:none;stroke:var(--ink)',
  })
  const [short, gap] = [8 * g.big, 24 * g.big]
  const across = `M${num(cx - 20 * g.big)} ${num(cy)}h${short}m${gap} 0h${short}`
  const cross = `${across}M${num(cx)} ${num(cy - 20 * g.big)}v${short}m0 ${gap}v${short}`
  make(view.svg, 'path', { d: cross, 'stroke-width': 3 * g.big, style: 'stroke:var(--ink)' })
  if (view.place.locked) text(g, view.svg, 'yours', cx + 22 * g.big, cy - 12 * g.big, { token: 'ink', weight: 700 })
}
