// The arm from above, to scale: shoulder left, hand right; sleeve or cloth under it, the other hand, pads on the upper arm.

import { element } from '../web/element.js'
import { plain } from '../web/plain.js'
import { make } from '../web/svg.js'

const NS = 'http://www.w3.org/2000/svg'
const ASIDE = 0.4 // the way to the object's place, drawn shorter than it is

export function render({ model }) {
  const view = { model }
  view.box = element('div', 'gw gw-arm')
  view.box.hidden = true // until it is known whether it is seen here
  const parts = element('div')
  view.svg = document.createElementNS(NS, 'svg')
  const text = element('p')
  const title = element('b')
  view.said = element('span')
  title.textContent = 'The arm from above'
  view.svg.setAttribute('role', 'img')
  view.svg.setAttribute('preserveAspectRatio', 'xMidYMid meet')
  text.append(title, view.said)
  parts.append(view.svg, text)
  view.box.append(parts)
  view.ink = 'var(--ink)'
  view.line = 'var(--line)'
  view.edge = 'var(--edge)'
  view.surface = 'var(--surface)'
  view.behind = model.where === 'task' ? 'var(--surface)' : 'var(--bg)' // a word's own ground, so that no line runs through it

  view.on = (a, b, f, off) => {
    const dx = b[0] - a[0],
      dy = b[1] - a[1],
      l = Math.hypot(dx, dy) || 1
    return [a[0] + f * dx - (off * dy) / l, a[1] + f * dy + (off * dx) / l, (Math.atan2(dy, dx) * 180) / Math.PI]
  }

  view.size = 20
  view.model.on('told', () => draw(view))
  const sizer = new ResizeObserver(() => draw(view))
  sizer.observe(view.box)
  const watcher = new MutationObserver(() => draw(view))
  watcher.observe(document.documentElement, { attributeFilter: ['data-layout', 'data-size'] })
  view.model.on('remove', () => {
    sizer.disconnect()
    watcher.disconnect()
  })
  requestAnimationFrame(() => draw(view))
  return view.box
}

function word(view, text, x, y, more = {}) {
  make(view.svg, 'text', {
    x,
    y,
    'font-size': view.size,
    'text-anchor': 'middle',
    'paint-order': 'stroke',
    'stroke-width': 0.4 * view.size,
    style: `fill:var(--ink2);stroke:${view.behind};font-family:var(--font, sans-serif)`,
    ...more,
  }).textContent = text
}

function limb(view, a, b, w) {
  for (const [style, more] of [
    [`stroke:${view.edge}`, 4],
    [`stroke:${view.surface}`, 0],
  ])
    make(view.svg, 'line', { x1: a[0], y1: a[1], x2: b[0], y2: b[1], 'stroke-width': w + more, 'stroke-linecap': 'round', style })
}

function draw(view) {
  const g = {}
  const t = plain(view.model.told)
  if (!t?.upper) return
  // beside the half hour; beside the task, where there is room for it; on a phone also beside the things to show
  const { layout, size } = document.documentElement.dataset
  const away = {
    desk: layout === 'phone',
    task: layout === 'desk' || (layout === 'wall' && size !== '1'),
    show: layout !== 'phone',
  }
  view.box.hidden = away[view.model.where]
  view.box.classList.toggle('large', layout === 'wall' && view.model.where === 'desk')
  view.box.classList.toggle('small', view.model.where === 'show')
  if (view.box.hidden) return
  view.svg.replaceChildren()
  // the person sits to the left; the hand goes right, then aside, which is up
  g.wide = Math.max(t.start + t.reach + 190, t.start + 400)
  const aside = ASIDE * t.carry
  g.y0 = aside + 70
  g.high = g.y0 + 300
  g.Y = v => g.y0 - ASIDE * v
  const left = -120
  // while the hand tilts to let go, the hand alone is seen, large
  g.close = t.tilts && t.aside > 0.8 * t.carry
  const [x0, top, wide, high] = g.close ? [t.start + t.out - 130, g.Y(t.aside) - 115, 380, 220] : [left, 0, g.wide - left, g.high]
  view.svg.setAttribute('viewBox', `${x0} ${top} ${wide} ${high}`)
  view.size =
    (0.87 * parseFloat(getComputedStyle(document.documentElement).fontSize)) /
    Math.max(Math.min((view.svg.clientWidth || 380) / wide, (view.svg.clientHeight || 200) / high), 0.1)
  putBench(view, t, g)
  bendElbow(t, g)
  putBody(view, t, g)
  putArm(view, t, g)
  putUnder(view, t, g)
  putHelper(view, t, g)
  putPads(view, t, g)
  if (t.tilts)
    word(view, t.tilt > 0 ? 'tilts: it slides free' : 'tilts sideways to let go', x0 + wide - 8, top + high - 8, {
      'text-anchor': 'end',
    })
  tell(view, t)
}

