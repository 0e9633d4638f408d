// Draws the hand scene as SVG from its state. Colours come from the look: SKIN (base, shade and outline of a tone) and GLOW (of the
// tones that need a lighter one).

import { FOREARM_MM, GLOW, SKIN } from '../given.js'
import { clamp, make, num, put, xy } from '../svg.js'
import { color, mixHex } from './colour.js'
import {
  DORSAL_JOINT,
  FINGERS,
  FLAT_MM,
  PALMAR_JOINT,
  RAD,
  bellyPoints,
  beside,
  fingerShape,
  forearmWidth,
  handShape,
  lineText,
  onJoint,
  padGap,
  pathText,
  slackLine,
  spline,
} from './shape.js'

const GREY = '#A6A09A'
export const TENDONS = ['FDS', 'FDP', 'EDC', 'central', 'terminal']
const REST = { from: -184, to: -118 }
const TABLE_MM = -166
const ANGLED = ['wrist', 'MCP', 'PIP', 'DIP']
const ARC_MM = [34, 36, 26, 20]
// Back of the upper arm down to the elbow, on the page's own axes: it rises behind the forearm's end.
const upperArm = under => `M-286 -176C-290 -110 -286 -46 -266 0C-254 ${num(0.64 * under)} -240 ${num(0.94 * under)} -214 ${under}`
const UPPER_INNER = 'C-187 -70 -190 -110 -192 -176'
const UPPER_MM = 300
let sceneCount = 0

const GROUPS = { openers: ['EDC'], closers: ['FDP', 'FDS'], slips: ['central', 'terminal'] }

// ---- drawing --------------------------------------------------------------------------------------------------------

function shadeStrokes(parent, clip, widths) {
  const g = make(parent, 'g', { 'clip-path': `url(#${clip})`, fill: 'none', 'stroke-linejoin': 'round' })
  const inner = make(g, 'g', { transform: 'translate(0 -2.5)' })
  return widths.map(([w, o]) => make(inner, 'path', { 'stroke-width': w, 'stroke-opacity': o }))
}

function finger(parent, clip, width) {
  const g = make(parent, 'g')
  return {
    g,
    fill: make(g, 'path'),
    shade: shadeStrokes(g, clip, [
      [13, 0.1],
      [6, 0.14],
    ]),
    line: make(g, 'path', { fill: 'none', 'stroke-width': width, 'stroke-opacity': width > 1.2 ? 1 : 0.85 }),
    nail: make(g, 'path', { fill: '#fff', 'fill-opacity': 0.35 }),
  }
}

