// Draws the hand scene as SVG from its state. Colours come from the look: SKIN (base, shade and outline of a tone) and GLOW (of the
// tones that need a lighter one).

import { FOREARM_MM, GLOW, SKIN } from '../given.js'
import { clamp, color, lineText, mixHex, num, pathText, put, slackLine, spline, xy } from '../svg.js'
import { drawBench, drawObject, drawRest, drawSplint, drawTable, drawUpper } from './around.js'
import { drawAngles, drawOpening, skinCloud } from './measures.js'
import { FINGERS, RAD, beside } from './bones.js'
import { TENDONS, bellyPoints, fingerShape, forearmWidth, handShape } from './shape.js'
import { coveredBy, drawFrame, frame, handBox, tipsSize } from './frame.js'

const GREY = '#A6A09A'

const GROUPS = { openers: ['EDC'], closers: ['FDP', 'FDS'], slips: ['central', 'terminal'] }

// ---- drawing --------------------------------------------------------------------------------------------------------

export function paintSkin(n, tone, dark) {
  const [base, shade, line] = SKIN[dark ? 'dark' : 'light'][tone] ?? SKIN.light.clay
  const deep = tone in GLOW
  n.deep = deep
  n.dark = dark
  for (const p of [n.bodyFill, n.thumbFill, n.upper.fill]) put(p, { fill: base })
  for (const p of [n.upper.line, n.upper.inner]) put(p, { stroke: line })
  for (const p of [...n.bodyShade, ...n.thumbShade]) put(p, { stroke: shade })
  for (const p of [
    n.bodyLine,
    n.thumbLine,
    n.creases,
    n.palmCrease,
    n.thumbCrease,
    n.nail,
    n.thumbNail,
    n.ghostFar,
    ...n.wrinkles,
  ])
    put(p, { stroke: line })
  // The further from the viewer, the more in shade; the finger over the thumb is the index itself.
  ;[...n.far, n.over].forEach((f, i) => {
    put(f.fill, { fill: mixHex(base, shade, [0.5, 0.36, 0.22, 0][i]) })
    for (const p of f.shade) put(p, { stroke: shade })
    put(f.line, { stroke: line })
  })
  put(n.pulleys, { stroke: deep ? '#E9DED4' : shade })
  const light = deep ? '#F3E7DB' : '#FFFFFF'
  put(n.bandTop, { fill: light, 'fill-opacity': 0.4, stroke: line, 'stroke-opacity': 0.35 })
  put(n.hood, { fill: color('force-f'), 'fill-opacity': 0.18, stroke: line, 'stroke-opacity': 0.4 })
  for (const k of TENDONS) put(n.halo[k], { stroke: light })
  // On dark skin the light theme's blue would be lost.
  const blue = GLOW[tone] ?? color('current-f')
  const strength = dark ? [1, 0.6, 0] : [0.85, 0.42, 0]
  n.glowStops.forEach((s, i) => s.setAttribute('style', `stop-color:${blue};stop-opacity:${strength[i]}`))
  for (const p of n.pads) {
    const body = dark ? `fill:${color('line')};stroke:${color('edge')}` : `fill:${color('ink')};stroke:${color('ink')}`
    p.body.setAttribute('style', body)
    p.stub.setAttribute('style', body)
    p.cableEdge.setAttribute('style', `stroke:${color(dark ? 'edge' : 'ink')}`)
    for (const u of n.upper.pads) u.body.setAttribute('style', body)
  }
}

function drawFinger(f, clip, far) {
  const d = pathText(far.curve),
    last = far.chain.lengths.length - 1
  for (const p of [f.fill, f.line, clip, ...f.shade]) put(p, { d })
  put(f.nail, { d: nailText(far.chain, last, far.girth, (0.92 * far.chain.lengths[last]) / 21) })
  return d
}