// bench, the way, and how far the elbow goes
function putBench(view, t, g) {
  make(view.svg, 'path', {
    d: `M${t.start - 60} 8H${g.wide - 12}V${g.high - 6}H${t.start - 60}`,
    fill: 'none',
    'stroke-width': 2,
    style: `stroke:${view.line}`,
  })
  const limit = t.start + Math.min(t.limit, 2 * t.reach)
  if (!g.close)
    make(view.svg, 'line', {
      class: 'limit',
      x1: limit,
      x2: limit,
      y1: g.y0 - 50,
      y2: g.y0 + 50,
      'stroke-width': 4,
      style: `stroke:${view.ink}`,
    })
  if (t.limit < t.reach - 0.5) word(view, 'elbow ends here', limit + 10, g.y0 + 46 + view.size, { 'text-anchor': 'start' })
  make(view.svg, 'circle', {
    cx: t.start + t.reach,
    cy: g.Y(t.carry),
    r: t.diameter / 2 + 9,
    fill: 'none',
    'stroke-width': 3,
    'stroke-dasharray': '7 6',
    style: `stroke:${view.ink}`,
  })
  if (!g.close) word(view, 'its place', t.start + t.reach + t.diameter / 2 + 18, g.Y(t.carry) + 6, { 'text-anchor': 'start' })
}

// two circles meet at the elbow
function bendElbow(t, g) {
  g.S = [t.lean, g.y0]
  g.H = [t.start + t.out, g.Y(t.aside)]
  const dx = g.H[0] - g.S[0],
    dy = g.H[1] - g.S[1],
    d = Math.min(Math.hypot(dx, dy), t.upper + t.fore - 0.01)
  const along = (t.upper ** 2 - t.fore ** 2 + d * d) / (2 * d),
    off = Math.sqrt(Math.max(t.upper ** 2 - along ** 2, 0)),
    l = Math.hypot(dx, dy) || 1
  g.E = [g.S[0] + (along * dx - off * dy) / l, g.S[1] + (along * dy + off * dx) / l]
}

function putBody(view, t, g) {
  make(view.svg, 'ellipse', {
    cx: g.S[0] - 46,
    cy: g.y0 - 60,
    rx: 44,
    ry: 118,
    'stroke-width': 2,
    style: `fill:${view.surface};stroke:${view.edge}`,
  })
  if (t.lean > 1)
    word(view, `leans ${Math.round(t.lean)} mm`, g.S[0] + 10, view.size, {
      'text-anchor': 'start',
      style: `fill:var(--ink);stroke:${view.behind};font-weight:700;font-family:var(--font, sans-serif)`,
    })
}

function putArm(view, t, g) {
  const held = t.held ? [t.out, t.aside] : t.object
  if (t.under === 'cloth') {
    const [x, y, turn] = view.on(g.E, g.H, 0.3, 0)
    make(view.svg, 'rect', {
      class: 'cloth',
      x: -95,
      y: -62,
      width: 190,
      height: 124,
      rx: 8,
      transform: `translate(${x} ${y}) rotate(${turn})`,
      'stroke-width': 2.5,
      'stroke-dasharray': '10 5',
      style: `fill:${view.line};stroke:${view.ink}`,
    })
  }
  limb(view, g.S, g.E, 78)
  limb(view, g.E, g.H, 54)
  limb(view, g.H, g.H, 62)
  make(view.svg, 'circle', {
    cx: t.start + held[0] + (t.held ? 22 : 30) + 26 * t.tilt,
    cy: g.Y(held[1]) + 12 * t.tilt,
    r: t.diameter / 2,
    'stroke-width': 2.5,
    style: `fill:var(--object);stroke:${view.edge}`,
  })
  const y = g.Y(t.aside)
  // letting go, the hand tilts in the wrist to the little finger's side, which is up here; the object stays
  const turned = (t.tilt * t.tilt_deg * Math.PI) / 180,
    at = (dx, dy) => [g.H[0] + dx * Math.cos(turned) + dy * Math.sin(turned), y - dx * Math.sin(turned) + dy * Math.cos(turned)]
  limb(view, at(0, -8), at(66, -22), 30)
  limb(view, at(-8, 14), at(40, 38), 17)
  if (t.tilt > 0) {
    const tip = at(118, -16),
      from = [g.H[0] + 118, y - 16]
    make(view.svg, 'path', {
      class: 'tilting',
      d: `M${from}A120 120 0 0 0 ${tip}M${tip[0] + 18} ${tip[1] + 14}L${tip}L${tip[0] - 6} ${tip[1] + 22}`,
      fill: 'none',
      'stroke-width': 5,
      style: `stroke:${view.ink}`,
    })
  }
}