export function buildScene(host) {
  const id = `gw-hand-${++sceneCount}`
  const svg = make(host, 'svg', { role: 'img', preserveAspectRatio: 'xMidYMid meet' })
  Object.assign(svg.style, {
    display: 'block',
    width: '100%',
    height: '100%',
    background: color('surface'),
    fontFamily: 'var(--font, system-ui, sans-serif)',
  })
  const n = { svg }
  const defs = make(svg, 'defs')
  const clip = name => make(make(defs, 'clipPath', { id: `${id}-${name}` }), 'path')
  n.clipBody = clip('body')
  n.clipThumb = clip('thumb')
  n.clipObject = clip('object')
  n.clipFar = [0, 1, 2].map(i => clip(`far${i}`))
  n.clipOver = clip('over')
  n.clipFree = clip('free')
  n.clipFree.setAttribute('clip-rule', 'evenodd')
  n.glowStops = ['0', '0.45', '1'].map(offset => ({ offset }))
  const glow = make(defs, 'radialGradient', { id: `${id}-glow` })
  n.glowStops = n.glowStops.map(s => make(glow, 'stop', s))
  const fade = make(defs, 'linearGradient', { id: `${id}-fade` })
  n.fadeStops = [
    ['0', 1],
    ['0.12', 1],
    ['1', 0],
  ].map(([offset, a]) => make(fade, 'stop', { offset, 'stop-opacity': a }))

  const world = (n.world = make(svg, 'g', { 'stroke-linejoin': 'round', 'stroke-linecap': 'round' }))
  n.table = make(world, 'rect', { style: `fill:${color('sel')};fill-opacity:.7` })
  n.tableLine = make(world, 'path', { 'stroke-width': 1.2, style: `stroke:${color('edge')}` })
  n.cloth = make(world, 'rect', { rx: 1.5, visibility: 'hidden', style: `fill:${color('ink2')};fill-opacity:.55` })
  n.place = make(world, 'path', { fill: 'none', 'stroke-width': 2, visibility: 'hidden', style: `stroke:${color('ink')}` })
  n.helper = make(world, 'path', {
    transform: 'translate(6 -17)',
    'stroke-width': 1.35,
    visibility: 'hidden',
    style: `fill:${color('sel')};stroke:${color('edge')}`,
  })
  n.rest = make(world, 'g')
  n.restFoot = make(n.rest, 'path', { 'stroke-width': 0.9, style: `fill:${color('line')};stroke:${color('edge')}` })
  n.restBlock = make(n.rest, 'path', { 'stroke-width': 0.9, style: `fill:${color('sel')};stroke:${color('edge')}` })
  n.restPad = make(n.rest, 'path', { 'stroke-width': 0.9, style: `fill:${color('object')};stroke:${color('edge')}` })
  n.restSeam = make(n.rest, 'path', { 'stroke-width': 0.7, fill: 'none', style: `stroke:${color('edge')};stroke-opacity:.7` })
  n.splintStand = make(world, 'path', { 'stroke-width': 0.9, style: `fill:${color('sel')};stroke:${color('edge')}` })
  n.splint = [0, 1].map(i =>
    make(world, 'path', {
      fill: 'none',
      'stroke-width': i ? 4.6 : 6.4,
      style: `stroke:${color(i ? 'object' : 'edge')}`,
    }),
  )

  n.upper = { g: make(world, 'g', { visibility: 'hidden' }) }
  n.upper.fill = make(n.upper.g, 'path')
  n.upper.glow = [0, 1].map(() => make(n.upper.g, 'ellipse', { fill: `url(#${id}-glow)` }))
  n.upper.line = make(n.upper.g, 'path', { fill: 'none', 'stroke-width': 1.35 })
  n.upper.inner = make(n.upper.g, 'path', { d: `M-172 -41${UPPER_INNER}`, fill: 'none', 'stroke-width': 1.35 })
  n.upper.pads = [0, 1].map(() => ({
    body: make(n.upper.g, 'rect', { width: 11, rx: 1 }),
    lit: make(n.upper.g, 'path', { fill: 'none', 'stroke-width': 2, style: `stroke:${color('current-f')}` }),
  }))
  // All that belongs to the arm turns with the forearm: with the palm up it is drawn upside down.
  const turned = (n.turned = make(world, 'g')),
    arm = (n.arm = make(turned, 'g'))
  n.far = [0, 1, 2].map(i => finger(arm, `${id}-far${i}`, 1.1))
  n.object = make(arm, 'g')
  n.stand = make(n.object, 'rect', { rx: 3, 'stroke-width': 1.2, style: `fill:${color('sel')};stroke:${color('edge')}` })
  n.objectDisc = make(n.object, 'circle', {
    'stroke-width': 1.4,
    style: `fill:${color('object')};stroke:${color('object-edge')}`,
  })
  n.objectMarks = make(n.object, 'path', {
    fill: 'none',
    'stroke-width': 1.1,
    style: `stroke:${color('surface')};stroke-opacity:.75`,
  })
  n.ghostFar = make(arm, 'path', { fill: 'none', 'stroke-width': 0.9, 'stroke-opacity': 0.22, 'clip-path': `url(#${id}-object)` })
  n.bodyFill = make(arm, 'path')
  n.bodyShade = shadeStrokes(arm, `${id}-body`, [
    [22, 0.07],
    [15, 0.09],
    [9, 0.11],
    [4.5, 0.13],
  ])
  const inside = make(arm, 'g', { 'clip-path': `url(#${id}-body)` })
  n.belly = ['openers', 'closers'].map(() => ({
    lens: make(inside, 'path', { 'stroke-width': 0.9, style: `fill:${color('force-f')};stroke:${color('force-f')}` }),
    fibre: make(inside, 'path', { fill: 'none', 'stroke-width': 0.7, style: `stroke:${color('force-f')}` }),
  }))
  n.glow = [0, 1, 2].map(() => make(inside, 'ellipse', { fill: `url(#${id}-glow)` }))
  n.bodyLine = make(arm, 'path', { fill: 'none', 'stroke-width': 1.35 })
  n.creases = make(arm, 'path', { fill: 'none', 'stroke-width': 0.8, 'stroke-opacity': 0.6 })
  n.wrinkles = [2, 3].map(() => make(arm, 'path', { fill: 'none', 'stroke-width': 0.75 }))
  n.nail = make(arm, 'path', { fill: '#fff', 'fill-opacity': 0.55, 'stroke-width': 0.4, 'stroke-opacity': 0.6 })
  n.slab = make(arm, 'path', {
    'stroke-width': 1.2,
    'stroke-linejoin': 'miter',
    visibility: 'hidden',
    style: `fill:${color('sel')};stroke:${color('edge')}`,
  })
  n.thumbFill = make(arm, 'path')
  n.thumbShade = shadeStrokes(arm, `${id}-thumb`, [
    [18, 0.07],
    [12, 0.09],
    [7.5, 0.11],
    [4, 0.13],
  ])
  n.thumbLine = make(arm, 'path', { fill: 'none', 'stroke-width': 1.35 })
  n.thumbCrease = make(arm, 'path', { fill: 'none', 'stroke-width': 0.8, 'stroke-opacity': 0.6 })
  n.thumbNail = make(arm, 'path', { fill: '#fff', 'fill-opacity': 0.55, 'stroke-width': 0.4, 'stroke-opacity': 0.6 })
  n.over = finger(arm, `${id}-over`, 1.35)
  n.palmCrease = make(arm, 'path', { fill: 'none', 'stroke-width': 0.85, 'stroke-opacity': 0.4 })
  const cords = make(arm, 'g', { fill: 'none', 'clip-path': `url(#${id}-free)` })
  n.hood = make(cords, 'path', { 'stroke-width': 0.6 })
  n.halo = Object.fromEntries(TENDONS.map(k => [k, make(cords, 'path')]))
  n.cord = Object.fromEntries(TENDONS.map(k => [k, make(cords, 'path')]))
  n.pulleys = make(cords, 'path', { 'stroke-width': 3.6, 'stroke-opacity': 0.45, 'stroke-linecap': 'butt' })
  n.bandTop = make(cords, 'path', { 'stroke-width': 0.7 })
  n.mark = make(arm, 'path', {
    fill: 'none',
    'stroke-width': 2,
    'stroke-opacity': 0.8,
    visibility: 'hidden',
    style: `stroke:${color('ink')}`,
  })
  n.straps = make(arm, 'path', {
    fill: 'none',
    'stroke-width': 9,
    'stroke-linecap': 'butt',
    style: `stroke:${color('object-edge')};stroke-opacity:.8`,
  })
  n.fade = make(turned, 'rect', { fill: `url(#${id}-fade)` })
  n.pads = [0, 1].map(() => ({
    cableEdge: make(turned, 'path', { fill: 'none', 'stroke-width': 2.6 }),
    cable: make(turned, 'path', { fill: 'none', 'stroke-width': 1.4 }),
    stub: make(turned, 'rect', { width: 7, height: 4, rx: 1 }),
    body: make(turned, 'path', { 'stroke-width': 1 }),
    lit: make(turned, 'path', { fill: 'none', 'stroke-width': 2, style: `stroke:${color('current-f')}` }),
    sign: make(turned, 'path', { fill: 'none', 'stroke-width': 1.6, style: `stroke:${color('surface')}` }),
  }))
  n.kept = make(turned, 'path', {
    fill: 'none',
    'stroke-width': 1.5,
    'stroke-dasharray': '5 3.5',
    visibility: 'hidden',
    style: `stroke:${color('ink2')}`,
  })
  n.before = make(turned, 'path', { fill: 'none', 'stroke-width': 0.9, style: `stroke:${color('ink2')}`, visibility: 'hidden' })
  const arcs = (n.arcs = make(turned, 'g', { fill: 'none', visibility: 'hidden' }))
  n.arcHalo = make(arcs, 'path', { 'stroke-width': 3.6, style: `stroke:${color('surface')};stroke-opacity:.85` })
  n.arcStraight = make(arcs, 'path', { 'stroke-width': 1.1, 'stroke-dasharray': '3 2.2', style: `stroke:${color('angle-t')}` })
  n.leader = make(arcs, 'path', { 'stroke-width': 0.8, style: `stroke:${color('angle-t')};stroke-opacity:.8` })
  n.arcLine = make(arcs, 'path', { 'stroke-width': 1.9, style: `stroke:${color('angle-t')}` })
  n.lineHalo = make(turned, 'path', { fill: 'none', 'stroke-width': 4.4, style: `stroke:${color('surface')};stroke-opacity:.85` })
  n.line = make(turned, 'path', { fill: 'none', 'stroke-width': 2, style: `stroke:${color('opening-t')}` })
  n.text = make(svg, 'text', {
    style: `fill:${color('opening-t')};stroke:${color('surface')};paint-order:stroke;font-weight:700;font-variant-numeric:tabular-nums`,
    'stroke-linejoin': 'round',
    'text-anchor': 'middle',
  })
  n.words = [0, 1].map(() => make(n.text, 'tspan'))
  n.degrees = ANGLED.map(() =>
    make(svg, 'text', {
      style: `fill:${color('angle-t')};stroke:${color('surface')};paint-order:stroke;font-weight:700;font-variant-numeric:tabular-nums`,
      'stroke-linejoin': 'round',
      'text-anchor': 'middle',
      visibility: 'hidden',
      class: 'degrees',
    }),
  )
  n.sight = make(svg, 'text', { style: `fill:${color('ink2')}`, visibility: 'hidden' })
  return n
}

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

