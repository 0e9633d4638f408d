// The hand from its finger tips: what an object sees that comes to it. In the hand's own frame, so the wrist plays no part.

import { element } from '../element.js'
import { SKIN, SPACE } from '../given.js'
import { clamp, color, make, mixHex, num, put } from '../svg.js'
import { tipsSize } from './frame.js'
import { FINGERS } from './bones.js'
import { GIRTH } from './shape.js'

const TIPS_BOX = { x0: -132, y0: -40, w: 190, h: 158 }
const TIPS_HALF = [9, 8, 6.8]
const TIPS_THUMB_HALF = [13, 10.5, 9]

function buildTips(host) {
  const svg = make(host, 'svg', { role: 'img', viewBox: `${TIPS_BOX.x0} ${TIPS_BOX.y0} ${TIPS_BOX.w} ${TIPS_BOX.h}` })
  const world = make(svg, 'g', { 'stroke-linecap': 'round', 'stroke-linejoin': 'round', fill: 'none' })
  const palm = [0, 1].map(() => make(world, 'path'))
  const object = make(world, 'rect', { rx: 4, 'stroke-width': 1.4 })
  // Two strokes a bone, one for its rim; the order of drawing changes with the posture.
  const part = name => ({ name, g: make(world, 'g'), bones: [], nail: null })
  const parts = [...FINGERS, 'thumb'].map(part)
  for (const p of parts) {
    p.bones = [0, 1, 2].map(() => ({ rim: make(p.g, 'path'), fill: make(p.g, 'path') }))
    p.nail = make(p.g, 'path', { fill: '#fff', 'fill-opacity': 0.5 })
  }
  return { svg, world, palm, object, parts, order: '' }
}

export function paintTips(t, tone, dark) {
  t.skin = SKIN[dark ? 'dark' : 'light'][tone] ?? SKIN.light.clay
}

// `object` has a diameter, `mm` is the opening: a bar that is too wide is drawn as a rim only.
export function drawTips(t, shape, object, mm, side, lit) {
  const [base, shade, line] = t.skin,
    m = side === 'right' ? -1 : 1
  const flat = p => `${num(-m * p[2])} ${num(-p[1])}`
  const heads = SPACE.head.map(p => flat([p[0], p[1] - 2, p[2]])),
    arch = `M${heads.join('L')}`
  put(t.palm[0], { d: arch, stroke: line, 'stroke-width': 27 })
  put(t.palm[1], { d: arch, stroke: mixHex(base, shade, 0.5), 'stroke-width': 24.6 })
  const all = [...shape.bones.map(b => b.points), shape.thumbPoints]
  t.parts.forEach((part, k) => {
    const thumb = part.name === 'thumb',
      points = all[k],
      girth = thumb ? 1 : GIRTH[part.name],
      on = lit === part.name
    part.x = points.reduce((sum, p) => sum + p[0], 0) / 4
    const nearest = Math.max(...all.map(q => q[3][0]))
    part.bones.forEach((b, i) => {
      const w = 2 * girth * (thumb ? TIPS_THUMB_HALF : TIPS_HALF)[i],
        d = `M${flat(points[i])}L${flat(points[i + 1])}`
      const deep = clamp((nearest - (points[i][0] + points[i + 1][0]) / 2) / 110, 0, 0.6)
      put(b.rim, { d, stroke: line, 'stroke-width': num(w + (on ? 5 : 2.4)), style: on ? `stroke:${color('ink')}` : '' })
      put(b.fill, { d, stroke: mixHex(base, shade, 0.75 * deep), 'stroke-width': num(w) })
    })
    // Bones further away are drawn first: a finger that is rolled in shows its knuckle, not its tip.
    const order = [0, 1, 2].sort((a, b) => points[a][0] + points[a + 1][0] - points[b][0] - points[b + 1][0])
    if (part.order !== order.join()) {
      part.order = order.join()
      for (const i of order) part.g.append(part.bones[i].rim, part.bones[i].fill)
      part.g.append(part.nail)
    }
    tipNail(part, points, thumb, girth, flat)
  })
  const order = t.parts.map((_, k) => k).sort((a, b) => t.parts[a].x - t.parts[b].x)
  const y =
    (shape.thumbPoints[2][1] + shape.thumbPoints[3][1]) / 4 +
    [0, 1].reduce((s, r) => s + shape.bones[r].points[3][1] + shape.bones[r].points[2][1], 0) / 8
  const seen = object?.diameter_mm > 0,
    fits = seen && mm !== undefined && mm >= object.diameter_mm - 0.5
  put(t.object, { visibility: seen ? 'visible' : 'hidden' })
  if (seen) {
    const z = (shape.thumbPoints[3][2] + shape.bones[0].points[3][2] + shape.bones[1].points[3][2]) / 3,
      half = object.diameter_mm < 20 ? 10 : 40
    put(t.object, {
      x: num(-m * z - half),
      y: num(-y - object.diameter_mm / 2),
      width: 2 * half,
      height: num(object.diameter_mm),
      style: `fill:${color('object')};fill-opacity:${fits ? 0.85 : 0};stroke:${color(fits ? 'object-edge' : 'ink2')}`,
      'stroke-dasharray': fits ? 'none' : '5 4',
    })
  }
  if (t.order !== order.join() + fits) {
    t.order = order.join() + fits
    t.world.append(t.palm[0], t.palm[1])
    // What fits lies between palm and fingers; what does not is drawn over them.
    if (fits) t.world.append(t.object)
    for (const k of order) t.world.append(t.parts[k].g)
    if (!fits) t.world.append(t.object)
  }
}