export function drawHand(n, shape, state) {
  const body = pathText(shape.body),
    thumb = pathText(shape.thumb.curve)
  const thumbArea = `${thumb}L${xy(shape.thumb.inside)}Z`
  for (const p of [n.bodyFill, n.bodyLine, n.clipBody, ...n.bodyShade]) put(p, { d: body })
  for (const p of [n.thumbLine, ...n.thumbShade]) put(p, { d: thumb })
  for (const p of [n.thumbFill, n.clipThumb]) put(p, { d: thumbArea })
  put(n.clipFree, { d: `M-400 -400H400V400H-400Z${pathText(shape.thumb.free)}Z` })
  let ghosts = ''
  n.far.forEach((f, i) => {
    ghosts += drawFinger(f, n.clipFar[i], shape.far[i])
  })
  n.ghosts = ghosts
  // The index lies over a thumb that has gone behind it; it comes up softly, so that nothing leaps.
  put(n.over.g, { visibility: shape.over ? 'visible' : 'hidden', opacity: num(clamp(shape.behind / 8, 0, 1)) })
  if (shape.over) drawFinger(n.over, n.clipOver, shape.over)
  const near = shape.near,
    at = (i, s, w) => xy(beside(near, i, s, w))
  put(n.nail, { d: nailText(near, 4, 1, near.lengths[4] / 21) })
  const t = shape.thumb.chain,
    k = t.lengths[2] / 30,
    onThumb = (i, s, w) => xy(beside(t, i, i === 2 ? s * k : s, w))
  put(n.thumbNail, {
    d: `M${onThumb(2, 12, 7.7)}Q${onThumb(2, 21, 8.2)} ${onThumb(2, 29.5, 4.6)}L${onThumb(2, 28.6, 1.6)}Q${onThumb(2, 20, 4.7)} ${onThumb(2, 12.4, 4.6)}Z`,
  })
  const h = (2 * Math.max(0, state.angle.MCP)) / 90
  put(n.palmCrease, { d: `M${at(1, 9, -12)}C${at(1, 20, -3)} ${at(1, 34, 2)} ${at(1, 60, 0.5 - h)}` })
  put(n.creases, {
    d:
      `M${xy(shape.palmSkin[14])}l${xy(direction(near, 2, 3.4, 4.2))}M${xy(shape.palmSkin[19])}l${xy(direction(near, 3, 2, 3))}` +
      `M${xy(shape.palmSkin[24])}l${xy(direction(near, 4, 1.4, 2.4))}`,
  })
  n.wrinkles.forEach((p, i) => {
    // Wrinkles over a straight joint are smoothed out as it bends.
    const bend = near.bend[i + 3] / RAD,
      w = i ? 6.9 : 8.7,
      parts = []
    for (const s of i ? [-1.2, 1.2] : [-2.6, 0, 2.6])
      parts.push(`M${at(i + 3, s, w - 0.4)}Q${at(i + 3, s + 0.7, w - 2)} ${at(i + 3, s + 0.2, w - 3.8 + 0.4 * Math.abs(s))}`)
    put(p, { d: parts.join(''), 'stroke-opacity': num(0.6 * clamp(1 - bend / 60, 0, 1)) })
  })
  put(n.thumbCrease, {
    d:
      `M${xy(shape.thumb.front[6])}l${xy(direction(t, 2, 1.6, 3.6))}M${xy(shape.thumb.front[1])}l${xy(direction(t, 1, 1.5, 3))}` +
      `M${onThumb(2, -1.8, 8.6)}q${xy([0.2, 1.4])} ${xy([0.8, 2.6])}M${onThumb(2, 1.6, 8.6)}q${xy([0.2, 1.4])} ${xy([0.8, 2.6])}`,
  })
}

// A short stroke into bone i's flesh: `s` along it, `w` to its back.
function direction(chain, i, s, w) {
  return [s * chain.cos[i] - w * chain.flip * chain.sin[i], s * chain.sin[i] + w * chain.flip * chain.cos[i]]
}

function nailText(chain, i, girth, length) {
  const at = (s, w) => xy(beside(chain, i, s * length, w * girth))
  return `M${at(8, 6.3)}Q${at(15, 6.5)} ${at(22, 3.6)}L${at(21, 1.7)}Q${at(14.5, 4.2)} ${at(8.4, 4)}Z`
}