// `flip` -1: the palm faces up, and it is the back of the arm that lies below.
function drawUpper(n, upper, view) {
  const on = Boolean(upper && view.upper)
  put(n.upper.g, { visibility: on ? 'visible' : 'hidden' })
  put(n.fade, { visibility: on ? 'hidden' : 'visible' })
  if (!on) return
  const outer = upperArm(view.flat ? FLAT_MM : 47)
  put(n.upper.line, { d: outer })
  put(n.upper.fill, { d: `${outer}L-172 -41${UPPER_INNER}Z` })
  // The pair is drawn at its height over the elbow, as far as the picture reaches.
  const side = clamp(upper.side_mm, 14, 40),
    middle = clamp((1 - upper.along_percent / 100) * UPPER_MM, 62, 112),
    lit = clamp(upper.current / 0.15, 0, 1)
  n.upper.pads.forEach((p, i) => {
    const y = middle + (i ? 1 : -1) * 0.5 * (side + 8),
      x = -288 + Math.max(0, 60 - y) * 0.12
    put(p.body, { x: num(x - 4), y: num(-y - side / 2), height: num(side) })
    put(p.lit, { d: `M${num(x + 7)} ${num(-y - side / 2)}v${num(side)}`, 'stroke-opacity': num(lit) })
    put(n.upper.glow[i], {
      cx: num(x + 8),
      cy: num(-y),
      rx: num(12 + 26 * upper.current),
      ry: num(18 + 22 * upper.current),
      opacity: num(lit * (0.45 + 0.55 * upper.current)),
    })
  })
}

