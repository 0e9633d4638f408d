// The nodes of the hand's picture, made once, in the order in which they lie on each other.

import { color, make } from '../svg.js'
import { UPPER_INNER } from './around.js'
import { ANGLED } from './measures.js'
import { TENDONS } from './shape.js'

let sceneCount = 0

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
  makeClips(id, svg, n)

  const world = (n.world = make(svg, 'g', { 'stroke-linejoin': 'round', 'stroke-linecap': 'round' }))
  makeSurroundings(n, world)

  makeUpperArm(id, n, world)
  // All that belongs to the arm turns with the forearm: with the palm up it is drawn upside down.
  const turned = (n.turned = make(world, 'g')),
    arm = (n.arm = make(turned, 'g'))
  n.far = [0, 1, 2].map(i => finger(arm, `${id}-far${i}`, 1.1))
  makeObject(id, n, arm)
  makeBody(id, n, arm)
  n.slab = make(arm, 'path', {
    'stroke-width': 1.2,
    'stroke-linejoin': 'miter',
    visibility: 'hidden',
    style: `fill:${color('sel')};stroke:${color('edge')}`,
  })
  makeThumb(id, n, arm)
  makeTendons(id, n, arm)
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
  makePads(n, turned)
  n.kept = make(turned, 'path', {
    fill: 'none',
    'stroke-width': 1.5,
    'stroke-dasharray': '5 3.5',
    visibility: 'hidden',
    style: `stroke:${color('ink2')}`,
  })
  n.before = make(turned, 'path', { fill: 'none', 'stroke-width': 0.9, style: `stroke:${color('ink2')}`, visibility: 'hidden' })
  makeMeasures(n, turned)
  makeWords(svg, n)
  return n
}

function makeClips(id, svg, n) {
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
}

function makeSurroundings(n, world) {
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
}

function makeUpperArm(id, n, world) {
  n.upper = { g: make(world, 'g', { visibility: 'hidden' }) }
  n.upper.fill = make(n.upper.g, 'path')
  n.upper.glow = [0, 1].map(() => make(n.upper.g, 'ellipse', { fill: `url(#${id}-glow)` }))
  n.upper.line = make(n.upper.g, 'path', { fill: 'none', 'stroke-width': 1.35 })
  n.upper.inner = make(n.upper.g, 'path', { d: `M-172 -41${UPPER_INNER}`, fill: 'none', 'stroke-width': 1.35 })
  n.upper.pads = [0, 1].map(() => ({
    body: make(n.upper.g, 'rect', { width: 11, rx: 1 }),
    lit: make(n.upper.g, 'path', { fill: 'none', 'stroke-width': 2, style: `stroke:${color('current-f')}` }),
  }))
}

function makeObject(id, n, arm) {
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
}

function makeBody(id, n, arm) {
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
}

function makeThumb(id, n, arm) {
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
}

function makeTendons(id, n, arm) {
  const cords = make(arm, 'g', { fill: 'none', 'clip-path': `url(#${id}-free)` })
  n.hood = make(cords, 'path', { 'stroke-width': 0.6 })
  n.halo = Object.fromEntries(TENDONS.map(k => [k, make(cords, 'path')]))
  n.cord = Object.fromEntries(TENDONS.map(k => [k, make(cords, 'path')]))
  n.pulleys = make(cords, 'path', { 'stroke-width': 3.6, 'stroke-opacity': 0.45, 'stroke-linecap': 'butt' })
  n.bandTop = make(cords, 'path', { 'stroke-width': 0.7 })
}

function makePads(n, turned) {
  n.pads = [0, 1].map(() => ({
    cableEdge: make(turned, 'path', { fill: 'none', 'stroke-width': 2.6 }),
    cable: make(turned, 'path', { fill: 'none', 'stroke-width': 1.4 }),
    stub: make(turned, 'rect', { width: 7, height: 4, rx: 1 }),
    body: make(turned, 'path', { 'stroke-width': 1 }),
    lit: make(turned, 'path', { fill: 'none', 'stroke-width': 2, style: `stroke:${color('current-f')}` }),
    sign: make(turned, 'path', { fill: 'none', 'stroke-width': 1.6, style: `stroke:${color('surface')}` }),
  }))
}

function makeMeasures(n, turned) {
  const arcs = (n.arcs = make(turned, 'g', { fill: 'none', visibility: 'hidden' }))
  n.arcHalo = make(arcs, 'path', { 'stroke-width': 3.6, style: `stroke:${color('surface')};stroke-opacity:.85` })
  n.arcStraight = make(arcs, 'path', { 'stroke-width': 1.1, 'stroke-dasharray': '3 2.2', style: `stroke:${color('angle-t')}` })
  n.leader = make(arcs, 'path', { 'stroke-width': 0.8, style: `stroke:${color('angle-t')};stroke-opacity:.8` })
  n.arcLine = make(arcs, 'path', { 'stroke-width': 1.9, style: `stroke:${color('angle-t')}` })
  n.lineHalo = make(turned, 'path', { fill: 'none', 'stroke-width': 4.4, style: `stroke:${color('surface')};stroke-opacity:.85` })
  n.line = make(turned, 'path', { fill: 'none', 'stroke-width': 2, style: `stroke:${color('opening-t')}` })
}

function makeWords(svg, n) {
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
}