// With a finger touched its own tendons are drawn, and stand out; with a group named, the others step back.
function drawTendons(n, shape, state, touched, group) {
  const near = shape.near,
    at = (i, s, w) => xy(beside(near, i, s, w)),
    chosen = GROUPS[group] ?? (touched ? TENDONS : null)
  for (const k of TENDONS) {
    const strong = chosen?.includes(k) ?? false,
      faint = chosen && !strong ? 0.25 : 1
    const x = state.tension[touched ? `${touched}.${k}` : k] ?? state.tension[k],
      slack = state.slack[k] ?? 0
    // A slip with length to spare hangs in waves and pulls nothing.
    const loose = slack > 0.15,
      width = (1.5 + 2 * (loose ? 0 : x)) * (strong ? 1.6 : 1)
    const d = loose ? lineText(slackLine(shape.tendons[k], slack, k === 'central' ? 5 : 7)) : pathText(shape.tendons[k])
    const share = loose
      ? 0
      : strong
        ? Math.max(55, Math.round(100 * Math.min(1, 1.4 * x)))
        : Math.round(100 * Math.min(1, 1.4 * x))
    // Grey stands out from dark skin by itself, and a strong halo would make one band of two tendons.
    const halo = n.deep ? (loose ? 0.7 : 0.2 + 0.005 * share) : n.dark ? 0.55 : 0.9
    put(n.halo[k], {
      d,
      'stroke-width': num(width + (strong ? 2.2 : 1.5)),
      'stroke-opacity': num(strong ? 0.6 : halo * faint),
      style: strong ? `stroke:${color('ink')}` : '',
    })
    put(n.cord[k], {
      d,
      'stroke-width': num(width),
      'stroke-opacity': faint,
      style: `stroke:color-mix(in srgb, ${color('force-f')} ${share}%, ${loose ? '#857F7A' : GREY})`,
    })
  }
  put(n.bandTop, { d: `M${at(0, 219, 17.6)}L${at(0, 227.5, 17.2)}L${at(0, 229, 6.5)}L${at(0, 220.5, 6.5)}Z` })
  put(n.hood, { d: `M${at(2, -5, 8.6)}L${at(2, 11, 7)}Q${at(2, 5, 3)} ${at(2, 3.5, -1.6)}Q${at(2, 0.5, 3)} ${at(2, -5, 8.6)}Z` })
  const tie = (i, s, a, b) => `M${at(i, s, a)}L${at(i, s, b)}`
  put(n.pulleys, { d: tie(2, 14, -4.2, -10) + tie(2, 34, -3.2, -9) + tie(3, 17, -2.2, -7.2) })
}

// The touched finger's own outline, stronger.
function markFinger(n, shape, touched) {
  const r = FINGERS.indexOf(touched),
    far = shape.far.find(f => f.finger === touched)
  put(n.mark, { visibility: r < 0 ? 'hidden' : 'visible' })
  if (r >= 0) put(n.mark, { d: pathText((far ?? fingerShape(shape.near, 0, shape.bones[0], 0.05)).curve) })
}

// The finger at a place of the picture, the nearest to the viewer first.
export function fingerAt(shape, x, y) {
  const order = [
    0,
    ...shape.far
      .slice()
      .reverse()
      .map(f => FINGERS.indexOf(f.finger)),
  ]
  for (const r of order) {
    const joints = r === 0 ? shape.near.joints : shape.far.find(f => f.finger === FINGERS[r]).whole.joints
    for (let i = 2; i < 5; i++) {
      const [a, b] = [joints[i], joints[i + 1]],
        dx = b[0] - a[0],
        dy = b[1] - a[1]
      const f = clamp(((x - a[0]) * dx + (y - a[1]) * dy) / (dx * dx + dy * dy || 1), 0, 1)
      if (Math.hypot(a[0] + f * dx - x, a[1] + f * dy - y) < 9) return FINGERS[r]
    }
  }
  return ''
}

function drawMuscles(n, state) {
  const rows = [
    [1, 4, 150, state.recruited.openers],
    [-1, 2, 154, state.recruited.closers],
  ]
  rows.forEach(([side, from, to, share], i) => {
    put(n.belly[i].lens, { 'fill-opacity': num(0.05 + 0.5 * share), 'stroke-opacity': num(0.35 + 0.3 * share) })
    put(n.belly[i].fibre, { 'stroke-opacity': num(0.16 + 0.3 * share) })
    if (n.belly[i].done) return
    n.belly[i].done = true
    const rim = bellyPoints(side, from, to, 0.54, 0.27)
    n.belly[i].lens.setAttribute('d', `${lineText(rim)}Z`)
    const half = rim.length / 2,
      fibres = [0.28, 0.5, 0.72].map(f => {
        const line = []
        for (let k = 3; k < half - 2; k++) {
          const a = rim[k],
            b = rim[rim.length - 1 - k]
          line.push([a[0] + (b[0] - a[0]) * f, a[1] + (b[1] - a[1]) * f])
        }
        return pathText(spline(line))
      })
    n.belly[i].fibre.setAttribute('d', fibres.join(''))
  })
}