function drawRest(n, tableY, flip) {
  const { from, to } = REST
  const skin = x => -forearmWidth(x + FOREARM_MM, -flip)
  const top = [],
    low = []
  for (let i = 0; i <= 6; i++) {
    const f = i / 6,
      x = from - 3 + f * (to - from + 6)
    // The pad lies under the arm and swells a little beyond it at both ends.
    top.push([x, skin(x) + (i === 0 || i === 6 ? 2.2 : 0.8)])
    low.push([x, skin(from) + (skin(to) - skin(from)) * f - 10 - 2 * Math.sin(Math.PI * f)])
  }
  put(n.restPad, {
    d: `${pathText(spline([...top, [to + 6.5, skin(to) - 5], ...low.reverse(), [from - 6.5, skin(from) - 5], top[0]]))}Z`,
  })
  put(n.restSeam, {
    d: pathText(
      spline([
        [from - 5, skin(from) - 5.5],
        [(from + to) / 2, skin((from + to) / 2) - 6.5],
        [to + 5, skin(to) - 5.5],
      ]),
    ),
  })
  const a = skin(from) - 9,
    b = skin(to) - 9
  put(n.restBlock, { d: `M${xy([from + 2, a])}L${xy([to - 2, b])}L${xy([to + 3, tableY + 5])}L${xy([from - 3, tableY + 5])}Z` })
  put(n.restFoot, { d: `M${xy([from - 12, tableY])}V${num(-tableY - 4)}q0 -2 2 -2H${num(to + 10)}q2 0 2 2V${num(-tableY)}Z` })
}

// The table that forearm and palm lie on; its front edge is behind the thumb.
const SLAB = { edge: 70, thick: 13, under: 20 }