function putUnder(view, t, g) {
  if (t.under !== 'lifted') {
    // the sleeve: bands round the forearm
    for (const f of t.under === 'sleeve' ? [0.08, 0.2, 0.32, 0.44, 0.56] : []) {
      const a = view.on(g.E, g.H, f, 28),
        b = view.on(g.E, g.H, f, -28)
      make(view.svg, 'line', {
        class: 'sleeve',
        x1: a[0],
        y1: a[1],
        x2: b[0],
        y2: b[1],
        'stroke-width': 5,
        style: `stroke:${view.line}`,
      })
    }
  } else word(view, 'lifted off the bench', (g.E[0] + g.H[0]) / 2 + 50, (g.E[1] + g.H[1]) / 2 + 66, { 'text-anchor': 'start' })
  const [ux, uy] = view.on(g.E, g.H, 0.5, 70)
  if (t.under === 'cloth') word(view, 'cloth', ux, uy + view.size, { 'text-anchor': 'start' })
  if (t.under === 'sleeve' && !t.helped) word(view, 'sleeve', ux - 14, uy + 0.6 * view.size, { 'text-anchor': 'start' })
}

function putHelper(view, t, g) {
  if (t.helped) {
    const [x, y] = view.on(g.E, g.H, 0.62, 0)
    make(view.svg, 'g', { class: 'helper' })
    limb(view, [x + 64, y + 170], [x + 18, y + 52], 34)
    limb(view, [x + 14, y + 44], [x + 14, y + 44], 48)
    for (const [a, b, c, d] of [
      [-6, 30, -22, -24],
      [8, 26, 0, -34],
      [22, 28, 22, -30],
      [38, 44, 56, 12],
    ])
      limb(view, [x + a, y + b], [x + c, y + d], 13)
    word(view, 'the other hand lifts', x + 78, y + 104, { 'text-anchor': 'start' })
  }
}

function putPads(view, t, g) {
  if (t.elbow >= 0)
    for (const f of [0.34, 0.62]) {
      const [x, y, turn] = view.on(g.S, g.E, f, 20)
      make(view.svg, 'rect', {
        class: 'elbow-pad',
        x: -22,
        y: -15,
        width: 44,
        height: 30,
        rx: 6,
        transform: `translate(${x} ${y}) rotate(${turn})`,
        'stroke-width': 7,
        style: `fill:${view.ink};stroke:${t.elbow > 0.02 ? 'var(--current-f)' : view.ink};stroke-opacity:${Math.max(t.elbow, 0.25)}`,
      })
    }
  if (t.elbow >= 0) word(view, t.elbow > 0.02 ? 'pads on' : 'pads off', g.E[0] + 62, g.high - 12, { 'text-anchor': 'start' })
}

function tell(view, t) {
  view.said.textContent = t.words
  const parts = [
    t.words,
    t.helped ? 'The other hand lifts the arm.' : '',
    t.under === 'lifted' ? 'The arm is lifted.' : `The arm lies on its ${t.under === 'cloth' ? 'cloth' : 'sleeve'}.`,
    t.elbow >= 0 ? `Pads on the upper arm, ${t.elbow > 0.02 ? 'on' : 'off'}.` : '',
    t.tilt > 0
      ? 'The hand tilts to the little finger\u2019s side and the object slides free.'
      : t.tilts
        ? 'The hand tilts sideways to let go.'
        : '',
  ]
  view.svg.setAttribute('aria-label', parts.filter(Boolean).join(' '))
}
