// What is measured on the hand and named beside it: the opening, the angle of each joint.

import { clamp, lineText, num, put, xy } from '../svg.js'
import { DORSAL_JOINT, PALMAR_JOINT, padGap } from './shape.js'
import { beside } from './bones.js'

export const ANGLED = ['wrist', 'MCP', 'PIP', 'DIP']
const ARC_MM = [34, 36, 26, 20]

// Where the page shows the hand from afar, its numbers are as large as the plot's; on the wall a share of its height.
const largest = () => {
  if (document.querySelector('.wall')) return 0.042 * innerHeight
  return document.documentElement.hasAttribute('data-show')
    ? 1.5 * parseFloat(getComputedStyle(document.documentElement).fontSize)
    : 0
}

function wordBox(cx, cy, w, h) {
  return { x0: cx - w / 2, x1: cx + w / 2, y0: cy - h / 2, y1: cy + h / 2 }
}

// How many of these boxes a box lies on, or within 2 mm of.
const overlaps = (b, boxes) => boxes.filter(o => b.x0 < o.x1 + 2 && b.x1 > o.x0 - 2 && b.y0 < o.y1 + 2 && b.y1 > o.y0 - 2).length

export function drawOpening(n, shape, state, view, width, mirror, moving) {
  const o = state.opening
  for (const p of [n.line, n.lineHalo, n.text]) put(p, { visibility: o ? 'visible' : 'hidden' })
  if (!o) return
  const [a, b] = (o.points ?? padGap(shape).points).map(p => [p[0], view.flip * p[1]])
  const dx = b[0] - a[0],
    dy = b[1] - a[1],
    size = Math.hypot(dx, dy)
  const nx = size > 0.5 ? -dy / size : 1,
    ny = size > 0.5 ? dx / size : 0,
    meets = o.mm < 3
  const tick = p => `M${xy([p[0] - 6 * nx, p[1] - 6 * ny])}L${xy([p[0] + 6 * nx, p[1] + 6 * ny])}`
  // The line itself turns with the arm; its words stay upright.
  const d = `M${xy(a)}L${xy(b)}` + (size < 3 ? tick([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]) : tick(a) + tick(b))
  for (const p of [n.line, n.lineHalo]) put(p, { d, transform: `scale(1 ${view.flip})` })
  const words = meets ? ['thumb meets', 'fingers'] : [`${Math.round(o.mm)} mm`, '']
  const px = Math.max(clamp(width * 0.034, width < 520 ? 19 : 22, 34), largest()) * (meets ? 0.86 : 1),
    scale = width / view.w,
    font = px / scale
  const w = Math.max(...words.map(t => t.length)) * font * 0.65,
    h = font * (meets ? 2.15 : 1.05)
  const mid = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2],
    away = font * 0.55
  // Beside the line where nothing of the hand is; while the hand moves the words change sides only for good reason.
  const reach = (Math.abs(ny) * h) / 2 + (Math.abs(nx) * w) / 2 + away
  const places = [
    [mid[0] + w / 2 + away + 3, mid[1]],
    [mid[0] + Math.abs(nx) * reach, mid[1] + Math.sign(nx || 1) * ny * reach],
    [mid[0] + w * 0.35, Math.min(a[1], b[1]) - h * 0.5 - 9],
    [mid[0] + w * 0.3, Math.max(a[1], b[1]) + h * 0.5 + 9],
    [shape.box.x1 + w / 2 + 5, mid[1]],
    [mid[0] + w * 0.1, shape.box.y0 - h / 2 - 3],
  ]
  const skin = n.skinPoints,
    rim = 4 + 0.3 * font
  let best = 0,
    least = Infinity
  const spots = places.map(([cx, cy], i) => {
    const x = clamp(cx, view.x0 + w / 2 + 8, view.x0 + view.open - w / 2 - 8)
    const y = clamp(cy, view.y1 - view.h + h / 2 + rim, view.y1 - h / 2 - rim),
      r = wordBox(x, y, w, h)
    let cost = 0.07 * Math.hypot(x - mid[0], y - mid[1]) + (i === n.wordPlace ? (moving ? -5 : -0.5) : 0)
    if (r.y0 < view.tableY + 2 && !view.narrow) cost += 3
    for (const p of skin) if (p[0] > r.x0 - 4 && p[0] < r.x1 + 4 && p[1] > r.y0 - 3 && p[1] < r.y1 + 3) cost += 1
    cost += 20 * overlaps(r, view.covered)
    // The words must not lie on their own line.
    for (const f of [0, 0.25, 0.5, 0.75, 1]) {
      const q = [a[0] + dx * f, a[1] + dy * f]
      if (q[0] > r.x0 - 2 && q[0] < r.x1 + 2 && q[1] > r.y0 - 1 && q[1] < r.y1 + 1) cost += 4
    }
    if (cost < least) {
      least = cost
      best = i
    }
    return [x, y]
  })
  n.wordPlace = best
  n.wordSize = [w, h]
  let [x, y] = spots[best]
  // In a movement the words glide to a new side instead of leaping there.
  if (moving && n.wordAt) {
    x = n.wordAt[0] + 0.25 * (x - n.wordAt[0])
    y = n.wordAt[1] + 0.25 * (y - n.wordAt[1])
  }
  n.wordAt = [x, y]
  put(n.text, { 'font-size': num(font), 'stroke-width': num(font * 0.28) })
  n.words.forEach((t, i) => {
    if (t.textContent !== words[i]) t.textContent = words[i]
    put(t, { x: num(mirror * x), y: num(-y + font * 0.35 + (meets ? (i - 0.5) * font * 1.08 : 0)) })
  })
}