function drawTable(n, look, view, flip) {
  const on = Boolean(look.rests) && look.forearm !== 'neutral',
    y = num(flip * SLAB.under),
    t = flip * SLAB.thick,
    left = num(view.x0 - 6)
  put(n.slab, { visibility: on ? 'visible' : 'hidden' })
  if (!on) return
  const floor = num(-flip * view.tableY),
    leg = x => `M${x} ${num(+y + t)}V${floor}h12V${num(+y + t)}`
  put(n.slab, { d: `M${left} ${y}H${SLAB.edge}V${num(+y + t)}H${left}` + (view.narrow ? '' : leg(-170) + leg(SLAB.edge - 26)) })
}

function drawSplint(n, shape, held, tableY, narrow, flip) {
  put(n.splintStand, { visibility: held && !narrow ? 'visible' : 'hidden' })
  for (const p of [n.straps, ...n.splint]) put(p, { visibility: held ? 'visible' : 'hidden' })
  if (!held) return
  const near = shape.near
  const under = flip > 0 ? -1 : 0.86,
    seen = p => [p[0], flip * p[1]]
  const line = pathText(
    spline(
      [
        beside(near, 0, 148, 36.2 * under),
        beside(near, 0, 190, 27 * under),
        beside(near, 0, 216, 24 * under),
        onJoint(near, 1, 24.5 * under),
        beside(near, 1, 16, 23 * under),
        beside(near, 1, 40, 20 * under),
      ].map(seen),
    ),
  )
  for (const p of n.splint) put(p, { d: line })
  put(n.splintStand, { d: `M${xy([-52, -27])}L${xy([-22, -24])}L${xy([-16, tableY])}L${xy([-58, tableY])}Z` })
  const strap = (i, s, a, b) => `M${xy(beside(near, i, s, a))}L${xy(beside(near, i, s, b))}`
  put(n.straps, { d: strap(0, 186, 22, -27) + strap(1, 46, 13.5, -5) })
}

export function drawObject(n, shape, object, state, view) {
  // A close picture ends above the bench, and so above what stands on it; the view from the tips has the object in it.
  const shown = Boolean(object && object.diameter_mm > 0 && ((!view.narrow && !view.cut) || object.held || object.center_mm))
  put(n.object, { visibility: shown ? 'visible' : 'hidden' })
  put(n.ghostFar, { visibility: shown ? 'visible' : 'hidden' })
  if (!shown) return
  const r = object.diameter_mm / 2,
    points = state.opening?.points
  let c = [178, view.tableY + r]
  const flip = view.flip
  if (object.center_mm) c = object.center_mm
  else if (object.held) {
    c =
      r < 20 && points
        ? [(points[0][0] + points[1][0]) / 2, (points[0][1] + points[1][1]) / 2]
        : beside(shape.near, 1, 78 + 0.515 * r, -13.5 - r)
    c = [c[0], flip * c[1]]
  }
  // A stand under an object that is not on the bench itself, and not in the hand.
  const foot = c[1] - r - view.tableY,
    stands = Boolean(object.stand && !view.narrow && foot > 2)
  put(
    n.stand,
    stands
      ? { visibility: 'inherit', x: num(c[0] - 24), y: num(-(c[1] - r)), width: 48, height: num(foot) }
      : { visibility: 'hidden' },
  )
  put(n.objectDisc, { cx: num(c[0]), cy: num(-c[1]), r: num(r) })
  const ring = q =>
    `M${num(c[0] - q)} ${num(-c[1])}a${num(q)} ${num(q)} 0 1 0 ${num(2 * q)} 0a${num(q)} ${num(q)} 0 1 0 ${num(-2 * q)} 0`
  const seam = k =>
    `M${num(c[0] + k * 0.35 * r)} ${num(-c[1] - 0.93 * r)}Q${num(c[0] + k * 0.85 * r)} ${num(-c[1])} ${num(c[0] + k * 0.35 * r)} ${num(-c[1] + 0.93 * r)}`
  put(n.objectMarks, { d: r >= 28 ? ring(r - 5) : r >= 14 ? seam(-1) + seam(1) : ring(r * 0.3) })
  put(n.clipObject, {
    d: `M${num(c[0] - r)} ${num(-flip * c[1])}a${num(r)} ${num(r)} 0 1 0 ${num(2 * r)} 0a${num(r)} ${num(r)} 0 1 0 ${num(-2 * r)} 0Z`,
  })
  // Fingers behind the object stay visible as thin lines on it.
  put(n.ghostFar, { d: n.ghosts })
}