// The nail is seen where the last bone shows its back to the viewer, that is, points away from him or down.
function tipNail(part, points, thumb, girth, flat) {
  const a = points[2],
    b = points[3],
    away = clamp((20 - (b[0] - a[0])) / 12, 0, 1)
  put(part.nail, { visibility: thumb || away === 0 ? 'hidden' : 'visible', 'fill-opacity': num(0.5 * away) })
  if (thumb || away === 0) return
  const at = (f, s) => flat([0, a[1] + f * (b[1] - a[1]), a[2] + f * (b[2] - a[2]) + s * girth])
  put(part.nail, { d: `M${at(0.5, -3.6)}L${at(0.5, 3.6)}Q${at(1.3, 3.6)} ${at(1.3, 0)}Q${at(1.3, -3.6)} ${at(0.5, -3.6)}Z` })
}

// The panel in a corner of the picture: the view, what is to be held, and the fingers as buttons.
export function tipsPanel(host, touch) {
  const panel = element('div'),
    said = element('p'),
    row = element('div')
  panel.hidden = true
  panel.setAttribute('role', 'group')
  panel.setAttribute('aria-label', 'From the finger tips')
  panel.className = 'gw-tips'
  row.className = 'row'
  const tips = buildTips(panel)
  const buttons = FINGERS.map(name => {
    const b = element('button')
    b.type = 'button'
    b.textContent = name
    b.setAttribute('aria-pressed', 'false')
    b.addEventListener('click', () => touch(name))
    row.append(b)
    return b
  })
  panel.append(said, row)
  host.append(panel)
  return { panel, tips, said, buttons }
}

// On a phone it lies on the forearm's side, where no finger comes.
export function layTips(p, { width, height, side, tips: shown }) {
  const narrow = width < 520,
    left = narrow && side !== 'right',
    [w, h] = tipsSize(width, height)
  p.panel.hidden = !shown
  Object.assign(p.panel.style, {
    display: shown ? 'flex' : 'none',
    width: `${w}px`,
    height: `${h}px`,
    bottom: '6px',
    left: left ? '6px' : 'auto',
    right: left ? 'auto' : '6px',
  })
  for (const b of p.buttons) b.style.display = narrow ? 'none' : ''
}

// What is known of the touched finger, in a line under the hand.
export function noteLine(host) {
  const p = element('p')
  p.setAttribute('role', 'status')
  p.className = 'gw-finger'
  host.append(p)
  return {
    say(words, view) {
      if (p.textContent !== words) p.textContent = words
      const right = view.tips && view.width < 520
      Object.assign(p.style, {
        display: words ? 'block' : 'none',
        left: right ? 'auto' : '8px',
        right: right ? '8px' : 'auto',
        top: '8px',
        maxWidth: view.width < 520 ? '62%' : '58%',
      })
    },
  }
}

// A few words at the lower edge on what is seen; a close picture has room for the name only, and the chain says the rest.
export const captionOf = (words, width) => (width < 520 ? words.split(':')[0] : words)

export function captionLine(host) {
  const p = element('p', 'gw-caption')
  host.append(p)
  return {
    say(words, view) {
      const close = view.width < 520,
        above = close && view.tips,
        right = close && !above && view.side === 'right'
      p.textContent = captionOf(words, view.width)
      // never where the fingers and their opening are: below the forearm, or over it where the view from the tips is
      Object.assign(p.style, {
        display: words ? 'block' : 'none',
        maxWidth: above ? '36%' : view.tips ? '58%' : '92%',
        left: right ? 'auto' : '8px',
        right: right ? '8px' : 'auto',
        top: above ? '6px' : 'auto',
        bottom: above ? 'auto' : '5px',
      })
    },
  }
}