// Angle of each joint of the middle finger, whose numbers the chain has: an arc from where a straight joint would point to where the next bone points, and its degrees.
export function drawAngles(n, shape, state, view, width, mirror, look, moving) {
  const g = {}
  put(n.arcs, { visibility: look.angles ? 'visible' : 'hidden' })
  for (const t of n.degrees) put(t, { visibility: look.angles ? 'visible' : 'hidden' })
  if (!look.angles) return
  const flip = view.flip,
    mid = shape.middle,
    near = flip > 0 ? mid : { joints: mid.joints.map(p => [p[0], -p[1]]), dirs: mid.dirs.map(d => -d) }
  const scale = width / view.w
  g.font = clamp(width * 0.03, 17, 27) / scale
  g.h = g.font * 1.02
  g.taken = [...view.covered, ...(state.opening && n.wordAt ? [wordBox(...n.wordAt, ...n.wordSize)] : [])]
  g.drawn = []
  g.arcs = []
  g.straight = []
  const ends = (state.opening?.points ?? []).map(p => [p[0], flip * p[1]])
  n.arcs.setAttribute('transform', `scale(1 ${flip})`)
  g.lines = [0, 0.2, 0.4, 0.6, 0.8, 1]
    .map(f => ends.length && [0, 1].map(k => ends[0][k] + f * (ends[1][k] - ends[0][k])))
    .filter(Boolean)
  arcsOf(n, near, g)
  g.places = n.anglePlaces ?? (n.anglePlaces = [])
  g.at = n.angleAt ?? (n.angleAt = [])
  g.leaders = []

  for (const k of [3, 2, 1, 0]) degreesOf(n, state, view, mirror, moving, near, flip, g, k)
  put(n.leader, { d: g.leaders.join('') })
}