// The place to put it, what the arm slides on, and the other hand under it.
function drawBench(n, bench, object, view) {
  const seen = Boolean(bench && !view.narrow),
    y = -view.tableY
  const r = Math.max(10, (object?.diameter_mm ?? 40) / 2),
    x = bench?.place_mm ?? 0
  put(
    n.place,
    seen
      ? { visibility: 'inherit', d: `M${num(x - r - 8)} ${num(y - 1)}h${num(2 * r + 16)}m-8 -7v7m${num(-2 * r)} -7v7` }
      : { visibility: 'hidden' },
  )
  if (!seen) {
    n.placeWord?.remove()
    n.placeWord = null
  } else {
    if (!n.placeWord) {
      n.placeWord = make(n.world, 'text', {
        'text-anchor': 'middle',
        'font-size': 11,
        visibility: 'hidden',
        style: `fill:${color('ink2')}`,
      })
      n.placeWord.textContent = 'its place'
    }
    put(n.placeWord, { visibility: 'inherit', x: num(x), y: num(y + 13) })
  }
  put(
    n.cloth,
    seen && bench.cloth ? { visibility: 'inherit', x: -196, y: num(y - 3.5), width: 96, height: 3.5 } : { visibility: 'hidden' },
  )
  put(
    n.helper,
    seen && bench.helped
      ? {
          visibility: 'inherit',
          d: 'M-112 74C-108 58 -92 50 -76 47L-38 40C-30 39 -28 45 -35 48L-60 55L-34 55C-26 55 -25 63 -33 64L-58 66C-62 78 -78 92 -92 108L-118 96Z',
        }
      : { visibility: 'hidden' },
  )
}

// ---- view and words -------------------------------------------------------------------------------------------------

export function handBox(shape) {
  let x1 = -Infinity,
    y0 = Infinity,
    y1 = -Infinity
  const eat = p => {
    if (p[0] > x1) x1 = p[0]
    if (p[1] < y0) y0 = p[1]
    if (p[1] > y1) y1 = p[1]
  }
  for (const p of shape.backSkin) if (p[0] > -70) eat(p)
  for (const p of shape.palmSkin) if (p[0] > -70) eat(p)
  for (const p of shape.thumb.back) eat(p)
  for (const p of shape.thumb.front) eat(p)
  eat(shape.tip)
  eat(shape.thumb.chain.joints[3])
  for (const f of shape.far) for (const p of f.chain.joints) eat([p[0] + 3, p[1] + 9])
  return { x1: x1 + 4, y0: y0 - 4, y1: y1 + 4 }
}

// Room of the view from the tips, in a corner of the picture.
export function tipsSize(width, height) {
  if (width < 520) return [Math.min(150, 0.36 * width), 0.72 * height]
  const w = clamp(0.31 * width, 200, 340)
  return [w, Math.min(1.25 * w, height - 64)]
}

// The part of the world that is shown. A narrow host gets wrist and hand; a wide one the whole scene.
// `taken` px at the right are for the view from the tips: the picture then shows less of the forearm.
function frame(box, width, height, bench, taken, upper) {
  const aspect = width / Math.max(1, height),
    narrow = width < 520
  if (narrow) {
    // The view follows the hand up and down, so that a small picture can be close.
    const aside = taken ? 46 : 0
    let w = Math.max(292, box.x1 + 90) + aside,
      h = Math.max(w / aspect, box.y1 - box.y0 + 14)
    w = h * aspect
    const mid = (0.85 * (box.y0 + box.y1)) / 2
    const cy = clamp(mid, box.y1 + 7 - h / 2, Math.max(box.y0 - 7 + h / 2, box.y1 + 7 - h / 2))
    const x0 = -72 - aside - 0.35 * Math.max(0, w - 292 - aside)
    return { narrow, x0, y1: cy + h / 2, w, h, tableY: Math.min(TABLE_MM, box.y0 - 6), open: w }
  }
  const tableY = Math.min(TABLE_MM, box.y0 - 6),
    top = Math.max(upper ? 160 : 132, box.y1 + 8)
  // On a bench the whole way is in view: the arm moves along it, and all else stands still.
  const way = bench?.way_mm ?? 0,
    whole = 464 + (upper ? 74 : 0)
  let h = top - tableY + 14,
    w = Math.max(h * aspect, whole + way)
  h = w / aspect
  const spare = w - whole - way,
    cut = taken ? Math.min(120, (taken * w) / width - Math.min(spare, 40)) : 0
  return {
    narrow,
    upper: Boolean(upper),
    x0: -231 - (upper ? 74 : 0) - Math.max(0, spare - 130) - (bench?.at_mm ?? 0) + cut,
    y1: top + 0.5 * Math.max(0, h - (top - tableY + 14)),
    w,
    h,
    tableY,
    open: w * (1 - taken / width),
    cut,
  }
}