// Height of the skin seen from the side, at a place round the arm: 0 is the back, below 0 the thumb's side.
function skinHeight(s, rad) {
  const c = Math.cos(rad)
  return c * forearmWidth(s, c >= 0 ? 1 : -1)
}

// How far off the skin the pad is [mm], f of the way along it, by the fault that is shown.
const LIFT = {
  whole: () => 0,
  dried: () => 0,
  halved: f => Math.max(0, 22 * (f - 0.5)),
  lifted: f => 26 * Math.max(0, f - 0.2) ** 1.2,
}
const TOUCHES = { whole: 1, dried: 0.3, halved: 0.5, lifted: 0.2 }

export function drawPads(n, state, pads, view) {
  const x = state.current,
    lit = clamp(x / 0.15, 0, 1)
  const centres = []
  n.pads.forEach((p, i) => {
    const from = clamp(pads[i].from_mm, 6, FOREARM_MM - 20),
      to = clamp(pads[i].to_mm, from + 6, FOREARM_MM - 6),
      mid = (from + to) / 2
    const fault = pads[i].fault in LIFT ? pads[i].fault : 'whole',
      around = (pads[i].around_deg ?? 0) * RAD
    const half = (to - from) / 2 / forearmWidth(mid, 1)
    // The part that faces the viewer; one that lies wholly on the other side is seen through the arm.
    const behind = around - half >= 0,
      edge = f => half * (pads[i].round ? Math.sqrt(Math.max(0.04, 1 - (2 * f - 1) ** 2)) : 1)
    const ends = f => {
      const s = from + f * (to - from),
        w = edge(f),
        over = 3.4 + LIFT[fault](f)
      if (behind) return [skinHeight(s, Math.max(0, around - w)), skinHeight(s, around + w)]
      const top = around + w >= 0 ? skinHeight(s, 0) + over : skinHeight(s, around + w) + LIFT[fault](f)
      const low = skinHeight(s, Math.max(-Math.PI, around - w)) + 0.8 * LIFT[fault](f)
      return [top, Math.min(low, top - 3.4 - 7 * (w / half))]
    }
    const at = [0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1],
      point = (f, y) => [from + f * (to - from) - FOREARM_MM, y]
    const top = at.map(f => point(f, ends(f)[0])),
      low = at.map(f => point(f, ends(f)[1])).reverse()
    // A pad in the faded part of a close picture would stand alone.
    const seen = (view.narrow || view.cut > 0) && from - FOREARM_MM < view.x0 + 34 ? 'hidden' : 'visible'
    for (const part of Object.values(p)) put(part, { visibility: seen })
    put(p.body, {
      d: `${lineText([...top, ...low])}Z`,
      'fill-opacity': behind ? 0.12 : 1,
      'stroke-dasharray': fault === 'dried' ? '4 2.5' : 'none',
    })
    const touching = at.filter(f => LIFT[fault](f) < 0.5).map(f => point(f, ends(f)[1]))
    put(p.lit, { d: lineText(touching), 'stroke-opacity': num(lit), 'stroke-dasharray': fault === 'dried' ? '3 6' : 'none' })
    const c = point(0.5, ends(0.5)[0]),
      m = point(0.5, (ends(0.5)[0] + ends(0.5)[1]) / 2)
    put(p.stub, { x: num(c[0] - 3.5), y: num(-c[1] - 3.4) })
    const k = 3,
      plus = (i === 0) !== Boolean(pads[i].swapped)
    put(p.sign, {
      visibility: behind ? 'hidden' : seen,
      d: `M${xy([m[0] - k, m[1]])}h${2 * k}` + (plus ? `M${xy([m[0], m[1] - k])}v${-2 * k}` : ''),
    })
    const cable = `M${xy([c[0], c[1] + 3])}C${xy([c[0] - 4, c[1] + 13])} ${xy([c[0] - 17, c[1] + 17])} ${xy([c[0] - 42, c[1] + 17])}`
    put(p.cableEdge, { d: cable })
    put(p.cable, { d: cable, style: `stroke:${color('current-f')}`, 'stroke-opacity': num(lit) })
    centres.push([mid - FOREARM_MM, skinHeight(mid, around), TOUCHES[fault]])
  })
  const middle = [
    (centres[0][0] + centres[1][0]) / 2,
    (centres[0][1] + centres[1][1]) / 2 - 4,
    Math.min(centres[0][2], centres[1][2]),
  ]
  for (const [i, c] of [...centres, middle].entries()) {
    const k = (i === 2 ? 0.8 : 1) * Math.sqrt(c[2])
    put(n.glow[i], {
      cx: num(c[0]),
      cy: num(-c[1]),
      rx: num(k * (26 + 22 * x)),
      ry: num(k * (14 + 34 * x)),
      opacity: num(clamp(x / 0.3, 0, 1) * (0.45 + 0.55 * x) * k),
    })
  }
}