function degreesOf(n, state, view, mirror, moving, near, flip, g, k) {
  const i = k + 1,
    j = near.joints[i],
    text = `${Math.abs(Math.round(state.angle[ANGLED[k]]))}°`,
    w = g.font * (0.62 * text.length + 0.1)
  // To the back of the joint first, where the skin is bare; then to the palm; each straight out, and turned both ways.
  const back = (near.dirs[i - 1] + near.dirs[i]) / 2 + (flip * Math.PI) / 2
  let best = 0,
    least = Infinity,
    spot = j,
    index = 0
  for (const side of [0, Math.PI])
    for (const turn of [0, 0.5, -0.5, 1, -1])
      for (const far of [3, 9, 17, 27]) {
        const a = back + side + turn,
          c = Math.cos(a),
          q = Math.sin(a),
          skin = (side ? PALMAR_JOINT : DORSAL_JOINT)[i]
        const out = skin + far + (Math.abs(c) * w) / 2 + (Math.abs(q) * g.h) / 2
        const x = clamp(j[0] + c * out, view.x0 + w / 2 + 4, view.x0 + view.open - w / 2 - 4)
        const y = clamp(j[1] + q * out, view.y1 - view.h + g.h / 2 + 3, view.y1 - g.h / 2 - 3),
          b = wordBox(x, y, w, g.h)
        let cost =
          0.16 * (Math.hypot(x - j[0], y - j[1]) - skin) +
          (side ? 3 : 0) +
          Math.abs(turn) -
          (index === g.places[k] ? (moving ? 6 : 0.5) : 0)
        for (const p of n.skinPoints) if (p[0] > b.x0 - 1 && p[0] < b.x1 + 1 && p[1] > b.y0 - 1 && p[1] < b.y1 + 1) cost += 1.2
        for (const p of [...g.drawn, ...g.lines])
          if (p[0] > b.x0 - 2 && p[0] < b.x1 + 2 && p[1] > b.y0 - 2 && p[1] < b.y1 + 2) cost += 2
        cost += 60 * overlaps(b, g.taken)
        if (cost < least) {
          least = cost
          best = index
          spot = [x, y]
        }
        index += 1
      }
  g.places[k] = best
  let [x, y] = spot
  if (moving && g.at[k]) {
    x = g.at[k][0] + 0.25 * (x - g.at[k][0])
    y = g.at[k][1] + 0.25 * (y - g.at[k][1])
  }
  g.at[k] = [x, y]
  g.taken.push(wordBox(x, y, w, g.h))
  // A number that had to move away from its joint is tied to it.
  const dx = j[0] - x,
    dy = j[1] - y,
    away = Math.hypot(dx, dy),
    edge = 1.1 * Math.min(w / 2 / Math.abs(dx || 1e-9), g.h / 2 / Math.abs(dy || 1e-9))
  if (away * (1 - edge) > DORSAL_JOINT[i] + 7)
    g.leaders.push(
      lineText([
        [x + edge * dx, y + edge * dy],
        [x + 0.97 * dx, y + 0.97 * dy],
      ]),
    )
  const t = n.degrees[k]
  if (t.textContent !== text) t.textContent = text
  put(t, { x: num(mirror * x), y: num(-y + g.font * 0.35), 'font-size': num(g.font), 'stroke-width': num(g.font * 0.28) })
}

function arcsOf(n, near, g) {
  ANGLED.forEach((_, k) => {
    const i = k + 1,
      j = near.joints[i],
      from = near.dirs[i - 1],
      turn = near.dirs[i] - from,
      r = ARC_MM[k],
      line = []
    for (let s = 0; s <= 12; s++)
      line.push([j[0] + r * Math.cos(from + (turn * s) / 12), j[1] + r * Math.sin(from + (turn * s) / 12)])
    g.drawn.push(...line)
    g.arcs.push(lineText(line))
    g.straight.push(lineText([j, [j[0] + (r + 5) * Math.cos(from), j[1] + (r + 5) * Math.sin(from)]]))
  })
  put(n.arcLine, { d: g.arcs.join('') })
  put(n.arcHalo, { d: [...g.arcs, ...g.straight].join('') })
  put(n.arcStraight, { d: g.straight.join('') })
}

export function skinCloud(shape) {
  const out = [...shape.backSkin, ...shape.palmSkin, ...shape.thumb.back, ...shape.thumb.front]
  for (let i = 1; i < 5; i++) for (const f of [0.25, 0.5, 0.75, 1]) out.push(beside(shape.near, i, f * shape.near.lengths[i], 0))
  for (let i = 0; i < 3; i++)
    for (const f of [0.25, 0.6, 1]) out.push(beside(shape.thumb.chain, i, f * shape.thumb.chain.lengths[i], 0))
  for (const { curve } of shape.far) for (let i = 6; i < curve.length; i += 6) out.push([curve[i], curve[i + 1]])
  return out
}