export function drawFrame(n, view, width, mirror, look = {}) {
  const key = [
    view.x0,
    view.y1,
    view.w,
    view.h,
    mirror,
    view.tableY,
    view.narrow,
    view.flip,
    Number(look.forearm === 'neutral'),
    Number(Boolean(look.rests)),
  ]
    .map(v => +(+v).toFixed(2))
    .join()
  if (n.viewKey === key) return
  n.viewKey = key
  const x0 = mirror < 0 ? -view.x0 - view.w : view.x0
  n.svg.setAttribute('viewBox', `${num(x0)} ${num(-view.y1)} ${num(view.w)} ${num(view.h)}`)
  n.world.setAttribute('transform', `scale(${mirror} 1)`)
  n.turned.setAttribute('transform', `scale(1 ${view.flip})`)
  n.object.setAttribute('transform', `scale(1 ${view.flip})`)
  const bottom = view.y1 - view.h
  const seen = view.narrow ? 'hidden' : 'visible'
  // With the thumb up the picture is seen from above: the table lies behind all of it.
  const above = look.forearm === 'neutral'
  put(n.rest, { visibility: above || look.rests ? 'hidden' : seen })
  for (const stop of n.fadeStops)
    put(stop, {
      style: `stop-color:${above ? `color-mix(in srgb, ${color('sel')} 70%, ${color('surface')})` : color('surface')}`,
    })
  put(n.tableLine, { visibility: above ? 'hidden' : 'visible' })
  if (above) put(n.table, { x: num(view.x0 - 5), y: num(-view.y1 - 2), width: num(view.w + 10), height: num(view.h + 4) })
  else
    put(n.table, {
      x: num(view.x0 - 5),
      y: num(-view.tableY),
      width: num(view.w + 10),
      height: num(Math.max(0, view.tableY - bottom + 2)),
    })
  put(n.tableLine, { d: `M${num(view.x0 - 5)} ${num(-view.tableY)}h${num(view.w + 10)}` })
  const left = Math.max(view.x0, -FOREARM_MM) - 6
  put(n.fade, { x: num(left), y: -90, width: view.narrow ? 36 : 52, height: 180 })
}

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