// ---- words -------------------------------------------------------------------------------------------------

const SIGHT = { neutral: 'seen from above, thumb up', supinated: 'palm up' }

function drawSight(n, look, view, width, mirror) {
  const words = SIGHT[look.forearm] ?? ''
  put(n.sight, { visibility: words ? 'visible' : 'hidden' })
  if (!words) return
  if (n.sight.textContent !== words) n.sight.textContent = words
  const font = (15 * view.w) / width
  put(n.sight, {
    x: num((mirror < 0 ? -view.x0 - view.w : view.x0 + (view.upper ? 130 : 0)) + 9),
    y: num(-view.y1 + 1.5 * font),
    'font-size': num(font),
  })
}

// A second hand beside the first: the outline of the one that is pinned.
function drawKept(n, angle) {
  put(n.kept, { visibility: angle ? 'visible' : 'hidden' })
  if (!angle) return
  const shape = handShape(angle)
  put(n.kept, {
    d:
      pathText(spline([...shape.backSkin.slice(7), shape.tip, ...shape.palmSkin.slice(7).reverse()])) +
      pathText(shape.thumb.free),
  })
}

// Draws one moment. `look` holds what does not move: pads, object, side, held wrist, size of the host.
export function drawScene(n, state, look, moving) {
  const shape = handShape(state.angle, look.touched, look.rests ? (look.forearm === 'supinated' ? 1 : -1) : 0),
    mirror = look.side === 'right' ? -1 : 1
  const flip = look.forearm === 'supinated' ? -1 : 1
  shape.box = handBox(shape)
  n.skinPoints = skinCloud(shape)
  if (flip < 0) {
    shape.box = { ...shape.box, y0: -shape.box.y1, y1: -shape.box.y0 }
    n.skinPoints = n.skinPoints.map(p => [p[0], -p[1]])
  }
  const view = frame(
    shape.box,
    look.width,
    look.height,
    look.bench,
    look.tips ? tipsSize(look.width, look.height)[0] : 0,
    look.upper,
    mirror > 0 && look.buttons ? n.skinPoints : null,
  )
  view.flip = flip
  view.flat = Boolean(look.rests)
  view.covered = coveredBy(view, look, mirror)
  drawFrame(n, view, look.width, mirror, look)
  drawHand(n, shape, state)
  drawTendons(n, shape, state, look.touched, look.lit)
  markFinger(n, shape, look.touched)
  drawMuscles(n, state)
  drawPads(n, state, look.pads, view)
  if (!view.narrow) drawRest(n, view.tableY, flip)
  drawTable(n, look, view, flip)
  drawUpper(n, look.upper, view)
  drawSplint(n, shape, look.held, view.tableY, view.narrow, flip)
  drawBench(n, look.bench, look.object, view, look.width)
  drawObject(n, shape, look.object, state, view)
  drawOpening(n, shape, state, view, look.width, mirror, moving)
  drawAngles(n, shape, state, view, look.width, mirror, look, moving)
  drawKept(n, look.kept)
  drawSight(n, look, view, look.width, mirror)
  return shape
}