function drawOpening(n, shape, state, view, width, mirror, moving) {
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

// Angle of each joint: an arc from where a straight joint would point to where the next bone points, and its degrees.
function drawAngles(n, shape, state, view, width, mirror, look, moving) {
  put(n.arcs, { visibility: look.angles ? 'visible' : 'hidden' })
  for (const t of n.degrees) put(t, { visibility: look.angles ? 'visible' : 'hidden' })
  if (!look.angles) return
  const flip = view.flip,
    near = flip > 0 ? shape.near : { joints: shape.near.joints.map(p => [p[0], -p[1]]), dirs: shape.near.dirs.map(d => -d) }
  const scale = width / view.w,
    font = clamp(width * 0.03, 17, 27) / scale,
    h = font * 1.02
  const taken = state.opening && n.wordAt ? [wordBox(...n.wordAt, ...n.wordSize)] : []
  const drawn = [],
    arcs = [],
    straight = [],
    ends = (state.opening?.points ?? []).map(p => [p[0], flip * p[1]])
  n.arcs.setAttribute('transform', `scale(1 ${flip})`)
  const lines = [0, 0.2, 0.4, 0.6, 0.8, 1]
    .map(f => ends.length && [0, 1].map(k => ends[0][k] + f * (ends[1][k] - ends[0][k])))
    .filter(Boolean)
  ANGLED.forEach((_, k) => {
    const i = k + 1,
      j = near.joints[i],
      from = near.dirs[i - 1],
      turn = near.dirs[i] - from,
      r = ARC_MM[k],
      line = []
    for (let s = 0; s <= 12; s++)
      line.push([j[0] + r * Math.cos(from + (turn * s) / 12), j[1] + r * Math.sin(from + (turn * s) / 12)])
    drawn.push(...line)
    arcs.push(lineText(line))
    straight.push(lineText([j, [j[0] + (r + 5) * Math.cos(from), j[1] + (r + 5) * Math.sin(from)]]))
  })
  put(n.arcLine, { d: arcs.join('') })
  put(n.arcHalo, { d: [...arcs, ...straight].join('') })
  put(n.arcStraight, { d: straight.join('') })
  const places = n.anglePlaces ?? (n.anglePlaces = []),
    at = n.angleAt ?? (n.angleAt = []),
    leaders = []
  for (const k of [3, 2, 1, 0]) {
    const i = k + 1,
      j = near.joints[i],
      text = `${Math.abs(Math.round(state.angle[ANGLED[k]]))}°`,
      w = font * (0.62 * text.length + 0.1)
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
          const out = skin + far + (Math.abs(c) * w) / 2 + (Math.abs(q) * h) / 2
          const x = clamp(j[0] + c * out, view.x0 + w / 2 + 4, view.x0 + view.open - w / 2 - 4)
          const y = clamp(j[1] + q * out, view.y1 - view.h + h / 2 + 3, view.y1 - h / 2 - 3),
            b = wordBox(x, y, w, h)
          let cost =
            0.16 * (Math.hypot(x - j[0], y - j[1]) - skin) +
            (side ? 3 : 0) +
            Math.abs(turn) -
            (index === places[k] ? (moving ? 6 : 0.5) : 0)
          for (const p of n.skinPoints) if (p[0] > b.x0 - 1 && p[0] < b.x1 + 1 && p[1] > b.y0 - 1 && p[1] < b.y1 + 1) cost += 1.2
          for (const p of [...drawn, ...lines])
            if (p[0] > b.x0 - 2 && p[0] < b.x1 + 2 && p[1] > b.y0 - 2 && p[1] < b.y1 + 2) cost += 2
          for (const o of taken) if (b.x0 < o.x1 + 2 && b.x1 > o.x0 - 2 && b.y0 < o.y1 + 2 && b.y1 > o.y0 - 2) cost += 60
          if (cost < least) {
            least = cost
            best = index
            spot = [x, y]
          }
          index += 1
        }
    places[k] = best
    let [x, y] = spot
    if (moving && at[k]) {
      x = at[k][0] + 0.25 * (x - at[k][0])
      y = at[k][1] + 0.25 * (y - at[k][1])
    }
    at[k] = [x, y]
    taken.push(wordBox(x, y, w, h))
    // A number that had to move away from its joint is tied to it.
    const dx = j[0] - x,
      dy = j[1] - y,
      away = Math.hypot(dx, dy),
      edge = 1.1 * Math.min(w / 2 / Math.abs(dx || 1e-9), h / 2 / Math.abs(dy || 1e-9))
    if (away * (1 - edge) > DORSAL_JOINT[i] + 7)
      leaders.push(
        lineText([
          [x + edge * dx, y + edge * dy],
          [x + 0.97 * dx, y + 0.97 * dy],
        ]),
      )
    const t = n.degrees[k]
    if (t.textContent !== text) t.textContent = text
    put(t, { x: num(mirror * x), y: num(-y + font * 0.35), 'font-size': num(font), 'stroke-width': num(font * 0.28) })
  }
  put(n.leader, { d: leaders.join('') })
}

function skinCloud(shape) {
  const out = [...shape.backSkin, ...shape.palmSkin, ...shape.thumb.back, ...shape.thumb.front]
  for (let i = 1; i < 5; i++) for (const f of [0.25, 0.5, 0.75, 1]) out.push(beside(shape.near, i, f * shape.near.lengths[i], 0))
  for (let i = 0; i < 3; i++)
    for (const f of [0.25, 0.6, 1]) out.push(beside(shape.thumb.chain, i, f * shape.thumb.chain.lengths[i], 0))
  for (const { curve } of shape.far) for (let i = 6; i < curve.length; i += 6) out.push([curve[i], curve[i + 1]])
  return out
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
  )
  view.flip = flip
  view.flat = Boolean(look.rests)
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
  drawBench(n, look.bench, look.object, view)
  drawObject(n, shape, look.object, state, view)
  drawOpening(n, shape, state, view, look.width, mirror, moving)
  drawAngles(n, shape, state, view, look.width, mirror, look, moving)
  drawKept(n, look.kept)
  drawSight(n, look, view, look.width, mirror)
  return shape
}
